"""A player sees the plan in force, and nothing to change it with."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from tests.browser.browsing import Browsing
from tests.browser.stage import Stage
from tests.factories import PASSWORD, sign_up

pytestmark = pytest.mark.browser

OF_EVERY_PAGE = ["Sign out"]


def buttons(page: Page) -> list[str]:
    return [button.inner_text() for button in page.get_by_role("button").all()]


def test_a_player_signs_in_and_reads_the_plan_in_force(stage: Stage, phone: Page) -> None:
    sign_up(stage.cast.player)
    page = phone
    page.goto("/")
    page.get_by_label("Email address").fill(stage.cast.player.email)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").tap()

    page.wait_for_url(f"**{reverse('phone')}")
    page.get_by_role("link", name="Season", exact=True).tap()
    page.get_by_role("link", name="The whole year as a planner").tap()
    page.wait_for_url(f"**{reverse('season', args=[stage.in_force.pk])}")
    expect(page.get_by_text("In force", exact=True).first).to_be_visible()
    assert buttons(page) == OF_EVERY_PAGE
    expect(page.get_by_text("What if")).to_have_count(0)
    card = page.locator("#planner").get_by_role("link", name="Greensward Championships").first
    card.scroll_into_view_if_needed()
    card.tap()
    title = page.get_by_role("heading", name="Greensward Championships", level=2)
    expect(title).to_be_in_viewport()
    expect(page.locator("#panel")).to_contain_text("arrive")
    assert buttons(page) == OF_EVERY_PAGE
    page.get_by_role("link", name="Close").tap()
    expect(title).to_have_count(0)


def test_the_players_own_page_has_nothing_to_change(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.player)
    page.goto(reverse("player", args=[stage.cast.ines.pk]))

    expect(page.get_by_role("link", name="Season 2027")).to_be_visible()
    assert buttons(page) == OF_EVERY_PAGE


def test_a_working_copy_is_not_there_for_a_player(stage: Stage, browsing: Browsing) -> None:
    browsing.may_refuse(404)
    page = browsing.open(stage.cast.player)

    for name in ("season", "limits", "choose-events", "season-file"):
        answer = page.goto(reverse(name, args=[stage.working_copy.pk]))
        assert answer
        assert answer.status == 404
