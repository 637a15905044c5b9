"""Nothing is cut off, and no page scrolls sideways, from a wide screen to a narrow phone."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.browser.browsing import Browsing
from tests.browser.looking import listed, sticks_out, text_outside_cards, too_small
from tests.browser.pages import coach_pages
from tests.browser.stage import Stage

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("width", [1440, 1024, 390])
def test_no_word_of_an_event_lies_outside_its_card(
    width: int, stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach, width=width)
    page.goto(reverse("season", args=[stage.working_copy.pk]))

    assert page.locator("[data-event]").count() >= 15
    assert text_outside_cards(page) == []


def test_no_page_scrolls_sideways_and_every_target_has_24_pixels(
    stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach)
    wide, small = {}, {}
    for name, address in coach_pages(stage).items():
        page.goto(address)
        if found := too_small(page, touch=False):
            small[name] = found
        # 320 px is what WCAG 2.2, 1.4.10, asks of a page at 400 %.
        for width in (1440, 1024, 900, 320):
            page.set_viewport_size({"width": width, "height": 900})
            if found := sticks_out(page):
                wide[f"{name}, {width}"] = found

    assert not wide, listed(wide)
    assert not small, listed(small)
