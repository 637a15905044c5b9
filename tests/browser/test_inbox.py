"""From the player's thumb to the coach's desk and back: a check-in, its flags, and a reply."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

from seasonplan.academy.models import Academy
from seasonplan.checkins.models import DayLog, EventCheckIn, Opened
from tests.browser.browsing import NARROW, Browsing
from tests.browser.looking import axe, axe_on_colours, sticks_out, too_small
from tests.browser.measuring import answer, form_of
from tests.browser.stage import Stage
from tests.factories import DayLogFactory

pytestmark = pytest.mark.browser

# The Monday after Almond Tree Week, Ines's first event of the season.
NOW = datetime(2027, 4, 5, 9, 30, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _two_good_weeks(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    """All of it read by the coach."""
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    Academy.objects.update(consent_age=13)
    for days in range(1, 15):
        written = NOW - timedelta(days=days)
        log = DayLogFactory(player=stage.cast.ines, day=written.date(), first_written_at=written)
        Opened.objects.create(person=stage.cast.coach, day_log=log, opened_at=NOW)


def look(page: Page, *, touch: bool) -> None:
    """Light and dark, for axe and for thumbs."""
    page.emulate_media(color_scheme="light")
    assert [*axe(page), *sticks_out(page), *too_small(page, touch=touch)] == []
    page.emulate_media(color_scheme="dark")
    assert axe_on_colours(page) == []


def log_poor_sleep_and_the_event(phone: Page) -> None:
    phone.clock.set_fixed_time(NOW)
    phone.goto(reverse("phone-log"))
    day, event = form_of(phone, "How you feel today"), form_of(phone, "After Almond Tree Week")
    day.locator("summary").first.tap()
    for question, step in (("sleep", 1), ("freshness", 2), ("mood", 4)):
        day.locator("label").filter(has=phone.locator(f"[name={question}][value='{step}']")).tap()
    day.get_by_role("button", name="Save").tap()
    expect(day.locator("[data-state]")).to_have_text("Sent")
    event.locator("summary").first.tap()
    answer(event, "Energy now", "3").tap()
    answer(event, "Result", "Lost in the quarter-final").tap()
    event.get_by_role("button", name="Save").tap()
    expect(event.locator("[data-state]")).to_have_text("Sent")


def unread_lines(page: Page) -> Locator:
    return page.locator("#main .log-unread")


def test_the_coach_finds_a_check_in_unread_replies_and_the_player_finds_the_reply(
    stage: Stage, browsing: Browsing
) -> None:
    cast = stage.cast
    phone = browsing.open(cast.player, width=NARROW[0], touch=True)
    log_poor_sleep_and_the_event(phone)
    assert (EventCheckIn.objects.count(), DayLog.objects.count()) == (1, 15)

    desk = browsing.open(cast.coach, width=1024)
    desk.goto(reverse("home"))
    desk.get_by_role("link", name="2 unread of Ines Varga").click()
    section = desk.get_by_role("region", name="What came in")
    expect(section.get_by_role("heading", level=2)).to_contain_text("2 unread")
    expect(unread_lines(desk)).to_have_count(2)
    poor = section.get_by_role("listitem").filter(has_text="Day log, Mon 5 Apr")
    expect(poor.get_by_role("list", name="Unlike the usual")).to_contain_text("Sleep 1 of 5")
    expect(section).to_contain_text("A reason to talk, not a diagnosis.")
    look(desk, touch=False)

    poor.get_by_role("link", name="Open and reply").click()
    expect(desk.get_by_role("heading", name="Unlike the usual")).to_be_visible()
    look(desk, touch=False)
    desk.get_by_label("Reply").fill("Call me tonight, Ines.")
    desk.get_by_role("button", name="Reply").click()
    expect(desk.get_by_text("Call me tonight, Ines.")).to_be_visible()
    desk.goto(reverse("logs", args=[cast.ines.pk]))
    expect(unread_lines(desk)).to_have_count(1)
    expect(unread_lines(desk)).to_contain_text("Almond Tree Week")
    look(desk, touch=False)

    phone.goto(reverse("phone"))
    reply = phone.get_by_role("region", name="1 new reply").get_by_role("link")
    expect(reply).to_have_text("Day log, Mon 5 Apr")
    look(phone, touch=True)
    reply.tap()
    expect(phone.get_by_text("Call me tonight, Ines.")).to_be_visible()
    look(phone, touch=True)
    phone.get_by_label("Reply").fill("At eight?")
    phone.get_by_role("button", name="Reply").tap()
    expect(phone.get_by_text("Your reply is there.")).to_be_visible()
    phone.goto(reverse("phone"))
    expect(phone.get_by_role("heading", level=1)).to_have_text("This week")
    expect(phone.get_by_role("region", name="new reply")).to_have_count(0)


def test_a_coach_logs_on_behalf_from_the_players_page_and_it_is_marked(
    stage: Stage, browsing: Browsing
) -> None:
    desk = browsing.open(stage.cast.coach, width=1024)
    desk.goto(reverse("player", args=[stage.cast.ines.pk]))
    desk.get_by_role("link", name="After Almond Tree Week").click()
    expect(desk.get_by_text("It is marked as logged by a coach.")).to_be_visible()
    look(desk, touch=False)
    form = desk.locator("form.log-form")
    answer(form, "Energy now", "6").check()
    answer(form, "Result", "Lost in the quarter-final").check()
    desk.get_by_role("button", name="Log it").click()
    expect(desk.get_by_text("by a coach, on behalf")).to_be_visible()
    assert EventCheckIn.objects.get().on_behalf
