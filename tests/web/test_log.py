"""What a log line keeps, and what it keeps to itself."""

import logging
from typing import Any

import pytest
from django.conf import settings
from django.test import Client

from seasonplan.academy import inviting
from seasonplan.web.log import OneLine
from tests.conftest import Cast


@pytest.fixture
def line() -> OneLine:
    """The formatter as the settings make it."""
    given = settings.LOGGING["formatters"]["line"]
    return OneLine(**{name: value for name, value in given.items() if name != "()"})


def record(message: str, *args: Any) -> logging.LogRecord:
    return logging.LogRecord("seasonplan", logging.WARNING, "", 0, message, args, None)


def test_an_event_is_one_line(line: OneLine) -> None:
    assert line.format(record("one\n\ntwo")).endswith("WARNING seasonplan one | two")


def test_an_invitation_that_still_works_is_not_given_away(
    cast: Cast, line: OneLine, caplog: pytest.LogCaptureFixture
) -> None:
    _, token = inviting.invite(
        academy=cast.academy,
        email="gordon@nowhere.test",
        role="guardian",
        player=cast.ines,
        invited_by=cast.coach,
    )
    assert Client().post(f"/invitations/{token}/", {"password": "short"}).status_code == 422
    lines = [line.format(each) for each in caplog.records]
    assert any("/invitations/" in text for text in lines)
    assert not any(token in text for text in lines)


def test_a_link_for_a_new_password_is_not_given_away(line: OneLine) -> None:
    text = line.format(record("Gone: %s", "/account/password/reset/key/1-d3k9-5e7f/"))
    assert text.endswith("Gone: /account/password/reset/key/***/")
