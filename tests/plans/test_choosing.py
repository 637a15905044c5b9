"""The table of events: targets, worth, pinned in or ruled out; and the worth of each level."""

from __future__ import annotations

from typing import Any

import pytest

from seasonplan.events.models import Event
from seasonplan.plans.models import SeasonPlan
from tests.conftest import Cast
from tests.factories import EventFactory, LevelWorthFactory, PlannedEventFactory
from tests.plans.conftest import TenWeeks, somebody_changes, week
from tests.plans.pages import Element, read


@pytest.fixture
def path(ten_weeks: TenWeeks) -> str:
    return f"/plans/{ten_weeks.plan.pk}/events/"


def choices(page: Element) -> dict[str, str]:
    """What the table would send."""
    form = page.one("form", "choose")
    names = [e.attributes["name"] for e in form if "name" in e.attributes]
    return {name: form.typed(name) or "" for name in names if name != "csrfmiddlewaretoken"}


def level_fields(page: Element) -> dict[str, str]:
    """The name of the field of each level, by its label."""
    form = page.one("details", "disclosure").one("form")
    labels = {label.attributes["for"]: label.text for label in form.all("label")}
    return {
        labels[e.attributes["id"]].removesuffix(" optional"): e.attributes["name"]
        for e in form.all("input")
        if e.attributes.get("id") in labels
    }


def said(plan: SeasonPlan) -> list[Any]:
    return list(plan.planned_events.values_list("event__name", "role", "worth", "standing"))


def test_every_event_of_the_season_is_there_with_what_is_said_of_it(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    PlannedEventFactory(
        plan=ten_weeks.plan,
        event=ten_weeks.lantern,
        role="build-up",
        worth=55,
        standing="pinned",
        played=True,
    )
    page = read(as_(cast.coach).get(path))
    names = [row.text for row in page.all("th", scope="row")]
    assert names == [
        "Valencia Orchard Cup",
        "Barcelona Lantern Open in the plan",
        "Valencia Harbour Trophy",
    ]
    cup, lantern = f"e{ten_weeks.cup.pk}", f"e{ten_weeks.lantern.pk}"
    harbour = f"e{ten_weeks.harbour.pk}"
    assert choices(page) == {
        "revision": "1",
        f"{cup}-role": "target",
        f"{cup}-worth": "",
        f"{cup}-standing": "free",
        f"{lantern}-role": "build-up",
        f"{lantern}-worth": "55",
        f"{lantern}-standing": "pinned",
        f"{harbour}-role": "open",
        f"{harbour}-worth": "",
        f"{harbour}-standing": "free",
    }
    # An empty worth shows what the event counts as.
    placeholders = [field.attributes["placeholder"] for field in page.all("input", "worth")]
    assert placeholders == ["80", "55", "20"]


def test_targets_are_set(path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any) -> None:
    coach, harbour = as_(cast.coach), f"e{ten_weeks.harbour.pk}"
    typed = choices(read(coach.get(path)))
    typed |= {f"{harbour}-role": "target", f"{harbour}-worth": "90"}
    answer = coach.post(path, typed, follow=True)
    assert answer.redirect_chain == [(f"/plans/{ten_weeks.plan.pk}/", 302)]
    page = read(answer)
    assert page.one(id="messages").text == "Saved 1 changed event, 1 new target."
    assert "Valencia, 27 Feb – 3 Mar" in page.one(id="side").links()
    assert said(ten_weeks.plan) == [
        ("Orchard Cup", "target", None, "free"),
        ("Harbour Trophy", "target", 90, "free"),
    ]


def test_a_target_whose_worth_changes_is_no_new_target(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach = as_(cast.coach)
    typed = choices(read(coach.get(path))) | {f"e{ten_weeks.cup.pk}-worth": "99"}
    page = read(coach.post(path, typed, follow=True))
    assert page.one(id="messages").text == "Saved 1 changed event."


def test_a_calendar_of_hundreds_of_events_is_saved(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    place, days = ten_weeks.valencia, week(1)
    many = [
        Event(academy=cast.academy, place=place, name=f"Open {n}", surface="clay", **days)
        for n in range(600)
    ]
    Event.objects.bulk_create(many)
    typed: dict[str, Any] = {"revision": 1}
    for event in Event.objects.filter(academy=cast.academy):
        typed |= {
            f"e{event.pk}-role": "build-up",
            f"e{event.pk}-worth": "",
            f"e{event.pk}-standing": "free",
        }
    assert as_(cast.coach).post(path, typed).status_code == 302
    assert ten_weeks.plan.planned_events.filter(role="build-up").count() == 603


def test_nothing_is_said_of_events_that_nobody_touched(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach = as_(cast.coach)
    page = read(coach.post(path, choices(read(coach.get(path))), follow=True))
    assert page.one(id="messages").text == "Saved 0 changed events."
    assert said(ten_weeks.plan) == [("Orchard Cup", "target", None, "free")]


@pytest.mark.parametrize(
    ("worth", "wrong"),
    [
        ("101", "Give a whole number from 0 to 100."),
        ("-1", "Give a whole number from 0 to 100."),
        ("lots", "Give a whole number from 0 to 100."),
        ("1.5", "Give a whole number from 0 to 100."),
    ],
)
def test_a_worth_that_is_none_is_refused_and_everything_typed_is_kept(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any, worth: str, wrong: str
) -> None:
    coach, harbour, lantern = as_(cast.coach), ten_weeks.harbour.pk, ten_weeks.lantern.pk
    typed = choices(read(coach.get(path)))
    typed |= {f"e{harbour}-worth": worth, f"e{lantern}-standing": "ruled out"}
    page = read(coach.post(path, typed), 422)
    assert page.wrong(f"e{harbour}-worth") == wrong
    assert page.wrong(f"e{lantern}-worth") == ""
    assert choices(page) == typed
    field = page.one("input", name=f"e{harbour}-worth")
    assert field.attributes["aria-invalid"] == "true"
    assert page.one(id=field.attributes["aria-describedby"]).text == wrong
    assert said(ten_weeks.plan) == [("Orchard Cup", "target", None, "free")]


@pytest.mark.parametrize("field", ["role", "standing"])
def test_a_choice_that_there_is_not_is_refused(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any, field: str
) -> None:
    coach = as_(cast.coach)
    typed = choices(read(coach.get(path))) | {f"e{ten_weeks.harbour.pk}-{field}": "main"}
    page = read(coach.post(path, typed), 422)
    wrong = "Select a valid choice. main is not one of the available choices."
    assert page.wrong(f"e{ten_weeks.harbour.pk}-{field}") == wrong


def test_an_event_of_another_academy_or_season_is_ignored(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach = as_(cast.coach)
    foreign = EventFactory(academy=cast.foreign_academy, **week(5))
    other_year = EventFactory(academy=cast.academy)
    typed = choices(read(coach.get(path)))
    for event in (foreign, other_year):
        typed |= {
            f"e{event.pk}-role": "target",
            f"e{event.pk}-worth": "100",
            f"e{event.pk}-standing": "pinned",
        }
    assert coach.post(path, typed).status_code == 302
    assert said(ten_weeks.plan) == [("Orchard Cup", "target", None, "free")]


def test_choices_from_an_older_page_are_kept_on_the_screen_and_not_saved(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach, harbour = as_(cast.coach), f"e{ten_weeks.harbour.pk}"
    typed = choices(read(coach.get(path)))
    typed |= {f"{harbour}-role": "build-up", f"{harbour}-worth": "61"}
    SeasonPlan.objects.filter(pk=ten_weeks.plan.pk).update(revision=4)
    page = read(coach.post(path, typed), 409)
    assert choices(page) == typed | {"revision": "4"}
    assert "What you chose is still here" in page.one("main").one(role="alert").text
    assert said(ten_weeks.plan) == [("Orchard Cup", "target", None, "free")]
    assert coach.post(path, choices(page)).status_code == 302
    assert said(ten_weeks.plan)[1] == ("Harbour Trophy", "build-up", 61, "free")


def test_choices_that_somebody_overtakes_while_they_are_saved_are_refused(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach = as_(cast.coach)
    typed = choices(read(coach.get(path))) | {f"e{ten_weeks.harbour.pk}-worth": "61"}
    with somebody_changes(ten_weeks.plan, once='"plans_levelworth"'):
        page = read(coach.post(path, typed), 409)
    assert said(ten_weeks.plan) == [("Orchard Cup", "target", None, "free")]
    assert choices(page)["revision"] == "2"


def test_who_may_not_change_the_plan_reads_the_table(path: str, cast: Cast, as_: Any) -> None:
    main = read(as_(cast.director).get(path)).one("main")
    assert main.buttons() == []
    assert main.all("select") == main.all("input", "worth") == []
    cells = [td.text for td in main.one("table").all("td", data_label="Role")]
    assert cells == ["Target", "Open", "Open"]


def test_without_events_the_table_leads_to_the_import(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    ten_weeks.plan.planned_events.all().delete()
    for event in (ten_weeks.cup, ten_weeks.lantern, ten_weeks.harbour):
        event.delete()
    empty = read(as_(cast.coach).get(path)).one("div", "empty")
    assert empty.links() == {
        "Import an event calendar": f"/events/import/?academy={cast.academy.pk}"
    }


# Worth by level ------------------------------------------------------------------------------


def test_the_worth_of_a_level_is_saved_and_counts_for_its_events(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach, plan = as_(cast.coach), ten_weeks.plan
    fields = level_fields(read(coach.get(path)))
    assert list(fields) == ["National", "Regional"]
    sent = {"revision": "1", fields["Regional"]: "33", fields["National"]: ""}
    page = read(coach.post(f"/plans/{plan.pk}/levels/", sent, follow=True))
    assert page.one(id="messages").text == "Worth by level saved."
    assert list(plan.level_worths.values_list("level", "worth")) == [("regional", 33)]
    assert [i.attributes["placeholder"] for i in page.all("input", "worth")] == ["80", "33", "33"]
    plan.refresh_from_db()
    assert plan.revision == 2


def test_a_worth_of_a_level_that_is_none_is_refused_beside_its_field(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach, plan = as_(cast.coach), ten_weeks.plan
    LevelWorthFactory(plan=plan, level="regional", worth=33)
    fields = level_fields(read(coach.get(path)))
    sent = {"revision": "1", fields["Regional"]: "101", fields["National"]: "12"}
    page = read(coach.post(f"/plans/{plan.pk}/levels/", sent), 422)
    wrong = "Give a whole number from 0 to 100."
    assert page.wrong(fields["Regional"]) == wrong
    assert (page.typed(fields["Regional"]), page.typed(fields["National"])) == ("101", "12")
    assert "open" in page.one("details", "disclosure").attributes
    # The table below still saves to its own address.
    assert page.one("form", "choose").attributes["action"] == path
    assert list(plan.level_worths.values_list("level", "worth")) == [("regional", 33)]


def test_the_worth_of_levels_from_an_older_page_is_kept_on_the_screen_and_not_saved(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach, plan = as_(cast.coach), ten_weeks.plan
    fields = level_fields(read(coach.get(path)))
    SeasonPlan.objects.filter(pk=plan.pk).update(revision=4)
    sent = {"revision": "1", fields["Regional"]: "33"}
    page = read(coach.post(f"/plans/{plan.pk}/levels/", sent), 409)
    form = page.one("details", "disclosure").one("form")
    assert (form.typed(fields["Regional"]), form.typed("revision")) == ("33", "4")
    assert plan.level_worths.count() == 0


def test_a_level_that_joins_the_calendar_meanwhile_takes_nobodys_worth(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach, plan = as_(cast.coach), ten_weeks.plan
    fields = level_fields(read(coach.get(path)))
    EventFactory(academy=cast.academy, level="a new first one", **week(4))
    sent = {"revision": "1", fields["Regional"]: "33", fields["National"]: "70"}
    coach.post(f"/plans/{plan.pk}/levels/", sent)
    assert list(plan.level_worths.values_list("level", "worth")) == [
        ("national", 70),
        ("regional", 33),
    ]


def test_the_worth_of_a_level_without_events_just_now_stays(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach, plan = as_(cast.coach), ten_weeks.plan
    LevelWorthFactory(plan=plan, level="county", worth=12)
    fields = level_fields(read(coach.get(path)))
    coach.post(f"/plans/{plan.pk}/levels/", {"revision": "1", fields["Regional"]: "33"})
    assert ("county", 12) in plan.level_worths.values_list("level", "worth")
