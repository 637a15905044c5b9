"""A season of Ines in force, for tests of her weeks: preparation, pre-competition, competition with
one target event, active rest. Today is Wednesday 24 February 2027, in the eighth week of it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

from seasonplan.academy.models import Player
from seasonplan.plans.models import SeasonPlan
from seasonplan.training.models import TrainingSession, TrainingWeek
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    BusyTimeFactory,
    EventFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
    TrainingSessionFactory,
    TrainingWeekFactory,
)

NOW = datetime(2027, 2, 24, 9, 30, tzinfo=UTC)
TODAY = date(2027, 2, 24)
MONDAY = date(2027, 2, 22)
NEXT = date(2027, 3, 1)
SWAP = {"HX-Request": "true"}


def a_season(cast: Cast) -> SeasonPlan:
    plan: SeasonPlan = SeasonPlanFactory(
        player=cast.ines, start=date(2027, 1, 4), end=date(2027, 6, 6), standing="in force"
    )
    for phase, start, weeks in (
        ("preparation", date(2027, 1, 4), 12),
        ("pre-competition", date(2027, 3, 29), 4),
        ("competition", date(2027, 4, 26), 4),
        ("active rest", date(2027, 5, 24), 2),
    ):
        BlockFactory(plan=plan, phase=phase, start=start, weeks=weeks)
    event = EventFactory(
        academy=cast.academy, name="Lantern Cup", start=date(2027, 5, 10), end=date(2027, 5, 16)
    )
    PlannedEventFactory(plan=plan, event=event, played=True, role="target")
    BusyTimeFactory(
        player=cast.ines, start=date(2027, 3, 4), end=date(2027, 3, 4), why="School exam"
    )
    return plan


def a_week(player: Player, monday: date = NEXT, **said: Any) -> TrainingWeek:
    week: TrainingWeek = TrainingWeekFactory(player=player, monday=monday, **said)
    return week


def a_session(week: TrainingWeek, day: int = 0, **said: Any) -> TrainingSession:
    """A session on the nth day of the week, from 0."""
    row: TrainingSession = TrainingSessionFactory(
        week=week, day=week.monday + timedelta(days=day), **said
    )
    return row


def url(player: Player, monday: date = NEXT, *, edit: bool = False) -> str:
    return f"/players/{player.pk}/weeks/{monday.isoformat()}/{'edit/' if edit else ''}"


def planned(player: Player, monday: date = NEXT) -> list[tuple[str, str, int]]:
    """What stands in a week: weekday, name and minutes, in order."""
    rows = TrainingSession.objects.filter(week__player=player, week__monday=monday)
    return [(f"{row.day:%a}", row.name, row.minutes) for row in rows]
