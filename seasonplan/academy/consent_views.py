"""The page on which a guardian says yes to health logs, or takes it back, and asking them to."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from seasonplan.academy.access import get_visible
from seasonplan.academy.consent import (
    ask_guardians,
    consent_standing,
    give_consent,
    guardians_of,
    withdraw_consent,
)
from seasonplan.academy.contact import directors_of
from seasonplan.academy.models import Person, Player
from seasonplan.science.words import N_, listed


@require_http_methods(["GET", "HEAD", "POST"])
def consent(request: HttpRequest, player_id: int) -> HttpResponse:
    """How consent stands; POST with `answer` give or withdraw, for guardians of the player."""
    person = cast(Person, request.user)
    players = Player.objects.select_related("academy", "person")
    player = get_visible(players, person, pk=player_id)
    decides = Player.objects.guarded_by(person).filter(pk=player.pk).exists()
    standing = consent_standing(player, today=timezone.localdate())
    answer = request.POST.get("answer")
    if request.method == "POST":
        if not decides:
            raise PermissionDenied
        if answer == "give" and standing.needed:
            give_consent(player, by=person, now=timezone.now())
            messages.success(
                request, _("%(player)s may keep a health log now.") % {"player": player}
            )
            return redirect("consent", player.pk)
        if answer == "withdraw":
            withdraw_consent(player, by=person, now=timezone.now())
            messages.success(
                request,
                _("Your consent is withdrawn. What was logged, %(player)s alone sees now.")
                % {"player": player},
            )
            return redirect("consent", player.pk)
    context = {
        "player": player,
        "standing": standing,
        "decides": decides,
        "guardians": guardians_of(player),
        "directors": directors_of(player.academy),
        "may_ask": _may_ask(person, player),
        "sees_sharing": decides or player.person_id == person.pk,
        "asked": player.consent_requests.first(),
        "history": player.consents.select_related("given_by", "withdrawn_by"),
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "academy/consent.html", context, status=status)


def _may_ask(person: Person, player: Player) -> bool:
    """The player, and those who look after the player here; a guardian has the page itself."""
    if player.person_id == person.pk:
        return True
    return Player.objects.editable_by(person).filter(pk=player.pk).exists()


SAID = {
    "asked": N_("A mail with the link is on its way to %(whom)s."),
    "asked before": N_("%(whom)s got the mail today already. Tomorrow you can ask again."),
    "nobody to ask": N_("No guardian of %(player)s has a log-in yet, so nobody was asked."),
    "not sent": N_("The mail could not be sent. Try again later, or tell %(whom)s yourself."),
}


@require_POST
def ask(request: HttpRequest, player_id: int) -> HttpResponse:
    """Mail the guardians the link to the page of consent."""
    person = cast(Person, request.user)
    player = get_visible(Player.objects.select_related("academy"), person, pk=player_id)
    if not _may_ask(person, player):
        raise PermissionDenied
    if not consent_standing(player, today=timezone.localdate()).allows:
        link = request.build_absolute_uri(reverse("consent", args=[player.pk]))
        asked = ask_guardians(player, by=person, link=link, now=timezone.now())
        whom = listed([str(guardian) for guardian in guardians_of(player)])
        level = messages.SUCCESS if asked == "asked" else messages.WARNING
        messages.add_message(request, level, _(SAID[asked]) % {"whom": whom, "player": player})
    return redirect("consent", player.pk)
