"""Nothing that a person sees is left in a cache, and cookies come from this host alone."""

import subprocess
import sys
from collections.abc import Callable

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from tests.conftest import Cast


@pytest.mark.parametrize("name", ["home", "calendar", "me", "people", "phone"])
def test_a_page_of_somebody_signed_in_is_stored_nowhere(
    name: str, cast: Cast, as_: Callable[..., Client]
) -> None:
    who = cast.player if name == "phone" else cast.coach
    answer = as_(who).get(reverse(name), follow=True)
    assert "no-store" in answer.headers["Cache-Control"]
    assert "private" in answer.headers["Cache-Control"]


def test_pages_for_everybody_are_left_alone(client: Client) -> None:
    assert "no-store" not in client.get("/manifest.webmanifest").headers["Cache-Control"]


def test_over_https_cookies_belong_to_this_host(tmp_path) -> None:
    """In a process of its own, with the settings of a server."""
    said = subprocess.run(
        [
            sys.executable,
            "-c",
            "from django.conf import settings as s;"
            "print(s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME, s.SESSION_COOKIE_SECURE,"
            " s.CSRF_COOKIE_SECURE, s.SESSION_COOKIE_HTTPONLY, s.SECURE_HSTS_SECONDS)",
        ],
        env={
            "DJANGO_SETTINGS_MODULE": "seasonplan.settings",
            "SEASONPLAN_HOSTS": "plan.example.org",
            "SEASONPLAN_DATA": str(tmp_path),
            "PATH": "",
        },
        cwd=settings.ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split()
    assert said == [
        "__Host-sessionid",
        "__Host-csrftoken",
        "True",
        "True",
        "True",
        str(365 * 86400),
    ]


def test_trace_is_not_answered(db: None, client: Client) -> None:
    assert client.trace("/account/login/").status_code == 405


def test_other_origins_are_given_nothing(client: Client) -> None:
    answer = client.get("/account/login/", headers={"Origin": "https://elsewhere.test"})
    assert "Access-Control-Allow-Origin" not in answer.headers
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert answer.headers["Referrer-Policy"] == "same-origin"
    policy = answer.headers["Content-Security-Policy"]
    for said in ("default-src 'none'", "script-src 'self'", "frame-ancestors 'none'"):
        assert said in policy
    assert "unsafe-inline" not in policy.split("script-src")[1].split(";")[0]
