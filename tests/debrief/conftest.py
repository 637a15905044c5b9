"""A season of Ines's that is over: 2026, in force, with three events played."""

from __future__ import annotations

import re
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from seasonplan.academy.models import Person
from seasonplan.debrief.meeting import digest
from seasonplan.events.models import Event, Place
from seasonplan.plans.models import SeasonPlan
from tests.conftest import Cast
from tests.factories import EventFactory, PlaceFactory, PlannedEventFactory, SeasonPlanFactory

START, END = date(2026, 1, 5), date(2027, 1, 3)
TODAY = date(2027, 1, 12)


@dataclass(frozen=True)
class Year:
    """`cup` was the target; all three events are in Valencia."""

    plan: SeasonPlan
    valencia: Place
    cup: Event
    lantern: Event
    harbour: Event

    def url(self, name: str) -> str:
        return reverse(name, args=[self.plan.pk])


@pytest.fixture(autouse=True)
def _january(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: datetime(2027, 1, 12, 9, 30, tzinfo=UTC))


@pytest.fixture
def year(cast: Cast) -> Year:
    plan = SeasonPlanFactory(
        player=cast.ines,
        name="Season 2026",
        start=START,
        end=END,
        standing="in force",
        limits={"max_run": 3, "max_events": 18},
    )
    valencia = PlaceFactory(academy=cast.academy, place_name="Valencia", lat=39.47, lon=-0.38)

    def event(name: str, start: date, **kwargs: Any) -> Event:
        made = EventFactory(academy=cast.academy, place=valencia, name=name, start=start, **kwargs)
        role = "target" if name == "Orchard Cup" else "open"
        PlannedEventFactory(plan=plan, event=made, role=role, played=True)
        return made

    return Year(
        plan=plan,
        valencia=valencia,
        cup=event("Orchard Cup", date(2026, 5, 18), level="national"),
        lantern=event("Lantern Open 2026", date(2026, 6, 8)),
        harbour=event("Harbour Trophy", date(2026, 9, 14)),
    )


@pytest.fixture
def write(year: Year, as_: Callable[..., Client]) -> Callable[..., HttpResponse]:
    """`write(person, went_well="...", over={"went_well": "old"})` posts notes of the meeting."""

    def post(
        person: Person,
        over: dict[str, str] | None = None,
        view: str = "debrief-words",
        **words: str,
    ) -> HttpResponse:
        seen = {f"{name}_seen": digest((over or {}).get(name, "")) for name in words}
        return as_(person).post(year.url(view), {**words, **seen})

    return post


def unpacked(pdf: bytes) -> list[bytes]:
    """The streams of a PDF, page contents and tables of objects among them, as they were packed."""
    found = []
    for stream in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL):
        try:
            found.append(zlib.decompress(stream))
        except zlib.error:
            found.append(stream)
    return found


def a_decision(**changes: Any) -> dict[str, Any]:
    """What the form of a decision sends."""
    return {
        "key": "7b0f4f3e-58a5-4a8f-9a58-6b1f7f1f0001",
        "text": "At most two events in a row",
        "owner": "player",
        "due": "2027-03-01",
        "kind": "note",
        **changes,
    }
