"""Limits: their descriptions, the presets, and the reading of typed values."""

from dataclasses import fields

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.layout.limits import (
    LIMITS,
    PHASES,
    PRESETS,
    Limits,
    LimitsError,
    limits_as_mapping,
    limits_from,
)


def test_every_limit_is_described_once_and_in_a_sentence() -> None:
    assert sorted(limit.name for limit in LIMITS) == sorted(limit.name for limit in fields(Limits))
    assert all(limit.meaning.endswith(".") and limit.label and limit.source for limit in LIMITS)


def test_every_default_lies_within_its_own_bounds() -> None:
    standard = Limits()
    for limit in LIMITS:
        value = getattr(standard, limit.name)
        if limit.kind == "phase" or value is None:
            continue
        for number in value if limit.kind == "range" else (value,):
            assert limit.smallest <= number <= limit.largest


# The three presets, common practice.
def test_the_presets_differ_from_the_defaults_as_the_table_says() -> None:
    assert list(PRESETS) == ["developing", "standard", "touring"]
    assert limits_as_mapping(PRESETS["developing"].limits) == {
        "competition_weeks": [2, 6],
        "min_cycles": 3,
        "min_rest_weeks": 8,
        "max_run": 2,
        "max_events": 14,
    }
    assert limits_as_mapping(PRESETS["standard"].limits) == {}
    assert limits_as_mapping(PRESETS["touring"].limits) == {
        "preparation_weeks": [3, 10],
        "competition_weeks": [2, 16],
        "min_rest_weeks": 6,
        "max_run": 4,
        "max_events": 28,
    }


def test_the_standard_limits_are_the_agreed_ones() -> None:
    assert Limits() == Limits(
        first_phase="preparation",
        weeks_already_done=0,
        preparation_weeks=(4, 12),
        pre_competition_weeks=(4, 6),
        competition_weeks=(2, 10),
        active_rest_weeks=(1, 4),
        min_cycles=2,
        min_rest_weeks=4,
        final_rest_weeks=2,
        peak_weeks=3,
        peak_gap_weeks=3,
        tune_up_weeks=1,
        max_run=3,
        quiet_weeks=2,
        max_events=20,
        min_events=0,
        budget=None,
        home_gap_days=10,
        one_day_travel_km=5000,
        clock_threshold_h=3,
        east_min_per_day=60,
        west_min_per_day=90,
        surface_days=3,
        heat_days=7,
        heat_step_c=8,
        travel_weight=0.5,
        missing_weight=4,
        short_weight=3,
        change_weight=10,
    )


def test_nothing_typed_gives_the_defaults() -> None:
    assert limits_from({}) == Limits()


def test_whole_numbers_may_be_written_as_decimals_and_ranges_as_tuples() -> None:
    assert limits_from({"max_run": 4.0, "active_rest_weeks": (2, 2)}) == Limits(
        max_run=4, active_rest_weeks=(2, 2)
    )


def test_an_empty_budget_is_none_and_no_other_number_may_be_empty() -> None:
    assert limits_from({"budget": None}).budget is None
    with pytest.raises(LimitsError) as refused:
        limits_from({"max_events": None})
    assert refused.value.errors == {"max_events": "must be a number"}


def test_each_wrong_value_gets_its_own_sentence() -> None:
    with pytest.raises(LimitsError) as refused:
        limits_from(
            {
                "max_run": 0,
                "quiet_weeks": 5,
                "preparation_weeks": [4],
                "active_rest_weeks": [0, 4],
                "pre_competition_weeks": 4,
                "travel_weight": 0.125,
                "east_min_per_day": 0,
                "first_phase": "holiday",
                "budget": "500",
                "heat_step_c": float("inf"),
                "colour": 3,
                "max_events": 12,
            }
        )
    assert refused.value.errors == {
        "max_run": "must lie between 1 and 106",
        "quiet_weeks": "must lie between 0 and 4",
        "preparation_weeks": "must be two whole numbers, the smallest and the largest",
        "active_rest_weeks": "must lie between 1 and 106",
        "pre_competition_weeks": "must be two whole numbers, the smallest and the largest",
        "travel_weight": "must have at most two decimal places",
        "east_min_per_day": "must lie between 1 and 1440",
        "first_phase": "must be one of preparation, pre-competition, competition, active rest",
        "budget": "must be a number",
        "heat_step_c": "must lie between 0 and 60",
        "colour": "there is no such limit",
    }


@settings(deadline=None)
@given(
    first_phase=st.sampled_from(PHASES),
    run=st.integers(1, 106),
    rest=st.tuples(st.integers(1, 50), st.integers(50, 106)),
    budget=st.none() | st.integers(0, 10**9).map(lambda cents: cents / 100),
)
def test_limits_written_as_a_mapping_are_read_back(
    first_phase: str, run: int, rest: tuple[int, int], budget: float | None
) -> None:
    limits = limits_from(
        {"first_phase": first_phase, "max_run": run, "active_rest_weeks": rest, "budget": budget}
    )
    assert limits_from(limits_as_mapping(limits)) == limits


def test_the_length_of_a_block_is_that_of_its_phase() -> None:
    limits = Limits()
    assert [limits.block_weeks(phase) for phase in PHASES] == [(4, 12), (4, 6), (2, 10), (1, 4)]
