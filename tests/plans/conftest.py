"""Ten weeks of a season with three events, whose best layout can be worked out by hand.

The player lives in Valencia. The target is there in the seventh week; an open event in Barcelona
(306 km, 0.9 hours of flight each way, one travel day) and another one at home follow in the eighth
and ninth. Each ends on a Saturday, so that the Sunday is free for the journey.

Best: preparation 5 weeks, pre-competition 1, competition 3 with all three events, active rest 1.
80 + 20 + 20 for the events, 5 x 1.0 + 1 x 0.5 + 1 x 0.3 for the weeks, less 0.5 x 1.8 hours of
flight, is 124.9, with nothing broken.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import pytest
from django.conf import LazySettings
from django.db import connection

from seasonplan.events.models import Event, Place
from seasonplan.plans.models import SeasonPlan
from tests.conftest import Cast
from tests.factories import EventFactory, PlaceFactory, PlannedEventFactory, SeasonPlanFactory

START = date(2040, 1, 2)
SHORT_LIMITS: dict[str, Any] = {
    "preparation_weeks": [2, 6],
    "pre_competition_weeks": [1, 4],
    "competition_weeks": [1, 6],
    "min_cycles": 1,
    "min_rest_weeks": 1,
    "final_rest_weeks": 1,
}


def week(number: int, *, days: int = 6) -> dict[str, date]:
    """The first so many days of a week of the season, counted from 1."""
    first = START + timedelta(weeks=number - 1)
    return {"start": first, "end": first + timedelta(days=days - 1)}


@dataclass(frozen=True)
class TenWeeks:
    plan: SeasonPlan
    valencia: Place
    barcelona: Place
    cup: Event
    lantern: Event
    harbour: Event


@pytest.fixture
def ten_weeks(cast: Cast) -> TenWeeks:
    plan = SeasonPlanFactory(
        player=cast.ines,
        name="Spring 2040",
        start=START,
        end=date(2040, 3, 11),
        limits=dict(SHORT_LIMITS),
    )
    valencia = PlaceFactory(academy=cast.academy, place_name="Valencia", lat=39.47, lon=-0.38)
    barcelona = PlaceFactory(academy=cast.academy, place_name="Barcelona", lat=41.4, lon=2.2)
    cup = EventFactory(
        academy=cast.academy, place=valencia, name="Orchard Cup", level="national", **week(7)
    )
    lantern = EventFactory(
        academy=cast.academy, place=barcelona, name="Lantern Open", entry_fee="45.50", **week(8)
    )
    harbour = EventFactory(
        academy=cast.academy, place=valencia, name="Harbour Trophy", entry_fee="30", **week(9)
    )
    PlannedEventFactory(plan=plan, event=cup, role="target")
    return TenWeeks(plan, valencia, barcelona, cup, lantern, harbour)


@pytest.fixture(autouse=True)
def time_enough(settings: LazySettings) -> None:
    """A busy machine must not end a search before the best layout is proven."""
    settings.LAYOUT_SECONDS = 60


@contextmanager
def somebody_changes(plan: SeasonPlan, *, once: str) -> Iterator[None]:
    """Within this, the plan gets a new revision as soon as a query names the table `once`.

    The other person's save comes between a reading of the plan and the writing that follows.
    """
    done: list[str] = []

    def watch(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if once in sql and not done:
            done.append(sql)
            SeasonPlan.objects.filter(pk=plan.pk).update(revision=plan.revision + 1)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(watch):
        yield
    assert done, f"no query named {once}"
