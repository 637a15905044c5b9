"""Weeks to fill and to judge: a target in one line, and sessions by hand."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from seasonplan.science.layout.problem import Phase
from seasonplan.science.phases import SHAPES
from seasonplan.science.training_days import LIGHT_MIN
from seasonplan.science.week_target import (
    DayKind,
    PlannedSession,
    TrainingDay,
    WeekTarget,
)

MONDAY = date(2027, 1, 4)
DAY_KINDS: dict[str, DayKind] = {
    "t": "training",
    "o": "off",
    "b": "busy",
    "v": "travel",
    "a": "arrival",
    "c": "acclimatisation",
    "m": "match",
}
ROOM = 300


def week_of(
    phase: Phase = "preparation",
    days: str = "ttttttt",
    *,
    monday: date = MONDAY,
    room: int | Sequence[int] = ROOM,
    taper: Sequence[float] = (1,) * 7,
    volume: float = 1.0,
    matches: float = 0.7,
    **other: Any,
) -> WeekTarget:
    """The usual shape of a phase over days given by their letters; `volume` is a share of it."""
    shape = SHAPES[phase]
    kinds = [DAY_KINDS[letter] for letter in days]
    made = tuple(
        TrainingDay(
            day=monday + timedelta(days=n),
            kind=kind,
            available_min=min(
                0 if kind == "busy" else room if isinstance(room, int) else room[n],
                LIGHT_MIN.get(kind, ROOM + 100),
            ),
            taper=taper[n],
            expected_matches=matches if kind == "match" else 0,
            days_to_match=next((later - n for later in range(n, 7) if days[later] == "m"), None),
        )
        for n, kind in enumerate(kinds)
    )
    usual: dict[str, Any] = {
        "on_court_min": round(shape.on_court_hours * 60 * volume),
        "off_court_min": round(shape.off_court_hours * 60 * volume),
        "on_court_sessions": shape.on_court_sessions,
        "off_court_sessions": shape.off_court_sessions,
        "effort_0_10": shape.effort_first,
        "shares": {emphasis: share / 100 for emphasis, share in shape.shares.items()},
        "no_racket": phase == "active rest",
    }
    return WeekTarget(
        monday=monday,
        phase=phase,
        in_block=1,
        block_weeks=4,
        days=made,
        **usual | other,
    )


def session(
    weekday: int, minutes: int = 60, effort: int = 4, *, monday: date = MONDAY, **other: Any
) -> PlannedSession:
    """A session on a weekday (0 Monday to 6 Sunday; -1 is the Sunday before)."""
    usual: dict[str, Any] = {
        "order": 0,
        "name": "Rallies",
        "court": "on court",
        "emphasis": "technique",
    }
    return PlannedSession(
        day=monday + timedelta(days=weekday),
        minutes=minutes,
        effort_0_10=effort,
        **usual | other,
    )
