"""The demo, loaded once for all tests of a module; each of them sees it in its own transaction."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from typing import Any

import pytest

from seasonplan.demo.loading import load, remove

TODAY = date(2026, 11, 25)
"""A day in the last of the seasons before the one that the demo plans."""


@pytest.fixture(scope="module")
def loading(django_db_setup: None, django_db_blocker: Any) -> Callable[..., Any]:
    @contextmanager
    def loaded(**options: Any) -> Iterator[None]:
        with django_db_blocker.unblock():
            load(say=lambda line: None, today=TODAY, **options)
            yield
            remove()

    return loaded
