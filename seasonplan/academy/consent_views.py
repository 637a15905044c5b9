"""The page on which a guardian says yes to health logs, or takes it back."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from seasonplan.academy.access import get_visible
from seasonplan.academy.consent import (
    consent_standing,
    give_consent,
    guardians_of,
    withdraw_consent,
)
from seasonplan.academy.models import Person, Player


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
            messages.success(request, f"{player} may keep a health log now.")
            return redirect("consent", player.pk)
        if answer == "withdraw":
            withdraw_consent(player, by=person, now=timezone.now())
            messages.success(
                request, f"Your consent is withdrawn. What was logged, {player} alone sees now."
            )
            return redirect("consent", player.pk)
    context = {
        "player": player,
        "standing": standing,
        "decides": decides,
        "guardians": guardians_of(player),
        "history": player.consents.select_related("given_by", "withdrawn_by"),
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "academy/consent.html", context, status=status)
