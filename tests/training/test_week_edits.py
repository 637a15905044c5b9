"""Changing a week by hand: every edit, how it is refused, and what is never lost."""

from __future__ import annotations

import re
import threading
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection, connections
from django.http import HttpResponse, QueryDict
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from seasonplan.training.models import PlayerTraining, TrainingSession, TrainingWeek
from seasonplan.training.week_edits import Stale, edit_week
from seasonplan.training.weeks import target_of
from tests.conftest import Cast
from tests.factories import SessionLogFactory
from tests.plans.pages import Element, read
from tests.training.season import (
    MONDAY,
    NEXT,
    NOW,
    SWAP,
    a_season,
    a_session,
    a_week,
    planned,
    url,
)

As = Callable[..., Client]


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: NOW)


def revision(cast: Cast, monday: date = NEXT) -> int:
    week = TrainingWeek.objects.filter(player=cast.ines, monday=monday).first()
    return week.revision if week else 0


def send(
    client: Client, cast: Cast, do: str, monday: date = NEXT, *, swap: bool = True, **typed: Any
) -> HttpResponse:
    """The edit that a button or form sends, with the target that its page shows."""
    page = read(client.get(url(cast.ines, monday)))
    said = {"do": do, "revision": revision(cast, monday), "target": page.typed("target"), **typed}
    return client.post(url(cast.ines, monday, edit=True), said, headers=SWAP if swap else {})


def done(answer: HttpResponse) -> Element:
    return read(answer)


def undo_token(answer: HttpResponse) -> str:
    found = re.search(r'value="(undo [^"]+)"', answer.content.decode())
    assert found
    return found[1]


def test_a_session_moves_to_another_day_and_only_its_two_days_are_sent(cast: Cast, as_: As) -> None:
    a_season(cast)
    week = a_week(cast.ines)
    row = a_session(week, 1, name="Serve blocks")
    a_session(week, 2, name="Easy run", court="off court")

    answer = done(send(as_(cast.coach), cast, f"move {row.key} 2027-03-03"))

    assert planned(cast.ines) == [("Wed", "Easy run", 90), ("Wed", "Serve blocks", 90)]
    row.refresh_from_db()
    assert row.fixed
    ids = [e.attributes["id"] for e in answer.all("li", "day")]
    assert ids == ["day-2027-03-02", "day-2027-03-03"]
    assert answer.one(id="revision").attributes["value"] == "2"
    assert answer.one(id="week-undo").attributes["data-announce"].startswith("Moved Serve blocks")


def test_a_session_moves_to_a_place_on_its_day(cast: Cast, as_: As) -> None:
    week = a_week(cast.ines)
    rows = [a_session(week, 0, order=n, name=name) for n, name in enumerate("ABC")]

    done(send(as_(cast.coach), cast, f"move {rows[2].key} 2027-03-01 0"))

    assert [name for _, name, _ in planned(cast.ines)] == ["C", "A", "B"]
    assert [r.fixed for r in TrainingSession.objects.order_by("order")] == [True, False, False]


def test_a_session_goes_step_by_step_from_where_it_is(cast: Cast, as_: As) -> None:
    week = a_week(cast.ines)
    run = a_session(week, 5, name="Run")
    a_session(week, 6, name="Swim")
    coach = as_(cast.coach)

    steps = []
    for do in ("later", "up", "up", "down", "later", "earlier"):
        answer = send(coach, cast, f"{do} {run.key}")
        steps.append((answer.status_code, [f"{day} {name}" for day, name, _ in planned(cast.ines)]))

    assert steps == [
        (200, ["Sun Swim", "Sun Run"]),
        (200, ["Sun Run", "Sun Swim"]),
        (422, ["Sun Run", "Sun Swim"]),
        (200, ["Sun Swim", "Sun Run"]),
        (422, ["Sun Swim", "Sun Run"]),
        (200, ["Sat Run", "Sun Swim"]),
    ]


def test_a_session_of_the_library_is_put_in(cast: Cast, as_: As) -> None:
    client = as_(cast.coach)
    page = read(client.get(f"{url(cast.ines)}?add=2027-03-02"))
    kind = page.one(id="id_from_kind").all("option")[1]

    done(
        send(client, cast, "put-in", kind=kind.attributes["value"], day="2027-03-02", minutes="35")
    )

    row = TrainingSession.objects.get()
    assert (row.day, row.kind, row.minutes) == (date(2027, 3, 2), kind.attributes["value"], 35)
    assert row.fixed
    assert kind.text.startswith(row.name)
    assert revision(cast) == 1


def test_a_session_in_own_words_is_put_in_and_the_form_is_there_for_the_next(
    cast: Cast, as_: As
) -> None:
    answer = done(
        send(
            as_(cast.coach), cast, "own", open="add 2027-03-06", name="Boat race", day="2027-03-06",
            court="off court", emphasis="other sport", minutes="120", effort="5", note="With Tom",
        )
    )  # fmt: skip

    row = TrainingSession.objects.get()
    assert (row.name, row.effort, row.note, row.kind) == ("Boat race", 5, "With Tom", "")
    assert answer.one(id="panel").typed("name") == ""


def test_a_session_is_changed(cast: Cast, as_: As) -> None:
    row = a_session(a_week(cast.ines), 1, name="Serve blocks")
    typed = {"name": "Serve and volley", "minutes": "60", "effort": "7", "note": "Left box"}

    answer = done(
        send(
            as_(cast.coach), cast, f"change {row.key}", open=f"session {row.key}",
            day="2027-03-05", **typed,
        )
    )  # fmt: skip

    row.refresh_from_db()
    assert (row.name, row.minutes, row.effort, row.note) == ("Serve and volley", 60, 7, "Left box")
    assert (row.day, row.fixed) == (date(2027, 3, 5), True)
    assert answer.one(id="panel-title").text == "Serve and volley"


@pytest.mark.parametrize("swap", [True, False])
def test_what_cannot_be_taken_is_said_beside_the_field_and_nothing_typed_is_lost(
    swap: bool, cast: Cast, as_: As
) -> None:
    row = a_session(a_week(cast.ines), 1, name="Serve blocks")

    answer = send(
        as_(cast.coach), cast, f"change {row.key}", swap=swap,
        name="Serve, and then some", minutes="900", effort="11", note="Keep me", day="2027-03-02",
    )  # fmt: skip

    panel = read(answer, 422).one(id="panel")
    assert panel.wrong("minutes") == "Give a whole number from 1 to 600."
    assert panel.wrong("effort") == "Give a whole number from 0 to 10."
    assert panel.typed("name") == "Serve, and then some"
    assert panel.typed("minutes") == "900"
    assert "Keep me" in panel.text
    row.refresh_from_db()
    assert row.minutes == 90


@pytest.mark.parametrize(
    ("do", "typed", "field", "sentence"),
    [
        ("put-in", {"day": "2027-03-01"}, "kind", "Choose a session from the list."),
        (
            "put-in",
            {"day": "2027-03-09", "kind": "no such kind"},
            "day",
            "Choose a day of this week.",
        ),
        ("own", {"day": "2027-03-01", "court": "off court"}, "name", "This field is required."),
        ("own", {"day": "2027-03-01", "minutes": "0"}, "minutes", "Give a whole number from 1"),
    ],
)
def test_adding_is_refused_beside_the_field(
    do: str, typed: dict[str, str], field: str, sentence: str, cast: Cast, as_: As
) -> None:
    answer = send(as_(cast.coach), cast, do, **typed)

    forms = read(answer, 422).one(id="panel").all("form")
    form = next(form for form in forms if form.all(value=do))
    assert form.wrong(field).startswith(sentence)
    assert not TrainingSession.objects.exists()


def test_a_session_is_repeated_on_another_day_and_in_the_next_week(cast: Cast, as_: As) -> None:
    row = a_session(a_week(cast.ines), 1, name="Serve blocks", note="Slow feet")
    coach = as_(cast.coach)

    done(send(coach, cast, f"repeat {row.key} 2027-03-04"))
    done(send(coach, cast, f"repeat {row.key} 2027-03-09"))

    assert planned(cast.ines) == [("Tue", "Serve blocks", 90), ("Thu", "Serve blocks", 90)]
    assert planned(cast.ines, date(2027, 3, 8)) == [("Tue", "Serve blocks", 90)]
    rows = TrainingSession.objects.all()
    assert len({again.key for again in rows}) == 3
    assert {again.note for again in rows} == {"Slow feet"}
    assert revision(cast) == 2
    assert revision(cast, date(2027, 3, 8)) == 1


def test_a_session_is_removed_and_its_panel_closes(cast: Cast, as_: As) -> None:
    row = a_session(a_week(cast.ines), 1)

    answer = done(send(as_(cast.coach), cast, f"remove {row.key}", open=f"session {row.key}"))

    assert planned(cast.ines) == []
    assert "is-open" not in answer.one(id="panel").attributes["class"]


def test_a_session_is_kept_when_filling_or_let_go(cast: Cast, as_: As) -> None:
    row = a_session(a_week(cast.ines), 1)
    coach = as_(cast.coach)

    done(send(coach, cast, f"keep {row.key}"))
    assert TrainingSession.objects.get().fixed
    done(send(coach, cast, f"free {row.key}"))
    assert not TrainingSession.objects.get().fixed


def test_filling_leaves_what_is_set_by_hand_and_emptying_takes_away_the_rest(
    cast: Cast, as_: As
) -> None:
    a_season(cast)
    by_hand = a_session(a_week(cast.ines), 1, name="Match with Tom", minutes=60, fixed=True)
    coach = as_(cast.coach)

    done(send(coach, cast, "fill"))
    filled = planned(cast.ines)
    again = done(send(coach, cast, "fill"))

    assert len(filled) > 4
    assert ("Tue", "Match with Tom", 60) in filled
    assert planned(cast.ines) == filled
    assert again.one(id="week-undo").attributes["data-announce"].startswith("Filled the week")

    done(send(coach, cast, "empty"))
    assert TrainingSession.objects.get().key == by_hand.key
    nothing = send(coach, cast, "empty")
    assert "Nothing to take away" in read(nothing, 422).one(id="messages").text


def test_filling_leaves_days_before_today(cast: Cast, as_: As) -> None:
    a_season(cast)
    missed = a_session(a_week(cast.ines, MONDAY), 0, name="Missed on Monday")

    done(send(as_(cast.coach), cast, "fill", MONDAY))

    rows = TrainingSession.objects.exclude(pk=missed.pk)
    assert TrainingSession.objects.filter(pk=missed.pk).exists()
    assert rows and all(row.day >= date(2027, 2, 24) for row in rows)


def test_a_whole_block_is_filled_from_now_on(cast: Cast, as_: As) -> None:
    a_season(cast)

    answer = done(send(as_(cast.coach), cast, "fill-block"))

    mondays = list(TrainingWeek.objects.values_list("monday", flat=True))
    assert mondays == [MONDAY + n * timedelta(weeks=1) for n in range(5)]
    assert all(week.sessions.exists() for week in TrainingWeek.objects.all())
    assert "Filled 5 weeks of the block" in answer.one(id="week-undo").attributes["data-announce"]


def test_what_lies_before_today_cannot_be_filled_but_corrected(cast: Cast, as_: As) -> None:
    a_season(cast)
    past = date(2027, 2, 8)
    row = a_session(a_week(cast.ines, past), 0, name="Serve blocks")
    coach = as_(cast.coach)

    over = send(coach, cast, "fill", past)
    done(send(coach, cast, f"move {row.key} 2027-02-10", past))

    assert "This week is over" in read(over, 422).one(id="messages").text
    assert planned(cast.ines, past) == [("Wed", "Serve blocks", 90)]


def test_without_a_season_there_is_nothing_to_fill_towards(cast: Cast, as_: As) -> None:
    for do in ("fill", "fill-block"):
        answer = read(send(as_(cast.coach), cast, do), 422)
        assert "No season in force holds this week" in answer.one(id="messages").text


def test_a_week_is_copied_in_place_of_what_was_filled(cast: Cast, as_: As) -> None:
    week = a_week(cast.ines)
    a_session(week, 0, name="Serve blocks")
    a_session(week, 2, name="Easy run", court="off court")
    other = a_week(cast.ines, date(2027, 3, 8))
    a_session(other, 0, name="From the filler")
    a_session(other, 4, name="By hand", fixed=True)
    coach = as_(cast.coach)

    done(send(coach, cast, "copy", to="2027-03-11"))
    copied = planned(cast.ines, date(2027, 3, 8))
    twice = send(coach, cast, "copy", to="2027-03-11")

    assert copied == [("Mon", "Serve blocks", 90), ("Wed", "Easy run", 90), ("Fri", "By hand", 90)]
    assert "Nothing to copy" in read(twice, 422).one(id="messages").text
    assert planned(cast.ines, date(2027, 3, 8)) == copied


@pytest.mark.parametrize("to", ["", "someday", "2027-03-03", "2037-03-03"])
def test_a_copy_into_no_other_week_is_refused_beside_the_field(
    to: str, cast: Cast, as_: As
) -> None:
    a_session(a_week(cast.ines))

    answer = read(send(as_(cast.coach), cast, "copy", to=to), 422)

    assert answer.one(id="week-copy").wrong("to")
    assert TrainingSession.objects.count() == 1


def test_a_note_of_the_week_is_kept_and_taken_away(cast: Cast, as_: As) -> None:
    coach = as_(cast.coach)

    answer = done(send(coach, cast, "note", note="Two exams, keep it light"))
    assert "Two exams, keep it light" in answer.one(id="week-note").text
    assert TrainingWeek.objects.get().note == "Two exams, keep it light"

    done(send(coach, cast, "note", note=""))
    assert TrainingWeek.objects.get().note == ""


def test_a_note_that_is_too_long_is_refused_and_not_lost(cast: Cast, as_: As) -> None:
    answer = read(send(as_(cast.coach), cast, "note", note="long " * 70), 422)

    assert answer.one(id="week-note").wrong("note")
    assert "long long" in answer.one(id="week-note").text


# Undo --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("what", ["move", "remove", "fill", "empty", "note"])
def test_the_last_change_is_undone_and_done_again(what: str, cast: Cast, as_: As) -> None:
    a_season(cast)
    week = a_week(cast.ines, note="As it was")
    row = a_session(week, 1, name="Serve blocks")
    a_session(week, 3, name="Easy run", court="off court")
    do = {"move": f"move {row.key} 2027-03-05", "remove": f"remove {row.key}"}.get(what, what)
    coach = as_(cast.coach)

    def now() -> list[Any]:
        rows = TrainingSession.objects.order_by("day", "order", "name")
        return [*rows.values_list("key", "day", "order", "fixed"), TrainingWeek.objects.get().note]

    before = now()
    changed = send(coach, cast, do, note="Something else")
    after = now()
    assert before != after

    undone = send(coach, cast, undo_token(changed))
    assert now() == before
    assert "Do again:" in read(undone).one(id="undo").text

    again = send(coach, cast, undo_token(undone))
    assert now() == after
    assert read(again).one(id="undo").text.startswith("Undo: ")


def test_what_was_changed_since_cannot_be_undone(cast: Cast, as_: As) -> None:
    row = a_session(a_week(cast.ines), 1)
    coach = as_(cast.coach)
    token = undo_token(send(coach, cast, f"move {row.key} 2027-03-05"))
    done(send(coach, cast, f"move {row.key} 2027-03-06"))

    answer = read(send(coach, cast, token), 422)

    assert "changed since then" in answer.one(id="messages").text
    assert planned(cast.ines)[0][0] == "Sat"


def test_a_token_of_another_player_or_made_up_undoes_nothing(cast: Cast, as_: As) -> None:
    cast.ravi.team.add(cast.coach.memberships.get())
    row = a_session(a_week(cast.ravi), 1)
    coach = as_(cast.coach)
    token = undo_token(
        coach.post(
            url(cast.ravi, edit=True),
            {"do": f"move {row.key} 2027-03-05", "revision": 1},
            headers=SWAP,
        )
    )
    a_session(a_week(cast.ines), 1)
    TrainingWeek.objects.filter(player=cast.ines).update(revision=2)

    assert send(coach, cast, token).status_code == 422
    assert send(coach, cast, "undo nonsense").status_code == 422
    assert planned(cast.ines) == [("Tue", "Rally build-up", 90)]


def test_without_a_script_the_page_offers_to_undo(cast: Cast, as_: As) -> None:
    row = a_session(a_week(cast.ines), 1, name="Serve blocks")
    coach = as_(cast.coach)

    answer = send(coach, cast, f"remove {row.key}", swap=False)
    assert (answer.status_code, answer["Location"]) == (302, url(cast.ines))
    page = read(coach.get(url(cast.ines)))
    assert "Removed Serve blocks from Tue 2 Mar." in page.one(id="messages").text

    send(coach, cast, page.one(id="undo").attributes["value"], swap=False)
    assert planned(cast.ines) == [("Tue", "Serve blocks", 90)]


# Who may -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["player", "staff", "guardian", "director"])
def test_who_only_looks_may_not_change(role: str, cast: Cast, as_: As) -> None:
    row = a_session(a_week(cast.ines))

    for do in (f"remove {row.key}", "nonsense", "note"):
        answer = as_(getattr(cast, role)).post(
            url(cast.ines, edit=True), {"do": do, "revision": 1}, headers=SWAP
        )
        assert answer.status_code == 403
    assert TrainingSession.objects.exists()


@pytest.mark.parametrize(
    ("role", "own", "others"), [("staff", "Squats", "Serve"), ("coach", "Serve", "Squats")]
)
def test_each_changes_their_own_part_alone(
    role: str, own: str, others: str, cast: Cast, as_: As
) -> None:
    a_season(cast)
    PlayerTraining.objects.create(player=cast.ines, off_court_by_staff=True)
    week = a_week(cast.ines)
    a_session(week, 0, name="Serve")
    a_session(week, 1, name="Squats", court="off court", emphasis="strength")
    mine, theirs = (TrainingSession.objects.get(name=name) for name in (own, others))
    client = as_(getattr(cast, role))

    for do in ("move {} 2027-03-05", "remove {}", "repeat {} 2027-03-05", "keep {}", "change {}"):
        assert send(client, cast, do.format(theirs.key)).status_code == 403
    done(send(client, cast, f"move {mine.key} 2027-03-05"))
    done(send(client, cast, "fill"))

    theirs_now = TrainingSession.objects.filter(court=theirs.court)
    assert [(row.key, row.day) for row in theirs_now] == [(theirs.key, theirs.day)]
    assert TrainingSession.objects.filter(court=mine.court).count() > 1


def test_own_words_can_only_name_the_own_part(cast: Cast, as_: As) -> None:
    PlayerTraining.objects.create(player=cast.ines, off_court_by_staff=True)

    answer = send(
        as_(cast.staff), cast, "own", name="Serve", day="2027-03-01", court="on court",
        emphasis="technique", minutes="60", effort="5",
    )  # fmt: skip

    assert answer.status_code == 422
    assert not TrainingSession.objects.exists()


# Two at once -------------------------------------------------------------------------------------


def test_a_button_against_an_older_week_is_refused_and_offered_again(cast: Cast, as_: As) -> None:
    row = a_session(a_week(cast.ines, revision=4), 1, name="Serve blocks")
    coach = as_(cast.coach)
    do = {"do": f"move {row.key} 2027-03-05", "revision": 3}

    answer = read(coach.post(url(cast.ines, edit=True), do, headers=SWAP), 409)

    assert planned(cast.ines) == [("Tue", "Serve blocks", 90)]
    assert answer.one(id="revision").attributes["value"] == "4"
    assert len(answer.all("li", "day")) == 7
    again = answer.one(id="panel").one("form")
    sent = {e.attributes["name"]: e.attributes["value"] for e in again.all("input")}
    assert coach.post(again.attributes["action"], sent).status_code == 302
    assert planned(cast.ines) == [("Fri", "Serve blocks", 90)]


@pytest.mark.parametrize("swap", [SWAP, {}])
def test_what_was_typed_against_an_older_week_stands_in_the_form_again(
    swap: dict[str, str], cast: Cast, as_: As
) -> None:
    row = a_session(a_week(cast.ines, revision=4), 1, name="Serve blocks")
    coach = as_(cast.coach)
    typed = {"name": "Volleys", "minutes": "45", "effort": "5", "note": "", "day": "2027-03-02"}
    do = {"do": f"change {row.key}", "revision": 3, **typed}

    panel = read(coach.post(url(cast.ines, edit=True), do, headers=swap), 409).one(id="panel")

    assert "Somebody changed this week meanwhile" in panel.text
    assert panel.typed("name") == "Volleys"
    assert panel.typed("minutes") == "45"
    assert panel.typed("revision") == "4"
    row.refresh_from_db()
    assert row.name == "Serve blocks"


def test_a_session_that_somebody_removed_meanwhile_is_said_to_be_gone(cast: Cast, as_: As) -> None:
    row = a_session(a_week(cast.ines), 1)
    key = row.key
    row.delete()

    answer = read(send(as_(cast.coach), cast, f"move {key} 2027-03-05"), 422)

    assert "not in this week any more" in answer.one(id="messages").text


@pytest.mark.parametrize(
    "do",
    ["", "jump", "move", "move x", "repeat x 2027-03-01", "undo", "change nothing"],
)
def test_words_that_ask_for_nothing_change_nothing(do: str, cast: Cast, as_: As) -> None:
    a_session(a_week(cast.ines))

    assert send(as_(cast.coach), cast, do).status_code == 422
    assert revision(cast) == 1


@pytest.mark.parametrize("where", ["2027-03-09", "someday", "2027-03-05 -1", "2027-03-05 x", ""])
def test_a_session_moves_nowhere_else(where: str, cast: Cast, as_: As) -> None:
    row = a_session(a_week(cast.ines))

    assert send(as_(cast.coach), cast, f"move {row.key} {where}").status_code == 422
    assert planned(cast.ines) == [("Mon", "Rally build-up", 90)]


@pytest.mark.skipif(
    connection.vendor == "sqlite", reason="In memory, two threads share one connection."
)
@pytest.mark.django_db(transaction=True)
def test_of_two_edits_at_the_same_moment_one_is_told(cast: Cast) -> None:
    """Also where the week has no row yet."""
    gate = threading.Barrier(2)
    heard: list[str] = []

    def press() -> None:
        gate.wait()
        typed = QueryDict("note=Mine")
        try:
            edit_week(cast.coach, cast.ines.pk, NEXT, "note", typed, revision=0, today=NEXT)
            heard.append("done")
        except Stale:
            heard.append("stale")
        finally:
            connections.close_all()

    threads = [threading.Thread(target=press) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert sorted(heard) == ["done", "stale"]
    assert TrainingWeek.objects.get().revision == 1


# What it costs -----------------------------------------------------------------------------------


def test_an_edit_is_at_most_twelve_queries_and_a_small_answer(cast: Cast, as_: As) -> None:
    a_season(cast)
    week = a_week(cast.ines)
    for n in range(12):
        row = a_session(week, n % 6, name=f"Session {n}")
        SessionLogFactory(player=cast.ines, day=row.day, session=row.key, planned_key=row.key)
    coach = as_(cast.coach)
    kind = read(coach.get(f"{url(cast.ines)}?add=2027-03-02")).one(id="id_from_kind")
    typed = {
        "kind": kind.all("option")[1].attributes["value"],
        "day": "2027-03-07",
        "name": "Another name",
        "minutes": "50",
        "effort": "5",
        "note": "Gently",
        "open": f"session {row.key}",
    }
    token = read(coach.get(url(cast.ines))).typed("target")
    for do in (
        f"move {row.key} 2027-03-05",
        f"change {row.key}",
        f"repeat {row.key} 2027-03-05",
        "put-in",
        "note",
        "fill",
        "empty",
        f"remove {row.key}",
    ):
        said = {**typed, "do": do, "revision": revision(cast), "target": token}
        with CaptureQueriesContext(connection) as queries:
            answer = coach.post(url(cast.ines, edit=True), said, headers=SWAP)
        assert answer.status_code == 200, do
        asked = [
            query["sql"]
            for query in queries
            if not query["sql"].startswith(("BEGIN", "COMMIT", "SAVEPOINT", "RELEASE"))
        ]
        assert len(asked) <= 12, (do, asked)
        assert len(answer.content) < 30_000, do


def test_a_target_that_is_not_known_any_more_is_worked_out_and_sent_along(
    cast: Cast, as_: As
) -> None:
    a_season(cast)
    row = a_session(a_week(cast.ines))
    coach = as_(cast.coach)

    for token in ("", "not signed", read(coach.get(url(cast.ines, MONDAY))).typed("target")):
        said = {"do": f"keep {row.key}", "revision": revision(cast), "target": token}
        answer = read(coach.post(url(cast.ines, edit=True), said, headers=SWAP))

        assert len(answer.all("li", "day")) == 7
        assert answer.one(id="target").attributes["value"] not in ("", token)
    assert target_of(cast.ines, NEXT) is not None
