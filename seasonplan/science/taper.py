"""How much training is left on each day before a target event.

The volume falls towards the event while effort and the number of sessions stay. The training year
asks here, and its tests.

Source: Bosquet et al. 2007, Med Sci Sports Exerc 39:1358-1365 (27 studies): best were about two
weeks with the volume cut by 41 to 60 %, falling exponentially, effort and frequency kept. The
abstract does not say whether that is the mean cut or the cut on the last day; here it is the mean.
The studies are of endurance and of sports that are measured, with one event to be ready for, and
there is little of tennis. A player who plays every week cannot taper before each event; that other
events get a short one is common practice, no source.
"""

from __future__ import annotations

from math import exp, fsum, isfinite
from typing import Final

from seasonplan.science.words import N_

SHORTEST_DAYS: Final = 8
LONGEST_DAYS: Final = 14
SMALLEST_CUT: Final = 0.41
LARGEST_CUT: Final = 0.60
"""What is called a taper before a target (Bosquet et al. 2007)."""

CAUTION: Final = N_(
    "Suggested for one to four target events a year. Keep some hard work in it, and adapt it to "
    "how the player feels."
)


def taper_share(day: float, tau_days: float) -> float:
    """The share of a normal day's volume on day `day` of a taper, from 1: `exp(-day / tau_days)`.

    Raises ValueError for a day before the first (0 is the last normal day) and for a `tau_days`
    that is not above 0. With 8 days, day 7 has 0.4169 of normal.
    """
    if day < 0:
        raise ValueError(f"the days of a taper count from 1, not from {day}")
    if not (isfinite(tau_days) and tau_days > 0):
        raise ValueError(f"a taper falls over more than 0 days, not {tau_days}")
    return exp(-day / tau_days)


def mean_cut(days: int, tau_days: float) -> float:
    """The share of the volume that a taper of `days` days takes away, on the mean (0 to 1).

    Raises ValueError for a taper without days, and as `taper_share` does. 14 days with a `tau_days`
    of 8 take away 0.5568.
    """
    if days < 1:
        raise ValueError(f"a taper has 1 day or more, not {days}")
    return 1 - fsum(taper_share(day, tau_days) for day in range(1, days + 1)) / days


def taper_ok(days: int, cut: float) -> bool:
    """Whether `days` with a mean cut of `cut` (0 to 1) are what the source found best."""
    return SHORTEST_DAYS <= days <= LONGEST_DAYS and SMALLEST_CUT <= cut <= LARGEST_CUT
