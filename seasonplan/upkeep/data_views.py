"""Taking along what is kept about oneself, or about a player that one speaks for or directs."""

from __future__ import annotations

from typing import cast

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from seasonplan.academy.access import get_visible
from seasonplan.academy.accounts import ask_again, asked_lately
from seasonplan.academy.models import Academy, Change, Person, Player
from seasonplan.academy.recording import record
from seasonplan.upkeep.access import erasable_players, handed_to, handed_whole, spoken_for
from seasonplan.upkeep.handing_out import ZIP_TYPE, file_of_person, file_of_player
from seasonplan.upkeep.models import ErasureRequest


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def my_data(request: HttpRequest) -> HttpResponse:
    """Everything about oneself; POST gives the password again, before the file."""
    if request.method == "POST":
        ask_again(request)
        return redirect("my-data")
    person = _person(request)
    players = spoken_for(person, today=timezone.localdate()).select_related("academy")
    academies = Academy.objects.visible_to(person)
    context = {
        "unlocked": asked_lately(request),
        "players": [player for player in players if player.person_id != person.pk],
        "own_players": [player for player in players if player.person_id == person.pk],
        "academies": academies.order_by("name", "pk"),
        "requests": ErasureRequest.objects.filter(person=person).select_related("academy"),
    }
    return render(request, "upkeep/my_data.html", context)


@never_cache
@require_POST
def my_file(request: HttpRequest) -> HttpResponse:
    ask_again(request)
    now = timezone.now()
    return _file(file_of_person(_person(request), now=now), f"my-data-{now:%Y-%m-%d}.zip")


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def player_data(request: HttpRequest, player_id: int) -> HttpResponse:
    """The same about one player; for a director also the way to erase them."""
    player = _handed(request, player_id)
    if request.method == "POST":
        ask_again(request)
        return redirect("player-data", player.pk)
    person, today = _person(request), timezone.localdate()
    context = {
        "player": player,
        "unlocked": asked_lately(request),
        "whole": handed_whole(person, player, today=today),
        "speaks": spoken_for(person, today=today).filter(pk=player.pk).exists(),
        "directs": erasable_players(person).filter(pk=player.pk).exists(),
        "asked": ErasureRequest.objects.filter(player=player).select_related("asked_by").first(),
    }
    return render(request, "upkeep/player_data.html", context)


@never_cache
@require_POST
def player_file(request: HttpRequest, player_id: int) -> HttpResponse:
    player = _handed(request, player_id)
    ask_again(request)
    now = timezone.now()
    person = _person(request)
    whole = handed_whole(person, player, today=timezone.localdate())
    content = file_of_player(player, whole=whole, now=now)
    with transaction.atomic():
        record(
            player.academy_id,
            Change.What.PLAYER,
            by=person,
            player=player,
            subject=_("Data"),
            after=_("Taken along"),
        )
    return _file(content, f"player-{player.pk}-data-{now:%Y-%m-%d}.zip")


def _handed(request: HttpRequest, player_id: int) -> Player:
    """404 if the person does not see the player, 403 if they are not handed the data."""
    person = _person(request)
    player = get_visible(Player.objects.select_related("academy"), person, pk=player_id)
    if not handed_to(person, today=timezone.localdate()).filter(pk=player.pk).exists():
        raise PermissionDenied
    return player


def _file(content: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(content, content_type=ZIP_TYPE)
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)
