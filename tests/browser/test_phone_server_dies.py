"""The phone against a server of its own that loses its power in the middle of a delivery."""

from __future__ import annotations

import socket
import time
import urllib.request
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Browser, Page, Request, Route, expect

from seasonplan.academy.models import Academy, Person
from seasonplan.checkins.models import DayLog, EventCheckIn, Message
from tests.browser.browsing import NARROW, Browsing
from tests.browser.measuring import answer, form_of
from tests.browser.serving import Server
from tests.conftest import Cast
from tests.factories import EventFactory, PlannedEventFactory, SeasonPlanFactory

pytestmark = pytest.mark.browser

EVENT = "After Lantern Open"
DAY = "How you feel today"
SOON_S = 2
LONG_MS = 60_000


@pytest.fixture(autouse=True)
def _a_wednesday_in_february() -> None:
    """The server has the clock of the machine, and so have the tests here."""


@pytest.fixture(scope="module")
def server(django_db_setup: None) -> Iterator[Server]:
    """A process of its own on the database of the tests, which is a file."""
    if connection.vendor != "sqlite":
        pytest.skip("The server shares the tests' database as a SQLite file.")
    server = Server(
        {
            "DATABASE_URL": f"sqlite:///{connection.settings_dict['NAME']}",
            "SEASONPLAN_DEVELOPMENT": "1",
            "SEASONPLAN_SECRET_KEY": settings.SECRET_KEY,
        }
    )
    yield server
    server.kill()


@pytest.fixture
def browsing(transactional_db: None, chromium: Browser, server: Server) -> Iterator[Browsing]:
    server.start()
    opened = Browsing(chromium, server.url)
    yield opened
    opened.close()


@pytest.fixture
def family(cast: Cast) -> Cast:
    """Ines played an event that ended yesterday."""
    Academy.objects.update(consent_age=13)
    today = timezone.localdate()
    monday = today - timedelta(days=today.weekday())
    plan = SeasonPlanFactory(
        player=cast.ines,
        start=monday - timedelta(weeks=5),
        end=monday + timedelta(weeks=15, days=-1),
        standing="in force",
    )
    event = EventFactory(
        academy=cast.academy,
        name="Lantern Open",
        start=today - timedelta(days=7),
        end=today - timedelta(days=1),
    )
    PlannedEventFactory(plan=plan, event=event, played=True)
    return cast


def phone_of(browsing: Browsing, person: Person) -> Page:
    page = browsing.open(person, width=NARROW[0], touch=True)
    page.goto(reverse("phone-log"))
    page.wait_for_function("() => navigator.serviceWorker.controller")
    return page


def check_in(page: Page) -> None:
    form = form_of(page, EVENT)
    form.locator("summary").first.tap()
    answer(form, "Energy now", "6").tap()
    answer(form, "Result", "Lost in the quarter-final").tap()
    form.get_by_role("button", name="Save").tap()


def write_day(page: Page) -> None:
    form = form_of(page, DAY)
    form.locator("summary").first.tap()
    answer(form, "Mood", "4").tap()
    form.get_by_role("button", name="Save").tap()


def waits(page: Page) -> None:
    expect(page.locator("[data-badge]")).to_contain_text("1")


def seconds_until(fact: Callable[[], bool], page: Page, since: float) -> float:
    """Seconds from `since` until it holds; pages go on meanwhile."""
    while not fact():
        assert time.monotonic() - since < 60
        page.wait_for_timeout(20)
    return time.monotonic() - since


def listed(server: Server, cast: Cast) -> Callable[[], bool]:
    """Whether the coach's list, as the server gives it out, has the event and the day."""
    client = Client()
    client.force_login(cast.coach, backend="allauth.account.auth_backends.AuthenticationBackend")
    name = settings.SESSION_COOKIE_NAME
    address = server.url + reverse("logs", args=[cast.ines.pk])
    asked = urllib.request.Request(  # noqa: S310
        address, headers={"Cookie": f"{name}={client.cookies[name].value}"}
    )

    def is_there() -> bool:
        with urllib.request.urlopen(asked) as page:  # noqa: S310
            text = page.read().decode()
        return "Lantern Open</a>" in text and "Day log" in text

    return is_there


def test_logs_of_two_phones_outlive_a_dead_server_and_are_with_the_coach_in_two_seconds(
    family: Cast, browsing: Browsing, server: Server
) -> None:
    """Without a signal both write; the server dies and returns; the signal returns."""
    phones = [phone_of(browsing, family.player) for _ in range(2)]
    for page, write in zip(phones, (check_in, write_day), strict=True):
        page.context.set_offline(True)
        write(page)
        waits(page)
    server.kill()
    server.start()
    is_listed = listed(server, family)
    assert not is_listed()

    signal = time.monotonic()
    for page in phones:
        page.context.set_offline(False)
    seconds = seconds_until(is_listed, phones[0], signal)

    print(f"\nfrom the signal to the coach's list: {seconds:.2f} s")
    assert seconds <= SOON_S
    for page in phones:
        expect(page.locator("[data-badge]")).to_be_hidden()
    assert (EventCheckIn.objects.count(), DayLog.objects.count()) == (1, 1)
    assert Message.objects.count() == 2


def deliver_raw(request: Request) -> socket.socket:
    """Send the request as the browser would, and leave the answer unread."""
    address = urlsplit(request.url)
    connected = socket.create_connection((address.hostname, address.port), timeout=10)
    headers = request.all_headers() | {"connection": "close"}
    head = "".join(f"{k}: {v}\r\n" for k, v in headers.items() if k[0] != ":")
    body = request.post_data_buffer or b""
    if "content-length" not in headers:
        head += f"content-length: {len(body)}\r\n"
    if "host" not in headers:
        head += f"host: {address.netloc}\r\n"
    connected.sendall(f"POST {address.path} HTTP/1.1\r\n{head}\r\n".encode() + body)
    return connected


@pytest.mark.parametrize("moment", ["as it arrives", "stored and not yet answered"])
def test_a_server_that_dies_before_it_answers_has_the_log_once_when_it_is_back(
    family: Cast, browsing: Browsing, server: Server, moment: str
) -> None:
    page = phone_of(browsing, family.player)
    deliveries: list[Any] = []

    def die_on_the_first(route: Route) -> None:
        deliveries.append(route.request.post_data_json)
        if len(deliveries) > 1:
            return route.continue_()
        with deliver_raw(route.request):
            if moment == "stored and not yet answered":
                until = time.monotonic() + 10
                while not Message.objects.exists() and time.monotonic() < until:
                    time.sleep(0.005)
                assert Message.objects.count() == 1
            server.kill()
        return route.abort("connectionreset")

    page.context.route("**/outbox/", die_on_the_first)
    check_in(page)
    waits(page)
    expect(form_of(page, EVENT).locator("[data-state]")).to_have_text("On this phone")
    page.close()
    server.start()

    # The app is opened again.
    again = page.context.new_page()
    opened = time.monotonic()
    again.goto(reverse("phone-log"))
    seconds = seconds_until(EventCheckIn.objects.exists, again, opened)
    # A delivery on a connection of the dead server is given up after some seconds, and made again.
    expect(again.locator("[data-badge]")).to_be_hidden(timeout=LONG_MS)
    expect(form_of(again, EVENT).locator("[data-state]")).to_have_text("Sent")

    print(f"\n{moment}: stored {seconds:.2f} s after opening, {len(deliveries)} deliveries")
    assert len(deliveries) >= 2
    assert all(delivery == deliveries[0] for delivery in deliveries)
    stored = EventCheckIn.objects.get()
    assert (stored.energy_after, stored.rounds_won) == (6, 2)
    assert Message.objects.count() == 1
