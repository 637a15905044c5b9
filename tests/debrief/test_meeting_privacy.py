"""Who reads which words, role by role, on the page, in the list of years and on paper."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from seasonplan.debrief.access import seat_of
from seasonplan.debrief.meeting import meeting_page, season_of
from seasonplan.debrief.models import Debrief, Decision, OwnView
from seasonplan.debrief.paper import pango_is_there
from tests.conftest import Cast
from tests.debrief.conftest import START, TODAY, Year, unpacked
from tests.factories import DebriefFactory, DecisionFactory, OwnViewFactory

NOTE, DECISION, OWN = "The kestrel serve", "Two in a row at most", "The magpie was hard"
ROLES = ("coach", "player", "director", "staff", "guardian")
OTHERS = ("colleague", "other_player", "foreign_coach", "foreign_director", "stranger")


@pytest.fixture
def words(cast: Cast, year: Year) -> Debrief:
    made: Debrief = DebriefFactory(player=cast.ines, season_start=START, went_well=NOTE)
    DecisionFactory(debrief=made, text=DECISION)
    OwnViewFactory(player=cast.ines, season_start=START, glad=OWN)
    return made


def share(model: type[Debrief] | type[OwnView]) -> None:
    model.objects.update(shared_at="2027-01-12T09:00Z")


def seen_by(
    role: str, cast: Cast, year: Year, as_: Callable[..., Client]
) -> tuple[bool, bool, bool]:
    """Whether note, decision and own view stand on any page that the role opens."""
    client = as_(cast.people()[role])
    pages = [
        client.get(year.url("debrief")),
        client.get(reverse("debriefs", args=[cast.ines.pk])),
        client.get(year.url("season")),
        client.get(reverse("player", args=[cast.ines.pk])),
    ]
    text = "".join(page.content.decode() for page in pages)
    return NOTE in text, DECISION in text, OWN in text


@pytest.mark.parametrize(
    ("shared", "expected"),
    [
        (
            (),
            {
                "coach": (True, True, False),
                "player": (True, True, True),
                "director": (False, False, False),
                "staff": (False, False, False),
                "guardian": (False, False, False),
            },
        ),
        (
            (OwnView,),
            {
                "coach": (True, True, True),
                "player": (True, True, True),
                "director": (False, False, False),
                "staff": (False, False, False),
                "guardian": (False, False, False),
            },
        ),
        (
            (Debrief,),
            {
                "coach": (True, True, False),
                "player": (True, True, True),
                "director": (True, True, False),
                "staff": (True, True, False),
                "guardian": (False, True, False),
            },
        ),
        (
            (Debrief, OwnView),
            {
                "coach": (True, True, True),
                "player": (True, True, True),
                "director": (True, True, False),
                "staff": (True, True, False),
                "guardian": (False, True, False),
            },
        ),
    ],
    ids=["nothing shared", "own view", "debrief", "both"],
)
def test_each_role_reads_what_the_table_of_access_says(
    shared: tuple[type[Debrief] | type[OwnView], ...],
    expected: dict[str, tuple[bool, bool, bool]],
    cast: Cast,
    year: Year,
    words: Debrief,
    as_: Callable[..., Client],
) -> None:
    for model in shared:
        share(model)
    assert {role: seen_by(role, cast, year, as_) for role in ROLES} == expected
    for role in OTHERS:
        assert seen_by(role, cast, year, as_) == (False, False, False), role


def test_what_is_not_shared_is_absent_from_the_page_model_and_the_rows(
    cast: Cast, year: Year, words: Debrief
) -> None:
    own = {r: OwnView.objects.visible_to(p).count() for r, p in cast.people().items()}
    assert own == {r: int(r == "player") for r in cast.people()}
    read = {r: Decision.objects.visible_to(p).count() for r, p in cast.people().items()}
    assert read == {r: int(r in ("coach", "player")) for r in cast.people()}
    for role in ("director", "staff", "guardian", "coach"):
        person = cast.people()[role]
        page = meeting_page(
            year.plan,
            person,
            seat_of(person, cast.ines),
            debrief=season_of(Debrief, year.plan),
            decisions=[],
            carried={},
            plans=[year.plan],
            today=TODAY,
        )
        if role == "coach":
            assert page.own is not None
            assert page.own.answers == ()
        else:
            assert page.own is page.notes is page.decisions is None


def test_a_coach_cannot_tell_whether_an_own_view_was_written(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    def page() -> str:
        text = as_(cast.coach).get(year.url("debrief")).content.decode()
        # Tokens, and the key of the next decision, are new each time.
        return re.sub(r'"[\w-]{32,}"', "", text)

    before = page()
    OwnViewFactory(player=cast.ines, season_start=START, glad=OWN)
    assert page() == before


def test_an_own_view_is_nobody_elses_page(
    cast: Cast, year: Year, words: Debrief, as_: Callable[..., Client]
) -> None:
    share(OwnView)
    for role in (*ROLES, *OTHERS):
        answer: HttpResponse = as_(cast.people()[role]).get(year.url("own-view"))
        assert answer.status_code == (200 if role == "player" else 404), role


def test_sharing_is_taken_back(
    cast: Cast, year: Year, words: Debrief, as_: Callable[..., Client]
) -> None:
    player = as_(cast.player)
    player.post(year.url("own-view-share"), {"do": "share"})
    player.post(year.url("debrief-share"), {"do": "share"})
    assert seen_by("coach", cast, year, as_)[2]
    assert seen_by("staff", cast, year, as_)[0]

    player.post(year.url("own-view-share"), {"do": "hide"})
    as_(cast.coach).post(year.url("debrief-share"), {"do": "hide"})
    assert not seen_by("coach", cast, year, as_)[2]
    assert not seen_by("staff", cast, year, as_)[0]


def test_the_player_writes_their_view_and_reads_it_again(
    cast: Cast, year: Year, as_: Callable[..., Client], write: Callable[..., HttpResponse]
) -> None:
    assert write(cast.player, view="own-view", glad=OWN).status_code == 302
    page = as_(cast.player).get(year.url("own-view")).content.decode()
    assert OWN in page
    assert "Only you see this." in page
    clash = write(cast.player, view="own-view", glad="From another device")
    assert clash.status_code == 409
    assert OWN in clash.content.decode()


def letters(pdf: bytes) -> int:
    """How many letters the PDF draws, counted in its page contents."""
    return sum(
        len(glyphs) // 4
        for content in unpacked(pdf)
        if b" Tf" in content
        for glyphs in re.findall(rb"<([0-9a-f]+)>", content)
    )


@pytest.mark.skipif(not pango_is_there(), reason="needs the libraries of Pango")
def test_paper_holds_what_its_reader_may_read(
    cast: Cast, year: Year, words: Debrief, as_: Callable[..., Client]
) -> None:
    def printed(role: str) -> int:
        answer = as_(cast.people()[role]).get(year.url("debrief-pdf"))
        assert answer["Content-Type"] == "application/pdf"
        return letters(answer.content)

    coach, staff = printed("coach"), printed("staff")
    assert coach > staff > 0
    OwnView.objects.all().delete()
    assert printed("coach") == coach
    OwnViewFactory(player=cast.ines, season_start=START, glad=OWN)
    share(OwnView)
    assert printed("coach") > coach
    assert printed("staff") == staff
