"""Weeks and the library in another language: what is read there, and what is kept all the same."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.utils import timezone, translation

from seasonplan.science import session_rules
from seasonplan.science.session_kinds import said
from seasonplan.training.library import BUILT_IN, row_of
from seasonplan.training.models import SessionKind
from seasonplan.training.week_page import FINDING_WORDS
from tests.conftest import Cast
from tests.plans.pages import read
from tests.training.season import NEXT, NOW, SWAP, a_season, a_session, a_week, url
from tests.training.test_library import path, typed

As = Callable[..., Client]
SERVE = BUILT_IN["serve-workshop"]


@pytest.fixture
def spanish(cast: Cast, as_: As, monkeypatch: pytest.MonkeyPatch) -> Client:
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    cast.coach.language = "es"
    cast.coach.save()
    return as_(cast.coach)


@pytest.fixture(autouse=True)
def _afterwards_english() -> object:
    yield
    translation.activate("en-gb")


def serve_in_spanish() -> str:
    with translation.override("es"):
        name = said(SERVE).name
    assert name != SERVE.name
    return name


def test_a_session_of_the_library_is_read_in_the_readers_language_and_kept_as_it_was(
    spanish: Client, cast: Cast
) -> None:
    a_season(cast)
    row = a_session(a_week(cast.ines), 1, name=SERVE.name, kind=SERVE.code)
    name = serve_in_spanish()
    page = spanish.get(url(cast.ines, NEXT), {"session": str(row.key)}).text
    assert name in page
    assert SERVE.name not in page

    change = {
        "do": f"change {row.key}",
        "revision": "1",
        "name": name,
        "day": "2027-03-02",
        "minutes": "55",
        "effort": "5",
        "note": "",
    }
    answer = spanish.post(url(cast.ines, NEXT, edit=True), change, headers=SWAP)
    assert answer.status_code == 200
    row.refresh_from_db()
    assert (row.name, row.minutes) == (SERVE.name, 55)
    undo = read(answer).one(id="undo").text
    assert undo.startswith("Deshacer: ")
    assert name in undo


def test_a_kind_saved_as_it_was_shown_is_no_kind_of_the_academys_own(
    spanish: Client, cast: Cast
) -> None:
    edit = path("session-kind-edit", SERVE.code, academy=cast.academy)
    shown = spanish.get(edit)
    assert serve_in_spanish() in shown.text
    with translation.override("es"):
        values = typed(said(SERVE)) | {"seen": read(shown).typed("seen")}
    assert spanish.post(edit, values).status_code == 302
    assert not SessionKind.objects.exists()

    assert spanish.post(edit, values | {"minutes": SERVE.minutes + 5}).status_code == 302
    kept = SessionKind.objects.get()
    expected = row_of(SERVE, cast.academy)
    assert (kept.name, kept.purpose) == (expected.name, expected.purpose)
    assert kept.minutes == SERVE.minutes + 5


def test_drawings_have_points_for_every_reader(spanish: Client, cast: Cast) -> None:
    a_season(cast)
    a_session(a_week(cast.ines), 1)
    page = spanish.get(f"/players/{cast.ines.pk}/load/?curve").text
    assert 'class="load-planned" fill="#fff" stroke="#000" x="' in page
    for drawing in page.split("<svg")[1:]:
        inside = drawing.partition("</svg>")[0]
        numbers = [part.partition('"')[0] for part in inside.split(' x="')[1:]]
        assert all("," not in number for number in numbers)


def test_every_rule_of_a_week_has_its_word() -> None:
    with open(session_rules.__file__) as lines:
        source = lines.read()
    for part in source.split("WeekFinding(\n")[1:]:
        assert part.strip().split('"')[1] in FINDING_WORDS
