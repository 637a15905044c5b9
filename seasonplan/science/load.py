"""What a training session, and a day of sessions, adds up to.

Session load is the length of the session times its effort, which the player rates from 0 (rest) to
10 (maximal) about half an hour after the end. The unit is arbitrary: it compares a player's days
with that same player's other days, and no fixed limit is safe or unsafe. The session log and the
weeks are built on it.

Source: Foster 1998, Med Sci Sports Exerc 30:1164-1168; Foster et al. 2001, J Strength Cond Res
15:109-115; when to ask, Foster et al. 2021 (25 years of session ratings).
"""

from __future__ import annotations

from collections.abc import Iterable
from math import fsum, isfinite
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
