"""No page has anything for axe to find: WCAG 2.2 AA and best practices, in both colour schemes."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page

from seasonplan.events.models import Event
from tests.browser.browsing import NARROW, WIDE, Browsing
from tests.browser.looking import SCHEMES, Scheme, axe, listed, repeated_ids
from tests.browser.pages import coach_pages, signed_out_pages
from tests.browser.stage import Stage, without_home
from tests.conftest import Cast
from tests.factories import AcademyFactory, MembershipFactory, SeasonPlanFactory

pytestmark = pytest.mark.browser


def found_on(page: Page, addresses: dict[str, str]) -> dict[str, list[str]]:
    """What axe finds on these pages, once wide and light, once narrow and dark."""
    found = {}
    for name, address in addresses.items():
        page.goto(address)
        if repeated := repeated_ids(page):
            found[f"{name}, repeated ids"] = repeated
        for (width, height), scheme in zip((WIDE, NARROW), SCHEMES, strict=True):
            look(page, width, height, scheme)
            if wrong := axe(page):
                found[f"{name}, {width}, {scheme}"] = wrong
    return found


def look(page: Page, width: int, height: int, scheme: Scheme) -> None:
    page.set_viewport_size({"width": width, "height": height})
    page.emulate_media(color_scheme=scheme)


def test_axe_finds_nothing_on_any_page_of_a_coach(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach)

    found = found_on(page, coach_pages(stage))

    assert not found, listed(found)


def test_axe_finds_nothing_with_an_event_open_beside_the_season(
    stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(reverse("season", args=[stage.working_copy.pk]))
    page.locator("#planner").get_by_role("link", name="Greensward Championships").first.click()
    page.get_by_role("heading", name="Greensward Championships", level=2).wait_for()

    found = {}
    for width, height in (WIDE, NARROW):
        for scheme in SCHEMES:
            look(page, width, height, scheme)
            if wrong := axe(page):
                found[f"{width}, {scheme}"] = wrong
    assert not found, listed(found)


def test_axe_finds_nothing_on_the_pages_of_a_director(stage: Stage, browsing: Browsing) -> None:
    cast = stage.cast
    page = browsing.open(cast.director)
    membership = cast.coach.memberships.get()

    found = found_on(
        page,
        {
            "people": reverse("people"),
            "new player": reverse("player-new"),
            "member": reverse("member", args=[membership.pk]),
            "removing a member": reverse("member-remove", args=[membership.pk]),
            "season": reverse("season", args=[stage.working_copy.pk]),
        },
    )

    assert not found, listed(found)


def test_axe_finds_nothing_on_the_pages_of_a_player(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.player)

    found = found_on(
        page,
        {
            "own page": reverse("player", args=[stage.cast.ines.pk]),
            "season": reverse("season", args=[stage.in_force.pk]),
            "me": reverse("me"),
        },
    )

    assert not found, listed(found)


def test_axe_finds_nothing_on_the_pages_before_signing_in(stage: Stage, browsing: Browsing) -> None:
    browsing.may_refuse(404, 410)
    page = browsing.open()

    found = found_on(page, signed_out_pages())

    assert not found, listed(found)


def test_axe_finds_nothing_on_the_pages_of_an_academy_that_has_only_begun(
    cast: Cast, browsing: Browsing
) -> None:
    founder = MembershipFactory(academy=AcademyFactory(), role="director").person
    page = browsing.open(founder)

    found = found_on(
        page,
        {
            "players": reverse("home"),
            "people": reverse("people"),
            "event calendar": reverse("calendar"),
            "places": reverse("place-search"),
            "import": reverse("event-import"),
            "me": reverse("me"),
        },
    )

    assert not found, listed(found)


def test_axe_finds_nothing_on_a_season_that_lacks_what_it_needs(
    stage: Stage, browsing: Browsing
) -> None:
    coach, ines = stage.cast.coach, stage.cast.ines
    page = browsing.open(coach)
    fresh = SeasonPlanFactory(player=ines)

    found = found_on(page, {"not laid out": reverse("season", args=[fresh.pk])})
    without_home(stage.cast)
    found |= found_on(
        page,
        {
            "player without a home base": reverse("player", args=[ines.pk]),
            "season without a home base": reverse("season", args=[fresh.pk]),
        },
    )
    elsewhere = SeasonPlanFactory(player=stage.cast.foreign)
    assert not Event.objects.filter(academy=elsewhere.player.academy).exists()
    found |= found_on(
        browsing.open(stage.cast.foreign_coach),
        {
            "season without events": reverse("season", args=[elsewhere.pk]),
            "choosing without events": reverse("choose-events", args=[elsewhere.pk]),
        },
    )
    assert not found, listed(found)


def test_axe_finds_nothing_on_the_pages_for_what_went_wrong(
    stage: Stage, browsing: Browsing
) -> None:
    browsing.may_refuse(403, 404, 422)
    page = browsing.open(stage.cast.player)
    found = found_on(
        page,
        {
            "not found": reverse("season", args=[stage.working_copy.pk]),
            "not allowed": reverse("event-import"),
        },
    )

    coach = browsing.open(stage.cast.coach)
    coach.goto(reverse("limits", args=[stage.working_copy.pk]))
    coach.locator("[name=max_events]").fill("-3")
    coach.get_by_role("button", name="Save limits").last.click()
    coach.get_by_role("alert").wait_for()
    assert not found, listed(found)
    assert axe(coach) == []
