"""What no sound phone sends is refused with its reason, or shown harmless."""

import json
import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from seasonplan.academy.models import Player
from seasonplan.checkins.models import DayLog, EventCheckIn, Message
from tests.checkins.conftest import message, this_week
from tests.conftest import Cast
from tests.factories import EventFactory

SHORT = {"energy_after": 4, "rounds_won": 2}
Send = Callable[..., HttpResponse]


def tomorrow_and_a_day() -> str:
    return (timezone.localdate() + timedelta(days=2)).isoformat()


def in_two_days() -> str:
    return (timezone.now() + timedelta(days=2)).isoformat()


BAD: dict[str, tuple[Callable[[dict[str, Any]], Any], set[str]]] = {
    "a message that is a list": (lambda m: [m], {"message"}),
    "a message that is nothing": (lambda m: None, {"message"}),
    "an unknown word": (lambda m: m | {"is_admin": True}, {"message"}),
    "no key": (lambda m: {k: v for k, v in m.items() if k != "key"}, {"key"}),
    "a key that is no UUID": (lambda m: m | {"key": "1' OR 1=1 --"}, {"key"}),
    "an unknown kind": (lambda m: m | {"kind": "medal"}, {"kind"}),
    "a kind that is an object": (lambda m: m | {"kind": {"a": []}}, {"kind"}),
    "a player that is true": (lambda m: m | {"player": True}, {"player"}),
    "a player beyond all numbers": (lambda m: m | {"player": 10**40}, {"player"}),
    "an event as text": (lambda m: m | {"event": str(m["event"])}, {"event"}),
    "an event that is not there": (lambda m: m | {"event": 2**62}, {"event"}),
    "written in the future": (lambda m: m | {"written_at": in_two_days()}, {"written_at"}),
    "written before Christ": (
        lambda m: m | {"written_at": "0001-01-01T00:00:00+14:00"},
        {"written_at"},
    ),
    "written without an offset": (
        lambda m: m | {"written_at": "2026-01-18T10:00:00"},
        {"written_at"},
    ),
    "written on 31 February": (
        lambda m: m | {"written_at": "2026-02-31T10:00:00Z"},
        {"written_at"},
    ),
    "a day to come": (
        lambda m: m | {"kind": "day", "day": tomorrow_and_a_day(), "body": {"mood": 3}},
        {"day"},
    ),
    "a day that is no day": (
        lambda m: m | {"kind": "day", "day": "2026-02-30", "body": {"mood": 3}},
        {"day"},
    ),
    "a session to come": (
        lambda m: (
            m
            | {
                "kind": "session",
                "session": str(uuid.uuid4()),
                "body": {"what": "x", "minutes": 1, "effort": 1, "day": tomorrow_and_a_day()},
            }
        ),
        {"day"},
    ),
    "a session without a key of its own": (
        lambda m: (
            m
            | {
                "kind": "session",
                "body": {"what": "x", "minutes": 1, "effort": 1, "day": "2026-01-01"},
            }
        ),
        {"session"},
    ),
    "a body that is a list": (lambda m: m | {"body": [SHORT]}, {"body"}),
    "an unknown field": (lambda m: m | {"body": SHORT | {"ranking": 1}}, {"ranking"}),
    "a field called self": (lambda m: m | {"body": SHORT | {"self": 1}}, {"self"}),
    "a field of another kind": (lambda m: m | {"body": SHORT | {"mood": 3}}, {"mood"}),
    "a needed field left out": (lambda m: m | {"body": {"energy_after": 4}}, {"rounds_won"}),
    "a scale as text": (lambda m: m | {"body": SHORT | {"soreness": "4"}}, {"soreness"}),
    "a scale that is true": (
        lambda m: m | {"body": SHORT | {"energy_after": True}},
        {"energy_after"},
    ),
    "a scale in parts": (lambda m: m | {"body": SHORT | {"energy_after": 4.5}}, {"energy_after"}),
    "a scale beyond its end": (lambda m: m | {"body": SHORT | {"soreness": 11}}, {"soreness"}),
    "a scale below its end": (lambda m: m | {"body": SHORT | {"felt": 0}}, {"felt"}),
    "a result beyond the draw": (lambda m: m | {"body": SHORT | {"rounds_won": 9}}, {"rounds_won"}),
    "a region that no body has": (
        lambda m: m | {"body": SHORT | {"sore_where": ["tail"]}},
        {"sore_where"},
    ),
    "regions as text": (lambda m: m | {"body": SHORT | {"sore_where": "neck"}}, {"sore_where"}),
    "a region that is an object": (
        lambda m: m | {"body": SHORT | {"sore_where": [{"a": 1}]}},
        {"sore_where"},
    ),
    "more sleep than a night has": (
        lambda m: m | {"body": SHORT | {"sleep_last_h": 25}},
        {"sleep_last_h"},
    ),
    "a note as a number": (lambda m: m | {"body": SHORT | {"went_well": 5}}, {"went_well"}),
    "a note of 2001 letters": (
        lambda m: m | {"body": SHORT | {"went_well": "x" * 2001}},
        {"went_well"},
    ),
    "a note with a zero byte": (
        lambda m: m | {"body": SHORT | {"went_well": "a\0b"}},
        {"went_well"},
    ),
    "a note with half a character": (
        lambda m: m | {"body": SHORT | {"went_well": "\ud83d"}},
        {"went_well"},
    ),
    "matches as an object": (lambda m: m | {"body": SHORT | {"matches": {"won": 1}}}, {"matches"}),
    "a match neither won nor lost": (
        lambda m: m | {"body": SHORT | {"matches": [{"minutes": 60}]}},
        {"matches"},
    ),
    "a match of eleven hours": (
        lambda m: m | {"body": SHORT | {"matches": [{"won": True, "minutes": 660}]}},
        {"matches"},
    ),
    "a match with half a character in its score": (
        lambda m: m | {"body": SHORT | {"matches": [{"won": True, "score": "\udc00"}]}},
        {"matches"},
    ),
    "more matches than anybody plays": (
        lambda m: m | {"body": SHORT | {"matches": [{"won": True}] * 11}},
        {"matches"},
    ),
    "an arrival with a result": (
        lambda m: m | {"kind": "arrival", "body": {"energy_before": 5, "rounds_won": 2}},
        {"rounds_won"},
    ),
    "a day with nothing said": (
        lambda m: m | {"kind": "day", "day": "2026-01-01", "body": {}},
        {"message"},
    ),
    "trouble half answered": (
        lambda m: m | {"kind": "day", "day": "2026-01-01", "body": {"took_part": 8}},
        {"took_part"},
    ),
    "trouble answered past the gate": (
        lambda m: m | {"kind": "day", "day": "2026-01-01", "body": {"took_part": 0, "symptoms": 8}},
        {"took_part"},
    ),
}


def a_good_message(cast: Cast, ines: Player) -> dict[str, Any]:
    now = timezone.now().isoformat()
    return message("event", ines, SHORT, event=this_week(cast), written_at=now)


@pytest.mark.parametrize("name", BAD)
def test_a_bad_message_is_refused_with_its_reason(
    name: str, cast: Cast, ines: Player, send: Send
) -> None:
    make, fields = BAD[name]
    good = a_good_message(cast, ines)
    answer = send(cast.player, make(good))
    assert answer.status_code == 200
    [receipt] = answer.json()["receipts"]
    assert receipt["status"] == "refused"
    assert set(receipt["reasons"]) == fields
    assert all(reason.endswith(".") for reason in receipt["reasons"].values())
    assert Message.objects.count() == 0


def test_the_message_that_the_bad_ones_are_made_of_is_good(
    cast: Cast, ines: Player, send: Send
) -> None:
    good = a_good_message(cast, ines)
    answer = send(cast.player, good).json()
    assert answer["receipts"] == [{"key": good["key"], "status": "stored", "reasons": {}}]
    assert answer["csrf"]


def test_an_event_of_another_academy_is_not_on_the_calendar(
    cast: Cast, ines: Player, send: Send
) -> None:
    foreign = EventFactory(academy=cast.foreign_academy)
    there_is_none = EventFactory(academy=cast.academy)
    sent = [message("event", ines, SHORT, event=event) for event in (foreign, there_is_none)]
    there_is_none.delete()
    [one, other] = send(cast.player, *sent).json()["receipts"]
    assert one["reasons"] == other["reasons"]
    assert one["reasons"] == {"event": "This event is not on the academy's calendar."}


def test_a_foreign_player_is_refused_as_one_that_is_not_there(cast: Cast, send: Send) -> None:
    sent = [
        message("day", cast.ines, {"mood": 3}) | {"player": player}
        for player in (cast.foreign.pk, cast.ravi.pk, 2**62)
    ]
    receipts = send(cast.player, *sent).json()["receipts"]
    assert {json.dumps(r["reasons"]) for r in receipts} == {
        json.dumps({"player": "You do not write logs for this player."})
    }


def test_markup_in_notes_is_shown_as_text(
    cast: Cast, ines: Player, send: Send, as_: Callable[..., Client]
) -> None:
    evil = '<script>alert(1)</script><img src=x onerror="alert(2)">'
    notes = {"went_well": evil, "do_differently": evil, "private_note": evil}
    event = this_week(cast)
    now = timezone.now().isoformat()
    sent = [
        message("event", ines, SHORT | notes | {"matches": [{"won": True, "score": "<b>6-4</b>"}]},
                event=event, written_at=now),
        message("day", ines, {"note": evil, "private_note": evil}, day=now[:10], written_at=now),
        message("session", ines, {"what": evil[:60], "minutes": 60, "effort": 3, "day": now[:10]},
                written_at=now),
    ]  # fmt: skip
    assert {r["status"] for r in send(cast.player, *sent).json()["receipts"]} == {"stored"}
    for person in (cast.coach, cast.player):
        for path in (
            f"/players/{ines.pk}/logs/",
            f"/logs/events/{EventCheckIn.objects.get().pk}/",
            f"/logs/days/{DayLog.objects.get().pk}/",
        ):
            html = as_(person).get(path).content.decode()
            assert "<script>alert" not in html
            assert "<img src=x" not in html
            assert "<b>6-4" not in html
            assert "&lt;" in html
    html = as_(cast.player).get(f"/phone/log/event/{event.pk}/").content.decode()
    assert "<script>alert" not in html
    assert "<b>6-4" not in html


# The address ---------------------------------------------------------------------------------


def post(client: Client, content: str | bytes, kind: str = "application/json") -> HttpResponse:
    return client.post("/outbox/", content, content_type=kind)


@pytest.mark.parametrize(
    "content",
    [
        "",
        "{",
        "[]",
        "null",
        '{"messages": {}}',
        '{"messages": [NaN]}',
        "[" * 30_000,
        '{"messages": [' + "9" * 5000 + "]}",
        b"\xff\xfe",
    ],
)
def test_what_is_not_json_is_refused(content: str | bytes, cast: Cast, as_: Any) -> None:
    answer = post(as_(cast.player), content)
    assert answer.status_code == 400
    assert answer.json()["reason"]


def test_a_form_is_not_json(cast: Cast, as_: Any) -> None:
    assert (
        post(as_(cast.player), "messages=1", "application/x-www-form-urlencoded").status_code == 400
    )


def test_more_than_64_kb_is_too_much(cast: Cast, as_: Any) -> None:
    answer = post(as_(cast.player), json.dumps({"messages": ["x" * 65_536]}))
    assert (answer.status_code, answer.json()) == (
        413,
        {"reason": "Send at most 64 kB at a time."},
    )


def test_more_than_fifty_messages_are_too_many(cast: Cast, as_: Any) -> None:
    assert post(as_(cast.player), json.dumps({"messages": [1] * 50})).status_code == 200
    answer = post(as_(cast.player), json.dumps({"messages": [1] * 51}))
    assert (answer.status_code, answer.json()) == (
        413,
        {"reason": "Send at most 50 messages at a time."},
    )


def test_who_is_signed_out_is_told_so_and_nothing_is_kept(
    cast: Cast, ines: Player, client: Client
) -> None:
    answer = client.post(
        "/outbox/", {"messages": [message("day", ines, {"mood": 3})]}, "application/json"
    )
    assert (answer.status_code, answer.json()) == (
        401,
        {"reason": "Sign in, and what waits is sent."},
    )
    assert Message.objects.count() == 0


def test_without_the_token_nothing_is_taken_and_with_it_everything(
    cast: Cast, ines: Player, as_: Any
) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.player, backend="allauth.account.auth_backends.AuthenticationBackend")
    sent = {"messages": [message("day", ines, {"mood": 3}, written_at=timezone.now().isoformat())]}
    sent["messages"][0]["day"] = timezone.localdate().isoformat()
    assert client.post("/outbox/", sent, "application/json").status_code == 403
    client.get("/me/")
    token = client.cookies["csrftoken"].value
    answer = client.post("/outbox/", sent, "application/json", headers={"X-CSRFToken": token})
    assert answer.json()["receipts"][0]["status"] == "stored"
    again = client.post(
        "/outbox/", sent, "application/json", headers={"X-CSRFToken": answer.json()["csrf"]}
    )
    assert again.json()["receipts"][0]["status"] == "known"
