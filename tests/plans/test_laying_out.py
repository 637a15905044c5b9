"""From a plan's rows to a layout problem, through the solver, and back into the plan."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.db.models import F

from seasonplan.events.models import Event
from seasonplan.plans.history import Stale
from seasonplan.plans.laying_out import (
    NoHomeBase,
    gather,
    judge_plan,
    lay_out_plan,
    problem_from,
)
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.standing import copy_plan, put_in_force
from seasonplan.science.layout import problem as science
from seasonplan.science.layout.solver import Impossible
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    BusyTimeFactory,
    EventFactory,
    LevelWorthFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
)
from tests.plans.conftest import SHORT_LIMITS, START, TenWeeks, week
from tests.plans.pages import read

EVE = date(2039, 12, 31)
NOW = datetime(2039, 12, 31, 9, tzinfo=UTC)


def problem(plan: SeasonPlan, today: date = EVE) -> science.Problem:
    return problem_from(gather(plan), today=today)


def candidate(plan: SeasonPlan, event: Event) -> science.Event:
    return next(e for e in problem(plan).events if e.code == f"e{event.pk}")


# The problem ---------------------------------------------------------------------------------


def test_an_event_is_handed_over_with_its_place_its_fee_and_its_code(ten_weeks: TenWeeks) -> None:
    lantern = ten_weeks.lantern
    lantern.high_c = 19.5
    lantern.save()
    assert candidate(ten_weeks.plan, lantern) == science.Event(
        code=f"e{lantern.pk}",
        name="Lantern Open",
        start=date(2040, 2, 20),
        end=date(2040, 2, 25),
        lat=41.4,
        lon=2.2,
        timezone="Europe/Madrid",
        elevation_m=10,
        surface="clay",
        high_c=19.5,
        role="open",
        worth=20,
        cost=45.5,
    )


def test_home_the_season_and_the_limits_are_handed_over(ten_weeks: TenWeeks) -> None:
    handed = problem(ten_weeks.plan)
    assert handed.season == science.Season(date(2040, 1, 2), date(2040, 3, 11))
    assert handed.home == science.Home(
        name="Valencia",
        lat=39.47,
        lon=-0.38,
        timezone="Europe/Madrid",
        elevation_m=20,
        surface="clay",
        monthly_high_c=(16, 17, 19, 21, 24, 28, 30, 30, 28, 24, 19, 17),
    )
    assert handed.limits.preparation_weeks == (2, 6)
    assert handed.limits.max_events == 20
    assert (handed.today, handed.in_force) == (None, None)


@pytest.mark.parametrize(
    ("row", "role", "worth"),
    [
        (None, "open", 35),
        ({"role": "build-up"}, "build-up", 35),
        ({"role": "target"}, "target", 80),
        ({"role": "target", "worth": 95}, "target", 95),
        ({"role": "open", "worth": 3}, "open", 3),
        ({"role": "open", "worth": 0}, "open", 0),
    ],
)
def test_the_coachs_own_worth_wins_over_the_levels_except_that_targets_have_none(
    ten_weeks: TenWeeks, row: dict[str, Any] | None, role: str, worth: int
) -> None:
    LevelWorthFactory(plan=ten_weeks.plan, level="regional", worth=35)
    if row:
        PlannedEventFactory(plan=ten_weeks.plan, event=ten_weeks.harbour, **row)
    found = candidate(ten_weeks.plan, ten_weeks.harbour)
    assert (found.role, found.worth) == (role, worth)


@pytest.mark.parametrize(("role", "worth"), [("open", 20), ("build-up", 40), ("target", 80)])
def test_without_a_worth_of_its_level_an_event_has_the_usual_one_of_its_role(
    ten_weeks: TenWeeks, role: str, worth: int
) -> None:
    LevelWorthFactory(plan=ten_weeks.plan, level="national", worth=35)
    PlannedEventFactory(plan=ten_weeks.plan, event=ten_weeks.harbour, role=role)
    assert candidate(ten_weeks.plan, ten_weeks.harbour).worth == worth


def test_pins_and_rule_outs_are_handed_over(ten_weeks: TenWeeks) -> None:
    PlannedEventFactory(plan=ten_weeks.plan, event=ten_weeks.lantern, standing="pinned")
    PlannedEventFactory(plan=ten_weeks.plan, event=ten_weeks.harbour, standing="ruled out")
    handed = problem(ten_weeks.plan)
    assert handed.keep == {f"e{ten_weeks.lantern.pk}"}
    assert handed.drop == {f"e{ten_weeks.harbour.pk}"}


def test_busy_days_are_clipped_to_the_season(ten_weeks: TenWeeks, cast: Cast) -> None:
    for start, end in [
        (date(2039, 12, 20), date(2040, 1, 6)),
        (date(2040, 3, 10), date(2040, 3, 20)),
        (date(2039, 12, 1), date(2040, 1, 1)),
        (date(2040, 3, 12), date(2040, 3, 14)),
    ]:
        BusyTimeFactory(player=cast.ines, start=start, end=end, why="School")
    BusyTimeFactory(player=cast.ravi, start=date(2040, 2, 1), end=date(2040, 2, 2))
    assert problem(ten_weeks.plan).busy == (
        science.Busy(date(2040, 1, 2), date(2040, 1, 6), "School"),
        science.Busy(date(2040, 3, 10), date(2040, 3, 11), "School"),
    )


def test_an_event_that_is_not_wholly_inside_the_season_is_no_candidate(
    ten_weeks: TenWeeks, cast: Cast
) -> None:
    early = EventFactory(academy=cast.academy, start=date(2040, 1, 1), end=date(2040, 1, 7))
    late = EventFactory(academy=cast.academy, start=date(2040, 3, 6), end=date(2040, 3, 12))
    exact = EventFactory(academy=cast.academy, start=date(2040, 3, 5), end=date(2040, 3, 11))
    PlannedEventFactory(plan=ten_weeks.plan, event=early, standing="pinned", played=True)
    PlannedEventFactory(plan=ten_weeks.plan, event=late, standing="ruled out")
    handed = problem(ten_weeks.plan)
    assert [e.code for e in handed.events] == [
        f"e{e.pk}" for e in (ten_weeks.cup, ten_weeks.lantern, ten_weeks.harbour, exact)
    ]
    assert (handed.keep, handed.drop) == (frozenset(), frozenset())


def test_events_of_another_academy_are_no_candidates(ten_weeks: TenWeeks, cast: Cast) -> None:
    EventFactory(academy=cast.foreign_academy, name="Foreign Open", **week(5))
    assert "Foreign Open" not in {e.name for e in problem(ten_weeks.plan).events}


def test_without_a_home_base_there_is_no_problem(ten_weeks: TenWeeks, cast: Cast) -> None:
    cast.ines.home_base.delete()
    with pytest.raises(NoHomeBase):
        problem(ten_weeks.plan)


# The plan in force ---------------------------------------------------------------------------


@pytest.fixture
def under_way(ten_weeks: TenWeeks) -> SeasonPlan:
    """The plan in force plays the cup and the harbour trophy; its blocks are set by hand."""
    plan = ten_weeks.plan
    plan.planned_events.update(played=True)
    PlannedEventFactory(plan=plan, event=ten_weeks.harbour, played=True)
    PlannedEventFactory(plan=plan, event=ten_weeks.lantern, role="build-up")
    for phase, first, weeks in [
        ("preparation", 1, 4),
        ("pre-competition", 5, 2),
        ("competition", 7, 3),
        ("active rest", 10, 1),
    ]:
        BlockFactory(plan=plan, phase=phase, start=week(first)["start"], weeks=weeks)
    put_in_force(plan, now=NOW)
    return plan


@pytest.mark.parametrize("today", [EVE, START])
def test_before_the_season_is_under_way_neither_today_nor_the_plan_in_force_counts(
    under_way: SeasonPlan, today: date
) -> None:
    for plan in (under_way, copy_plan(under_way, name="Try")):
        handed = problem(plan, today)
        assert (handed.today, handed.in_force) == (None, None)


def test_under_way_a_working_copy_is_judged_against_the_plan_in_force(
    under_way: SeasonPlan, ten_weeks: TenWeeks
) -> None:
    copy = copy_plan(under_way, name="Try")
    copy.planned_events.filter(event=ten_weeks.harbour).update(played=False)
    copy.planned_events.filter(event=ten_weeks.lantern).update(played=True)
    handed = problem(copy, date(2040, 1, 3))
    assert handed.today == date(2040, 1, 3)
    assert handed.in_force == science.InForce(
        events=(f"e{ten_weeks.cup.pk}", f"e{ten_weeks.harbour.pk}"),
        blocks=(
            science.Block("preparation", date(2040, 1, 2), date(2040, 1, 29)),
            science.Block("pre-competition", date(2040, 1, 30), date(2040, 2, 12)),
            science.Block("competition", date(2040, 2, 13), date(2040, 3, 4)),
            science.Block("active rest", date(2040, 3, 5), date(2040, 3, 11)),
        ),
    )
    # One event dropped and one added, at 10 each.
    assert judge_plan(gather(copy), today=date(2040, 1, 3)).judgement.value_parts.change == -20


def test_the_plan_in_force_is_judged_against_itself(under_way: SeasonPlan) -> None:
    judgement = judge_plan(gather(under_way), today=date(2040, 2, 20)).judgement
    assert judgement.value_parts.change == 0
    assert judgement.broken == ()


def test_a_working_copy_without_a_plan_in_force_is_free(ten_weeks: TenWeeks) -> None:
    handed = problem(ten_weeks.plan, date(2040, 2, 20))
    assert (handed.today, handed.in_force) == (None, None)


def test_the_plan_in_force_of_another_season_or_player_does_not_count(
    ten_weeks: TenWeeks, cast: Cast
) -> None:
    SeasonPlanFactory(
        player=cast.ines, start=date(2039, 1, 3), end=date(2040, 1, 1), standing="in force"
    )
    SeasonPlanFactory(player=cast.ravi, start=START, end=date(2040, 3, 11), standing="in force")
    assert gather(ten_weeks.plan).in_force is None


@pytest.mark.parametrize(
    ("today", "counts_from"),
    [
        (date(2040, 1, 10), date(2040, 2, 15)),
        (date(2040, 2, 13), date(2040, 2, 15)),
        # The cup, 13 to 18 February, has begun: it is played to its end.
        (date(2040, 2, 14), date(2040, 2, 19)),
        (date(2040, 2, 18), date(2040, 2, 19)),
        (date(2040, 2, 21), date(2040, 2, 21)),
        (date(2040, 2, 24), date(2040, 2, 24)),
    ],
)
def test_busy_days_count_from_today_or_from_the_end_of_the_event_under_way(
    under_way: SeasonPlan, cast: Cast, today: date, counts_from: date
) -> None:
    BusyTimeFactory(player=cast.ines, start=date(2040, 2, 15), end=date(2040, 2, 24))
    assert problem(under_way, today).busy == (
        science.Busy(counts_from, date(2040, 2, 24), "Exams"),
    )


@pytest.mark.parametrize("today", [date(2040, 2, 25), date(2040, 3, 12)])
def test_busy_days_of_the_past_no_longer_count(
    under_way: SeasonPlan, cast: Cast, today: date
) -> None:
    BusyTimeFactory(player=cast.ines, start=date(2040, 2, 15), end=date(2040, 2, 24))
    assert problem(under_way, today).busy == ()


def test_busy_days_that_go_on_after_the_season_do_not_count_once_it_is_over(
    under_way: SeasonPlan, cast: Cast
) -> None:
    BusyTimeFactory(player=cast.ines, start=date(2040, 3, 9), end=date(2040, 3, 30))
    assert problem(under_way, date(2040, 3, 14)).busy == ()


def test_a_player_who_becomes_busy_during_an_event_can_be_planned_for_anew(
    under_way: SeasonPlan, cast: Cast, ten_weeks: TenWeeks
) -> None:
    BusyTimeFactory(player=cast.ines, start=date(2040, 2, 16), end=date(2040, 3, 1), why="Injury")
    copy = copy_plan(under_way, name="After the injury")
    layout = lay_out_plan(copy, today=date(2040, 2, 16), now=NOW)
    assert layout.events == (f"e{ten_weeks.cup.pk}",)


# Laying out ----------------------------------------------------------------------------------


def test_the_layout_that_is_best_by_hand_is_found_and_written(ten_weeks: TenWeeks) -> None:
    plan = ten_weeks.plan
    layout = lay_out_plan(plan, today=EVE, now=NOW)
    assert (layout.status, layout.breaks, layout.value) == ("proven", 0, 124.9)
    assert list(plan.blocks.values_list("phase", "start", "weeks")) == [
        ("preparation", date(2040, 1, 2), 5),
        ("pre-competition", date(2040, 2, 6), 1),
        ("competition", date(2040, 2, 13), 3),
        ("active rest", date(2040, 3, 5), 1),
    ]
    assert list(plan.planned_events.values_list("event__name", "role", "played")) == [
        ("Orchard Cup", "target", True),
        ("Lantern Open", "open", True),
        ("Harbour Trophy", "open", True),
    ]


def test_the_layout_is_recorded_with_the_revision_it_made(ten_weeks: TenWeeks) -> None:
    plan = ten_weeks.plan
    lay_out_plan(plan, today=EVE, now=NOW)
    plan.refresh_from_db()
    assert (plan.revision, plan.laid_out_at) == (2, NOW)
    assert (plan.layout_status, plan.layout_value, plan.layout_bound) == ("proven", 124.9, 124.9)
    assert judge_plan(gather(plan), today=EVE).as_laid_out


def test_laying_out_again_keeps_what_the_coach_said_of_the_events(ten_weeks: TenWeeks) -> None:
    plan = ten_weeks.plan
    PlannedEventFactory(plan=plan, event=ten_weeks.lantern, standing="ruled out", played=True)
    PlannedEventFactory(
        plan=plan, event=ten_weeks.harbour, role="build-up", worth=55, entry="entered"
    )
    BlockFactory(plan=plan, phase="active rest", start=START, weeks=10)
    lay_out_plan(plan, today=EVE, now=NOW)
    assert list(
        plan.planned_events.values_list(
            "event__name", "role", "worth", "standing", "entry", "played"
        )
    ) == [
        ("Orchard Cup", "target", None, "free", "not entered", True),
        ("Lantern Open", "open", None, "ruled out", "not entered", False),
        ("Harbour Trophy", "build-up", 55, "free", "entered", True),
    ]
    assert plan.blocks.count() == 4


def test_a_season_without_events_is_laid_out_all_the_same(ten_weeks: TenWeeks) -> None:
    ten_weeks.plan.planned_events.all().delete()
    Event.objects.all().delete()
    layout = lay_out_plan(ten_weeks.plan, today=EVE, now=NOW)
    # Six weeks of preparation, two of pre-competition, one of competition, one of active rest.
    assert (layout.events, layout.breaks, layout.value) == ((), 0, 7.3)


def test_a_layout_is_not_written_over_what_somebody_else_changed(ten_weeks: TenWeeks) -> None:
    plan = ten_weeks.plan
    SeasonPlan.objects.filter(pk=plan.pk).update(revision=F("revision") + 1, name="Theirs")
    with pytest.raises(Stale):
        lay_out_plan(plan, today=EVE, now=NOW)
    plan.refresh_from_db()
    assert (plan.name, plan.revision, plan.laid_out_at) == ("Theirs", 2, None)
    assert plan.blocks.count() == 0
    assert not plan.planned_events.filter(played=True).exists()


def test_pins_that_contradict_each_other_leave_the_plan_as_it_is(
    ten_weeks: TenWeeks, cast: Cast
) -> None:
    plan = ten_weeks.plan
    twin = EventFactory(academy=cast.academy, place=ten_weeks.valencia, name="Twin", **week(8))
    for event in (ten_weeks.lantern, twin):
        PlannedEventFactory(plan=plan, event=event, standing="pinned")
    with pytest.raises(Impossible):
        lay_out_plan(plan, today=EVE, now=NOW)
    plan.refresh_from_db()
    assert (plan.revision, plan.blocks.count()) == (1, 0)


def test_under_way_the_past_stays_and_the_rest_is_laid_out_anew(
    under_way: SeasonPlan, ten_weeks: TenWeeks
) -> None:
    copy = copy_plan(under_way, name="Try")
    copy.planned_events.filter(event=ten_weeks.harbour).update(standing="ruled out")
    lay_out_plan(copy, today=date(2040, 2, 15), now=NOW)
    assert list(copy.blocks.values_list("phase", "weeks"))[:2] == [
        ("preparation", 4),
        ("pre-competition", 2),
    ]
    assert list(copy.planned_events.filter(played=True).values_list("event__name", flat=True)) == [
        "Orchard Cup",
        "Lantern Open",
    ]
    assert not under_way.planned_events.get(event=ten_weeks.lantern).played


# The page, the judge and the command agree ---------------------------------------------------


def test_page_file_and_command_give_the_same_breaks_and_value(
    ten_weeks: TenWeeks, as_: Any, cast: Cast, tmp_path: Path
) -> None:
    # Two blocks of competition cannot be: the page must say so, and the command weigh it the same.
    plan = ten_weeks.plan
    plan.limits = SHORT_LIMITS | {"min_cycles": 3}
    plan.save()
    coach = as_(cast.coach)
    page = read(coach.post(f"/plans/{plan.pk}/lay-out/", follow=True))
    shown = page.one(id="side").one("div", "sum").attributes["data-value"]
    judged = judge_plan(gather(plan), today=EVE).judgement
    file = tmp_path / "season.json"
    file.write_bytes(coach.get(f"/plans/{plan.pk}/season.json").content)
    printed = StringIO()
    call_command("layout", str(file), stdout=printed)
    answer = json.loads(printed.getvalue())
    assert [finding["rule"] for finding in answer["broken"]] == ["cycles"]
    assert answer["breaks"] == judged.breaks == 100
    assert f"{answer['value']:.1f}" == f"{judged.value:.1f}" == shown
    assert answer["status"] == "proven"
    assert [event["code"] for event in answer["events"]] == [
        f"e{pk}" for pk in plan.planned_events.filter(played=True).values_list("event", flat=True)
    ]


def test_the_file_of_a_season_that_is_under_way_can_be_laid_out_by_the_command(
    cast: Cast, as_: Any, tmp_path: Path
) -> None:
    long_ago = SeasonPlanFactory(
        player=cast.ines,
        start=date(2020, 1, 6),
        end=date(2020, 3, 15),
        limits=SHORT_LIMITS,
        standing="in force",
    )
    event = EventFactory(academy=cast.academy, start=date(2020, 2, 17), end=date(2020, 2, 22))
    PlannedEventFactory(plan=long_ago, event=event, played=True)
    BlockFactory(plan=long_ago, phase="preparation", start=date(2020, 1, 6), weeks=4)
    BlockFactory(plan=long_ago, phase="pre-competition", start=date(2020, 2, 3), weeks=2)
    BlockFactory(plan=long_ago, phase="competition", start=date(2020, 2, 17), weeks=2)
    BlockFactory(plan=long_ago, phase="active rest", start=date(2020, 3, 2), weeks=2)
    file = tmp_path / "season.json"
    file.write_bytes(as_(cast.player).get(f"/plans/{long_ago.pk}/season.json").content)
    printed = StringIO()
    call_command("layout", str(file), stdout=printed)
    answer = json.loads(printed.getvalue())
    assert [block["phase"] for block in answer["blocks"]] == [
        "preparation",
        "pre-competition",
        "competition",
        "active rest",
    ]
    assert [e["code"] for e in answer["events"]] == [f"e{event.pk}"]
    assert answer["value_parts"]["change"] == 0


def test_the_season_file_needs_a_home_base_and_says_so(
    ten_weeks: TenWeeks, as_: Any, cast: Cast
) -> None:
    cast.ines.home_base.delete()
    answer = as_(cast.coach).get(f"/plans/{ten_weeks.plan.pk}/season.json", follow=True)
    assert answer.redirect_chain == [(f"/plans/{ten_weeks.plan.pk}/", 302)]
    assert "Set Ines Varga's home base first" in read(answer).one(id="messages").text
