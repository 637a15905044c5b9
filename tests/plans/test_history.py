"""The history of a working copy: a change is a step, and the plan is the replay of its steps."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from seasonplan.plans.carrying import Carry, carry_over, set_again, take_back
from seasonplan.plans.editing import (
    Choice,
    choose_events,
    edit_by_hand,
    rename_plan,
    set_level_worths,
    set_limits,
)
from seasonplan.plans.history import (
    NothingThere,
    Stale,
    blocks_in,
    lock,
    reach,
    read_state,
    redo,
    replay,
    undo,
)
from seasonplan.plans.laying_out import gather, judge_plan, lay_out_plan
from seasonplan.plans.models import Block, SeasonPlan, Step
from seasonplan.plans.operations import NotPossible
from seasonplan.plans.standing import copy_plan
from tests.conftest import Cast
from tests.factories import BlockFactory, LevelWorthFactory
from tests.plans.conftest import START, TenWeeks
from tests.plans.pages import read

EVE = date(2039, 12, 31)
NOW = datetime(2039, 12, 31, 9, tzinfo=UTC)


def titles(plan: SeasonPlan) -> list[str]:
    return list(plan.steps.values_list("title", flat=True))


def monday(week: int) -> date:
    return START + timedelta(weeks=week - 1)


def starts(plan: SeasonPlan) -> list[tuple[str, int]]:
    """Each block's phase, and the week of the season in which it begins."""
    return [(b.phase, (b.start - START).days // 7 + 1) for b in Block.objects.filter(plan=plan)]


def rows(plan: SeasonPlan) -> dict[str, Any]:
    """What the tables hold, read without the history's own eyes."""
    kept = SeasonPlan.objects.get(pk=plan.pk)
    return {
        "name": kept.name,
        "limits": kept.limits,
        "layout": (kept.layout_status, kept.layout_fingerprint, kept.layout_value),
        "events": sorted(
            row
            for row in plan.planned_events.values_list(
                "event_id", "role", "worth", "standing", "played", "entry"
            )
            if row[1:] != ("open", None, "free", False, "not entered")
        ),
        "blocks": sorted(Block.objects.filter(plan=plan).values_list("start", "phase", "weeks")),
        "levels": sorted(plan.level_worths.values_list("level", "worth")),
        "decisions": sorted(plan.carried_over.values_list("source", "taken_back")),
    }


@pytest.fixture
def laid_out(ten_weeks: TenWeeks) -> TenWeeks:
    lay_out_plan(ten_weeks.plan, today=EVE, now=NOW)
    return ten_weeks


def by_hand(cast: Cast, plan: SeasonPlan, words: str) -> str:
    plan.refresh_from_db()
    done = edit_by_hand(cast.coach, plan.pk, words, revision=plan.revision)
    plan.refresh_from_db()
    return done.said


def undo_last(cast: Cast, plan: SeasonPlan) -> None:
    plan.refresh_from_db()
    assert plan.head
    undo(plan, plan.head.number, by=cast.coach)


# Every way to change a plan ------------------------------------------------------------------


def test_every_way_to_change_a_plan_is_a_step_with_its_name_and_can_be_undone_and_redone(
    ten_weeks: TenWeeks, cast: Cast
) -> None:
    plan, lantern = ten_weeks.plan, ten_weeks.lantern
    LevelWorthFactory(plan=plan, level="county", worth=10)
    seen = [rows(plan)]
    coach = cast.coach

    def changed(*, by: str = coach.name) -> None:
        plan.refresh_from_db()
        last = plan.steps.order_by("-number")[0]
        assert (last.who.name if last.who else "") == by
        assert last.number == plan.revision
        seen.append(rows(plan))
        assert seen[-1] != seen[-2]
        assert replay(plan) == read_state(plan)

    set_limits(plan, replace(plan.parsed_limits, max_run=2), revision=1, by=coach)
    changed()
    choose_events(
        plan, {lantern.pk: Choice("build-up", 60, "pinned", "entered")}, revision=2, by=coach
    )
    changed()
    set_level_worths(plan, {"county": None, "national": 33}, revision=3, by=coach)
    changed()
    lay_out_plan(plan, today=EVE, now=NOW)
    changed(by="")
    for words in (
        f"take-out {lantern.pk}",
        f"rule-out {ten_weeks.harbour.pk}",
        f"role {ten_weeks.cup.pk} open",
        f"worth {ten_weeks.cup.pk} 7",
        f"edge {monday(6)} -2",
        f"begin {monday(3)} active rest",
        f"join {monday(3)}",
        f"phase {monday(1)} active rest",
    ):
        edit_by_hand(coach, plan.pk, words, revision=plan.revision)
        changed()
    rename_plan(plan, "Another name", revision=plan.revision, by=coach)
    changed()
    carry = Carry("d1", "Fewer", "limit", "the debrief", "/why/", subject="max_run", value=1)
    carry_over(plan, [carry], by=coach)
    changed()
    [decision] = plan.carried_over.all()
    take_back(plan, decision, by=coach)
    changed()
    set_again(plan, decision, by=coach)
    changed()

    assert titles(plan) == [
        "Started",
        "Changed the limit “Event weeks in a row, at most”",
        "Lantern Open: build-up, worth 60, pinned in, entered",
        "Changed the worth of county and national",
        "Laid out the season: 2 events",
        "Took out Lantern Open",
        "Ruled out Harbour Trophy",
        "Orchard Cup is open now",
        "Orchard Cup is worth 7",
        "Pre-competition begins in week 4, 2 weeks earlier",
        "Added active rest from week 3",
        "Removed active rest from week 3",
        "From week 1: active rest, not preparation",
        "Renamed to “Another name”",
        "Carried over 1 decision of the season before",
        "Took back: Fewer",
        "Set again: Fewer",
    ]
    for before in reversed(seen[:-1]):
        undo_last(cast, plan)
        assert rows(plan) == before
        assert replay(plan) == read_state(plan)
    with pytest.raises(NothingThere):
        undo_last(cast, plan)
    for after in seen[1:]:
        step = reach(SeasonPlan.objects.get(pk=plan.pk)).redo
        assert step
        redo(plan, step.number, by=coach)
        assert rows(plan) == after
        assert replay(plan) == read_state(plan)
    assert reach(SeasonPlan.objects.get(pk=plan.pk)).redo is None


def test_a_change_that_changes_nothing_is_no_step(laid_out: TenWeeks, cast: Cast) -> None:
    plan = laid_out.plan
    before = titles(plan)
    by_hand(cast, plan, f"put-in {laid_out.lantern.pk}")
    set_limits(plan, plan.parsed_limits, revision=plan.revision)
    assert titles(plan) == before


def test_undoing_the_layout_gives_the_layout_before_it_back_with_its_proof(
    laid_out: TenWeeks, cast: Cast
) -> None:
    plan = laid_out.plan
    assert judge_plan(gather(plan), today=EVE).as_laid_out
    by_hand(cast, plan, f"rule-out {laid_out.lantern.pk}")
    assert not judge_plan(gather(plan), today=EVE).as_laid_out
    lay_out_plan(plan, today=EVE, now=NOW + timedelta(hours=1))
    second = plan.layout_value
    undo_last(cast, plan)
    undo_last(cast, plan)
    plan.refresh_from_db()
    assert (plan.layout_value, plan.laid_out_at) == (124.9, NOW)
    assert second != 124.9
    assert judge_plan(gather(plan), today=EVE).as_laid_out


# Undo and redo -------------------------------------------------------------------------------


def test_undo_is_itself_a_step_that_says_what_it_undid(laid_out: TenWeeks, cast: Cast) -> None:
    plan = laid_out.plan
    by_hand(cast, plan, f"take-out {laid_out.lantern.pk}")
    assert plan.head
    by_hand(cast, plan, f"undo {plan.head.number}")
    step = plan.steps.last()
    assert step
    assert (step.kind, step.title) == ("undo", "Undid: Took out Lantern Open")
    assert step.of and step.of.title == "Took out Lantern Open"
    assert step.who == cast.coach


def test_a_new_change_after_an_undo_takes_the_undone_one_out_of_reach_and_keeps_it_on_record(
    laid_out: TenWeeks, cast: Cast
) -> None:
    plan = laid_out.plan
    by_hand(cast, plan, f"take-out {laid_out.lantern.pk}")
    undo_last(cast, plan)
    by_hand(cast, plan, f"take-out {laid_out.harbour.pk}")
    plan = SeasonPlan.objects.get(pk=plan.pk)
    assert reach(plan).redo is None
    assert titles(plan)[2:] == [
        "Took out Lantern Open",
        "Undid: Took out Lantern Open",
        "Took out Harbour Trophy",
    ]
    undo_last(cast, plan)
    plan = SeasonPlan.objects.get(pk=plan.pk)
    again = reach(plan).redo
    assert again and again.title == "Took out Harbour Trophy"


def test_undo_names_the_step_that_it_means(laid_out: TenWeeks, cast: Cast) -> None:
    plan = laid_out.plan
    by_hand(cast, plan, f"take-out {laid_out.lantern.pk}")
    assert plan.head
    meant = plan.head.number
    by_hand(cast, plan, f"take-out {laid_out.harbour.pk}")
    with pytest.raises(Stale):
        undo(plan, meant, by=cast.coach)
    assert not plan.planned_events.get(event=laid_out.lantern).played


def test_a_copy_begins_a_history_of_its_own(laid_out: TenWeeks, cast: Cast) -> None:
    copy = copy_plan(laid_out.plan, name="Try")
    assert copy.steps.count() == 0
    by_hand(cast, copy, f"take-out {laid_out.lantern.pk}")
    assert titles(copy) == ["Started as a copy", "Took out Lantern Open"]
    undo_last(cast, copy)
    assert replay(copy) == read_state(copy) == read_state(laid_out.plan) | {"name": "Try"}


def test_a_plan_is_deleted_with_its_history(laid_out: TenWeeks, cast: Cast) -> None:
    by_hand(cast, laid_out.plan, f"take-out {laid_out.lantern.pk}")
    laid_out.plan.delete()
    assert Step.objects.count() == 0


# Any edits -----------------------------------------------------------------------------------


@given(st.data())
@settings(
    max_examples=10,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_after_any_edits_undos_and_redos_the_plan_is_the_replay_of_its_history(
    laid_out: TenWeeks, cast: Cast, data: st.DataObject
) -> None:
    plan = laid_out.plan
    events = [laid_out.cup.pk, laid_out.lantern.pk, laid_out.harbour.pk]
    mondays = st.integers(1, 10).map(monday)
    phases = st.sampled_from(list(Block.Phase.values))
    edits = st.one_of(
        st.tuples(
            st.sampled_from(["put-in", "take-out", "pin", "free", "rule-out"]),
            st.sampled_from(events),
        ).map(lambda p: f"{p[0]} {p[1]}"),
        st.tuples(mondays, st.integers(-3, 3).filter(bool)).map(lambda p: f"edge {p[0]} {p[1]}"),
        st.tuples(st.sampled_from(["begin", "phase"]), mondays, phases).map(
            lambda p: f"{p[0]} {p[1]} {p[2]}"
        ),
        mondays.map(lambda day: f"join {day}"),
        st.just("undo"),
        st.just("redo"),
    )
    for words in data.draw(st.lists(edits, min_size=3, max_size=12)):
        now = SeasonPlan.objects.get(pk=plan.pk)
        step = {"undo": reach(now).undo, "redo": reach(now).redo}.get(words)
        if words in ("undo", "redo"):
            if step is None:
                continue
            words = f"{words} {step.number}"
        try:
            by_hand(cast, plan, words)
        except NotPossible:
            continue
    lock(plan)
    state = read_state(plan)
    assert replay(plan) == state
    assert [(b.phase, b.start, b.weeks) for b in blocks_in(state, plan)] == list(
        Block.objects.filter(plan=plan).values_list("phase", "start", "weeks")
    )


def test_weeks_without_a_phase_stay_without_one(ten_weeks: TenWeeks, cast: Cast) -> None:
    plan = ten_weeks.plan
    BlockFactory(plan=plan, phase="preparation", start=monday(2), weeks=2)
    BlockFactory(plan=plan, phase="competition", start=monday(6), weeks=3)
    by_hand(cast, plan, f"edge {monday(6)} 1")
    assert sorted(plan.blocks.values_list("start", "weeks")) == [(monday(2), 2), (monday(7), 2)]
    undo_last(cast, plan)
    assert sorted(plan.blocks.values_list("start", "weeks")) == [(monday(2), 2), (monday(6), 3)]


# The page ------------------------------------------------------------------------------------


def test_the_history_page_tells_each_step_with_who_and_what_changed(
    laid_out: TenWeeks, cast: Cast, as_: Any
) -> None:
    plan = laid_out.plan
    by_hand(cast, plan, f"take-out {laid_out.lantern.pk}")
    by_hand(cast, plan, f"edge {monday(7)} 1")
    undo_last(cast, plan)
    page = read(as_(cast.coach).get(f"/plans/{plan.pk}/history/"))
    steps = page.one("ol", "history").all("li", value="5")
    assert "Undid: Competition begins in week 8, 1 week later" in steps[0].text
    assert "Marta Coach" in steps[0].text
    text = page.one("ol", "history").text
    assert "taken back" in text
    assert "Lantern Open in the plan → not in the plan" in text
    assert "Week 7, 13 Feb competition begins → the phase goes on" in text
    assert page.one(aria_current="step").text.startswith("Took out Lantern Open")
    assert {
        "Undo: Took out Lantern Open",
        "Redo: Competition begins in week 8, 1 week later",
    } <= set(page.buttons())


def test_the_history_is_read_by_who_plans_and_by_directors_alone(
    laid_out: TenWeeks, cast: Cast, as_: Any
) -> None:
    path = f"/plans/{laid_out.plan.pk}/history/"
    SeasonPlan.objects.filter(pk=laid_out.plan.pk).update(standing="in force")
    answers = {name: as_(person).get(path).status_code for name, person in cast.people().items()}
    assert {name for name, status in answers.items() if status == 200} == {"coach", "director"}
    assert {answers[name] for name in ("player", "guardian", "staff")} == {403}


def test_the_history_page_asks_as_often_for_fifty_steps_as_for_five(
    laid_out: TenWeeks, cast: Cast, as_: Any, django_assert_max_num_queries: Any
) -> None:
    plan, client = laid_out.plan, as_(cast.coach)

    def queries(times: int) -> int:
        for number in range(times):
            verb = "take-out" if number % 2 == 0 else "put-in"
            by_hand(cast, plan, f"{verb} {laid_out.lantern.pk}")
        with django_assert_max_num_queries(20) as asked:
            read(client.get(f"/plans/{plan.pk}/history/"))
        return len(asked)

    assert queries(4) == queries(46)
    assert read(client.get(f"/plans/{plan.pk}/history/")).links()["Older changes"]
