"""On a phone: one column, targets that a thumb hits, and an event that opens over the season."""

from __future__ import annotations

from itertools import pairwise

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from tests.browser.browsing import NARROW, Browsing
from tests.browser.looking import listed, sticks_out, too_small
from tests.browser.pages import coach_pages, signed_out_pages
from tests.browser.stage import Stage

pytestmark = pytest.mark.browser


def test_no_page_scrolls_sideways_and_a_thumb_hits_every_target(
    stage: Stage, browsing: Browsing
) -> None:
    browsing.may_refuse(404, 410)
    wide, small = {}, {}
    for page, addresses in (
        (browsing.open(width=NARROW[0], touch=True), signed_out_pages()),
        (browsing.open(stage.cast.coach, width=NARROW[0], touch=True), coach_pages(stage)),
    ):
        for name, address in addresses.items():
            page.goto(address)
            if found := sticks_out(page):
                wide[name] = found
            if found := too_small(page, touch=True):
                small[name] = found

    assert not wide, listed(wide)
    assert not small, listed(small)


def test_the_season_is_one_column_of_weeks(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach, width=NARROW[0], touch=True)
    page.goto(reverse("season", args=[stage.working_copy.pk]))

    boxes = page.evaluate(
        """() => [...document.querySelectorAll("[data-week]")].map((week) => {
          const box = week.getBoundingClientRect();
          return {left: box.left, top: box.top, bottom: box.bottom};
        })"""
    )
    assert len(boxes) == 52
    assert len({box["left"] for box in boxes}) == 1
    for above, below in pairwise(boxes):
        assert above["bottom"] <= below["top"] + 0.5


def test_the_season_opens_at_the_current_week(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach, width=NARROW[0], touch=True)
    page.goto(reverse("season", args=[stage.working_copy.pk]))

    current = page.locator("[aria-current=date]")
    expect(current).to_have_attribute("data-week", "2027-W08")
    expect(current.get_by_role("heading")).to_contain_text("this week")
    expect(current).to_be_in_viewport()


def test_a_tap_opens_an_event_over_the_whole_screen_and_close_leads_back(
    stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach, width=NARROW[0], touch=True)
    page.goto(reverse("season", args=[stage.working_copy.pk]))
    card = page.locator("#planner").get_by_role("link", name="Buttercup Week")
    card.scroll_into_view_if_needed()
    card.tap()

    title = page.get_by_role("heading", name="Buttercup Week", level=2)
    expect(title).to_be_in_viewport()
    panel = page.locator("#panel")
    assert panel.evaluate("e => getComputedStyle(e).position") == "fixed"
    box = panel.bounding_box()
    assert box
    assert (box["x"], box["width"]) == (0, 390)
    assert sticks_out(page) == []
    assert too_small(page, touch=True) == []

    page.get_by_role("link", name="Close").tap()
    expect(title).to_have_count(0)
    expect(panel).to_be_hidden()
    expect(card).to_be_in_viewport()
