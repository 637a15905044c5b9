"""A real Chromium against a live server, and what no page may do while a test looks at it.

A test fails on a console error or warning, a script error, a failed answer, or a request to any
other host, whatever it asserts. What its pages looked like when it failed is in `artifacts/`.
"""

from __future__ import annotations

import shutil
from collections.abc import Generator, Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
from django.db import connections
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect, sync_playwright

from tests.browser.browsing import NARROW, PATIENCE_MS, Browsing
from tests.browser.stage import Stage, set_the_stage
from tests.conftest import Cast


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings: None, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """SQLite in a file: in memory, the test and all threads of the server share one connection."""
    database = connections.settings["default"]
    if database["ENGINE"] == "django.db.backends.sqlite3":
        folder = tmp_path_factory.mktemp("browser-database")
        database["TEST"]["NAME"] = str(folder / "seasonplan.sqlite3")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    path = shutil.which("chromium")
    if path is None:
        pytest.fail("There is no `chromium` on the path; on Debian: apt-get install chromium")
    with pytest.MonkeyPatch.context() as environment, sync_playwright() as playwright:
        # Playwright keeps an event loop in this thread, which Django takes for async code.
        environment.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
        browser = playwright.chromium.launch(
            executable_path=path,
            args=[
                "--no-sandbox",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                "--no-first-run",
                "--disable-gpu",
                "--disable-quic",
                "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE localhost",
            ],
        )
        expect.set_options(timeout=PATIENCE_MS)
        yield browser
        browser.close()


@pytest.fixture(autouse=True)
def _a_wednesday_in_february(monkeypatch: pytest.MonkeyPatch) -> None:
    """24 February 2027, whenever the tests run: a part of the season is past, most is to come."""
    monkeypatch.setattr(timezone, "now", lambda: datetime(2027, 2, 24, 9, 30, tzinfo=UTC))


@pytest.fixture
def browsing(chromium: Browser, live_server: Any) -> Iterator[Browsing]:
    opened = Browsing(chromium, live_server.url)
    yield opened
    opened.close()


@pytest.fixture
def desktop(browsing: Browsing) -> Page:
    """A laptop; nobody is signed in."""
    return browsing.open()


@pytest.fixture
def phone(browsing: Browsing) -> Page:
    """A phone held upright; nobody is signed in."""
    return browsing.open(width=NARROW[0], touch=True)


@pytest.fixture
def stage(cast: Cast) -> Stage:
    """The cast, with the event calendar and a season of Ines's laid out."""
    return set_the_stage(cast)


@pytest.hookimpl(wrapper=True)
def pytest_pyfunc_call(pyfuncitem: pytest.Function) -> Generator[None, object, object]:
    """Judge what the pages did, and keep a picture of each if the test failed."""
    browsing: Browsing | None = pyfuncitem.funcargs.get("browsing")
    try:
        result = yield
        if browsing:
            assert browsing.troubles == []
    except BaseException:
        if browsing:
            browsing.take_pictures(pyfuncitem.name)
        raise
    return result
