"""A coach changes how a player trains: with the mouse, on a phone, by keyboard, without scripts."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from seasonplan.training.models import PlayerTraining
from seasonplan.training.shaping import free_minutes_of, rules_of, shapes_of
from tests.browser.browsing import NARROW, WIDE, Browsing
from tests.browser.looking import SCHEMES, axe, sticks_out, too_small
from tests.browser.stage import Stage
from tests.conftest import Cast
from tests.factories import TrainingSessionFactory, TrainingWeekFactory

pytestmark = pytest.mark.browser


def training_path(cast: Cast) -> str:
    return reverse("training-shapes", args=[cast.ines.pk])


def kept(cast: Cast) -> PlayerTraining:
    row: PlayerTraining = PlayerTraining.objects.get(player=cast.ines)
    return row


def preview(page: Page) -> str:
    return " ".join(page.locator("#shapes-preview").inner_text().split())


def test_a_coach_changes_a_phase_and_sees_first_what_becomes_of_it(
    stage: Stage, browsing: Browsing
) -> None:
    browsing.may_refuse(422)
    week = TrainingWeekFactory(player=stage.cast.ines, monday="2027-03-01")
    TrainingSessionFactory(week=week, day="2027-03-01")
    page = browsing.open(stage.cast.coach)
    page.goto(reverse("player", args=[stage.cast.ines.pk]))
    page.get_by_role("link", name="Training", exact=True).click()
    page.get_by_role("link", name="Change Preparation").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Preparation: training of Ines Varga")

    page.get_by_label("Hours on court").fill("8")
    page.get_by_role("button", name="Look at it first").click()
    expect(page.locator("#shapes-preview")).to_contain_text("8\xa0h on court in 5 sessions")
    expect(page.locator("#announcer")).to_contain_text("8\xa0h on court in 5 sessions")
    page.get_by_label("Technique").fill("30")
    page.get_by_role("button", name="Look at it first").click()
    expect(page.locator("#shapes-preview")).to_contain_text("are 95: 5 missing")
    page.get_by_role("button", name="Save", exact=True).last.click()

    expect(page.get_by_role("alert").first).to_contain_text("Nothing is saved yet.")
    expect(page.locator("#shares-wrong")).to_have_text("Must add up to 100, and are 95: 5 missing.")
    expect(page.get_by_label("Hours on court")).to_have_value("8")
    page.get_by_label("Power").fill("5")
    page.get_by_role("button", name="Save", exact=True).last.click()

    expect(page.get_by_role("status").first).to_contain_text("Preparation saved.")
    expect(page.get_by_role("main")).to_contain_text("1 week is filled")
    expect(page.get_by_role("link", name="Fill weeks again")).to_be_visible()
    shape = shapes_of(kept(stage.cast), 15)["preparation"]
    assert (shape.on_court_hours, shape.shares["technique"], shape.shares["power"]) == (8, 30, 5)


def test_the_whole_is_done_with_the_keyboard_alone(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(training_path(stage.cast))
    _tab_to(page, "Change the rules")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text(
        "Rules for all weeks: training of Ines Varga"
    )
    _tab_to(page, "Days off a week")
    page.keyboard.press("Control+A")
    page.keyboard.type("2")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").first).to_contain_text("Rules for all weeks saved.")
    assert rules_of(kept(stage.cast)).days_off == 2

    _tab_to(page, "Give the part off court to Sten Staff")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").first).to_contain_text("planned by Sten Staff")
    assert kept(stage.cast).off_court_by_staff


def _tab_to(page: Page, name: str) -> None:
    """Press Tab until the element of this name has the focus, and see that it shows."""
    page.locator("body").press("Home")
    for _ in range(60):
        page.keyboard.press("Tab")
        label = page.evaluate(
            """() => {
                const e = document.activeElement;
                const label = e.labels && e.labels.length ? e.labels[0].textContent : e.textContent;
                return label.replace(/\\s+/g, " ").trim();
            }"""
        )
        if label == name:
            outline = page.evaluate("() => getComputedStyle(document.activeElement).outlineStyle")
            assert outline != "none"
            return
    raise AssertionError(f"Tab never reaches “{name}”")


def test_free_time_is_changed_on_a_phone(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach, width=NARROW[0], touch=True)
    page.goto(training_path(stage.cast))
    assert sticks_out(page) == []
    assert too_small(page, touch=True) == []
    page.get_by_role("link", name="Change the free time").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Free time: training of Ines Varga")
    assert sticks_out(page) == []
    assert too_small(page, touch=True) == []
    wednesday = page.get_by_role("group", name="Wednesday")
    wednesday.get_by_label("Hours").fill("0")
    wednesday.get_by_label("Minutes").fill("45")
    page.get_by_role("button", name="Save", exact=True).last.tap()

    expect(page.get_by_role("status").first).to_contain_text("Free time saved.")
    assert free_minutes_of(kept(stage.cast), 15) == (150, 150, 45, 150, 150, 240, 240)


def test_without_javascript_a_coach_looks_first_goes_back_to_the_usual_and_saves(
    stage: Stage, browsing: Browsing
) -> None:
    PlayerTraining.objects.create(
        player=stage.cast.ines, shapes={"competition": {"effort_last": 8}}, revision=3
    )
    page = browsing.open(stage.cast.coach, javascript=False)
    page.goto(training_path(stage.cast))
    page.get_by_role("link", name="Change Competition").click()
    page.get_by_label("Hours on court").fill("6")
    page.get_by_role("button", name="Look at it first").click()
    assert "6 h on court in 5 sessions" in preview(page)
    expect(page.get_by_label("Hours on court")).to_have_value("6")
    assert kept(stage.cast).revision == 3

    page.get_by_role("button", name="Back to the usual").click()
    expect(page.get_by_label("Effort in the last week")).to_have_value("5.5")
    expect(page.get_by_role("status").first).to_contain_text("Save to keep them.")
    page.get_by_role("button", name="Save", exact=True).last.click()

    expect(page.get_by_role("status").first).to_contain_text("Competition saved.")
    assert kept(stage.cast).shapes == {}


def test_a_reader_sees_all_of_it_and_can_press_nothing(stage: Stage, browsing: Browsing) -> None:
    for person in (stage.cast.guardian, stage.cast.staff, stage.cast.player):
        page = browsing.open(person, width=NARROW[0], touch=True)
        page.goto(training_path(stage.cast))
        expect(page.get_by_role("heading", name="Active rest")).to_be_visible()
        expect(page.get_by_role("main").get_by_role("button")).to_have_count(0)
        assert sticks_out(page) == []


def test_axe_finds_nothing_on_pages_with_mistakes_and_questions(
    stage: Stage, browsing: Browsing
) -> None:
    browsing.may_refuse(422)
    PlayerTraining.objects.create(
        player=stage.cast.ines,
        shapes={"preparation": {"on_court_hours": 12}},
        free_time={"monday": 0, "tuesday": 30},
        off_court_by_staff=True,
    )
    page = browsing.open(stage.cast.coach)
    found = []
    for part in ("preparation", "rules", "free-time", ""):
        if not part:
            page.goto(training_path(stage.cast))
            expect(page.get_by_role("main")).to_contain_text("more hours than years")
        else:
            page.goto(reverse("training-part", args=[stage.cast.ines.pk, part]))
            page.locator("form.limits input[type=number]").first.fill("99")
            page.get_by_role("button", name="Save", exact=True).last.click()
            expect(page.get_by_role("alert").first).to_contain_text("Nothing is saved yet.")
        for (width, height), scheme in zip((WIDE, NARROW), SCHEMES, strict=True):
            page.set_viewport_size({"width": width, "height": height})
            page.emulate_media(color_scheme=scheme)
            found += axe(page)
            assert sticks_out(page) == []
    assert found == []
