"""Planning by mouse: drag an event in and out, drag a block, pin, undo and redo, compare, and put
in force; the findings are the judge's after each step."""

from __future__ import annotations

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.browsing import Browsing
from tests.browser.judging import (
    agrees_with_the_judge,
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

pytestmark = pytest.mark.browser


def middle(place: Locator) -> tuple[float, float]:
    box = place.bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + min(box["height"] / 2, 40)


def drag(page: Page, what: Locator, to: Locator, *, words: str, drop: bool = True) -> None:
    """Drag, and find the words at the place where it may be dropped, before the drop."""
    what.scroll_into_view_if_needed()
    x, y = middle(what)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 12, y + 12)
    page.mouse.move(*middle(to), steps=4)
    place = page.locator(".is-over").first
    expect(place).to_be_visible()
    shown = place.evaluate("e => e.dataset.drop ?? e.textContent")
    assert words in shown
    if drop:
        page.mouse.up()


def test_a_coach_plans_by_pointer(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(season_of(stage.working_copy))
    agrees_with_the_judge(page)
    at = revision(page)

    # Out: from its week to the bar
    card = page.locator(".card", has_text="Jacaranda Week")
    drag(page, card, page.locator("#take-out-here"), words="Drop here to take out Jacaranda Week")
    step_is_made(page, at + 1, "Took out Jacaranda Week.")
    expect(card).to_have_count(0)

    # In: from the list to its week
    page.locator("#candidate-count").click()
    line = page.locator("[data-candidate]:visible", has_text="Jacaranda Week")
    week = (line.get_attribute("data-weeks") or "").split()[0]
    line.scroll_into_view_if_needed()
    head = page.locator(f"[id='{week}']")
    # Both in view: the list stands lower than the week, and near the edges the page scrolls.
    head.evaluate("e => scrollBy(0, e.getBoundingClientRect().top - 200)")
    drag(page, line.locator("span").first, head, words="Put in here")
    step_is_made(page, at + 2, "Put in Jacaranda Week.")
    expect(card).to_be_visible()

    # A block begins a week later
    grip = page.locator("[data-grip='2027-03-29']")
    drag(page, grip, page.locator("[id='2027-W14']"), words="Pre-competition begins here")
    step_is_made(page, at + 3, "Pre-competition begins in week 14, 1 week later.")

    # Pinned, and its role and worth changed in place
    card.locator("h3 a").click()
    page.get_by_role("button", name="Pin", exact=True).click()
    step_is_made(page, at + 4, "Pinned Jacaranda Week.")
    expect(page.get_by_role("button", name="Unpin")).to_be_focused()
    page.get_by_label("Role", exact=True).select_option("target")
    page.get_by_label("Worth").fill("77")
    page.get_by_role("button", name="Save").click()
    step_is_made(page, at + 5, "Jacaranda Week saved.")
    expect(card).to_have_attribute("data-role", "Target")

    for number in range(1, 6):
        page.locator("#undo").click()
        step_is_made(page, at + 5 + number, "Undone:")
    expect(page.locator("#undo")).to_be_disabled()
    for number in range(1, 3):
        page.locator("#redo").click()
        step_is_made(page, at + 10 + number, "Done again:")
    expect(page.locator("#undo")).to_have_text("Undo: Put in Jacaranda Week")
    expect(page.locator("#redo")).to_have_text(
        "Redo: Pre-competition begins in week 14, 1 week later"
    )

    # All of it stands there when one comes back
    page.reload()
    expect(page.locator("#undo")).to_have_text("Undo: Put in Jacaranda Week")
    expect(page.locator("#redo")).to_be_enabled()
    agrees_with_the_judge(page)

    # Beside the plan in force, and the other way round
    findings = findings_of(page)
    page.get_by_role("link", name="Compare with another plan of this season").click()
    compares_with_the_plan_in_force(page, findings, only_here=set(ADDED))
    page.get_by_role("link", name="Swap sides").click()
    expect(page.get_by_label("Beside this one")).to_have_value(str(stage.working_copy.pk))
    page.get_by_label("This plan").select_option(label="What if (working copy)")
    page.get_by_label("Beside this one").select_option(label="Season 2027 (in force)")
    page.get_by_role("button", name="Compare").click()
    compares_with_the_plan_in_force(page, findings, only_here=set(ADDED))
    page.get_by_role("link", name="Back to the season").click()

    page.get_by_role("link", name="Put in force").click()
    asks_before_it_is_in_force(page, findings, new=set(ADDED))
    page.get_by_role("button", name="Put in force").click()
    is_in_force(page)

    player = browsing.open(stage.cast.player)
    player.goto(season_of(stage.working_copy))
    tells_what_changed(player, new=set(ADDED))


def test_escape_and_a_drop_beside_leave_everything_where_it_was(
    stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(season_of(stage.working_copy))
    at = revision(page)
    card = page.locator(".card", has_text="Jacaranda Week")
    bar = page.locator("#take-out-here")
    drag(page, card, bar, words="Drop here", drop=False)
    page.keyboard.press("Escape")
    expect(bar).to_be_hidden()
    page.mouse.up()
    expect(page.locator("#announcer")).to_have_text("Jacaranda Week stays where it was.")

    grip = page.locator("[data-grip='2027-03-29']")
    drag(page, grip, page.locator("[id='2027-W15']"), words="begins here", drop=False)
    page.keyboard.press("Escape")
    page.mouse.up()
    expect(page.locator("#announcer")).to_have_text("Pre-competition begins where it began.")
    assert page.locator("[data-drop], .is-dragged, .drag-ghost").count() == 0
    assert revision(page) == at
    expect(page.locator("#panel.is-open")).to_have_count(0)


def test_two_coaches_at_once_are_shown_both_versions(stage: Stage, browsing: Browsing) -> None:
    browsing.may_refuse(409)
    stage.cast.ines.team.add(stage.cast.colleague.memberships.get())
    first, second = (browsing.open(person) for person in (stage.cast.coach, stage.cast.colleague))
    for page in (first, second):
        page.goto(season_of(stage.working_copy))
    event = stage.event("Jacaranda Week").pk
    at = revision(first)

    second.locator(f"#event-{event}").click()
    second.get_by_label("Worth").fill("66")
    second.get_by_role("button", name="Save").click()
    step_is_made(second, at + 1, "Jacaranda Week saved.")

    card = first.locator(".card", has_text="Jacaranda Week")
    card.hover()
    card.locator(".card-out").click()
    panel = first.locator("#panel")
    expect(panel).to_contain_text("Not done yet: somebody else changed the same")
    expect(panel).to_contain_text("in the plan, worth 66")
    expect(panel).to_contain_text("Colin Colleague")
    expect(card).to_be_visible()
    first.get_by_role("button", name="Apply mine anyway").click()
    expect(first.get_by_role("status").filter(has_text="Took out Jacaranda Week.")).to_be_visible()
    expect(card).to_have_count(0)
    assert revision(first) == at + 2
