"""Working copies and the plan in force: by the functions, and by the buttons."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from seasonplan.plans.history import Stale
from seasonplan.plans.laying_out import gather, judge_plan, lay_out_plan
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.standing import NotLaidOut, copy_plan, put_in_force, start_plan
from seasonplan.science.layout.problem import Limits
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    LevelWorthFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
)
from tests.plans.conftest import SHORT_LIMITS, START, TenWeeks
from tests.plans.pages import read

NOW = datetime(2039, 12, 31, 9, tzinfo=UTC)
EVE = date(2039, 12, 31)


def contents(plan: SeasonPlan) -> dict[str, Any]:
    return {
        "events": list(
            plan.planned_events.values_list(
                "event__name", "role", "worth", "standing", "entry", "played"
            )
        ),
        "blocks": list(plan.blocks.values_list("phase", "start", "weeks")),
        "levels": list(plan.level_worths.values_list("level", "worth")),
        "limits": plan.limits,
        "days": (plan.start, plan.end),
    }


@pytest.fixture
def full(ten_weeks: TenWeeks) -> SeasonPlan:
    plan = ten_weeks.plan
    PlannedEventFactory(
        plan=plan,
        event=ten_weeks.lantern,
        role="build-up",
        worth=7,
        standing="pinned",
        entry="waiting",
        played=True,
    )
    BlockFactory(plan=plan, phase="preparation", start=START, weeks=6)
    BlockFactory(plan=plan, phase="active rest", start=date(2040, 2, 13), weeks=4)
    LevelWorthFactory(plan=plan, level="regional", worth=33)
    return plan


FULL = {
    "events": [
        ("Orchard Cup", "target", None, "free", "not entered", False),
        ("Lantern Open", "build-up", 7, "pinned", "waiting", True),
    ],
    "blocks": [
        ("preparation", date(2040, 1, 2), 6),
        ("active rest", date(2040, 2, 13), 4),
    ],
    "levels": [("regional", 33)],
    "limits": SHORT_LIMITS,
    "days": (date(2040, 1, 2), date(2040, 3, 11)),
}


def test_a_copy_has_all_that_the_plan_has_and_stands_by_itself(full: SeasonPlan) -> None:
    put_in_force(full, now=NOW)
    copy = copy_plan(full, name="More clay")
    assert (copy.name, copy.standing, copy.based_on) == ("More clay", "working copy", full)
    assert (copy.revision, copy.in_force_since) == (1, None)
    assert contents(copy) == FULL
    copy.planned_events.all().delete()
    copy.blocks.all().delete()
    copy.level_worths.all().delete()
    assert contents(full) == FULL


def test_a_copy_of_a_layout_is_known_to_be_as_good(ten_weeks: TenWeeks) -> None:
    lay_out_plan(ten_weeks.plan, today=EVE, now=NOW)
    copy = copy_plan(ten_weeks.plan, name="Try")
    assert (copy.layout_status, copy.layout_bound, copy.laid_out_at) == ("proven", 124.9, NOW)
    assert judge_plan(gather(copy), today=EVE).as_laid_out


def test_a_copy_of_a_plan_that_was_changed_since_it_was_laid_out_claims_nothing(
    ten_weeks: TenWeeks,
) -> None:
    plan = ten_weeks.plan
    lay_out_plan(plan, today=EVE, now=NOW)
    plan.limits = {**plan.limits, "max_run": 1}
    plan.save()
    copy = copy_plan(plan, name="Try")
    assert not judge_plan(gather(copy), today=EVE).as_laid_out


def test_a_plan_without_blocks_cannot_be_put_in_force(ten_weeks: TenWeeks) -> None:
    with pytest.raises(NotLaidOut):
        put_in_force(ten_weeks.plan, now=NOW)
    ten_weeks.plan.refresh_from_db()
    assert ten_weeks.plan.standing == "working copy"


def test_putting_in_force_a_plan_that_changed_meanwhile_shows_it_first(
    ten_weeks: TenWeeks, as_: Any, cast: Cast
) -> None:
    plan = ten_weeks.plan
    lay_out_plan(plan, today=EVE, now=NOW)
    answer = as_(cast.coach).post(f"/plans/{plan.pk}/in-force/", {"revision": plan.revision - 1})
    assert "Somebody changed this plan meanwhile" in read(answer, 409).one(id="messages").text
    plan.refresh_from_db()
    assert plan.standing == "working copy"


def test_what_changes_between_the_look_and_the_step_is_not_put_in_force_unseen(
    full: SeasonPlan,
) -> None:
    SeasonPlan.objects.filter(pk=full.pk).update(revision=full.revision + 1)
    with pytest.raises(Stale):
        put_in_force(full, now=NOW)
    full.refresh_from_db()
    assert full.standing == "working copy"


def test_a_layout_that_ends_after_its_plan_went_in_force_changes_nothing(
    ten_weeks: TenWeeks,
) -> None:
    plan = ten_weeks.plan
    lay_out_plan(plan, today=EVE, now=NOW)
    before = contents(plan)
    elsewhere = SeasonPlan.objects.get(pk=plan.pk)  # as a request read it that is solving still
    put_in_force(plan, now=NOW)
    with pytest.raises(Stale):
        lay_out_plan(elsewhere, today=EVE, now=NOW)
    assert contents(SeasonPlan.objects.get(pk=plan.pk)) == before


def test_only_one_plan_of_a_season_is_in_force(full: SeasonPlan) -> None:
    put_in_force(full, now=NOW)
    copy = copy_plan(full, name="Try")
    later = datetime(2040, 1, 20, tzinfo=UTC)
    put_in_force(copy, now=later)
    assert dict(SeasonPlan.objects.values_list("name", "standing")) == {
        "Spring 2040": "replaced",
        "Try": "in force",
    }
    copy.refresh_from_db()
    assert copy.in_force_since == later


def test_the_plans_in_force_of_other_seasons_and_players_stay(full: SeasonPlan, cast: Cast) -> None:
    earlier = SeasonPlanFactory(
        player=cast.ines, start=date(2039, 1, 3), end=date(2040, 1, 1), standing="in force"
    )
    ravis = SeasonPlanFactory(player=cast.ravi, start=START, end=full.end, standing="in force")
    put_in_force(full, now=NOW)
    for plan in (earlier, ravis, full):
        plan.refresh_from_db()
        assert plan.standing == "in force"


def test_a_season_is_started_as_an_empty_working_copy(cast: Cast) -> None:
    plan = start_plan(
        player=cast.ines,
        name="2040",
        start=START,
        end=date(2040, 12, 30),
        limits=Limits(max_run=2),
    )
    plan.refresh_from_db()
    assert (plan.standing, plan.limits) == ("working copy", {"max_run": 2})


@pytest.mark.parametrize(
    ("start", "end"),
    [
        (date(2040, 1, 3), date(2040, 12, 30)),
        (date(2040, 1, 2), date(2040, 12, 31)),
        (date(2040, 1, 2), date(2042, 1, 19)),
    ],
    ids=["not from a Monday", "not to a Sunday", "107 weeks"],
)
def test_a_season_is_whole_weeks_and_at_most_106(cast: Cast, start: date, end: date) -> None:
    with pytest.raises(ValidationError):
        start_plan(player=cast.ines, name="2040", start=start, end=end, limits=Limits())
    assert SeasonPlan.objects.count() == 0


# The buttons ---------------------------------------------------------------------------------


def test_the_coach_makes_a_working_copy_of_the_plan_in_force(
    full: SeasonPlan, cast: Cast, as_: Any
) -> None:
    put_in_force(full, now=NOW)
    coach = as_(cast.coach)
    page = read(coach.get(f"/plans/{full.pk}/"))
    assert "Make a working copy to change it" in page.buttons()
    answer = coach.post(f"/plans/{full.pk}/copy/", follow=True)
    copy = SeasonPlan.objects.get(based_on=full)
    assert answer.redirect_chain == [(f"/plans/{copy.pk}/", 302)]
    assert contents(copy) == FULL
    assert "This is a working copy, “Spring 2040 (copy)”." in read(answer).one(id="messages").text


def test_a_copy_may_have_a_name_of_its_own(full: SeasonPlan, cast: Cast, as_: Any) -> None:
    as_(cast.coach).post(f"/plans/{full.pk}/copy/", {"name": "More clay"})
    assert SeasonPlan.objects.get(based_on=full).name == "More clay"


def test_the_copy_of_a_plan_with_a_long_name_fits(full: SeasonPlan, cast: Cast, as_: Any) -> None:
    full.name = "x" * 80
    full.save()
    as_(cast.coach).post(f"/plans/{full.pk}/copy/")
    assert SeasonPlan.objects.get(based_on=full).name == "x" * 72 + " (copy)"


def test_the_player_sees_a_working_copy_only_once_it_is_in_force(
    full: SeasonPlan, cast: Cast, as_: Any
) -> None:
    player, coach = as_(cast.player), as_(cast.coach)
    assert player.get(f"/plans/{full.pk}/").status_code == 404
    answer = coach.post(f"/plans/{full.pk}/in-force/", {"revision": full.revision}, follow=True)
    assert "In force: Ines Varga sees this plan now." in read(answer).one(id="messages").text
    assert player.get(f"/plans/{full.pk}/").status_code == 200


def test_the_coach_reads_what_putting_a_plan_in_force_changes(
    full: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach = as_(cast.coach)
    first = read(coach.get(f"/plans/{full.pk}/in-force/")).one("main")
    assert first.one("h1").text == "Put “Spring 2040” in force?"
    assert "Ines Varga sees this plan from now on" in first.text
    assert "is in force now" not in first.text

    put_in_force(full, now=NOW)
    copy = copy_plan(full, name="Try")
    copy.planned_events.filter(event=ten_weeks.lantern).update(played=False)
    copy.planned_events.filter(event=ten_weeks.cup).update(played=True)
    page = read(coach.get(f"/plans/{copy.pk}/in-force/")).one("main")
    assert "“Spring 2040” is in force now. It is kept" in page.text
    [joins, leaves] = page.one("dl", "changes").all("dd")
    assert joins.text == "Valencia, 13–18 Feb: Orchard Cup"
    assert leaves.text == "Barcelona, 20–25 Feb: Lantern Open"
    assert page.one("input", name="revision").attributes["value"] == str(copy.revision)
    copy.refresh_from_db()
    assert copy.standing == "working copy"


def test_nobody_changes_a_plan_in_force_or_a_replaced_one(
    full: SeasonPlan, cast: Cast, as_: Any
) -> None:
    coach = as_(cast.coach)
    for standing in ("in force", "replaced"):
        SeasonPlan.objects.filter(pk=full.pk).update(standing=standing)
        for action in ("lay-out", "limits", "events", "levels", "in-force", "delete"):
            answer = coach.post(f"/plans/{full.pk}/{action}/", {"revision": 1})
            assert answer.status_code == 403, (standing, action)
    full.refresh_from_db()
    assert (full.revision, contents(full)) == (1, FULL)


def test_a_working_copy_is_deleted_after_a_question(full: SeasonPlan, cast: Cast, as_: Any) -> None:
    coach = as_(cast.coach)
    page = read(coach.get(f"/plans/{full.pk}/delete/"))
    assert page.one("h1").text == "Delete “Spring 2040”?"
    assert SeasonPlan.objects.count() == 1
    answer = coach.post(f"/plans/{full.pk}/delete/", follow=True)
    assert answer.redirect_chain == [(f"/players/{cast.ines.pk}/", 302)]
    assert "Working copy “Spring 2040” deleted." in read(answer).one(id="messages").text
    assert SeasonPlan.objects.count() == 0


def test_the_copies_of_a_deleted_plan_stay(full: SeasonPlan, cast: Cast, as_: Any) -> None:
    copy = copy_plan(full, name="Try")
    as_(cast.coach).post(f"/plans/{full.pk}/delete/")
    copy.refresh_from_db()
    assert (copy.based_on, contents(copy)) == (None, FULL)
