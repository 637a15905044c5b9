"""The week of training in a browser: filled, changed by pointer, keyboard, thumb and without a
script, by two coaches at once, and looked at by the player."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse
from playwright.sync_api import CDPSession, Locator, Page, expect

from seasonplan.training.models import TrainingSession, TrainingWeek
from tests.browser.browsing import NARROW, Browsing
from tests.browser.looking import SCHEMES, axe, listed, repeated_ids, sticks_out, too_small
from tests.browser.stage import Stage
from tests.factories import SessionLogFactory, TrainingSessionFactory, TrainingWeekFactory

pytestmark = pytest.mark.browser

MONDAY = "2027-03-01"


def week_of(stage: Stage, monday: str = MONDAY) -> str:
    return reverse("training-week", args=[stage.cast.ines.pk, monday])


def day(page: Page, iso: str) -> Locator:
    return page.locator(f"#day-{iso}")


def session(page: Page, name: str) -> Locator:
    return page.locator("[data-session]", has_text=name)


def is_at(page: Page, revision: int) -> None:
    expect(page.locator("#revision")).to_have_value(str(revision))


def two_sessions(stage: Stage) -> None:
    """Serve blocks on Tuesday, before an easy run; nothing else."""
    week = TrainingWeekFactory(player=stage.cast.ines, monday="2027-03-01")
    TrainingSessionFactory(week=week, day="2027-03-02", name="Serve blocks")
    TrainingSessionFactory(
        week=week, day="2027-03-02", order=1, name="Easy run", court="off court",
        emphasis="endurance", minutes=30, effort=4,
    )  # fmt: skip


def middle(place: Locator) -> tuple[float, float]:
    box = place.bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + min(box["height"] / 2, 60)


def drag(page: Page, what: Locator, to: Locator, *, drop: bool = True) -> None:
    what.scroll_into_view_if_needed()
    x, y = middle(what)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 10, y + 10)
    page.mouse.move(*middle(to), steps=4)
    expect(to).to_have_attribute("data-drop", re.compile("Mar"))
    if drop:
        page.mouse.up()


def test_a_coach_fills_a_block_and_moves_a_session_by_pointer(
    stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(week_of(stage))
    expect(page.get_by_text("Nothing planned yet")).to_be_visible()
    board = page.locator("#week-days").bounding_box()

    page.get_by_role("button", name="Fill the rest of the block").click()
    is_at(page, 1)
    expect(page.locator("#week-undo")).to_contain_text("Filled 5 weeks of the block")
    assert TrainingWeek.objects.filter(player=stage.cast.ines).count() == 5
    expect(page.get_by_text("Nothing planned yet")).to_have_count(0)
    after = page.locator("#week-days").bounding_box()
    assert board and after and (board["x"], board["y"]) == (after["x"], after["y"])

    from_day = page.locator(".day:has([data-session])").first
    first = from_day.locator("[data-session]").first
    name, key = first.get_attribute("data-name"), first.get_attribute("data-session")
    to = page.locator(".day").nth(6)
    drag(page, first, to)
    is_at(page, 2)
    expect(to.locator(f"#session-{key}")).to_be_visible()
    expect(page.locator("#undo")).to_have_text(f"Undo: Moved {name} to Sun 7 Mar")
    expect(page.locator("#panel.is-open")).to_have_count(0)

    page.locator("#undo").click()
    is_at(page, 3)
    expect(from_day.locator(f"#session-{key}")).to_be_visible()
    expect(page.locator("#undo")).to_have_text(re.compile("^Do again: "))

    page.reload()
    expect(from_day.locator(f"#session-{key}")).to_be_visible()


def test_escape_and_a_drop_where_it_was_leave_everything_as_it_was(
    stage: Stage, browsing: Browsing
) -> None:
    two_sessions(stage)
    page = browsing.open(stage.cast.coach)
    page.goto(week_of(stage))

    drag(page, session(page, "Serve blocks"), day(page, "2027-03-05"), drop=False)
    page.keyboard.press("Escape")
    page.mouse.up()

    expect(page.locator("#announcer")).to_have_text("Serve blocks stays where it was.")
    assert page.locator("[data-drop], .drop-before, .is-dragged, .drag-ghost").count() == 0
    is_at(page, 1)
    expect(page.locator("#panel.is-open")).to_have_count(0)


def test_a_drop_between_two_sessions_puts_it_there(stage: Stage, browsing: Browsing) -> None:
    two_sessions(stage)
    page = browsing.open(stage.cast.coach)
    page.goto(week_of(stage))
    box = session(page, "Serve blocks").bounding_box()
    assert box

    x, y = middle(session(page, "Easy run"))
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 10, y + 10)
    page.mouse.move(box["x"] + 40, box["y"] + 6, steps=3)
    expect(page.locator(".drop-before")).to_contain_text("Serve blocks")
    page.mouse.up()

    is_at(page, 2)
    names = day(page, "2027-03-02").locator("h3").all_inner_texts()
    assert names == ["Easy run", "Serve blocks"]


def test_a_session_is_moved_opened_changed_and_removed_by_keyboard(
    stage: Stage, browsing: Browsing
) -> None:
    two_sessions(stage)
    page = browsing.open(stage.cast.coach)
    page.goto(week_of(stage))
    link = session(page, "Serve blocks").get_by_role("link")

    link.focus()
    page.keyboard.press("Shift+ArrowRight")
    is_at(page, 2)
    expect(day(page, "2027-03-03").get_by_role("link", name="Serve blocks")).to_be_focused()
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    is_at(page, 4)
    expect(day(page, "2027-03-05").get_by_role("link", name="Serve blocks")).to_be_focused()

    page.keyboard.press("ArrowLeft")
    expect(page.get_by_role("link", name="Easy run")).to_be_focused()
    page.keyboard.press("ArrowDown")
    expect(page.get_by_role("link", name="Serve blocks")).to_be_focused()

    page.keyboard.press("Enter")
    expect(page.locator("#panel-title")).to_be_focused()
    minutes = page.locator("#panel").get_by_label("Minutes")
    minutes.fill("0")
    minutes.press("Enter")
    browsing.may_refuse(422)
    expect(page.locator("#panel .wrong")).to_have_text("Give a whole number from 1 to 600.")
    expect(minutes).to_be_focused()
    minutes.fill("75")
    minutes.press("Enter")
    is_at(page, 5)
    expect(session(page, "Serve blocks")).to_contain_text("75 min")

    page.keyboard.press("Escape")
    expect(page.get_by_role("link", name="Serve blocks")).to_be_focused()
    page.keyboard.press("Delete")
    is_at(page, 6)
    expect(session(page, "Serve blocks")).to_have_count(0)
    page.keyboard.press("Control+z")
    is_at(page, 7)
    expect(session(page, "Serve blocks")).to_contain_text("75 min")


def test_presses_in_a_row_wait_for_one_another(stage: Stage, browsing: Browsing) -> None:
    two_sessions(stage)
    page = browsing.open(stage.cast.coach)
    page.goto(week_of(stage))

    page.evaluate(
        """() => {
          const key = document.querySelector("[data-session]").dataset.session;
          for (const day of ["2027-03-03", "2027-03-04", "2027-03-05"])
            document.dispatchEvent(
              new CustomEvent("week:do", { detail: { words: `move ${key} ${day}` } }));
        }"""
    )

    is_at(page, 4)
    expect(day(page, "2027-03-05")).to_contain_text("Serve blocks")


def test_a_session_is_put_in_and_the_week_is_noted(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(week_of(stage))

    day(page, "2027-03-06").get_by_role("link", name="Put in a session").click()
    panel = page.locator("#panel")
    panel.get_by_label("Session").select_option("serve-workshop")
    panel.get_by_role("button", name="Put in").first.click()
    is_at(page, 1)
    expect(day(page, "2027-03-06")).to_contain_text("Serve workshop")

    panel.get_by_text("In your own words").click()
    panel.get_by_label("Name").fill("Boat race")
    own = panel.locator("form").last
    own.get_by_label("Minutes").fill("120")
    own.get_by_label("Effort").fill("5")
    own.get_by_role("button", name="Put in").click()
    is_at(page, 2)
    expect(day(page, "2027-03-06")).to_contain_text("Boat race")

    page.get_by_label("Note of the week").fill("Two exams")
    page.get_by_role("button", name="Keep the note").click()
    is_at(page, 3)
    expect(page.get_by_label("Note of the week")).to_have_value("Two exams")


class Finger:
    """A finger on the glass, by the protocol of the browser: Playwright knows taps alone."""

    def __init__(self, page: Page) -> None:
        self.devtools: CDPSession = page.context.new_cdp_session(page)

    def _touch(self, kind: str, *points: tuple[float, float]) -> None:
        at = [{"x": x, "y": y} for x, y in points]
        self.devtools.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": at})

    def drag(self, start: tuple[float, float], *way: tuple[float, float]) -> None:
        self._touch("touchStart", start)
        for point in way:
            self._touch("touchMove", point)
        self._touch("touchEnd")


def test_a_week_is_changed_by_thumb(stage: Stage, browsing: Browsing) -> None:
    two_sessions(stage)
    page = browsing.open(stage.cast.coach, width=NARROW[0], touch=True)
    page.goto(week_of(stage))
    assert sticks_out(page) == []
    assert too_small(page, touch=True) == []

    grip = session(page, "Serve blocks").locator("[data-grip]")
    grip.scroll_into_view_if_needed()
    day(page, "2027-03-02").evaluate("e => scrollBy(0, e.getBoundingClientRect().top - 120)")
    start, to = middle(grip), middle(day(page, "2027-03-03"))
    Finger(page).drag(start, (start[0] - 20, start[1] + 30), to)
    is_at(page, 2)
    expect(day(page, "2027-03-03")).to_contain_text("Serve blocks")

    page.get_by_role("link", name="Serve blocks").tap()
    panel = page.locator("#panel")
    expect(panel.get_by_role("button", name="Save")).to_be_visible()
    assert sticks_out(page) == []
    assert too_small(page, touch=True) == []
    panel.get_by_role("button", name="Move to Fri 5 Mar").tap()
    is_at(page, 3)
    expect(day(page, "2027-03-05")).to_contain_text("Serve blocks")
    panel.get_by_role("button", name="Repeat on Sat 6 Mar").tap()
    is_at(page, 4)
    panel.get_by_role("button", name="Remove").tap()
    is_at(page, 5)
    expect(page.locator("#panel.is-open")).to_have_count(0)
    rows = TrainingSession.objects.order_by("day").values_list("name", "day")
    assert [(name, f"{at:%a}") for name, at in rows] == [
        ("Easy run", "Tue"),
        ("Serve blocks", "Sat"),
    ]


def test_two_at_once_are_told_and_nothing_typed_is_lost(stage: Stage, browsing: Browsing) -> None:
    browsing.may_refuse(409)
    two_sessions(stage)
    stage.cast.ines.team.add(stage.cast.colleague.memberships.get())
    first, second = (browsing.open(person) for person in (stage.cast.coach, stage.cast.colleague))
    for page in (first, second):
        page.goto(week_of(stage))
    first.get_by_role("link", name="Easy run").click()
    first.locator("#panel").get_by_label("Name").fill("Easy run by the river")

    second.get_by_role("link", name="Serve blocks").focus()
    second.keyboard.press("Shift+ArrowRight")
    is_at(second, 2)

    first.locator("#panel").get_by_role("button", name="Save").click()
    panel = first.locator("#panel")
    expect(panel).to_contain_text("Somebody changed this week meanwhile")
    expect(panel.get_by_label("Name")).to_have_value("Easy run by the river")
    expect(day(first, "2027-03-03")).to_contain_text("Serve blocks")
    panel.get_by_role("button", name="Save").click()
    is_at(first, 3)
    expect(first.get_by_role("link", name="Easy run by the river")).to_be_visible()

    second.get_by_role("link", name="Serve blocks").focus()
    second.keyboard.press("Shift+ArrowRight")
    expect(second.locator("#panel-title")).to_have_text(re.compile("somebody changed this week"))
    second.get_by_role("button", name="Do it all the same").click()
    expect(day(second, "2027-03-04")).to_contain_text("Serve blocks")


def test_all_of_it_works_without_a_script(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach, javascript=False)
    page.goto(week_of(stage))
    page.get_by_role("button", name="Fill this week").click()
    expect(page.locator("#messages")).to_contain_text("Filled the week with")

    first = page.locator("[data-session]").first
    name = first.get_attribute("data-name")
    first.get_by_role("link").click()
    page.get_by_role("button", name="Remove").click()
    expect(page.locator("#messages")).to_contain_text(f"Removed {name}")
    page.locator("#undo").click()
    expect(page.locator("#messages")).to_contain_text(f"Undone: Removed {name}")


def test_a_player_sees_planned_and_done_and_nothing_to_press(
    stage: Stage, browsing: Browsing
) -> None:
    week = TrainingWeekFactory(player=stage.cast.ines, monday="2027-02-22")
    row = TrainingSessionFactory(week=week, day="2027-02-22", name="Serve blocks")
    SessionLogFactory(
        player=stage.cast.ines, day="2027-02-22", minutes=75, effort=7,
        session=row.key, planned_key=row.key,
    )  # fmt: skip
    page = browsing.open(stage.cast.player, width=NARROW[0], touch=True)

    page.goto(week_of(stage, "2027-02-22"))
    expect(day(page, "2027-02-22")).to_contain_text("90 min")
    expect(day(page, "2027-02-22")).to_contain_text("75 min")
    page.get_by_role("link", name="Serve blocks").tap()
    expect(page.locator("#panel-title")).to_be_focused()

    assert page.locator("main button").count() == 0
    assert page.locator("[data-grip]").count() == 0


def test_axe_finds_nothing_on_a_week(stage: Stage, browsing: Browsing) -> None:
    two_sessions(stage)
    page = browsing.open(stage.cast.coach)
    found = {}
    for name, address, opened in (
        ("empty", week_of(stage, "2027-04-05"), ""),
        ("no season", week_of(stage, "2030-07-01"), ""),
        ("session", week_of(stage), "Serve blocks"),
        ("adding", f"{week_of(stage)}?add=2027-03-04", ""),
    ):
        page.goto(address)
        if opened:
            page.get_by_role("link", name=opened).click()
            page.locator("#panel-title").wait_for()
        assert repeated_ids(page) == []
        for width in (1440, NARROW[0]):
            for scheme in SCHEMES:
                page.set_viewport_size({"width": width, "height": 900})
                page.emulate_media(color_scheme=scheme)
                if wrong := axe(page):
                    found[f"{name}, {width}, {scheme}"] = wrong
    assert not found, listed(found)


def test_no_week_scrolls_sideways(stage: Stage, browsing: Browsing) -> None:
    two_sessions(stage)
    page = browsing.open(stage.cast.coach)
    wide = {}
    for address in (week_of(stage), f"{week_of(stage)}?add=2027-03-04"):
        page.goto(address)
        assert too_small(page, touch=False) == []
        for width in (1440, 1024, 900, 320):
            page.set_viewport_size({"width": width, "height": 900})
            if found := sticks_out(page):
                wide[f"{address}, {width}"] = found
    assert not wide, listed(wide)
