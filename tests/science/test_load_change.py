"""Change of load against the last four weeks: worked numbers, algebra, and what stays unsaid."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.load_change import (
    CAUTION,
    is_jump,
    load_change,
    running_mean,
    week_changes,
    weight,
)

# 28 daily loads, oldest first; the smoothed means begin with the first day. Formulas as in Williams
# et al. 2017, Br J Sports Med 51:209-210; numbers computed from them with numpy, to six decimals,
# of which some were cut and not rounded.
CASES = [
    ([300] * 28, 1.0, 1.0, 300, 300, 1.0),
    ([300] * 21 + [600] * 7, 1.6, 2.0, 559.954834, 418.079509, 1.339350),
    ([300] * 21 + [0] * 7, 0, 0, 40.045166, 181.920491, 0.220125),
    (
        [200] * 7 + [250] * 7 + [300] * 7 + [400] * 7,
        1.391304,
        1.6,
        385.641793,
        309.824299,
        1.244711,
    ),
    ([0] * 21 + [300] * 7, 4.0, None, 259.954834, 118.079509, 2.201524),
]
LOADS = st.lists(st.integers(0, 3000), min_size=28, max_size=60)


@pytest.mark.parametrize(("days", "coupled", "uncoupled", "short", "long", "smoothed"), CASES)
def test_the_change_is_that_of_its_formulas(
    days: list[int],
    coupled: float,
    uncoupled: float | None,
    short: float,
    long: float,
    smoothed: float,
) -> None:
    change = load_change(days)
    assert change is not None
    assert change.coupled == pytest.approx(coupled, abs=5e-7)
    assert change.uncoupled == (None if uncoupled is None else pytest.approx(uncoupled, abs=5e-7))
    assert change.smoothed_short == pytest.approx(short, abs=1e-6)
    assert change.smoothed_long == pytest.approx(long, abs=1e-6)
    assert change.smoothed == pytest.approx(smoothed, abs=5e-7)


def test_the_newest_day_weighs_as_the_source_says() -> None:
    assert weight(7) == 0.25
    assert weight(28) == pytest.approx(0.0689655172, abs=5e-11)
    # The 2 / (n + 1) of three variants that go under one name; the others are not used.
    assert weight(42) == pytest.approx(0.046511628, abs=5e-10)


@pytest.mark.parametrize(
    ("loads", "mean"), [([100], 100), ([100, 200], 125), ([100, 200, 300], 168.75)]
)
def test_a_running_mean_begins_with_its_first_day(loads: list[int], mean: float) -> None:
    assert running_mean(loads, 7) == mean


# r_u = 3 r_c / (4 - r_c), by algebra: 0.8 -> 0.75, 1 -> 1, 1.3 -> 1.444444, 1.5 -> 1.8, 2 -> 3.
@pytest.mark.parametrize(
    ("coupled", "uncoupled"), [(0.8, 0.75), (1, 1), (1.3, 1.444444), (1.5, 1.8), (2, 3)]
)
def test_two_ways_to_weigh_the_weeks_say_one_thing(coupled: float, uncoupled: float) -> None:
    # Three weeks of mean 1 and a last one that makes the coupled number.
    last = 3 * coupled / (4 - coupled)
    change = load_change([1.0] * 21 + [last] * 7)
    assert change is not None and change.uncoupled is not None
    assert change.coupled == pytest.approx(coupled)
    assert change.uncoupled == pytest.approx(uncoupled, abs=5e-7)


@settings(deadline=None, max_examples=80)
@given(LOADS)
def test_coupled_and_uncoupled_follow_from_one_another(days: list[int]) -> None:
    change = load_change(days)
    if change is None:
        assert not any(days[-28:])
        return
    assert 0 <= change.coupled <= 4
    if change.uncoupled is not None:
        assert change.uncoupled == pytest.approx(3 * change.coupled / (4 - change.coupled))


@settings(deadline=None, max_examples=40)
@given(st.lists(st.integers(1, 3000), min_size=28, max_size=40), st.integers(2, 9))
def test_a_change_knows_no_unit(days: list[int], times: int) -> None:
    change, larger = load_change(days), load_change([day * times for day in days])
    assert change is not None and larger is not None
    assert larger.coupled == pytest.approx(change.coupled)
    assert larger.smoothed == pytest.approx(change.smoothed)


def test_nothing_is_said_in_the_first_28_days() -> None:
    assert load_change([300] * 27) is None
    assert load_change([300] * 28) is not None
    assert load_change([]) is None


def test_nothing_is_said_after_four_weeks_of_nothing() -> None:
    assert load_change([0] * 28) is None
    assert load_change([300] * 28 + [0] * 28) is None


def test_an_unknown_day_begins_the_four_weeks_anew() -> None:
    days: list[float | None] = [300.0] * 40
    assert load_change(days) is not None
    assert load_change([*days[:20], None, *days[21:]]) is None
    assert load_change([900, 900, None, *[300] * 28]) == load_change([300] * 28)


@pytest.mark.parametrize("load", [-1, math.inf, math.nan])
def test_a_load_that_is_none_is_refused(load: float) -> None:
    with pytest.raises(ValueError, match=f"0 or more, not {load}"):
        load_change([*[300] * 28, load])


def test_a_mean_over_no_days_is_refused() -> None:
    with pytest.raises(ValueError, match="1 day or more, not 0"):
        weight(0)
    with pytest.raises(ValueError, match="needs a day"):
        running_mean([], 7)


# Weeks, by plain arithmetic; the rule of ten percent is common practice, no source.
def test_a_week_is_compared_with_the_four_before_it() -> None:
    changes = week_changes([100, 100, 100, 100, 125, 85])
    assert changes == (None, None, None, None, pytest.approx(25), pytest.approx(-20))


def test_a_week_is_not_compared_across_one_that_is_not_known() -> None:
    weeks: list[float | None] = [100, 100, 100, None, 100, 100, 100, 100, 120, None]
    changes = week_changes(weeks)
    assert changes[:8] == (None,) * 8
    assert changes[8] == pytest.approx(20)
    assert changes[9] is None


def test_a_week_after_four_of_nothing_is_not_compared() -> None:
    assert week_changes([0, 0, 0, 0, 300])[-1] is None


@pytest.mark.parametrize(
    ("change", "percent", "noted"),
    [(10.1, 10, True), (10, 10, False), (-40, 10, False), (None, 10, False), (24, 25, False)],
)
def test_a_jump_is_more_than_the_coach_set(
    change: float | None, percent: float, noted: bool
) -> None:
    assert is_jump(change, percent) is noted


def test_ten_percent_a_week_doubles_in_about_seven_weeks() -> None:
    # ln 2 / ln 1.1 = 7.2725 weeks.
    assert math.log(2) / math.log(1.1) == pytest.approx(7.2725, abs=5e-5)
    weeks = [100 * 1.1**week for week in range(9)]
    assert weeks[7] < 200 < weeks[8]
    # Against the mean of four such weeks each one is further above than ten percent.
    assert is_jump(week_changes(weeks)[-1], 10)


def test_the_caution_names_no_limit() -> None:
    assert "Compare with your own past weeks only" in CAUTION
    assert "no fixed safe limit exists" in CAUTION
