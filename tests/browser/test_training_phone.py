"""The planned week on a phone: done with one tap, also without a signal, once, and taken back."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from seasonplan.checkins.models import Message, SessionLog
from seasonplan.training.models import TrainingSession
from tests.browser.browsing import NARROW, Browsing
from tests.browser.looking import axe, axe_on_colours, listed, sticks_out, too_small
from tests.browser.measuring import LATER_PAGE_BYTES, Scales, answer
from tests.browser.phones import eventually, wait_until_kept
from tests.conftest import Cast
from tests.factories import TrainingSessionFactory, TrainingWeekFactory

pytestmark = pytest.mark.browser

MONDAY = date(2027, 2, 22)
NOW = datetime(2027, 2, 24, 9, 30, tzinfo=UTC)
FRIDAY = datetime(2027, 2, 26, 18, 0, tzinfo=UTC)
SLIP_MS = 850


@pytest.fixture
def week(cast: Cast) -> list[TrainingSession]:
    """Two sessions a day from Monday to Saturday; on Wednesday, today, rallies and a run."""
    planned = TrainingWeekFactory(player=cast.ines, monday=MONDAY)
    names = {(2, 0): ("Rally build-up", 90, 6), (2, 1): ("Steady run", 30, 3)}
    names[4, 0] = ("Match play", 120, 8)
    return [
        TrainingSessionFactory(
            week=planned,
            day=MONDAY + timedelta(days=day),
            order=order,
            name=name,
            minutes=minutes,
            effort=effort,
        )
        for day in range(6)
        for order in range(2)
        for name, minutes, effort in [names.get((day, order), (f"Session {day}-{order}", 60, 5))]
    ]


@pytest.fixture
def phone(cast: Cast, week: list[TrainingSession], browsing: Browsing) -> Page:
    """Ines's phone, open at this week; the pages are on it."""
    page = browsing.open(cast.player, width=NARROW[0], touch=True)
    open_week(page)
    wait_until_kept(page)
    return page


def open_week(page: Page, now: datetime = NOW) -> Page:
    page.clock.set_fixed_time(now)
    page.goto(reverse("phone"))
    return page


def reopened(page: Page, now: datetime = NOW) -> Page:
    """The app closed and opened again on the same phone."""
    context = page.context
    page.close()
    return open_week(context.new_page(), now)


def row(page: Page, name: str) -> Locator:
    return page.locator("li.planned").filter(has=page.get_by_role("heading", name=name))


def press(page: Page, name: str, button: str) -> None:
    row(page, name).get_by_role("button", name=button).tap()


def say_differently(page: Page, name: str, *, minutes: int, effort: int) -> None:
    box = row(page, name).locator("details")
    box.locator("summary").tap()
    box.get_by_label("Minutes").fill(str(minutes))
    answer(box, "How hard", str(effort)).tap()
    box.get_by_role("button", name="Save").tap()


def logged() -> list[tuple[str, int, int, bool]]:
    logs = SessionLog.objects.order_by("what")
    return [(log.what, log.minutes, log.effort, log.as_planned) for log in logs]


# Without a signal ------------------------------------------------------------------------------


def test_a_session_done_without_a_signal_is_stored_once_when_it_returns(
    cast: Cast, phone: Page, browsing: Browsing
) -> None:
    """The page was opened once; then there is no server, and the app is closed and opened."""
    phone.context.set_offline(True)
    page = reopened(phone)
    expect(page.get_by_text("No signal: as of")).to_be_visible()
    press(page, "Rally build-up", "Done as planned")
    done = row(page, "Rally build-up")
    expect(done).to_contain_text("Done as planned: 90 min, effort 6 of 10")
    expect(done.locator("[data-waits]")).to_have_text("On this phone")
    expect(done.get_by_role("button", name="Done as planned")).to_be_hidden()
    expect(page.get_by_text("12 sessions planned, 1 done.")).to_be_visible()

    page = reopened(page)
    expect(row(page, "Rally build-up").locator("[data-waits]")).to_have_text("On this phone")
    expect(row(page, "Rally build-up")).to_contain_text("Done as planned: 90 min")
    assert not Message.objects.exists()

    page.context.set_offline(False)
    assert eventually(SessionLog.objects.exists, page)
    expect(row(page, "Rally build-up").locator("[data-waits]")).to_be_hidden()
    expect(row(page, "Rally build-up")).to_contain_text("Done as planned: 90 min")
    stored = SessionLog.objects.get()
    planned = TrainingSession.objects.get(name="Rally build-up")
    assert (stored.player, stored.day) == (cast.ines, date(2027, 2, 24))
    assert (stored.session, stored.planned_key) == (planned.key, planned.key)
    assert Message.objects.count() == 1

    page = reopened(page)
    expect(row(page, "Rally build-up")).to_contain_text("Done as planned: 90 min")
    assert Message.objects.count() == 1

    coach = browsing.open(cast.coach)
    coach.goto(reverse("logs", args=[cast.ines.pk]))
    expect(coach.get_by_role("row").filter(has_text="Rally build-up")).to_contain_text("as planned")


def test_what_was_sent_is_still_done_when_the_signal_is_gone_again(phone: Page) -> None:
    """The kept page is fetched anew after sending; it was made before."""
    fetched: list[str] = []
    phone.context.on("response", lambda answer: fetched.append(answer.url))
    press(phone, "Rally build-up", "Done as planned")
    assert eventually(SessionLog.objects.exists, phone)
    expect(phone.locator("[data-badge]")).to_be_hidden()
    assert eventually(lambda: any(url.endswith(reverse("phone")) for url in fetched), phone)
    phone.wait_for_timeout(500)

    phone.context.set_offline(True)
    page = reopened(phone)
    expect(page.get_by_text("No signal: as of")).to_be_visible()
    expect(row(page, "Rally build-up")).to_contain_text("Done as planned: 90 min")


def test_the_kept_page_opens_the_sessions_of_the_day_that_has_come(phone: Page) -> None:
    expect(row(phone, "Match play").get_by_role("button")).to_have_count(0)
    phone.context.set_offline(True)
    page = reopened(phone, FRIDAY)
    press(page, "Match play", "Done as planned")
    expect(row(page, "Match play")).to_contain_text("Done as planned: 120 min, effort 8 of 10")


# Once, however often ---------------------------------------------------------------------------


def test_however_often_it_is_tapped_it_is_done_once(phone: Page) -> None:
    """Taps that come before the page has changed, and those that then hit what lies there."""
    button = row(phone, "Rally build-up").get_by_role("button", name="Done as planned")
    box = button.bounding_box()
    assert box
    button.evaluate("button => { for (let tap = 0; tap < 3; tap++) button.click(); }")
    for _ in range(2):
        phone.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    assert eventually(SessionLog.objects.exists, phone)
    expect(phone.locator("[data-badge]")).to_be_hidden()
    expect(row(phone, "Rally build-up")).to_contain_text("Done as planned: 90 min")
    assert logged() == [("Rally build-up", 90, 6, True)]
    assert Message.objects.count() == 1


def test_an_answer_that_is_lost_leads_to_one_log(phone: Page) -> None:
    deliveries: list[Any] = []

    def lose_the_first_answer(route: Any) -> None:
        deliveries.append(route.request.post_data_json)
        answered = route.fetch()
        if len(deliveries) == 1:
            route.abort("connectionreset")
        else:
            route.fulfill(response=answered)

    phone.context.route("**/outbox/", lose_the_first_answer)
    press(phone, "Rally build-up", "Done as planned")
    expect(row(phone, "Rally build-up").locator("[data-waits]")).to_be_visible()
    expect(row(phone, "Rally build-up").locator("[data-waits]")).to_be_hidden()
    assert deliveries[0] == deliveries[1]
    assert logged() == [("Rally build-up", 90, 6, True)]
    assert Message.objects.count() == 1


# Differently, and back -------------------------------------------------------------------------


def test_done_differently_is_the_log_filled_in_and_says_what_differed(phone: Page) -> None:
    phone.context.set_offline(True)
    box = row(phone, "Steady run").locator("details")
    box.locator("summary").tap()
    expect(box.get_by_label("Minutes")).to_have_value("30")
    expect(box.get_by_label("Day")).to_have_value("2027-02-24")
    box.locator("summary").tap()
    say_differently(phone, "Steady run", minutes=45, effort=5)
    done = row(phone, "Steady run")
    expect(done).to_contain_text("Done differently: 45 min, effort 5 of 10")
    expect(done.get_by_role("button", name="Done as planned")).to_be_hidden()

    page = reopened(phone)
    expect(row(page, "Steady run")).to_contain_text("Done differently: 45 min, effort 5 of 10")
    page.context.set_offline(False)
    assert eventually(SessionLog.objects.exists, page)
    assert logged() == [("Steady run", 45, 5, False)]
    expect(page.locator("[data-badge]")).to_be_hidden()

    # Changed once more, it stays one log.
    page = reopened(page, NOW + timedelta(minutes=5))
    say_differently(page, "Steady run", minutes=50, effort=5)
    assert eventually(lambda: logged() == [("Steady run", 50, 5, False)], page)


def test_a_session_is_taken_back_without_a_signal_and_done_again(phone: Page) -> None:
    press(phone, "Rally build-up", "Done as planned")
    assert eventually(SessionLog.objects.exists, phone)
    expect(phone.locator("[data-badge]")).to_be_hidden()
    phone.context.set_offline(True)
    phone.wait_for_timeout(SLIP_MS)
    press(phone, "Rally build-up", "Take back")
    here = row(phone, "Rally build-up")
    expect(here.get_by_role("button", name="Done as planned")).to_be_visible()
    expect(here.locator("[data-told]")).to_be_hidden()
    expect(phone.get_by_text("12 sessions planned, 0 done.")).to_be_visible()

    page = reopened(phone)
    here = row(page, "Rally build-up")
    expect(here.get_by_role("button", name="Done as planned")).to_be_visible()
    page.context.set_offline(False)
    assert eventually(lambda: not SessionLog.objects.exists(), page)
    expect(page.locator("[data-badge]")).to_be_hidden()

    press(page, "Rally build-up", "Done as planned")
    assert eventually(SessionLog.objects.exists, page)
    assert logged() == [("Rally build-up", 90, 6, True)]
    assert Message.objects.count() == 3


def test_a_session_that_comes_back_is_said_to_and_keeps_its_name(cast: Cast, phone: Page) -> None:
    """The phone's clock is days ahead: the server does not take a day that has not come."""
    page = reopened(phone, FRIDAY + timedelta(hours=1))
    press(page, "Match play", "Done as planned")
    expect(row(page, "Match play").locator("[data-waits]")).to_have_text("Came back: see Log")
    assert not Message.objects.exists()

    page.goto(reverse("phone-log"))
    page.clock.set_fixed_time(NOW)
    back = page.locator("#came-back")
    expect(back).to_contain_text("Match play")
    back.get_by_role("button", name="Change it").tap()
    form = page.locator("form[data-kind=session]")
    form.get_by_label("Day").fill("2027-02-24")
    form.get_by_role("button", name="Save").tap()
    assert eventually(SessionLog.objects.exists, page)
    stored = SessionLog.objects.get()
    assert stored.planned_key == TrainingSession.objects.get(name="Match play").key
    assert (stored.day, stored.as_planned) == (date(2027, 2, 24), False)


def test_it_works_without_javascript(
    cast: Cast, week: list[TrainingSession], browsing: Browsing
) -> None:
    page = browsing.open(cast.player, width=NARROW[0], touch=True, javascript=False)
    page.goto(reverse("phone"))
    press(page, "Rally build-up", "Done as planned")
    expect(row(page, "Rally build-up")).to_contain_text("Done as planned: 90 min, effort 6 of 10")
    assert logged() == [("Rally build-up", 90, 6, True)]
    say_differently(page, "Steady run", minutes=20, effort=2)
    expect(row(page, "Steady run")).to_contain_text("Done differently: 20 min, effort 2 of 10")
    assert page.url.split("?")[0].endswith(reverse("phone"))


# Looks and weight ------------------------------------------------------------------------------


@pytest.mark.parametrize("width", [390, 1440])
def test_the_week_fits_and_has_nothing_for_axe(
    cast: Cast, week: list[TrainingSession], browsing: Browsing, width: int
) -> None:
    page = browsing.open(cast.player, width=width, touch=width == NARROW[0])
    open_week(page)
    press_first = row(page, "Rally build-up").get_by_role("button", name="Done as planned")
    press_first.click()
    expect(row(page, "Rally build-up")).to_contain_text("Done as planned")
    page.wait_for_timeout(SLIP_MS)
    found: dict[str, list[str]] = {}
    for how in ("closed", "open"):
        for box in page.locator("li.planned details").all():
            box.evaluate(
                "(box, how) => { box.removeAttribute('name'); box.open = how; }", how == "open"
            )
        page.emulate_media(color_scheme="light")
        found[f"{how}, light"] = [
            *axe(page),
            *sticks_out(page),
            *too_small(page, touch=width == NARROW[0]),
        ]
        page.emulate_media(color_scheme="dark")
        found[f"{how}, dark"] = axe_on_colours(page)
    assert not any(found.values()), listed(found)


def test_a_full_week_weighs_no_more_than_another_page(phone: Page) -> None:
    scales = Scales(phone)
    open_week(phone)
    phone.wait_for_timeout(500)
    weight = sum(size for name, size in scales.read().items() if "static/" not in name)
    print(f"\n{weight:,} bytes: this week with 12 planned sessions")
    assert weight <= LATER_PAGE_BYTES
