"""From the coach's week to the player's phone and back: planned, moved, done without a signal."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from seasonplan.checkins.models import SessionLog
from seasonplan.training.models import TrainingSession, TrainingWeek
from tests.browser.browsing import NARROW, Browsing
from tests.browser.phones import eventually, wait_until_kept
from tests.browser.stage import Stage

pytestmark = pytest.mark.browser

MONDAY, TODAY = "2027-02-22", "2027-02-24"
NOW = datetime(2027, 2, 24, 9, 30, tzinfo=UTC)


def drag(page: Page, what: Locator, to: Locator) -> None:
    what.scroll_into_view_if_needed()
    began, ends = what.bounding_box(), to.bounding_box()
    assert began and ends
    page.mouse.move(began["x"] + 40, began["y"] + 12)
    page.mouse.down()
    page.mouse.move(began["x"] + 50, began["y"] + 22)
    page.mouse.move(ends["x"] + ends["width"] / 2, ends["y"] + 60, steps=4)
    expect(to).to_have_attribute("data-drop", re.compile("Feb"))
    page.mouse.up()


def open_phone(page: Page) -> Page:
    page.clock.set_fixed_time(NOW)
    page.goto(reverse("phone"))
    return page


def test_a_block_is_filled_a_session_moved_done_on_the_phone_and_seen_by_the_coach(
    stage: Stage, browsing: Browsing
) -> None:
    ines = stage.cast.ines
    coach = browsing.open(stage.cast.coach)
    week = reverse("training-week", args=[ines.pk, MONDAY])
    coach.goto(week)
    coach.get_by_role("button", name="Fill the rest of the block").click()
    expect(coach.locator("#week-undo")).to_contain_text("weeks of the block")
    assert TrainingWeek.objects.filter(player=ines).count() > 1

    # A session of a later day comes to today.
    later = TrainingSession.objects.filter(week__monday=MONDAY, day__gt=TODAY).order_by("day")[0]
    moved, today = coach.locator(f"#session-{later.key}"), coach.locator(f"#day-{TODAY}")
    drag(coach, moved, today)
    expect(today.locator(f"#session-{later.key}")).to_be_visible()
    expect(coach.locator("#undo")).to_contain_text(f"Moved {later.name} to Wed 24 Feb")

    # The player opens the week, loses the signal, and says that it is done.
    phone = open_phone(browsing.open(stage.cast.player, width=NARROW[0], touch=True))
    wait_until_kept(phone)
    phone.context.set_offline(True)
    context = phone.context
    phone.close()
    phone = open_phone(context.new_page())
    expect(phone.get_by_text("No signal: as of")).to_be_visible()
    row = phone.locator(f'li.planned:has([value="{later.key}"])')
    row.get_by_role("button", name="Done as planned").tap()
    expect(row).to_contain_text("Done as planned")
    expect(row.locator("[data-waits]")).to_have_text("On this phone")
    assert not SessionLog.objects.exists()

    phone.context.set_offline(False)
    assert eventually(SessionLog.objects.exists, phone)
    log = SessionLog.objects.get()
    assert (log.planned_key, log.as_planned) == (later.key, True)
    assert (log.minutes, log.effort) == (later.minutes, later.effort)

    # The coach sees planned against done, of the session and of the week.
    coach.goto(week)
    done = coach.locator("li.session.is-done")
    expect(done).to_have_count(1)
    expect(done).to_contain_text(later.name)
    expect(done).to_contain_text("Done as planned")
    sessions = coach.locator("#week-totals tr", has_text="Sessions")
    expect(sessions.locator("td").last).to_have_text("1")
