"""Changing a working copy: each change is one revision, and none is written over another."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from seasonplan.plans.editing import Choice, choose_events, set_level_worths, set_limits
from seasonplan.plans.history import Stale
from seasonplan.plans.models import SeasonPlan
from seasonplan.science.layout.problem import Limits
from tests.factories import LevelWorthFactory, PlannedEventFactory
from tests.plans.conftest import TenWeeks

PLAIN = Choice(role="open", worth=None, standing="free")


def said(plan: SeasonPlan) -> list[Any]:
    return list(
        plan.planned_events.values_list("event__name", "role", "worth", "standing", "entry")
    )


def test_what_is_said_of_events_is_kept_as_one_revision(ten_weeks: TenWeeks) -> None:
    plan, lantern, harbour = ten_weeks.plan, ten_weeks.lantern, ten_weeks.harbour
    choices = {
        lantern.pk: Choice(role="build-up", worth=60, standing="pinned", entry="entered"),
        harbour.pk: Choice(role="open", worth=0, standing="free"),
    }
    choose_events(plan, choices, revision=1)
    assert plan.revision == 2
    assert said(plan) == [
        ("Orchard Cup", "target", None, "free", "not entered"),
        ("Lantern Open", "build-up", 60, "pinned", "entered"),
        ("Harbour Trophy", "open", 0, "free", "not entered"),
    ]


def test_an_event_of_which_nothing_is_said_gets_no_row(ten_weeks: TenWeeks) -> None:
    plan = ten_weeks.plan
    choices = {
        ten_weeks.lantern.pk: PLAIN,
        ten_weeks.harbour.pk: Choice("open", None, "free", entry="not entered"),
    }
    choose_events(plan, choices, revision=1)
    assert said(plan) == [("Orchard Cup", "target", None, "free", "not entered")]


@pytest.mark.parametrize(
    "choice",
    [
        Choice("build-up", None, "free"),
        Choice("open", 20, "free"),
        Choice("open", 0, "free"),
        Choice("open", None, "ruled out"),
        Choice("open", None, "free", entry="withdrawn"),
    ],
)
def test_whatever_else_is_said_makes_a_row(ten_weeks: TenWeeks, choice: Choice) -> None:
    choose_events(ten_weeks.plan, {ten_weeks.lantern.pk: choice}, revision=1)
    row = ten_weeks.plan.planned_events.get(event=ten_weeks.lantern)
    assert (row.role, row.worth, row.standing) == (choice.role, choice.worth, choice.standing)
    assert row.entry == (choice.entry or "not entered")


def test_a_choice_can_be_taken_back_and_the_event_stays_in_the_plan(ten_weeks: TenWeeks) -> None:
    plan = ten_weeks.plan
    PlannedEventFactory(
        plan=plan,
        event=ten_weeks.harbour,
        role="target",
        worth=90,
        standing="pinned",
        entry="accepted",
        played=True,
    )
    choose_events(plan, {ten_weeks.harbour.pk: PLAIN}, revision=1)
    row = plan.planned_events.get(event=ten_weeks.harbour)
    assert (row.role, row.worth, row.standing) == ("open", None, "free")
    assert (row.entry, row.played) == ("accepted", True)


def test_limits_are_kept_as_those_that_differ_from_the_defaults(ten_weeks: TenWeeks) -> None:
    plan = ten_weeks.plan
    limits = Limits(max_run=2, competition_weeks=(2, 6), budget=1500.5)
    set_limits(plan, limits, revision=1)
    assert plan.limits == {"max_run": 2, "competition_weeks": [2, 6], "budget": 1500.5}
    assert plan.parsed_limits == limits
    assert plan.revision == 2


def test_the_worth_of_a_level_is_kept_changed_and_forgotten(ten_weeks: TenWeeks) -> None:
    plan = ten_weeks.plan
    LevelWorthFactory(plan=plan, level="regional", worth=35)
    LevelWorthFactory(plan=plan, level="county", worth=10)
    worths = {"regional": 30, "national": 0, "county": None}
    set_level_worths(plan, worths, revision=1)
    assert sorted(plan.level_worths.values_list("level", "worth")) == [
        ("national", 0),
        ("regional", 30),
    ]


@pytest.mark.parametrize("revision", [-1, 1, 3])
@pytest.mark.parametrize(
    "change",
    [
        lambda plan, event, revision: set_limits(plan, Limits(), revision=revision),
        lambda plan, event, revision: set_level_worths(plan, {"regional": 5}, revision=revision),
        lambda plan, event, revision: choose_events(
            plan, {event.pk: Choice("target", 99, "pinned")}, revision=revision
        ),
    ],
    ids=["limits", "worth by level", "events"],
)
def test_a_change_made_against_another_revision_writes_nothing(
    ten_weeks: TenWeeks, change: Callable[..., None], revision: int
) -> None:
    plan = ten_weeks.plan
    SeasonPlan.objects.update(revision=2)
    limits = plan.limits
    with pytest.raises(Stale):
        change(plan, ten_weeks.cup, revision)
    plan.refresh_from_db()
    assert (plan.revision, plan.limits) == (2, limits)
    assert plan.level_worths.count() == 0
    assert said(plan) == [("Orchard Cup", "target", None, "free", "not entered")]


def test_the_second_of_two_changes_from_the_same_page_is_refused(ten_weeks: TenWeeks) -> None:
    plan = ten_weeks.plan
    set_limits(plan, Limits(max_run=2), revision=1)
    with pytest.raises(Stale):
        set_limits(plan, Limits(max_run=4), revision=1)
    plan.refresh_from_db()
    assert plan.parsed_limits.max_run == 2
