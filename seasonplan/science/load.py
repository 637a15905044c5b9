"""What a training session, a day and a week of sessions add up to, and how even the days are.

Session load is the length of the session times its effort, which the player rates from 0 (rest) to
10 (maximal) about half an hour after the end. The unit is arbitrary: it compares a player's days
with that same player's other days, and no fixed limit is safe or unsafe. The session log, the weeks
and the year's load are built on it.

Monotony is the mean of a week's seven days over their standard deviation, and strain the week's
load times its monotony. The source leaves open whether the deviation divides by n or n - 1, and
both are met: here it is the sample's, n - 1. With n, monotony and strain come out 1.0801 times as
large. Both grow without measure as the days become alike, and any six equal days with one day off
give 2.27, whatever they are: numbers for comparing weeks of one player, no more.

Source: Foster 1998, Med Sci Sports Exerc 30:1164-1168; Foster et al. 2001, J Strength Cond Res
15:109-115; when to ask, Foster et al. 2021 (25 years of session ratings).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import fsum, isfinite
from statistics import fmean, stdev
from typing import Final

LARGEST_EFFORT: Final = 10

LONGEST_SESSION_MIN: Final = 24 * 60
"""A session is written down on one day, so it cannot be longer than that."""


def session_load(minutes: float, effort_0_10: float) -> float:
    """Load of one session in arbitrary units (0 to 14,400): minutes times effort.

    `minutes` is 0 to 1440 and `effort_0_10` 0 to 10; halves and other parts are allowed. Raises
    ValueError, naming the value, for anything outside. 90 minutes at effort 6 are 540.
    """
    if not 0 <= minutes <= LONGEST_SESSION_MIN:
        raise ValueError(f"a session lasts 0 to {LONGEST_SESSION_MIN} minutes, not {minutes}")
    if not 0 <= effort_0_10 <= LARGEST_EFFORT:
        raise ValueError(f"effort is a number from 0 to {LARGEST_EFFORT}, not {effort_0_10}")
    return float(minutes * effort_0_10)


def day_load(session_loads: Iterable[float]) -> float:
    """Load of one day in arbitrary units: the sum of its sessions' loads, in any order.

    A rest day has no sessions and a load of 0. A day on which nobody wrote anything down is not a
    rest day: its load is unknown, and the caller must not ask for it here. Raises ValueError for a
    load that is negative or not finite. Sessions of 540 and 300 make 840.
    """
    loads = tuple(session_loads)
    for load in loads:
        if not isfinite(load) or load < 0:
            raise ValueError(f"a session's load is 0 or more, not {load}")
    return fsum(loads)


@dataclass(frozen=True, slots=True)
class WeekLoad:
    """Seven days together: `load` (arbitrary units) is the sum of the `known_days` of them.

    `monotony` (no unit) and `strain` (arbitrary units) are None while a day is unknown, and where
    all days are alike.
    """

    load: float
    known_days: int
    monotony: float | None
    strain: float | None

    @property
    def is_complete(self) -> bool:
        return self.known_days == 7


def week_load(days: Sequence[float | None]) -> WeekLoad:
    """What seven days, Monday first, add up to, and how even they are (sample SD, n - 1).

    A day is its load in arbitrary units: 0 for a rest day, None where nobody wrote anything down.
    A missing day is never taken for a rest day; in a week that is planned, a day without a session
    is one. Raises ValueError for other than seven days and for
    a load that is negative or not finite. The days 480, 360, 0, 540, 300, 720, 0 make a load of
    2400, a monotony of 1.270 and a strain of 3048.5.
    """
    if len(days) != 7:
        raise ValueError(f"a week has 7 days, not {len(days)}")
    known = [load for load in days if load is not None]
    load = day_load(known)
    monotony = _monotony(known) if len(known) == 7 else None
    return WeekLoad(
        load=load,
        known_days=len(known),
        monotony=monotony,
        strain=None if monotony is None else load * monotony,
    )


def _monotony(days: Sequence[float]) -> float | None:
    spread = stdev(days)
    return fmean(days) / spread if spread > 0 else None
