"""Whatever is typed, sent or put into an address is answered; nothing of it breaks a page.

Every address of the access table is asked as the people who get furthest there, with parameters it
knows and others, and sent its own forms with some of their values replaced. An answer below 500 is
all that is asked; Django's test client raises what a server would answer with 500.
"""

import os
import re
from collections.abc import Callable
from html import unescape
from typing import Any

import pytest
from django.core.cache import cache
from django.db import transaction
from django.http import HttpResponseBase
from django.test import Client
from django.urls import NoReverseMatch, get_resolver, reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from seasonplan.academy.models import Person
from tests.conftest import Cast
from tests.test_access_table import TABLE

EXAMPLES = int(os.environ.get("SEASONPLAN_FUZZ", "4"))
"""Questions an address. A change of forms is worth a run with SEASONPLAN_FUZZ=200."""

# Slow by design, and tried with bad questions in tests of their own: solving, drawing, printing.
SLOW = {
    "debrief-pdf",
    "event-price",
    "event-stand-ins",
    "lay-out",
    "limit-price",
    "plan-prices",
    "plan-shapes",
}
PARAMETERS = re.findall(
    r"\w+",
    """academy season before after page q search level surface from to month do open revision why
    all curve role player tab sort show next language view group phase kind court event day v""",
)

nasty = st.sampled_from(
    [
        "",
        " ",
        "0",
        "-1",
        "1",
        "99999999999999999999",
        "1e400",
        "nan",
        "0x1f",
        "١٢",  # digits, though not ours
        "2027-02-30",
        "2027-01-04",
        "0000-00-00",
        "99999-01-01",
        "25:61",
        "\x00",
        "a\x00b",
        "'; DROP TABLE plans; --",
        "<script>alert(1)</script>",
        "{{ 7 }}",
        "../../etc/passwd",
        "=1+1",
        "\u202eright to left",
        "🎾" * 40,
        "x" * 5000,
        "[]",
        '{"a": [1, null]}',
        "True",
        "on",
    ]
) | st.text(st.characters(exclude_categories=["Cs"]), max_size=12)

queries = st.dictionaries(st.sampled_from(PARAMETERS), nasty, max_size=4)
replacements = st.lists(st.tuples(st.integers(0, 200), nasty), min_size=1, max_size=4)
extra = st.dictionaries(st.sampled_from(PARAMETERS), nasty, max_size=2)

_FIELDS = re.compile(r"<(input|button|select|textarea)\b([^>]*)>")
_ATTRIBUTE = re.compile(r'([\w-]+)="([^"]*)"')


def fields_of(page: str) -> list[tuple[str, str]]:
    """Name and value of everything on the page that a form would send."""
    found = []
    for _, attributes in _FIELDS.findall(page):
        given_there = dict(_ATTRIBUTE.findall(attributes))
        name = given_there.get("name")
        if name and name != "csrfmiddlewaretoken":
            found.append((name, unescape(given_there.get("value", ""))))
    return found


def fuzzed(
    fields: list[tuple[str, str]], replaced: list[tuple[int, str]], more: dict[str, str]
) -> dict[str, list[str]]:
    sent: dict[str, list[str]] = {}
    for name, value in fields:
        sent.setdefault(name, []).append(value)
    known = sorted(sent)
    for number, value in replaced:
        if known:
            sent[known[number % len(known)]] = [value]
    return sent | {name: [value] for name, value in more.items() if name not in sent}


@pytest.fixture(autouse=True)
def _quiet(caplog: pytest.LogCaptureFixture) -> None:
    """Hundreds of refusals are what is asked for here."""
    caplog.set_level("CRITICAL", logger="django.request")


def people(cast: Cast, as_: Callable[[Person], Client]) -> list[Client]:
    return [as_(cast.coach), as_(cast.director), as_(cast.player)]


def undone(ask: Callable[[], HttpResponseBase]) -> HttpResponseBase:
    """The answer; what it changed is taken back."""
    cache.clear()
    before = transaction.savepoint()
    try:
        answer = ask()
        if answer.streaming:
            b"".join(answer)  # type: ignore[arg-type]
        return answer
    finally:
        transaction.savepoint_rollback(before)


fuzzing = settings(
    max_examples=EXAMPLES,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@pytest.mark.parametrize("name", sorted(TABLE))
def test_no_question_breaks_an_address(name: str, cast: Cast, as_: Any) -> None:
    path = reverse(name, kwargs=TABLE[name].at(cast))
    clients = people(cast, as_)

    @fuzzing
    @given(query=queries, who=st.integers(0, len(clients) - 1), as_htmx=st.booleans())
    def ask(query: dict[str, str], who: int, as_htmx: bool) -> None:
        headers = {"HX-Request": "true"} if as_htmx else {}
        answer = undone(lambda: clients[who].get(path, query, headers=headers))
        assert answer.status_code < 500

    ask()


@pytest.mark.parametrize("name", sorted(set(TABLE) - SLOW))
def test_no_form_breaks_an_address(name: str, cast: Cast, as_: Any) -> None:
    address = TABLE[name]
    path = reverse(name, kwargs=address.at(cast))
    clients = people(cast, as_)
    pages = [undone(lambda client=client: client.get(path)) for client in clients]
    offered = [
        fields_of(page.content.decode()) if hasattr(page, "content") and page.status_code == 200
        and page.headers.get("Content-Type", "").startswith("text/html") else []
        for page in pages
    ]  # fmt: skip
    usual = list(address.send(cast).items())

    @fuzzing
    @given(
        replaced=replacements,
        more=extra,
        who=st.integers(0, len(clients) - 1),
        as_htmx=st.booleans(),
    )
    def send(
        replaced: list[tuple[int, str]], more: dict[str, str], who: int, as_htmx: bool
    ) -> None:
        fields = offered[who] + [(key, str(value)) for key, value in usual]
        data = fuzzed(fields, replaced, more)
        headers = {"HX-Request": "true"} if as_htmx else {}
        answer = undone(lambda: clients[who].post(path, data, headers=headers))
        assert answer.status_code < 500

    send()


def with_words() -> list[str]:
    """Addresses of which a part is a word, such as the Monday of a week or the code of a kind."""
    reverses = get_resolver().reverse_dict
    return sorted(
        name
        for name in TABLE
        if "%(" in str(reverses.getlist(name))
        and any(
            converter.__class__.__name__ in ("StringConverter", "SlugConverter")
            for _, _, _, converters in reverses.getlist(name)
            for converter in converters.values()
        )
    )


@pytest.mark.parametrize("name", with_words())
def test_no_part_of_an_address_breaks_it(name: str, cast: Cast, as_: Any) -> None:
    arguments = TABLE[name].at(cast)
    words = [key for key, value in arguments.items() if isinstance(value, str)]
    client = as_(cast.coach)

    @fuzzing
    @given(value=nasty.filter(lambda text: text and "/" not in text and len(text) < 500))
    def ask(value: str) -> None:
        try:
            path = reverse(name, kwargs=arguments | dict.fromkeys(words, value))
        except NoReverseMatch:
            return
        assert undone(lambda: client.get(path)).status_code < 500

    ask()


def test_the_table_has_forms_to_try(cast: Cast, as_: Any) -> None:
    """The reader of fields finds what a form has: otherwise nothing above would be tried."""
    page = as_(cast.coach).get(f"/players/{cast.ines.pk}/edit/").content.decode()
    found = dict(fields_of(page))
    assert {"name", "birth_date", "place_name", "lat"} <= set(found)
    assert found["name"] == "Ines Varga"
