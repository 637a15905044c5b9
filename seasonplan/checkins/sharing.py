"""Who reads how much of a player's logs, and the record of who read what.

Every page asks `parts_for`, and shows no more than it says. For each kind of what a log says, the
player or a guardian chooses who reads it (`choosing.py`), within what the academy requires:

| reader        | result, sessions | health    | notes     | replies | asks to talk | private |
|---------------|------------------|-----------|-----------|---------|--------------|---------|
| the player    | yes              | yes       | yes       | yes     | yes          | yes     |
| coach         | yes              | if chosen | if chosen | yes     | yes          | yes     |
| support staff | yes              | if chosen | if chosen | if both | with health  | no      |
| guardian      | yes              | if chosen | no        | no      | no           | no      |
| director      | yes              | no        | no        | no      | no           | no      |

Coaches and support staff are those on the player's team. Until anybody chooses, coaches and support
staff read health and notes, and guardians do not. Whoever sees the player sees that a log exists.
While a guardian's consent is needed and does not stand, the player alone reads more than results.

A choice holds for all logs at once. What the academy requires holds for logs written since then: a
player who has kept something from others is not overruled afterwards. That somebody wants to talk
is said to the coaches, and not to guardians: it may be about home.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import Enum

from django.db import transaction
from django.db.models import F, Q

from seasonplan.academy.consent import ConsentStanding
from seasonplan.academy.models import Person, Player, Readers, Role
from seasonplan.academy.requiring import Requirements, requirements_of
from seasonplan.checkins.models import DayLog, EventCheckIn, HealthRead, SharingChoice


class Part(Enum):
    """A part of a log that one may or may not read."""

    RESULT = "result"
    HEALTH = "health"
    NOTES = "notes"
    THREAD = "thread"
    TALK = "talk"
    PRIVATE = "private"


Parts = frozenset[Part]


@dataclass(frozen=True)
class Choice:
    """Who may read each kind: as chosen, or as it is until anybody chooses."""

    health: Readers = Readers.TEAM
    notes: Readers = Readers.TEAM
    guardians_read_health: bool = False

    def at_least(self, requirements: Requirements, written_at: datetime | None) -> Choice:
        """With what the academy requires of a log written then, or now."""
        required = requirements.of(written_at) if written_at else requirements.now
        return Choice(
            max(self.health, required.health),
            max(self.notes, required.notes),
            self.guardians_read_health,
        )


def standing_choice(rows: Sequence[SharingChoice], standing: ConsentStanding) -> Choice:
    """The choice that holds, of a player's choices with the latest first.

    That guardians read about health is, from the academy's age on, the player's own to say: what a
    guardian said of it before then holds no longer.
    """
    if not rows:
        return Choice()
    row = rows[0]
    guardians = row.guardians_read_health and (standing.needed or not row.by_guardian)
    return Choice(Readers(row.health), Readers(row.notes), guardians)


@dataclass(frozen=True)
class Reading:
    """What one reader may read of a player's logs: `of` one of them, and of one written `now`."""

    is_player: bool
    roles: frozenset[str]
    allows: bool
    choice: Choice
    requirements: Requirements

    @property
    def follows(self) -> bool:
        """Whether logs are unread until opened: for the player and those who work with the
        player. A guardian who may read is not asked to."""
        return self.is_player or not self.roles.isdisjoint({Role.COACH, Role.STAFF})

    @property
    def now(self) -> Parts:
        return self._parts(self.choice.at_least(self.requirements, None))

    def of(self, log: EventCheckIn | DayLog) -> Parts:
        return self.of_written(log.first_written_at)

    def of_written(self, at: datetime) -> Parts:
        """What is read of a log that was first written at this moment."""
        return self._parts(self.choice.at_least(self.requirements, at))

    def _parts(self, choice: Choice) -> Parts:
        if self.is_player:
            return frozenset(Part)
        parts = {Part.RESULT}
        if not self.allows:
            return frozenset(parts)
        if Role.COACH in self.roles:
            parts |= {Part.THREAD, Part.TALK, Part.PRIVATE}
            parts |= _shared(choice, Readers.COACHES)
        if Role.STAFF in self.roles:
            shared = _shared(choice, Readers.TEAM)
            parts |= shared
            if Part.HEALTH in shared:
                parts.add(Part.TALK)
            if len(shared) == 2:
                parts.add(Part.THREAD)
        if Role.GUARDIAN in self.roles and choice.guardians_read_health:
            parts.add(Part.HEALTH)
        return frozenset(parts)


def _shared(choice: Choice, with_whom: Readers) -> set[Part]:
    kinds = {Part.HEALTH: choice.health, Part.NOTES: choice.notes}
    return {part for part, readers in kinds.items() if readers >= with_whom}


def parts_for(person: Person, player: Player, standing: ConsentStanding) -> Reading:
    """What this person, who sees the player, reads of the player's logs; at most three queries."""
    is_player = player.person_id == person.pk
    roles = () if is_player else player.team.filter(person=person).values_list("role", flat=True)
    return reading(player, standing, is_player=is_player, roles=roles)


def reading(
    player: Player,
    standing: ConsentStanding,
    *,
    is_player: bool,
    roles: Iterable[str],
    rows: Sequence[SharingChoice] | None = None,
    requirements: Requirements | None = None,
) -> Reading:
    """What somebody with these roles on the player's team reads; choices and requirements may be
    given by who has read them already."""
    latest = list(player.sharing_choices.all()[:1]) if rows is None else rows
    return Reading(
        is_player=is_player,
        roles=frozenset(roles),
        allows=standing.allows,
        choice=standing_choice(latest, standing),
        requirements=requirements or requirements_of(player.academy),
    )


def reads_more(parts: Collection[Part]) -> bool:
    """Whether anything beyond the results is read."""
    return bool(set(parts) - {Part.RESULT})


def record_reads(
    person: Person,
    player: Player,
    logs: Iterable[EventCheckIn | DayLog],
    *,
    now: datetime,
) -> None:
    """Write down that this person was shown more than the result of these logs, unless their own.

    One row a log and day (UTC), with how often; three queries, however many logs.
    """
    if player.person_id != person.pk:
        record_reads_of_others(person, logs, now=now)


@transaction.atomic
def record_reads_of_others(
    person: Person, logs: Iterable[EventCheckIn | DayLog], *, now: datetime
) -> None:
    """The same for logs of any number of players, none of whom is the person."""
    logs = list(logs)
    if not logs:
        return
    day = now.date()
    seen = Q(check_in__in=[log.pk for log in logs if isinstance(log, EventCheckIn)])
    seen |= Q(day_log__in=[log.pk for log in logs if isinstance(log, DayLog)])
    rows = HealthRead.objects.filter(seen, reader=person, day=day)
    known = set(rows.values_list("check_in", "day_log"))
    rows.update(times=F("times") + 1, last_read_at=now)
    reads = [
        HealthRead(
            player_id=log.player_id,
            reader=person,
            day=day,
            read_at=now,
            last_read_at=now,
            check_in=log if isinstance(log, EventCheckIn) else None,
            day_log=log if isinstance(log, DayLog) else None,
        )
        for log in logs
    ]
    # Of two first reads at once one is kept: they are one moment.
    HealthRead.objects.bulk_create(
        [read for read in reads if (read.check_in_id, read.day_log_id) not in known],
        ignore_conflicts=True,
    )
