"""Asking to be erased, and a director who erases a player or a person."""

from __future__ import annotations

from typing import cast

from django import forms
from django.contrib import messages
from django.contrib.auth import logout
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from seasonplan.academy.access import get_editable, get_visible, one_academy
from seasonplan.academy.accounts import ask_again
from seasonplan.academy.belonging import LastDirector
from seasonplan.academy.models import Academy, Membership, Person, Player
from seasonplan.upkeep.access import erasable_members, erasable_players, spoken_for
from seasonplan.upkeep.erasing import (
    ask_to_be_erased,
    consequences,
    erase_person,
    erase_player,
    tell_directors,
)
from seasonplan.upkeep.models import ErasureRequest
from seasonplan.upkeep.registry import Of


class EraseForm(forms.Form):
    """The name, typed once more: what is erased does not come back."""

    name = forms.CharField(
        label=gettext_lazy("Type the name to confirm"),
        max_length=120,
        widget=forms.TextInput({"autocomplete": "off"}),
    )

    def __init__(self, *args: object, name: str, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.wanted = name

    def clean_name(self) -> str:
        typed = str(self.cleaned_data["name"])
        if " ".join(typed.split()).casefold() != " ".join(self.wanted.split()).casefold():
            raise forms.ValidationError(
                _("This is another name. Type %(name)s.") % {"name": self.wanted}
            )
        return typed


# Asking --------------------------------------------------------------------------------------


@require_POST
def ask_for_me(request: HttpRequest) -> HttpResponse:
    """Ask one academy to erase oneself, or take that back with `do`."""
    person = _person(request)
    academy = one_academy(Academy.objects.visible_to(person), request.POST.get("academy"))
    rows = ErasureRequest.objects.filter(academy=academy, person=person)
    if request.POST.get("do") == "take-back":
        rows.delete()
        messages.success(request, _("You no longer ask to be erased."))
    elif ask_to_be_erased(academy, player=None, person=person, by=person, now=timezone.now()):
        _tell(request, academy)
    return redirect("my-data")


@require_POST
def ask_for_player(request: HttpRequest, player_id: int) -> HttpResponse:
    """Ask to erase a player whom one speaks for, or take that back with `do`."""
    person = _person(request)
    player = get_visible(Player.objects.select_related("academy"), person, pk=player_id)
    if not spoken_for(person, today=timezone.localdate()).filter(pk=player.pk).exists():
        raise PermissionDenied
    if request.POST.get("do") == "take-back":
        ErasureRequest.objects.filter(player=player).delete()
        messages.success(
            request, _("Nobody asks any more to erase %(player)s.") % {"player": player}
        )
    elif ask_to_be_erased(
        player.academy, player=player, person=None, by=person, now=timezone.now()
    ):
        _tell(request, player.academy)
    return redirect("player-data", player.pk)


def _tell(request: HttpRequest, academy: Academy) -> None:
    link = request.build_absolute_uri(f"{reverse('erasure-requests')}?academy={academy.pk}")
    if tell_directors(academy, link=link):
        messages.success(
            request, _("The directors of %(academy)s are told.") % {"academy": academy}
        )
    else:
        messages.warning(
            request,
            _(
                "Your wish is kept, and the directors of %(academy)s see it when they look. "
                "The mail to them could not be sent: tell them yourself, too."
            )
            % {"academy": academy},
        )


@require_safe
def erasure_requests(request: HttpRequest) -> HttpResponse:
    """Who asks an academy to be erased, for its directors."""
    person = _person(request)
    academy = one_academy(Academy.objects.editable_by(person), request.GET.get("academy"))
    requests = list(
        ErasureRequest.objects.visible_to(person)
        .filter(academy=academy)
        .select_related("player", "person", "asked_by")
    )
    members = {m.person_id: m for m in academy.memberships.exclude(role="player").order_by("-pk")}
    rows = [(row, members.get(row.person_id)) for row in requests]
    context = {"academy": academy, "rows": rows}
    return render(request, "upkeep/erasure_requests.html", context)


# Erasing -------------------------------------------------------------------------------------


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def erase_a_player(request: HttpRequest, player_id: int) -> HttpResponse:
    """Say what goes and what stays; POST erases, after the name and the password."""
    person = _person(request)
    rows = Player.objects.select_related("academy", "person")
    player = get_visible(rows, person, pk=player_id)
    if not erasable_players(person).filter(pk=player.pk).exists():
        raise PermissionDenied
    posted = request.method == "POST"
    form = EraseForm(request.POST if posted else None, name=player.name)
    if posted and form.is_valid():
        ask_again(request)
        is_me = player.person_id == person.pk
        erase_player(player, by=person)
        return _erased(request, player.academy, is_me=is_me)
    context = {
        "form": form,
        "name": player.name,
        "academy": player.academy,
        "player": player,
        "consequences": consequences(Of.PLAYER),
        "cancel": reverse("player-data", args=[player.pk]),
    }
    return render(request, "upkeep/erase.html", context, status=422 if posted else 200)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def erase_a_member(request: HttpRequest, membership_id: int) -> HttpResponse:
    """The same for whoever belongs to the academy otherwise than as a player."""
    by = _person(request)
    rows = Membership.objects.select_related("academy", "person")
    member = get_editable(rows, by, pk=membership_id)
    get_object_or_404(erasable_members(by), pk=member.pk)
    person, academy = member.person, member.academy
    elsewhere = person.memberships.exclude(academy=academy).exists()
    posted = request.method == "POST"
    form = EraseForm(request.POST if posted else None, name=person.name)
    context = {
        "form": form,
        "name": person.name,
        "academy": academy,
        "elsewhere": elsewhere,
        "players": academy.players.filter(person=person),
        "consequences": consequences(Of.PERSON),
        "cancel": reverse("member", args=[member.pk]),
    }
    if posted and form.is_valid():
        ask_again(request)
        is_me = person.pk == by.pk
        try:
            gone = erase_person(person, academy, by=by)
        except LastDirector:
            form.add_error(
                None,
                _("%(person)s is the last director. Invite another one first.")
                % {"person": person},
            )
            return render(request, "upkeep/erase.html", context, status=409)
        return _erased(request, academy, is_me=is_me and gone)
    return render(request, "upkeep/erase.html", context, status=422 if posted else 200)


def _erased(request: HttpRequest, academy: Academy, *, is_me: bool) -> HttpResponse:
    if is_me:
        logout(request)
        return redirect("account_login")
    if not Academy.objects.planned_by(_person(request)).filter(pk=academy.pk).exists():
        return redirect("home")
    messages.success(request, _("Erased. The figures of the seasons stay, without a name."))
    return redirect(f"{reverse('people')}?academy={academy.pk}")


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)
