"""Three shapes of a season: asked for, compared, and one taken as a working copy."""

from __future__ import annotations

from typing import Literal

import pytest
from django.conf import LazySettings
from django.urls import reverse
from playwright.sync_api import Page, expect

from seasonplan.plans.models import SeasonPlan
from tests.browser.browsing import Browsing
from tests.browser.looking import axe, repeated_ids, sticks_out, too_small
from tests.browser.stage import Stage

pytestmark = pytest.mark.browser

LONG_MS = 60_000


@pytest.fixture(autouse=True)
def _time_enough(settings: LazySettings) -> None:
    settings.LAYOUT_SECONDS = 25


def ask(page: Page, stage: Stage) -> None:
    page.goto(reverse("plan-shapes", args=[stage.working_copy.pk]))
    page.get_by_role("button", name="Work out the shapes").click()
    expect(page.get_by_role("heading", name="Three shapes beside your plan")).to_be_visible(
        timeout=LONG_MS
    )


def test_a_coach_asks_chooses_one_and_lands_in_the_copy(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(reverse("season", args=[stage.working_copy.pk]))
    page.get_by_role("link", name="Lighter, balanced or fuller?").click()
    page.get_by_role("button", name="Work out the shapes").click()
    expect(page.get_by_text("Working out: dozens of seasons")).to_be_visible()
    table = page.locator(".shapes-table")
    expect(table).to_be_visible(timeout=LONG_MS)
    expect(page.locator("#announcer")).to_contain_text("The shapes are worked out.")
    heads = [text.split()[0] for text in table.get_by_role("columnheader").all_inner_texts()]
    at = heads.index("Lighter")
    events = table.get_by_role("row", name="Events", exact=False).first
    number = events.get_by_role("cell").nth(at).inner_text()

    page.get_by_role("button", name="Make a working copy of the lighter shape").click()

    expect(page.get_by_role("status").first).to_contain_text("This is a working copy, “What if,")
    copy = SeasonPlan.objects.latest("pk")
    assert page.url.endswith(reverse("season", args=[copy.pk]))
    assert copy.planned_events.filter(played=True).count() == int(number)
    expect(page.locator("#figures")).to_contain_text(number)


def test_the_chart_for_the_pointer_comes_with_the_answer(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach)
    ask(page, stage)
    drawing = page.get_by_role("img", name="The best value of a season")
    points = drawing.locator(".mark").count()
    page.get_by_role("button", name="Explore with the pointer").click()

    chart = page.locator(".live-chart")
    expect(chart.locator(".scatterlayer .point")).to_have_count(points)
    expect(drawing).to_be_hidden()
    chart.locator(".scatterlayer .point").first.hover(force=True)
    expect(chart.locator(".hovertext").first).to_contain_text("value")


@pytest.mark.parametrize(("width", "scheme"), [(1440, "light"), (390, "dark")])
def test_axe_finds_nothing_and_nothing_sticks_out(
    width: int, scheme: Literal["light", "dark"], stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach, width=width, touch=width == 390)
    page.emulate_media(color_scheme=scheme)
    ask(page, stage)
    page.get_by_text("The curve as a table").click()
    for what in ("shapes", "matches"):
        if what == "matches":
            page.goto(reverse("plan-matches", args=[stage.working_copy.pk]))
            page.get_by_text("The matches as a table").click()
        assert repeated_ids(page) == []
        assert axe(page) == []
        assert sticks_out(page) == []
        assert too_small(page, touch=width == 390) == []


def test_without_javascript_the_same_is_asked_and_taken(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach, javascript=False)
    page.set_default_timeout(LONG_MS)
    ask(page, stage)
    expect(page.locator("svg.scatter")).to_be_visible()
    page.get_by_role("button", name="Make a working copy of the balanced shape").click()
    expect(page.get_by_role("status").first).to_contain_text("This is a working copy")


def test_win_chances_are_set_beside_the_bands(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(reverse("season", args=[stage.working_copy.pk]))
    page.get_by_role("link", name="What the matches may do to it").click()
    bands = page.locator(".match-bands")
    before = bands.inner_text()
    page.get_by_label("Events of level “national”").fill("75")
    page.get_by_role("button", name="Save the chances").click()
    expect(page.get_by_role("status").first).to_contain_text("The win chances are saved")
    expect(bands).not_to_have_text(before)
    expect(page.get_by_label("Events of level “national”")).to_have_value("75")
