"""A season whose events were moved and cancelled says so at every width, until it is put away."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from seasonplan.events.changing import change_events
from tests.browser.browsing import NARROW, WIDE, Browsing
from tests.browser.judging import agrees_with_the_judge
from tests.browser.looking import SCHEMES, axe, sticks_out, text_outside_cards, too_small
from tests.browser.stage import Stage

pytestmark = pytest.mark.browser

CANCELLED = "Terracotta Open"
MOVED = "Sugar Mill Open"


@pytest.fixture
def changed(stage: Stage) -> Stage:
    """The director has cancelled one event of the season and moved another by a week."""
    off, moved = stage.event(CANCELLED), stage.event(MOVED)
    off.cancelled = True
    change_events([off], fields=["cancelled"], by=stage.cast.director)
    moved.start += timedelta(weeks=1)
    moved.end += timedelta(weeks=1)
    change_events([moved], fields=["start", "end"], by=stage.cast.director)
    return stage


@pytest.mark.parametrize("size", [WIDE, (1024, 900), NARROW])
def test_the_changes_are_read_at_every_width_in_both_colours(
    size: tuple[int, int], changed: Stage, browsing: Browsing
) -> None:
    page = browsing.open(changed.cast.coach, width=size[0], touch=size == NARROW)
    page.goto(reverse("season", args=[changed.working_copy.pk]))
    news = page.get_by_role("region", name="Changed in the calendar")
    expect(news).to_contain_text(f"{CANCELLED} was cancelled on 24 Feb")
    expect(news).to_contain_text(f"{MOVED} moved from 6 Dec to 13 Dec on 24 Feb")
    assert sticks_out(page) == []
    assert text_outside_cards(page) == []
    assert too_small(page, touch=size == NARROW) == []
    for scheme in SCHEMES:
        page.emulate_media(color_scheme=scheme)
        assert axe(page) == [], scheme
    agrees_with_the_judge(page)


def test_taking_out_what_was_cancelled_leaves_the_rest_of_the_notice(
    changed: Stage, browsing: Browsing
) -> None:
    page = browsing.open(changed.cast.coach)
    page.goto(reverse("season", args=[changed.working_copy.pk]))
    page.get_by_role("button", name=f"Take out {CANCELLED}").click()
    news = page.get_by_role("region", name="Changed in the calendar")
    expect(news).not_to_contain_text(CANCELLED)
    expect(news).to_contain_text(MOVED)
    agrees_with_the_judge(page)


def test_the_notice_is_put_away_without_scripts(changed: Stage, browsing: Browsing) -> None:
    page = browsing.open(changed.cast.coach, javascript=False)
    page.goto(reverse("season", args=[changed.working_copy.pk]))
    page.get_by_role("button", name="Seen").click()
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    expect(page.get_by_text("Changed in the calendar")).to_have_count(0)
    # The plan in force is a plan of its own.
    page.goto(reverse("season", args=[changed.in_force.pk]))
    expect(page.get_by_text("Changed in the calendar")).to_be_visible()


def test_the_player_reads_of_it_and_has_nothing_to_press(
    changed: Stage, browsing: Browsing
) -> None:
    page = browsing.open(changed.cast.player, width=NARROW[0], touch=True)
    page.goto(reverse("phone"))
    news = page.get_by_role("region", name="Changed in the calendar")
    expect(news).to_contain_text(f"{CANCELLED} was cancelled on 24 Feb.")
    assert news.get_by_role("button").count() == 0
    assert axe(page) == []
