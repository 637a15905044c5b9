"""With scripts switched off every change is a plain form, and says what came of it."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from seasonplan.academy.models import Player
from seasonplan.events.models import Event
from seasonplan.plans.models import PlannedEvent
from tests.browser.browsing import Browsing
from tests.browser.stage import Stage

pytestmark = pytest.mark.browser


def test_targets_are_chosen_and_the_season_is_laid_out(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach, javascript=False)
    page.goto(reverse("season", args=[stage.working_copy.pk]))
    page.get_by_role("navigation", name="Plan").get_by_role("link", name="Choose events").click()
    page.get_by_label("Role of Tide Table Week").select_option("open")
    page.get_by_label("Worth of Sugar Mill Open").fill("31")
    page.get_by_label("Terracotta Open in the plan").select_option("ruled out")
    page.get_by_role("button", name="Save choices").click()
    expect(page.get_by_role("status").first).to_contain_text("Saved 3 changed events.")

    page.get_by_role("button", name="Lay out again").click()

    expect(page.get_by_role("status").first).to_contain_text("Laid out:")
    planner = page.locator("#planner")
    expect(planner.get_by_role("link", name="Greensward Championships").first).to_be_visible()
    expect(planner.get_by_role("link", name="Terracotta Open")).to_have_count(0)
    rows = PlannedEvent.objects.filter(plan=stage.working_copy)
    assert rows.get(event__name="Sugar Mill Open").worth == 31


def test_an_event_has_a_page_of_its_own_and_its_form_saves(
    stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach, javascript=False)
    page.goto(reverse("season", args=[stage.working_copy.pk]))
    page.locator("#planner").get_by_role("link", name="Buttercup Week").click()
    page.get_by_label("Role", exact=True).select_option("build-up")
    page.get_by_label("Entry", exact=True).select_option("accepted")
    page.get_by_role("button", name="Save").click()

    expect(page.get_by_role("status").first).to_have_text("Buttercup Week saved.")
    row = PlannedEvent.objects.get(plan=stage.working_copy, event__name="Buttercup Week")
    assert (row.role, row.entry) == ("build-up", "accepted")


def test_limits_are_filled_in_from_a_preset_and_saved(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach, javascript=False)
    page.goto(reverse("limits", args=[stage.working_copy.pk]))
    page.get_by_role("button", name="Developing").click()
    expect(page.get_by_role("status").first).to_contain_text("Save to keep them.")
    page.locator("[name=max_events]").fill("9")
    page.get_by_role("button", name="Save limits").last.click()

    expect(page.get_by_role("status").first).to_contain_text("Limits saved.")
    stage.working_copy.refresh_from_db()
    assert stage.working_copy.parsed_limits.max_events == 9


def test_a_calendar_is_imported_and_the_import_undone(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach, javascript=False)
    page.goto(reverse("event-import"))
    page.get_by_label("CSV, XLSX or iCalendar file").set_input_files(
        {
            "name": "winter.csv",
            "mimeType": "text/csv",
            "buffer": b"event,city,start,end,surface\n"
            b"Harbour Wall Cup,Porto,2027-10-04,2027-10-10,clay\n",
        }
    )
    page.get_by_role("button", name="Look at it").click()
    page.get_by_role("button", name="Import: add 1").click()
    expect(page.get_by_role("status").first).to_contain_text("Imported: 1 event added")
    assert Event.objects.filter(name="Harbour Wall Cup").count() == 1

    page.get_by_role("button", name="Undo this import").click()

    expect(page.get_by_role("status").first).to_contain_text("Undone: 1 event taken off")
    assert not Event.objects.filter(name="Harbour Wall Cup").exists()


def test_a_player_is_added_with_a_home_base_found_by_its_name(
    stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach, javascript=False)
    page.goto(reverse("player-new"))
    page.get_by_label("Name", exact=True).fill("Lia Moreno")
    page.get_by_label("Find the place").fill("Gothenburg")
    page.get_by_role("button", name="Find", exact=True).click()
    page.get_by_role("button", name="Gothenburg, Sweden").first.click()
    page.get_by_role("button", name="Add the player").click()

    expect(page.get_by_role("status").first).to_have_text("Lia Moreno is saved.")
    added = Player.objects.get(name="Lia Moreno")
    assert (added.home_base.country, added.home_base.timezone) == ("SE", "Europe/Stockholm")
