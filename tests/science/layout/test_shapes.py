"""The best season for each number of events is the best that trying every one finds."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from seasonplan.science.layout.problem import Problem, read_problem
from seasonplan.science.layout.rules import judge
from seasonplan.science.layout.shapes import Point, curve, pays_until, shapes
from seasonplan.science.layout.solver import Impossible, Layout, lay_out
from tests.science.layout import exhaustive, random_problems
from tests.science.layout.test_solver import event, season_of, with_odd_limits

SEASONS = Path(__file__).parents[3] / "fixtures" / "seasons"
DEMOS = ("demo-developing", "demo-touring")


@cache
def demo(name: str) -> tuple[Problem, Layout, tuple[Point, ...]]:
    problem = read_problem(json.loads((SEASONS / f"{name}.json").read_text()))
    layout = lay_out(problem)
    return problem, layout, tuple(curve(problem, layout))


def best_of(form: dict[str, Any], number: int) -> tuple[float, float] | None:
    """Breaks and value of the best layout with so many events, by trying every one."""
    limits = form["limits"] | {"max_events": number, "min_events": 0}
    asked = form | {"limits": limits}
    blocks = exhaustive.Blocks(asked)
    least: tuple[int, int] | None = None
    for chain in exhaustive.chains_allowed(asked):
        if len(chain) != number:
            continue
        found = blocks.best_with(chain, None)
        if found is None:
            continue
        codes = [event["code"] for event in chain]
        spans = tuple(exhaustive.block_in_file_form(asked, *span) for span in found[1])
        breaks, value = exhaustive.measure(asked, codes, spans)
        least = min(least or (breaks, -value), (breaks, -value))
    return None if least is None else (least[0] / 100, -least[1] / 100)


@pytest.mark.parametrize("first", range(0, 6, 2))
@pytest.mark.parametrize("odd", [False, True])
def test_the_curve_is_what_trying_every_layout_finds(first: int, odd: bool) -> None:
    for seed in range(first, first + 2):
        form = with_odd_limits(seed) if odd else random_problems.problem(seed)
        problem = read_problem(form)
        try:
            layout = lay_out(problem)
        except Impossible:
            continue
        points = {point.events: point for point in curve(problem, layout, fewest=0, most=9)}
        for number in range(len(problem.events) + 1):
            best = best_of(form, number)
            point = points.get(number)
            if best is None:
                assert point is None
                continue
            if point is None:
                continue
            found = (point.breaks, point.value)
            if point.status == "proven":
                assert found == best, (seed, number)
            else:
                assert (found[0], -found[1]) >= (best[0], -best[1]), (seed, number)
        own = points[len(layout.events)]
        assert own.status == "proven"
        assert own.more_breaks == 0, seed


def test_most_of_the_curve_is_proven() -> None:
    proven = total = 0
    for seed in range(6):
        problem = read_problem(random_problems.problem(seed))
        try:
            layout = lay_out(problem)
        except Impossible:
            continue
        for point in curve(problem, layout, fewest=0, most=9):
            proven += point.status == "proven"
            total += 1
    assert proven > total / 2


@pytest.mark.parametrize("name", DEMOS)
def test_each_proven_point_of_the_demo_season_is_what_the_solver_finds_for_its_number(
    name: str,
) -> None:
    problem, layout, points = demo(name)
    proven = [point for point in points if point.status == "proven" and point.more_breaks <= 0]
    assert len(proven) > 6
    for point in proven:
        # An event too few or too many costs more than all else together.
        limits = replace(
            problem.limits, max_events=point.events, min_events=point.events, short_weight=1000
        )
        other = lay_out(replace(problem, limits=limits), start=layout.events)
        assert len(other.events) == point.events
        assert (other.breaks, other.value) == (point.breaks, point.value)


@pytest.mark.parametrize("name", DEMOS)
def test_three_shapes_of_the_demo_season(name: str) -> None:
    problem, layout, points = demo(name)
    three = shapes(points, layout)
    assert three.lighter is not None
    assert three.fuller is not None
    assert three.lighter.events < three.balanced.events < three.fuller.events
    assert (three.balanced.value, three.balanced.events) == (layout.value, len(layout.events))
    third = round(len(layout.events) / 3)
    assert three.lighter.events == len(layout.events) - third
    for point in (three.lighter, three.balanced, three.fuller):
        assert point.status == "proven"
        assert point.more_breaks <= 0
        assert point.over_limit == (point.events > problem.limits.max_events)
        limits = replace(problem.limits, max_events=point.events, min_events=0)
        judged = judge(replace(problem, limits=limits), point.codes, point.blocks)
        assert judged.possible
        figures = point.figures
        assert (figures.value, figures.breaks) == (judged.value, judged.breaks)
        assert (figures.event_weeks, figures.weeks_away, figures.longest_run) == (
            judged.event_weeks,
            judged.weeks_away,
            judged.longest_run,
        )
        assert (figures.flight_hours, figures.missing_days) == (
            judged.flight_hours,
            judged.missing_days,
        )
        assert (figures.rest_weeks, figures.cost) == (judged.rest_weeks, judged.cost)
        assert figures.events == len(point.codes)
    assert figures.event_weeks > three.lighter.figures.event_weeks
    # Within its limits the layout is the best of any number.
    allowed = [point for point in points if not point.over_limit]
    assert pays_until(allowed) == len(layout.events)


def test_another_event_stops_paying_where_it_is_not_worth_its_journey() -> None:
    problem = season_of(
        event("one", 14, worth=30),
        event("two", 15, worth=20),
        event("poor", 17, worth=0, lat=60.0),
    )
    layout = lay_out(problem)
    points = list(curve(problem, layout, fewest=0, most=3))
    assert [point.events for point in points] == [0, 1, 2, 3]
    assert pays_until(points) == 2
    assert points[2].codes == ("one", "two") == layout.events
    assert points[3].more_breaks == 0
    assert points[3].value < points[2].value
    three = shapes(points, layout)
    assert (three.lighter, three.balanced, three.fuller) == (points[1], points[2], points[3])


def test_there_is_no_fuller_shape_where_there_are_no_more_events() -> None:
    problem = season_of(event("one", 14, worth=30))
    layout = lay_out(problem)
    three = shapes(list(curve(problem, layout, fewest=0, most=3)), layout)
    assert three.fuller is None
    assert three.lighter is not None
    assert three.lighter.events == 0


def test_a_budget_is_kept_where_it_can_be() -> None:
    problem = season_of(
        event("dear", 14, worth=30, cost=500), event("cheap", 14, worth=20, cost=50)
    )
    problem = replace(problem, limits=replace(problem.limits, budget=100))
    layout = lay_out(problem)
    (point,) = curve(problem, layout, fewest=1, most=1)
    assert (point.codes, point.status, point.breaks) == (("cheap",), "proven", 0)


def test_a_curve_without_the_layout_has_no_shapes() -> None:
    problem = season_of(event("one", 14, worth=30))
    with pytest.raises(ValueError, match="says nothing of 1 events"):
        shapes([], lay_out(problem))


def test_without_time_there_are_fewer_points_and_none_that_is_wrong() -> None:
    problem, layout, points = demo("demo-touring")
    best = {point.events: point for point in points}
    for point in curve(problem, layout, seconds=0):
        other = best[point.events]
        assert (point.breaks, -point.value) >= (other.breaks, -other.value)
