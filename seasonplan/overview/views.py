"""The first page, the list of players, and one player's page: logs, seasons and busy days."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from seasonplan.academy.access import get_editable, get_planned, get_visible
from seasonplan.academy.models import Academy, Person, Player
from seasonplan.academy.viewer import Viewer
from seasonplan.checkins.sharing import record_reads
from seasonplan.overview.coming_in import coming_in
from seasonplan.overview.players import next_season, player_lines, player_page
from seasonplan.plans import standing
from seasonplan.plans.forms import BusyTimeForm, NewPlanForm
from seasonplan.plans.models import BusyTime
from seasonplan.science.words import days


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """Who only plays goes on to their week, everybody else to the players."""
    return redirect("phone") if Viewer(request).only_plays else _players(request)


@require_safe
def players(request: HttpRequest) -> HttpResponse:
    """The players that the person may see; who plans for nobody goes straight to the only one."""
    return _players(request)


def _players(request: HttpRequest) -> HttpResponse:
    person, today = _person(request), timezone.localdate()
    lines = player_lines(person, today=today)
    plans_for_others = Academy.objects.planned_by(person).exists()
    if len(lines) == 1 and not plans_for_others:
        return redirect(lines[0].url)
    context = {
        "lines": lines,
        "may_add": plans_for_others,
        "some_unread": any(line.unread for line in lines),
    }
    return render(request, "overview/players.html", context)


@require_safe
def player(request: HttpRequest, player_id: int) -> HttpResponse:
    """What came in from a player, the seasons, and busy times."""
    return _player_page(request, player_id)


def _player_page(
    request: HttpRequest,
    player_id: int,
    *,
    start_form: NewPlanForm | None = None,
    busy_form: BusyTimeForm | None = None,
) -> HttpResponse:
    person, today = _person(request), timezone.localdate()
    rows = Player.objects.select_related("home_base", "academy")
    found = get_visible(rows, person, pk=player_id)
    came_in = coming_in(found, person, today=today)
    if came_in:
        record_reads(person, found, came_in.shown, now=timezone.now())
    context = {
        "page": player_page(found, person, today=today),
        "came_in": came_in,
        "start_form": start_form or NewPlanForm(initial=next_season(today)),
        "busy_form": busy_form or BusyTimeForm(),
    }
    wrong = any(form and form.errors for form in (start_form, busy_form))
    return render(request, "overview/player.html", context, status=422 if wrong else 200)


@require_POST
def start(request: HttpRequest, player_id: int) -> HttpResponse:
    """Start a season plan with a preset's limits."""
    found = get_planned(Player.objects.all(), _person(request), pk=player_id)
    form = NewPlanForm(request.POST)
    if not form.is_valid():
        return _player_page(request, player_id, start_form=form)
    plan = standing.start_plan(
        player=found,
        name=form.cleaned_data["name"],
        start=form.cleaned_data["start"],
        end=form.end,
        limits=form.limits,
    )
    return redirect("season", plan.pk)


@require_POST
def add_busy(request: HttpRequest, player_id: int) -> HttpResponse:
    found = get_planned(Player.objects.all(), _person(request), pk=player_id)
    form = BusyTimeForm(request.POST, instance=BusyTime(player=found))
    if not form.is_valid():
        return _player_page(request, player_id, busy_form=form)
    form.save()
    messages.success(
        request, _("Busy days added. Lay out again where a plan has an event on them.")
    )
    return redirect("player", player_id)


@require_POST
def remove_busy(request: HttpRequest, busy_id: int) -> HttpResponse:
    busy = get_editable(BusyTime.objects.all(), _person(request), pk=busy_id)
    player_id = busy.player_id
    busy.delete()
    messages.success(
        request, _("Busy days removed: %(days)s.") % {"days": days(busy.start, busy.end)}
    )
    return redirect("player", player_id)
