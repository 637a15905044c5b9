"""What browsers call themselves, as the browsers' makers publish it (shortened)."""

import pytest

from seasonplan.web.browsers import browser_name


@pytest.mark.parametrize(
    ("said", "name"),
    [
        (
            "Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0",
            "Firefox on Linux",
        ),
        (
            "Mozilla/5.0 (Linux; Android 10; K) Chrome/140.0 Mobile Safari/537.36",
            "Chrome on Android",
        ),
        ("Mozilla/5.0 (Windows NT 10.0) Chrome/140.0 Safari/537.36 Edg/140.0", "Edge on Windows"),
        (
            "Mozilla/5.0 (iPhone; CPU iPhone OS 18_5) Version/18.5 Safari/604.1",
            "Safari on an iPhone",
        ),
        ("Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) Safari/605.1.15", "Safari on a Mac"),
        ("Mozilla/5.0 Chrome/140.0", "Chrome"),
        ("curl/8.5.0", "Another program"),
        ("", "Another program"),
    ],
)
def test_a_browser_is_named_in_words(said: str, name: str) -> None:
    assert browser_name(said) == name
