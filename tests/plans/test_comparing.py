"""Two plans side by side: what differs in each week, in figures and in findings; who may look."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from seasonplan.plans.comparing import Beside, comparison, gather_pair, likeliest_other
from seasonplan.plans.differences import differences, shape_of
from seasonplan.plans.laying_out import gather, judge_plan
from seasonplan.plans.models import Block, SeasonPlan
from seasonplan.plans.standing import copy_plan, put_in_force
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    EventFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
)
from tests.plans.conftest import START, TenWeeks, week
from tests.plans.pages import Element, read

EVE = date(2039, 12, 31)
NOW = datetime(2039, 12, 31, 9, tzinfo=UTC)
SIDES = Beside("“Spring 2040”", "“Try”")


@pytest.fixture
def base(ten_weeks: TenWeeks) -> SeasonPlan:
    """The layout that can be worked out by hand: preparation 5, pre-competition 1, competition 3
    with the cup, the Lantern Open and the Harbour Trophy, active rest 1."""
    plan = ten_weeks.plan
    plan.planned_events.update(played=True)
    PlannedEventFactory(plan=plan, event=ten_weeks.lantern, played=True)
    PlannedEventFactory(plan=plan, event=ten_weeks.harbour, played=True)
    first = START
    for phase, weeks in (
        ("preparation", 5), ("pre-competition", 1), ("competition", 3), ("active rest", 1),
    ):  # fmt: skip
        BlockFactory(plan=plan, phase=phase, start=first, weeks=weeks)
        first += timedelta(weeks=weeks)
    return plan


@pytest.fixture
def changed(base: SeasonPlan, ten_weeks: TenWeeks) -> SeasonPlan:
    """Without the Lantern Open, the cup no target, and pre-competition a week longer."""
    copy = copy_plan(base, name="Try")
    copy.planned_events.filter(event=ten_weeks.lantern).update(played=False)
    copy.planned_events.filter(event=ten_weeks.cup).update(role="open", standing="pinned")
    Block.objects.filter(plan=copy, phase="preparation").update(weeks=4)
    Block.objects.filter(plan=copy, phase="pre-competition").update(
        start=START + timedelta(weeks=4), weeks=2
    )
    return copy


def compared(left: SeasonPlan, right: SeasonPlan) -> Any:
    return comparison(*gather_pair(left, right), today=EVE, voice=SIDES)


def words(left: SeasonPlan, right: SeasonPlan) -> dict[int, list[str]]:
    """What is said of each week that differs, by its number."""
    return {
        int(pair.title.split()[1]): list(pair.words) for pair in compared(left, right).differing
    }


# What differs --------------------------------------------------------------------------------


def test_a_plan_and_its_copy_differ_in_nothing(base: SeasonPlan) -> None:
    copy = copy_plan(base, name="Try")
    found = compared(base, copy)
    assert found.differing == ()
    assert len(found.weeks) == 10
    assert found.weeks_line == "None of 10 weeks differs."
    assert not any(total.differs for total in found.totals)
    assert {total.difference for total in found.totals} == {"the same"}
    assert (found.findings_left, found.findings_right) == ((), ())


def test_each_difference_is_said_in_the_week_where_it_is(
    base: SeasonPlan, changed: SeasonPlan
) -> None:
    said = words(base, changed)
    assert said[5] == ["Phase: preparation in “Spring 2040”, pre-competition in “Try”"]
    assert said[7] == [
        "Peak: yes in “Spring 2040”, no in “Try”",
        "Orchard Cup: target in “Spring 2040”, open in “Try”",
        "Orchard Cup: not pinned in “Spring 2040”, pinned in “Try”",
        "Orchard Cup: worth 80 in “Spring 2040”, worth 20 in “Try”",
        "Sun 19 leave for Barcelona only in “Spring 2040”",
    ]
    assert "Lantern Open only in “Spring 2040”" in said[8]
    assert set(said) <= {4, 5, 6, 7, 8, 9}


def test_the_other_way_round_the_sides_are_swapped(base: SeasonPlan, changed: SeasonPlan) -> None:
    voice = Beside(SIDES.right, SIDES.left)
    there = compared(base, changed)
    back = comparison(*gather_pair(changed, base), today=EVE, voice=voice)
    assert [pair.iso for pair in back.differing] == [pair.iso for pair in there.differing]
    assert [t.left for t in back.totals] == [t.right for t in there.totals]
    assert back.findings_left == there.findings_right
    only = [pair.words for pair in back.differing if pair.title == "Week 8"]
    assert "Lantern Open only in “Spring 2040”" in only[0]


def test_what_differs_carries_a_mark_in_words_in_its_cell(
    base: SeasonPlan, changed: SeasonPlan
) -> None:
    by_week = {pair.title: pair for pair in compared(base, changed).weeks}
    eighth = by_week["Week 8"]
    assert [(line.text, line.mark) for line in eighth.left if line.kind == "event"] == [
        ("Lantern Open", "only here")
    ]
    assert [line.text for line in eighth.right if line.kind == "event"] == []
    seventh = by_week["Week 7"]
    assert [(line.text, line.mark) for line in seventh.right if line.kind == "event"] == [
        ("Orchard Cup", "different")
    ]
    assert all(line.mark == "" for line in (*by_week["Week 1"].left, *by_week["Week 1"].right))


def test_a_week_differs_exactly_where_phase_events_or_what_is_said_of_them_differ(
    base: SeasonPlan, changed: SeasonPlan
) -> None:
    for pair in compared(base, changed).weeks:
        plain = [
            [(line.kind, line.text, line.detail) for line in side]
            for side in (pair.left, pair.right)
        ]
        if plain[0] != plain[1]:
            assert pair.differs, pair.title
        if pair.differs:
            assert any(line.mark for line in (*pair.left, *pair.right))


def test_the_totals_are_the_judges_and_their_difference_is_said(
    base: SeasonPlan, changed: SeasonPlan
) -> None:
    totals = {total.label: total for total in compared(base, changed).totals}
    one, other = (judge_plan(gather(plan), today=EVE).judgement for plan in (base, changed))
    # By hand: 306 km to Barcelona are 0.9 hours each way; the value is that of the layout above.
    assert (one.value, one.flight_hours) == (124.9, 1.8)
    assert totals["Value"].left == "124.9"
    assert totals["Value"].right == f"{other.value:.1f}"
    assert (totals["Events"].left, totals["Events"].right) == ("3", "2")
    assert totals["Events"].difference == "1 fewer"
    assert (totals["Flight hours"].left, totals["Flight hours"].right) == ("1.8", "0.0")
    assert totals["Flight hours"].difference == "1.8 less"
    assert totals["Entry fees"].difference == "46 less"
    assert totals["Active rest weeks"].difference == "the same"
    assert totals["Findings"].left == str(len(one.broken))
    assert totals["Findings"].right == str(len(other.broken))


def test_findings_stand_with_the_plan_that_has_them(base: SeasonPlan) -> None:
    copy = copy_plan(base, name="Try")
    Block.objects.filter(plan=copy, phase="active rest").update(phase="preparation")
    found = compared(base, copy)
    assert found.findings_left == ()
    assert [f.text for f in found.findings_right] == [
        f.text for f in judge_plan(gather(copy), today=EVE).judgement.broken
    ]
    assert len(found.findings_right) > 0


def test_another_phase_is_said_by_its_own_name(base: SeasonPlan) -> None:
    copy = copy_plan(base, name="Try")
    Block.objects.filter(plan=copy, phase="active rest").update(phase="pre-competition")
    assert words(base, copy) == {
        10: ["Phase: active rest in “Spring 2040”, pre-competition in “Try”"]
    }


def test_an_event_of_two_weeks_goes_on_in_the_second(
    base: SeasonPlan, cast: Cast, ten_weeks: TenWeeks
) -> None:
    long = EventFactory(
        academy=cast.academy,
        place=ten_weeks.valencia,
        name="Fortnight Cup",
        start=START + timedelta(weeks=1),
        end=START + timedelta(weeks=2, days=6),
    )
    copy = copy_plan(base, name="Try")
    PlannedEventFactory(plan=copy, event=long, played=True)
    said = words(base, copy)
    assert "Fortnight Cup only in “Try”" in said[2]
    assert "Fortnight Cup goes on only in “Try”" in said[3]


def test_of_seasons_of_two_lengths_the_longer_is_shown_to_its_end(
    base: SeasonPlan, cast: Cast
) -> None:
    longer = SeasonPlanFactory(player=cast.ines, name="Try", start=START, end=date(2040, 3, 18))
    found = compared(base, longer)
    assert len(found.weeks) == 11
    assert found.weeks[-1].words == ("Phase: season over in “Spring 2040”, no phase in “Try”",)


def test_a_plan_that_is_not_laid_out_has_no_figures_but_its_events(
    base: SeasonPlan, cast: Cast
) -> None:
    empty = SeasonPlanFactory(player=cast.ines, name="Try", start=START, end=base.end)
    found = compared(base, empty)
    assert [(t.label, t.left, t.right) for t in found.totals] == [("Events", "3", "0")]


# In words ------------------------------------------------------------------------------------


def test_the_differences_of_two_plans_are_events_and_runs_of_weeks(
    base: SeasonPlan, changed: SeasonPlan
) -> None:
    before, after = gather(base), gather(changed)
    found = differences(
        shape_of(before), shape_of(after), events=before.events, start=base.start, end=base.end
    )
    assert found.joins == ()
    assert found.leaves == ("Barcelona, 20–25 Feb: Lantern Open",)
    assert found.phases == ("Week 5 (30 Jan – 5 Feb): pre-competition instead of preparation",)
    back = differences(
        shape_of(after), shape_of(before), events=before.events, start=base.start, end=base.end
    )
    assert (back.joins, back.leaves) == (found.leaves, found.joins)
    same = differences(
        shape_of(before), shape_of(before), events=before.events, start=base.start, end=base.end
    )
    assert not same


# The pages -----------------------------------------------------------------------------------


def rows(page: Element) -> list[str]:
    return [row.one("th").text for row in page.one("table", "compare-weeks").one("tbody").all("tr")]


def test_the_page_shows_the_weeks_that_differ_and_all_of_them_on_demand(
    base: SeasonPlan, changed: SeasonPlan, cast: Cast, as_: Any
) -> None:
    coach = as_(cast.coach)
    address = f"/plans/{base.pk}/compare/{changed.pk}/"
    page = read(coach.get(address))
    assert len(rows(page)) == len(compared(base, changed).differing)
    assert all(row.startswith("≠") for row in rows(page))
    assert page.links()["All 10 weeks"] == "?all#weeks"
    whole = read(coach.get(f"{address}?all"))
    assert len(rows(whole)) == 10
    assert whole.links()["Swap sides"] == f"/plans/{changed.pk}/compare/{base.pk}/?all"
    assert (whole.typed("left"), whole.typed("right")) == (str(base.pk), str(changed.pk))


def test_two_plans_that_are_alike_say_so(base: SeasonPlan, cast: Cast, as_: Any) -> None:
    copy = copy_plan(base, name="Try")
    page = read(as_(cast.coach).get(f"/plans/{base.pk}/compare/{copy.pk}/"))
    assert "None of 10 weeks differs." in page.text
    assert page.all("table", "compare-weeks") == []


def test_the_chooser_leads_to_the_two_that_were_chosen(
    base: SeasonPlan, changed: SeasonPlan, cast: Cast, as_: Any
) -> None:
    coach = as_(cast.coach)
    address = f"/plans/{base.pk}/compare/"
    answer = coach.get(address, {"left": changed.pk, "right": base.pk})
    assert answer["Location"] == f"/plans/{changed.pk}/compare/{base.pk}/"
    twice = read(coach.get(address, {"left": base.pk, "right": base.pk}), 422)
    assert "Choose another plan than the first." in twice.wrong("right")
    assert twice.typed("left") == str(base.pk)
    other = SeasonPlanFactory(player=cast.ines, name="Another season")
    assert coach.get(address, {"left": base.pk, "right": other.pk}).status_code == 422


def test_without_a_choice_a_plan_is_shown_beside_the_likeliest_other(
    base: SeasonPlan, changed: SeasonPlan, cast: Cast, as_: Any
) -> None:
    newest = copy_plan(changed, name="Newest")
    plans = [base, changed, newest]
    assert likeliest_other(base, plans) == newest
    assert likeliest_other(changed, plans) == base
    put_in_force(base, now=NOW)
    plans[0].refresh_from_db()
    assert likeliest_other(newest, plans) == base
    answer = as_(cast.coach).get(f"/plans/{newest.pk}/compare/")
    assert answer["Location"] == f"/plans/{newest.pk}/compare/{base.pk}/"


def test_a_plan_that_is_alone_is_led_to_a_copy(base: SeasonPlan, cast: Cast, as_: Any) -> None:
    address = f"/plans/{base.pk}/compare/"
    page = read(as_(cast.coach).get(address))
    assert page.links()["Copy this plan"] == f"/plans/{base.pk}/copy/"
    assert "Copy this plan" not in read(as_(cast.director).get(address)).links()


def test_the_season_screen_and_the_history_lead_there(
    base: SeasonPlan, changed: SeasonPlan, cast: Cast, as_: Any
) -> None:
    coach = as_(cast.coach)
    side = read(coach.get(f"/plans/{base.pk}/")).one(id="side").links()
    assert side["Compare with another plan of this season"] == f"/plans/{base.pk}/compare/"
    assert side["compare with Try"] == f"/plans/{base.pk}/compare/{changed.pk}/"
    history = read(coach.get(f"/plans/{base.pk}/history/")).links()
    assert history["Compare with another plan"] == f"/plans/{base.pk}/compare/"


# Who may -------------------------------------------------------------------------------------


def test_copies_are_compared_by_coach_and_director_alone(
    base: SeasonPlan, changed: SeasonPlan, cast: Cast, as_: Any
) -> None:
    def answers(left: SeasonPlan, right: SeasonPlan) -> dict[str, int]:
        path = f"/plans/{left.pk}/compare/{right.pk}/"
        return {role: as_(person).get(path).status_code for role, person in cast.people().items()}

    found = answers(base, changed)
    assert {role for role, status in found.items() if status == 200} == {"coach", "director"}
    assert set(found.values()) == {200, 404}

    put_in_force(base, now=NOW)
    seen = answers(base, changed)
    assert {role for role, status in seen.items() if status == 403} == {
        "player",
        "guardian",
        "staff",
    }
    hidden = answers(changed, base)
    assert {hidden[role] for role in ("player", "guardian", "staff")} == {404}


def test_only_plans_of_one_season_of_one_player_are_compared(
    base: SeasonPlan, cast: Cast, as_: Any
) -> None:
    others = [
        SeasonPlanFactory(player=cast.ines, name="Another season"),
        SeasonPlanFactory(player=cast.ravi, start=START, end=base.end),
        SeasonPlanFactory(player=cast.foreign, start=START, end=base.end),
        base,
    ]
    cast.ravi.team.add(cast.coach.memberships.get())
    coach = as_(cast.coach)
    for other in others:
        assert coach.get(f"/plans/{base.pk}/compare/{other.pk}/").status_code == 404
    assert coach.get(f"/plans/{base.pk}/compare/987654/").status_code == 404


def test_the_page_asks_as_often_for_fifty_events_as_for_five(
    cast: Cast, as_: Any, django_assert_max_num_queries: Any
) -> None:
    plans = [
        SeasonPlanFactory(player=cast.ines, name=name, start=START, end=date(2040, 12, 30))
        for name in ("One", "Two")
    ]
    put_in_force_later = SeasonPlanFactory(
        player=cast.ines, name="Three", start=START, end=date(2040, 12, 30), standing="in force"
    )
    for plan in (*plans, put_in_force_later):
        BlockFactory(plan=plan, start=START, weeks=52)
    client = as_(cast.coach)

    def queries(numbers: range) -> int:
        for number in numbers:
            event = EventFactory(academy=cast.academy, **week(number))
            for plan in plans[number % 2 :]:
                PlannedEventFactory(plan=plan, event=event, played=True)
        with django_assert_max_num_queries(20) as asked:
            page = read(client.get(f"/plans/{plans[0].pk}/compare/{plans[1].pk}/?all"))
        assert len(rows(page)) == 52
        return len(asked)

    assert queries(range(1, 6)) == queries(range(6, 51))
