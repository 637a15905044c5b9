"""The year's load in Chromium: the chart, the rows under the season, and the curve on a press."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Literal

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from seasonplan.plans.models import SeasonPlan
from tests.browser.browsing import NARROW, Browsing
from tests.browser.looking import axe, repeated_ids, sticks_out, too_small
from tests.conftest import Cast
from tests.factories import BlockFactory, SeasonPlanFactory
from tests.training.loads import log_week, plan_and_log, plan_week, plan_whole

pytestmark = pytest.mark.browser

START = date(2027, 1, 4)
CURVE = "Illustrative curve with textbook constants, by two sets of them"


@pytest.fixture
def plan(cast: Cast) -> SeasonPlan:
    """A year of weeks planned, six of them done, the seventh with a day that is not known."""
    made: SeasonPlan = SeasonPlanFactory(player=cast.ines, standing="in force")
    BlockFactory(plan=made, weeks=10)
    BlockFactory(plan=made, phase="pre-competition", start=START + timedelta(weeks=10), weeks=6)
    BlockFactory(plan=made, phase="competition", start=START + timedelta(weeks=16), weeks=12)
    plan_and_log(cast.ines, START, 6)
    plan_week(cast.ines, START + timedelta(weeks=6), (600, 600, None, 600, 600, 600, None))
    log_week(cast.ines, START + timedelta(weeks=6), (600, 600, None, 600, 600, None, None))
    plan_whole(cast.ines, START + timedelta(weeks=7), 45)
    return made


@pytest.fixture
def url(plan: SeasonPlan) -> str:
    return reverse("training-load", args=[plan.player_id])


def open_all(page: Page) -> None:
    for details in page.locator("main details").all():
        details.evaluate("details => { details.open = true; }")


def test_the_chart_for_the_pointer_takes_the_drawings_place(
    url: str, cast: Cast, browsing: Browsing
) -> None:
    page = browsing.open(cast.coach)
    page.goto(url)
    drawing = page.get_by_role("img", name="Planned and done load of each week")
    expect(drawing).to_be_visible()
    expect(drawing.locator(".load-planned")).to_have_count(52)
    expect(drawing.locator(".load-done")).to_have_count(7)

    page.get_by_role("button", name="Explore with the pointer").click()

    chart = page.locator(".live-chart")
    expect(chart.locator(".main-svg").first).to_be_visible()
    expect(drawing).to_be_hidden()
    bars = chart.locator(".barlayer .trace").nth(1).locator(".point path[d]")
    bars.first.hover(force=True)
    expect(chart.locator(".hovertext").first).to_contain_text("done 2,400")


def test_the_library_is_not_fetched_before_it_is_asked_for(
    url: str, cast: Cast, browsing: Browsing
) -> None:
    page = browsing.open(cast.coach)
    fetched: list[str] = []
    page.on("request", lambda request: fetched.append(request.url))
    page.goto(url)
    page.wait_for_load_state("networkidle")
    assert not any("plotly" in address for address in fetched)


def test_the_curve_comes_on_a_press_with_its_caution_and_goes_again(
    url: str, cast: Cast, browsing: Browsing
) -> None:
    page = browsing.open(cast.player)
    page.goto(url)
    expect(page.get_by_role("img", name=CURVE)).to_have_count(0)

    page.get_by_role("link", name="Show the curve").click()

    expect(page.get_by_role("img", name=CURVE)).to_be_visible()
    expect(page.get_by_text("not fitted to you. Not a forecast of results")).to_be_visible()
    page.get_by_role("link", name="Put the curve away").click()
    expect(page.get_by_role("img", name=CURVE)).to_have_count(0)


def test_the_rows_come_under_the_season_and_lead_to_the_page(
    plan: SeasonPlan, cast: Cast, browsing: Browsing
) -> None:
    page = browsing.open(cast.coach)
    page.goto(reverse("season", args=[plan.pk]))
    leading = page.get_by_role("link", name="The load of the season, week by week")
    leading.scroll_into_view_if_needed()
    leading.focus()
    rows = page.locator("#load-rows")

    expect(rows.get_by_role("table")).to_have_count(4)
    expect(rows.get_by_role("row", name="Planned 2,400").first).to_be_visible()
    assert repeated_ids(page) == []
    assert axe(page) == []
    expect(leading).to_be_focused()
    leading.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Training load of Ines Varga, 2027")


def test_without_javascript_the_season_leads_to_the_load_by_a_link(
    plan: SeasonPlan, cast: Cast, browsing: Browsing
) -> None:
    page = browsing.open(cast.coach, javascript=False)
    page.goto(reverse("season", args=[plan.pk]))
    page.get_by_role("link", name="The load of the season, week by week").click()
    expect(page.get_by_role("img", name="Planned and done load of each week")).to_be_visible()
    expect(page.get_by_role("button", name="Explore with the pointer")).to_be_hidden()
    page.get_by_text("The weeks as a table").click()
    expect(page.locator("#weeks tbody tr:not(.load-block)")).to_have_count(52)
    page.get_by_role("link", name="Show the curve").click()
    expect(page.get_by_role("img", name=CURVE)).to_be_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1440, NARROW[0]])
def test_axe_finds_nothing_in_a_year_of_load(
    width: int,
    scheme: Literal["light", "dark"],
    url: str,
    cast: Cast,
    browsing: Browsing,
) -> None:
    page = browsing.open(cast.player, width=width)
    page.emulate_media(color_scheme=scheme)
    page.goto(f"{url}?curve")
    open_all(page)
    assert repeated_ids(page) == []
    assert axe(page) == []


@pytest.mark.parametrize("width", [1440, 1024, 390, 320])
def test_nothing_sticks_out_of_a_year_of_load(
    width: int, plan: SeasonPlan, url: str, cast: Cast, browsing: Browsing
) -> None:
    touch = width < 500
    page = browsing.open(cast.coach, width=width, touch=touch)
    page.goto(f"{url}?curve")
    open_all(page)
    assert sticks_out(page) == []
    assert too_small(page, touch=touch) == []

    page.goto(reverse("season", args=[plan.pk]))
    page.get_by_role("heading", name="Training load").scroll_into_view_if_needed()
    expect(page.locator("#load-rows table")).to_have_count(4)
    assert sticks_out(page) == []
    assert too_small(page, touch=touch) == []
