"""Things made some days ago."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.core import signing


@contextmanager
def signed_two_days_ago() -> Iterator[None]:
    """Signatures made in here are two days old."""
    with pytest.MonkeyPatch.context() as clock:
        then = signing.time.time() - 2 * 24 * 60 * 60
        clock.setattr(signing.time, "time", lambda: then)
        yield
