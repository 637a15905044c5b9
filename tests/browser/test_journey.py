"""The whole way of a coach: from signing in to a season laid out, read off the page."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
import time
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from seasonplan.settings import ROOT
from tests.browser.reading import read_season
from tests.browser.stage import CALENDAR
from tests.conftest import Cast
from tests.factories import PASSWORD, sign_up

pytestmark = pytest.mark.browser

TARGETS = ("Vineyard Lane Cup", "Greensward Championships", "Tide Table Week")
EXAM_WEEK = "2027-W23"


def first_days() -> dict[str, date]:
    with CALENDAR.open(newline="") as file:
        return {row["Event"]: date.fromisoformat(row["Start"]) for row in csv.DictReader(file)}


def test_a_coach_goes_from_signing_in_to_a_season_that_the_layout_command_confirms(
    cast: Cast, desktop: Page, tmp_path: Path
) -> None:
    sign_up(cast.coach)
    page = desktop

    # Signs in
    page.goto("/")
    page.get_by_label("Email address").fill(cast.coach.email)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()

    # Adds a player whose home base is Valencia
    page.get_by_role("link", name="Add a player").click()
    page.get_by_label("Name", exact=True).fill("Lia Moreno")
    page.get_by_label("Birth date").fill("2010-03-09")
    page.get_by_label("Find the place").press_sequentially("Valen", delay=20)
    page.get_by_role("button", name="Valencia, Spain").click()
    expect(page.locator("#home-place")).to_contain_text("Valencia, ES")
    page.get_by_label("Surface at home").select_option("clay")
    page.get_by_role("button", name="Add the player").click()
    expect(page.get_by_role("status").filter(has_text="Lia Moreno is saved.")).to_be_visible()
    player_page = page.url

    # Imports the event calendar
    page.get_by_role("link", name="Event calendar").click()
    page.get_by_role("link", name="Import a file").first.click()
    page.get_by_label("CSV, XLSX or iCalendar file").set_input_files(CALENDAR)
    page.get_by_role("button", name="Look at it").click()
    page.get_by_role("button", name="Import: add 133").click()
    expect(page.get_by_role("status").first).to_contain_text("Imported: 133 events added")

    # Starts the season of 2027
    page.goto(player_page)
    page.get_by_label("Name", exact=True).fill("Season 2027")
    page.get_by_label("First day").first.fill("2027-01-04")
    page.get_by_label("Weeks").fill("52")
    page.get_by_role("button", name="Start this season").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Lia Moreno · 2027")
    season_page = page.url

    # Adds a week of exams
    page.goto(player_page)
    page.get_by_text("Add busy days", exact=True).first.click()
    busy = page.locator("form", has=page.get_by_role("button", name="Add busy days"))
    busy.get_by_label("First day").fill("2027-06-07")
    busy.get_by_label("Last day").fill("2027-06-13")
    busy.get_by_label("Reason").fill("Exams")
    busy.get_by_role("button", name="Add busy days").click()

    # Chooses three targets
    page.goto(season_page)
    page.get_by_role("navigation", name="Plan").get_by_role("link", name="Choose events").click()
    for name in TARGETS:
        page.get_by_label(f"Role of {name}").select_option("target")
    page.get_by_role("button", name="Save choices").click()

    # Lays out the season
    button = page.get_by_role("button", name="Lay out the season")
    began = time.monotonic()
    button.click()
    page.locator("[data-event]").first.wait_for()
    seconds = time.monotonic() - began
    print(f"From the click to the new planner: {seconds:.2f} s")
    assert seconds < 10

    season = read_season(page)
    assert len(season.weeks) == 52
    assert sorted(event.name for event in season.targets) == sorted(TARGETS)
    peaks = season.peaks()
    assert all(len(peak) <= 3 for peak in peaks)
    for target in season.targets:
        assert any(set(target.weeks) <= set(peak) for peak in peaks), f"{target.name}: no peak"
        assert {season.weeks[week].phase for week in target.weeks} == {"competition"}
        first = season.block(target.weeks[0])[0]
        before = [week.phase for week in season.weeks[first - 4 : first]]
        assert before == ["pre-competition"] * 4, f"{target.name}: {before}"
    assert [week.phase for week in season.weeks[-2:]] == ["active-rest", "active-rest"]
    exams = next(i for i, week in enumerate(season.weeks) if week.iso == EXAM_WEEK)
    assert season.weeks[exams].busy == ("Exams",)
    assert [event.name for event in season.events if exams in event.weeks] == []

    starts = first_days()
    far = [event for event in season.events if event.flight_hours >= 3]
    assert "Tide Table Week" in [event.name for event in far]
    for event in far:
        assert event.arrival(starts[event.name]) < starts[event.name]
    side = page.get_by_role("complementary", name="About this season")
    expect(side).to_contain_text("Nothing broken.")
    shown = page.locator("[data-value]").get_attribute("data-value")

    # The same season from a file, laid out by the command
    with page.expect_download() as download:
        page.get_by_role("link", name="Download as a season file").click()
    file = tmp_path / "season.json"
    download.value.save_as(file)
    command = [sys.executable, "manage.py", "layout", str(file)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    answer = json.loads(done.stdout)
    assert f"{answer['value']:.1f}" == shown
    assert answer["breaks"] == 0
    assert answer["broken"] == []
    codes = {event["code"]: event["name"] for event in json.loads(file.read_text())["events"]}
    assert [codes[event["code"]] for event in answer["events"]] == [e.name for e in season.events]
