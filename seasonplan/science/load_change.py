"""How does the load of late compare with the player's own last four weeks.

The year's load asks. A change says how much, never whether that is well: no band of it is known to
be safe. The ratio that is in use for it has been taken for a forecast of injury, which it is not:
what is counted in both parts of it goes together with itself (Lolli et al. 2019, Br J Sports Med
53:921), and four weeks drawn at random told as much as the real ones (Impellizzeri et al. 2020,
Sports Med). So there are no bands and no such words here.

Sources: three ways to weigh the days, Williams et al. 2017, Br J Sports Med 51:209-210. That a week
should be at most a tenth above those before it is common practice whose origin nobody knows; a
trial of it with 532 new runners found no difference (Buist et al. 2008, Am J Sports Med). It is a
note, and the coach sets its percent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from statistics import fmean
from typing import Final

from seasonplan.science.words import N_

SHORT_DAYS: Final = 7
LONG_DAYS: Final = 28
WEEKS_BEFORE: Final = 4

CAUTION: Final = N_(
    "A change says how much, not whether it is well. Compare with your own past weeks only; no "
    "fixed safe limit exists."
)


@dataclass(frozen=True, slots=True)
class LoadChange:
    """The last seven days as multiples of the last four weeks, weighed in three ways.

    `coupled`: the mean of the last 7 days over the mean of the last 28, which hold them (0 to 4).
    `uncoupled`: the same over the mean of the 21 days before, or None where that is 0.
    `smoothed`: two running means that weigh late days more, `smoothed_short` over `smoothed_long`
    (loads in arbitrary units).
    """

    coupled: float
    uncoupled: float | None
    smoothed_short: float
    smoothed_long: float

    @property
    def smoothed(self) -> float:
        return self.smoothed_short / self.smoothed_long


def weight(days: int) -> float:
    """What the newest day weighs in a running mean over `days` days: 2 / (days + 1).

    Raises ValueError for less than one day. 7 days give 0.25.
    """
    if days < 1:
        raise ValueError(f"a running mean is over 1 day or more, not {days}")
    return 2 / (days + 1)


def running_mean(loads: Sequence[float], days: int) -> float:
    """The mean at the end of `loads`, oldest first, that weighs each older day less.

    It begins with the first day's load. Raises ValueError without loads. Over 7 days, 100, 200 and
    300 give 168.75.
    """
    if not loads:
        raise ValueError("a running mean needs a day")
    newest = weight(days)
    mean = loads[0]
    for load in loads[1:]:
        mean = load * newest + mean * (1 - newest)
    return mean


def load_change(days: Sequence[float | None]) -> LoadChange | None:
    """The change at the end of `days`: loads in arbitrary units, oldest first, None where unknown.

    None while there are not yet 28 known days in a row, and where all of those are 0. Days before a
    gap do not count: an unknown day is not a rest day. Raises ValueError for a load that is
    negative or not finite.
    """
    known: list[float] = []
    for load in reversed(days):
        if load is None:
            break
        if not isfinite(load) or load < 0:
            raise ValueError(f"a day's load is 0 or more, not {load}")
        known.append(load)
    known.reverse()
    last = known[-LONG_DAYS:]
    if len(last) < LONG_DAYS or not any(last):
        return None
    short, before = fmean(last[-SHORT_DAYS:]), fmean(last[:-SHORT_DAYS])
    return LoadChange(
        coupled=short / fmean(last),
        uncoupled=short / before if before else None,
        smoothed_short=running_mean(known, SHORT_DAYS),
        smoothed_long=running_mean(known, LONG_DAYS),
    )


def week_changes(weeks: Sequence[float | None]) -> tuple[float | None, ...]:
    """How far each week's load lies above the mean of the four weeks before, in percent.

    `weeks` are loads in arbitrary units, oldest first, None where a day of the week is unknown; one
    percent a week comes back, negative below the mean, None where one of the five weeks is unknown
    or missing, and where the four before are 0. Weeks of 100, 100, 100, 100 and 125 end with 25.
    """
    changes: list[float | None] = []
    for at, load in enumerate(weeks):
        before = [week for week in weeks[max(0, at - WEEKS_BEFORE) : at] if week is not None]
        usual = fmean(before) if len(before) == WEEKS_BEFORE else 0
        changes.append((load / usual - 1) * 100 if load is not None and usual else None)
    return tuple(changes)


def is_jump(change_percent: float | None, jump_percent: float) -> bool:
    """Whether a week's change is to be noted; a week that rose by just `jump_percent` is not."""
    return change_percent is not None and change_percent > jump_percent
