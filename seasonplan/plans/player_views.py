"""The list of players, and one player's page: seasons and busy days."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from seasonplan.academy.access import get_editable, get_planned, get_visible
from seasonplan.academy.models import Academy, Person, Player
from seasonplan.plans import standing
from seasonplan.plans.forms import BusyTimeForm, NewPlanForm
from seasonplan.plans.models import BusyTime
from seasonplan.plans.overlooking import next_season, player_lines, player_page
from seasonplan.science.layout.wording import days


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """The players that the person may see; a player goes straight to their own season."""
    person = _person(request)
    lines = player_lines(person, today=timezone.localdate())
    plans_for_others = Academy.objects.planned_by(person).exists()
    if len(lines) == 1 and not plans_for_others:
        return redirect(lines[0].url)
    return render(
        request,
        "plans/home.html",
        {"lines": lines, "may_add": plans_for_others, "today": timezone.localdate()},
    )


@require_safe
def player(request: HttpRequest, player_id: int) -> HttpResponse:
    """A player's seasons and busy times."""
    return _player_page(request, player_id)


def _player_page(
    request: HttpRequest,
    player_id: int,
    *,
    start_form: NewPlanForm | None = None,
    busy_form: BusyTimeForm | None = None,
) -> HttpResponse:
    person = _person(request)
    players = Player.objects.select_related("home_base", "academy")
    found = get_visible(players, person, pk=player_id)
    page = player_page(found, person, today=timezone.localdate())
    context = {
        "page": page,
        "start_form": start_form or NewPlanForm(initial=next_season(timezone.localdate())),
        "busy_form": busy_form or BusyTimeForm(),
    }
    wrong = any(form and form.errors for form in (start_form, busy_form))
    return render(request, "plans/player.html", context, status=422 if wrong else 200)


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
    messages.success(request, "Busy days added. Lay out again where a plan has an event on them.")
    return redirect("player", player_id)


@require_POST
def remove_busy(request: HttpRequest, busy_id: int) -> HttpResponse:
    busy = get_editable(BusyTime.objects.all(), _person(request), pk=busy_id)
    player_id = busy.player_id
    busy.delete()
    messages.success(request, f"Busy days removed: {days(busy.start, busy.end)}.")
    return redirect("player", player_id)
