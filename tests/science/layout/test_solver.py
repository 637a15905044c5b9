"""The solver finds what trying every layout finds, and says truly how good its answer is.

`random_problems.py` draws small seasons, `exhaustive.py` tries every layout of them and shares no
code with the solver; the judge measures every answer.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from random import Random
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from seasonplan.science.layout.problem import (
    PHASES,
    Block,
    Busy,
    Event,
    Home,
    InForce,
    Limits,
    Problem,
    Season,
    read_problem,
)
from seasonplan.science.layout.rules import WEIGHTS, judge
from seasonplan.science.layout.solver import Impossible, Layout, Search, lay_out
from seasonplan.science.layout.whole import Seasons
from tests.science.layout import exhaustive, random_problems

SEEDS = range(200)
START = date(2027, 1, 4)


@cache
def solved(seed: int) -> Layout | None:
    """The best layout of a random problem, None where there is none."""
    try:
        return lay_out(read_problem(random_problems.problem(seed)))
    except Impossible:
        return None


def breaks_and_value(layout: Layout) -> tuple[float, float]:
    return layout.breaks, layout.value


def no_better(one: Layout, other: Layout) -> bool:
    """Whether one layout is no better than another."""
    return (one.breaks, -one.value) >= (other.breaks, -other.value)


# Against trying every layout.


@pytest.mark.parametrize("first", range(0, len(SEEDS), 10))
def test_the_best_layout_is_the_one_that_trying_every_layout_finds(first: int) -> None:
    for seed in SEEDS[first : first + 10]:
        layout = solved(seed)
        try:
            best = exhaustive.best(random_problems.problem(seed))
        except exhaustive.NothingPossible:
            assert layout is None, seed
            continue
        assert layout is not None, seed
        assert breaks_and_value(layout) == (best.breaks / 100, best.value / 100), seed


@pytest.mark.parametrize("first", range(0, 60, 10))
def test_a_layout_has_no_cancelled_event_and_is_the_best_without(first: int) -> None:
    for seed in range(first, first + 10):
        form = random_problems.with_cancelled(seed)
        try:
            layout = lay_out(read_problem(form))
        except Impossible:
            with pytest.raises(exhaustive.NothingPossible):
                exhaustive.best(form)
            continue
        assert not set(layout.events) & set(form["cancelled"]), seed
        best = exhaustive.best(form)
        assert breaks_and_value(layout) == (best.breaks / 100, best.value / 100), seed


def test_an_event_of_the_past_that_was_cancelled_does_not_stay() -> None:
    """Nor does it make what is past impossible."""
    problem = season_of(
        event("called-off", 2),
        event("spring", 14),
        today=START + timedelta(weeks=8),
        in_force=InForce(("called-off", "spring"), (block("preparation", 0, 7),)),
        cancelled=frozenset({"called-off"}),
    )
    layout = lay_out(problem)
    assert layout.events == ("spring",)
    assert layout.judgement.value_parts.change == -10


def test_every_answer_is_proven_and_confirmed_by_the_judge() -> None:
    for seed in SEEDS:
        if (layout := solved(seed)) is None:
            continue
        problem = read_problem(random_problems.problem(seed))
        judgement = judge(problem, layout.events, layout.blocks)
        assert judgement.possible, seed
        assert layout.judgement == judgement, seed
        assert (layout.status, layout.bound) == ("proven", layout.value), seed


def test_between_them_the_random_problems_break_every_rule_in_their_best_layouts() -> None:
    broken = {
        finding.rule
        for seed in SEEDS
        if (layout := solved(seed)) is not None
        for finding in layout.judgement.broken
    }
    assert broken == set(WEIGHTS)


@pytest.mark.parametrize("first", range(0, 40, 10))
def test_both_ways_to_a_proof_find_the_same(first: int) -> None:
    for seed in range(first, first + 10):
        if (layout := solved(seed)) is None:
            continue
        search = Search(read_problem(random_problems.problem(seed)), seconds=60)
        search.first_layouts(None)
        search.fewest_breaks()
        search.most_value()
        assert breaks_and_value(search.layout()) == breaks_and_value(layout), seed
        assert search.layout().status == "proven", seed


def test_the_walk_alone_proves_all_but_what_a_budget_leaves_open() -> None:
    for seed in SEEDS[:100]:
        if solved(seed) is None:
            continue
        problem = read_problem(random_problems.problem(seed))
        search = Search(problem, seconds=60)
        search.first_layouts(None)
        search.walk()
        assert search.proven() or problem.limits.budget is not None, seed


def test_limits_too_wide_for_the_walk_are_solved_all_the_same() -> None:
    form = random_problems.problem(19)
    form["limits"]["max_run"] = 18
    problem = read_problem(form)
    assert not Seasons(Search(problem, 1).calendar).apply(most_breaks=0)
    best = exhaustive.best(form)
    assert breaks_and_value(lay_out(problem)) == (best.breaks / 100, best.value / 100)


def with_odd_limits(seed: int) -> dict[str, Any]:
    """A random problem with short blocks, wide or narrow windows, and many targets."""
    rng, form = Random(seed), random_problems.problem(seed)
    for event in form["events"]:
        if rng.random() < 0.35:
            event["role"] = "target"

    def two(longest: int) -> list[int]:
        return sorted((rng.randint(1, longest), rng.randint(1, longest)))

    odd: dict[str, object] = {
        "first_phase": rng.choice(PHASES),
        "weeks_already_done": rng.choice((0, 0, 1, 2, 5)),
        "preparation_weeks": two(8),
        "pre_competition_weeks": two(4),
        "competition_weeks": two(4),
        "active_rest_weeks": two(4),
        "peak_weeks": rng.randint(1, 4),
        "peak_gap_weeks": rng.randint(0, 5),
        "tune_up_weeks": rng.randint(0, 2),
        "quiet_weeks": rng.randint(0, 3),
        "max_run": rng.randint(1, 5),
        "home_gap_days": rng.choice((1, 2, 3, 5, 7, 10, 14, 21)),
        "min_cycles": rng.randint(0, 3),
        "min_rest_weeks": rng.randint(0, 6),
        "final_rest_weeks": rng.randint(0, 3),
        "max_events": rng.randint(2, 6),
        "min_events": rng.randint(0, 2),
    }
    for name, value in odd.items():
        if rng.random() < 0.5:
            form["limits"][name] = value
    form["limits"]["min_events"] = min(
        form["limits"].get("min_events", 0), form["limits"].get("max_events", 20)
    )
    return form


@pytest.mark.parametrize("first", range(0, 60, 10))
def test_odd_limits_and_many_targets_are_laid_out_as_exactly(first: int) -> None:
    for seed in range(first, first + 10):
        form = with_odd_limits(seed)
        try:
            best = exhaustive.best(form)
        except exhaustive.NothingPossible:
            with pytest.raises(Impossible):
                lay_out(read_problem(form))
            continue
        layout = lay_out(read_problem(form))
        assert breaks_and_value(layout) == (best.breaks / 100, best.value / 100), seed
        assert layout.status == "proven", seed


# What must hold for any problem.

few = settings(
    max_examples=20, derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
any_seed = st.integers(min_value=1000, max_value=9999)

LOOSER: dict[str, int] = {
    "tune_up_weeks": 1,
    "max_run": 1,
    "quiet_weeks": 1,
    "max_events": 1,
    "peak_weeks": 1,
    "peak_gap_weeks": -1,
    "min_cycles": -1,
    "min_rest_weeks": -1,
    "final_rest_weeks": -1,
}


def possible(seed: int) -> tuple[Problem, Layout]:
    problem = read_problem(random_problems.problem(seed))
    try:
        return problem, lay_out(problem)
    except Impossible:
        assume(False)
        raise


@few
@given(
    seed=any_seed, number=st.integers(0, 20), weeks=st.integers(-8, 8), worth=st.integers(0, 100)
)
def test_another_open_candidate_never_makes_the_best_layout_worse(
    seed: int, number: int, weeks: int, worth: int
) -> None:
    problem, layout = possible(seed)
    model = problem.events[number % len(problem.events)]
    moved = timedelta(weeks=weeks, days=number % 3)
    other = replace(
        model,
        code="another",
        role="open",
        worth=worth,
        start=model.start + moved,
        end=model.end + moved,
    )
    assume(problem.season.start <= other.start and other.end <= problem.season.end)
    richer = replace(problem, events=(*problem.events, other))
    assert no_better(layout, lay_out(richer))


@few
@given(seed=any_seed, name=st.sampled_from(sorted(LOOSER)))
def test_a_looser_limit_never_raises_the_breaks(seed: int, name: str) -> None:
    problem, layout = possible(seed)
    value = max(0, getattr(problem.limits, name) + LOOSER[name])
    looser = replace(problem, limits=replace(problem.limits, **{name: value}))
    assert lay_out(looser).breaks <= layout.breaks


@few
@given(seed=any_seed, shuffle=st.randoms(use_true_random=False))
def test_the_order_of_the_events_in_the_file_changes_nothing(seed: int, shuffle: Random) -> None:
    problem, layout = possible(seed)
    events = list(problem.events)
    shuffle.shuffle(events)
    again = lay_out(replace(problem, events=tuple(events)))
    assert breaks_and_value(again) == breaks_and_value(layout)


@few
@given(seed=any_seed, seconds=st.sampled_from((0.0, 0.01, 0.03)))
def test_with_little_time_the_layout_is_sound_and_its_bound_holds(
    seed: int, seconds: float
) -> None:
    problem, best = possible(seed)
    hasty = lay_out(problem, seconds=seconds)
    assert hasty.judgement.possible
    assert no_better(hasty, best)
    assert hasty.bound >= best.value
    if hasty.status == "proven":
        assert breaks_and_value(hasty) == breaks_and_value(best)


@few
@given(seed=any_seed, data=st.data())
def test_a_start_is_never_lost_and_changes_no_result(seed: int, data: st.DataObject) -> None:
    problem, best = possible(seed)
    codes = [event.code for event in problem.events]
    some = data.draw(st.lists(st.sampled_from([*codes, "long gone"]), unique=True))
    assert breaks_and_value(lay_out(problem, start=some)) == breaks_and_value(best)
    kept = lay_out(problem, seconds=0, start=best.events)
    assert breaks_and_value(kept) == breaks_and_value(best)


@few
@given(seed=any_seed, less=st.integers(0, 15), more=st.integers(0, 200), few_events=st.booleans())
def test_what_is_known_to_be_out_of_reach_changes_no_result(
    seed: int, less: int, more: int, few_events: bool
) -> None:
    problem, best = possible(seed)
    if few_events:
        problem = replace(problem, limits=replace(problem.limits, max_events=1, min_events=0))
        best = lay_out(problem)
    known = max(0.0, best.breaks - 10 * less), best.value + more
    again = lay_out(problem, at_best=known)
    assert breaks_and_value(again) == breaks_and_value(best)
    assert again.status == "proven"


# Pins, and a season that is under way.

HOME = Home("Home", 40.0, 0.0, "Europe/Madrid", 10, "clay")


def event(code: str, week: int, days: int = 7, **more: object) -> Event:
    """An event at home from the Monday of a week of the season."""
    start = START + timedelta(weeks=week)
    fields: dict[str, object] = {
        "code": code,
        "name": code.title(),
        "start": start,
        "end": start + timedelta(days=days - 1),
        "lat": HOME.lat,
        "lon": HOME.lon,
        "timezone": HOME.timezone,
        "elevation_m": HOME.elevation_m,
        "surface": HOME.surface,
    }
    return Event(**{**fields, **more})  # type: ignore[arg-type]


def block(phase: str, first: int, last: int) -> Block:
    return Block(
        phase,  # type: ignore[arg-type]
        START + timedelta(weeks=first),
        START + timedelta(weeks=last + 1, days=-1),
    )


def season_of(*events: Event, **more: object) -> Problem:
    """Twenty weeks, one cycle of which keeps every rule."""
    limits = Limits(min_cycles=1, min_rest_weeks=2)
    fields: dict[str, object] = {
        "season": Season(START, START + timedelta(weeks=20, days=-1)),
        "home": HOME,
        "events": events,
        "limits": limits,
    }
    return Problem(**{**fields, **more})  # type: ignore[arg-type]


def test_a_season_by_hand() -> None:
    layout = lay_out(season_of(event("spring", 12, worth=30), event("target", 14, role="target")))
    assert set(layout.events) == {"spring", "target"}
    # The spring event is played in pre-competition, the target in competition. Preparation, worth
    # most of all phases, gets all the weeks that the shortest of the others and four of rest leave.
    assert [(item.phase, item.start) for item in layout.blocks] == [
        ("preparation", START),
        ("pre-competition", START + timedelta(weeks=10)),
        ("competition", START + timedelta(weeks=14)),
        ("active rest", START + timedelta(weeks=16)),
    ]
    assert breaks_and_value(layout) == (0, 30 + 20 + 10 * 1 + 4 * 0.5 + 4 * 0.3)


def test_pinned_events_that_overlap_are_named() -> None:
    problem = season_of(event("one", 12), event("other", 12), keep=frozenset({"one", "other"}))
    with pytest.raises(Impossible) as caught:
        lay_out(problem)
    assert caught.value.reasons == (
        "One (one) and Other (other) are both pinned in or begun already, and they overlap.",
    )


def test_pinned_events_too_far_apart_for_the_days_between_are_named() -> None:
    problem = season_of(
        event("near", 12),
        event("far", 13, lat=-31.9, lon=115.9, timezone="Australia/Perth"),
        keep=frozenset({"near", "far"}),
    )
    with pytest.raises(Impossible) as caught:
        lay_out(problem)
    assert caught.value.reasons == (
        "Near (near) and Far (far) are both pinned in or begun already, and the days between them"
        " do not suffice for the journey.",
    )


def test_a_pinned_event_on_busy_days_and_one_that_is_ruled_out_are_both_named() -> None:
    problem = season_of(
        event("exam", 12),
        event("gone", 14),
        busy=(Busy(START + timedelta(weeks=12), START + timedelta(weeks=12), "exam"),),
        keep=frozenset({"exam", "gone"}),
        drop=frozenset({"gone"}),
    )
    with pytest.raises(Impossible) as caught:
        lay_out(problem)
    assert caught.value.reasons == (
        "Exam (exam) is pinned in, but falls on days on which the player is busy.",
        "Gone (gone) is pinned in, but is ruled out.",
    )


def test_weeks_gone_by_that_follow_no_cycle_are_impossible() -> None:
    problem = season_of(
        event("spring", 14),
        today=START + timedelta(weeks=8),
        in_force=InForce(blocks=(block("preparation", 0, 3), block("competition", 4, 7))),
    )
    with pytest.raises(Impossible) as caught:
        lay_out(problem)
    assert caught.value.reasons == (
        "The blocks of the weeks gone by do not follow one another in the cycle.",
    )


def test_what_is_played_stays_and_each_change_has_its_price() -> None:
    blocks = (
        block("preparation", 0, 3),
        block("pre-competition", 4, 8),
        block("competition", 9, 12),
        block("active rest", 13, 13),
        block("preparation", 14, 19),
    )
    problem = season_of(
        event("poor", 9, worth=1),
        event("missed", 10, worth=100),
        event("planned", 11, worth=20),
        event("slightly better", 11, worth=39),
        today=START + timedelta(weeks=11),
        in_force=InForce(("poor", "planned"), blocks),
    )
    layout = lay_out(problem)
    assert layout.events == ("poor", "planned")
    assert layout.blocks[:2] == blocks[:2]
    assert layout.blocks[2].start == blocks[2].start
    dearer = replace(problem.events[3], worth=41)
    layout = lay_out(replace(problem, events=(*problem.events[:3], dearer)))
    assert layout.events == ("poor", "slightly better")
    assert layout.judgement.value_parts.change == -20


def test_an_event_pinned_into_preparation_breaks_the_phase_rule_and_says_so() -> None:
    layout = lay_out(season_of(event("early", 1), keep=frozenset({"early"})))
    assert layout.events == ("early",)
    assert [(found.rule, found.units, found.events) for found in layout.judgement.broken] == [
        ("phase", 1, ("early",))
    ]
    assert layout.breaks == 50


def test_a_season_without_events_is_laid_out_too() -> None:
    layout = lay_out(season_of())
    assert layout.events == ()
    # Twelve weeks of preparation, four of pre-competition, two of competition, two of rest.
    assert breaks_and_value(layout) == (0, 12 + 4 * 0.5 + 2 * 0.3)
