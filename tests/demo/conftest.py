"""The demo, loaded once for all tests of a module; each of them sees it in its own transaction."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from typing import Any

import pytest

from seasonplan.academy.models import Player
from seasonplan.demo.loading import load, remove
from seasonplan.training.models import TrainingSession
from seasonplan.training.targets import season_training
from seasonplan.training.weeks import as_planned
from tests.training.filled_years import FilledYear

TODAY = date(2026, 11, 25)
"""A day in the last of the seasons before the one that the demo plans."""


@pytest.fixture(scope="module")
def loading(django_db_setup: None, django_db_blocker: Any) -> Callable[..., Any]:
    @contextmanager
    def loaded(**options: Any) -> Iterator[None]:
        with django_db_blocker.unblock():
            load(say=lambda line: None, **{"today": TODAY, **options})
            yield
            remove()

    return loaded


def filled_year(player: Player, day: date) -> FilledYear:
    """The season in force that holds the day, with the sessions that are stored."""
    year = season_training(player, day)
    assert year is not None
    rows = TrainingSession.objects.filter(
        week__player=player, day__gte=year.start, day__lte=year.end
    )
    return FilledYear(year, tuple(as_planned(row) for row in rows))
