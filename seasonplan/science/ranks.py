"""How likely is such an order of ranks by chance alone, counted exactly where that can be.

Every p here is two-sided, and for ties as they are: no tables, no normal curve. `association.py`
asks here.

Method: all orders of one row against the other are counted (Spearman), or all ways to pick the one
group (Mann-Whitney). An order counts against chance if its sum of products lies at least as far
from the mean of all orders as the one that was seen.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

import numpy as np
import numpy.typing as npt

MOST_COUNTED: Final = 10
"""Up to so many pairs every order is counted; beyond that orders are drawn."""

DRAWN_ORDERS: Final = 9_999
"""Orders drawn beyond that: p is exact to about 0.004 near 0.05, and never below 0.0001."""

_SEED: Final = 20_270_104
"""The same years give the same p on every visit."""

Whole = npt.NDArray[np.int64]


def doubled_ranks(values: Sequence[float]) -> tuple[int, ...]:
    """Twice the rank of each value, 1 for the smallest; ties share the mean of their ranks.

    Doubled, because a shared rank may end in a half: 7, 5, 7 have ranks 2.5, 1, 2.5 and give
    5, 2, 5.
    """
    order = sorted(values)
    first: dict[float, int] = {}
    last: dict[float, int] = {}
    for place, value in enumerate(order, start=1):
        first.setdefault(value, place)
        last[value] = place
    return tuple(first[value] + last[value] for value in values)


def pairing_p(x: Sequence[int], y: Sequence[int]) -> float:
    """Chance that two rows of (doubled) ranks, paired anyhow, agree or disagree as much as these.

    Up to 10 pairs all orders are counted. Beyond, 9,999 are drawn with a fixed seed, and the one
    that was seen counts among them (p is (k + 1) / 10,000), so that the p is never too small.
    Ranks 1..5 against 1, 2, 3, 5, 4 give 10/120.
    """
    # In an order of their own, so that neither the order of the pairs nor which row comes first
    # changes which orders are drawn.
    pairs = min(sorted(zip(x, y, strict=True)), sorted(zip(y, x, strict=True)))
    return _pairing_p(tuple(a for a, _ in pairs), tuple(b for _, b in pairs))


@lru_cache(maxsize=4096)
def _pairing_p(x: tuple[int, ...], y: tuple[int, ...]) -> float:
    if len(x) <= MOST_COUNTED:
        return _counted(x, y)
    first, second = _centred(x), _centred(y)
    seen = abs(first @ second)
    # Not `@`: for so small a product the threads of its library cost more than they save.
    drawn = np.abs(np.einsum("ij,j->i", second[_orders(len(x))], first))
    # Sums of the same products in another order may differ in their last digits.
    return float((np.count_nonzero(drawn >= seen - 1e-6) + 1) / (DRAWN_ORDERS + 1))


@lru_cache(maxsize=4096)
def group_p(ranks: tuple[int, ...], in_group: tuple[bool, ...]) -> float:
    """Chance that a group of this size, picked anyhow, has a rank sum as far from the mean.

    Every way to pick the group is counted, whatever the number (Mann-Whitney, exact with ties).
    Groups with ranks 1..3 and 4..6 give 2/20.
    """
    size = sum(in_group)
    if size > len(ranks) - size:  # the rest of them is as far from its own mean, and quicker
        return group_p(ranks, tuple(not picked for picked in in_group))
    total = sum(ranks)
    # ways[k, s]: ways to pick k of the ranks so far with sum s. Floats hold what int64 cannot; the
    # ratio is good to about fifteen digits.
    ways = np.zeros((size + 1, total + 1))
    ways[0, 0] = 1
    for rank in ranks:
        ways[1:, rank:] += ways[:-1, : total + 1 - rank].copy()
    sums = np.arange(total + 1)
    seen = sum(rank for rank, picked in zip(ranks, in_group, strict=True) if picked)
    # Times the number of ranks, so that the distance from the mean stays a whole number.
    far = np.abs(sums * len(ranks) - total * size) >= abs(seen * len(ranks) - total * size)
    return float(ways[size, far].sum() / ways[size].sum())


def _counted(x: tuple[int, ...], y: tuple[int, ...]) -> float:
    """All orders, by how many of them have which sum of products: a walk over sets, not orders.

    After the first k ranks of `x` are given to every set of k ranks of `y`, each set knows how
    many orders within it have which sum.
    """
    n = len(x)
    low_x, low_y = min(x), min(y)
    first = [value - low_x for value in x]
    second = [value - low_y for value in y]
    largest = sum(a * b for a, b in zip(sorted(first), sorted(second), strict=True))
    by_set: dict[int, Whole] = {0: np.zeros(largest + 1, dtype=np.int64)}
    by_set[0][0] = 1
    for value in first:
        following: dict[int, Whole] = {}
        for taken, counts in by_set.items():
            for place in range(n):
                if taken >> place & 1:
                    continue
                into = following.setdefault(
                    taken | 1 << place, np.zeros(largest + 1, dtype=np.int64)
                )
                product = value * second[place]
                into[product:] += counts[: largest + 1 - product]
        by_set = following
    (counts,) = by_set.values()
    seen = sum(a * b for a, b in zip(first, second, strict=True))
    mean_times_n = sum(first) * sum(second)
    far = np.abs(np.arange(largest + 1) * n - mean_times_n) >= abs(seen * n - mean_times_n)
    return float(counts[far].sum() / counts.sum())


def _centred(ranks: tuple[int, ...]) -> npt.NDArray[np.float64]:
    row = np.array(ranks, dtype=np.float64)
    centred: npt.NDArray[np.float64] = row - row.mean()
    return centred


@lru_cache(maxsize=32)
def _orders(n: int) -> npt.NDArray[np.int16]:
    """The orders drawn for `n` pairs, one a line."""
    rows = np.tile(np.arange(n, dtype=np.int16), (DRAWN_ORDERS, 1))
    return np.random.default_rng(_SEED).permuted(rows, axis=1)
