"""The library of session kinds: who reads and changes it, and what is refused and how."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import pytest
from django.db import connection
from django.http import QueryDict
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from seasonplan.academy.models import Academy
from seasonplan.science.session_kinds import LIBRARY
from seasonplan.training.kind_forms import KindForm
from seasonplan.training.library import (
    BUILT_IN,
    LibraryKind,
    Stale,
    add_kind,
    find_kind,
    keep_kind,
    kinds_of,
    library_of,
    row_of,
    set_in_use,
)
from seasonplan.training.library_pages import kind_page, library_page
from seasonplan.training.models import SessionKind
from tests.conftest import Cast
from tests.factories import MembershipFactory, SessionKindFactory
from tests.plans.pages import Element, read

AsPerson = Callable[..., Client]
SERVE = BUILT_IN["serve-workshop"]


def path(name: str, *args: str, academy: Academy | None = None) -> str:
    address = reverse(name, args=args)
    return f"{address}?academy={academy.pk}" if academy else address


def entry(academy: Academy, code: str) -> LibraryKind:
    found = find_kind(academy, code)
    assert found is not None
    return found


def typed(kind: Any = SERVE, **changes: Any) -> dict[str, Any]:
    """What the form sends for a kind, with changes."""
    row = row_of(kind, Academy())
    names = KindForm.Meta.fields
    values: Mapping[str, Any] = {name: getattr(row, name) for name in names}
    return {name: "" if value is None else value for name, value in values.items()} | changes


def in_its_own_way(academy: Academy, **changes: Any) -> SessionKind:
    row = row_of(replace(SERVE, **changes), academy)
    row.save()
    return row


# What an academy has ------------------------------------------------------------------------------


def test_without_rows_an_academy_has_what_comes_with_the_program(cast: Cast) -> None:
    assert kinds_of(cast.academy) == LIBRARY


def test_every_built_in_kind_fits_into_a_row_unchanged(cast: Cast) -> None:
    for kind in LIBRARY:
        row = row_of(kind, cast.academy)
        row.full_clean()
        row.save()
    assert kinds_of(cast.academy) == LIBRARY


def test_a_row_says_a_kind_in_the_academys_way_and_in_its_place(cast: Cast) -> None:
    in_its_own_way(cast.academy, name="Serve school", minutes=45)
    kinds = kinds_of(cast.academy)
    at = LIBRARY.index(SERVE)
    assert kinds[at] == replace(SERVE, name="Serve school", minutes=45)
    assert (kinds[:at], kinds[at + 1 :]) == (LIBRARY[:at], LIBRARY[at + 1 :])


def test_own_kinds_come_behind_by_name(cast: Cast) -> None:
    for name in ("Wall sessions", "Beach games"):
        SessionKindFactory(academy=cast.academy, name=name)
    kinds = kinds_of(cast.academy)
    assert kinds[: len(LIBRARY)] == LIBRARY
    assert [kind.name for kind in kinds[len(LIBRARY) :]] == ["Beach games", "Wall sessions"]


def test_what_is_out_of_use_is_left_out_and_stays_in_the_library(cast: Cast) -> None:
    set_in_use(cast.academy, SERVE.code, in_use=False, seen=entry(cast.academy, SERVE.code).state)
    assert SERVE not in kinds_of(cast.academy)
    assert len(library_of(cast.academy)) == len(LIBRARY)


def test_an_academy_has_nothing_of_another(cast: Cast) -> None:
    in_its_own_way(cast.foreign_academy, name="Theirs")
    SessionKindFactory(academy=cast.foreign_academy)
    assert kinds_of(cast.academy) == LIBRARY


@pytest.mark.parametrize("rows", [5, 50])
def test_the_kinds_come_in_one_query(cast: Cast, rows: int) -> None:
    for n in range(rows):
        SessionKindFactory(academy=cast.academy, code=f"own-{n}")
    with CaptureQueriesContext(connection) as asked:
        assert len(kinds_of(cast.academy)) == len(LIBRARY) + rows
    assert len(asked) == 1


# Changing -----------------------------------------------------------------------------------------


def test_a_row_that_only_repeats_the_built_in_is_not_kept(cast: Cast) -> None:
    in_its_own_way(cast.academy, name="Serve school")
    keep_kind(row_of(SERVE, cast.academy), seen=entry(cast.academy, SERVE.code).state)
    assert not SessionKind.objects.exists()
    assert kinds_of(cast.academy) == LIBRARY


def test_who_saw_an_older_state_changes_nothing(cast: Cast) -> None:
    seen = entry(cast.academy, SERVE.code).state
    in_its_own_way(cast.academy, name="Serve school")
    with pytest.raises(Stale):
        keep_kind(row_of(replace(SERVE, minutes=30), cast.academy), seen=seen)
    with pytest.raises(Stale):
        set_in_use(cast.academy, SERVE.code, in_use=False, seen=seen)
    assert entry(cast.academy, SERVE.code).kind.name == "Serve school"


def test_the_state_of_a_kind_changes_with_each_of_its_parts() -> None:
    plain = LibraryKind(SERVE, SERVE, True)
    others = [
        replace(plain, kind=replace(SERVE, cautions="None.")),
        replace(plain, kind=replace(SERVE, effort_0_10=5)),
        replace(plain, in_use=False),
    ]
    assert len({each.state for each in (plain, *others)}) == 4


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("Serve Workshop", "serve-workshop-2"),
        ("New", "new-2"),
        ("Übung", "ubung"),
        ("球", "own-kind"),
        ("x" * 60, "x" * 36),
    ],
)
def test_an_own_kind_gets_a_free_code_from_its_name(cast: Cast, name: str, code: str) -> None:
    row = row_of(replace(SERVE, name=name, code=""), cast.academy)
    assert add_kind(row) == code
    second = row_of(replace(SERVE, name=name, code=""), cast.academy)
    assert add_kind(second) != code
    for made in (row, second):
        made.full_clean()


# Reading ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("who", ["coach", "director", "staff", "guardian", "player"])
def test_everybody_of_the_academy_reads_the_library(who: str, cast: Cast, as_: AsPerson) -> None:
    client = as_(getattr(cast, who))
    page = read(client.get(path("session-kinds")))
    assert [h2.text.rsplit(" ", 1)[0] for h2 in page.all("h2")] == ["On court", "Off court"]
    assert len(page.all("th", scope="row")) == len(LIBRARY)
    one = read(client.get(path("session-kind", SERVE.code)))
    assert SERVE.cautions in one.text
    may_edit = who in ("coach", "director")
    assert ("Add a kind" in page.links()) is may_edit
    assert ("Change" in one.links()) is may_edit
    assert ("Take out of use" in one.buttons()) is may_edit


def test_an_unknown_kind_and_an_unknown_academy_do_not_exist(cast: Cast, as_: AsPerson) -> None:
    client = as_(cast.coach)
    assert client.get(path("session-kind", "no-such-kind")).status_code == 404
    foreign = path("session-kinds", academy=cast.foreign_academy)
    assert client.get(foreign).status_code == 404
    assert client.get(path("session-kinds") + "?academy=x").status_code == 404


def test_own_kinds_of_another_academy_do_not_exist(cast: Cast, as_: AsPerson) -> None:
    SessionKindFactory(academy=cast.foreign_academy, code="theirs")
    for name in ("session-kind", "session-kind-edit"):
        assert as_(cast.coach).get(path(name, "theirs")).status_code == 404


def test_what_is_out_of_use_is_shown_only_to_who_may_take_it_back(
    cast: Cast, as_: AsPerson
) -> None:
    SessionKindFactory(academy=cast.academy, code="old", name="Old drill", in_use=False)
    coach, player = as_(cast.coach), as_(cast.player)
    assert "Old drill own kind out of use" in read(coach.get(path("session-kinds"))).text
    assert "Old drill" not in read(player.get(path("session-kinds"))).text
    assert coach.get(path("session-kind", "old")).status_code == 200
    assert player.get(path("session-kind", "old")).status_code == 404


def test_who_belongs_to_two_academies_chooses_which_library(cast: Cast, as_: AsPerson) -> None:
    MembershipFactory(academy=cast.foreign_academy, person=cast.coach, role="guardian")
    SessionKindFactory(academy=cast.foreign_academy, code="theirs", name="Their games")
    client = as_(cast.coach)
    theirs = client.get(path("session-kinds", academy=cast.foreign_academy))
    assert "Their games" in read(theirs).text
    assert "Add a kind" not in read(theirs).links()
    first = read(client.get(path("session-kinds")))
    assert {cast.academy.name, cast.foreign_academy.name} <= set(first.links())
    edit = path("session-kind-edit", "theirs", academy=cast.foreign_academy)
    assert client.get(edit).status_code == 403
    assert client.post(edit, typed()).status_code == 403


def shown(academy: Academy, query: str) -> list[str]:
    page = library_page(academy, library_of(academy), QueryDict(query), may_edit=False)
    lines = [line for part in page.parts for group in part.groups for line in group.lines]
    assert page.shown == len(lines)
    return [line.name for line in lines]


@pytest.mark.parametrize(
    ("query", "names"),
    [
        ("court=on court&trains=power", ["Throw, then serve"]),
        ("phase=active rest&trains=strength", ["Strong middle", "Shoulder and hip care"]),
        ("q=wobble", ["Balance circuit"]),
        ("q=SERVE+toss", ["Serve workshop"]),
        ("q=nothing+like+it", []),
    ],
)
def test_the_list_is_narrowed_by_court_emphasis_phase_and_words(
    cast: Cast, query: str, names: list[str]
) -> None:
    assert shown(cast.academy, query) == names


def test_what_the_address_says_and_nobody_knows_is_ignored(cast: Cast) -> None:
    assert len(shown(cast.academy, "court=moon&trains=fun&phase=winter&q=%00")) == len(LIBRARY)


def test_the_list_swaps_alone_and_says_when_nothing_fits(cast: Cast, as_: AsPerson) -> None:
    address = path("session-kinds") + "?q=xyzzy"
    piece = as_(cast.coach).get(address, headers={"HX-Request": "true"})
    assert piece.content.strip().startswith(b'<div id="session-kind-list"')
    assert "No kind fits." in read(piece).text


def test_a_kind_says_where_it_differs_from_how_it_came(cast: Cast) -> None:
    in_its_own_way(cast.academy, minutes=45, equipment="", youngest=10)
    page = kind_page(cast.academy, entry(cast.academy, SERVE.code), may_edit=True)
    differs = {fact.label: fact.built_in for fact in page.facts if fact.built_in}
    assert differs == {
        "Minutes": "60, from 15 to 90",
        "Equipment": "Court, basket, targets",
        "Not below the age of": "nothing",
    }


@pytest.mark.parametrize("rows", [5, 50])
def test_the_pages_ask_as_many_queries_for_five_own_kinds_as_for_fifty(
    cast: Cast, as_: AsPerson, rows: int
) -> None:
    for n in range(rows):
        SessionKindFactory(academy=cast.academy, code=f"own-{n}")
    client = as_(cast.coach)
    for address in (path("session-kinds"), path("session-kind", "own-1")):
        with CaptureQueriesContext(connection) as asked:
            assert client.get(address).status_code == 200
        assert len(asked) == 6


# Saving -------------------------------------------------------------------------------------------


def form_of(client: Client, address: str) -> Element:
    return read(client.get(address)).one("form", "form")


def test_a_coach_says_a_kind_in_their_own_way_and_takes_it_back(cast: Cast, as_: AsPerson) -> None:
    client = as_(cast.coach)
    edit = path("session-kind-edit", SERVE.code, academy=cast.academy)
    form = form_of(client, edit)
    assert form.typed("name") == SERVE.name
    seen = form.typed("seen")
    answer = client.post(edit, typed(name="Serve school", minutes=45, seen=seen), follow=True)
    page = read(answer)
    assert page.one("h1").text == "Serve school"
    assert "With the program: 60, from 15 to 90" in page.text
    assert entry(cast.academy, SERVE.code).kind == replace(SERVE, name="Serve school", minutes=45)
    change = path("session-kind-change", SERVE.code, academy=cast.academy)
    seen = page.one("main").typed("seen")
    back = read(client.post(change, {"do": "built-in", "seen": seen}, follow=True))
    assert back.one("h1").text == SERVE.name
    assert not SessionKind.objects.exists()


def test_a_director_adds_a_kind_of_the_academys_own(cast: Cast, as_: AsPerson) -> None:
    client = as_(cast.director)
    new = path("session-kind-new", academy=cast.academy)
    sent = typed(name="Wall session", phases=["preparation", "active rest"], youngest="")
    page = read(client.post(new, sent, follow=True))
    assert page.one("h1").text == "Wall session"
    assert "Back to how it came" not in page.buttons()
    made = kinds_of(cast.academy)[-1]
    assert (made.code, made.phases, made.youngest) == (
        "wall-session",
        ("preparation", "active rest"),
        None,
    )


def test_a_kind_goes_out_of_use_and_back(cast: Cast, as_: AsPerson) -> None:
    client = as_(cast.coach)
    change = path("session-kind-change", SERVE.code, academy=cast.academy)
    state = entry(cast.academy, SERVE.code).state
    page = read(client.post(change, {"do": "take-out", "seen": state}, follow=True))
    assert "out of use" in page.one("h1").text
    assert SERVE not in kinds_of(cast.academy)
    seen = page.one("main").typed("seen")
    client.post(change, {"do": "take-back", "seen": seen})
    assert kinds_of(cast.academy) == LIBRARY
    assert not SessionKind.objects.exists()


def test_changing_a_kind_that_is_out_of_use_does_not_bring_it_back(
    cast: Cast, as_: AsPerson
) -> None:
    SessionKindFactory(academy=cast.academy, code="old", in_use=False)
    state = entry(cast.academy, "old").state
    edit = path("session-kind-edit", "old", academy=cast.academy)
    answer = as_(cast.coach).post(edit, typed(name="Old drill", seen=state))
    assert answer.status_code == 302
    kept = SessionKind.objects.get(code="old")
    assert (kept.name, kept.in_use) == ("Old drill", False)


WRONG = [
    ({"name": ""}, "name", "Give it a name."),
    ({"court": ""}, "court", "Say where it is."),
    ({"emphasis": ""}, "emphasis", "Say what it trains."),
    ({"purpose": ""}, "purpose", "Say in a sentence what it is for."),
    ({"minutes": ""}, "minutes", "Give a number."),
    ({"minutes": "an hour"}, "minutes", "Give a whole number."),
    ({"minutes": "10"}, "minutes", "Usual minutes are not below the shortest, 15."),
    ({"minutes": "95"}, "minutes", "Usual minutes are not above the longest, 90."),
    ({"shortest_min": "95"}, "shortest_min", "The shortest is not above the longest, 90."),
    ({"shortest_min": "0"}, "shortest_min", "1"),
    ({"longest_min": "700"}, "longest_min", "600"),
    ({"effort": "11"}, "effort", "10"),
    ({"phases": []}, "phases", "Choose one phase or more."),
    ({"youngest": "3"}, "youngest", "4"),
    ({"emphasis": "endurance"}, "shortest_min", "Endurance asks for 20 minutes or more"),
]


@pytest.mark.parametrize(("changes", "field", "says"), WRONG)
def test_what_is_wrong_is_said_beside_its_field_and_nothing_typed_is_lost(
    cast: Cast, as_: AsPerson, changes: dict[str, Any], field: str, says: str
) -> None:
    client = as_(cast.coach)
    edit = path("session-kind-edit", SERVE.code, academy=cast.academy)
    state = entry(cast.academy, SERVE.code).state
    answer = client.post(edit, typed(equipment="A very long fence", seen=state, **changes))
    form = read(answer, 422).one("form", "form")
    places = [div for div in form.all("div", "field") if div.all(name=field)]
    assert says in " ".join(e.text for div in places for e in div.all(klass="wrong"))
    assert form.typed("equipment") == "A very long fence"
    assert form.typed("seen") == state
    assert not SessionKind.objects.exists()


def test_a_kind_that_changed_meanwhile_is_not_overwritten_and_nothing_typed_is_lost(
    cast: Cast, as_: AsPerson
) -> None:
    client = as_(cast.coach)
    edit = path("session-kind-edit", SERVE.code, academy=cast.academy)
    seen = entry(cast.academy, SERVE.code).state
    in_its_own_way(cast.academy, name="Serve school")
    answer = client.post(edit, typed(name="Serving", seen=seen))
    form = read(answer, 409).one("form", "form")
    assert "Somebody changed this kind meanwhile." in form.text
    assert form.typed("name") == "Serving"
    assert entry(cast.academy, SERVE.code).kind.name == "Serve school"
    again = client.post(edit, typed(name="Serving", seen=form.typed("seen")))
    assert again.status_code == 302
    assert entry(cast.academy, SERVE.code).kind.name == "Serving"


def test_a_button_pressed_on_an_old_page_is_refused(cast: Cast, as_: AsPerson) -> None:
    change = path("session-kind-change", SERVE.code, academy=cast.academy)
    seen = entry(cast.academy, SERVE.code).state
    in_its_own_way(cast.academy, name="Serve school")
    answer = as_(cast.coach).post(change, {"do": "take-out", "seen": seen})
    assert "Somebody changed this kind meanwhile." in read(answer, 409).text
    assert entry(cast.academy, SERVE.code).in_use


@pytest.mark.parametrize("do", ["", "burn", "built-in"])
def test_an_own_kind_has_no_way_back_and_knows_no_other_words(
    cast: Cast, as_: AsPerson, do: str
) -> None:
    SessionKindFactory(academy=cast.academy, code="own")
    change = path("session-kind-change", "own", academy=cast.academy)
    sent = {"do": do, "seen": entry(cast.academy, "own").state}
    assert as_(cast.coach).post(change, sent).status_code == 422
    assert SessionKind.objects.filter(code="own").exists()
