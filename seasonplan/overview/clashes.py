"""Which coach would have to be at two places in one week? The timeline of the academy asks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import combinations

from seasonplan.science.weeks import event_weeks, monday_of

_A_MONDAY = date(2001, 1, 1)


@dataclass(frozen=True, order=True)
class Stay:
    """A coach travels with a player to an event at a place, from its first day to its last."""

    coach_name: str
    coach: int
    start: date
    end: date
    event: str
    place: str
    place_id: int
    player: str


@dataclass(frozen=True)
class Clash:
    """A coach at two places or more in the week from this Monday, with the stays there."""

    coach_name: str
    monday: date
    stays: tuple[Stay, ...]


def clashes(stays: Iterable[Stay]) -> tuple[Clash, ...]:
    """Every coach and week with two places, in order of week and name.

    Two stays clash in a week that is an event week of both (`weeks.event_weeks`), and where their
    days overlap; at one place a coach is with as many players as one likes.
    """
    by_coach: dict[int, list[Stay]] = defaultdict(list)
    for stay in stays:
        by_coach[stay.coach].append(stay)
    found: dict[tuple[date, str, int], set[Stay]] = defaultdict(set)
    for coach, own in by_coach.items():
        for one, other in combinations(sorted(own), 2):
            if one.place_id == other.place_id:
                continue
            for monday in _shared_weeks(one, other):
                found[monday, one.coach_name, coach] |= {one, other}
    return tuple(
        Clash(name, monday, tuple(sorted(found[monday, name, coach])))
        for monday, name, coach in sorted(found)
    )


def _shared_weeks(one: Stay, other: Stay) -> set[date]:
    weeks = _weeks(one) & _weeks(other)
    first, last = max(one.start, other.start), min(one.end, other.end)
    if first <= last and not weeks:
        weeks = {monday_of(first)}
    return weeks


def _weeks(stay: Stay) -> set[date]:
    return {
        _A_MONDAY + timedelta(weeks=index) for index in event_weeks(stay.start, stay.end, _A_MONDAY)
    }
