"""Lighter, balanced and fuller: what the page says is what the science finds, and a copy is that.

The ten weeks of `conftest`, and one event more that is worth nothing and far enough to cost.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.conf import LazySettings
from django.core import signing
from django.utils import timezone

from seasonplan.academy.models import HomeBase
from seasonplan.events.models import Event
from seasonplan.plans import shapes as plan_shapes
from seasonplan.plans.history import replay, state_from
from seasonplan.plans.laying_out import gather, judge_plan, lay_out_plan, problem_from
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.season_drawings import CurvePoint, draw_curve, nice_steps
from seasonplan.plans.shape_page import pays_words
from seasonplan.plans.shapes import Answer, ask_for_shapes
from seasonplan.science.layout.rules import judge
from seasonplan.science.layout.shapes import Point, curve, pays_until, shapes
from seasonplan.science.layout.solver import lay_out
from tests.conftest import Cast
from tests.earlier import signed_two_days_ago
from tests.factories import EventFactory, PlannedEventFactory, SeasonPlanFactory
from tests.plans.conftest import TenWeeks, week
from tests.plans.pages import Element, read

EVE = date(2039, 12, 31)
NOW = datetime(2039, 12, 31, 9, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _the_eve(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: NOW)


@pytest.fixture
def plan(ten_weeks: TenWeeks) -> SeasonPlan:
    """Laid out with three events; a fourth would need a longer run, and pay with its flight."""
    plan = ten_weeks.plan
    plan.limits |= {"max_run": 4}
    plan.save()
    quay = EventFactory(
        academy=plan.player.academy,
        place=ten_weeks.barcelona,
        name="Quayside Week",
        entry_fee="20",
        **week(6),
    )
    PlannedEventFactory(plan=plan, event=quay, worth=0)
    lay_out_plan(plan, today=EVE, now=NOW)
    plan.refresh_from_db()
    return plan


def url(plan: SeasonPlan) -> str:
    return f"/plans/{plan.pk}/shapes/"


def asked(plan: SeasonPlan, cast: Cast, as_: Any) -> Element:
    return read(as_(cast.coach).get(url(plan), {"work-out": "1"}))


def by_science(plan: SeasonPlan) -> tuple[Any, Any, list[Point]]:
    """The same, asked of the science without the page."""
    problem = problem_from(gather(plan), today=EVE)
    layout = lay_out(problem)
    return problem, layout, list(curve(problem, layout))


def column(page: Element, name: str) -> dict[str, str]:
    """The figures under one heading of the table of shapes."""
    table = page.one("table", "shapes-table")
    heads = [th.text.split()[0] for th in table.all("th", scope="col")]
    at = heads.index(name)
    return {
        str(row.one("th").children[0]).strip(): row.all("td")[at].text
        for row in table.one("tbody").all("tr")
    }


def form_of(page: Element, kind: str) -> str:
    for form in page.one("table", "shapes-table").all("form"):
        if kind in form.one("button").text:
            return form.one(name="shape").attributes["value"]
    raise AssertionError(f"no form for {kind}")


# The page -----------------------------------------------------------------------------------------


def test_the_page_opens_without_working_anything_out(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    page = read(as_(cast.coach).get(url(plan)))
    assert page.one(id="shapes").buttons() == ["Work out the shapes"]
    assert not page.all("table")


def test_the_figures_are_those_of_the_science(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    _, layout, points = by_science(plan)
    three = shapes(points, layout)
    page = asked(plan, cast, as_)
    for name, point in (
        ("Lighter", three.lighter),
        ("Balanced", three.balanced),
        ("Fuller", three.fuller),
    ):
        assert point is not None
        judged = point.judgement
        assert column(page, name) == {
            "Events": str(point.events),
            "Event weeks": str(judged.event_weeks),
            "Weeks away from home": str(judged.weeks_away),
            "Longest run": f"{judged.longest_run} week{'s' * (judged.longest_run > 1)}",
            "Flight hours": f"{judged.flight_hours:.0f}",
            "Missing acclimatisation days": str(judged.missing_days),
            "Rest weeks": str(judged.rest_weeks),
            "Cost": f"{judged.cost:,.0f}",
            "Value": f"{judged.value:.1f}",
            "Broken rules": str(len(judged.broken)) if judged.broken else "none",
        }
    assert [three.lighter.events, three.balanced.events, three.fuller.events] == [2, 3, 4]


def test_balanced_is_what_can_be_worked_out_by_hand(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    # See `conftest`: 80 + 20 + 20 + 5.8 less 0.9 of travel; fees of 45.50 and 30.
    figures = column(asked(plan, cast, as_), "Balanced")
    assert (figures["Events"], figures["Value"], figures["Cost"]) == ("3", "124.9", "76")


def test_the_plan_as_it_stands_is_beside_the_shapes(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    plan.planned_events.filter(event__name="Harbour Trophy").update(played=False)
    page = asked(plan, cast, as_)
    assert column(page, "As")["Events"] == "2"
    changes = page.one("dl", "shapes-changes").text
    assert "Balanced It takes in Harbour Trophy." in changes


def test_the_table_of_the_curve_has_every_point(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    _, _, points = by_science(plan)
    page = asked(plan, cast, as_)
    rows = page.one(id="curve-table").one("tbody").all("tr")
    assert [(row.one("th").text, row.all("td")[0].text) for row in rows] == [
        (str(point.events), f"{point.value:.1f}") for point in points
    ]
    assert len(page.one("svg", "scatter").all(klass="mark")) == len(points)
    data = json.loads(page.one("script", id="chart-data").text)
    assert [(p["x"], p["y"]) for p in data["points"]] == [(p.events, p.value) for p in points]


def test_it_says_where_another_event_stops_paying(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    _, _, points = by_science(plan)
    assert pays_until(points) == 3
    [fourth] = [point for point in points if point.events == 4]
    assert asked(plan, cast, as_).one("p", "shapes-pays").text == (
        f"The season is worth most with 3 events (124.9). With one more it is worth"
        f" {fourth.value:.1f}: here another event stops paying."
    )


def test_htmx_gets_the_piece_alone(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    answer = as_(cast.coach).get(
        url(plan), {"work-out": "1"}, headers={"HX-Request": "true", "HX-Target": "shapes"}
    )
    page = read(answer)
    [root] = [child for child in page.children if isinstance(child, Element)]
    assert root.attributes["id"] == "shapes"
    assert page.one("section", data_announce=page.all("section")[0].attributes["data-announce"])


def test_what_cost_covers_is_said(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    assert "Cost is the entry fees of the calendar alone" in asked(plan, cast, as_).text


def test_asking_changes_nothing(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    before = (plan.revision, SeasonPlan.objects.count(), plan.steps.count())
    asked(plan, cast, as_)
    plan.refresh_from_db()
    assert (plan.revision, SeasonPlan.objects.count(), plan.steps.count()) == before


# Before there is anything to ask ------------------------------------------------------------------


def test_without_a_layout_it_says_what_to_do_first(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    page = asked(ten_weeks.plan, cast, as_)
    assert page.one(id="shapes").one("h2").text == "Not laid out yet"
    assert "Work out the shapes" not in page.buttons()


def test_without_events_it_leads_to_the_calendar(cast: Cast, as_: Any) -> None:
    page = asked(SeasonPlanFactory(player=cast.ines), cast, as_)
    assert page.one(id="shapes").one("h2").text == "No events in this season yet"


def test_without_a_home_base_it_asks_for_one(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    HomeBase.objects.filter(player=plan.player).delete()
    page = asked(plan, cast, as_)
    assert page.one(id="shapes").one("h2").text == "No home base yet"


def test_pinned_events_that_contradict_each_other_are_named(
    plan: SeasonPlan, cast: Cast, as_: Any, ten_weeks: TenWeeks
) -> None:
    twin = EventFactory(academy=cast.academy, place=ten_weeks.barcelona, name="Twin Cup", **week(7))
    PlannedEventFactory(plan=plan, event=twin, standing="pinned")
    plan.planned_events.filter(event=ten_weeks.cup).update(standing="pinned")
    page = asked(plan, cast, as_)
    assert page.one("p", role="alert").text.startswith("This season cannot be laid out.")


@pytest.mark.parametrize("role", ["player", "guardian", "staff", "director"])
def test_only_those_who_plan_ask(plan: SeasonPlan, cast: Cast, as_: Any, role: str) -> None:
    SeasonPlan.objects.filter(pk=plan.pk).update(standing="in force")
    client = as_(getattr(cast, role))
    assert client.get(url(plan)).status_code == 403
    assert client.post(url(plan), {"shape": "x"}).status_code == 403


def test_the_page_asks_as_many_queries_for_a_full_calendar(
    plan: SeasonPlan, cast: Cast, as_: Any, django_assert_max_num_queries: Any, ten_weeks: TenWeeks
) -> None:
    client = as_(cast.coach)
    with django_assert_max_num_queries(20) as few:
        client.get(url(plan), {"work-out": "1"})
    for number in range(20):
        EventFactory(
            academy=cast.academy, place=ten_weeks.valencia, name=f"Filler {number}", **week(2)
        )
    with django_assert_max_num_queries(len(few)):
        client.get(url(plan), {"work-out": "1"})


# A copy -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["lighter", "balanced", "fuller"])
def test_a_copy_is_the_shape_and_is_judged_the_same(
    plan: SeasonPlan, cast: Cast, as_: Any, kind: str
) -> None:
    _, layout, points = by_science(plan)
    point = getattr(shapes(points, layout), kind)
    page = asked(plan, cast, as_)

    answer = as_(cast.coach).post(url(plan), {"shape": form_of(page, kind)})

    copy = SeasonPlan.objects.latest("pk")
    assert answer.url == f"/plans/{copy.pk}/"
    assert (copy.name, copy.standing, copy.based_on) == (
        f"Spring 2040, {kind}",
        "working copy",
        plan,
    )
    verdict = judge_plan(gather(copy), today=EVE)
    assert (verdict.judgement.value, verdict.judgement.breaks) == (point.value, point.breaks)
    assert len(verdict.judgement.trips) == point.events
    # Only balanced is proven best whatever the number of events.
    assert verdict.as_laid_out == (kind == "balanced")
    assert copy.layout_status == ("proven" if kind == "balanced" else "")


@pytest.mark.parametrize(("kind", "events"), [("lighter", 2), ("fuller", 4)])
def test_laid_out_again_a_copy_keeps_its_number_of_events(
    plan: SeasonPlan, cast: Cast, as_: Any, kind: str, events: int
) -> None:
    plan.limits |= {"short_weight": 90}
    plan.save()
    as_(cast.coach).post(url(plan), {"shape": form_of(asked(plan, cast, as_), kind)})
    copy = SeasonPlan.objects.latest("pk")
    assert len(lay_out_plan(copy, today=EVE, now=NOW).events) == events
    plan.refresh_from_db()
    assert "max_events" not in plan.limits


def test_taking_a_shape_is_a_step_that_can_be_undone(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    client = as_(cast.coach)
    client.post(url(plan), {"shape": form_of(asked(plan, cast, as_), "lighter")})
    copy = SeasonPlan.objects.latest("pk")
    step = copy.steps.latest("number")
    assert (step.title, step.who) == ("Took the lighter shape: 2 events", cast.coach)
    assert replay(copy) == as_said(copy)

    client.post(f"/plans/{copy.pk}/edit/", {"do": f"undo {step.number}", "revision": copy.revision})

    copy.refresh_from_db()
    assert copy.planned_events.filter(played=True).count() == 3
    assert copy.limits == plan.limits


def as_said(plan: SeasonPlan) -> dict[str, Any]:
    return state_from(
        plan,
        planned=plan.planned_events.all(),
        blocks=plan.blocks.all(),
        levels={row.level: row.worth for row in plan.level_worths.all()},
    )


def test_a_plan_in_force_is_copied_and_stays(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    SeasonPlan.objects.filter(pk=plan.pk).update(standing="in force")
    as_(cast.coach).post(url(plan), {"shape": form_of(asked(plan, cast, as_), "lighter")})
    copy = SeasonPlan.objects.latest("pk")
    assert copy.standing == "working copy"
    assert plan.planned_events.filter(played=True).count() == 3


def test_a_tampered_shape_is_refused(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    form = form_of(asked(plan, cast, as_), "lighter")
    for sent in ("", "nonsense", form[:-2] + ("aa" if form[-2:] != "aa" else "bb"), f"x{form}"):
        answer = as_(cast.coach).post(url(plan), {"shape": sent})
        assert "This is no shape of this page" in read(answer, 422).one(id="messages").text
    assert SeasonPlan.objects.count() == 1


def test_the_shape_of_another_plan_is_refused(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    form = form_of(asked(plan, cast, as_), "lighter")
    other = SeasonPlanFactory(player=cast.ines, start=plan.start, end=plan.end)
    assert as_(cast.coach).post(url(other), {"shape": form}).status_code == 422


def test_what_something_else_signed_is_refused(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    form = form_of(asked(plan, cast, as_), "lighter")
    said = signing.loads(form, salt=plan_shapes.SALT)
    elsewhere = signing.dumps(said, salt="another page", compress=True)
    assert as_(cast.coach).post(url(plan), {"shape": elsewhere}).status_code == 422


def test_yesterdays_shape_is_refused(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    with signed_two_days_ago():
        form = form_of(asked(plan, cast, as_), "lighter")
    assert as_(cast.coach).post(url(plan), {"shape": form}).status_code == 422


@pytest.mark.parametrize("what", ["worth", "calendar", "limit", "gone"])
def test_a_shape_that_is_no_longer_what_was_shown_is_not_copied(
    plan: SeasonPlan, cast: Cast, as_: Any, ten_weeks: TenWeeks, what: str
) -> None:
    form = form_of(asked(plan, cast, as_), "balanced")
    if what == "worth":
        plan.planned_events.filter(event=ten_weeks.cup).update(worth=11)
    elif what == "calendar":
        Event.objects.filter(pk=ten_weeks.lantern.pk).update(surface="grass")
    elif what == "limit":
        SeasonPlan.objects.filter(pk=plan.pk).update(limits=plan.limits | {"max_run": 1})
    else:
        Event.objects.filter(pk=ten_weeks.harbour.pk).update(
            start=date(2041, 1, 1), end=date(2041, 1, 2)
        )
    answer = as_(cast.coach).post(url(plan), {"shape": form})
    assert "Nothing was copied" in read(answer, 409).one(id="messages").text
    assert SeasonPlan.objects.count() == 1


def test_a_long_name_still_says_which_shape(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    SeasonPlan.objects.filter(pk=plan.pk).update(name="S" * 80)
    as_(cast.coach).post(url(plan), {"shape": form_of(asked(plan, cast, as_), "lighter")})
    name = SeasonPlan.objects.latest("pk").name
    assert (len(name), name[-9:]) == (80, ", lighter")


# In time ------------------------------------------------------------------------------------------


def test_in_no_time_the_figures_are_still_those_of_the_judge(plan: SeasonPlan) -> None:
    answer = ask_for_shapes(gather(plan), today=EVE, seconds=0)
    assert answer.three.balanced.events == 3
    for point in answer.points:
        limits = replace(answer.problem.limits, max_events=point.events, min_events=0)
        judged = judge(replace(answer.problem, limits=limits), point.codes, point.blocks)
        assert (point.value, point.breaks) == (judged.value, judged.breaks)


def test_what_is_not_proven_is_called_best_found(
    plan: SeasonPlan, cast: Cast, as_: Any, settings: LazySettings
) -> None:
    settings.LAYOUT_SECONDS = 0
    page = asked(plan, cast, as_)
    [balanced] = [th for th in page.all("th", scope="col") if th.text.startswith("Balanced")]
    assert balanced.text == "Balanced best found for its number"
    form = form_of(page, "balanced")
    as_(cast.coach).post(url(plan), {"shape": form})
    assert SeasonPlan.objects.latest("pk").layout_status == ""


# In words and drawn -------------------------------------------------------------------------------


def answer_with(*values: tuple[int, float, float]) -> Answer:
    """A curve of (events, value, breaks)."""
    points = tuple(a_point(*value) for value in values)
    return Answer(None, None, points, None)  # type: ignore[arg-type]


class _Judged:
    def __init__(self, value: float, breaks: float) -> None:
        self.value, self.breaks = value, breaks


def a_point(events: int, value: float, breaks: float) -> Point:
    return Point(events, "proven", 0, False, (), (), _Judged(value, breaks))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("values", "words"),
    [
        (
            [(2, 10, 0), (3, 12, 0), (4, 11.5, 0)],
            "The season is worth most with 3 events (12.0). With one more it is worth 11.5: here"
            " another event stops paying.",
        ),
        (
            [(2, 10, 0), (3, 12, 0), (4, 99, 30)],
            "The season is worth most with 3 events (12.0). One more would break more rules: here"
            " another event stops paying.",
        ),
        (
            [(1, 10, 0), (2, 12, 0)],
            "The season is worth most with 2 events (12.0). As far as the curve goes, another"
            " event still pays.",
        ),
        (
            [(1, 12, 0), (3, 2, 0)],
            "The season is worth most with 1 event (12.0). No layout with one event more was"
            " found.",
        ),
    ],
)
def test_where_another_event_stops_paying_in_words(
    values: list[tuple[int, float, float]], words: str
) -> None:
    assert pays_words(answer_with(*values)) == words


def test_the_curve_is_drawn_to_scale() -> None:
    def at(events: int, value: float, breaks_more: bool = False) -> CurvePoint:
        return CurvePoint(events, value, not breaks_more, breaks_more, "", "")

    drawn = draw_curve([at(2, 100), at(3, 200), at(4, 150, True)], limit=3)
    first, second, third = drawn.marks
    assert second.x - first.x == pytest.approx(third.x - second.x, abs=0.1)
    assert second.y == drawn.plot.top
    assert first.y == drawn.plot.bottom
    assert third.y == pytest.approx((first.y + second.y) / 2, abs=0.1)
    assert (first.corners, bool(third.corners), third.hollow) == ("", True, True)
    assert drawn.line == f"{first.x},{first.y} {second.x},{second.y}"
    assert drawn.limit == pytest.approx((second.x + third.x) / 2, abs=0.1)


@pytest.mark.parametrize(
    ("low", "high", "steps"),
    [
        (0, 10, [0, 2, 4, 6, 8, 10]),
        (395.9, 548.8, [350, 400, 450, 500, 550]),
        (418.15, 419.05, [418, 418.2, 418.4, 418.6, 418.8, 419, 419.2]),
        (5, 5, [5, 5.2]),
        (-3, 4, [-3, -2, -1, 0, 1, 2, 3, 4]),
    ],
)
def test_axes_have_round_steps(low: float, high: float, steps: list[float]) -> None:
    found = nice_steps(low, high)
    assert found[0] <= low
    assert found[-1] >= high
    if low != high:
        assert found == pytest.approx(steps)
