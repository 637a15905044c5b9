"""The chart of a debrief: a drawing that is always there, and one for the pointer on demand."""

from __future__ import annotations

from typing import Literal

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from tests.browser.browsing import Browsing
from tests.browser.looking import axe, repeated_ids, sticks_out, too_small
from tests.conftest import Cast
from tests.debrief.years import a_season, many

pytestmark = pytest.mark.browser


@pytest.fixture
def url(cast: Cast) -> str:
    plan = a_season(cast.ines)
    many(plan, 20)
    return reverse("debrief", args=[plan.pk])


def test_the_chart_for_the_pointer_takes_the_drawings_place(
    url: str, cast: Cast, browsing: Browsing
) -> None:
    page = browsing.open(cast.player)
    page.goto(url)
    drawing = page.get_by_role("img", name="Energy before the event against the result, 20 events")
    expect(drawing).to_be_visible()

    page.get_by_role("button", name="Explore with the pointer").click()

    chart = page.locator(".live-chart")
    expect(chart.locator(".main-svg").first).to_be_visible()
    expect(drawing).to_be_hidden()
    expect(chart.locator(".scatterlayer .point")).to_have_count(20)
    box = chart.bounding_box()
    assert box is not None
    # The layers lie on one another: without their rules they would stand one below the other.
    assert box["height"] < 600
    chart.locator(".scatterlayer .point").first.hover(force=True)
    expect(chart.locator(".hovertext").first).to_contain_text("energy")


def test_on_paper_the_drawing_is_back(url: str, cast: Cast, browsing: Browsing) -> None:
    page = browsing.open(cast.player)
    page.goto(url)
    page.get_by_role("button", name="Explore with the pointer").click()
    expect(page.locator(".live-chart .main-svg").first).to_be_visible()

    page.emulate_media(media="print")

    expect(page.locator("svg.scatter")).to_be_visible()
    expect(page.locator(".live-chart")).to_be_hidden()


def test_the_library_is_not_fetched_before_it_is_asked_for(
    url: str, cast: Cast, browsing: Browsing
) -> None:
    page = browsing.open(cast.player)
    fetched: list[str] = []
    page.on("request", lambda request: fetched.append(request.url))
    page.goto(url)
    page.wait_for_load_state("networkidle")
    assert not any("plotly" in address for address in fetched)


def test_how_to_look_is_asked_by_links(url: str, cast: Cast, browsing: Browsing) -> None:
    page = browsing.open(cast.player)
    page.goto(url)
    page.get_by_role("link", name="against expectation").click()
    page.get_by_role("link", name="role", exact=True).click()
    page.get_by_role("link", name="after the event").click()

    page.wait_for_url("**?energy=after&scale=above&by=role#energy")
    expect(
        page.get_by_role("img", name="Energy after the event against the result, 20 events")
    ).to_be_visible()
    expect(page.locator(".legend")).to_contain_text("open")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_in_a_year_full_of_figures(
    scheme: Literal["light", "dark"], url: str, cast: Cast, browsing: Browsing
) -> None:
    page = browsing.open(cast.player)
    page.goto(url)
    page.emulate_media(color_scheme=scheme)
    for details in page.locator("#figures details").all():
        details.evaluate("details => { details.open = true; }")

    assert repeated_ids(page) == []
    assert axe(page) == []


@pytest.mark.parametrize("width", [1440, 1024, 900, 390, 320])
def test_nothing_sticks_out_of_a_year_full_of_figures(
    width: int, url: str, cast: Cast, browsing: Browsing
) -> None:
    page = browsing.open(cast.player, width=width)
    page.goto(url)

    assert sticks_out(page) == []
    assert too_small(page, touch=False) == []


def test_the_figures_are_there_without_javascript(url: str, cast: Cast, browsing: Browsing) -> None:
    page = browsing.open(cast.player, javascript=False)
    page.goto(url)
    expect(page.locator("svg.scatter .mark")).to_have_count(20)
    expect(page.get_by_role("button", name="Explore with the pointer")).to_be_hidden()
    page.get_by_text("The events as a table").click()
    expect(page.locator("#events-table tbody tr")).to_have_count(20)
