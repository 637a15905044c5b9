"""One event in a plan: the trip to it, with cautions, and what the coach says of it."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest

from seasonplan.events.models import Event
from seasonplan.plans.laying_out import lay_out_plan
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.standing import put_in_force
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    EventFactory,
    PlaceFactory,
    PlannedEventFactory,
)
from tests.plans.conftest import START, TenWeeks, week
from tests.plans.pages import Element, read

EVE = date(2039, 12, 31)
NOW = datetime(2039, 12, 31, 9, tzinfo=UTC)
SWAP = {"HX-Request": "true", "HX-Target": "panel"}
SOUND = {"revision": "1", "role": "open", "worth": "", "standing": "free", "entry": "not entered"}


def at(plan: SeasonPlan, event: Event) -> str:
    return f"/plans/{plan.pk}/events/{event.pk}/"


def roots(piece: Element) -> list[str]:
    return [c.attributes.get("id", c.tag) for c in piece.children if isinstance(c, Element)]


def facts(panel: Element) -> dict[str, str]:
    names, values = panel.one("dl").all("dt"), panel.one("dl").all("dd")
    return {name.text: value.text for name, value in zip(names, values, strict=True)}


def test_the_panel_says_what_the_event_is(ten_weeks: TenWeeks, cast: Cast, as_: Any) -> None:
    Event.objects.filter(pk=ten_weeks.lantern.pk).update(
        entry_deadline=date(2040, 1, 31), withdrawal_deadline=date(2040, 2, 10), high_c=17
    )
    page = read(as_(cast.coach).get(at(ten_weeks.plan, ten_weeks.lantern)))
    panel = page.one("aside", id="panel")
    assert panel.one("h2").text == "Lantern Open"
    assert panel.all("p")[0].text == "Barcelona, Spain · clay"
    assert facts(panel) == {
        "Dates": "20–25 Feb",
        "Level": "regional",
        "Draw": "32",
        "Entries close": "Tue 31 Jan",
        "Withdraw by": "Fri 10 Feb",
        "Entry fee": "45.50",
        "Expected high": "17 °C",
    }
    assert "Not in the plan as it stands." in panel.text


def test_the_panel_alone_answers_htmx(ten_weeks: TenWeeks, cast: Cast, as_: Any) -> None:
    pieces = read(as_(cast.coach).get(at(ten_weeks.plan, ten_weeks.cup), headers=SWAP))
    assert roots(pieces) == ["panel"]
    form = pieces.one("form")
    assert form.attributes["action"] == form.attributes["hx-post"]
    assert form.typed("revision") == "1"
    assert (form.typed("role"), form.typed("standing")) == ("target", "free")
    assert "Counts as 80 now." in form.text


def test_the_trip_is_said_in_words(ten_weeks: TenWeeks, cast: Cast, as_: Any) -> None:
    lay_out_plan(ten_weeks.plan, today=EVE, now=NOW)
    coach = as_(cast.coach)
    lantern = read(coach.get(at(ten_weeks.plan, ten_weeks.lantern), headers=SWAP)).text
    # Valencia to Barcelona, as the crow flies; the Sunday between is the travel day.
    assert (
        "From Valencia: leave Sun 19 Feb, arrive Mon 20 Feb. 306 km, about 0.9 hours of flight"
        " (an estimate), 1 travel day. Afterwards straight on to the next event."
        " No days needed to settle in."
    ) in lantern
    cup = read(coach.get(at(ten_weeks.plan, ten_weeks.cup), headers=SWAP)).text
    assert "From home: 0 km, no travel day. Be there by Mon 13 Feb." in cup


def test_days_that_are_missing_before_an_event_are_said(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    # The Sunday after Valencia goes to the journey; three days on hard courts should follow.
    plan = ten_weeks.plan
    Event.objects.filter(pk=ten_weeks.lantern.pk).update(surface="hard")
    for event in (ten_weeks.cup, ten_weeks.lantern):
        plan.planned_events.update_or_create(event=event, defaults={"played": True})
    BlockFactory(plan=plan, start=START, weeks=10)
    panel = read(as_(cast.coach).get(at(plan, ten_weeks.lantern), headers=SWAP))
    assert "3 days too few before the first day, Mon 20 Feb." in panel.text
    assert "Afterwards home, 1 travel day, about 0.9 hours of flight." in panel.text


def test_a_far_hot_and_high_place_is_reached_with_cautions(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    bogota = PlaceFactory(
        academy=cast.academy,
        place_name="Bogotá",
        country="CO",
        lat=4.7,
        lon=-74.1,
        timezone="America/Bogota",
        elevation_m=2550,
    )
    event = EventFactory(
        academy=cast.academy, place=bogota, surface="hard", high_c=33, name="High Open", **week(8)
    )
    PlannedEventFactory(plan=ten_weeks.plan, event=event, played=True)
    BlockFactory(plan=ten_weeks.plan, start=START, weeks=10)
    panel = read(as_(cast.coach).get(at(ten_weeks.plan, event), headers=SWAP))
    # Six zones west at 90 minutes a day; 33 against 17 degrees in February; below 3000 m.
    lines = [item.text for item in panel.one("ul", "side-list").all("li")]
    assert lines == [
        "Clock 4 days 6 hours west, at 90 minutes a day",
        "Heat 7 days much hotter than the place left",
        "Altitude 5 days much higher; common practice",
        "Surface 3 days a new surface; common practice",
    ]
    assert "7 days to settle in: these run side by side, so the longest counts." in panel.text
    cautions = " ".join(p.text for p in panel.all("p", "caution"))
    assert "for a minor always, ask a doctor and check anti-doping rules" in cautions
    assert "is an emergency: cool first, call help" in cautions
    assert "stop, descend, see a doctor" in cautions


def test_a_broken_rule_is_said_where_its_event_is(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    plan = ten_weeks.plan
    lay_out_plan(plan, today=EVE, now=NOW)
    plan.limits |= {"max_run": 2}
    plan.save()
    panel = read(as_(cast.coach).get(at(plan, ten_weeks.harbour), headers=SWAP))
    assert panel.one("p", "notice-error").text.startswith("3 event weeks in a row")


def test_saving_by_htmx_answers_with_the_panel_and_the_season(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    plan = ten_weeks.plan
    sent = SOUND | {"role": "target", "worth": "88", "standing": "pinned", "entry": "entered"}
    pieces = read(as_(cast.coach).post(at(plan, ten_weeks.harbour), sent, headers=SWAP))
    changed = ["targets", f"candidate-{ten_weeks.harbour.pk}", "revision", "steps", "messages"]
    assert roots(pieces) == ["panel", *changed]
    swaps = {e.attributes.get("id"): e.attributes.get("hx-swap-oob") for e in pieces}
    assert [swaps[i] for i in roots(pieces)] == [None, *(["true"] * len(changed))]
    panel = pieces.one(id="panel")
    assert pieces.one(id="steps").attributes["data-announce"] == "Harbour Trophy saved."
    assert (panel.typed("revision"), panel.typed("worth")) == ("2", "88")
    assert "Valencia, 27 Feb – 3 Mar" in pieces.one(id="targets").links()
    row = plan.planned_events.get(event=ten_weeks.harbour)
    assert (row.role, row.worth, row.standing, row.entry) == ("target", 88, "pinned", "entered")


def test_two_savings_from_the_same_panel_follow_one_another(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach, path = as_(cast.coach), at(ten_weeks.plan, ten_weeks.harbour)
    panel = read(coach.post(path, SOUND | {"worth": "5"}, headers=SWAP)).one(id="panel")
    again = SOUND | {"worth": "6", "revision": panel.typed("revision") or ""}
    assert coach.post(path, again, headers=SWAP).status_code == 200
    assert ten_weeks.plan.planned_events.get(event=ten_weeks.harbour).worth == 6


def test_saving_without_htmx_leads_back_to_the_season(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    plan = ten_weeks.plan
    sent = SOUND | {"standing": "ruled out"}
    answer = as_(cast.coach).post(at(plan, ten_weeks.harbour), sent, follow=True)
    assert answer.redirect_chain == [(f"/plans/{plan.pk}/", 302)]
    assert read(answer).one(id="messages").text == "Harbour Trophy saved."
    assert plan.planned_events.get(event=ten_weeks.harbour).standing == "ruled out"


@pytest.mark.parametrize("headers", [{}, SWAP], ids=["page", "swap"])
def test_a_worth_that_is_none_is_refused_and_kept(
    ten_weeks: TenWeeks, cast: Cast, as_: Any, headers: dict[str, str]
) -> None:
    sent = SOUND | {"worth": "200", "role": "build-up"}
    answer = as_(cast.coach).post(at(ten_weeks.plan, ten_weeks.harbour), sent, headers=headers)
    panel = read(answer, 422).one(id="panel")
    assert panel.wrong("worth") == "Give a whole number from 0 to 100."
    assert (panel.typed("worth"), panel.typed("role")) == ("200", "build-up")
    assert not ten_weeks.plan.planned_events.filter(event=ten_weeks.harbour).exists()


@pytest.mark.parametrize("headers", [{}, SWAP], ids=["page", "swap"])
def test_a_choice_from_an_older_panel_is_kept_on_the_screen_and_says_why(
    ten_weeks: TenWeeks, cast: Cast, as_: Any, headers: dict[str, str]
) -> None:
    SeasonPlan.objects.filter(pk=ten_weeks.plan.pk).update(revision=6)
    sent = SOUND | {"worth": "44"}
    path = at(ten_weeks.plan, ten_weeks.harbour)
    page = read(as_(cast.coach).post(path, sent, headers=headers), 409)
    assert page.one(id="messages").text.startswith("Somebody changed this plan meanwhile.")
    panel = page.one(id="panel")
    assert (panel.typed("worth"), panel.typed("revision")) == ("44", "6")
    assert not ten_weeks.plan.planned_events.filter(event=ten_weeks.harbour).exists()


@pytest.mark.parametrize("role", ["player", "guardian", "staff"])
def test_who_only_looks_sees_the_trip_and_no_form(
    ten_weeks: TenWeeks, cast: Cast, as_: Any, role: str
) -> None:
    lay_out_plan(ten_weeks.plan, today=EVE, now=NOW)
    put_in_force(ten_weeks.plan, now=NOW)
    page = read(as_(cast.people()[role]).get(at(ten_weeks.plan, ten_weeks.lantern)))
    panel = page.one(id="panel")
    assert panel.all("form") == []
    assert "From Valencia: leave Sun 19 Feb" in panel.text


def test_an_event_outside_the_season_leads_back_to_the_season(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    event = EventFactory(academy=cast.academy)
    answer = as_(cast.coach).get(at(ten_weeks.plan, event), follow=True)
    assert answer.redirect_chain == [(f"/plans/{ten_weeks.plan.pk}/", 302)]


def test_an_event_of_another_academy_does_not_exist(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    event = EventFactory(academy=cast.foreign_academy, **week(5))
    coach = as_(cast.coach)
    assert coach.get(at(ten_weeks.plan, event)).status_code == 404
    assert coach.post(at(ten_weeks.plan, event), SOUND).status_code == 404


def test_without_a_home_base_the_panel_has_the_facts_and_no_trip(
    ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    lay_out_plan(ten_weeks.plan, today=EVE, now=NOW)
    cast.ines.home_base.delete()
    panel = read(as_(cast.coach).get(at(ten_weeks.plan, ten_weeks.cup))).one(id="panel")
    assert facts(panel)["Dates"] == "13–18 Feb"
    assert "From home" not in panel.text
