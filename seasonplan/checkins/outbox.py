"""Keep what a phone, or a page, says: each message once, and what all of them come to together.

A message is stored under its own key, however often it arrives. The check-in or log it is about is
folded anew from all messages about the same event, day or session, in the order in which they were
written, so that no order of arrival can change it. `views.py` calls `receive`.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date, datetime, timedelta
from typing import Any, Final, Literal
from zoneinfo import ZoneInfo

from django import forms
from django.db import IntegrityError, transaction
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from seasonplan.academy.consent import consent_standing
from seasonplan.academy.models import Person, Player
from seasonplan.checkins.access import players_written_for
from seasonplan.checkins.forms import HEALTH_OF_AN_EVENT, LogForm, MatchesField, log_form
from seasonplan.checkins.models import (
    DayLog,
    EventCheckIn,
    Kind,
    Message,
    PlayedMatch,
    SessionLog,
)
from seasonplan.events.models import Event
from seasonplan.science.words import N_

MOST_MESSAGES: Final = 50
LARGEST_BYTES: Final = 64 * 1024

# A phone's clock and its time zone may be ahead of ours by this much.
AHEAD: Final = timedelta(days=1)
EARLIEST: Final = date(2000, 1, 1)
ARRIVAL_AHEAD: Final = timedelta(days=21)
"""How long before an event its arrival may be logged."""

KEYS: Final = {
    "key", "kind", "player", "event", "day", "session", "written_at", "body",
}  # fmt: skip

Status = Literal["stored", "known", "refused"]


@dataclass(frozen=True)
class Receipt:
    """What became of a message; `reasons` says by field why it was refused."""

    key: str | None
    status: Status
    reasons: dict[str, str] = field(default_factory=dict)

    def as_json(self) -> dict[str, Any]:
        return asdict(self)


class Refused(Exception):
    """The message cannot be kept, and why, by field."""

    def __init__(self, reasons: dict[str, str]) -> None:
        super().__init__(reasons)
        self.reasons = reasons


# Folding -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Said:
    """One message, as far as folding asks."""

    written_at: datetime
    key: uuid.UUID
    kind: str
    body: Mapping[str, Any]


def fold(messages: Iterable[Said]) -> dict[str, Any]:
    """What messages about one event, day or session say together, the later word winning by field.

    They may come in any order, and more than once. Energy before an event is the exception: said
    with the result known (`energy_before_late`) it never replaces what was said before.
    """
    state: dict[str, Any] = {}
    result_is_known = False
    once = {message.key: message for message in messages}
    for message in sorted(once.values(), key=lambda m: (m.written_at, m.key)):
        state.update({k: v for k, v in message.body.items() if k != "energy_before"})
        result_is_known = result_is_known or message.kind == Kind.EVENT
        if "energy_before" in message.body:
            said_before = state.get("energy_before") is not None and not state["energy_before_late"]
            if not (result_is_known and said_before):
                energy = message.body["energy_before"]
                state["energy_before"] = energy
                state["energy_before_late"] = energy is not None and result_is_known
                state["energy_before_written_at"] = None if energy is None else message.written_at
    return state


# Receiving -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Subject:
    """What messages are folded about: one event, one day or one session of a player."""

    player: Player
    event_id: int | None = None
    day: date | None = None
    session: uuid.UUID | None = None


def receive(person: Person, messages: Sequence[Any], *, now: datetime) -> list[Receipt]:
    """Store the messages that can be kept, once each; a receipt for each, in their order.

    The rows of the players are locked, so that two deliveries at once neither store a message
    twice nor fold without one another's.
    """
    with transaction.atomic():
        known = _Known(person, messages, now)
        receipts = []
        subjects: dict[Subject, None] = {}
        for raw in messages:
            receipt, subject = _receive_one(raw, known)
            receipts.append(receipt)
            if subject is not None:
                subjects[subject] = None
        for subject in subjects:
            _fold_subject(subject)
    return receipts


class _Known:
    """What the messages of one delivery refer to, asked for once."""

    def __init__(self, person: Person, messages: Sequence[Any], now: datetime) -> None:
        self.person, self.now = person, now
        asked = [message for message in messages if isinstance(message, dict)]
        players = players_written_for(person).filter(pk__in=_numbers(asked, "player"))
        locked = players.order_by("pk").select_for_update(no_key=True, of=("self",))
        self.players = {player.pk: player for player in locked.select_related("academy")}
        academies = {player.academy_id for player in self.players.values()}
        events = Event.objects.filter(pk__in=_numbers(asked, "event"), academy__in=academies)
        self.events = {event.pk: event for event in events.select_related("place")}
        keys = {key for message in asked if (key := _uuid(message.get("key")))}
        self.kept = {message.key: message for message in Message.objects.filter(key__in=keys)}
        self._health: dict[int, bool] = {}

    def allows_health(self, player: Player) -> bool:
        if player.pk not in self._health:
            standing = consent_standing(player, today=self.now.date())
            self._health[player.pk] = standing.allows
        return self._health[player.pk]


def _numbers(messages: Iterable[dict[str, Any]], name: str) -> set[int]:
    given = (message.get(name) for message in messages)
    return {value for value in given if type(value) is int and 0 < value < 2**63}


def _uuid(value: Any) -> uuid.UUID | None:
    """A UUID in its usual form of 36 characters."""
    try:
        return uuid.UUID(value) if isinstance(value, str) and len(value) == 36 else None
    except ValueError:
        return None


def _receive_one(raw: Any, known: _Known) -> tuple[Receipt, Subject | None]:
    key = raw.get("key") if isinstance(raw, dict) else None
    name = key if isinstance(key, str) and _uuid(key) else None
    try:
        message = _checked(raw, known)
        if message.pk is not None:
            return Receipt(name, "known"), None
        with transaction.atomic():
            message.save()
    except Refused as refusal:
        return Receipt(name, "refused", refusal.reasons), None
    except IntegrityError:
        return Receipt(name, "refused", {"key": _(KEY_IS_TAKEN)}), None
    known.kept[message.key] = message
    subject = Subject(
        message.player,
        message.event_id,
        message.day if message.kind == Kind.DAY else None,
        message.session,
    )
    return Receipt(name, "stored"), subject


KEY_IS_TAKEN: Final = N_("Another log has this key; make a new one for this log.")


NOT_ITS_KEY: Final = N_("The log of a planned session goes by the key of the planned session.")


def _checked(raw: Any, known: _Known) -> Message:
    """The message, new or as it was kept before. Raises Refused."""
    if not isinstance(raw, dict):
        raise Refused({"message": _("A message is an object with key, kind, player and body.")})
    if unknown := set(raw) - KEYS:
        raise Refused(
            {
                "message": _("“%(name)s” is not known here.")
                % {"name": _short(min(unknown, key=str))}
            }
        )
    key = _uuid(raw.get("key"))
    if key is None:
        raise Refused({"key": _("Give a UUID that was made where this was written.")})
    player = known.players.get(raw["player"]) if type(raw.get("player")) is int else None
    if kept := known.kept.get(key):
        if player is None or kept.player_id != player.pk:
            raise Refused({"key": _(KEY_IS_TAKEN)})
        return kept
    kind = raw.get("kind")
    if kind not in Kind.values:
        raise Refused({"kind": _("Choose arrival, event, day or session.")})
    if player is None:
        raise Refused({"player": _("You do not write logs for this player.")})
    written_at = _moment(raw.get("written_at"), known.now)
    event = _event(raw, kind, player, known)
    body = _body(raw, kind, player, event, known)
    message = Message(
        key=key,
        player=player,
        author=known.person,
        on_behalf=player.person_id != known.person.pk,
        kind=kind,
        event=event,
        day=_day(raw.get("day"), known.now) if kind == Kind.DAY else None,
        session=_session(raw) if kind == Kind.SESSION else None,
        body=body,
        written_at=written_at,
        arrived_at=known.now,
    )
    if event is not None:
        _refuse_out_of_season(kind, event, written_at)
    if kind == Kind.SESSION:
        _day(body["day"], known.now)
        if body.get("planned_key") not in (None, str(message.session)):
            raise Refused({"planned_key": _(NOT_ITS_KEY)})
    return message


def _moment(value: Any, now: datetime) -> datetime:
    try:
        moment = parse_datetime(value) if isinstance(value, str) else None
        if moment is None or moment.tzinfo is None:
            raise Refused({"written_at": _("Give day and time with their offset from UTC.")})
        if moment > now + AHEAD:
            raise Refused({"written_at": _("This lies in the future; check the phone's clock.")})
        if moment.date() < EARLIEST:
            raise Refused({"written_at": _("This lies far in the past; check the phone's clock.")})
    except (ValueError, OverflowError):
        raise Refused({"written_at": _("Give day and time with their offset from UTC.")}) from None
    return moment


def _day(value: Any, now: datetime) -> date:
    try:
        day = date.fromisoformat(value) if isinstance(value, str) and len(value) == 10 else None
    except ValueError:
        day = None
    if day is None:
        raise Refused({"day": _("Give the day as YYYY-MM-DD.")})
    if day > (now + AHEAD).date():
        raise Refused({"day": _("This day has not come yet.")})
    if day < EARLIEST:
        raise Refused({"day": _("This day is too long ago; check the year.")})
    return day


def _session(raw: dict[str, Any]) -> uuid.UUID:
    session = _uuid(raw.get("session"))
    if session is None:
        raise Refused({"session": _("Give a UUID that was made where this was written.")})
    return session


def _event(raw: dict[str, Any], kind: str, player: Player, known: _Known) -> Event | None:
    """The event of a check-in, from the calendar of the player's academy."""
    if kind not in (Kind.ARRIVAL, Kind.EVENT):
        return None
    event = known.events.get(raw["event"]) if type(raw.get("event")) is int else None
    if event is None or event.academy_id != player.academy_id:
        raise Refused({"event": _("This event is not on the academy's calendar.")})
    return event


def _refuse_out_of_season(kind: str, event: Event, written_at: datetime) -> None:
    """An event is told of when it can be: by the days at its place when the words were written."""
    there = written_at.astimezone(ZoneInfo(event.place.timezone)).date()
    if kind == Kind.EVENT and event.start > there + AHEAD:
        raise Refused({"event": _("This event has not begun yet.")})
    if kind == Kind.ARRIVAL and event.start > there + ARRIVAL_AHEAD:
        raise Refused({"event": _("This event is still too far away.")})
    if kind == Kind.ARRIVAL and event.end < there:
        raise Refused({"event": _("This event is over: say it with the check-in after the event.")})


def _body(
    raw: dict[str, Any], kind: str, player: Player, event: Event | None, known: _Known
) -> dict[str, Any]:
    """The fields that the message says, checked. Raises Refused."""
    body = raw.get("body")
    if not isinstance(body, dict):
        raise Refused({"body": _("Give what was said as an object of fields.")})
    health = known.allows_health(player)
    if not health and kind == Kind.DAY:
        raise Refused({"consent": _(_CONSENT_FIRST)})
    if not health and kind == Kind.EVENT:
        lacking = {
            name: _(_CONSENT_FIRST)
            for name in HEALTH_OF_AN_EVENT
            if body.get(name) not in (None, "", [])
        }
        if lacking:
            raise Refused(lacking)
        body = {name: value for name, value in body.items() if name not in HEALTH_OF_AN_EVENT}
    form = log_form(
        kind,
        body,
        event=event,
        health=health,
        on_behalf=player.person_id != known.person.pk,
    )
    if wrong := _wrong_types(form, body):
        raise Refused(wrong)
    if not form.is_valid():
        raise Refused(reasons(form))
    said = form.body(body)
    if not said:
        raise Refused({"message": _("Nothing was said: answer at least one question.")})
    return said


_CONSENT_FIRST: Final = N_("A guardian has to consent before health is logged.")


def reasons(form: forms.Form) -> dict[str, str]:
    """The faults of a form by field; what belongs to no field stands under `message`."""
    return {
        "message" if name == "__all__" else name: " ".join(str(fault) for fault in faults)
        for name, faults in form.errors.items()
    }


# The JSON type of each field's value, and what to say of another one; the first line that fits a
# field counts.
_TYPES: Final[tuple[tuple[type[forms.Field], tuple[type, ...], str], ...]] = (
    (MatchesField, (list,), N_("This is not a list.")),
    (forms.MultipleChoiceField, (list,), N_("This is not a list.")),
    (forms.TypedChoiceField, (int,), N_("This is not a whole number.")),
    (forms.BooleanField, (bool,), N_("This is not true or false.")),
    (forms.FloatField, (int, float), N_("This is not a number.")),
    (forms.IntegerField, (int,), N_("This is not a whole number.")),
    (forms.Field, (str,), N_("This is not text.")),
)


def _wrong_types(form: LogForm, body: dict[str, Any]) -> dict[str, str]:
    """Fields that the kind does not know, and values of another type than theirs."""
    wrong = {}
    for name, value in body.items():
        if name not in form.fields:
            wrong[_short(name)] = _("This field is not known here.")
            continue
        _kind, types, words = next(row for row in _TYPES if isinstance(form.fields[name], row[0]))
        if value is not None and type(value) not in types:
            wrong[name] = _(words)
        elif not _can_be_kept(value):
            wrong[name] = _("This holds characters that cannot be kept.")
    return wrong


def _can_be_kept(value: Any) -> bool:
    """No half characters, in whatever depth: no database takes them."""
    if isinstance(value, str):
        return not any("\ud800" <= character <= "\udfff" for character in value)
    if isinstance(value, list):
        return all(_can_be_kept(part) for part in value)
    if isinstance(value, dict):
        return all(_can_be_kept(part) for pair in value.items() for part in pair)
    return True


def _short(name: Any) -> str:
    return str(name)[:40].encode("ascii", "replace").decode()


# Writing the folded log ----------------------------------------------------------------------


def _fold_subject(subject: Subject) -> None:
    """Write the check-in or log anew from all messages about it."""
    if subject.event_id is not None:
        about: dict[str, Any] = {"event_id": subject.event_id}
    elif subject.day is not None:
        about = {"kind": Kind.DAY, "day": subject.day}
    else:
        about = {"kind": Kind.SESSION, "session": subject.session}
    messages = list(Message.objects.filter(player=subject.player, **about))
    state = fold(Said(m.written_at, m.key, m.kind, m.body) for m in messages)
    state |= {
        "first_written_at": min(m.written_at for m in messages),
        "last_written_at": max(m.written_at for m in messages),
        "last_arrived_at": max(m.arrived_at for m in messages),
        "on_behalf": any(m.on_behalf for m in messages),
    }
    if subject.event_id is not None:
        matches = state.pop("matches", [])
        check_in, _is_new = EventCheckIn.objects.update_or_create(
            player=subject.player, event_id=subject.event_id, defaults=state
        )
        _write_matches(check_in, matches)
    elif subject.day is not None:
        DayLog.objects.update_or_create(player=subject.player, day=subject.day, defaults=state)
    elif subject.session is not None:
        about = {"player": subject.player, "session": subject.session}
        if state.pop("taken_back", False):
            SessionLog.objects.filter(**about).delete()
        else:
            state["day"] = date.fromisoformat(state["day"])
            SessionLog.objects.update_or_create(**about, defaults=state)


def _write_matches(check_in: EventCheckIn, matches: list[dict[str, Any]]) -> None:
    check_in.matches.all().delete()
    PlayedMatch.objects.bulk_create(
        PlayedMatch(check_in=check_in, number=number, **match)
        for number, match in enumerate(matches, start=1)
    )
