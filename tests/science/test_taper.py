"""A taper against the numbers of its formula and the bounds of its source."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.taper import mean_cut, taper_ok, taper_share

# exp(-d / tau) and its mean, computed with numpy; the bounds are those of Bosquet et al. 2007, Med
# Sci Sports Exerc 39:1358-1365 (from the abstract). tau in days: mean cut over 14 days, over 10,
# and what is left on day 14, in percent.
TAPERS = [
    (6, 64.43, 55.28, 9.70),
    (8, 55.68, 46.41, 17.38),
    (9, 52.05, 42.92, 21.11),
    (9.622997, 50.00, None, 23.34),
    (10, 48.83, 39.90, 24.66),
    (12, 43.40, 34.94, 31.14),
]


@pytest.mark.parametrize(("tau", "over_14", "over_10", "last_day"), TAPERS)
def test_a_taper_cuts_what_its_formula_says(
    tau: float, over_14: float, over_10: float | None, last_day: float
) -> None:
    assert 100 * mean_cut(14, tau) == pytest.approx(over_14, abs=0.005)
    assert 100 * taper_share(14, tau) == pytest.approx(last_day, abs=0.005)
    if over_10 is not None:
        assert 100 * mean_cut(10, tau) == pytest.approx(over_10, abs=0.005)


@pytest.mark.parametrize(
    ("day", "share"), [(0, 1), (1, 0.8825), (3, 0.6873), (7, 0.4169), (10, 0.2865), (14, 0.1738)]
)
def test_a_taper_leaves_what_its_formula_says_each_day(day: int, share: float) -> None:
    assert taper_share(day, 8) == pytest.approx(share, abs=5e-5)


@pytest.mark.parametrize(
    ("days", "cut", "ok"),
    [
        (8, 0.41, True),
        (14, 0.60, True),
        (7, 0.50, False),
        (15, 0.50, False),
        (14, 0.4099, False),
        (14, 0.6001, False),
    ],
)
def test_the_bounds_of_the_source_belong_to_it(days: int, cut: float, ok: bool) -> None:
    assert taper_ok(days, cut) is ok


@pytest.mark.parametrize(
    ("tau", "days", "ok"),
    [(6, 14, False), (6, 10, True), (8, 14, True), (9.622997, 14, True), (10, 10, False)],
)
def test_a_taper_is_judged_by_its_mean_cut(tau: float, days: int, ok: bool) -> None:
    assert taper_ok(days, mean_cut(days, tau)) is ok


@settings(deadline=None, max_examples=60)
@given(st.integers(1, 30), st.floats(0.5, 60))
def test_the_mean_cut_lies_between_the_first_and_the_last_day(days: int, tau: float) -> None:
    cut = mean_cut(days, tau)
    assert 1 - taper_share(1, tau) - 1e-12 <= cut <= 1 - taper_share(days, tau) + 1e-12


@settings(deadline=None, max_examples=60)
@given(st.integers(1, 30), st.floats(0.5, 60))
def test_a_longer_taper_and_a_slower_fall_cut_differently(days: int, tau: float) -> None:
    assert mean_cut(days + 1, tau) > mean_cut(days, tau) or mean_cut(days, tau) > 0.999
    assert mean_cut(days, tau + 1) < mean_cut(days, tau)


@pytest.mark.parametrize("tau", [0, -1, float("nan"), float("inf")])
def test_a_fall_over_no_days_is_refused(tau: float) -> None:
    with pytest.raises(ValueError, match="more than 0 days"):
        taper_share(1, tau)


def test_a_day_before_the_taper_and_a_taper_without_days_are_refused() -> None:
    with pytest.raises(ValueError, match="count from 1, not from -1"):
        taper_share(-1, 8)
    with pytest.raises(ValueError, match="1 day or more, not 0"):
        mean_cut(0, 8)
