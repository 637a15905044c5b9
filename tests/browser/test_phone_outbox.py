"""The player's phone without a signal: what is written is kept, sent once, and nobody else's."""

from __future__ import annotations

import re
import threading
from datetime import UTC, datetime
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import BrowserContext, Locator, Page, Request, expect

from seasonplan.academy.models import Academy
from seasonplan.checkins.models import DayLog, EventCheckIn, Message, SessionLog
from seasonplan.training import phone_views
from tests.browser.browsing import NARROW, Browsing
from tests.browser.looking import axe, axe_on_colours, listed, sticks_out, too_small
from tests.browser.measuring import (
    FIRST_LOAD_BYTES,
    LATER_PAGE_BYTES,
    MOST_TAPS,
    Scales,
    answer,
    check_in_with_every_scale,
    form_of,
    shortest_check_in,
    tapped,
)
from tests.browser.phones import eventually, wait_until_kept
from tests.browser.stage import Stage
from tests.factories import PASSWORD, sign_up

pytestmark = pytest.mark.browser

# The Monday after Almond Tree Week, Ines's first event of the season.
NOW = datetime(2027, 4, 5, 9, 30, tzinfo=UTC)
EVENT = "After Almond Tree Week"
DAY = "How you feel today"


@pytest.fixture(autouse=True)
def _the_day_after_an_event(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    Academy.objects.update(consent_age=13)


@pytest.fixture
def ines(stage: Stage, browsing: Browsing) -> Page:
    """Ines's phone with a signal, open at her log; the four pages are on it."""
    return open_log(browsing.open(stage.cast.player, width=NARROW[0], touch=True))


def open_log(page: Page) -> Page:
    page.clock.set_fixed_time(NOW)
    page.goto(reverse("phone-log"))
    wait_until_kept(page)
    return page


def reopened(page: Page) -> Page:
    """The app closed and opened again on the same phone."""
    context = page.context
    page.close()
    again = context.new_page()
    again.clock.set_fixed_time(NOW)
    again.goto(reverse("phone-log"))
    return again


def state_of(page: Page, title: str) -> Locator:
    return form_of(page, title).locator("[data-state]")


def choose(form: Locator, question: str, words: str) -> None:
    answer(form, question, words).tap()


def check_in(page: Page) -> None:
    """The shortest check-in: energy, result, Save."""
    form = form_of(page, EVENT)
    form.locator("summary").first.tap()
    choose(form, "Energy now", "6")
    choose(form, "Result", "Lost in the quarter-final")
    form.get_by_role("button", name="Save").tap()


def write_day(page: Page, note: str) -> None:
    form = form_of(page, DAY)
    form.locator("summary").first.tap()
    choose(form, "Mood", "4")
    form.get_by_role("button", name="More").tap()
    form.get_by_role("button", name="More").tap()
    form.get_by_label("Note", exact=False).first.fill(note)
    form.get_by_role("button", name="Save").tap()


# Without a signal -----------------------------------------------------------------------------


def test_the_four_pages_open_without_a_signal_and_say_how_old_they_are(ines: Page) -> None:
    age = ines.get_by_text("No signal: as of")
    expect(age).to_be_hidden()
    ines.context.set_offline(True)

    for name, heading in (
        ("phone", "This week"),
        ("phone-season", "Season 2027"),
        ("phone-log", "Log"),
        ("phone-me", "Ines Player"),
    ):
        ines.goto(reverse(name))
        expect(ines.get_by_role("heading", level=1)).to_have_text(heading)
        expect(age).to_contain_text("Mon 5 Apr, 11:30")
        assert (
            ines.locator("nav.phone-tabs").evaluate("e => getComputedStyle(e).position") == "fixed"
        )

    # Days later they say so, and mark the day of the phone's clock.
    ines.clock.set_fixed_time(datetime(2027, 4, 7, 10, 0, tzinfo=UTC))
    ines.goto(reverse("phone"))
    expect(ines.get_by_text("2 days ago")).to_be_visible()
    expect(ines.locator("[data-day][aria-current]")).to_have_attribute("data-day", "2027-04-07")

    ines.clock.set_fixed_time(datetime(2027, 4, 14, 10, 0, tzinfo=UTC))
    ines.goto(reverse("phone"))
    expect(ines.get_by_text("A new week has begun")).to_be_visible()
    ines.goto(reverse("phone-season"))
    expect(ines.locator("li.is-now")).to_have_attribute("data-first", "2027-04-12")


def test_a_page_that_is_not_kept_says_so_without_a_signal(ines: Page, browsing: Browsing) -> None:
    browsing.may_refuse(503)
    ines.context.set_offline(True)
    ines.goto(reverse("calendar"))
    expect(ines.get_by_role("heading", name="No signal")).to_be_visible()
    ines.get_by_role("link", name="This week").tap()
    expect(ines.get_by_text("No signal: as of")).to_be_visible()


def test_a_server_that_does_not_answer_is_waited_for_only_as_long_as_is_useful(
    ines: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a network that carries nothing, the kept page stands after a few seconds."""
    answered = threading.Event()
    monkeypatch.setattr(phone_views, "week_page", lambda *args, **kwargs: answered.wait(20))
    try:
        ines.goto(reverse("phone"))
        expect(ines.get_by_text("No signal: as of")).to_be_visible()
        expect(ines.get_by_role("heading", level=1)).to_have_text("This week")
        assert not answered.is_set()
    finally:
        monkeypatch.undo()
        answered.set()


# The outbox -----------------------------------------------------------------------------------


def test_a_check_in_written_without_a_signal_is_stored_once_when_it_returns(
    stage: Stage, ines: Page
) -> None:
    ines.context.set_offline(True)
    ines.goto(reverse("phone-log"))
    check_in(ines)
    expect(state_of(ines, EVENT)).to_have_text("On this phone")
    expect(ines.locator("[data-badge]")).to_contain_text("1")

    page = reopened(ines)
    expect(state_of(page, EVENT)).to_have_text("On this phone")
    assert not Message.objects.exists()
    page.context.set_offline(False)

    assert eventually(EventCheckIn.objects.exists, page)
    expect(state_of(page, EVENT)).to_have_text("Sent")
    expect(page.locator("[data-badge]")).to_be_hidden()
    stored = EventCheckIn.objects.get()
    assert (stored.player, stored.energy_after, stored.rounds_won) == (stage.cast.ines, 6, 3)
    assert Message.objects.get().written_at == NOW

    page = reopened(page)
    expect(state_of(page, EVENT)).to_have_text("Sent")
    assert Message.objects.count() == 1


def test_an_answer_that_is_lost_on_the_way_leads_to_a_second_delivery_and_one_log(
    ines: Page,
) -> None:
    """The server stores the log, and the phone never hears of it. A third copy comes by itself."""
    deliveries: list[Request] = []

    def lose_the_first_answer(route: Any) -> None:
        deliveries.append(route.request)
        answered = route.fetch()
        if len(deliveries) == 1:
            route.abort("connectionreset")
        else:
            route.fulfill(response=answered)

    ines.context.route("**/outbox/", lose_the_first_answer)
    check_in(ines)
    expect(state_of(ines, EVENT)).to_have_text("Sent")
    first, second = deliveries
    assert first.post_data_json == second.post_data_json

    again = ines.context.request.post(
        reverse("outbox"),
        data=first.post_data_json,
        headers={"X-CSRFToken": first.headers["x-csrftoken"], "Referer": ines.url},
    )

    assert [receipt["status"] for receipt in again.json()["receipts"]] == ["known"]
    assert Message.objects.count() == 1


def test_a_server_that_is_down_or_no_server_of_ours_takes_nothing_away(
    ines: Page, browsing: Browsing
) -> None:
    """200 with a page is what the door of a hotel's network answers."""
    browsing.may_refuse(500, 503)
    answers = [500, 503, 200]

    def until_none_is_left(route: Any) -> None:
        if answers:
            route.fulfill(status=answers.pop(), body="<p>Welcome to our network</p>")
        else:
            route.continue_()

    ines.context.route("**/outbox/", until_none_is_left)
    check_in(ines)
    for left in (2, 1, 0):
        assert eventually(lambda left=left: len(answers) == left, ines)  # type: ignore[misc]
        expect(state_of(ines, EVENT)).to_have_text("On this phone")
        assert not Message.objects.exists()
        ines.evaluate("() => window.dispatchEvent(new Event('online'))")
    expect(state_of(ines, EVENT)).to_have_text("Sent")
    assert Message.objects.count() == 1


def test_a_delivery_that_hears_nothing_is_given_up_and_made_again(ines: Page) -> None:
    """A connection that stays open and carries nothing; a page opened meanwhile waits its turn."""
    held: list[Any] = []

    def hold_the_first(route: Any) -> None:
        if held:
            return route.continue_()
        return held.append(route)

    ines.context.route("**/outbox/", hold_the_first)
    check_in(ines)
    assert eventually(lambda: bool(held), ines)
    other = open_log(ines.context.new_page())
    for page in (ines, other):
        expect(page.locator("[data-badge]")).to_be_visible()

    for page in (ines, other):
        expect(page.locator("[data-badge]")).to_be_hidden()
    assert Message.objects.count() == 1


def test_a_token_that_cannot_be_renewed_for_want_of_a_server_signs_nobody_out(
    ines: Page, browsing: Browsing
) -> None:
    browsing.may_refuse(403, 502)
    asked: list[str] = []

    def refuse_the_first(route: Any) -> None:
        asked.append("outbox")
        if len(asked) == 1:
            return route.fulfill(status=403, body="")
        return route.continue_()

    ines.context.route("**/outbox/", refuse_the_first)
    ines.context.route("**/phone/me/", lambda route: route.fulfill(status=502, body="<p>Later"))
    check_in(ines)

    expect(state_of(ines, EVENT)).to_have_text("Sent")
    expect(ines.get_by_text("You are signed out")).to_be_hidden()
    assert asked == ["outbox", "outbox"]
    assert Message.objects.count() == 1


def test_who_was_signed_out_meanwhile_keeps_the_log_until_they_sign_in(
    stage: Stage, ines: Page, browsing: Browsing
) -> None:
    """Without the session the server answers 401; without any cookie, 403 for the lost token."""
    browsing.may_refuse(401, 403)
    ines.context.clear_cookies(name="sessionid")
    with ines.expect_response("**/outbox/") as refused:
        check_in(ines)
    assert refused.value.status == 401
    ines.context.clear_cookies()
    with ines.expect_response("**/outbox/") as refused:
        ines.evaluate("() => window.dispatchEvent(new Event('online'))")
    assert refused.value.status == 403
    expect(ines.get_by_text("You are signed out")).to_be_visible()
    expect(state_of(ines, EVENT)).to_have_text("On this phone")
    assert not Message.objects.exists()

    sign_in(ines.context, stage.cast.player, ines, follow="Sign in")

    assert eventually(Message.objects.exists, ines)
    expect(state_of(ines, EVENT)).to_have_text("Sent")
    assert Message.objects.count() == 1


def test_a_refused_log_comes_back_with_the_reason_and_the_typed_text(ines: Page) -> None:
    typed = "Slept badly: <b>noise</b> in the hotel"
    ines.context.set_offline(True)
    write_day(ines, typed)
    expect(state_of(ines, DAY)).to_have_text("On this phone")
    Academy.objects.update(consent_age=21)
    ines.context.set_offline(False)

    back = ines.locator("#came-back")
    expect(back).to_be_visible()
    expect(back).to_contain_text("A guardian has to consent before health is logged.")
    expect(back.get_by_text(typed)).to_be_visible()
    assert axe(ines) == []
    assert not Message.objects.exists()

    Academy.objects.update(consent_age=13)
    back.get_by_role("button", name="Change it").tap()
    form = form_of(ines, DAY)
    form.get_by_role("button", name="Save").tap()
    expect(back).to_be_hidden()
    expect(state_of(ines, DAY)).to_have_text("Sent")
    stored = DayLog.objects.get()
    assert (stored.mood, stored.note) == (4, typed)

    # A second one is thrown away, by two taps.
    Academy.objects.update(consent_age=21)
    form.locator("summary").first.tap()
    choose(form, "Mood", "3")
    form.get_by_role("button", name="Save").tap()
    back.get_by_role("button", name="Throw it away").tap()
    back.get_by_role("button", name="Really throw it away?").tap()
    expect(back).to_be_hidden()
    expect(ines.locator("[data-badge]")).to_be_hidden()
    assert Message.objects.count() == 1


def test_two_phones_say_different_things_of_one_event(
    stage: Stage, ines: Page, browsing: Browsing
) -> None:
    other = open_log(browsing.open(stage.cast.player, width=NARROW[0], touch=True))
    for page in (ines, other):
        page.context.set_offline(True)
    other.clock.set_fixed_time(datetime(2027, 4, 5, 9, 40, tzinfo=UTC))
    check_in(ines)
    form = form_of(other, EVENT)
    form.locator("summary").first.tap()
    choose(form, "Energy now", "3")
    choose(form, "Result", "Lost in the semi-final")
    form.get_by_role("button", name="Save").tap()
    for page in (other, ines):  # the later words arrive first
        page.context.set_offline(False)
        expect(state_of(page, EVENT)).to_have_text("Sent")

    stored = EventCheckIn.objects.get()
    assert (stored.energy_after, stored.rounds_won) == (3, 4)
    assert Message.objects.count() == 2


# A shared phone -------------------------------------------------------------------------------


def sign_in(context: BrowserContext, person: Any, page: Page, *, follow: str = "") -> None:
    sign_up(person)
    if follow:
        page.get_by_role("link", name=follow).tap()
    else:
        page.goto(reverse("account_login"))
    page.get_by_label("Email").fill(person.email)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in").tap()
    page.wait_for_url(lambda url: "/account/" not in url)


def kept_for(page: Page) -> list[str]:
    names: list[str] = page.evaluate("() => caches.keys()")
    return sorted(name for name in names if name.startswith("pages-"))


def test_the_next_player_on_the_phone_sees_nothing_of_the_first(stage: Stage, ines: Page) -> None:
    cast = stage.cast
    assert kept_for(ines) == [f"pages-{cast.player.pk}"]
    ines.context.set_offline(True)
    write_day(ines, "Only Ines knows this")
    expect(state_of(ines, DAY)).to_have_text("On this phone")

    # What waits is asked about before signing out; sending is cut off here.
    ines.context.route("**/outbox/", lambda route: route.abort())
    ines.context.set_offline(False)
    ines.goto(reverse("phone-me"))
    expect(ines.get_by_text("1 log waits on this phone")).to_be_visible()
    ines.get_by_role("button", name="Sign out").tap()
    dialog = ines.get_by_role("dialog", name="1 log is not sent yet")
    expect(dialog).to_be_visible()
    assert axe(ines) == []
    dialog.get_by_role("button", name="Stay signed in").tap()
    expect(ines).to_have_url(re.compile(reverse("phone-me")))
    ines.get_by_role("button", name="Sign out").tap()
    dialog.get_by_role("button", name="Sign out and keep them here").tap()
    ines.wait_for_url("**/account/login/**")
    assert kept_for(ines) == []

    ines.context.unroute("**/outbox/")
    sign_in(ines.context, cast.other_player, ines)
    for name in ("phone", "phone-season", "phone-log", "phone-me"):
        ines.goto(reverse(name))
        expect(ines.locator("[data-badge]")).to_be_hidden()
        text = ines.locator("body").inner_text()
        assert "Ines" not in text
        assert "Almond Tree" not in text
    wait_until_kept(ines)
    assert kept_for(ines) == [f"pages-{cast.other_player.pk}"]
    ines.context.set_offline(True)
    for name in ("phone", "phone-season", "phone-log", "phone-me"):
        ines.goto(reverse(name))
        assert "Ines" not in ines.locator("body").inner_text()
    ines.context.set_offline(False)
    assert not Message.objects.exists()

    ines.goto(reverse("phone-me"))
    ines.get_by_role("button", name="Sign out").tap()
    ines.wait_for_url("**/account/login/**")
    sign_in(ines.context, cast.player, ines)
    ines.goto(reverse("phone-log"))
    assert eventually(Message.objects.exists, ines)
    assert DayLog.objects.get().note == "Only Ines knows this"


def test_an_open_page_of_the_first_player_sends_nothing_as_the_second(
    stage: Stage, ines: Page, browsing: Browsing
) -> None:
    """Ines's page stays open in a tab; in another one Ravi signs in."""
    browsing.may_refuse(403)
    ines.context.set_offline(True)
    write_day(ines, "Only Ines knows this")
    expect(state_of(ines, DAY)).to_have_text("On this phone")
    ines.context.route("**/outbox/", lambda route: route.abort())
    ines.context.set_offline(False)
    tab = ines.context.new_page()
    tab.goto(reverse("phone-me"))
    tab.get_by_role("button", name="Sign out").tap()
    tab.get_by_role("button", name="Sign out and keep them here").tap()
    tab.wait_for_url("**/account/login/**")
    sign_in(tab.context, stage.cast.other_player, tab)
    ines.context.unroute("**/outbox/")

    ines.evaluate("() => window.dispatchEvent(new Event('online'))")

    expect(ines.get_by_role("heading", level=1)).to_have_text("Ravi Player")
    assert not Message.objects.exists()


def test_signing_out_on_any_page_asks_while_something_waits_and_deletes_it_if_told_so(
    stage: Stage, ines: Page, browsing: Browsing
) -> None:
    ines.context.set_offline(True)
    write_day(ines, "Waits")
    expect(state_of(ines, DAY)).to_have_text("On this phone")
    ines.context.route("**/outbox/", lambda route: route.abort())
    ines.context.set_offline(False)
    ines.goto(reverse("calendar"))
    ines.get_by_role("button", name="Sign out").tap()
    expect(ines.get_by_role("dialog", name="1 log is not sent yet")).to_be_visible()
    assert axe(ines) == []

    ines.get_by_role("button", name="Delete them and sign out").tap()
    ines.wait_for_url("**/account/login/**")
    assert kept_for(ines) == []

    # Nothing of this person's waits any more: no question.
    ines.context.unroute("**/outbox/")
    sign_in(ines.context, stage.cast.player, ines)
    ines.goto(reverse("phone-me"))
    expect(ines.get_by_text("Everything is sent.")).to_be_visible()
    ines.get_by_role("button", name="Sign out").tap()
    ines.wait_for_url("**/account/login/**")
    assert not Message.objects.exists()


# Under a thumb --------------------------------------------------------------------------------


def test_the_check_in_with_every_scale_takes_at_most_twelve_taps(ines: Page) -> None:
    ines.goto(reverse("phone"))
    result = "Lost in the semi-final"
    shortest = len(shortest_check_in(ines, EVENT, result))
    taps = tapped(check_in_with_every_scale(ines, EVENT, result))
    expect(state_of(ines, EVENT)).to_have_text("Sent")

    print(f"\nthe shortest check-in: {shortest} taps; with every scale: {taps}")
    assert shortest <= taps <= MOST_TAPS
    stored = EventCheckIn.objects.get()
    assert stored.sore_where == ["calf"]
    assert (stored.felt, stored.soreness, stored.energy_before) == (4, 3, 8)
    assert (stored.weather, stored.energy_before_late) == ("windy", True)


def test_the_long_check_in_carries_matches_hours_and_words(ines: Page) -> None:
    form = form_of(ines, EVENT)
    form.locator("summary").first.tap()
    choose(form, "Energy now", "6")
    choose(form, "Result", "Lost in the final")
    form.get_by_role("button", name="More").tap()
    form.get_by_role("button", name="More").tap()
    form.get_by_text("Matches", exact=False).first.tap()
    first = form.get_by_role("group", name="Match 1")
    first.get_by_label("Won", exact=True).tap()
    first.get_by_label("Minutes").fill("95")
    first.get_by_label("Score").fill("6-4 7-5")
    form.get_by_label("Sleep the last night").fill("7,5")
    form.get_by_label("What went well").fill("First serve")
    form.get_by_role("button", name="Save").tap()
    expect(state_of(ines, EVENT)).to_have_text("Sent")

    stored = EventCheckIn.objects.get()
    assert [(m.won, m.minutes, m.score) for m in stored.matches.all()] == [(True, 95, "6-4 7-5")]
    assert (stored.sleep_last_h, stored.went_well) == (7.5, "First serve")

    # Sent again with one answer changed, it says that answer and what is always needed.
    ines.reload()
    form.locator("summary").first.tap()
    expect(
        form.get_by_role("group", name=re.compile("^Energy now")).get_by_label("6")
    ).to_be_checked()
    choose(form, "Energy now", "2")
    form.get_by_role("button", name="Save").tap()
    expect(ines.locator("[data-badge]")).to_be_hidden()
    assert eventually(lambda: Message.objects.count() == 2, ines)
    assert set(Message.objects.latest("pk").body) == {"energy_after", "rounds_won"}


def test_an_injury_leads_to_its_questions_and_no_problem_to_none(ines: Page) -> None:
    form = form_of(ines, DAY)
    form.locator("summary").first.tap()
    form.get_by_role("button", name="More").tap()
    where = form.get_by_role("group", name="Where it hurts")
    expect(where).to_be_hidden()
    choose(form, "Are you ill", "Injury or pain")
    choose(form, "Where it hurts", "Left knee")
    choose(form, "This week, could you train", "Less than planned, because of it")
    choose(form, "How much less", "A little")
    choose(form, "How much did it hold back", "Clearly")
    choose(form, "How strong", "Mild")
    form.get_by_role("button", name="Save").tap()
    expect(state_of(ines, DAY)).to_have_text("Sent")
    log = DayLog.objects.get()
    assert (log.problem, log.problem_where) == ("injury", ["knee left"])
    assert (log.took_part, log.changed_training, log.hurt_performance, log.symptoms) == (
        17,
        8,
        17,
        8,
    )

    ines.clock.set_fixed_time(datetime(2027, 4, 5, 9, 40, tzinfo=UTC))
    form.locator("summary").first.tap()
    form.get_by_role("button", name="More").tap()
    choose(form, "Are you ill", "No problem")
    expect(where).to_be_hidden()
    form.get_by_role("button", name="Save").tap()
    assert eventually(lambda: Message.objects.count() == 2, ines)
    log.refresh_from_db()
    assert (log.problem, log.problem_where, log.took_part, log.symptoms) == ("none", [], None, None)


def test_a_session_is_four_taps_and_two_of_them_are_two_sessions(ines: Page) -> None:
    form = form_of(ines, "A session")
    for effort in ("5", "7"):
        form.locator("summary").first.tap()
        form.get_by_role("button", name="Tennis").tap()
        form.get_by_role("button", name="75").tap()
        choose(form, "How hard", effort)
        form.get_by_role("button", name="Save").tap()
        expect(state_of(ines, "A session")).to_have_text("Sent")
    assert eventually(lambda: SessionLog.objects.count() == 2, ines)
    said = SessionLog.objects.order_by("effort").values_list("what", "minutes", "effort")
    assert list(said) == [("Tennis", 75, 5), ("Tennis", 75, 7)]


def test_what_was_typed_and_not_saved_is_kept_and_what_is_missing_is_said(ines: Page) -> None:
    form = form_of(ines, EVENT)
    form.locator("summary").first.tap()
    choose(form, "Energy now", "6")
    form.get_by_role("button", name="More").tap()
    form.get_by_role("button", name="More").tap()
    form.get_by_label("What went well").fill("Returns")

    page = reopened(ines)

    expect(state_of(page, EVENT)).to_have_text("Not saved")
    form = form_of(page, EVENT)
    form.locator("summary").first.tap()
    expect(form.get_by_label("What went well")).to_have_value("Returns")
    form.get_by_role("button", name="Save").tap()
    expect(form.get_by_role("alert")).to_have_text("Still to answer: Result.")
    expect(page.locator("[data-badge]")).to_be_hidden()
    choose(form, "Result", "Lost in the final")
    form.get_by_role("button", name="Save").tap()
    expect(state_of(page, EVENT)).to_have_text("Sent")
    stored = EventCheckIn.objects.get()
    assert (stored.energy_after, stored.went_well) == (6, "Returns")


def test_the_log_works_without_javascript(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.player, width=NARROW[0], touch=True, javascript=False)
    page.goto(reverse("phone-log"))
    form = form_of(page, EVENT)
    form.locator("summary").first.tap()
    choose(form, "Energy now", "6")
    choose(form, "Result", "Lost in the final")
    choose(form, "Soreness", "2")
    with page.expect_navigation():
        form.get_by_role("button", name="Save").tap()
    stored = EventCheckIn.objects.get()
    assert (stored.energy_after, stored.rounds_won, stored.soreness) == (6, 5, 2)


# Looks and weight -----------------------------------------------------------------------------


def test_the_pages_fit_a_phone_and_have_nothing_for_axe(ines: Page) -> None:
    found: dict[str, list[str]] = {}
    for name in ("phone", "phone-season", "phone-log", "phone-me"):
        ines.goto(reverse(name))
        for box in ines.locator("details").all():
            box.evaluate("box => { box.removeAttribute('name'); box.open = true; }")
        for step in ines.locator("[data-step], [data-question]").all():
            step.evaluate("step => { step.hidden = false; }")
        ines.emulate_media(color_scheme="light")
        found[f"{name}, light"] = [*axe(ines), *sticks_out(ines), *too_small(ines, touch=True)]
        ines.emulate_media(color_scheme="dark")
        found[f"{name}, dark"] = axe_on_colours(ines)
    assert not any(found.values()), listed(found)


def test_the_first_load_weighs_at_most_120_kb_and_a_later_one_15(
    stage: Stage, browsing: Browsing
) -> None:
    """Files are not compressed here; in production they weigh about a third."""
    page = browsing.open(stage.cast.player, width=NARROW[0], touch=True)
    page.clock.set_fixed_time(NOW)
    scales = Scales(page)
    page.goto(reverse("phone-log"))
    wait_until_kept(page)
    page.wait_for_timeout(500)
    weights = scales.read()
    first = sum(weights.values())
    for name, weight in sorted(weights.items(), key=lambda pair: -pair[1]):
        print(f"{weight:8,} {name}")
    print(f"{first:8,} bytes: the first load of the log, with the pages fetched ahead")
    page.goto(reverse("phone"))
    page.wait_for_timeout(500)
    later = sum(weight for name, weight in scales.read().items() if "static/" not in name)
    print(f"{later:8,} bytes: the week after it, without files that production keeps by name")
    assert first <= FIRST_LOAD_BYTES
    assert later <= LATER_PAGE_BYTES
