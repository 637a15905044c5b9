"""The usual shapes: what belongs together in them, whatever their numbers."""

from __future__ import annotations

import pytest

from seasonplan.science.layout.problem import PHASES, Phase
from seasonplan.science.phases import SHAPES
from seasonplan.science.week_target import EMPHASES

ON_COURT = ("technique", "tactics and match play", "speed and agility", "coordination and balance")


def hours(phase: Phase) -> float:
    return SHAPES[phase].on_court_hours + SHAPES[phase].off_court_hours


def test_every_phase_has_a_shape_in_their_order() -> None:
    assert tuple(SHAPES) == PHASES


@pytest.mark.parametrize("phase", PHASES)
def test_shares_are_known_and_add_up_to_a_hundred(phase: Phase) -> None:
    assert sum(SHAPES[phase].shares.values()) == 100
    assert set(SHAPES[phase].shares) <= set(EMPHASES)


# The order of the phases: Roetert for the USTA 2003 (check-values 10).
def test_preparation_has_most_hours_and_least_effort_of_all_with_a_racket() -> None:
    others: list[Phase] = ["pre-competition", "competition"]
    for phase in others:
        assert hours("preparation") > hours(phase)
        assert SHAPES["preparation"].effort_last < SHAPES[phase].effort_first


def test_pre_competition_gets_harder_and_shorter() -> None:
    shape = SHAPES["pre-competition"]
    assert shape.effort_last > shape.effort_first
    assert shape.rise_percent < 0
    assert shape.shares["power"] > SHAPES["preparation"].shares.get("power", 0)


def test_preparation_has_endurance_that_makes_sessions_of_twenty_minutes() -> None:
    shape = SHAPES["preparation"]
    assert shape.shares["endurance"] / 100 * hours("preparation") * 60 >= 20
    assert shape.rise_percent > 0


def test_active_rest_has_neither_racket_nor_what_needs_one() -> None:
    shape = SHAPES["active rest"]
    assert shape.on_court_hours == shape.on_court_sessions == 0
    assert not {"technique", "tactics and match play"} & set(shape.shares)


@pytest.mark.parametrize("phase", PHASES)
def test_hours_on_court_fit_what_is_trained_there(phase: Phase) -> None:
    """Else a week could not be filled with its shares."""
    shape = SHAPES[phase]
    on_court = sum(shape.shares.get(name, 0) for name in ON_COURT) / 100
    assert shape.on_court_hours / hours(phase) == pytest.approx(on_court, abs=0.05)
