"""Logs of planned sessions: one a session however it is told, as planned or not, and taken back."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from seasonplan.academy.models import Person, Player
from seasonplan.checkins.models import Message, SessionLog
from seasonplan.checkins.outbox import receive
from tests.checkins.conftest import NOW, message
from tests.conftest import Cast
from tests.factories import PlayerFactory, SessionLogFactory
from tests.plans.pages import read

KEY = "6f1c1a52-0d3e-4a7b-8c49-5d0a7e7f9b10"
PLANNED = {"what": "Serve and return", "minutes": 90, "effort": 6, "day": "2026-01-18"}
DONE = PLANNED | {"planned_key": KEY, "as_planned": True}
OTHER = PLANNED | {"planned_key": KEY, "minutes": 60, "effort": 8}
BACK = PLANNED | {"planned_key": KEY, "taken_back": True}


def about(player: Player, body: dict[str, Any], minute: int = 0, **more: Any) -> dict[str, Any]:
    written = datetime(2026, 1, 18, 17, minute, tzinfo=UTC)
    return message(
        "session", player, body, **{"session": KEY, "written_at": written.isoformat()} | more
    )


def refusal(person: Person, sent: Any) -> dict[str, str]:
    [receipt] = receive(person, [sent], now=NOW)
    assert receipt.status == "refused"
    return receipt.reasons


def said() -> list[tuple[str | None, bool, int, int]]:
    """Key, as planned, minutes and effort of each session log."""
    logs = SessionLog.objects.order_by("pk")
    return [
        (log.planned_key and str(log.planned_key), log.as_planned, log.minutes, log.effort)
        for log in logs
    ]


# What a message may carry ----------------------------------------------------------------------


def test_a_session_done_as_planned_names_the_planned_session(cast: Cast, ines: Player) -> None:
    receive(cast.player, [about(ines, DONE)], now=NOW)
    assert said() == [(KEY, True, 90, 6)]
    log = SessionLog.objects.get()
    assert str(log.session) == KEY
    assert not log.on_behalf


def test_what_was_done_otherwise_keeps_the_name_and_its_own_numbers(
    cast: Cast, ines: Player
) -> None:
    receive(cast.player, [about(ines, OTHER)], now=NOW)
    assert said() == [(KEY, False, 60, 8)]


def test_a_session_of_ones_own_names_none(cast: Cast, ines: Player) -> None:
    receive(cast.player, [message("session", ines, PLANNED)], now=NOW)
    assert said() == [(None, False, 90, 6)]


@pytest.mark.parametrize(
    "key",
    [
        "x",
        KEY.replace("-", ""),
        "{" + KEY[1:-1] + "}",
        KEY + "0",
        "0" + KEY,
        KEY[:-1] + "\x00",
        "z" * 36,
        7,
        True,
        ["a"],
        {"key": KEY},
    ],
)
def test_only_a_key_of_the_right_shape_is_taken(cast: Cast, ines: Player, key: Any) -> None:
    reasons = refusal(cast.player, about(ines, DONE | {"planned_key": key}))
    assert "planned_key" in reasons
    assert not Message.objects.exists()


@pytest.mark.parametrize("name", ["as_planned", "taken_back"])
@pytest.mark.parametrize("value", ["true", 1, "on", []])
def test_the_answers_are_true_or_false(cast: Cast, ines: Player, name: str, value: Any) -> None:
    assert refusal(cast.player, about(ines, DONE | {name: value})) == {
        name: "This is not true or false."
    }


def test_as_planned_without_a_planned_session_is_refused(cast: Cast, ines: Player) -> None:
    reasons = refusal(cast.player, about(ines, PLANNED | {"as_planned": True}))
    assert reasons == {"as_planned": "Say which planned session this was."}


def test_a_log_under_another_key_than_its_planned_session_is_refused(
    cast: Cast, ines: Player
) -> None:
    """Two logs of one planned session could not both be kept."""
    reasons = refusal(cast.player, about(ines, DONE, session=str(uuid.uuid4())))
    assert list(reasons) == ["planned_key"]


def test_a_key_that_no_session_has_is_kept(cast: Cast, ines: Player) -> None:
    """The coach may have removed the session while the phone had no signal."""
    gone = str(uuid.uuid4())
    sent = about(ines, DONE | {"planned_key": gone}, session=gone)
    [receipt] = receive(cast.player, [sent], now=NOW)
    assert receipt.status == "stored"
    assert str(SessionLog.objects.get().planned_key) == gone


def test_two_players_may_name_the_same_key_and_neither_touches_the_other(
    cast: Cast, ines: Player
) -> None:
    receive(cast.player, [about(ines, DONE)], now=NOW)
    receive(cast.other_player, [about(cast.ravi, BACK, 5)], now=NOW)
    assert said() == [(KEY, True, 90, 6)]
    assert SessionLog.objects.get().player == ines


# Folding ---------------------------------------------------------------------------------------


def test_however_often_it_is_told_it_is_one_log(cast: Cast, ines: Player) -> None:
    for minute in (0, 0, 1, 2):
        receive(cast.player, [about(ines, DONE, minute)], now=NOW)
    assert said() == [(KEY, True, 90, 6)]
    assert Message.objects.count() == 4


def test_a_session_is_taken_back_and_told_again(cast: Cast, ines: Player) -> None:
    receive(cast.player, [about(ines, DONE, 0)], now=NOW)
    receive(cast.player, [about(ines, BACK, 1)], now=NOW)
    assert said() == []
    receive(cast.player, [about(ines, OTHER, 2)], now=NOW)
    assert said() == [(KEY, False, 60, 8)]


def test_what_is_corrected_on_the_plain_page_keeps_its_name_and_is_no_longer_as_planned(
    cast: Cast, ines: Player, as_: Callable[..., Client]
) -> None:
    receive(cast.player, [about(ines, DONE)], now=NOW)
    path = f"/phone/log/session/?session={KEY}"
    page = read(as_(cast.player).get(path))
    assert page.typed("planned_key") == KEY
    assert not page.all("input", name="as_planned")
    typed = {"what": "Serve", "minutes": "80", "effort": "6", "day": "2026-01-18"}
    answer = as_(cast.player).post(path, typed | {"session": KEY, "planned_key": KEY})
    assert answer.status_code == 302
    assert said() == [(KEY, False, 80, 6)]


told = st.lists(
    st.tuples(
        st.integers(0, 3),
        st.sampled_from([DONE, OTHER, BACK, PLANNED, PLANNED | {"planned_key": None}]),
    ),
    min_size=1,
    max_size=5,
)


@pytest.mark.django_db
@settings(
    deadline=None,
    max_examples=25,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
@given(data=st.data(), sent=told)
def test_no_order_of_arrival_changes_what_was_done(
    ines: Player, cast: Cast, data: st.DataObject, sent: list[tuple[int, dict[str, Any]]]
) -> None:
    """Among them are messages of phones that know nothing of planned sessions."""
    messages = [about(ines, body, minute) for minute, body in sent]
    found = []
    for order in (messages, data.draw(st.permutations(messages))):
        with transaction.atomic():
            for one in order:
                receive(cast.player, [one], now=NOW)
            found.append(said())
            transaction.set_rollback(True)
    last = max(messages, key=lambda m: (m["written_at"], m["key"]))["body"]
    assert found[0] == found[1]
    assert bool(found[0]) is not last.get("taken_back", False)
    if found[0]:
        assert found[0][0][1] is last.get("as_planned", False)


# The database's own word -----------------------------------------------------------------------


def test_a_planned_session_is_done_once_by_a_player(cast: Cast) -> None:
    SessionLogFactory(player=cast.ines, planned_key=KEY)
    SessionLogFactory(player=cast.ravi, planned_key=KEY)
    SessionLogFactory(player=cast.ines)
    SessionLogFactory(player=cast.ines)
    with pytest.raises(IntegrityError), transaction.atomic():
        SessionLogFactory(player=cast.ines, planned_key=KEY)


def test_nothing_is_as_planned_without_a_plan(cast: Cast) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        SessionLogFactory(player=cast.ines, as_planned=True)


@pytest.mark.django_db(transaction=True)
def test_the_migration_goes_back_and_forth() -> None:
    player = PlayerFactory()
    SessionLogFactory(player=player, planned_key=KEY, as_planned=True, minutes=70)
    latest = MigrationExecutor(connection).loader.graph.leaf_nodes()
    try:
        MigrationExecutor(connection).migrate([("checkins", "0005_reminders")])
    finally:
        MigrationExecutor(connection).migrate(latest)
    assert said() == [(None, False, 70, 6)]


# Who reads it ----------------------------------------------------------------------------------


def test_the_coach_reads_what_was_as_planned_and_what_was_not(
    cast: Cast, as_: Callable[..., Client]
) -> None:
    today = datetime.now(tz=UTC).date()
    for n, fields in enumerate(
        ({"planned_key": KEY, "as_planned": True}, {"planned_key": uuid.uuid4()}, {})
    ):
        SessionLogFactory(player=cast.ines, day=today - timedelta(days=n), what=f"No {n}", **fields)
    page = read(as_(cast.coach).get(f"/players/{cast.ines.pk}/logs/"))
    rows = [row.text for row in page.all("tr") if "No " in row.text]
    assert ["as planned" in row for row in rows] == [True, False, False]
    assert ["planned, done differently" in row for row in rows] == [False, True, False]
    assert "no fixed safe limit exists." in page.one("main").text


def test_a_plain_form_leads_back_to_the_week(
    cast: Cast, ines: Player, as_: Callable[..., Client]
) -> None:
    day = date(2026, 1, 17).isoformat()
    typed = {"what": "Serve", "minutes": "90", "effort": "6", "day": day, "then": "week"}
    sent = typed | {"session": KEY, "planned_key": KEY, "as_planned": "true"}
    answer = as_(cast.player).post("/phone/log/session/", sent)
    assert (answer.status_code, answer["Location"]) == (
        302,
        f"/phone/?academy={ines.academy_id}",
    )
    assert said() == [(KEY, True, 90, 6)]
    as_(cast.player).post("/phone/log/session/", sent | {"as_planned": "", "taken_back": "true"})
    assert said() == []
