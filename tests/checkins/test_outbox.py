"""What phones say is stored once, and comes to the same whatever way it arrives."""

import threading
import uuid
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from django.db import connection, connections, transaction
from django.utils import translation
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from seasonplan.academy.models import Person, Player
from seasonplan.checkins.models import DayLog, EventCheckIn, Message, PlayedMatch, SessionLog
from seasonplan.checkins.outbox import Receipt, receive
from seasonplan.events.models import Event
from tests.checkins.conftest import NOW, message
from tests.conftest import Cast
from tests.factories import (
    EventFactory,
    MembershipFactory,
    PersonFactory,
    PlayerFactory,
)

SHORT = {"energy_after": 4, "rounds_won": 2}
FULL = {
    "energy_after": 4,
    "rounds_won": 2,
    "energy_before": 9,
    "soreness": 3,
    "sore_where": ["knee left", "neck"],
    "felt": 4,
    "matches": [{"won": True, "minutes": 95, "score": "6-4 6-3"}, {"won": False}],
    "sleep_last_h": 7.5,
    "sleep_before_h": 8,
    "weather": "humid",
    "went_well": "Serve",
    "do_differently": "Eat earlier",
    "private_note": "Argued at home",
}
DAY = {
    "sleep": 4,
    "freshness": 3,
    "muscles": 2,
    "calm": 4,
    "mood": 5,
    "problem": "injury",
    "problem_where": ["calf"],
    "took_part": 8,
    "changed_training": 8,
    "hurt_performance": 0,
    "symptoms": 17,
    "wants_to_talk": True,
    "note": "Long trip",
    "private_note": "",
}
SESSION = {"what": "Serve", "minutes": 75, "effort": 7, "day": "2026-01-18"}


def one(person: Person, sent: Any) -> Receipt:
    [receipt] = receive(person, [sent], now=NOW)
    return receipt


def refusal(person: Person, sent: Any) -> dict[str, str]:
    receipt = one(person, sent)
    assert receipt.status == "refused"
    return receipt.reasons


# Each kind -----------------------------------------------------------------------------------


def test_a_refusal_is_said_in_the_language_of_the_one_who_asks(cast: Cast) -> None:
    sent = {"key": str(uuid.uuid4()), "kind": "walk", "player": cast.ines.pk}
    for language, reason in (
        ("es", "Elige arrival, event, day o session."),
        ("fr", "Choisis arrival, event, day ou session."),
    ):
        with translation.override(language):
            assert refusal(cast.player, sent) == {"kind": reason}


def test_a_short_check_in_becomes_a_check_in(cast: Cast, ines: Player, lantern: Event) -> None:
    sent = message("event", ines, SHORT, event=lantern)
    assert one(cast.player, sent) == Receipt(sent["key"], "stored", {})
    check_in = EventCheckIn.objects.get()
    assert (check_in.player, check_in.event) == (ines, lantern)
    assert (check_in.energy_after, check_in.rounds_won, check_in.soreness) == (4, 2, None)
    assert check_in.last_written_at == datetime(2026, 1, 18, 17, 0, tzinfo=UTC)
    assert check_in.last_arrived_at == NOW
    assert not check_in.on_behalf


def test_everything_that_can_be_said_of_an_event_is_kept(
    cast: Cast, ines: Player, lantern: Event
) -> None:
    assert one(cast.player, message("event", ines, FULL, event=lantern)).status == "stored"
    check_in = EventCheckIn.objects.get()
    plain = {k: v for k, v in FULL.items() if k not in ("matches", "sore_where")}
    assert {name: getattr(check_in, name) for name in plain} == plain
    assert check_in.sore_where == ["neck", "knee left"]
    assert check_in.energy_before_late
    assert list(check_in.matches.values_list("number", "won", "minutes", "score")) == [
        (1, True, 95, "6-4 6-3"),
        (2, False, None, ""),
    ]


def test_arrival_and_check_in_meet_in_one_check_in(
    cast: Cast, ines: Player, lantern: Event
) -> None:
    before = message(
        "arrival",
        ines,
        {"energy_before": 8},
        event=lantern,
        written_at="2026-01-11T09:00:00+01:00",
    )
    after = message("event", ines, SHORT, event=lantern)
    receive(cast.player, [after, before], now=NOW)
    check_in = EventCheckIn.objects.get()
    assert (check_in.energy_before, check_in.energy_after) == (8, 4)
    assert not check_in.energy_before_late
    assert check_in.energy_before_written_at == datetime(2026, 1, 11, 8, 0, tzinfo=UTC)


def test_a_day_log_is_kept_whole(cast: Cast, ines: Player) -> None:
    assert one(cast.player, message("day", ines, DAY)).status == "stored"
    log = DayLog.objects.get()
    assert log.day == date(2026, 1, 18)
    assert {name: getattr(log, name) for name in DAY} == DAY


def test_a_session_is_kept_and_corrected(cast: Cast, ines: Player) -> None:
    session = str(uuid.uuid4())
    first = message("session", ines, SESSION, session=session)
    then = message(
        "session",
        ines,
        SESSION | {"minutes": 80, "day": "2026-01-17"},
        session=session,
        written_at="2026-01-18T19:00:00+01:00",
    )
    receive(cast.player, [then, first], now=NOW)
    log = SessionLog.objects.get()
    assert (log.what, log.minutes, log.effort, log.day) == ("Serve", 80, 7, date(2026, 1, 17))


def test_a_later_message_leaves_alone_what_it_does_not_say(
    cast: Cast, ines: Player, lantern: Event
) -> None:
    one(cast.player, message("event", ines, FULL, event=lantern))
    later = message(
        "event",
        ines,
        SHORT | {"energy_after": 6, "soreness": None, "sore_where": []},
        event=lantern,
        written_at="2026-01-18T19:00:00+01:00",
    )
    one(cast.player, later)
    check_in = EventCheckIn.objects.get()
    assert (check_in.energy_after, check_in.soreness, check_in.sore_where) == (6, None, [])
    assert (check_in.went_well, check_in.matches.count()) == ("Serve", 2)


def test_the_four_answers_about_trouble_stay_together(cast: Cast, ines: Player) -> None:
    one(cast.player, message("day", ines, DAY))
    later = "2026-01-18T19:00:00+01:00"
    one(cast.player, message("day", ines, {"took_part": 25}, written_at=later))
    log = DayLog.objects.get()
    answers = (log.took_part, log.changed_training, log.hurt_performance, log.symptoms)
    assert answers == (25, None, None, None)


# Once ----------------------------------------------------------------------------------------


def test_a_message_that_comes_again_is_known(cast: Cast, ines: Player, lantern: Event) -> None:
    sent = message("event", ines, SHORT, event=lantern)
    assert [r.status for r in receive(cast.player, [sent, sent], now=NOW)] == ["stored", "known"]
    assert one(cast.player, sent).status == "known"
    assert Message.objects.count() == 1


def test_a_known_message_changes_nothing_even_with_other_words(
    cast: Cast, ines: Player, lantern: Event
) -> None:
    sent = message("event", ines, SHORT, event=lantern)
    one(cast.player, sent)
    assert one(cast.player, sent | {"body": {"energy_after": 99}}).status == "known"
    assert EventCheckIn.objects.get().energy_after == 4


def test_one_bad_message_does_not_keep_the_others_back(
    cast: Cast, ines: Player, lantern: Event
) -> None:
    good = message("event", ines, SHORT, event=lantern)
    bad = message("day", ines, {"sleep": 9})
    receipts = receive(cast.player, [bad, good], now=NOW)
    assert [r.status for r in receipts] == ["refused", "stored"]
    assert receipts[0].reasons == {"sleep": "Choose a whole number from 1 to 5."}


def test_the_key_of_another_players_log_is_refused(
    cast: Cast, ines: Player, lantern: Event
) -> None:
    sent = message("event", ines, SHORT, event=lantern)
    one(cast.player, sent)
    taken = {"key": "Another log has this key; make a new one for this log."}
    assert refusal(cast.other_player, sent) == taken
    assert refusal(cast.other_player, sent | {"player": cast.ravi.pk}) == taken
    assert Message.objects.count() == 1


def test_the_same_session_key_of_two_players_is_two_sessions(cast: Cast, ines: Player) -> None:
    session = str(uuid.uuid4())
    one(cast.player, message("session", ines, SESSION, session=session))
    one(cast.other_player, message("session", cast.ravi, SESSION, session=session))
    assert {log.player for log in SessionLog.objects.all()} == {ines, cast.ravi}


def state_of(player: Player) -> dict[str, Any]:
    """Everything that logs say, without when it arrived."""
    left_out = ("id", "last_arrived_at", "_state")
    rows: list[Any] = [
        *EventCheckIn.objects.filter(player=player).order_by("event"),
        *DayLog.objects.filter(player=player).order_by("day"),
        *SessionLog.objects.filter(player=player).order_by("session"),
    ]
    logs = [{k: v for k, v in vars(row).items() if k not in left_out} for row in rows]
    matches = PlayedMatch.objects.filter(check_in__player=player).order_by("check_in__event")
    played = matches.values_list("check_in__event", "number", "won", "minutes", "score")
    return {"logs": logs, "matches": list(played)}


def from_a_phone(ines: Player, events: list[Event]) -> st.SearchStrategy[list[dict[str, Any]]]:
    """What one phone may hold: check-ins, arrivals, days and sessions, keys of its own."""
    scale = st.integers(0, 10)
    event_body = st.fixed_dictionaries(
        {"energy_after": scale, "rounds_won": st.integers(0, 5)},
        optional={
            "energy_before": scale,
            "soreness": st.none() | scale,
            "went_well": st.sampled_from(["", "Serve", "Legs"]),
            "matches": st.lists(st.fixed_dictionaries({"won": st.booleans()}), max_size=3),
        },
    )
    day_body = st.fixed_dictionaries(
        {"sleep": st.integers(1, 5)},
        optional={
            "mood": st.none() | st.integers(1, 5),
            "took_part": st.sampled_from([0, 25, None]),
            "wants_to_talk": st.booleans(),
        },
    )
    session_body = st.fixed_dictionaries(
        {
            "what": st.sampled_from(["Serve", "Run"]),
            "minutes": st.integers(1, 600),
            "effort": scale,
            "day": st.sampled_from(["2026-01-17", "2026-01-18"]),
        }
    )
    arrival_body = st.fixed_dictionaries({"energy_before": scale})
    written = st.integers(0, 4).map(
        lambda hour: (datetime(2026, 1, 17, 8, tzinfo=UTC) + timedelta(hours=hour)).isoformat()
    )

    def of(kind: str, body: st.SearchStrategy[Any], **about: Any) -> st.SearchStrategy[Any]:
        return st.builds(
            lambda body, key, written_at, **about: message(
                kind, ines, body, key=str(key), written_at=written_at, **about
            ),
            body,
            st.uuids(),
            written,
            **about,
        )

    return st.lists(
        of("event", event_body, event=st.sampled_from(events))
        | of("arrival", arrival_body, event=st.sampled_from(events))
        | of("day", day_body, day=st.sampled_from(["2026-01-16", "2026-01-17"]))
        | of(
            "session",
            session_body,
            session=st.integers(1, 2).map(lambda n: str(uuid.UUID(int=n))),
        ),
        max_size=5,
    )


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(st.data())
def test_two_phones_end_in_the_same_state_whatever_way_their_messages_arrive(
    cast: Cast, ines: Player, lantern: Event, data: st.DataObject
) -> None:
    events = [lantern]
    phones = from_a_phone(ines, events)
    sent = [*data.draw(phones), *data.draw(phones)]
    again = data.draw(st.lists(st.sampled_from(sent), max_size=4)) if sent else []
    arrived = data.draw(st.permutations([*sent, *again]))
    cuts = sorted(data.draw(st.lists(st.integers(0, len(arrived)), max_size=4)))
    bounds = [0, *cuts, len(arrived)]
    batches = [arrived[a:b] for a, b in pairwise(bounds)]

    def state_after(deliveries: list[list[dict[str, Any]]]) -> dict[str, Any]:
        before = transaction.savepoint()
        stored = 0
        for number, batch in enumerate(deliveries):
            receipts = receive(cast.player, batch, now=NOW + timedelta(minutes=number))
            assert {r.status for r in receipts} <= {"stored", "known"}
            stored += sum(r.status == "stored" for r in receipts)
        assert stored == len(sent)
        state = state_of(ines)
        transaction.savepoint_rollback(before)
        return state

    assert state_after(batches) == state_after([[one] for one in sent])


@pytest.mark.skipif(
    connection.vendor == "sqlite", reason="threads cannot share SQLite's database in memory"
)
@pytest.mark.django_db(transaction=True)
def test_deliveries_at_the_same_time_store_once_and_fold_all() -> None:
    coach = MembershipFactory()
    player = PlayerFactory(
        academy=coach.academy, person=PersonFactory(), birth_date=date(1999, 1, 1)
    )
    event = EventFactory(academy=coach.academy, start=date(2026, 1, 11))
    twice = message("event", player, SHORT, event=event)
    others = [
        message("event", player, SHORT | {field: 3}, event=event) for field in ("soreness", "felt")
    ]
    start = threading.Barrier(3)
    statuses: list[str] = []

    def deliver(own: list[Any]) -> None:
        start.wait()
        try:
            statuses.extend(r.status for r in receive(player.person, own, now=NOW))
        finally:
            connections.close_all()

    deliveries = [[twice, others[0]], [others[1], twice], [twice]]
    threads = [threading.Thread(target=deliver, args=[own]) for own in deliveries]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert sorted(statuses) == ["known", "known", "stored", "stored", "stored"]
    check_in = EventCheckIn.objects.get()
    assert (check_in.soreness, check_in.felt) == (3, 3)


# Who writes ----------------------------------------------------------------------------------


def test_a_coach_logs_on_behalf_and_it_is_marked(cast: Cast, ines: Player, lantern: Event) -> None:
    assert one(cast.coach, message("event", ines, SHORT, event=lantern)).status == "stored"
    assert Message.objects.get().author == cast.coach
    assert EventCheckIn.objects.get().on_behalf


def test_a_coach_writes_no_private_note_of_the_player(
    cast: Cast, ines: Player, lantern: Event
) -> None:
    sent = message("event", ines, SHORT | {"private_note": "x"}, event=lantern)
    assert refusal(cast.coach, sent) == {"private_note": "This field is not known here."}


@pytest.mark.parametrize(
    "who",
    ["colleague", "director", "staff", "guardian", "other_player", "foreign_coach", "stranger"],
)
def test_nobody_else_writes_for_the_player(
    cast: Cast, ines: Player, lantern: Event, who: str
) -> None:
    reasons = refusal(getattr(cast, who), message("event", ines, SHORT, event=lantern))
    assert reasons == {"player": "You do not write logs for this player."}
    assert Message.objects.count() == 0


# When ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "written_at", "said"),
    [
        ("event", "2026-01-09T12:00:00+01:00", "This event has not begun yet."),
        ("arrival", "2025-12-01T12:00:00+01:00", "This event is still too far away."),
        (
            "arrival",
            "2026-01-18T12:00:00+01:00",
            "This event is over: say it with the check-in after the event.",
        ),
    ],
)
def test_an_event_is_told_of_when_it_can_be(
    cast: Cast, ines: Player, lantern: Event, kind: str, written_at: str, said: str
) -> None:
    body = SHORT if kind == "event" else {"energy_before": 5}
    sent = message(kind, ines, body, event=lantern, written_at=written_at)
    assert refusal(cast.player, sent) == {"event": said}


def test_a_phone_without_signal_is_judged_by_its_own_clock(
    cast: Cast, ines: Player, lantern: Event
) -> None:
    sent = message(
        "arrival",
        ines,
        {"energy_before": 5},
        event=lantern,
        written_at="2026-01-11T09:00:00+01:00",
    )
    [receipt] = receive(cast.player, [sent], now=NOW + timedelta(days=20))
    assert receipt.status == "stored"


def test_the_result_has_to_be_one_of_the_draw(cast: Cast, ines: Player, lantern: Event) -> None:
    assert one(cast.player, message("event", ines, SHORT | {"rounds_won": 5}, event=lantern)) != ""
    sent = message("event", ines, SHORT | {"rounds_won": 6}, event=lantern)
    assert refusal(cast.player, sent) == {"rounds_won": "Choose one of the answers offered."}


def test_a_delivery_asks_as_often_for_many_messages_of_a_day_as_for_few(
    cast: Cast, ines: Player, django_assert_max_num_queries: Any
) -> None:
    def asked(number: int) -> int:
        sent = [message("day", ines, {"mood": 3}) for _ in range(number)]
        with django_assert_max_num_queries(200) as queries:
            receive(cast.player, sent, now=NOW)
        return len(queries) - 3 * number  # a savepoint, the message, its release

    asked(1)
    assert asked(2) == asked(20)
