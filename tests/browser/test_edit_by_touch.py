"""Planning by thumb at 390 px: hold and drag, handles of 44 px, and buttons for all of it, to
compare and to put in force as well. The findings are the judge's after each step."""

from __future__ import annotations

import pytest
from playwright.sync_api import CDPSession, Locator, Page, expect

from tests.browser.browsing import NARROW, Browsing
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
from tests.browser.looking import sticks_out, too_small
from tests.browser.stage import ADDED, Stage

pytestmark = pytest.mark.browser

HOLD_MS = 600


class Finger:
    """One finger on the screen, as the browser gets it from the hardware."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.session: CDPSession = page.context.new_cdp_session(page)
        self.x = self.y = 0.0

    def _send(self, kind: str) -> None:
        points = [] if kind == "touchEnd" else [{"x": self.x, "y": self.y}]
        self.session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def press(self, place: Locator, *, hold_ms: int = 0) -> None:
        place.evaluate("e => e.scrollIntoView({block: 'center'})")
        box = place.bounding_box()
        assert box
        self.x, self.y = box["x"] + box["width"] / 2, box["y"] + min(box["height"] / 2, 20)
        self._send("touchStart")
        self.page.wait_for_timeout(hold_ms)

    def move(self, x: float, y: float, *, steps: int = 6) -> None:
        from_x, from_y = self.x, self.y
        for step in range(1, steps + 1):
            self.x = from_x + (x - from_x) * step / steps
            self.y = from_y + (y - from_y) * step / steps
            self._send("touchMove")

    def lift(self) -> None:
        """After a rest: Chromium takes the tap after a quick flick as one that stops it."""
        self.page.wait_for_timeout(300)
        self._send("touchEnd")


def middle(place: Locator) -> tuple[float, float]:
    box = place.bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + min(box["height"] / 2, 30)


def test_a_coach_plans_by_touch(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach, width=NARROW[0], touch=True)
    page.goto(season_of(stage.working_copy))
    at, finger = revision(page), Finger(page)
    card = page.locator(".card", has_text="Linden Cup")
    bar = page.locator("#take-out-here")

    # Held, dragged to the bar
    finger.press(card.locator(".card-dates"), hold_ms=HOLD_MS)
    expect(bar).to_be_visible()
    finger.move(*middle(bar))
    expect(bar).to_have_class("drop-bar is-over")
    finger.lift()
    step_is_made(page, at + 1, "Took out Linden Cup.")
    assert page.locator("#panel.is-open").count() == 0

    # In again by its button
    page.locator("#candidate-count").tap()
    page.get_by_role("button", name="Put in Linden Cup").tap()
    step_is_made(page, at + 2, "Put in Linden Cup.")

    # A block by its handle
    grip = page.locator("[data-grip='2027-03-29']")
    finger.press(grip)
    finger.move(*middle(page.locator("[id='2027-W14']")))
    expect(page.locator("#week-2027-W14")).to_have_attribute(
        "data-drop", "Pre-competition begins here"
    )
    finger.lift()
    step_is_made(page, at + 3, "Pre-competition begins in week 14, 1 week later.")

    # Pinned in the panel
    card.locator("h3 a").tap()
    page.get_by_role("button", name="Pin", exact=True).tap()
    step_is_made(page, at + 4, "Pinned Linden Cup.")
    assert too_small(page, touch=True) == []
    page.get_by_role("link", name="Close").tap()

    # A block without dragging
    page.locator("#block-2027-05-10").tap()
    page.get_by_role("button", name="End a week earlier").tap()
    step_is_made(page, at + 5, "Active rest begins in week 27, 1 week earlier.")
    assert too_small(page, touch=True) == []
    assert sticks_out(page) == []
    page.get_by_role("link", name="Close").tap()

    for number in range(1, 6):
        page.locator("#undo").tap()
        step_is_made(page, at + 5 + number, "Undone:")
    for number in range(1, 3):
        page.locator("#redo").tap()
        step_is_made(page, at + 10 + number, "Done again:")
    expect(page.locator("#undo")).to_have_text("Undo: Put in Linden Cup")
    assert sticks_out(page) == []
    assert too_small(page, touch=True) == []

    # Beside the plan in force, one week below the other
    findings = findings_of(page)
    page.get_by_role("link", name="Compare with another plan of this season").tap()
    compares_with_the_plan_in_force(page, findings, only_here=set(ADDED))
    assert sticks_out(page) == []
    assert too_small(page, touch=True) == []
    page.get_by_role("link", name="Back to the season").tap()

    page.get_by_role("link", name="Put in force").tap()
    asks_before_it_is_in_force(page, findings, new=set(ADDED))
    assert sticks_out(page) == []
    page.get_by_role("button", name="Put in force").tap()
    is_in_force(page)

    phone = browsing.open(stage.cast.player, width=NARROW[0], touch=True)
    phone.goto("/phone/")
    tells_what_changed(phone, new=set(ADDED))
    assert too_small(phone, touch=True) == []


def test_a_thumb_that_scrolls_drags_nothing(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach, width=NARROW[0], touch=True)
    page.goto(season_of(stage.working_copy))
    at, finger = revision(page), Finger(page)
    finger.press(page.locator(".card", has_text="Linden Cup").locator(".card-dates"))
    before = page.evaluate("() => scrollY")
    finger.move(finger.x, finger.y - 200)
    finger.lift()
    page.wait_for_function("before => scrollY !== before", arg=before)
    expect(page.locator("#take-out-here")).to_be_hidden()
    assert revision(page) == at


def test_grips_are_large_enough_for_a_thumb(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach, width=NARROW[0], touch=True)
    page.goto(season_of(stage.working_copy))
    boxes = page.evaluate(
        """() => [...document.querySelectorAll(".grip, .card-out")].map((grip) => {
          const box = grip.getBoundingClientRect();
          return [box.width, box.height];
        })"""
    )
    assert len(boxes) > 20
    assert all(width >= 44 and height >= 44 for width, height in boxes)
