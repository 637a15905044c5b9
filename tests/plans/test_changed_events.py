"""An event that is moved or cancelled in the calendar marks every plan that holds it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import icalendar
import pytest
from django.urls import reverse
from django.utils import timezone

from seasonplan.events.changing import change_events
from seasonplan.events.models import Event
from seasonplan.plans.due import due_of
from seasonplan.plans.feeds import make_address
from seasonplan.plans.laying_out import (
    code_of,
    gather,
    judge_plan,
    lay_out_plan,
    problem_from,
    science_blocks,
)
from seasonplan.plans.models import PlannedEvent, SeasonPlan
from seasonplan.plans.operations import NotPossible, operation
from seasonplan.plans.standing import copy_plan, put_in_force
from seasonplan.science.layout.problem import problem_as_json, read_problem
from seasonplan.science.layout.rules import judge
from tests.conftest import Cast
from tests.factories import EventFactory, PlannedEventFactory, SeasonPlanFactory
from tests.plans.conftest import TenWeeks, week
from tests.plans.pages import Element, read

EVE = date(2039, 12, 31)
NOW = datetime(2039, 12, 31, 9, tzinfo=UTC)
LATER = datetime(2040, 1, 3, 12, tzinfo=UTC)
SWAP = {"HX-Request": "true", "HX-Target": "planner"}


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch) -> Callable[[datetime], None]:
    """`at(moment)` sets the clock."""

    def go(moment: datetime) -> None:
        monkeypatch.setattr(timezone, "now", lambda: moment)

    go(NOW)
    return go


@pytest.fixture
def plan(at: Callable[[datetime], None], ten_weeks: TenWeeks) -> SeasonPlan:
    """Laid out with all three events; changes come three days later."""
    SeasonPlan.objects.update(calendar_seen_at=NOW)
    ten_weeks.plan.refresh_from_db()
    lay_out_plan(ten_weeks.plan, today=EVE, now=NOW)
    at(LATER)
    return ten_weeks.plan


def change(event: Event, *, by: Any = None, **new: Any) -> None:
    event.refresh_from_db()
    for name, value in new.items():
        setattr(event, name, value)
    change_events([event], fields=list(new), by=by)


def news(page: Element) -> list[str]:
    return [line.text for line in page.one(id="calendar-news").all("li")]


def path(plan: SeasonPlan) -> str:
    return f"/plans/{plan.pk}/"


# The mark ------------------------------------------------------------------------------------


def test_every_plan_that_holds_the_event_is_marked_until_it_is_seen(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    copy, without = copy_plan(plan, name="What if"), copy_plan(plan, name="Without")
    without.planned_events.filter(event=ten_weeks.lantern).update(played=False)
    coach = as_(cast.coach)
    assert news(read(coach.get(path(plan)))) == []
    change(ten_weeks.lantern, by=cast.director, **week(8, days=5))
    said = f"Lantern Open moved from 20–25 Feb to 20–24 Feb on 3 Jan by {cast.director.name} ."
    for marked in (plan, copy):
        page = read(coach.get(path(marked)))
        assert news(page) == [said.replace(" .", ".")]
        link = page.one(id="calendar-news").links()["Lantern Open"]
        assert link == f"/plans/{marked.pk}/events/{ten_weeks.lantern.pk}/"
        assert "changed" in page.one("article", data_event=str(ten_weeks.lantern.pk)).text
    assert news(read(coach.get(path(without)))) == []

    upto = read(coach.get(path(plan))).one(id="calendar-news").typed("upto")
    answer = coach.post(f"{path(plan)}calendar-seen/", {"upto": upto})
    assert answer["Location"] == path(plan)
    page = read(coach.get(path(plan)))
    assert news(page) == []
    assert "changed" not in page.one("article", data_event=str(ten_weeks.lantern.pk)).text
    assert len(news(read(coach.get(path(copy))))) == 1


def test_what_changed_after_the_page_was_made_is_not_put_away_with_it(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any, at: Any
) -> None:
    change(ten_weeks.lantern, surface="hard")
    coach = as_(cast.coach)
    upto = read(coach.get(path(plan))).one(id="calendar-news").typed("upto")
    at(LATER + timedelta(minutes=1))
    change(ten_weeks.harbour, cancelled=True)
    coach.post(f"{path(plan)}calendar-seen/", {"upto": upto})
    assert news(read(coach.get(path(plan)))) == ["Harbour Trophy was cancelled on 3 Jan."]
    # Nobody can put away what is still to come.
    coach.post(f"{path(plan)}calendar-seen/", {"upto": "2050-01-01T00:00:00+00:00"})
    at(LATER + timedelta(minutes=2))
    change(ten_weeks.harbour, cancelled=False)
    assert len(news(read(coach.get(path(plan))))) == 1


def test_a_copy_is_marked_as_what_it_was_copied_from(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    change(ten_weeks.lantern, surface="hard")
    copy = copy_plan(plan, name="Later")
    assert news(read(as_(cast.coach).get(path(copy)))) == [
        "Lantern Open changed from clay to hard on 3 Jan."
    ]


def test_an_event_that_left_the_season_is_told_of_although_it_is_not_on_the_planner(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    change(ten_weeks.lantern, start=date(2040, 3, 12), end=date(2040, 3, 17))
    page = read(as_(cast.coach).get(path(plan)))
    [said] = news(page)
    assert said.endswith("from 20 Feb to 12 Mar on 3 Jan. It no longer lies in this season.")
    assert page.one(id="calendar-news").links()["Lantern Open"] == (
        f"/events/{ten_weeks.lantern.pk}/"
    )


def test_a_season_that_is_over_or_replaced_is_not_marked(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any, at: Any
) -> None:
    change(ten_weeks.lantern, surface="hard")
    coach = as_(cast.coach)
    SeasonPlan.objects.filter(pk=plan.pk).update(standing="replaced")
    assert news(read(coach.get(path(plan)))) == []
    SeasonPlan.objects.filter(pk=plan.pk).update(standing="working copy")
    assert len(news(read(coach.get(path(plan))))) == 1
    at(datetime(2040, 3, 12, 12, tzinfo=UTC))
    assert news(read(as_(cast.coach).get(path(plan)))) == []


@pytest.mark.parametrize("role", ["player", "guardian", "staff", "director"])
def test_others_read_of_it_in_words_and_have_nothing_to_press(
    role: str, plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any, at: Any
) -> None:
    put_in_force(plan, now=LATER)
    change(ten_weeks.lantern, by=cast.director, surface="hard")
    client = as_(cast.people()[role])
    told = ["Lantern Open changed from clay to hard on 3 Jan."]
    page = read(client.get(path(plan)))
    assert news(page) == told
    assert page.one(id="calendar-news").buttons() == []
    # The coach has seen it; the others have four weeks.
    SeasonPlan.objects.update(calendar_seen_at=LATER)
    assert news(read(client.get(path(plan)))) == told
    at(LATER + timedelta(days=28))
    assert news(read(client.get(path(plan)))) == told
    at(LATER + timedelta(days=29))
    assert news(read(client.get(path(plan)))) == []


def test_the_players_phone_says_it_too(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    put_in_force(plan, now=LATER)
    change(ten_weeks.lantern, cancelled=True)
    player = as_(cast.player)
    for phone in ("phone", "phone-season"):
        page = read(player.get(reverse(phone)))
        assert news(page) == ["Lantern Open was cancelled on 3 Jan."], phone
    # Next year's plan as well, though it is not the one of today.
    later = SeasonPlanFactory(
        player=cast.ines, start=date(2040, 3, 12), end=date(2041, 3, 10), standing="in force"
    )
    event = EventFactory(academy=cast.academy, start=date(2040, 5, 7), name="Far Cup")
    PlannedEventFactory(plan=later, event=event, played=True)
    change(event, surface="grass")
    assert news(read(player.get(reverse("phone")))) == [
        "Lantern Open was cancelled on 3 Jan.",
        "Far Cup changed from clay to grass on 3 Jan.",
    ]


def test_the_season_screen_travels_as_if_a_cancelled_event_were_not_there(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    def card() -> str:
        page = read(as_(cast.coach).get(path(plan)))
        return page.one("article", data_event=str(ten_weeks.harbour.pk)).text

    assert "flight from Barcelona" in card()
    change(ten_weeks.lantern, cancelled=True)
    assert "flight" not in card()


def test_the_list_of_plans_says_which_are_marked(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    copy_plan(plan, name="What if")
    change(ten_weeks.lantern, surface="hard")
    change(ten_weeks.harbour, cancelled=True)
    page = read(as_(cast.coach).get(f"/players/{cast.ines.pk}/"))
    assert [mark.text for mark in page.all("span", "plan-changed")] == [
        "Lantern Open and 1 more event changed in the calendar"
    ] * 2
    SeasonPlan.objects.update(calendar_seen_at=LATER)
    page = read(as_(cast.coach).get(f"/players/{cast.ines.pk}/"))
    assert page.all("span", "plan-changed") == []


def test_the_panel_says_what_happened_to_the_event(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    change(ten_weeks.lantern, by=cast.director, cancelled=True)
    page = read(as_(cast.coach).get(f"{path(plan)}events/{ten_weeks.lantern.pk}/"))
    panel = page.one(id="panel")
    assert f"It was cancelled on 3 Jan by {cast.director.name}." in panel.text
    assert "Lantern Open cancelled" in panel.one("h2").text
    assert "Take out" in panel.buttons()
    assert "Pin" not in panel.buttons()


def test_only_who_plans_puts_it_away(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    change(ten_weeks.lantern, surface="hard")
    put_in_force(plan, now=LATER)
    sent = {"upto": LATER.isoformat()}
    for role, status in (("player", 403), ("director", 403), ("stranger", 404), ("coach", 302)):
        answer = as_(cast.people()[role]).post(f"{path(plan)}calendar-seen/", sent)
        assert answer.status_code == status, role
    answer = as_(cast.coach).post(f"{path(plan)}calendar-seen/", {"upto": "yesterday"})
    assert answer.status_code == 422


def test_taking_the_event_out_takes_the_notice_away(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    change(ten_weeks.lantern, cancelled=True)
    coach = as_(cast.coach)
    sent = {"do": f"take-out {ten_weeks.lantern.pk}", "revision": str(plan.revision)}
    answer = coach.post(f"{path(plan)}edit/", sent, headers=SWAP)
    page = read(answer)
    assert news(page) == []
    assert "hidden" in page.one(id="calendar-news").attributes
    plan.refresh_from_db()
    sent = {"do": f"undo {plan.revision}", "revision": str(plan.revision)}
    assert len(news(read(coach.post(f"{path(plan)}edit/", sent, headers=SWAP)))) == 1
    # An edit of something else leaves it where it is.
    plan.refresh_from_db()
    sent = {"do": f"worth {ten_weeks.cup.pk} 60", "revision": str(plan.revision)}
    assert not read(coach.post(f"{path(plan)}edit/", sent, headers=SWAP)).all(id="calendar-news")


def test_the_page_asks_as_often_for_fifty_changes_as_for_five(
    cast: Cast, as_: Any, django_assert_max_num_queries: Any
) -> None:
    plan = SeasonPlanFactory(player=cast.ines, start=date(2040, 1, 2), end=date(2040, 12, 30))
    SeasonPlan.objects.update(calendar_seen_at=NOW)
    coach = as_(cast.coach)
    addresses = (path(plan), f"/players/{cast.ines.pk}/")

    def queries(weeks: range) -> list[int]:
        for number in weeks:
            event = EventFactory(academy=cast.academy, **week(number))
            PlannedEventFactory(plan=plan, event=event, played=True)
            change(event, by=cast.coach, surface="grass")
        asked = []
        for address in addresses:
            with django_assert_max_num_queries(20) as found:
                coach.get(address)
            asked.append(len(found))
        return asked

    assert queries(range(1, 6)) == queries(range(6, 51))


# A cancelled event ---------------------------------------------------------------------------


def test_a_cancelled_event_of_the_plan_is_a_finding_in_the_judges_own_words(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    change(ten_weeks.lantern, cancelled=True)
    page = read(as_(cast.coach).get(path(plan)))
    said = page.one(id="findings").one("li").text
    assert said.startswith("Cancelled not possible Week 8")
    sentence = "Lantern Open (20–25 Feb) is cancelled, but in the plan: take it out."
    assert said.endswith(sentence)
    assert (
        "is-cancelled"
        in page.one("article", data_event=str(ten_weeks.lantern.pk)).attributes["class"]
    )
    # The same from the file form.
    material = gather(SeasonPlan.objects.get(pk=plan.pk))
    problem = read_problem(problem_as_json(problem_from(material, today=EVE)))
    judgement = judge_plan(material, today=EVE).judgement
    codes = [code_of(event.pk) for event in material.played]
    again = judge(problem, codes, science_blocks(material.blocks))
    assert again.broken == judgement.broken


@pytest.mark.parametrize("standing", ["free", "pinned", "ruled out"])
def test_a_layout_does_without_a_cancelled_event_whatever_the_coach_said_of_it(
    standing: str, plan: SeasonPlan, ten_weeks: TenWeeks
) -> None:
    PlannedEvent.objects.update_or_create(
        plan=plan, event=ten_weeks.lantern, defaults={"standing": standing, "role": "target"}
    )
    change(ten_weeks.lantern, cancelled=True)
    layout = lay_out_plan(SeasonPlan.objects.get(pk=plan.pk), today=EVE, now=LATER)
    assert set(layout.events) == {code_of(ten_weeks.cup.pk), code_of(ten_weeks.harbour.pk)}
    assert layout.judgement.broken == ()


def test_what_was_cancelled_and_is_past_does_not_stand_in_the_way(
    plan: SeasonPlan, ten_weeks: TenWeeks
) -> None:
    put_in_force(plan, now=LATER)
    copy = copy_plan(plan, name="Re-plan")
    change(ten_weeks.cup, cancelled=True)
    after = ten_weeks.cup.end + timedelta(days=1)
    layout = lay_out_plan(copy, today=after, now=LATER)
    assert set(layout.events) == {code_of(ten_weeks.lantern.pk), code_of(ten_weeks.harbour.pk)}


def test_it_cannot_be_put_in_by_hand(plan: SeasonPlan, ten_weeks: TenWeeks) -> None:
    change(ten_weeks.lantern, cancelled=True)
    for words in ("put-in", "pin"):
        with pytest.raises(NotPossible, match="Lantern Open is cancelled"):
            operation(gather(plan), f"{words} {ten_weeks.lantern.pk}")


def test_nothing_is_due_for_it_and_the_trips_of_the_others_do_without_it(
    plan: SeasonPlan, ten_weeks: TenWeeks
) -> None:
    change(ten_weeks.lantern, entry_deadline=date(2040, 1, 20))
    about = {due.event for due in due_of(gather(plan))}
    assert ten_weeks.lantern in about
    change(ten_weeks.lantern, cancelled=True)
    about = {due.event for due in due_of(gather(plan))}
    assert about == {ten_weeks.cup, ten_weeks.harbour}


def test_a_feed_says_that_it_is_cancelled_under_the_same_identity(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, client: Any
) -> None:
    put_in_force(plan, now=LATER)
    address = f"/feeds/{make_address(cast.player, now=LATER)}.ics"

    def entries() -> dict[str, Any]:
        calendar = icalendar.Calendar.from_ical(client.get(address).content)
        return {str(e["UID"]): e for e in calendar.walk("VEVENT")}

    before = entries()
    change(ten_weeks.lantern, cancelled=True)
    after = entries()
    about = [uid for uid, e in before.items() if e["SUMMARY"] == "Lantern Open, Barcelona"]
    entry = after[about[0]]
    assert entry["SUMMARY"] == "Cancelled: Lantern Open, Barcelona"
    assert entry["STATUS"] == "CANCELLED"
    assert entry["SEQUENCE"] == before[about[0]]["SEQUENCE"] + 1
    assert entry["TRANSP"] == "TRANSPARENT"
    assert entry.walk("VALARM") == []
    assert not [e for e in after.values() if e["SUMMARY"] == "Leave for Barcelona"]
    assert [e for e in before.values() if e["SUMMARY"] == "Leave for Barcelona"]


# A moved event -------------------------------------------------------------------------------


def test_the_judge_works_on_the_new_dates(plan: SeasonPlan, ten_weeks: TenWeeks) -> None:
    assert judge_plan(gather(plan), today=EVE).judgement.broken == ()
    change(ten_weeks.lantern, **week(9))
    judgement = judge_plan(gather(plan), today=EVE).judgement
    [finding] = [f for f in judgement.broken if f.rule == "overlap"]
    assert finding.text == (
        "Lantern Open (27 Feb – 3 Mar) and Harbour Trophy (27 Feb – 3 Mar) overlap: play one of "
        "them."
    )
    assert not judge_plan(gather(plan), today=EVE).as_laid_out
