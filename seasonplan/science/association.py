"""What went together in a year of events, said honestly for few of them.

The debrief asks here how energy and results went together, and which of many things went with the
results. Ranks carry all of it, so that no single odd event decides. An answer that the numbers do
not bear is a `Silent` with its reason, not a number; p stays away below six events; and out of many
things only those are called notable that chance alone would rarely show. None of it says why.

Sources: Sen 1968, J Am Stat Assoc 63:1379-1389 (line and its interval); Fieller, Hartley & Pearson
1957, Biometrika 44:470-481 (standard error of a rank correlation, from memory); Newcombe 2006, Stat
Med 25:559-573 (interval of a difference between groups, from memory); Benjamini & Hochberg 1995, J
R Stat Soc B 57:289-300; Dawdy & Matalas 1964, in Chow's Handbook of Applied Hydrology (neighbours
that resemble each other, from memory). Fewest events and fewest in a group are our own choice, set
so that years of pure chance stay silent; see `NOTABLE_P`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from math import atanh, isfinite, sqrt, tanh
from statistics import NormalDist, correlation, median
from typing import Final, Literal

from seasonplan.science.ranks import MOST_COUNTED, doubled_ranks, group_p, pairing_p
from seasonplan.science.words import _, ngettext

FEWEST_EVENTS: Final = 6
"""Below that no p: with five events even a perfect order has p 0.0167, with four 0.083."""

FEWEST_FOR_LINE: Final = 4
"""Below that the interval of a line, and of a correlation, says nothing."""

FEWEST_IN_GROUP: Final = 3
"""A group of one or two events is no group."""

FEWEST_NOTABLE: Final = 12
"""Fewer events are shown, but never called notable (our own choice)."""

NOTABLE_P: Final = 0.05
"""Largest corrected p that is called notable. In years of pure chance, with twelve things looked
at, something was called notable in about 2 years of 100, and in 3 where the results drift as well;
`tests/science` counts it."""

CONFIDENCE: Final = 0.95
_Z: Final = NormalDist().inv_cdf(0.5 + CONFIDENCE / 2)


@dataclass(frozen=True, slots=True)
class Silent:
    """Why there is no answer, as the end of a sentence: "no answer: all results are the same".

    In the language of whoever asked.
    """

    reason: str


@dataclass(frozen=True, slots=True)
class Interval:
    """From `low` to `high`, 95 %."""

    low: float
    high: float

    def holds(self, value: float) -> bool:
        return self.low <= value <= self.high


@dataclass(frozen=True, slots=True)
class Line:
    """A robust line `y = intercept + slope * x`, and the interval of its slope.

    It runs through the medians of x and y, and so do the two lines of the interval: `band` gives
    where these two are at an x.
    """

    n: int
    slope: float
    intercept: float
    slopes: Interval
    median_x: float
    median_y: float

    def at(self, x: float) -> float:
        return self.intercept + self.slope * x

    def band(self, x: float) -> Interval:
        """The lower and the upper of the two outer lines at `x`."""
        away = x - self.median_x
        ends = sorted((self.slopes.low * away, self.slopes.high * away))
        return Interval(self.median_y + ends[0], self.median_y + ends[1])


@dataclass(frozen=True, slots=True)
class Together:
    """How two rows went together, from -1 (opposite) over 0 (not at all) to 1 (in step).

    `effect` is Spearman's rank correlation, or for two groups the rank-biserial correlation: the
    share of pairs in which the one group was better less the share in which the other was. `p` is
    None below six events, and `counted` says whether every order was counted or many were drawn.
    """

    kind: Literal["rank correlation", "two groups"]
    n: int
    effect: float
    interval: Interval
    p: float | None
    counted: bool


@dataclass(frozen=True, slots=True)
class Pairs:
    """All pairs of events: in how many the one with more x had more y, had less, or tied in one."""

    agree: int
    disagree: int
    tied_x: int
    tied_y: int
    tied_both: int

    @property
    def tau_b(self) -> float:
        """Kendall's tau-b: agreement less disagreement, ties allowed for, -1 to 1."""
        decided = self.agree + self.disagree
        return (self.agree - self.disagree) / sqrt(
            (decided + self.tied_x) * (decided + self.tied_y)
        )


def robust_line(x: Sequence[float], y: Sequence[float]) -> Line | Silent:
    """Theil-Sen line of `y` on `x`: the median of the slopes between all pairs of points.

    Sen's interval, corrected for ties. ValueError for rows of different length or a number that is
    not finite. For x 1, 2, 3, 4, 10, 12, 18 and y 9, 15, 19, 20, 45, 55, 78 (Sen 1968) the slope is
    4 and the intercept 4.
    """
    if silent := _too_little(x, y, FEWEST_FOR_LINE):
        return silent
    slopes = sorted(
        (y2 - y1) / (x2 - x1)
        for (x1, y1), (x2, y2) in combinations(zip(x, y, strict=True), 2)
        if x1 != x2
    )
    slope = float(median(slopes))
    median_x, median_y = float(median(x)), float(median(y))
    return Line(
        n=len(x),
        slope=slope,
        intercept=median_y - slope * median_x,
        slopes=slope_interval(slopes, x, y),
        median_x=median_x,
        median_y=median_y,
    )


def slope_interval(
    slopes: Sequence[float],
    x: Sequence[float],
    y: Sequence[float],
    *,
    confidence: float = CONFIDENCE,
) -> Interval:
    """Sen's interval: two of the sorted `slopes`, as far apart as chance alone may move them."""
    n = len(x)
    variance = (_tie_term([n]) - _tie_term(_repeats(x)) - _tie_term(_repeats(y))) / 18
    reach = NormalDist().inv_cdf(0.5 + confidence / 2) * sqrt(variance)
    low = max(round((len(slopes) - reach) / 2) - 1, 0)
    high = min(round((len(slopes) + reach) / 2), len(slopes) - 1)
    return Interval(slopes[low], slopes[high])


def rank_correlation(x: Sequence[float], y: Sequence[float]) -> Together | Silent:
    """Spearman's rank correlation of two rows, ties sharing ranks, with interval and p.

    The interval is Fisher's with Fieller's standard error, sqrt(1.06 / (n - 3)). For n up to 10 the
    p counts every order; beyond, 9,999 drawn ones. ValueError as `robust_line`. 1..7 against 2, 1,
    4, 3, 6, 5, 7: 0.892857, p 62/5040 = 0.0123.
    """
    if silent := _too_little(x, y, FEWEST_FOR_LINE):
        return silent
    ranks_x, ranks_y = doubled_ranks(x), doubled_ranks(y)
    rho = _rho(ranks_x, ranks_y)
    n = len(x)
    return Together(
        kind="rank correlation",
        n=n,
        effect=rho,
        interval=rank_interval(rho, n),
        p=pairing_p(ranks_x, ranks_y) if n >= FEWEST_EVENTS else None,
        counted=n <= MOST_COUNTED,
    )


def rank_interval(rho: float, n: int) -> Interval:
    """95 % interval of a rank correlation of `n` pairs, 4 or more; 0.5 of 12: -0.123 to 0.840.

    Perfect order has no standard error; its interval ends at 1 and begins where that of the next
    best order does, with two neighbours swapped.
    """
    next_best = 1 - 12 / (n * (n * n - 1))
    middle, reach = atanh(max(-next_best, min(next_best, rho))), _Z * sqrt(1.06 / (n - 3))
    return Interval(
        -1.0 if rho < -next_best else tanh(middle - reach),
        1.0 if rho > next_best else tanh(middle + reach),
    )


def between_groups(in_group: Sequence[bool], y: Sequence[float]) -> Together | Silent:
    """How much better `y` was in the one group of events than in the other.

    The effect is the rank-biserial correlation (Cliff's delta): pairs of one event from each group
    in which the first group's was better, less those in which it was worse, as a share of all. The
    interval is Newcombe's fifth, the p counts every way to pick the group (Mann-Whitney). Both
    groups need three events. ValueError as `robust_line`.
    """
    _refuse_unless_alike(in_group, y)
    inside = [value for value, picked in zip(y, in_group, strict=True) if picked]
    outside = [value for value, picked in zip(y, in_group, strict=True) if not picked]
    smaller = min(len(inside), len(outside))
    if smaller < FEWEST_IN_GROUP:
        text = (
            ngettext(
                "none of %(count)d event in one of the two groups",
                "none of %(count)d events in one of the two groups",
                len(y),
            )
            if smaller == 0
            else ngettext(
                "only %(few)d of %(count)d event in one of the two groups",
                "only %(few)d of %(count)d events in one of the two groups",
                len(y),
            )
        )
        return Silent(text % {"few": smaller, "count": len(y)})
    if min(y) == max(y):
        return Silent(_("all results are the same"))
    better = sum((a > b) - (a < b) for a in inside for b in outside)
    delta = better / (len(inside) * len(outside))
    return Together(
        kind="two groups",
        n=len(y),
        effect=delta,
        interval=_newcombe(delta, len(inside), len(outside)),
        p=group_p(doubled_ranks(y), tuple(in_group)) if len(y) >= FEWEST_EVENTS else None,
        counted=True,
    )


def pairs(x: Sequence[float], y: Sequence[float]) -> Pairs:
    """Every pair of events, by whether more `x` came with more `y`. ValueError as `robust_line`."""
    _refuse_unless_alike(x, y)
    kinds = [
        ((x2 > x1) - (x2 < x1), (y2 > y1) - (y2 < y1))
        for (x1, y1), (x2, y2) in combinations(zip(x, y, strict=True), 2)
    ]
    return Pairs(
        agree=sum(a * b > 0 for a, b in kinds),
        disagree=sum(a * b < 0 for a, b in kinds),
        tied_x=sum(a == 0 and b != 0 for a, b in kinds),
        tied_y=sum(a != 0 and b == 0 for a, b in kinds),
        tied_both=sum(a == 0 and b == 0 for a, b in kinds),
    )


def corrected(p_values: Sequence[float]) -> tuple[float, ...]:
    """Benjamini-Hochberg: each p, corrected for how many were looked at, in the order given.

    Calling notable what is at most 5 % after it lets about one such call in twenty be chance. .01,
    .04, .03, .005 become .02, .04, .04, .02. ValueError for a p outside 0 to 1.
    """
    for p in p_values:
        if not 0 <= p <= 1:
            raise ValueError(f"a p lies between 0 and 1, not at {p}")
    by_size = sorted(range(len(p_values)), key=lambda at: p_values[at], reverse=True)
    adjusted = [1.0] * len(p_values)
    least = 1.0
    for ahead, at in enumerate(by_size):
        least = min(least, p_values[at] * len(p_values) / (len(p_values) - ahead))
        adjusted[at] = least
    return tuple(adjusted)


# Which of many things ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Factor:
    """Something known of events beside their result, one value an event, None where unknown.

    A factor with `groups` says yes (1) or no (0) of each event.
    """

    name: str
    values: tuple[float | None, ...]
    groups: bool = False


@dataclass(frozen=True, slots=True)
class Going:
    """How one factor went with the results.

    `answer` is the effect with its interval, or why there is none. `p` allows for neighbouring
    events that resemble each other, `corrected_p` also for how many factors were looked at; both
    are None where the answer has no p.
    """

    factor: str
    answer: Together | Silent
    p: float | None
    corrected_p: float | None
    notable: bool


def what_went_with_what(
    results: Sequence[float | None], factors: Sequence[Factor]
) -> tuple[Going, ...]:
    """How each factor went with the results: notable ones first, then by size, silent ones last.

    Results and factors are in order of time, None where unknown; an event counts for a factor where
    both are known. Notable is what has a corrected p of at most 5 % and twelve events or more.
    ValueError for a factor with another number of events than the results.
    """
    judged: list[tuple[Factor, Together | Silent, float | None]] = []
    for factor in factors:
        known = [
            (value, result)
            for value, result in zip(factor.values, results, strict=True)
            if value is not None and result is not None
        ]
        x, y = [value for value, _ in known], [result for _, result in known]
        answer = (
            between_groups([value > 0 for value in x], y)
            if factor.groups
            else rank_correlation(x, y)
        )
        p = None
        if isinstance(answer, Together):
            p = None if answer.p is None else _allowing_for_neighbours(answer.p, x, y)
        elif len(y) < FEWEST_EVENTS:
            few = ngettext(
                "only %(count)d event with this and a result",
                "only %(count)d events with this and a result",
                len(y),
            )
            answer = Silent(few % {"count": len(y)})
        judged.append((factor, answer, p))
    by_name = dict(
        zip(
            [factor.name for factor, _, p in judged if p is not None],
            corrected([p for _, _, p in judged if p is not None]),
            strict=True,
        )
    )
    goings = [
        Going(
            factor=factor.name,
            answer=answer,
            p=p,
            corrected_p=by_name.get(factor.name),
            notable=isinstance(answer, Together)
            and answer.n >= FEWEST_NOTABLE
            and by_name.get(factor.name, 1) <= NOTABLE_P,
        )
        for factor, answer, p in judged
    ]
    return tuple(sorted(goings, key=_rank_of))


def _rank_of(going: Going) -> tuple[bool, bool, float]:
    size = abs(going.answer.effect) if isinstance(going.answer, Together) else 0
    return (not going.notable, isinstance(going.answer, Silent), -size)


def _allowing_for_neighbours(p: float, x: Sequence[float], y: Sequence[float]) -> float:
    """The p with as many events as would be worth the same if neighbours did not resemble.

    Where both rows drift, n events tell no more than n (1 - r) / (1 + r) independent ones, r being
    the product of how much neighbours resemble each other in either row.
    """
    alike = _neighbours(x) * _neighbours(y)
    if alike <= 0:
        return p
    share = (1 - alike) / (1 + alike)
    normal = NormalDist()
    z = normal.inv_cdf(1 - p / 2) if p < 1 else 0.0
    return 2 * (1 - normal.cdf(z * sqrt(share)))


def _neighbours(row: Sequence[float]) -> float:
    """How much the ranks of a row resemble those one event later, -1 to 1 (below 0: they swing)."""
    ranks = doubled_ranks(row)
    mean = sum(ranks) / len(ranks)
    away = [rank - mean for rank in ranks]
    spread = sum(step * step for step in away)
    return sum(before * after for before, after in pairwise(away)) / spread


# Details -------------------------------------------------------------------------------------


def _too_little(x: Sequence[float], y: Sequence[float], fewest: int) -> Silent | None:
    _refuse_unless_alike(x, y)
    if len(x) < fewest:
        only = ngettext("only %(count)d event", "only %(count)d events", len(x))
        return Silent(only % {"count": len(x)} if x else _("no event"))
    if min(x) == max(x):
        return Silent(_("it was the same at all events"))
    if min(y) == max(y):
        return Silent(_("all results are the same"))
    return None


def _refuse_unless_alike(x: Sequence[float], y: Sequence[float]) -> None:
    if len(x) != len(y):
        raise ValueError(f"each event has a value in both rows; there are {len(x)} and {len(y)}")
    for value in (*x, *y):
        if not isfinite(value):
            raise ValueError(f"an event's value is a finite number, not {value}")


def _rho(ranks_x: Sequence[int], ranks_y: Sequence[int]) -> float:
    return max(-1.0, min(1.0, correlation(ranks_x, ranks_y)))


def _repeats(values: Sequence[float]) -> list[int]:
    return [values.count(value) for value in set(values)]


def _tie_term(sizes: Sequence[int]) -> int:
    return sum(k * (k - 1) * (2 * k + 5) for k in sizes)


def _newcombe(delta: float, inside: int, outside: int) -> Interval:
    """Where a chance of being better would lie so far from the one seen that 5 % remain."""
    seen = (delta + 1) / 2
    spare = (inside + outside) / 2 - 1

    def too_far(chance: float) -> bool:
        variance = (
            chance
            * (1 - chance)
            * (1 + spare * (1 - chance) / (2 - chance) + spare * chance / (1 + chance))
            / (inside * outside)
        )
        return abs(chance - seen) > _Z * sqrt(variance)

    return Interval(2 * _edge(seen, 0.0, too_far) - 1, 2 * _edge(seen, 1.0, too_far) - 1)


def _edge(inside: float, end: float, too_far: Callable[[float], bool]) -> float:
    """Between a value that is near enough and an end: the last that is, by halving."""
    if not too_far(end):
        return end
    near, far = inside, end
    for _halving in range(60):
        middle = (near + far) / 2
        near, far = (near, middle) if too_far(middle) else (middle, far)
    return near
