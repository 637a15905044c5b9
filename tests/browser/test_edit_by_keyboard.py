"""Planning by keyboard alone: arrows walk and move, Enter opens, Delete takes out; then to compare
and to put in force. The findings are the judge's after each step."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.browsing import Browsing
from tests.browser.judging import (
    asks_before_it_is_in_force,
    compares_with_the_plan_in_force,
    findings_of,
    is_in_force,
    revision,
    season_of,
    step_is_made,
    tells_what_changed,
)
from tests.browser.stage import ADDED, Stage
from tests.browser.test_keyboard import focus_is_shown, tab_to

pytestmark = pytest.mark.browser


def walk_to(page: Page, week: str) -> None:
    """From the first week with the arrows."""
    page.keyboard.press("Home")
    number = int(week.split("W")[1]) - 1
    for key, times in (("ArrowDown", number // 13), ("ArrowRight", number % 13)):
        for _ in range(times):
            page.keyboard.press(key)
    expect(page.locator(f"[id='{week}']")).to_be_focused()
    focus_is_shown(page)


def week_of(page: Page, event: int) -> str:
    return page.locator(f"#planner .week:has(#event-{event})").get_attribute("data-week") or ""


def test_a_coach_plans_by_keyboard_alone(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(season_of(stage.working_copy))
    at = revision(page)
    event = stage.event("Buttercup Week").pk
    week = week_of(page, event)

    # One stop of Tab leads to the weeks: to the present one.
    tab_to(page, "Week 8")
    walk_to(page, week)
    page.keyboard.press("Delete")
    step_is_made(page, at + 1, "Took out Buttercup Week.")
    expect(page.locator(f"[id='{week}']")).to_be_focused()

    # Enter on an empty week leads to what could be put in there.
    page.keyboard.press("Enter")
    expect(page.locator("#announcer")).to_contain_text("could be put in")
    for _ in range(30):
        line = page.evaluate("() => document.activeElement.closest('li')?.dataset.candidate")
        on_button = page.evaluate("() => document.activeElement.tagName === 'BUTTON'")
        if line == str(event) and on_button:
            break
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    step_is_made(page, at + 2, "Put in Buttercup Week.")
    expect(page.locator(f"#event-{event}")).to_be_focused()

    # Enter opens it; it is pinned there, and Escape leads back.
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Buttercup Week", level=2)).to_be_focused()
    tab_to(page, "Pin")
    page.keyboard.press("Enter")
    step_is_made(page, at + 3, "Pinned Buttercup Week.")
    expect(page.get_by_role("button", name="Unpin")).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.locator(f"#event-{event}")).to_be_focused()

    # A block: its beginning twice later, its end once earlier.
    page.locator("#block-2027-03-29").focus()
    focus_is_shown(page)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    step_is_made(page, at + 5, "Pre-competition begins in week 15, 1 week later.")
    expect(page.locator("#block-2027-04-12")).to_be_focused()
    page.keyboard.press("Shift+ArrowLeft")
    step_is_made(page, at + 6, "Competition begins in week 18, 1 week earlier.")
    expect(page.locator("#block-2027-04-12")).to_be_focused()

    for number in range(1, 6):
        page.keyboard.press("Control+z")
        step_is_made(page, at + 6 + number, "Undone:")
    for number in range(1, 3):
        page.keyboard.press("Control+Shift+z")
        step_is_made(page, at + 11 + number, "Done again:")
    expect(page.locator("#undo")).to_have_text("Undo: Pinned Buttercup Week")
    focus_is_shown(page)

    # Beside the plan in force, the weeks that differ and then all of them
    findings = findings_of(page)
    tab_to(page, "Compare with another plan of this season", steps=400)
    page.keyboard.press("Enter")
    compares_with_the_plan_in_force(page, findings, only_here=set(ADDED))
    tab_to(page, "All 52 weeks")
    page.keyboard.press("Enter")
    expect(page.locator(".compare-weeks tbody tr")).to_have_count(52)
    compares_with_the_plan_in_force(page, findings, only_here=set(ADDED))
    page.goto(page.url.split("?")[0])
    tab_to(page, "Back to the season")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{season_of(stage.working_copy)}")

    tab_to(page, "Put in force")
    page.keyboard.press("Enter")
    asks_before_it_is_in_force(page, findings, new=set(ADDED))
    tab_to(page, "Put in force")
    page.keyboard.press("Enter")
    is_in_force(page)

    guardian = browsing.open(stage.cast.guardian)
    guardian.goto(season_of(stage.working_copy))
    tells_what_changed(guardian, new=set(ADDED))


def test_keys_that_can_do_nothing_say_so(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(season_of(stage.working_copy))
    at, said = revision(page), page.locator("#announcer")
    page.locator("#block-2027-01-04").press("ArrowLeft")
    expect(said).to_have_text("The first block begins with the season.")
    page.locator("#block-2027-12-20").press("Shift+ArrowRight")
    expect(said).to_have_text("The last block ends with the season.")
    page.locator("[id='2027-W01']").press("Delete")
    expect(said).to_have_text("There is no event to take out here.")
    # Typing in a field is typing.
    page.locator(".card h3 a").first.click()
    page.get_by_label("Worth").fill("3")
    page.get_by_label("Worth").press("Control+z")
    page.get_by_label("Worth").press("Delete")
    assert revision(page) == at


def test_a_block_that_cannot_move_says_why(stage: Stage, browsing: Browsing) -> None:
    browsing.may_refuse(422)
    page = browsing.open(stage.cast.coach)
    page.goto(season_of(stage.working_copy))
    at = revision(page)
    page.locator("#block-2027-07-19").press("ArrowLeft")
    expect(
        page.get_by_role("alert").filter(has_text="Active rest has one week left")
    ).to_be_visible()
    assert revision(page) == at
    expect(page.locator("#block-2027-07-19")).to_be_focused()
