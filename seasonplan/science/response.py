"""How training might show over time: a picture of two exponentials, with textbook constants.

Each day's load leaves two traces that fade: a slow one that helps and a fast one that costs. Right
after training the cost is larger, later the help. The year's load draws it where somebody asks.
Nothing is laid out, filled or judged by it, and for a reason: its constants are not fitted to
anybody, and with two equally usual sets of them two weeks of full rest before an event come out
best of four ways, or worst.

Sources: Banister et al. 1975, Aust J Sports Med 7:57-61; Morton, Fitz-Clarke, Banister 1990,
J Appl Physiol 69:1171-1177; Fitz-Clarke, Morton, Banister 1991, J Appl Physiol 71:1151-1158; Busso
2003, Med Sci Sports Exerc 35:1188-1195 (all from memory). How little the constants are worth:
Hellard et al. 2006, J Sports Sci 24:509-520.

Two conventions are in use and must not be mixed: whether a day's value counts that day's own
training (Banister, Morton) or only what was done before it (Busso).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, isfinite, log
from typing import Final

from seasonplan.science.words import N_

CAUTION: Final = N_(
    "Illustrative curve with textbook constants, not fitted to you. Not a forecast of results, not "
    "an injury measure."
)


@dataclass(frozen=True, slots=True)
class ResponseConstants:
    """A named set: days in which the slow and the fast trace fade to 37 %, and their weights.

    Raises ValueError unless the slow trace fades slower and the fast one weighs more, which is what
    makes training cost first and help later.
    """

    name: str
    slow_days: float
    fast_days: float
    slow_weight: float
    fast_weight: float

    def __post_init__(self) -> None:
        if not 0 < self.fast_days < self.slow_days:
            raise ValueError(f"the fast trace of “{self.name}” must fade before the slow one")
        if not 0 < self.slow_weight < self.fast_weight:
            raise ValueError(f"the fast trace of “{self.name}” must weigh more than the slow one")

    @property
    def _stretch(self) -> float:
        return self.slow_days * self.fast_days / (self.slow_days - self.fast_days)


TEXTBOOK: Final = ResponseConstants(N_("45 and 15 days"), 45, 15, 1, 2)
"""The set that is drawn (Fitz-Clarke et al. 1991, from memory)."""

SHORTER: Final = ResponseConstants(N_("42 and 7 days"), 42, 7, 1, 2)
"""Another set in use. It is here to show how far the two disagree."""


@dataclass(frozen=True, slots=True)
class Response:
    """One day: what is left of both traces (arbitrary units), and the weighted difference."""

    slow: float
    fast: float
    value: float


def response_with_today(
    loads: Sequence[float], constants: ResponseConstants
) -> tuple[Response, ...]:
    """One response a day, each day's own training counted, from nothing before the first day.

    `loads` are daily loads in arbitrary units. Raises ValueError for one that is negative or not
    finite. Loads of 100, 0, 0, 50 end with a value of -120.195 with the textbook constants.
    """
    keep_slow, keep_fast = exp(-1 / constants.slow_days), exp(-1 / constants.fast_days)
    slow = fast = 0.0
    days = []
    for load in loads:
        if not isfinite(load) or load < 0:
            raise ValueError(f"a day's load is 0 or more, not {load}")
        slow, fast = slow * keep_slow + load, fast * keep_fast + load
        days.append(_response(slow, fast, constants))
    return tuple(days)


def response_before_today(
    loads: Sequence[float], constants: ResponseConstants
) -> tuple[Response, ...]:
    """The same on the morning of each day, its own training not counted yet.

    There is one more morning than days of `loads`: the last one follows them all.
    """
    keep_slow, keep_fast = exp(-1 / constants.slow_days), exp(-1 / constants.fast_days)
    return (
        Response(0.0, 0.0, 0.0),
        *(
            _response(day.slow * keep_slow, day.fast * keep_fast, constants)
            for day in response_with_today(loads, constants)
        ),
    )


def _response(slow: float, fast: float, constants: ResponseConstants) -> Response:
    return Response(slow, fast, constants.slow_weight * slow - constants.fast_weight * fast)


def impulse(days: float, constants: ResponseConstants) -> float:
    """What a single load of 1 is worth after so many days (0 or more): first less than nothing."""
    if days < 0:
        raise ValueError(f"a load shows from its own day on, not {days} days after it")
    slow, fast = exp(-days / constants.slow_days), exp(-days / constants.fast_days)
    return _response(slow, fast, constants).value


def even_days(constants: ResponseConstants) -> float:
    """After how many days a single load is worth as much as none: 15.6 with the textbook set.

    Training later than this before a day takes from that day. 0 or more by the constants' order.
    """
    return constants._stretch * log(constants.fast_weight / constants.slow_weight)


def best_days(constants: ResponseConstants) -> float:
    """After how many days a single load is worth most: 40.3 with the textbook set."""
    heavier = constants.fast_weight * constants.slow_days
    return constants._stretch * log(heavier / (constants.slow_weight * constants.fast_days))
