"""The file form of a problem: what it says, and how bad input is refused in one line."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.layout.problem import (
    Block,
    Busy,
    Event,
    Home,
    InForce,
    Limits,
    Problem,
    ProblemError,
    Season,
    problem_as_json,
    read_problem,
)

SEASONS = Path(__file__).parents[3] / "fixtures" / "seasons"

FORM: dict[str, Any] = {
    "season": {"start": "2027-01-04", "end": "2027-07-04"},
    "today": "2027-02-10",
    "home": {
        "name": "Valencia",
        "lat": 39.5,
        "lon": -0.4,
        "timezone": "Europe/Madrid",
        "elevation_m": 20,
        "surface": "clay",
        "monthly_high_c": [16, 17, 19, 21, 24, 28, 30, 31, 28, 24, 20, 17],
    },
    "events": [
        {
            "code": "e1",
            "name": "Tunis Open Week",
            "start": "2027-02-22",
            "end": "2027-02-28",
            "lat": 36.8,
            "lon": 10.2,
            "timezone": "Africa/Tunis",
            "elevation_m": 4,
            "high_c": 17.5,
            "surface": "hard",
            "role": "target",
            "worth": 66.5,
            "cost": 120.25,
        },
        {
            "code": "e2",
            "name": "Perth Week",
            "start": "2027-05-03",
            "end": "2027-05-16",
            "lat": -31.9,
            "lon": 115.9,
            "timezone": "Australia/Perth",
            "elevation_m": 20,
            "surface": "grass",
        },
    ],
    "busy": [{"start": "2027-06-01", "end": "2027-06-12", "why": "exams"}],
    "limits": {
        "max_run": 2,
        "preparation_weeks": [3, 10],
        "budget": 500,
        "first_phase": "competition",
    },
    "keep": ["e1"],
    "drop": ["e2"],
    "cancelled": ["e2"],
    "in_force": {
        "events": ["e1"],
        "blocks": [
            {"phase": "preparation", "start": "2027-01-04", "end": "2027-02-07"},
            {"phase": "pre-competition", "start": "2027-02-08", "end": "2027-03-07"},
        ],
    },
}  # fmt: skip


def with_change(change: Callable[[dict[str, Any]], object]) -> dict[str, Any]:
    form = copy.deepcopy(FORM)
    change(form)
    return form


def test_every_field_of_the_file_arrives_in_the_problem() -> None:
    assert read_problem(FORM) == Problem(
        season=Season(date(2027, 1, 4), date(2027, 7, 4)),
        home=Home(
            "Valencia",
            39.5,
            -0.4,
            "Europe/Madrid",
            20,
            "clay",
            (16, 17, 19, 21, 24, 28, 30, 31, 28, 24, 20, 17),
        ),
        events=(
            Event(
                code="e1",
                name="Tunis Open Week",
                start=date(2027, 2, 22),
                end=date(2027, 2, 28),
                lat=36.8,
                lon=10.2,
                timezone="Africa/Tunis",
                elevation_m=4,
                surface="hard",
                high_c=17.5,
                role="target",
                worth=66.5,
                cost=120.25,
            ),
            Event(
                code="e2",
                name="Perth Week",
                start=date(2027, 5, 3),
                end=date(2027, 5, 16),
                lat=-31.9,
                lon=115.9,
                timezone="Australia/Perth",
                elevation_m=20,
                surface="grass",
                high_c=None,
                role="open",
                worth=20,
                cost=0,
            ),
        ),
        busy=(Busy(date(2027, 6, 1), date(2027, 6, 12), "exams"),),
        limits=Limits(max_run=2, preparation_weeks=(3, 10), budget=500, first_phase="competition"),
        keep=frozenset({"e1"}),
        drop=frozenset({"e2"}),
        cancelled=frozenset({"e2"}),
        today=date(2027, 2, 10),
        in_force=InForce(
            ("e1",),
            (
                Block("preparation", date(2027, 1, 4), date(2027, 2, 7)),
                Block("pre-competition", date(2027, 2, 8), date(2027, 3, 7)),
            ),
        ),
    )


def test_season_home_and_events_are_enough() -> None:
    problem = read_problem({name: FORM[name] for name in ("season", "home", "events")})
    assert problem.limits == Limits()
    assert problem.busy == ()
    assert problem.today is None
    assert problem.in_force is None


@pytest.mark.parametrize(("role", "worth"), [("target", 80), ("build-up", 40), ("open", 20)])
def test_an_event_without_a_worth_has_that_of_its_role(role: str, worth: int) -> None:
    form = with_change(lambda form: form["events"][1].update(role=role))
    assert read_problem(form).events[1].worth == worth


def test_a_problem_written_and_read_again_is_the_same() -> None:
    problem = read_problem(FORM)
    assert read_problem(json.loads(json.dumps(problem_as_json(problem)))) == problem


def test_only_the_limits_that_differ_are_written() -> None:
    assert problem_as_json(read_problem(FORM))["limits"] == {
        "first_phase": "competition",
        "preparation_weeks": [3, 10],
        "max_run": 2,
        "budget": 500,
    }


@pytest.mark.parametrize("number", range(1, 9))
def test_each_example_is_read_and_survives_the_way_back(number: int) -> None:
    problem = read_problem(json.loads((SEASONS / f"season-{number}.json").read_text()))
    assert read_problem(problem_as_json(problem)) == problem


NAN, INFINITE = float("nan"), float("inf")

BAD: list[tuple[Callable[[dict[str, Any]], object], str]] = [
    (lambda f: f.pop("season"), "season: is missing"),
    (lambda f: f.pop("home"), "home: is missing"),
    (lambda f: f.pop("events"), "events: is missing"),
    (lambda f: f.update(colour="red"), "colour: there is no such field"),
    (lambda f: f.update({"two\nlines": 1}), '"two\\nlines": there is no such field'),
    (lambda f: f.update(season=[]), "season: must be an object, not a list"),
    (lambda f: f["season"].pop("end"), "season.end: is missing"),
    (
        lambda f: f["season"].update(start="2027-01-05"),
        "season.start: a season starts on a Monday; 2027-01-05 is a Tuesday",
    ),
    (
        lambda f: f["season"].update(end="2027-07-03"),
        "season.end: a season ends on a Sunday; 2027-07-03 is a Saturday",
    ),
    (
        lambda f: f["season"].update(end="2026-12-27"),
        "season.end: 2026-12-27 lies before the start, 2027-01-04",
    ),
    (
        lambda f: f["season"].update(end="2029-01-21"),
        "season.end: a season has at most 106 weeks; this one has 107",
    ),
    (
        lambda f: f["season"].update(start="4 Jan 2027"),
        'season.start: must be a date written YYYY-MM-DD, not "4 Jan 2027"',
    ),
    (
        lambda f: f["season"].update(start="20270104"),
        'season.start: must be a date written YYYY-MM-DD, not "20270104"',
    ),
    (lambda f: f["season"].update(start="2027-02-30"), "season.start: there is no day 2027-02-30"),
    (
        lambda f: f["season"].update(start="0001-01-01"),
        "season.start: must lie in the years 1970 to 2199, not 0001-01-01",
    ),
    (
        lambda f: f["season"].update(start=20270104),
        "season.start: must be a date written YYYY-MM-DD, not 20270104",
    ),
    (lambda f: f.update(today="soon"), 'today: must be a date written YYYY-MM-DD, not "soon"'),
    (lambda f: f["home"].update(lat=90.5), "home.lat: must lie between -90 and 90, not 90.5"),
    (lambda f: f["home"].update(lon=-181), "home.lon: must lie between -180 and 180, not -181"),
    (lambda f: f["home"].update(lat=True), "home.lat: must be a number, not true"),
    (lambda f: f["home"].update(lat="41"), 'home.lat: must be a number, not "41"'),
    (lambda f: f["home"].update(lat=None), "home.lat: must be a number, not null"),
    (lambda f: f["home"].update(lat=NAN), "home.lat: must lie between -90 and 90, not NaN"),
    (
        lambda f: f["home"].update(elevation_m=INFINITE),
        "home.elevation_m: must lie between -500 and 9000, not Infinity",
    ),
    (lambda f: f["home"].update(surface="ice"), "home.surface: must be one of hard, clay, grass, "),
    (lambda f: f["home"].update(surface=["clay"]), "home.surface: must be one of hard, clay, "),
    (
        lambda f: f["home"].update(timezone="Europe/Atlantis"),
        'home.timezone: there is no time zone "Europe/Atlantis"',
    ),
    (lambda f: f["home"].update(timezone="Europe"), 'home.timezone: there is no time zone "Europ'),
    (
        lambda f: f["home"].update(timezone="../../etc/passwd"),
        'home.timezone: there is no time zone "../../etc/passwd"',
    ),
    (
        lambda f: f["home"].update(monthly_high_c=[20] * 11),
        "home.monthly_high_c: must be twelve numbers, January first; there are 11",
    ),
    (
        lambda f: f["home"].update(monthly_high_c=[20] * 11 + [None]),
        "home.monthly_high_c[11]: must be a number, not null",
    ),
    (lambda f: f["home"].update(name=" "), "home.name: must not be empty"),
    (lambda f: f["home"].update(name=7), "home.name: must be a text, not 7"),
    (lambda f: f.update(events={}), "events: must be a list, not an object"),
    (lambda f: f["events"].append(3), "events[2]: must be an object, not 3"),
    (lambda f: f["events"][1].pop("code"), "events[1].code: is missing"),
    (lambda f: f["events"][1].update(prize=5), "events[1].prize: there is no such field"),
    (
        lambda f: f["events"][1].update(code="e1"),
        'events[1].code: "e1" is already the code of events[0]',
    ),
    (lambda f: f["events"][1].update(code="home"), "events[1].code: \"home\" is the player's home"),
    (lambda f: f["events"][1].update(code=2), "events[1].code: must be a text, not 2"),
    (
        lambda f: f["events"][1].update(name="Perth\nWeek"),
        'events[1].name: must be one line of readable characters, not "Perth\\nWeek"',
    ),
    (
        lambda f: f["events"][1].update(name="\ud800"),
        "events[1].name: must be one line of readable characters",
    ),
    (lambda f: f["events"][1].update(name="x" * 201), "events[1].name: must have at most 200 char"),
    (
        lambda f: f["events"][1].update(end="2027-05-02"),
        "events[1].end: 2027-05-02 lies before the start, 2027-05-03",
    ),
    (
        lambda f: f["events"][1].update(start="2027-01-03"),
        "events[1].start: 2027-01-03 lies outside the season (2027-01-04 to 2027-07-04)",
    ),
    (
        lambda f: f["events"][1].update(end="2027-07-05"),
        "events[1].end: 2027-07-05 lies outside the season (2027-01-04 to 2027-07-04)",
    ),
    (
        lambda f: f["events"][1].update(role="warm-up"),
        "events[1].role: must be one of target, build-up, open, not",
    ),
    (lambda f: f["events"][1].update(role=None), "events[1].role: must be one of target, build-up"),
    (lambda f: f["events"][1].update(worth=101), "events[1].worth: must lie between 0 and 100, "),
    (lambda f: f["events"][1].update(worth=-1), "events[1].worth: must lie between 0 and 100, "),
    (lambda f: f["events"][1].update(worth=False), "events[1].worth: must be a number, not false"),
    (lambda f: f["events"][1].update(worth=NAN), "events[1].worth: must lie between 0 and 100, "),
    (lambda f: f["events"][1].update(cost=-0.01), "events[1].cost: must lie between 0 and"),
    (lambda f: f["events"][1].update(cost=10**400), "events[1].cost: must lie between 0 and"),
    (lambda f: f["events"][1].update(high_c="hot"), 'events[1].high_c: must be a number, not "ho'),
    (lambda f: f.update(busy=None), "busy: must be a list, not null"),
    (lambda f: f["busy"][0].pop("start"), "busy[0].start: is missing"),
    (lambda f: f["busy"][0].update(end="2027-05-31"), "busy[0].end: 2027-05-31 lies before the "),
    (lambda f: f["busy"][0].update(why=1), "busy[0].why: must be a text, not 1"),
    (lambda f: f.update(limits=[]), "limits: must be an object, not a list"),
    (
        lambda f: f["limits"].update(max_weeks=3),
        "limits.max_weeks: there is no such limit; got 3",
    ),
    (
        lambda f: f["limits"].update(max_run=True),
        "limits.max_run: must be a number; got true",
    ),
    (
        lambda f: f["limits"].update(max_run=2.5),
        "limits.max_run: must be a whole number; got 2.5",
    ),
    (
        lambda f: f["limits"].update(max_run=None),
        "limits.max_run: must be a number; got null",
    ),
    (
        lambda f: f["limits"].update(travel_weight=NAN),
        "limits.travel_weight: must lie between 0 and 1000; got NaN",
    ),
    (
        lambda f: f["limits"].update(competition_weeks=[10, 2]),
        "limits.competition_weeks: the smallest, 10, is greater than the largest, 2; got a list",
    ),
    (
        lambda f: f["limits"].update(first_phase="rest"),
        "limits.first_phase: must be one of preparation, pre-competition, competition, active rest",
    ),
    (lambda f: f.update(keep="e1"), 'keep: must be a list, not "e1"'),
    (lambda f: f.update(keep=["e9"]), 'keep[0]: no event has the code "e9"'),
    (lambda f: f.update(keep=["e1", "e1"]), 'keep[1]: "e1" is there twice'),
    (lambda f: f.update(drop=["e1"]), 'drop[0]: "e1" is in keep, too'),
    (lambda f: f.update(cancelled=["e1"]), 'cancelled[0]: "e1" is in keep, too'),
    (lambda f: f.update(in_force=[]), "in_force: must be an object, not a list"),
    (lambda f: f["in_force"].pop("events"), "in_force.events: is missing"),
    (lambda f: f["in_force"].update(events=["x"]), 'in_force.events[0]: no event has the code "x"'),
    (
        lambda f: f["in_force"]["blocks"][0].update(phase="holiday"),
        "in_force.blocks[0].phase: must be one of preparation, ",
    ),
    (
        lambda f: f["in_force"]["blocks"][0].update(start="2027-01-05"),
        "in_force.blocks[0].start: a block starts on a Monday; 2027-01-05 is none",
    ),
    (
        lambda f: f["in_force"]["blocks"][1].update(end="2027-03-06"),
        "in_force.blocks[1].end: a block ends on a Sunday; 2027-03-06 is none",
    ),
    (
        lambda f: f["in_force"]["blocks"][0].update(start="2026-12-28"),
        "in_force.blocks[0].start: 2026-12-28 lies outside the season",
    ),
    (
        lambda f: f["in_force"]["blocks"][1].update(start="2027-02-01"),
        "in_force.blocks[1].start: 2027-02-01 lies before the end of the block before it",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("change", "line"), BAD, ids=[line.split(": ")[0] for _, line in BAD])
def test_bad_input_is_refused_in_one_line_that_names_the_field(
    change: Callable[[dict[str, Any]], object], line: str
) -> None:
    with pytest.raises(ProblemError) as refused:
        read_problem(with_change(change))
    assert str(refused.value).startswith(line)
    assert len(str(refused.value).splitlines()) == 1


@pytest.mark.parametrize("data", [None, [], "text", 3, True])
def test_something_else_than_an_object_is_refused(data: object) -> None:
    with pytest.raises(ProblemError, match=r"^problem: must be an object"):
        read_problem(data)


any_json = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
    | st.sampled_from(["2027-02-30", "2027-03-01", "e1", "clay", "UTC", "target", "\ud800"]),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3)
    ),
    max_leaves=4,
)  # fmt: skip


@settings(deadline=None)
@given(st.data())
def test_whatever_stands_in_a_field_is_read_or_refused_in_one_line(data: st.DataObject) -> None:
    form = copy.deepcopy(FORM)
    inside: Any = form
    while True:
        keys = list(inside) if isinstance(inside, dict) else list(range(len(inside)))
        key = data.draw(st.sampled_from(keys))
        if isinstance(inside[key], dict | list) and inside[key] and data.draw(st.booleans()):
            inside = inside[key]
            continue
        break
    inside[key] = data.draw(any_json)
    try:
        problem = read_problem(form)
    except ProblemError as refused:
        assert len(str(refused).splitlines()) == 1
        assert str(refused).startswith(refused.field)
    else:
        assert read_problem(json.loads(json.dumps(problem_as_json(problem)))) == problem
