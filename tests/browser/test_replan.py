"""Re-planning: what happened is said, differences are looked at, accepted, and undone."""

from __future__ import annotations

from datetime import date
from typing import Literal

import pytest
from django.conf import LazySettings
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from seasonplan.plans.models import BusyTime, SeasonPlan
from tests.browser.browsing import Browsing
from tests.browser.judging import agrees_with_the_judge
from tests.browser.looking import axe, repeated_ids, sticks_out, too_small
from tests.browser.stage import Stage

pytestmark = pytest.mark.browser

LONG_MS = 60_000
UNTIL = date(2027, 3, 20)


@pytest.fixture(autouse=True)
def _time_enough(settings: LazySettings) -> None:
    settings.LAYOUT_SECONDS = 25


def slider(page: Page) -> Locator:
    return page.get_by_role("slider", name="How much may change")


def show(page: Page) -> None:
    page.locator("#re-plan-ask").click()
    expect(page.locator("#re-planned")).to_be_visible(timeout=LONG_MS)


def played(plan: SeasonPlan) -> set[str]:
    return set(plan.planned_events.filter(played=True).values_list("event__name", flat=True))


def changed_events(page: Page) -> int:
    return page.locator(".replan-part:has(h3:text-matches('^(Join|Leave)$')) li").count()


def test_a_coach_re_plans_a_working_copy_and_takes_it_back(
    stage: Stage, browsing: Browsing
) -> None:
    plan, page = stage.working_copy, browsing.open(stage.cast.coach)
    before = played(plan)
    page.goto(reverse("season", args=[plan.pk]))
    page.get_by_role("link", name="Re-plan from today").click()
    expect(page.get_by_label("From this day on")).to_have_value("2027-02-24")
    page.get_by_label("Injured, ill or away until").fill(UNTIL.isoformat())
    refused = page.get_by_label("Not accepted into the draw of")
    refused.select_option(label=refused.locator("option", has_text="Linden Cup").inner_text())
    slider(page).fill("0")
    expect(page.locator("output")).to_have_text("0")
    show(page)
    expect(page.locator("#announcer")).to_contain_text("would")
    assert BusyTime.objects.filter(why="Not available").count() == 0
    freely = changed_events(page)

    slider(page).fill("100")
    with page.expect_response(lambda answer: answer.request.method == "POST", timeout=LONG_MS):
        page.locator("#re-plan-ask").click()
    expect(page.get_by_text("only where that brings 100 of value")).to_be_visible(timeout=LONG_MS)
    expect(slider(page)).to_have_value("100")
    assert changed_events(page) <= freely
    leaves = page.locator(".replan-part", has=page.get_by_role("heading", name="Leave"))
    expect(leaves.get_by_text("Linden Cup")).to_be_visible()

    page.get_by_role("button", name="Accept this").click()

    expect(page.locator("#messages")).to_contain_text("Undo takes it back", timeout=LONG_MS)
    assert page.url.endswith(reverse("season", args=[plan.pk]))
    plan.refresh_from_db()
    assert plan.head is not None
    assert (
        plan.head.title == "Re-planned from 24 Feb: out until 20 Mar, not accepted into Linden Cup"
    )
    assert "Linden Cup" not in played(plan)
    agrees_with_the_judge(page)
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#announcer")).to_contain_text("Undone: Re-planned from 24 Feb")
    assert played(plan) == before
    assert BusyTime.objects.get(why="Not available").end == UNTIL


def test_a_plan_in_force_leads_to_a_copy_that_is_put_in_force(
    stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach, width=390, touch=True)
    page.goto(reverse("season", args=[stage.in_force.pk]))
    page.get_by_role("link", name="Re-plan from today").tap()
    wild = page.get_by_label("Wild card received for")
    wild.select_option(label=wild.locator("option", has_text="Jacaranda Week").inner_text())
    page.get_by_role("button", name="Show what would change").tap()
    expect(page.locator("#re-planned")).to_be_visible(timeout=LONG_MS)
    page.get_by_role("button", name="Make a working copy with this").tap()
    expect(page.locator("#messages")).to_contain_text("press “Put in force”", timeout=LONG_MS)
    copy = SeasonPlan.objects.latest("pk")
    assert page.url.endswith(reverse("season", args=[copy.pk]))
    page.get_by_role("navigation", name="Plan").get_by_role("link", name="Put in force").tap()
    page.get_by_role("button", name="Put in force").tap()
    expect(page.locator("#head")).to_contain_text("In force")
    assert "Jacaranda Week" in played(copy)


def test_by_keyboard_alone(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(reverse("plan-re-plan", args=[stage.working_copy.pk]))
    slider(page).focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    expect(page.locator("output")).to_have_text("25")
    page.keyboard.press("Tab")
    expect(page.locator("#re-plan-ask")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#re-planned")).to_be_visible(timeout=LONG_MS)
    expect(page.locator("#re-plan-ask")).to_be_focused()
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == "re-plan-accept":
            break
    page.keyboard.press("Enter")
    expect(page.locator("#messages")).to_contain_text("Re-planned, as one step", timeout=LONG_MS)


@pytest.mark.parametrize(("width", "scheme"), [(1440, "light"), (1024, "dark"), (390, "dark")])
def test_axe_finds_nothing_and_nothing_sticks_out(
    width: int, scheme: Literal["light", "dark"], stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach, width=width, touch=width == 390)
    page.emulate_media(color_scheme=scheme)
    page.goto(reverse("plan-re-plan", args=[stage.working_copy.pk]))
    page.get_by_label("Injured, ill or away until").fill(UNTIL.isoformat())
    show(page)
    assert repeated_ids(page) == []
    assert axe(page) == []
    assert sticks_out(page) == []
    assert too_small(page, touch=width == 390) == []


def test_without_javascript_the_same_is_asked_and_accepted(
    stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach, javascript=False)
    page.set_default_timeout(LONG_MS)
    page.goto(reverse("plan-re-plan", args=[stage.working_copy.pk]))
    expect(page.locator("output")).to_be_hidden()
    page.get_by_label("Injured, ill or away until").fill(UNTIL.isoformat())
    show(page)
    page.get_by_role("button", name="Accept this").click()
    expect(page.locator("#messages")).to_contain_text("Re-planned, as one step")
