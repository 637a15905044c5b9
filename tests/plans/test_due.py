"""What is due and when, worked out by hand for the ten weeks."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from seasonplan.events.models import Event
from seasonplan.plans.due import Due, DueKind, due_of, trips_of
from seasonplan.plans.laying_out import gather, gather_all, id_of, judge_plan
from seasonplan.plans.models import SeasonPlan
from tests.conftest import Cast
from tests.factories import BlockFactory, EventFactory, PlannedEventFactory
from tests.plans.conftest import START, TenWeeks, week


def play(plan: SeasonPlan, *events: Event, entry: str = "not entered") -> None:
    for event in events:
        plan.planned_events.update_or_create(event=event, defaults={"played": True, "entry": entry})


def said(plan: SeasonPlan) -> list[tuple[str, str, str]]:
    return [(f"{d.day:%d %b}", str(d.kind), d.title) for d in due_of(gather(plan))]


def of(plan: SeasonPlan, kind: DueKind) -> Due:
    [found] = [due for due in due_of(gather(plan)) if due.kind == kind]
    return found


def test_the_days_of_three_events_in_a_row(ten_weeks: TenWeeks) -> None:
    """One in Valencia, at home, then straight on to Barcelona, one travel day, and back."""
    play(ten_weeks.plan, ten_weeks.cup, ten_weeks.lantern, ten_weeks.harbour)
    assert said(ten_weeks.plan) == [
        ("13 Feb", "begins", "Orchard Cup begins"),
        ("19 Feb", "check-in", "Check in after Orchard Cup"),
        ("19 Feb", "go-on", "Leave for Barcelona"),
        ("20 Feb", "arrive", "Arrive in Barcelona"),
        ("20 Feb", "begins", "Lantern Open begins"),
        ("26 Feb", "check-in", "Check in after Lantern Open"),
        ("26 Feb", "go-on", "Leave for Valencia"),
        ("27 Feb", "arrive", "Arrive in Valencia"),
        ("27 Feb", "begins", "Harbour Trophy begins"),
        ("04 Mar", "check-in", "Check in after Harbour Trophy"),
    ]


def test_the_days_of_one_event_away(ten_weeks: TenWeeks) -> None:
    play(ten_weeks.plan, ten_weeks.lantern)
    assert said(ten_weeks.plan) == [
        ("19 Feb", "leave", "Leave for Barcelona"),
        ("20 Feb", "arrive", "Arrive in Barcelona"),
        ("20 Feb", "begins", "Lantern Open begins"),
        ("26 Feb", "go-home", "Travel home from Barcelona"),
        ("26 Feb", "check-in", "Check in after Lantern Open"),
    ]
    leaving = of(ten_weeks.plan, DueKind.LEAVE)
    assert leaving.detail == "Be there by Mon 20 Feb. About 0.9 hours of flight (an estimate)."


def test_settling_in_brings_the_journey_forward(ten_weeks: TenWeeks) -> None:
    """Three days on a new surface, the usual limit, lie between the journey and the first day."""
    Event.objects.filter(pk=ten_weeks.lantern.pk).update(surface="grass")
    play(ten_weeks.plan, ten_weeks.lantern)
    assert of(ten_weeks.plan, DueKind.LEAVE).day == date(2040, 2, 16)
    arriving = of(ten_weeks.plan, DueKind.ARRIVE)
    assert arriving.day == date(2040, 2, 17)
    assert arriving.detail == "3 days to settle in. Lantern Open begins on Mon 20 Feb."


@pytest.mark.parametrize(
    ("entry", "kind", "day", "title"),
    [
        ("not entered", DueKind.ENTRY, date(2040, 1, 9), "Enter Lantern Open, Barcelona"),
        (
            "entered",
            DueKind.WITHDRAWAL,
            date(2040, 2, 1),
            "Last day to withdraw from Lantern Open, Barcelona",
        ),
        (
            "accepted",
            DueKind.WITHDRAWAL,
            date(2040, 2, 1),
            "Last day to withdraw from Lantern Open, Barcelona",
        ),
    ],
)
def test_one_deadline_waits_at_a_time(
    ten_weeks: TenWeeks, entry: str, kind: DueKind, day: date, title: str
) -> None:
    Event.objects.filter(pk=ten_weeks.lantern.pk).update(
        entry_deadline=date(2040, 1, 9), withdrawal_deadline=date(2040, 2, 1)
    )
    play(ten_weeks.plan, ten_weeks.lantern, entry=entry)
    first = due_of(gather(ten_weeks.plan))[0]
    assert (first.kind, first.day, first.title) == (kind, day, title)
    assert first.detail == "It is played 20–25 Feb."
    others = {due.kind for due in due_of(gather(ten_weeks.plan))[1:]}
    assert not others & {DueKind.ENTRY, DueKind.WITHDRAWAL}


def test_nothing_is_due_for_an_event_withdrawn_from_or_not_played(ten_weeks: TenWeeks) -> None:
    play(ten_weeks.plan, ten_weeks.lantern, entry="withdrawn")
    PlannedEventFactory(plan=ten_weeks.plan, event=ten_weeks.harbour, standing="ruled out")
    assert due_of(gather(ten_weeks.plan)) == ()


def test_without_a_home_base_there_are_no_journeys(ten_weeks: TenWeeks, cast: Cast) -> None:
    cast.ines.home_base.delete()
    play(ten_weeks.plan, ten_weeks.lantern)
    assert [kind for _, kind, _ in said(ten_weeks.plan)] == ["begins", "check-in"]


def test_a_key_outlives_the_plan_and_the_day(ten_weeks: TenWeeks) -> None:
    play(ten_weeks.plan, ten_weeks.lantern)
    before = [due.key for due in due_of(gather(ten_weeks.plan))]
    lantern = ten_weeks.lantern
    assert before == [
        f"{kind}-{lantern.pk}" for kind in ("leave", "arrive", "begins", "go-home", "check-in")
    ]

    other = SeasonPlan.objects.create(
        player=ten_weeks.plan.player, name="Again", start=START, end=ten_weeks.plan.end
    )
    play(other, lantern)
    Event.objects.filter(pk=lantern.pk).update(start=date(2040, 2, 21), end=date(2040, 2, 25))
    after = due_of(gather(other))
    assert [due.key for due in after] == before
    assert after[0].day == date(2040, 2, 20)


def test_each_leads_to_a_page_that_is_there(ten_weeks: TenWeeks, cast: Cast, as_: Any) -> None:
    play(ten_weeks.plan, ten_weeks.lantern)
    SeasonPlan.objects.update(standing="in force")
    for due in due_of(gather(ten_weeks.plan)):
        for person in (cast.player, cast.coach):
            assert as_(person).get(due.url_path).status_code == 200, due.key


def test_the_journeys_are_the_judges(ten_weeks: TenWeeks) -> None:
    BlockFactory(plan=ten_weeks.plan, phase="competition", weeks=10)
    play(ten_weeks.plan, ten_weeks.cup, ten_weeks.lantern, ten_weeks.harbour)
    material = gather(ten_weeks.plan)
    judged = judge_plan(material, today=date(2040, 2, 21)).judgement.trips
    assert trips_of(material) == {id_of(trip.code): trip for trip in judged}


def test_it_asks_the_database_nothing(ten_weeks: TenWeeks, django_assert_num_queries: Any) -> None:
    play(ten_weeks.plan, ten_weeks.cup, ten_weeks.lantern)
    material = gather(ten_weeks.plan)
    with django_assert_num_queries(0):
        assert due_of(material)


def test_plans_gathered_together_are_those_gathered_one_by_one(
    ten_weeks: TenWeeks, cast: Cast
) -> None:
    """Another player, another season and another academy mix nothing up."""
    play(ten_weeks.plan, ten_weeks.cup, ten_weeks.lantern)
    elsewhere = EventFactory(academy=cast.foreign_academy, name="Far Open", **week(3))
    for player, start, end in (
        (cast.ravi, START, date(2040, 3, 11)),
        (cast.ines, date(2039, 1, 3), date(2040, 1, 1)),
        (cast.foreign, START, date(2040, 3, 11)),
    ):
        plan = SeasonPlan.objects.create(
            player=player, name="Another", start=start, end=end, standing="in force"
        )
        BlockFactory(plan=plan, weeks=6)
        if player == cast.foreign:
            play(plan, elsewhere)
        elif start == START:
            play(plan, ten_weeks.harbour)
    SeasonPlan.objects.update(standing="in force")
    plans = list(SeasonPlan.objects.select_related("player").order_by("pk"))
    assert gather_all(plans) == [gather(plan) for plan in plans]
    assert [len(m.played) for m in gather_all(plans)] == [2, 1, 0, 1]
    assert gather_all([]) == []
