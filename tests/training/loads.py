"""Weeks of planned and logged sessions, for the tests of the load."""

from collections.abc import Sequence
from datetime import date, timedelta

from seasonplan.academy.models import Player
from seasonplan.training.models import TrainingSession, TrainingWeek
from tests.factories import SessionLogFactory, TrainingSessionFactory, TrainingWeekFactory

Days = Sequence[int | None]
"""Loads of Monday to Sunday; None is a day without a session."""

USUAL: Days = (480, 360, None, 540, 300, 720, None)
"""A load of 2400, a monotony of 1.270 and a strain of 3048.5 (the example of `science/load.py`)."""

EFFORT = 6


def plan_week(player: Player, monday: date, days: Days = USUAL, *, court: str = "on court") -> None:
    """Sessions with these loads, one a day, by minutes at effort 6."""
    week = TrainingWeekFactory(player=player, monday=monday)
    for at, load in enumerate(days):
        if load is not None:
            TrainingSessionFactory(
                week=week,
                day=monday + timedelta(days=at),
                minutes=load // EFFORT,
                effort=EFFORT,
                court=court,
            )


def log_week(player: Player, monday: date, days: Days = USUAL) -> None:
    """What was done, one session a day."""
    for at, load in enumerate(days):
        if load is not None:
            SessionLogFactory(
                player=player,
                day=monday + timedelta(days=at),
                minutes=load // EFFORT,
                effort=EFFORT,
            )


def plan_and_log(player: Player, monday: date, weeks: int, days: Days = USUAL) -> None:
    for n in range(weeks):
        plan_week(player, monday + timedelta(weeks=n), days)
        log_week(player, monday + timedelta(weeks=n), days)


def plan_whole(player: Player, monday: date, weeks: int, days: Days = USUAL) -> None:
    """The same as `plan_week` for many weeks, in two statements."""
    mondays = [monday + timedelta(weeks=n) for n in range(weeks)]
    rows = TrainingWeek.objects.bulk_create(
        TrainingWeek(player=player, monday=each) for each in mondays
    )
    TrainingSession.objects.bulk_create(
        TrainingSession(
            week=row,
            day=row.monday + timedelta(days=at),
            name="Rally build-up",
            court="on court",
            emphasis="technique",
            minutes=load // EFFORT,
            effort=EFFORT,
        )
        for row in rows
        for at, load in enumerate(days)
        if load is not None
    )
