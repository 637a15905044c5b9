"""The load of a player's season: its page, and its rows under the season screen."""

from __future__ import annotations

from typing import cast

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from seasonplan.academy.access import get_visible
from seasonplan.academy.models import Person, Player
from seasonplan.training.year_load import load_page
from seasonplan.web.htmx import wants_piece


@require_safe
@never_cache
def load(request: HttpRequest, player_id: int) -> HttpResponse:
    """The load of the season that `?season=` names by its first day; `?curve` adds the curve.

    htmx gets the rows that stand under the season screen.
    """
    person = cast(Person, request.user)
    player = get_visible(Player.objects.all(), person, pk=player_id)
    page = load_page(
        player,
        person,
        today=timezone.localdate(),
        wanted=request.GET.get("season", ""),
        asks_curve="curve" in request.GET,
    )
    template = "training/_load_rows.html" if wants_piece(request) else "training/load.html"
    return render(request, template, {"page": page, "load": page.load})
