"""Load of a session, a day and a week: worked numbers, edges, and what is refused."""

import math
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.load import (
    WeekLoad,
    day_load,
    session_load,
    week_load,
)

MINUTES = st.integers(0, 1440)
EFFORTS = st.integers(0, 20).map(lambda halves: halves / 2)


# Minutes times rating after Foster 1998 and Foster et al. 2001; the products by plain arithmetic.
@pytest.mark.parametrize(
    ("minutes", "effort", "load"),
    [(90, 6, 540), (75, 4, 300), (120, 7.5, 900), (0, 5, 0), (60, 0, 0), (1440, 10, 14400)],
)
def test_a_session_counts_its_minutes_times_its_effort(
    minutes: float, effort: float, load: float
) -> None:
    assert session_load(minutes, effort) == load


@pytest.mark.parametrize("minutes", [-1, -0.01, 1440.5, math.inf, math.nan])
def test_a_length_that_no_day_has_is_refused_with_its_value(minutes: float) -> None:
    with pytest.raises(ValueError, match=f"0 to 1440 minutes, not {minutes}"):
        session_load(minutes, 5)


@pytest.mark.parametrize("effort", [-1, -0.5, 10.01, 11, math.inf, math.nan])
def test_an_effort_outside_0_to_10_is_refused_with_its_value(effort: float) -> None:
    with pytest.raises(ValueError, match=f"from 0 to 10, not {effort}"):
        session_load(60, effort)


def test_a_day_is_the_sum_of_its_sessions() -> None:
    assert day_load([session_load(90, 6), session_load(75, 4)]) == 840


def test_a_rest_day_counts_0() -> None:
    assert day_load([]) == 0


# Weekly load 2400 of the days 480, 360, 0, 540, 300, 720, 0: Foster's definition, summed by hand.
def test_a_week_of_days_adds_up_to_its_load() -> None:
    sessions = [[(80, 6)], [(60, 4), (30, 4)], [], [(90, 6)], [(75, 4)], [(120, 6)], []]
    days = [day_load(session_load(*session) for session in day) for day in sessions]
    assert days == [480, 360, 0, 540, 300, 720, 0]
    assert sum(days) == 2400


@pytest.mark.parametrize("load", [-1, math.inf, math.nan])
def test_a_day_refuses_a_load_that_is_none(load: float) -> None:
    with pytest.raises(ValueError, match=f"0 or more, not {load}"):
        day_load([300, load])


@settings(deadline=None)
@given(MINUTES, MINUTES, EFFORTS)
def test_a_session_cut_in_two_at_the_same_effort_loads_the_day_the_same(
    first: int, second: int, effort: float
) -> None:
    if first + second <= 1440:
        whole = session_load(first + second, effort)
        assert day_load([session_load(first, effort), session_load(second, effort)]) == whole


@settings(deadline=None)
@given(st.lists(st.floats(0, 14400), max_size=8), st.integers(0, 1000))
def test_the_order_of_the_sessions_does_not_matter(loads: list[float], seed: int) -> None:
    assert day_load(Random(seed).sample(loads, len(loads))) == day_load(loads)


# Weeks. Monotony is the mean of the days over their standard deviation and strain the load times
# the monotony, Foster 1998. The abstract is silent on n or n - 1: the numbers were computed with
# numpy from that definition, for both.
WEEKS = [
    ((480, 360, 0, 540, 300, 720, 0), 2400, 1.270215, 3048.515, 1.371989, 3292.773),
    ((450, 300, 600, 0, 450, 900, 0), 2700, 1.196460, 3230.442, 1.292325, 3489.277),
]
# The same for a week of equal training days and rest days, of any size.
EQUAL_DAYS = [
    (1, 0.377964, 0.408248),
    (2, 0.585540, 0.632456),
    (3, 0.801784, 0.866025),
    (4, 1.069045, 1.154701),
    (5, 1.463850, 1.581139),
    (6, 2.267787, 2.449490),
]
WITH_N = math.sqrt(7 / 6)
"""What the other convention makes of seven days: 1.0801234 times as much."""


@pytest.mark.parametrize(("days", "load", "monotony", "strain", "with_n", "strain_n"), WEEKS)
def test_a_week_has_the_load_monotony_and_strain_of_the_definition(
    days: tuple[int, ...],
    load: float,
    monotony: float,
    strain: float,
    with_n: float,
    strain_n: float,
) -> None:
    week = week_load(days)
    assert week.load == load
    assert week.monotony == pytest.approx(monotony, abs=5e-7)
    assert week.strain == pytest.approx(strain, abs=5e-4)
    assert week.monotony is not None and week.strain is not None
    assert week.monotony * WITH_N == pytest.approx(with_n, abs=1e-6)
    assert week.strain * WITH_N == pytest.approx(strain_n, abs=1e-3)


def test_the_two_conventions_differ_by_what_is_said() -> None:
    assert pytest.approx(1.0801234, abs=5e-8) == WITH_N


@pytest.mark.parametrize(("training_days", "monotony", "with_n"), EQUAL_DAYS)
@pytest.mark.parametrize("load", [1, 300, 14400])
def test_equal_days_have_the_same_monotony_whatever_their_size(
    training_days: int, monotony: float, with_n: float, load: int
) -> None:
    week = week_load([load] * training_days + [0] * (7 - training_days))
    assert week.monotony == pytest.approx(monotony, abs=5e-7)
    assert week.monotony * WITH_N == pytest.approx(with_n, abs=1e-6)


@pytest.mark.parametrize("load", [0, 300, 0.1])
def test_seven_days_alike_have_no_monotony_and_no_strain(load: float) -> None:
    week = week_load([load] * 7)
    assert week.is_complete
    assert (week.monotony, week.strain) == (None, None)


def test_a_missing_day_is_not_a_rest_day() -> None:
    missing = week_load([480, 360, None, 540, 300, 720, 0])
    assert missing == WeekLoad(load=2400, known_days=6, monotony=None, strain=None)
    assert not missing.is_complete
    assert week_load([480, 360, 0, 540, 300, 720, 0]).monotony is not None


def test_a_week_of_which_nothing_is_known_is_not_a_week_of_rest() -> None:
    assert week_load([None] * 7).known_days == 0


@pytest.mark.parametrize("days", [6, 8, 0])
def test_a_week_has_seven_days(days: int) -> None:
    with pytest.raises(ValueError, match=f"7 days, not {days}"):
        week_load([100] * days)


def test_a_week_refuses_a_load_that_is_none() -> None:
    with pytest.raises(ValueError, match="0 or more, not -5"):
        week_load([100, -5, 0, 0, 0, 0, 0])


@settings(deadline=None, max_examples=60)
@given(st.lists(st.integers(0, 3000), min_size=7, max_size=7), st.integers(1, 9))
def test_monotony_knows_no_unit_and_strain_grows_with_the_load(days: list[int], times: int) -> None:
    week, larger = week_load(days), week_load([day * times for day in days])
    if week.monotony is None:
        assert larger.monotony is None
    else:
        assert larger.monotony == pytest.approx(week.monotony)
        assert larger.strain == pytest.approx(week.load * times * week.monotony)


@settings(deadline=None, max_examples=60)
@given(st.lists(st.integers(0, 3000), min_size=7, max_size=7), st.randoms(use_true_random=False))
def test_the_order_of_the_days_does_not_matter(days: list[int], random: Random) -> None:
    assert week_load(random.sample(days, 7)).monotony == pytest.approx(week_load(days).monotony)
