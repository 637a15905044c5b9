"""Each price is the difference of two solves, whichever way it was found.

Three witnesses: the exhaustive search, which shares no code with the application; the solver, asked
twice; and the judge. The two demo seasons in fixtures/ are asked for every candidate.
"""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import fields, replace
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import pytest

from seasonplan.science.layout.alternatives import Question, problem_with
from seasonplan.science.layout.limits import Limits
from seasonplan.science.layout.price_words import (
    event_price_words,
    limit_price_words,
    points,
    stand_in_words,
)
from seasonplan.science.layout.prices import (
    LOOSER,
    EventPrice,
    LimitPrice,
    Loosening,
    Price,
    RuleChange,
    StandIn,
    event_prices,
    limit_prices,
    looser_limits,
    prices,
    stand_ins,
)
from seasonplan.science.layout.problem import InForce, Problem, read_problem
from seasonplan.science.layout.rules import judge
from seasonplan.science.layout.solver import Impossible, Layout, lay_out
from seasonplan.science.weeks import event_weeks
from tests.science.layout import exhaustive, random_problems
from tests.science.layout.test_solver import event, season_of, with_odd_limits

SEASONS = Path(__file__).parents[3] / "fixtures" / "seasons"
DEMOS = ("demo-developing", "demo-touring")
PARTS = 6


@cache
def demo(name: str) -> tuple[Problem, Layout]:
    problem = read_problem(json.loads((SEASONS / f"{name}.json").read_text()))
    return problem, lay_out(problem)


def possible(seeds: range, *, odd: bool = False) -> list[tuple[dict[str, Any], Problem, Layout]]:
    """Random problems that have a layout, with it."""
    found = []
    for seed in seeds:
        form = with_odd_limits(seed) if odd else random_problems.problem(seed)
        problem = read_problem(form)
        try:
            found.append((form, problem, lay_out(problem)))
        except Impossible:
            continue
    return found


def is_difference(price: Price, layout: Layout, other: Layout) -> bool:
    """Whether the price is what tells the two layouts apart, in breaks and value."""
    value = layout.judgement.value_thousandths - other.judgement.value_thousandths
    breaks = other.breaks - layout.breaks
    return (price.more_breaks, price.value_given_up_thousandths) == (breaks, value)


# Events.


@pytest.mark.parametrize("first", range(0, 6, 3))
def test_event_prices_are_what_trying_every_layout_finds(first: int) -> None:
    for form, problem, layout in possible(range(first, first + 3)):
        for priced in event_prices(problem, layout):
            asked = dict(form)
            asked["keep"] = [code for code in form["keep"] if code != priced.code]
            asked["drop"] = [code for code in form["drop"] if code != priced.code]
            asked["keep" if priced.played else "drop"].append(priced.code)
            try:
                best = exhaustive.best(asked)
            except exhaustive.NothingPossible:
                assert priced.price.status == "impossible"
                continue
            assert priced.price.status == "proven"
            assert priced.price.breaks == best.breaks / 100, (first, priced.code)
            assert priced.price.value_thousandths == 10 * best.value, (first, priced.code)


@pytest.mark.parametrize("first", range(0, 6, 3))
@pytest.mark.parametrize("odd", [False, True])
def test_event_prices_are_the_difference_of_two_solves(first: int, odd: bool) -> None:
    for _, problem, layout in possible(range(100 + first, 103 + first), odd=odd):
        for priced in event_prices(problem, layout):
            assert priced.played == (priced.code not in layout.events)
            try:
                other = lay_out(problem_with(problem, Question(priced.code, priced.played)))
            except Impossible as impossible:
                assert priced.price == Price("impossible", reasons=impossible.reasons)
                continue
            assert priced.price.status == "proven"
            assert is_difference(priced.price, layout, other), (first, priced.code)


@pytest.mark.parametrize("first", range(0, 12, 3))
def test_event_prices_are_right_where_events_are_pinned_and_there_may_be_few(first: int) -> None:
    for seed in range(7010 + first, 7013 + first):
        rng, form = Random(seed), random_problems.problem(seed)
        free = [event["code"] for event in form["events"] if event["code"] not in form["drop"]]
        form["keep"] = rng.sample(free, rng.choice((0, 1, 2)))
        form["limits"] |= {"max_events": rng.choice((1, 2, 3)), "min_events": rng.choice((0, 1))}
        problem = read_problem(form)
        try:
            layout = lay_out(problem)
        except Impossible:
            continue
        for priced in event_prices(problem, layout):
            try:
                other = lay_out(problem_with(problem, Question(priced.code, priced.played)))
            except Impossible:
                assert priced.price.status == "impossible"
                continue
            assert priced.price.status == "proven"
            assert is_difference(priced.price, layout, other), (seed, priced.code)


@pytest.mark.parametrize("part", range(PARTS))
@pytest.mark.parametrize("name", DEMOS)
def test_every_candidate_of_the_demo_season_costs_the_difference_of_two_solves(
    name: str, part: int
) -> None:
    problem, layout = demo(name)
    candidates = [event.code for event in problem.events if event.code not in layout.events]
    asked = candidates[part::PARTS]
    found = {priced.code: priced.price for priced in event_prices(problem, layout, asked)}
    assert found.keys() == set(asked)
    for code, price in found.items():
        try:
            other = lay_out(problem_with(problem, Question(code, played=True)))
        except Impossible as impossible:
            assert price.reasons == impossible.reasons
            continue
        assert price.status == "proven"
        assert is_difference(price, layout, other), code
        assert (price.more_breaks, price.value_given_up) >= (0, 0)


@pytest.mark.parametrize("name", DEMOS)
def test_what_leaving_out_each_event_of_the_demo_season_gives(name: str) -> None:
    problem, layout = demo(name)
    for priced in event_prices(problem, layout, layout.events):
        assert not priced.played
        other = lay_out(problem_with(problem, Question(priced.code, played=False)))
        assert priced.price.status == "proven"
        assert is_difference(priced.price, layout, other), priced.code


@pytest.mark.parametrize("odd", [False, True])
def test_a_price_comes_with_the_layout_that_it_is_the_price_of(odd: bool) -> None:
    for _, problem, layout in possible(range(20, 24), odd=odd):
        before: Counter[str] = Counter()
        for finding in layout.judgement.broken:
            before[finding.rule] += finding.units
        for priced in event_prices(problem, layout):
            price = priced.price
            if price.status == "impossible":
                continue
            asked = problem_with(problem, Question(priced.code, priced.played))
            judgement = judge(asked, price.events, price.blocks)
            assert judgement.possible
            assert (priced.code in price.events) == priced.played
            assert judgement.value_thousandths == price.value_thousandths
            assert judgement.breaks == price.breaks
            after = before.copy()
            for change in price.rules:
                assert change.units
                after[change.rule] += change.units
            found: Counter[str] = Counter()
            for finding in judgement.broken:
                found[finding.rule] += finding.units
            assert +after == found
            assert sum(change.breaks for change in price.rules) == price.more_breaks
            there = set(layout.events) - set(price.leaves) | set(price.enters)
            assert there | {priced.code} == set(price.events) | {priced.code}
            assert priced.code not in (*price.leaves, *price.enters)


def test_without_time_prices_say_that_they_are_not_proven_and_are_sound() -> None:
    problem, layout = demo("demo-touring")
    asked = [event.code for event in problem.events if event.code not in layout.events][:40]
    exact = {priced.code: priced.price for priced in event_prices(problem, layout, asked)}
    hasty = {
        priced.code: priced.price for priced in event_prices(problem, layout, asked, seconds=0)
    }
    assert hasty.keys() == exact.keys()
    assert any(price.status == "best found" for price in hasty.values())
    for code, price in hasty.items():
        best = exact[code]
        if best.status == "impossible":
            assert price.status == "impossible"
            continue
        assert (price.breaks, -price.value_thousandths) >= (best.breaks, -best.value_thousandths)
        assert price.most_value_thousandths >= best.value_thousandths
        if price.status == "proven":
            assert price.value_thousandths == best.value_thousandths


def test_a_code_that_no_event_has_is_refused() -> None:
    problem, layout = demo("demo-touring")
    with pytest.raises(ValueError, match="no event has the code long gone"):
        list(event_prices(problem, layout, ["long gone"]))


def test_an_event_ruled_out_is_priced_as_if_it_were_not_and_a_pinned_one_likewise() -> None:
    problem = season_of(
        event("rich", 14, worth=90), event("poor", 14, worth=10), drop=frozenset({"rich"})
    )
    layout = lay_out(problem)
    assert layout.events == ("poor",)
    (priced,) = event_prices(problem, layout, ["rich"])
    assert (priced.price.value_given_up, priced.price.leaves) == (-80, ("poor",))
    pinned = replace(problem, drop=frozenset(), keep=frozenset({"poor"}))
    (priced,) = event_prices(pinned, lay_out(pinned), ["poor"])
    assert (priced.played, priced.price.value_given_up, priced.price.enters) == (
        False,
        -80,
        ("rich",),
    )


def test_nobody_rests_at_home_between_an_event_and_a_pinned_one_soon_after() -> None:
    problem = season_of(
        event("one", 12),
        event("other", 12, worth=30),
        event("late", 14),
        event("later", 14, worth=35),
        event("pinned", 16),
        keep=frozenset({"pinned"}),
    )
    layout = lay_out(problem)
    assert layout.events == ("other", "later", "pinned")
    found = {priced.code: priced.price for priced in event_prices(problem, layout)}
    given_up = {code: price.value_given_up for code, price in found.items()}
    assert (given_up["one"], given_up["late"]) == (10, 15)
    for code, price in found.items():
        other = lay_out(problem_with(problem, Question(code, code not in layout.events)))
        assert is_difference(price, layout, other), code


# Limits.


def test_every_limit_that_can_be_looser_is_one_and_has_a_direction() -> None:
    names = {field.name for field in fields(Limits)}
    assert {loosening.name for loosening in LOOSER} <= names
    assert len(set(LOOSER)) == len(LOOSER)
    ranges = {f.name for f in fields(Limits) if isinstance(getattr(Limits(), f.name), tuple)}
    assert {loosening.name for loosening in LOOSER if loosening.end is not None} == ranges


@pytest.mark.parametrize(
    ("loosening", "limits", "after"),
    [
        (Loosening("max_events", 1), Limits(), 21),
        (Loosening("peak_gap_weeks", -1), Limits(peak_gap_weeks=0), None),
        (Loosening("quiet_weeks", 1), Limits(quiet_weeks=4), None),
        (Loosening("preparation_weeks", -1, 0), Limits(), (3, 12)),
        (Loosening("preparation_weeks", 1, 1), Limits(), (4, 13)),
        (Loosening("active_rest_weeks", -1, 0), Limits(), None),
        (Loosening("budget", 100), Limits(), None),
        (Loosening("budget", 100), Limits(budget=250.5), 350.5),
    ],
)
def test_one_looser_is_one_step_the_right_way_or_nothing(
    loosening: Loosening, limits: Limits, after: object
) -> None:
    looser = looser_limits(limits, loosening)
    assert (None if looser is None else getattr(looser, loosening.name)) == after


@pytest.mark.parametrize("odd", [False, True])
def test_limit_prices_are_the_difference_of_two_solves_and_never_cost(odd: bool) -> None:
    for _, problem, layout in possible(range(40, 42), odd=odd):
        for priced in limit_prices(problem, layout):
            limits = looser_limits(problem.limits, priced.loosening)
            assert limits is not None
            assert is_difference(priced.price, layout, lay_out(replace(problem, limits=limits)))
            assert (priced.price.more_breaks, priced.price.value_given_up) <= (0, 0)


def test_all_prices_come_one_after_the_other() -> None:
    problem = season_of(event("rich", 14, worth=90), event("poor", 14, worth=10))
    layout = lay_out(problem)
    found = list(prices(problem, layout))
    assert [priced.code for priced in found if isinstance(priced, EventPrice)] == ["poor", "rich"]
    assert len([priced for priced in found if isinstance(priced, LimitPrice)]) > 10


# Stand-ins.


@pytest.mark.parametrize("name", DEMOS)
def test_stand_ins_share_a_week_and_cost_the_difference_of_two_solves(name: str) -> None:
    problem, layout = demo(name)
    weeks_of = {
        event.code: set(event_weeks(event.start, event.end, problem.season.start))
        for event in problem.events
    }
    asked = layout.events[3]
    found = stand_ins(problem, layout, asked)
    assert found
    costs = [(one.price.more_breaks, one.price.value_given_up) for one in found]
    assert costs == sorted(costs)
    without = problem_with(problem, Question(asked, played=False))
    for one in found:
        assert weeks_of[one.code] & weeks_of[asked]
        assert asked not in one.price.events
        other = lay_out(problem_with(without, Question(one.code, played=True)))
        assert is_difference(one.price, layout, other)


def test_only_a_planned_event_has_a_stand_in() -> None:
    problem = season_of(event("rich", 14, worth=90), event("poor", 14, worth=10))
    with pytest.raises(ValueError, match="poor is not in the layout"):
        stand_ins(problem, lay_out(problem), "poor")


# Re-planning: the dearer a change, the fewer there are.


def changes(problem: Problem, weight: float) -> tuple[int, bool]:
    assert problem.in_force is not None
    limits = replace(problem.limits, change_weight=weight)
    layout = lay_out(replace(problem, limits=limits))
    number = len(set(layout.events) ^ set(problem.in_force.events))
    return number, layout.status == "proven"


def test_the_dearer_a_change_the_fewer_events_change() -> None:
    slider = (0, 2, 10, 50, 1000)
    seen = 0
    for _, problem, _layout in possible(range(40)):
        if problem.in_force is None:
            continue
        steps = [changes(problem, weight) for weight in slider]
        assert all(proven for _, proven in steps)
        numbers = [number for number, _ in steps]
        assert numbers == sorted(numbers, reverse=True)
        seen += numbers[0] > numbers[-1]
    assert seen > 1


def test_an_event_called_off_in_the_demo_season_is_replaced_with_as_few_changes_as_wanted() -> None:
    problem, layout = demo("demo-touring")
    middle = layout.events[len(layout.events) // 2]
    start = next(event.start for event in problem.events if event.code == middle)
    late = replace(
        problem,
        today=start,
        in_force=InForce(layout.events, layout.blocks),
        drop=frozenset({middle}),
    )
    numbers = [changes(late, weight)[0] for weight in (0, 1, 10, 1000)]
    assert numbers == sorted(numbers, reverse=True)
    assert numbers[-1] == 1
    begun = {event.code for event in problem.events if event.start < start}
    replanned = lay_out(late)
    assert begun & set(replanned.events) == begun & set(layout.events)


# In words.


def words_problem() -> Problem:
    return season_of(event("harbour", 14), event("meadow", 14), event("lake", 15))


@pytest.mark.parametrize(
    ("price", "said"),
    [
        (
            Price("proven", value_given_up_thousandths=3200, leaves=("meadow",)),
            "Playing Harbour would cost 3.2 points of value: Meadow would leave.",
        ),
        (
            Price("proven", value_given_up_thousandths=1000, enters=("lake",)),
            "Playing Harbour would cost 1 point of value: Lake would enter.",
        ),
        (Price("proven"), "Playing Harbour would change nothing in value."),
        (
            Price(
                "best found",
                value_given_up_thousandths=-8650,
                more_breaks=30,
                leaves=("meadow", "lake"),
                rules=(RuleChange("run", 2, 30), RuleChange("rest", -1, 30)),
            ),
            "Playing Harbour would cost 30 points of broken rules and gain 8.65 points of value:"
            " Meadow and Lake would leave. More would break: 2 event weeks too many in a row (60)."
            " Less would break: 1 week of active rest missing (30). Time ran out: this is the best"
            " found, not proven to be the best there is.",
        ),
        (
            Price("impossible", reasons=("Harbour (harbour) is pinned in, but is ruled out.",)),
            "Harbour cannot be played: it is ruled out.",
        ),
    ],
)
def test_the_price_of_an_event_in_words(price: Price, said: str) -> None:
    assert event_price_words(words_problem(), EventPrice("harbour", True, price)) == said


def test_leaving_out_standing_in_and_loosening_in_words() -> None:
    problem = words_problem()
    price = Price("proven", value_given_up_thousandths=-500)
    assert event_price_words(problem, EventPrice("harbour", False, price)) == (
        "Leaving out Harbour would gain 0.5 points of value."
    )
    assert stand_in_words(problem, StandIn("meadow", "harbour", price)) == (
        "Playing Meadow instead of Harbour would gain 0.5 points of value."
    )
    assert limit_price_words(problem, LimitPrice(Loosening("max_run", 1), 3, 4, price)) == (
        "Event weeks in a row, at most: 4 weeks instead of 3 would gain 0.5 points of value."
    )
    shorter = LimitPrice(Loosening("competition_weeks", -1, 0), 2, 1, Price("proven"))
    assert limit_price_words(problem, shorter) == (
        "Competition block, at least: 1 week instead of 2 would change nothing in value."
    )


def test_points_have_as_many_decimals_as_they_need() -> None:
    assert [points(number) for number in (1000, -1000, 12_345, 2500, 1_234_000)] == [
        "1 point of value",
        "1 point of value",
        "12.345 points of value",
        "2.5 points of value",
        "1,234 points of value",
    ]
