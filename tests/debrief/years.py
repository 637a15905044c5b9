"""Seasons with events in them, for the tests of the figures."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

from seasonplan.academy.models import Player
from seasonplan.plans.models import SeasonPlan
from tests.factories import (
    BlockFactory,
    EventCheckInFactory,
    EventFactory,
    PlaceFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
)

START, END = date(2026, 1, 5), date(2027, 1, 3)
PUT_IN_FORCE = datetime(2025, 12, 20, 12, tzinfo=UTC)


def a_season(player: Player, start: date = START, end: date = END, **changes: Any) -> SeasonPlan:
    """A plan in force with one long block of each phase."""
    plan = SeasonPlanFactory(
        player=player,
        name=f"Season {end.year - 1}",
        start=start,
        end=end,
        **{"standing": "in force", "in_force_since": PUT_IN_FORCE} | changes,
    )
    week = 0
    for phase, weeks in (
        ("preparation", 8),
        ("pre-competition", 8),
        ("competition", 28),
        ("active rest", 8),
    ):
        BlockFactory(plan=plan, phase=phase, start=start + timedelta(weeks=week), weeks=weeks)
        week += weeks
    return plan


def an_event(plan: SeasonPlan, week: int, **changes: Any) -> Any:
    """An event of the academy from Monday to Sunday of a week of the season (0 is the first)."""
    start = plan.start + timedelta(weeks=week)
    place = changes.pop("place", None) or PlaceFactory(academy=plan.player.academy)
    return EventFactory(academy=plan.player.academy, place=place, start=start, **changes)


def played(
    plan: SeasonPlan,
    week: int,
    rounds_won: int | None = 2,
    *,
    planned: bool = True,
    role: str = "open",
    event: dict[str, Any] | None = None,
    **said: Any,
) -> Any:
    """An event in the plan, unless not `planned`, and what the player checked in from it."""
    made = an_event(plan, week, **(event or {}))
    if planned:
        PlannedEventFactory(plan=plan, event=made, role=role, played=True)
    at = datetime.combine(made.end, datetime.min.time(), UTC)
    return EventCheckInFactory(
        player=plan.player, event=made, rounds_won=rounds_won, first_written_at=at, **said
    )


def many(plan: SeasonPlan, number: int, *, energy_decides: bool = False) -> None:
    """So many events with all that a check-in says, several a week where there are many."""
    for at in range(number):
        energy = (7 * at) % 11
        played(
            plan,
            at % 50,
            rounds_won=min(5, energy // 2) if energy_decides else (3 * at) % 6,
            planned=at % 7 != 3,
            role="target" if at % 20 == 5 else "open",
            event={"surface": ("hard", "clay", "grass")[at % 3], "level": ("low", "high")[at % 2]},
            energy_before=energy,
            energy_before_late=at % 9 == 4,
            energy_after=(5 * at) % 9,
            soreness=(3 * at) % 7,
            sleep_last_h=6 + (at % 5) / 2,
            sleep_before_h=7,
        )
