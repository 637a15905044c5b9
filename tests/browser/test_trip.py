"""The page of a trip: wide, narrow, without scripts, and the costs that a coach writes down."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from seasonplan.plans.models import TripCost
from tests.browser.browsing import NARROW, WIDE, Browsing
from tests.browser.looking import SCHEMES, axe, repeated_ids, sticks_out, too_small
from tests.browser.stage import Stage

pytestmark = pytest.mark.browser

FAR = "Sugar Mill Open"
"""In Santo Domingo in December: five zones from Valencia, and hot."""


def trip_of(stage: Stage, name: str = FAR) -> str:
    return reverse("planned-event", args=[stage.working_copy.pk, stage.event(name).pk])


@pytest.mark.parametrize("size", [WIDE, NARROW])
def test_a_trip_is_read_at_every_width_in_both_colours(
    size: tuple[int, int], stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach, width=size[0], touch=size == NARROW)
    page.goto(trip_of(stage))
    expect(page.get_by_role("heading", name="Day by day until the first match")).to_be_visible()
    for part in ("Clock", "Heat", "Altitude", "Surface", "Costs of the trip"):
        expect(page.get_by_role("heading", name=re.compile(f"^{part}")).first).to_be_visible()
    days = page.locator(".trip-days li")
    assert days.count() >= 3
    expect(days.last).to_contain_text("first match possible")
    expect(page.locator("#trip")).to_contain_text("humidity that feels like")
    assert sticks_out(page) == []
    assert repeated_ids(page) == []
    assert too_small(page, touch=size == NARROW) == []
    for scheme in SCHEMES:
        page.emulate_media(color_scheme=scheme)
        assert axe(page) == [], scheme


def test_a_trip_is_opened_from_the_season_and_its_costs_reach_the_season(
    stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(reverse("season", args=[stage.working_copy.pk]))
    before = _figure(page, "Costs known so far")
    page.locator("#planner").get_by_role("link", name=FAR).first.click()
    page.get_by_role("link", name="The whole trip, day by day").click()
    expect(page).to_have_url(re.compile(re.escape(trip_of(stage)) + "$"))
    page.get_by_role("link", name="Set travel and stay").click()
    _write_down(page, travel="640", night="95.50")
    row = TripCost.objects.get(event=stage.event(FAR))
    assert (str(row.travel), str(row.night)) == ("640.00", "95.50")
    expect(page.locator("#trip")).to_contain_text("640.00")
    expect(page.locator("#trip")).to_contain_text("as if reaching the final")
    expect(page.locator("#trip")).not_to_contain_text("Not counted yet")

    page.goto(reverse("season", args=[stage.working_copy.pk]))
    assert _figure(page, "Costs known so far") > before + 640


def test_a_trip_and_its_costs_need_no_scripts(stage: Stage, browsing: Browsing) -> None:
    browsing.may_refuse(422)
    page = browsing.open(stage.cast.coach, width=NARROW[0], javascript=False)
    page.goto(trip_of(stage))
    page.get_by_label(re.compile("bed", re.IGNORECASE)).fill("21:30")
    page.get_by_role("button", name="Count from it").click()
    expect(page.locator("#trip")).to_contain_text("At 21:30 by the local clock")
    page.get_by_role("link", name="Set travel and stay").click()
    _write_down(page, travel="-5", night="80")
    expect(page.get_by_text("greater than or equal to 0")).to_be_visible()
    expect(page.get_by_label(re.compile("^Travel"))).to_have_value("-5")
    _write_down(page, travel="300", night="80")
    expect(page.get_by_role("status").first).to_contain_text("Costs of the trip to Santo Domingo")
    expect(page.locator("#trip")).to_contain_text("300.00")


def test_the_player_reads_the_trip_and_changes_no_cost(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.player, width=NARROW[0], touch=True)
    page.goto(reverse("planned-event", args=[stage.in_force.pk, stage.event(FAR).pk]))
    expect(page.get_by_role("heading", name="Day by day until the first match")).to_be_visible()
    expect(page.get_by_role("link", name="Set travel and stay")).to_have_count(0)
    assert axe(page) == []


def _write_down(page: Page, *, travel: str, night: str) -> None:
    page.get_by_label(re.compile("^Travel")).fill(travel)
    page.get_by_label(re.compile("^A night there")).fill(night)
    page.get_by_role("button", name="Save").click()


def _figure(page: Page, label: str) -> float:
    line = page.locator("#figures dl > div").filter(has_text=label)
    return float(line.locator("dd").first.inner_text().replace(",", ""))
