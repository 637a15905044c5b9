"""What events cost: the rows arrive one by one, by pointer, keyboard and touch, and without JS."""

from __future__ import annotations

import pytest
from django.conf import LazySettings
from django.urls import reverse
from playwright.sync_api import Page, expect

from tests.browser.browsing import NARROW, Browsing
from tests.browser.looking import axe, repeated_ids, sticks_out, too_small
from tests.browser.stage import Stage

pytestmark = pytest.mark.browser

LONG_MS = 60_000


@pytest.fixture(autouse=True)
def _time_enough(settings: LazySettings) -> None:
    settings.LAYOUT_SECONDS = 30


def prices_of(stage: Stage, part: str = "") -> str:
    path = reverse("plan-prices", args=[stage.working_copy.pk])
    return f"{path}?part={part}#{part}" if part else path


def has_arrived(page: Page) -> None:
    expect(page.locator(".prices-found .table")).to_be_visible(timeout=LONG_MS)


def is_sound(page: Page, *, touch: bool = False) -> None:
    assert axe(page) == []
    assert repeated_ids(page) == []
    assert sticks_out(page) == []
    assert too_small(page, touch=touch) == []


@pytest.mark.parametrize("javascript", [True, False], ids=["script", "no script"])
def test_rows_arrive_before_the_last_one_is_found(
    stage: Stage, browsing: Browsing, javascript: bool
) -> None:
    page = browsing.open(stage.cast.coach, javascript=javascript)
    page.goto(prices_of(stage, "candidates"), wait_until="commit")
    arriving = page.locator(".prices-arriving tbody tr")
    expect(arriving.first).to_be_visible(timeout=LONG_MS)
    expect(page.get_by_text("each row is shown as soon as it is found")).to_be_visible()
    assert page.locator(".prices-found").count() == 0

    has_arrived(page)
    expect(page.locator(".prices-arriving")).to_be_hidden()
    rows = page.locator(".prices-found tbody tr")
    assert rows.count() == arriving.count() > 5
    broken = rows.locator("td:nth-child(3)").all_inner_texts()
    possible = [int(text.replace("−", "-")) for text in broken if text != "–"]
    assert possible == sorted(possible)
    assert broken[len(possible) :] == ["–"] * (len(broken) - len(possible))


def test_a_coach_comes_from_the_season_and_puts_the_cheapest_in(
    stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(reverse("season", args=[stage.working_copy.pk]))
    page.get_by_role("link", name="What does each event cost?").click()
    page.get_by_role("link", name="Price all", exact=False).first.click()
    has_arrived(page)
    expect(page.locator("#announcer")).to_contain_text("proven best")
    expect(page.get_by_text("Counted from the best season")).to_be_visible()
    is_sound(page)
    button = page.locator(".prices-found").get_by_role("button", name="Put in", exact=False).first
    name = button.inner_text().replace("\n", " ").removeprefix("Put in").strip()

    button.click()

    expect(page.get_by_role("status").first).to_contain_text(f"Put in {name}.")
    played = stage.working_copy.planned_events.filter(played=True)
    assert played.filter(event__name=name).exists()


def test_one_price_by_keyboard_keeps_the_focus(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(prices_of(stage))
    page.locator("#played summary").focus()
    page.keyboard.press("Enter")
    for _ in range(2):  # the first event's name, then its question
        page.keyboard.press("Tab")
    ask = page.locator("#played a.button-small").first
    expect(ask).to_be_focused()
    page.keyboard.press("Enter")
    answer = page.locator("#played .price").first
    expect(answer).to_contain_text("of revision", timeout=LONG_MS)
    expect(page.locator("#announcer")).not_to_be_empty()
    said = page.locator("#announcer").inner_text()
    expect(answer).to_contain_text(said)
    again = answer.get_by_role("link", name="Ask again", exact=False)
    expect(again).to_be_focused()


def test_the_panel_asks_for_a_price_and_a_stand_in(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(reverse("season", args=[stage.working_copy.pk]))
    page.locator("#planner").get_by_role("link", name="Linden Cup").first.click()
    panel = page.locator("#panel")
    panel.get_by_role("link", name="What would leaving it out cost?", exact=False).click()
    expect(panel.locator(".price").first).to_contain_text("Linden Cup would", timeout=LONG_MS)
    panel.get_by_role("link", name="Best stand-in in the same week", exact=False).click()
    expect(panel.locator("ol li").first).to_contain_text("instead of Linden Cup", timeout=LONG_MS)
    is_sound(page)
    put_in = panel.locator("ol").get_by_role("button").first
    name = put_in.inner_text().replace("\n", " ").removeprefix("Put in").strip()

    put_in.click()

    expect(page.locator("#announcer")).to_contain_text(f"Put in {name}")
    expect(page.locator("#planner").get_by_role("link", name=name).first).to_be_visible()


def test_on_a_phone_prices_and_stand_ins_fit(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach, width=NARROW[0], touch=True)
    page.goto(prices_of(stage, "limits"))
    has_arrived(page)
    is_sound(page, touch=True)
    ask = page.locator("#stand-ins a.button-small").first
    ask.tap()
    expect(page.locator("#stand-ins .price").first).to_contain_text("Ask again", timeout=LONG_MS)
    is_sound(page, touch=True)
