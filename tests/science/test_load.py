"""Load of a session and of a day: worked numbers, edges, and what is refused."""

import math
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.load import day_load, session_load

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
