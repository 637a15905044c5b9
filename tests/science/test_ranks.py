"""Exact p of ranks, against scipy's own enumeration and against every order written out."""

from itertools import combinations, permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from seasonplan.science.ranks import doubled_ranks, group_p, pairing_p

FEW = st.integers(0, 4)  # few distinct values make many ties


@st.composite
def two_rows(draw: st.DrawFn, least: int, most: int) -> tuple[list[int], list[int]]:
    n = draw(st.integers(least, most))
    row = st.lists(FEW, min_size=n, max_size=n).filter(lambda values: len(set(values)) > 1)
    return draw(row), draw(row)


@settings(deadline=None)
@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40))
def test_ranks_are_those_of_scipy(values: list[float]) -> None:
    assert [rank / 2 for rank in doubled_ranks(values)] == list(stats.rankdata(values))


@settings(deadline=None, max_examples=30)
@given(two_rows(3, 7))
def test_the_p_of_a_pairing_is_that_of_scipys_exact_test(rows: tuple[list[int], list[int]]) -> None:
    x, y = rows

    # scipy makes the orders; what they are judged by is the covariance of ranks, times n.
    ranks_x, ranks_y = (stats.rankdata(row) - (len(row) + 1) / 2 for row in rows)

    def distance(order: np.ndarray, axis: int) -> np.ndarray:
        return np.abs(np.sum(order * ranks_y, axis=axis))

    exact = stats.permutation_test(
        (ranks_x,),
        distance,
        permutation_type="pairings",
        n_resamples=np.inf,
        alternative="greater",
        vectorized=True,
    )
    assert pairing_p(doubled_ranks(x), doubled_ranks(y)) == pytest.approx(exact.pvalue)


@settings(deadline=None, max_examples=30)
@given(two_rows(3, 7))
def test_the_p_of_a_pairing_counts_every_order(rows: tuple[list[int], list[int]]) -> None:
    x, y = (doubled_ranks(row) for row in rows)
    mean = sum(x) * sum(y)
    far = abs(sum(a * b for a, b in zip(x, y, strict=True)) * len(x) - mean)
    orders = [
        abs(sum(a * b for a, b in zip(order, y, strict=True)) * len(x) - mean)
        for order in permutations(x)
    ]
    assert pairing_p(x, y) == pytest.approx(sum(o >= far for o in orders) / len(orders))


# Beyond ten pairs orders are drawn; the normal curve is near by then, and scipy's t is its own.
@settings(deadline=None, max_examples=30)
@given(st.integers(20, 60), st.integers(0, 10**6))
def test_the_p_of_drawn_orders_is_near_the_approximation_for_many(n: int, seed: int) -> None:
    random = np.random.default_rng(seed)
    x, y = random.integers(0, 11, n).tolist(), random.integers(0, 6, n).tolist()
    p = pairing_p(doubled_ranks(x), doubled_ranks(y))
    assert p == pytest.approx(stats.spearmanr(x, y).pvalue, abs=0.025)


def test_a_perfect_order_of_many_has_the_smallest_p_that_drawing_can_show() -> None:
    assert pairing_p(tuple(range(2, 42, 2)), tuple(range(2, 42, 2))) == 1 / 10_000


@settings(deadline=None, max_examples=40)
@given(two_rows(3, 16), st.randoms())
def test_the_p_of_a_pairing_depends_on_the_pairs_alone(rows, random) -> None:
    x, y = (doubled_ranks(row) for row in rows)
    shuffled = list(zip(x, y, strict=True))
    random.shuffle(shuffled)
    p = pairing_p(x, y)
    assert pairing_p([a for a, _ in shuffled], [b for _, b in shuffled]) == p
    assert pairing_p(y, x) == p
    assert 0 < p <= 1


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(FEW, st.booleans()), min_size=4, max_size=10).filter(
    lambda row: 0 < sum(picked for _, picked in row) < len(row)
))  # fmt: skip
def test_the_p_of_a_group_counts_every_group(row: list[tuple[int, bool]]) -> None:
    ranks = doubled_ranks([value for value, _ in row])
    picked = tuple(picked for _, picked in row)
    size, total = sum(picked), sum(ranks)
    seen = sum(rank for rank, inside in zip(ranks, picked, strict=True) if inside)
    far = abs(seen * len(ranks) - total * size)
    groups = [abs(sum(g) * len(ranks) - total * size) for g in combinations(ranks, size)]
    assert group_p(ranks, picked) == pytest.approx(sum(g >= far for g in groups) / len(groups))


@settings(deadline=None, max_examples=40)
@given(st.permutations(range(1, 41)), st.integers(3, 37))
def test_the_p_of_a_group_is_scipys_exact_mann_whitney(order: list[int], size: int) -> None:
    inside = order[:size]
    ranks = tuple(2 * value for value in range(1, 41))
    picked = tuple(value in set(inside) for value in range(1, 41))
    exact = stats.mannwhitneyu(inside, order[size:], method="exact").pvalue
    assert group_p(ranks, picked) == pytest.approx(exact)


def test_a_group_of_forty_of_eighty_is_counted_still() -> None:
    order = np.random.default_rng(7).permutation(80)
    picked = np.zeros(80, dtype=bool)
    picked[order[:40]] = True
    values = np.arange(80)
    exact = stats.mannwhitneyu(values[picked], values[~picked], method="exact").pvalue
    ranks = tuple(2 * (value + 1) for value in range(80))
    assert group_p(ranks, tuple(map(bool, picked))) == pytest.approx(exact)
