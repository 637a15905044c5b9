"""A server that loses its power in the middle of a hundred edits leaves a whole history."""

from __future__ import annotations

import threading
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Iterator

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.urls import reverse

from seasonplan.plans.history import read_state, replay
from seasonplan.plans.models import SeasonPlan
from tests.browser.serving import Server
from tests.browser.stage import set_the_stage
from tests.conftest import Cast

pytestmark = pytest.mark.browser

EDITS = 100
KILLED_AFTER = 40


@pytest.fixture(autouse=True)
def _a_wednesday_in_february() -> None:
    """The server has the clock of the machine, and so have the tests here."""


@pytest.fixture
def server(transactional_db: None) -> Iterator[Server]:
    if connection.vendor != "sqlite":
        pytest.skip("The server shares the tests' database as a SQLite file.")
    server = Server(
        {
            "DATABASE_URL": f"sqlite:///{connection.settings_dict['NAME']}",
            "SEASONPLAN_DEVELOPMENT": "1",
            "SEASONPLAN_SECRET_KEY": settings.SECRET_KEY,
        }
    )
    server.start()
    yield server
    server.kill()


class Coach:
    """Sends edits, one after the other, until the server does not answer any more."""

    def __init__(self, server: Server, cast: Cast, plan: SeasonPlan) -> None:
        client = Client()
        client.force_login(
            cast.coach, backend="allauth.account.auth_backends.AuthenticationBackend"
        )
        token = "t" * 32
        session = client.cookies[settings.SESSION_COOKIE_NAME].value
        self.headers = {
            "Cookie": f"{settings.SESSION_COOKIE_NAME}={session};"
            f" {settings.CSRF_COOKIE_NAME}={token}",
            "X-CSRFToken": token,
            "HX-Request": "true",
        }
        self.url = server.url + reverse("plan-edit", args=[plan.pk])
        self.events = list(plan.planned_events.values_list("event_id", flat=True))
        self.revision = plan.revision
        self.done = 0

    def edit(self, number: int) -> None:
        event = self.events[number // 2 % len(self.events)]
        do = f"{('take-out', 'put-in')[number % 2]} {event}"
        sent = urllib.parse.urlencode({"do": do, "revision": self.revision}).encode()
        request = urllib.request.Request(self.url, sent, self.headers)  # noqa: S310
        with urllib.request.urlopen(request, timeout=30) as answer:  # noqa: S310
            assert answer.status == 200
        self.revision += 1
        self.done += 1

    def edit_until_it_dies(self) -> None:
        try:
            for number in range(EDITS):
                self.edit(number)
        except (urllib.error.URLError, OSError):
            return


def test_the_history_is_whole_and_the_plan_its_replay_after_the_server_was_killed(
    server: Server, cast: Cast
) -> None:
    plan = set_the_stage(cast).working_copy
    coach = Coach(server, cast, plan)
    editing = threading.Thread(target=coach.edit_until_it_dies)
    editing.start()
    while coach.done < KILLED_AFTER and editing.is_alive():
        time.sleep(0.001)
    server.kill()
    editing.join()
    assert KILLED_AFTER <= coach.done < EDITS

    server.start()
    plan.refresh_from_db()
    numbers = list(plan.steps.order_by("number").values_list("number", flat=True))
    assert numbers == list(range(1, plan.revision + 1))
    # What was answered is kept; of the one that was under way, all or nothing.
    assert len(numbers) - 1 - coach.done in (0, 1)
    assert plan.head and plan.head.number == plan.revision
    assert replay(plan) == read_state(plan)

    coach.revision = plan.revision
    for number in range(len(numbers) - 1, EDITS):
        coach.edit(number)
    plan.refresh_from_db()
    assert plan.steps.count() == 1 + EDITS
    assert replay(plan) == read_state(plan)
    assert sum(row.played for row in plan.planned_events.all()) == len(coach.events)
