"""The two exponentials against their sums, their analytic times, and the tables of their formula.

The formulas are those of the sources in the module; the numbers were computed from them with numpy.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.response import (
    CAUTION,
    SHORTER,
    TEXTBOOK,
    ResponseConstants,
    best_days,
    even_days,
    impulse,
    response_before_today,
    response_with_today,
)

EXTRA = ResponseConstants("extra set, no source", 50, 11, 1, 2)

# even_days, best_days, their difference, the value at the best, the first whole day above 0 and the
# best whole day.
# About 16 and 40 days are also what Fitz-Clarke et al. 1991 give for the first set (from memory).
TIMES = [
    (TEXTBOOK, 15.595812, 40.314588, 24.718776, 0.272166, 16, 40),
    (SHORTER, 5.822436, 20.873216, 15.050780, 0.506970, 6, 21),
    (EXTRA, 9.775153, 31.128236, 21.353083, 0.418522, 10, 31),
]
IMPULSES = {
    TEXTBOOK: {
        0: -1, 1: -0.892991, 7: -0.398239, 15: -0.019228, 16: 0.012476, 21: 0.133895,
        28: 0.227474, 40: 0.272145, 60: 0.226966, 90: 0.130378,
    },
    SHORTER: {
        0: -1, 1: -0.757284, 5: -0.091318, 6: 0.018132, 7: 0.110723, 14: 0.445861, 21: 0.506957,
        28: 0.476786, 40: 0.379224, 60: 0.239272, 90: 0.117314,
    },
}  # fmt: skip
# A load of 1 every day: both traces with and before today's load in the long run, the values there,
# and the values after 28 days.
STEADY = [
    (
        TEXTBOOK, 45.501851837, 15.505555144, 44.501851837, 14.505555144, 14.490741548,
        15.490741548, -5.136888290, -3.909414487,
    ),
    (
        SHORTER, 42.501984108, 7.511900715, 41.501984108, 6.511900715, 27.478182679,
        28.478182679, 5.932106967, 7.408892808,
    ),
]  # fmt: skip
SERIES = [100, 0, 0, 50, 0, 100, 0]
SERIES_VALUES = [
    (
        TEXTBOOK,
        [-100, -89.299110, -79.381790, -120.195452, -106.340500, -193.513225, -170.943513],
        232.094968,
        201.519241,
    ),
    (
        SHORTER,
        [-100, -75.728411, -54.945763, -87.181534, -59.892186, -136.604661, -92.505957],
        230.888098,
        161.697027,
    ),
]
CONSTANTS = st.sampled_from([TEXTBOOK, SHORTER, EXTRA])
LOADS = st.lists(st.integers(0, 2000), min_size=1, max_size=60)


@pytest.mark.parametrize(
    ("constants", "even", "best", "between", "at_best", "first_day", "best_day"), TIMES
)
def test_the_times_are_those_of_the_formula(
    constants: ResponseConstants,
    even: float,
    best: float,
    between: float,
    at_best: float,
    first_day: int,
    best_day: int,
) -> None:
    assert even_days(constants) == pytest.approx(even, abs=5e-7)
    assert best_days(constants) == pytest.approx(best, abs=5e-7)
    assert best_days(constants) - even_days(constants) == pytest.approx(between, abs=1e-6)
    assert impulse(best_days(constants), constants) == pytest.approx(at_best, abs=5e-7)
    assert impulse(even_days(constants), constants) == pytest.approx(0, abs=1e-12)
    assert next(day for day in range(100) if impulse(day, constants) > 0) == first_day
    assert max(range(200), key=lambda day: impulse(day, constants)) == best_day


@pytest.mark.parametrize(
    ("constants", "day", "value"),
    [(constants, day, value) for constants, row in IMPULSES.items() for day, value in row.items()],
)
def test_a_single_load_costs_first_and_helps_later(
    constants: ResponseConstants, day: int, value: float
) -> None:
    assert impulse(day, constants) == pytest.approx(value, abs=5e-7)


@pytest.mark.parametrize(
    (
        "constants", "slow", "fast", "slow_before", "fast_before", "limit", "limit_before",
        "after_28", "after_28_before",
    ),
    STEADY,
)  # fmt: skip
def test_a_load_every_day_comes_to_its_limit_in_both_conventions(
    constants: ResponseConstants,
    slow: float,
    fast: float,
    slow_before: float,
    fast_before: float,
    limit: float,
    limit_before: float,
    after_28: float,
    after_28_before: float,
) -> None:
    day = response_with_today([1] * 2000, constants)[-1]
    morning = response_before_today([1] * 2000, constants)[-1]
    assert (day.slow, day.fast) == (pytest.approx(slow, abs=5e-9), pytest.approx(fast, abs=5e-9))
    assert morning.slow == pytest.approx(slow_before, abs=5e-9)
    assert morning.fast == pytest.approx(fast_before, abs=5e-9)
    assert day.value == pytest.approx(limit, abs=2e-9)
    assert morning.value == pytest.approx(limit_before, abs=2e-9)
    assert response_with_today([1] * 28, constants)[-1].value == pytest.approx(after_28, abs=5e-9)
    # Of the table: after n days, both sums times one more day's fading.
    assert response_before_today([1] * 28, constants)[-1].value == pytest.approx(
        after_28_before, abs=5e-9
    )


@pytest.mark.parametrize(("constants", "values", "slow", "fast"), SERIES_VALUES)
def test_a_short_series_comes_out_as_in_the_table(
    constants: ResponseConstants, values: list[float], slow: float, fast: float
) -> None:
    days = response_with_today(SERIES, constants)
    assert [day.value for day in days] == pytest.approx(values, abs=5e-7)
    assert days[-1].slow == pytest.approx(slow, abs=5e-7)
    assert days[-1].fast == pytest.approx(fast, abs=5e-7)


# Value on the morning of an event after a long plateau of 100 a day and 14 days of taper.
@pytest.mark.parametrize(
    ("taper", "textbook", "shorter"),
    [
        ([100.0] * 14, 1549.074, 2847.818),
        ([50.0] * 14, 1834.295, 2822.654),
        ([100 * math.exp(-day / 9.623) for day in range(1, 15)], 1905.255, 2917.736),
        ([0.0] * 14, 2119.515, 2797.489),
    ],
)
def test_the_same_taper_is_best_or_worst_by_constants_that_nobody_fitted(
    taper: list[float], textbook: float, shorter: float
) -> None:
    loads = [100.0] * 3000 + taper
    assert response_before_today(loads, TEXTBOOK)[-1].value == pytest.approx(textbook, abs=0.01)
    assert response_before_today(loads, SHORTER)[-1].value == pytest.approx(shorter, abs=0.01)


@settings(deadline=None, max_examples=50)
@given(LOADS, CONSTANTS)
def test_the_recursion_is_the_sum_of_its_impulses(
    loads: list[int], constants: ResponseConstants
) -> None:
    value = sum(load * impulse(len(loads) - 1 - day, constants) for day, load in enumerate(loads))
    assert response_with_today(loads, constants)[-1].value == pytest.approx(value, abs=1e-6)


@settings(deadline=None, max_examples=50)
@given(LOADS, CONSTANTS)
def test_the_morning_lacks_just_the_load_of_its_day(
    loads: list[int], constants: ResponseConstants
) -> None:
    days, mornings = response_with_today(loads, constants), response_before_today(loads, constants)
    assert len(mornings) == len(days) + 1
    for load, day, morning in zip(loads, days, mornings, strict=False):
        assert morning.slow == pytest.approx(day.slow - load, abs=1e-7)
        assert morning.fast == pytest.approx(day.fast - load, abs=1e-7)


@settings(deadline=None, max_examples=40)
@given(
    st.floats(20, 80), st.floats(2, 15), st.floats(0.5, 2), st.floats(1.05, 4), st.integers(1, 500)
)
def test_at_the_limit_the_conventions_differ_by_the_weights(
    slow_days: float, fast_days: float, weight: float, times: float, load: int
) -> None:
    constants = ResponseConstants("drawn", slow_days, fast_days, weight, weight * times)
    days = [load] * 3000
    day = response_with_today(days, constants)[-1]
    morning = response_before_today(days, constants)[-1]
    difference = load * (constants.fast_weight - constants.slow_weight)
    assert morning.value - day.value == pytest.approx(difference, rel=1e-6, abs=1e-6)


@settings(deadline=None, max_examples=40)
@given(st.floats(20, 80), st.floats(2, 15), st.floats(1.05, 4))
def test_from_even_to_best_the_weights_do_not_matter(
    slow_days: float, fast_days: float, times: float
) -> None:
    constants = ResponseConstants("drawn", slow_days, fast_days, 1, times)
    stretch = slow_days * fast_days / (slow_days - fast_days)
    assert best_days(constants) - even_days(constants) == pytest.approx(
        stretch * math.log(slow_days / fast_days)
    )


@pytest.mark.parametrize("values", [(15, 45, 1, 2), (45, 45, 1, 2), (45, 0, 1, 2)])
def test_traces_in_the_wrong_order_are_refused(values: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="fade before the slow one"):
        ResponseConstants("wrong", *values)


@pytest.mark.parametrize("values", [(45, 15, 2, 1), (45, 15, 1, 1), (45, 15, 0, 1)])
def test_weights_in_the_wrong_order_are_refused(values: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="weigh more than the slow one"):
        ResponseConstants("wrong", *values)


def test_a_load_that_is_none_and_a_day_before_it_are_refused() -> None:
    with pytest.raises(ValueError, match="0 or more, not -1"):
        response_with_today([100, -1], TEXTBOOK)
    with pytest.raises(ValueError, match="not -1 days after it"):
        impulse(-1, TEXTBOOK)


def test_the_caution_says_what_the_curve_is_not() -> None:
    for words in ("not fitted to you", "Not a forecast of results", "not an injury measure"):
        assert words in CAUTION
