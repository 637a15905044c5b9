"""What was planned and done on each day and in each week of a player's year? `year_load.py` asks.

Counted are training sessions: those of the player's weeks, and those that were logged. Matches are
not: a check-in says how long they were, and nobody says how hard. So a day of an event on which no
session was logged is a day that nobody knows the load of.

Nor is any other day without a log a day of rest, but for one: where the player's week has sessions
and none of them on that day, and none was logged, the rest was planned and is taken as kept.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from django.db.models import Q

from seasonplan.academy.models import Person, Player
from seasonplan.checkins.models import EventCheckIn, SessionLog
from seasonplan.events.models import Event
from seasonplan.plans.models import PlannedEvent, SeasonPlan
from seasonplan.science.load import WeekLoad, day_load, session_load, week_load
from seasonplan.science.weeks import Week, iso_label, monday_of
from seasonplan.training.models import Court, TrainingSession

Known = Literal["logged", "rest", "not logged", "event", "to come"]


@dataclass(frozen=True, slots=True)
class YearDay:
    """One day: loads in arbitrary units, None where nobody knows them.

    `planned` is None in a week without a planned session. `known` says why `done` is what it is:
    sessions were logged, the rest was planned, nothing was logged, an event was on, or the day is
    still to come.
    """

    day: date
    planned: float | None
    planned_min: int
    racket_min: int
    done: float | None
    done_min: int
    known: Known
    is_event: bool


@dataclass(frozen=True, slots=True)
class LoadWeek:
    """Seven days together; `planned` is None where nothing is planned in the week."""

    week: Week
    days: tuple[YearDay, ...]
    planned: float | None
    done: WeekLoad

    @property
    def done_so_far(self) -> float | None:
        """What is known to be done, or None if that is nothing."""
        return self.done.load if self.done.known_days else None

    @property
    def done_if_whole(self) -> float | None:
        """What was done, if it is known of all seven days."""
        return self.done.load if self.done.is_complete else None

    @property
    def planned_min(self) -> int:
        return sum(day.planned_min for day in self.days)

    @property
    def done_min(self) -> int:
        return sum(day.done_min for day in self.days)


def weeks_of_year(days: tuple[YearDay, ...]) -> tuple[LoadWeek, ...]:
    """The weeks that the days make, which begin on a Monday and end on a Sunday."""
    weeks = []
    for index in range(len(days) // 7):
        its = days[7 * index : 7 * index + 7]
        week = Week(index, its[0].day, its[-1].day, iso_label(its[0].day))
        # A week is planned as a whole or not at all.
        planned = week_load([day.planned for day in its])
        done = week_load([day.done for day in its])
        weeks.append(LoadWeek(week, its, planned.load if planned.is_complete else None, done))
    return tuple(weeks)


def days_of_year(
    player: Player, person: Person, plan: SeasonPlan, *, first: date, today: date
) -> tuple[YearDay, ...]:
    """The days from `first` to the end of the plan's season, in three queries.

    Whoever sees the player reads both loads: session logs are read by all of them
    (`checkins/sharing.py`).
    """
    last = plan.end
    event_days = _event_days(player, plan, first)
    planned: dict[date, list[tuple[int, int, str]]] = defaultdict(list)
    for day, minutes, effort, court in TrainingSession.objects.filter(
        week__player=player, day__range=(first, last)
    ).values_list("day", "minutes", "effort", "court"):
        planned[day].append((minutes, effort, court))
    logged: dict[date, list[tuple[int, int]]] = defaultdict(list)
    for day, minutes, effort in (
        SessionLog.objects.visible_to(person)
        .filter(player=player, day__range=(first, last))
        .values_list("day", "minutes", "effort")
    ):
        logged[day].append((minutes, effort))
    filled = {monday_of(day) for day in planned}

    def the(day: date) -> YearDay:
        sessions, logs = planned.get(day, []), logged.get(day, [])
        known: Known = "not logged"
        if logs:
            known = "logged"
        elif day >= today:
            known = "to come"
        elif day in event_days:
            known = "event"
        elif monday_of(day) in filled and not sessions:
            known = "rest"
        is_filled = monday_of(day) in filled
        return YearDay(
            day=day,
            planned=day_load(session_load(m, e) for m, e, _ in sessions) if is_filled else None,
            planned_min=sum(minutes for minutes, _, _ in sessions),
            racket_min=sum(minutes for minutes, _, court in sessions if court == Court.ON),
            done=day_load(session_load(m, e) for m, e in logs)
            if known in ("logged", "rest")
            else None,
            done_min=sum(minutes for minutes, _ in logs),
            known=known,
            is_event=day in event_days,
        )

    return tuple(the(first + timedelta(days=n)) for n in range((last - first).days + 1))


def _event_days(player: Player, plan: SeasonPlan, first: date) -> set[date]:
    """Days of the events that are planned, or that the player checked in from, in one query."""
    planned = PlannedEvent.objects.filter(
        Q(plan=plan) | Q(plan__standing=SeasonPlan.Standing.IN_FORCE),
        plan__player=player,
        played=True,
        event__cancelled=False,
    )
    spans = Event.objects.filter(
        Q(pk__in=planned.values("event"))
        | Q(pk__in=EventCheckIn.objects.filter(player=player).values("event")),
        start__lte=plan.end,
        end__gte=first,
    ).values_list("start", "end")
    return {
        start + timedelta(days=n) for start, end in spans for n in range((end - start).days + 1)
    }
