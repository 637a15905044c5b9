"""What do the logs of many players say to this reader: the last check-in, and unlike the usual?

The same rules hold as in `checkins/inbox.py`: `sharing.py` says which part of which log is read,
and what may not be read is not looked at, the usual included. Nothing of it is kept anywhere. Who
was shown something of health is written down like on every page.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final

from django.db.models import Case, Exists, OuterRef, QuerySet, Subquery, When

from seasonplan.academy.consent import standing_of
from seasonplan.academy.models import Academy, Consent, Person, Player
from seasonplan.academy.requiring import Requirements, requirements_of
from seasonplan.checkins.models import DayLog, EventCheckIn, Opened, SharingChoice
from seasonplan.checkins.sharing import Part, Parts, Reading, reading, record_reads_of_others
from seasonplan.science.wellbeing import WINDOW_DAYS, DayFeeling, flags

NEWS_DAYS: Final = 3
"""A day log says how a player is for so many days (practice)."""

CHECK_IN: Final = (
    "player_id",
    "first_written_at",
    "energy_before",
    "energy_after",
    "event__name",
    "event__start",
    "event__end",
)
FEELINGS: Final = ("sleep", "freshness", "muscles", "calm", "mood")


@dataclass(frozen=True)
class Heard:
    """What one player's logs say to the reader.

    `check_in` is that of the latest event, with its `energy` (0-10) and when that was felt, if the
    reader may know. `flags` are sentences about the day `flags_on`; `asks_to_talk` is the day of an
    unread log in which the player asks to. `shown` are the logs of which that is more than the
    result.
    """

    check_in: EventCheckIn | None = None
    energy: int | None = None
    energy_is_after: bool = False
    reads_energy: bool = False
    flags: tuple[str, ...] = ()
    flags_on: date | None = None
    talk_today: bool = False
    asks_to_talk: date | None = None
    shown: tuple[EventCheckIn | DayLog, ...] = ()


NOTHING: Final = Heard()


def with_sharing(players: QuerySet[Player]) -> QuerySet[Player]:
    """The players with what `readings` asks of them: consent that stands, and the last choice."""
    choice = SharingChoice.objects.filter(player=OuterRef("pk"))
    consent = Consent.objects.filter(player=OuterRef("pk"), withdrawn_at=None)
    return players.annotate(
        has_consent=Exists(consent),
        **{
            f"choice_{name}": Subquery(choice.values(name)[:1])
            for name in ("pk", "health", "notes", "guardians_read_health", "by_guardian")
        },
    )


def hear(
    players: Sequence[Any],
    person: Person,
    academy: Academy,
    roles: Mapping[int, Iterable[str]],
    *,
    today: date,
) -> dict[int, Heard]:
    """By id, what the logs of these players (from `with_sharing` and `players_now`) say.

    `roles` are those of the person on each player's team. Three queries, whoever reads; one where
    the person reads nothing but results.
    """
    readings = _readings(players, person, academy, roles, today)
    ids = [player.last_check_in for player in players if player.last_check_in]
    rows = EventCheckIn.objects.filter(pk__in=ids).select_related("event").only(*CHECK_IN)
    check_ins = {row.player_id: row for row in rows}
    logs = _day_logs(readings, person, today)
    found = {}
    for player in players:
        parts = readings.get(player.pk)
        check_in = check_ins.get(player.pk)
        if parts is None:
            found[player.pk] = Heard(check_in=check_in)
        else:
            own = player.person_id == person.pk
            days = logs.get(player.pk, ())
            found[player.pk] = _heard(player.pk, parts, check_in, days, own=own, today=today)
    return found


def record(person: Person, heard: Iterable[Heard], *, now: datetime) -> None:
    """Write down of whose logs the person was shown more than the result."""
    record_reads_of_others(person, [log for one in heard for log in one.shown], now=now)


def _readings(
    players: Sequence[Any],
    person: Person,
    academy: Academy,
    roles: Mapping[int, Iterable[str]],
    today: date,
) -> dict[int, Reading]:
    """What the person reads of each player of whom that can be more than results."""
    near = [player for player in players if player.pk in roles or player.person_id == person.pk]
    if not near:
        return {}
    requirements = requirements_of(academy)
    return {
        player.pk: _reading(player, person, roles.get(player.pk, ()), requirements, today)
        for player in near
    }


def _reading(
    player: Any, person: Person, roles: Iterable[str], requirements: Requirements, today: date
) -> Reading:
    consents = [Consent(player_id=player.pk)] if player.has_consent else []
    rows = (
        [
            SharingChoice(
                player_id=player.pk,
                health=player.choice_health,
                notes=player.choice_notes,
                guardians_read_health=player.choice_guardians_read_health,
                by_guardian=player.choice_by_guardian,
            )
        ]
        if player.choice_pk
        else []
    )
    is_player = player.person_id == person.pk
    return reading(
        player,
        standing_of(player, consents, today=today),
        is_player=is_player,
        roles=() if is_player else roles,
        rows=rows,
        requirements=requirements,
    )


@dataclass(frozen=True, slots=True)
class _Day:
    """A day log in short: thousands of them are read at once. `asks` where that is unread."""

    pk: int
    day: date
    asks: bool
    steps: tuple[int | None, ...]
    parts: Parts

    @property
    def feeling(self) -> DayFeeling:
        return DayFeeling(*self.steps)


def _day_logs(
    readings: Mapping[int, Reading], person: Person, today: date
) -> Mapping[int, list[_Day]]:
    """The day logs of the last weeks that say more than that they are there, the latest first."""
    found: dict[int, list[_Day]] = defaultdict(list)
    wide = frozenset({Part.HEALTH, Part.TALK})
    # Where nothing was ever required, the same is read of all logs, whenever they were written.
    differs = any(len(one.requirements.steps) > 1 for one in readings.values())
    moment = ("first_written_at",) if differs else ()
    asked = [pk for pk, one in readings.items() if one.is_player or one.allows]
    if not asked:
        return found
    opened = Opened.objects.filter(
        person=person, day_log=OuterRef("pk"), opened_at__gte=OuterRef("last_arrived_at")
    )
    asks = Case(When(wants_to_talk=True, then=~Exists(opened)), default=False)
    rows = (
        DayLog.objects.filter(
            player__in=asked, day__gte=today - timedelta(days=WINDOW_DAYS + NEWS_DAYS)
        )
        .order_by("-day", "-pk")
        .values_list("pk", "player_id", "day", asks, *FEELINGS, *moment)
    )
    parts_of = {pk: _parts_of(readings[pk], bool(moment)) for pk in asked}
    for pk, player_id, day, is_asking, *rest in rows:
        steps, written_at = rest[: len(FEELINGS)], rest[len(FEELINGS) :]
        if parts := parts_of[player_id](*written_at) & wide:
            found[player_id].append(_Day(pk, day, is_asking, tuple(steps), parts))
    return found


def _parts_of(one: Reading, differs: bool) -> Callable[..., Parts]:
    """What is read of a log, by its moment where that makes a difference."""
    now = one.now
    return one.of_written if differs else lambda: now


def _heard(
    player_id: int,
    read: Reading,
    check_in: EventCheckIn | None,
    days: Sequence[_Day],
    *,
    own: bool,
    today: date,
) -> Heard:
    reads_energy = check_in is not None and Part.HEALTH in read.of(check_in)
    energy, is_after = _energy(check_in) if check_in and reads_energy else (None, False)
    sentences, flagged, is_today = _flags(days, today)
    asking = None if own else next(_asking(days), None)
    shown: list[EventCheckIn | DayLog] = []
    if check_in and energy is not None:
        shown.append(check_in)
    days_shown = {day.pk for day in (flagged, asking) if day}
    shown += [DayLog(pk=pk, player_id=player_id) for pk in days_shown]
    return Heard(
        check_in=check_in,
        energy=energy,
        energy_is_after=is_after,
        reads_energy=reads_energy,
        flags=sentences,
        flags_on=flagged.day if flagged else None,
        talk_today=is_today,
        asks_to_talk=asking.day if asking else None,
        shown=() if own else tuple(shown),
    )


def _energy(check_in: EventCheckIn) -> tuple[int | None, bool]:
    """The energy, and whether it is that after the event."""
    if check_in.energy_after is not None:
        return check_in.energy_after, True
    return check_in.energy_before, False


def _flags(days: Sequence[_Day], today: date) -> tuple[tuple[str, ...], _Day | None, bool]:
    """What is unlike the usual in the latest log whose health part is read, if it is of late."""
    read = [day for day in days if Part.HEALTH in day.parts]
    latest = next((day for day in read if day.day <= today + timedelta(days=1)), None)
    if latest is None or (today - latest.day).days > NEWS_DAYS:
        return (), None, False
    since = latest.day - timedelta(days=WINDOW_DAYS)
    earlier = [day.feeling for day in read if since <= day.day < latest.day]
    found = flags(latest.feeling, earlier)
    if not found:
        return (), None, False
    is_today = any(flag.unlike.level == "talk today" for flag in found)
    return tuple(flag.sentence for flag in found), latest, is_today


def _asking(days: Sequence[_Day]) -> Iterator[_Day]:
    """Unread logs in which the player asks to talk, the one that waits longest first."""
    return (day for day in reversed(days) if day.asks and Part.TALK in day.parts)
