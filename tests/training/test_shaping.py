"""How a player trains: what is usual at an age, what was changed, and what makes no sense."""

import json
from collections.abc import Mapping
from dataclasses import fields, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.layout.problem import PHASES, Phase
from seasonplan.science.phases import SHAPES, PhaseShape
from seasonplan.science.taper import mean_cut
from seasonplan.science.week_target import EMPHASES, TrainingRules
from seasonplan.training.models import PlayerTraining
from seasonplan.training.shaping import (
    MOST_FREE_MIN,
    RULE_SETTINGS,
    SHAPE_SETTINGS,
    WEEKDAYS,
    FreeMinutes,
    ShapingError,
    free_minutes_as_changes,
    free_minutes_from,
    free_minutes_of,
    rules_as_changes,
    rules_from,
    rules_of,
    shape_from,
    shapes_as_changes,
    shapes_from,
    shapes_of,
    usual_free_minutes,
    usual_shapes,
)

AGES = st.one_of(st.none(), st.integers(4, 40))
PREPARATION = SHAPES["preparation"]


def hours(shape: PhaseShape) -> float:
    return shape.on_court_hours + shape.off_court_hours


# What is usual ------------------------------------------------------------------------------------


def test_every_number_of_a_shape_and_every_rule_is_described_once_and_in_a_sentence() -> None:
    shape_names = [field.name for field in fields(PhaseShape) if field.name != "shares"]
    assert [setting.name for setting in SHAPE_SETTINGS] == shape_names
    rule_names = [field.name for field in fields(TrainingRules)]
    assert [setting.name for setting in RULE_SETTINGS] == rule_names
    for setting in (*SHAPE_SETTINGS, *RULE_SETTINGS):
        assert setting.meaning.endswith(".") and setting.label and setting.unit and setting.source


def test_an_adult_and_a_player_of_unknown_age_train_by_the_shapes_of_the_science() -> None:
    assert usual_shapes(18) is SHAPES
    assert usual_shapes(None) is SHAPES
    assert usual_free_minutes(18) == usual_free_minutes(None) == (360,) * 7


# Jayanthi et al. 2015, Am J Sports Med (check-values 8): weekly hours above the age in years.
@pytest.mark.parametrize("age", range(4, 18))
def test_no_usual_week_of_a_block_of_a_minor_has_more_hours_than_years(age: int) -> None:
    for shape in usual_shapes(age).values():
        for week in range(12):
            assert hours(shape) * (1 + shape.rise_percent / 100) ** week <= age


# Brenner 2007, Pediatrics 119:1242 (check-values 8): at most five days a week in one sport.
@pytest.mark.parametrize("age", range(4, 18))
def test_a_minor_goes_on_court_at_most_five_times_a_week(age: int) -> None:
    assert all(shape.on_court_sessions <= 5 for shape in usual_shapes(age).values())


@pytest.mark.parametrize("age", [None, *range(4, 25)])
def test_at_any_age_the_hours_fall_from_preparation_to_active_rest(age: int | None) -> None:
    shapes = usual_shapes(age)
    assert list(shapes) == list(PHASES)
    by_phase = [hours(shapes[phase]) for phase in PHASES]
    assert by_phase == sorted(set(by_phase), reverse=True)
    assert shapes["active rest"].on_court_hours == 0
    assert shapes["pre-competition"].effort_last > shapes["pre-competition"].effort_first


def test_at_fifteen_the_usual_weeks_are_as_the_docstring_says() -> None:
    shapes = usual_shapes(15)
    assert [hours(shapes[phase]) for phase in PHASES] == [11.5, 9.5, 7.0, 3.0]
    assert shapes["preparation"].rise_percent == 2.0
    assert shapes["preparation"].shares == SHAPES["preparation"].shares


@pytest.mark.parametrize("age", [None, *range(4, 25)])
def test_the_usual_week_fits_into_six_days_of_the_usual_free_time(age: int | None) -> None:
    room = sum(sorted(usual_free_minutes(age))[:6])
    assert all(hours(shape) * 60 <= room for shape in usual_shapes(age).values())


@pytest.mark.parametrize("age", [None, *range(25)])
def test_what_is_usual_is_accepted_like_anything_typed(age: int | None) -> None:
    for phase, shape in usual_shapes(age).items():
        typed = {s.name: getattr(shape, s.name) for s in SHAPE_SETTINGS}
        assert shape_from({**typed, "shares": dict(shape.shares)}, SHAPES[phase]) == shape
    rules = TrainingRules()
    assert rules_from({s.name: getattr(rules, s.name) for s in RULE_SETTINGS}) == rules


# There and back -----------------------------------------------------------------------------------


@st.composite
def shapes_made(draw: st.DrawFn) -> PhaseShape:
    def court(least: int) -> tuple[float, int]:
        sessions = draw(st.integers(least, 14))
        minutes = draw(st.integers(16, 170))
        return round(sessions * minutes / 60, 2), sessions

    on_hours, on_sessions = court(1)
    off_hours, off_sessions = court(0)
    cuts = sorted(draw(st.lists(st.integers(0, 100), min_size=8, max_size=8)))
    parts = [high - low for low, high in zip([0, *cuts], [*cuts, 100], strict=True)]
    return PhaseShape(
        on_court_hours=on_hours,
        off_court_hours=off_hours,
        on_court_sessions=on_sessions,
        off_court_sessions=off_sessions,
        effort_first=draw(st.integers(0, 100)) / 10,
        effort_last=draw(st.integers(0, 100)) / 10,
        rise_percent=draw(st.integers(-40, 40)) / 2,
        shares={e: part for e, part in zip(EMPHASES, parts, strict=True) if part},
    )


@given(
    changed=st.dictionaries(st.sampled_from(PHASES), shapes_made()), age=AGES, also_asked_at=AGES
)
@settings(max_examples=60, deadline=None)
def test_shapes_come_back_from_the_database_as_they_were_set(
    changed: Mapping[Phase, PhaseShape], age: int | None, also_asked_at: int | None
) -> None:
    shapes = {**usual_shapes(age), **changed}
    kept = json.loads(json.dumps(shapes_as_changes(shapes, age)))
    assert set(kept) <= set(changed)
    training = PlayerTraining(shapes=kept)
    assert shapes_of(training, age) == shapes
    # Years later the same row still makes sense, though what is usual has changed.
    assert list(shapes_of(training, also_asked_at)) == list(PHASES)


@given(
    phase=st.sampled_from(PHASES[:3]),
    sessions=st.integers(1, 14),
    minutes=st.integers(15, 300),
    age=st.integers(4, 25),
)
@settings(max_examples=100, deadline=None)
def test_hours_set_at_one_age_go_with_their_sessions_at_every_age(
    phase: Phase, sessions: int, minutes: int, age: int
) -> None:
    usual = usual_shapes(age)
    same_sessions = usual[phase].on_court_sessions
    for number in (same_sessions, sessions):
        hours_on = round(number * minutes / 60, 2)
        if not 15 <= hours_on * 60 / number <= 300 or hours_on > 40:
            continue
        shape = replace(usual[phase], on_court_hours=hours_on, on_court_sessions=number)
        row = PlayerTraining(shapes=shapes_as_changes({**usual, phase: shape}, age))
        for later in (None, *range(4, 26)):
            at_that_age = shapes_of(row, later)[phase]
            if shape != usual[phase]:
                assert at_that_age.on_court_sessions == number


def fitting_rules() -> st.SearchStrategy[TrainingRules]:
    rules = st.builds(
        TrainingRules,
        days_off=st.integers(1, 4),
        lighter_every=st.sampled_from([0, *range(2, 9)]),
        lighter_share=st.integers(30, 100).map(lambda n: n / 100),
        taper_days=st.integers(8, 14),
        taper_tau_days=st.integers(20, 200).map(lambda n: n / 10),
        short_taper_days=st.integers(0, 7),
        weeks_off_racket=st.integers(0, 12),
        months_off=st.integers(2, 3),
        jump_percent=st.integers(1, 100),
    )
    return rules.filter(lambda r: 0.41 <= mean_cut(r.taper_days, r.taper_tau_days) <= 0.60)


@given(rules=fitting_rules())
@settings(max_examples=60, deadline=None)
def test_rules_come_back_from_the_database_as_they_were_set(rules: TrainingRules) -> None:
    kept = json.loads(json.dumps(rules_as_changes(rules)))
    assert rules_of(PlayerTraining(rules=kept)) == rules


@given(free=st.tuples(*[st.integers(0, MOST_FREE_MIN)] * 7), age=AGES)
@settings(max_examples=60, deadline=None)
def test_free_time_comes_back_from_the_database_as_it_was_set(
    free: FreeMinutes, age: int | None
) -> None:
    kept = json.loads(json.dumps(free_minutes_as_changes(free, age)))
    assert free_minutes_of(PlayerTraining(free_time=kept), age) == free


def test_a_player_without_a_row_trains_as_usual_and_what_is_usual_is_not_kept() -> None:
    assert shapes_of(None, 15) == usual_shapes(15)
    assert rules_of(None) == TrainingRules()
    assert free_minutes_of(None, 15) == (150, 150, 150, 150, 150, 240, 240)
    assert shapes_as_changes(usual_shapes(15), 15) == {}
    assert rules_as_changes(TrainingRules()) == {}
    assert free_minutes_as_changes(usual_free_minutes(15), 15) == {}


def test_one_changed_number_is_kept_alone_hours_with_their_sessions_and_shares_whole() -> None:
    shapes = dict(usual_shapes(15))
    shapes["active rest"] = replace(shapes["active rest"], off_court_hours=3.5)
    shapes["competition"] = replace(shapes["competition"], effort_last=6.5)
    shares = {"technique": 60, "recovery": 40}
    shapes["preparation"] = replace(shapes["preparation"], shares=shares)
    assert shapes_as_changes(shapes, 15) == {
        "preparation": {"shares": shares},
        "competition": {"effort_last": 6.5},
        "active rest": {"off_court_hours": 3.5, "off_court_sessions": 4},
    }
    assert free_minutes_as_changes((150, 90, 150, 150, 150, 240, 240), 15) == {"tuesday": 90}


# What makes no sense ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "name", "sentence"),
    [
        ({"on_court_hours": 41}, "on_court_hours", "must lie between 0 and 40"),
        ({"on_court_hours": float("nan")}, "on_court_hours", "must lie between 0 and 40"),
        ({"on_court_hours": "9"}, "on_court_hours", "must be a number"),
        ({"on_court_hours": True}, "on_court_hours", "must be a number"),
        ({"on_court_hours": 9.123}, "on_court_hours", "at most two decimal places"),
        ({"on_court_sessions": 4.5}, "on_court_sessions", "must be a whole number"),
        ({"effort_last": 10.5}, "effort_last", "must lie between 0 and 10"),
        ({"rise_percent": -21}, "rise_percent", "must lie between -20 and 20"),
        ({"volume": 3}, "volume", "there is no such setting"),
        ({"on_court_sessions": 0}, "on_court_sessions", "at least 1, because there are hours"),
        ({"off_court_hours": 0}, "off_court_sessions", "must be 0, because there are no hours"),
        ({"off_court_sessions": 1}, "off_court_sessions", "make them 420 minutes long"),
        ({"on_court_hours": 1}, "on_court_sessions", "make them 12 minutes long"),
        ({"shares": {"technique": 90}}, "shares", "add up to 100, and are 90: 10 missing"),
        (
            {"shares": {"technique": 90, "recovery": 25}},
            "shares",
            "add up to 100, and are 115: 15 too many",
        ),
        ({"shares": {"technique": 101}}, "technique", "must lie between 0 and 100"),
        ({"shares": {"technique": 99.5}}, "technique", "must be a whole number"),
        ({"shares": {"juggling": 100}}, "juggling", "there is no such setting"),
        ({"shares": [100]}, "shares", "must give a percentage by emphasis"),
        (
            {"on_court_hours": 0, "on_court_sessions": 0},
            "technique",
            "must be 0, because there are no hours on court",
        ),
    ],
)
def test_a_shape_that_makes_no_sense_is_refused_beside_its_setting(
    changes: dict[str, object], name: str, sentence: str
) -> None:
    with pytest.raises(ShapingError) as refused:
        shape_from(changes, PREPARATION)
    assert sentence in refused.value.errors[name]
    with pytest.raises(ShapingError) as stored:
        shapes_of(PlayerTraining(shapes={"preparation": changes}), None)
    assert sentence in stored.value.errors[f"preparation, {name}"]


def test_a_phase_that_nobody_knows_is_refused() -> None:
    with pytest.raises(ShapingError, match="holiday: there is no such phase"):
        shapes_from({"holiday": {}}, 15)


@pytest.mark.parametrize(
    ("changes", "name", "sentence"),
    [
        ({"days_off": 0}, "days_off", "must lie between 1 and 4"),
        ({"lighter_every": 1}, "lighter_every", "must be 0 for none, or at least 2"),
        ({"lighter_share": 0.2}, "lighter_share", "must lie between 0.3 and 1"),
        ({"taper_days": 7}, "taper_days", "must lie between 8 and 14"),
        ({"taper_days": 15}, "taper_days", "must lie between 8 and 14"),
        ({"months_off": 4}, "months_off", "must lie between 2 and 3"),
        ({"sleep": 8}, "sleep", "there is no such setting"),
    ],
)
def test_a_rule_that_makes_no_sense_is_refused_beside_it(
    changes: dict[str, object], name: str, sentence: str
) -> None:
    with pytest.raises(ShapingError) as refused:
        rules_of(PlayerTraining(rules=changes))
    assert sentence in refused.value.errors[name]


# The table of check-values 3 (Bosquet et al. 2007): 14 days with 6 cut 64.43 %, with 12 43.40 %;
# 10 days with 10 cut 39.90 %, with 8 46.41 %.
def test_a_taper_must_cut_the_hours_by_41_to_60_percent_on_average() -> None:
    assert rules_from({"taper_tau_days": 12}).taper_tau_days == 12
    assert rules_from({"taper_days": 10, "taper_tau_days": 8}).taper_days == 10
    with pytest.raises(ShapingError, match=r"between 7 and 13 for a taper of 14 days.* by 64.4%"):
        rules_from({"taper_tau_days": 6})
    with pytest.raises(ShapingError, match=r"between 5.2 and 9.6 for a taper of 10.* by 39.9%"):
        rules_from({"taper_days": 10, "taper_tau_days": 10})


def test_free_time_beyond_a_day_or_on_an_unknown_day_is_refused() -> None:
    with pytest.raises(ShapingError) as refused:
        free_minutes_from({"monday": 721, "tuesday": -1, "someday": 60}, 15)
    assert refused.value.errors == {
        "monday": "must lie between 0 and 720",
        "tuesday": "must lie between 0 and 720",
        "someday": "there is no such setting",
    }


def test_every_weekday_can_be_set() -> None:
    free = free_minutes_from({day: 10 * n for n, day in enumerate(WEEKDAYS)}, 15)
    assert free == (0, 10, 20, 30, 40, 50, 60)
