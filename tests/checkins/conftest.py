"""A player of fourteen whose guardian has consented, an event just over, and what phones send."""

import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from seasonplan.academy.models import Player
from seasonplan.events.models import Event
from tests.conftest import Cast
from tests.factories import ConsentFactory, EventFactory

NOW = datetime(2026, 1, 18, 20, 0, tzinfo=UTC)


def years_ago(years: int) -> date:
    """A birth date of somebody of this age, whenever the test runs."""
    return timezone.localdate() - timedelta(days=round(365.25 * years) + 30)


@pytest.fixture
def ines(cast: Cast) -> Player:
    """Fourteen, and her guardian has consented to health logs."""
    cast.ines.birth_date = years_ago(14)
    cast.ines.save()
    ConsentFactory(player=cast.ines, given_by=cast.guardian)
    return cast.ines


@pytest.fixture
def lantern(cast: Cast) -> Event:
    """An event of the academy that ended the day before NOW."""
    return EventFactory(
        academy=cast.academy,
        name="Lantern Open",
        start=date(2026, 1, 11),
        end=date(2026, 1, 17),
        draw_size=32,
    )


def this_week(cast: Cast, **about: Any) -> Event:
    """An event of the academy that ends today, whenever the test runs."""
    today = timezone.localdate()
    return EventFactory(academy=cast.academy, start=today - timedelta(days=6), end=today, **about)


def message(kind: str, player: Player, body: dict[str, Any], **about: Any) -> dict[str, Any]:
    """What a phone sends; `event` may be an Event."""
    event = about.pop("event", None)
    sent = {
        "key": str(uuid.uuid4()),
        "kind": kind,
        "player": player.pk,
        "event": event.pk if isinstance(event, Event) else event,
        "day": "2026-01-18" if kind == "day" else None,
        "session": str(uuid.uuid4()) if kind == "session" else None,
        "written_at": "2026-01-18T18:00:00+01:00",
        "body": body,
    }
    return sent | about


@pytest.fixture
def send(as_: Callable[..., Client]) -> Callable[..., HttpResponse]:
    """`send(person, message, ...)` posts messages as a phone does."""

    def post(person: Any, *messages: Any) -> HttpResponse:
        return as_(person).post(
            "/outbox/", {"messages": list(messages)}, content_type="application/json"
        )

    return post
