"""The season screen: who may do what there, what stands there, and laying out in place."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from seasonplan.events.models import Event
from seasonplan.plans.laying_out import lay_out_plan
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.standing import put_in_force
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    EventFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
)
from tests.plans.conftest import START, TenWeeks, somebody_changes, week
from tests.plans.pages import Element, read

EVE = date(2039, 12, 31)
NOW = datetime(2039, 12, 31, 9, tzinfo=UTC)
SWAP = {"HX-Request": "true", "HX-Target": "planner"}


@pytest.fixture
def laid_out(ten_weeks: TenWeeks) -> SeasonPlan:
    lay_out_plan(ten_weeks.plan, today=EVE, now=NOW)
    return ten_weeks.plan


def roots(piece: Element) -> list[str]:
    return [c.attributes.get("id", c.tag) for c in piece.children if isinstance(c, Element)]


# The page ------------------------------------------------------------------------------------


def test_the_coach_finds_the_season_and_what_can_be_done(
    laid_out: SeasonPlan, cast: Cast, as_: Any
) -> None:
    page = read(as_(cast.coach).get(f"/plans/{laid_out.pk}/"))
    assert page.one("h1").text == "Ines Varga · 2040"
    actions = page.one(id="head")
    assert actions.buttons() == ["Lay out again"]
    assert {"Choose events", "Limits", "All plans", "Put in force"} <= actions.links().keys()
    assert [h.text for h in page.all("h3")] == [
        "Valencia Orchard Cup",
        "Barcelona Lantern Open",
        "Valencia Harbour Trophy",
    ]
    assert page.one(id="side").one("p", "all-well").text == "Nothing broken."
    assert page.one(id="side").one("div", "sum").text == "Value 124.9"


@pytest.mark.parametrize("role", ["player", "guardian", "staff"])
def test_who_only_looks_finds_no_button_and_no_form(
    laid_out: SeasonPlan, cast: Cast, as_: Any, role: str
) -> None:
    put_in_force(laid_out, now=NOW)
    page = read(as_(cast.people()[role]).get(f"/plans/{laid_out.pk}/"))
    main = page.one("main")
    assert main.buttons() == []
    assert main.all("form") == []
    assert not {"Choose events", "Limits", "Change limits", "Choose targets"} & main.links().keys()
    assert len(main.all("article", "card")) == 3


def test_a_director_looks_at_a_working_copy_without_changing_it(
    laid_out: SeasonPlan, cast: Cast, as_: Any
) -> None:
    main = read(as_(cast.director).get(f"/plans/{laid_out.pk}/")).one("main")
    assert main.buttons() == []
    assert main.one(id="head").one("span", "tag").text == "Working copy"


def test_the_plan_in_force_is_changed_through_a_copy_only(
    laid_out: SeasonPlan, cast: Cast, as_: Any
) -> None:
    put_in_force(laid_out, now=NOW)
    page = read(as_(cast.coach).get(f"/plans/{laid_out.pk}/"))
    assert page.one(id="head").buttons() == ["Make a working copy to change it"]


def test_the_coach_finds_the_other_plans_of_the_season_and_the_player_does_not(
    laid_out: SeasonPlan, cast: Cast, as_: Any
) -> None:
    put_in_force(laid_out, now=NOW)
    SeasonPlanFactory(player=cast.ines, name="Secret try", start=START, end=laid_out.end)
    SeasonPlanFactory(player=cast.ines, name="Another year")
    seen = {
        role: read(as_(person).get(f"/plans/{laid_out.pk}/")).one(id="side").text
        for role, person in [("coach", cast.coach), ("player", cast.player)]
    }
    assert "Secret try" in seen["coach"]
    assert "Another year" not in seen["coach"]
    assert "Secret try" not in seen["player"]


# Where something is missing ------------------------------------------------------------------


def test_without_a_home_base_the_coach_is_led_to_set_it(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    cast.ines.home_base.delete()
    planner = read(as_(cast.coach).get(f"/plans/{ten_weeks.plan.pk}/"))
    empty = planner.one("div", "empty")
    assert empty.one("h2").text == "No home base yet"
    assert empty.links() == {"Set the home base": f"/players/{cast.ines.pk}/edit/"}
    assert "Lay out the season" not in planner.buttons()


def test_without_events_the_coach_is_led_to_the_calendar(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    ten_weeks.plan.planned_events.all().delete()
    Event.objects.all().delete()
    page = read(as_(cast.coach).get(f"/plans/{ten_weeks.plan.pk}/"))
    empty = page.one("div", "empty")
    assert empty.one("h2").text == "No events in this season yet"
    there = f"?academy={cast.academy.pk}"
    assert empty.links() == {
        "Import an event calendar": f"/events/import/{there}",
        "Open the event calendar": f"/events/{there}",
    }
    assert "Lay out the season" not in page.buttons()


def test_before_the_first_layout_the_coach_is_told_what_comes_next(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach, path = as_(cast.coach), f"/plans/{ten_weeks.plan.pk}/"
    page = read(coach.get(path))
    assert page.one("div", "empty").one("h2").text == "Not laid out yet"
    assert page.one("div", "empty").text.startswith("Not laid out yet Targets are chosen.")
    assert page.one(id="head").buttons() == ["Lay out the season"]
    ten_weeks.plan.planned_events.all().delete()
    empty = read(coach.get(path)).one("div", "empty")
    assert empty.links() == {"Choose events": f"{path}events/"}


def test_who_only_looks_is_not_told_to_set_anything_up(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    BlockFactory(plan=ten_weeks.plan, start=ten_weeks.plan.start, weeks=10)
    put_in_force(ten_weeks.plan, now=NOW)
    cast.ines.home_base.delete()
    page = read(as_(cast.player).get(f"/plans/{ten_weeks.plan.pk}/"))
    assert page.all("div", "empty") == []
    assert len(page.all("li", "week")) == 10


# Laying out ----------------------------------------------------------------------------------


def test_laying_out_in_place_answers_with_the_pieces_that_changed(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    path = f"/plans/{ten_weeks.plan.pk}/lay-out/"
    pieces = read(as_(cast.coach).post(path, headers=SWAP))
    assert roots(pieces) == ["planner", "head", "side", "steps", "revision", "messages", "panel"]
    swaps = {e.attributes.get("id"): e.attributes.get("hx-swap-oob") for e in pieces}
    assert [swaps[i] for i in ("planner", "head", "side")] == [None, "true", "true"]
    assert pieces.all("html") == pieces.all("main") == []
    assert len(pieces.one(id="planner").all("article", "card")) == 3
    said = pieces.one(id="head").attributes["data-announce"]
    assert said == "Laid out: 3 events, nothing broken."


def test_laying_out_without_htmx_leads_back_to_the_season(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    plan = ten_weeks.plan
    answer = as_(cast.coach).post(f"/plans/{plan.pk}/lay-out/", follow=True)
    assert answer.redirect_chain == [(f"/plans/{plan.pk}/", 302)]
    page = read(answer)
    assert page.one(id="messages").text == "Laid out: 3 events, nothing broken."
    assert len(page.all("article", "card")) == 3


@pytest.mark.parametrize(
    ("limits", "said"),
    [
        ({"min_cycles": 3}, "Laid out: 3 events, one broken rule, named on the page."),
        (
            {"min_cycles": 3, "max_events": 0},
            "Laid out: 1 event, 2 broken rules, each named on the page.",
        ),
    ],
)
def test_broken_rules_are_announced(
    ten_weeks: TenWeeks, cast: Cast, as_: Any, limits: dict[str, int], said: str
) -> None:
    plan = ten_weeks.plan
    plan.limits |= limits
    plan.save()
    answer = as_(cast.coach).post(f"/plans/{plan.pk}/lay-out/", headers=SWAP)
    assert read(answer).one(id="head").attributes["data-announce"] == said


@pytest.mark.parametrize("headers", [{}, SWAP], ids=["page", "swap"])
def test_pins_that_contradict_each_other_are_named(
    ten_weeks: TenWeeks, cast: Cast, as_: Any, headers: dict[str, str]
) -> None:
    twin = EventFactory(academy=cast.academy, place=ten_weeks.valencia, name="Twin", **week(8))
    for event in (ten_weeks.lantern, twin):
        PlannedEventFactory(plan=ten_weeks.plan, event=event, standing="pinned")
    answer = as_(cast.coach).post(f"/plans/{ten_weeks.plan.pk}/lay-out/", headers=headers)
    page = read(answer, 422)
    said = page.one(id="messages").one(role="alert").text
    assert said.startswith("This cannot be laid out. ")
    assert "Lantern Open" in said
    assert "Twin" in said
    assert "overlap" in said


@pytest.mark.parametrize("headers", [{}, SWAP], ids=["page", "swap"])
def test_without_a_home_base_nothing_can_be_laid_out(
    ten_weeks: TenWeeks, cast: Cast, as_: Any, headers: dict[str, str]
) -> None:
    cast.ines.home_base.delete()
    answer = as_(cast.coach).post(f"/plans/{ten_weeks.plan.pk}/lay-out/", headers=headers)
    said = read(answer, 422).one(id="messages").text
    assert said == "Set Ines Varga's home base first: trips begin there."


@pytest.mark.parametrize("headers", [{}, SWAP], ids=["page", "swap"])
def test_a_layout_that_somebody_overtook_is_not_kept_and_says_so(
    ten_weeks: TenWeeks, cast: Cast, as_: Any, headers: dict[str, str]
) -> None:
    plan, coach = ten_weeks.plan, as_(cast.coach)
    with somebody_changes(plan, once='"plans_levelworth"'):
        answer = coach.post(f"/plans/{plan.pk}/lay-out/", headers=headers)
    page = read(answer, 409)
    assert page.one(id="messages").text == (
        "Somebody changed this plan meanwhile. Here it is as it stands now."
    )
    assert plan.blocks.count() == 0


def test_the_button_names_the_address_for_htmx_and_for_a_plain_form(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    path = f"/plans/{ten_weeks.plan.pk}/"
    forms = read(as_(cast.coach).get(path)).one(id="head").all("form")
    form = next(f for f in forms if "Lay out the season" in f.buttons())
    assert form.attributes["action"] == form.attributes["hx-post"] == f"{path}lay-out/"
    assert (form.attributes["method"], form.attributes["hx-target"]) == ("post", "#planner")


# The whole -----------------------------------------------------------------------------------


def test_the_current_week_is_marked_for_everybody(cast: Cast, as_: Any) -> None:
    today = timezone.localdate()
    monday = today - timedelta(days=today.weekday())
    plan = SeasonPlanFactory(
        player=cast.ines,
        start=monday - timedelta(weeks=3),
        end=monday + timedelta(weeks=5, days=-1),
        standing="in force",
    )
    page = read(as_(cast.player).get(f"/plans/{plan.pk}/"))
    now = page.one("li", aria_current="date")
    year, number, _ = today.isocalendar()
    assert now.one("h2").attributes["id"] == f"{year}-W{number:02d}"
    assert "this week" in now.text


def test_the_name_of_an_event_cannot_bring_markup_into_the_page(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    evil = "<script>alert(1)</script><b title=\"'>x"
    for event in (ten_weeks.cup, ten_weeks.lantern):
        event.name = evil
        event.save()
    ten_weeks.valencia.place_name = "<i>Valencia</i>"
    ten_weeks.valencia.save()
    plan = ten_weeks.plan
    plan.name, plan.limits = "<u>Plan</u>", plan.limits | {"max_run": 1, "min_cycles": 2}
    plan.save()
    plan.planned_events.update(played=True)
    PlannedEventFactory(plan=plan, event=ten_weeks.lantern, played=True)
    BlockFactory(plan=plan, start=START, weeks=10)
    coach, path = as_(cast.coach), f"/plans/{plan.pk}/"
    panel = f"{path}events/{ten_weeks.cup.pk}/"
    answers = [coach.get(p) for p in (path, f"{path}events/", f"{path}limits/", panel)]
    answers.append(coach.get(panel, headers={"HX-Request": "true"}))
    answers.append(coach.post(f"{path}lay-out/", headers=SWAP))
    for answer in answers:
        page = read(answer)
        assert not [e for e in page.all("script") if "alert" in e.text]
        assert page.all("u") == page.all("i") == []
        assert not [e for e in page.all("b") if "title" in e.attributes]
    assert evil in read(answers[0]).one(id="planner").text


@pytest.mark.parametrize("role", ["coach", "director", "player"])
def test_the_page_asks_the_database_as_often_for_fifty_events_as_for_five(
    cast: Cast, as_: Any, role: str, django_assert_max_num_queries: Any
) -> None:
    plan = SeasonPlanFactory(
        player=cast.ines, start=START, end=date(2040, 12, 30), standing="in force"
    )
    BlockFactory(plan=plan, start=START, weeks=52)
    client = as_(cast.people()[role])

    def queries(numbers: range) -> int:
        for number in numbers:
            event = EventFactory(academy=cast.academy, **week(number))
            PlannedEventFactory(plan=plan, event=event, played=number % 2 == 0)
        with django_assert_max_num_queries(20) as asked:
            page = read(client.get(f"/plans/{plan.pk}/"))
        assert len(page.all("article", "card")) == (numbers.stop - 1) // 2
        return len(asked)

    assert queries(range(1, 6)) == queries(range(6, 51))


@pytest.mark.parametrize("page", ["", "limits/", "events/"])
def test_the_pages_of_a_working_copy_ask_as_often_for_fifty_events_as_for_five(
    cast: Cast, as_: Any, page: str, django_assert_max_num_queries: Any
) -> None:
    plan = SeasonPlanFactory(player=cast.ines, start=START, end=date(2040, 12, 30))
    BlockFactory(plan=plan, start=START, weeks=52)
    client = as_(cast.coach)

    def queries(numbers: range) -> int:
        for number in numbers:
            event = EventFactory(academy=cast.academy, **week(number))
            PlannedEventFactory(plan=plan, event=event, played=True)
        with django_assert_max_num_queries(20) as asked:
            read(client.get(f"/plans/{plan.pk}/{page}"))
        return len(asked)

    assert queries(range(1, 6)) == queries(range(6, 51))
