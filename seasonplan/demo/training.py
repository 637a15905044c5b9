"""The demo's training: the weeks of its seasons filled with sessions, and what a coach did to them.

`loading.py` asks for the seasons that hold today or lie ahead, `past.py` for the last one before,
so that what was planned can be set against what was done. Weeks are filled and changed by the same
functions as by the buttons.
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from dataclasses import replace
from datetime import date
from types import MappingProxyType
from typing import Any, Final
from urllib.parse import urlencode

from django.http import QueryDict

from seasonplan.academy.models import Academy, Person, Player
from seasonplan.checkins.models import SessionLog
from seasonplan.demo.academy import AMARA, COACH, INES, SEASON_START
from seasonplan.plans.models import SeasonPlan
from seasonplan.science.week_target import PlannedSession
from seasonplan.science.weeks import monday_of
from seasonplan.training.access import seen_with_parts, trained_by
from seasonplan.training.filling import fill_weeks
from seasonplan.training.models import TrainingWeek
from seasonplan.training.setting_shapes import give_off_court, set_shape
from seasonplan.training.shaping import usual_shapes
from seasonplan.training.week_edits import edit_week
from seasonplan.training.week_forms import ChangeForm
from seasonplan.training.weeks import (
    WEEK,
    WeekMaterial,
    as_planned,
    in_seven_days,
    read_sessions,
    target_of,
)

NOTE: Final = "Two tests at school this week: if an evening gets late, leave its last session out."
SHORTER_MIN: Final = 15
MORE_MOVEMENT: Final[Mapping[str, Any]] = MappingProxyType(
    {
        "off_court_hours": 3.0,
        "off_court_sessions": 3,
        "shares": {
            "strength": 10,
            "power": 5,
            "speed and agility": 15,
            "coordination and balance": 10,
            "technique": 20,
            "tactics and match play": 25,
            "recovery": 15,
        },
    }
)


def add_training(academy: Academy, *, today: date) -> bool:
    """Fill the weeks of the seasons in force that hold today or lie ahead, unless it was done.

    Of a season that was trained and logged without planned sessions, only the weeks from today's
    on. Returns whether anything was filled.
    """
    if TrainingWeek.objects.filter(player__academy=academy).exists():
        return False
    seasons = SeasonPlan.objects.filter(
        player__academy=academy, standing=SeasonPlan.Standing.IN_FORCE, end__gte=today
    ).select_related("player")
    if not seasons:
        return False
    _set_up(academy)
    for plan in seasons.order_by("player", "start"):
        logs = SessionLog.objects.filter(player=plan.player, day__gte=plan.start, day__lte=plan.end)
        first = max(plan.start, monday_of(today)) if logs.exists() else plan.start
        fill_season(plan.player, first, plan.end)
    return True


def fill_season(player: Player, first: date, last: date) -> None:
    """Fill the weeks from a Monday to a Sunday as on the day before them."""
    weeks = (last - first).days // 7 + 1
    fill_weeks(player, [first + n * WEEK for n in range(weeks)], today=first)


def planned_weeks(
    player: Player, first: date, last: date
) -> Mapping[date, tuple[PlannedSession, ...]]:
    """The planned sessions of each week that somebody has filled, by its Monday."""
    weeks = TrainingWeek.objects.filter(player=player, monday__gte=first, monday__lte=last)
    return {
        week.monday: tuple(as_planned(row) for row in week.sessions.all())
        for week in weeks.prefetch_related("sessions")
    }


def touch_up(academy: Academy, *, today: date) -> None:
    """What the coach of Ines does to weeks that are filled: writes a note on this one, moves a
    session of the next, and shortens the longest of the week after that."""
    coach = Person.objects.filter(email=COACH).first()
    ines = Player.objects.filter(academy=academy, person__email=INES.email).first()
    if coach is None or ines is None or not trained_by(coach).filter(pk=ines.pk).exists():
        return
    player = seen_with_parts(coach).get(pk=ines.pk)
    this, following, third = (
        replace(read_sessions(player, monday), target=target_of(player, monday))
        for monday in (monday_of(today) + n * WEEK for n in range(3))
    )
    if this.week:
        _edit(coach, this, "note", {"note": NOTE}, today=today)
    if move := _sound_move(following):
        _edit(coach, following, move, {}, today=today)
    if third.sessions:
        longest = max(third.sessions, key=lambda row: row.minutes)
        typed = ChangeForm.initial_of(longest) | {"minutes": longest.minutes - SHORTER_MIN}
        _edit(coach, third, f"change {longest.key}", typed, today=today)


def _edit(
    coach: Person, week: WeekMaterial, words: str, typed: Mapping[str, object], *, today: date
) -> None:
    """As the week screen sends it."""
    edit_week(
        coach,
        week.player.pk,
        week.monday,
        words,
        QueryDict(urlencode(typed)),
        revision=week.revision,
        today=today,
    )


def _sound_move(week: WeekMaterial) -> str:
    """The first move of a session to another day that leaves nothing to be said against the week
    which was not said before; empty if there is none."""
    said = {(finding.rule, finding.days) for finding in week.findings()}
    for row in week.sessions:
        others = [other for other in week.sessions if other is not row]
        for day in in_seven_days(week.monday):
            moved = copy(row)
            moved.day = day
            there = replace(week, sessions=(*others, moved))
            found = {(finding.rule, finding.days) for finding in there.findings()}
            if day != row.day and found <= said:
                return f"move {row.key} {day.isoformat()}"
    return ""


def _set_up(academy: Academy) -> None:
    """What is set before any week is filled, where nothing is: Ines moves more in weeks of events
    than is usual, and support staff plan the part off court of Amara."""
    players = Player.objects.filter(academy=academy, training=None)
    coach = Person.objects.filter(email=COACH).first()
    if ines := players.filter(person__email=INES.email).first():
        age = ines.age_on(SEASON_START)
        shape = replace(usual_shapes(age)["competition"], **MORE_MOVEMENT)
        set_shape(ines, "competition", shape, age=age, revision=0)
    if amara := players.filter(person__email=AMARA.email).first():
        give_off_court(amara, to_staff=True, revision=0, by=coach)
