"""Who reads how much of a player's logs, and the record of who read what about health.

| reader                    | result, sessions | health, notes, replies | private note |
|---------------------------|------------------|------------------------|--------------|
| the player                | yes              | yes                    | yes          |
| coach on the team         | yes              | yes                    | yes          |
| support staff on the team | yes              | yes                    | no           |
| guardian, director        | yes              | no                     | no           |

All of them see that a log exists. While a guardian's consent is needed and does not stand, the
player alone reads about health.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from enum import Enum

from seasonplan.academy.consent import ConsentStanding
from seasonplan.academy.models import Person, Player, Role
from seasonplan.checkins.models import DayLog, EventCheckIn, HealthRead


class Part(Enum):
    """A part of a log that one may or may not read."""

    RESULT = "result"
    HEALTH = "health"
    PRIVATE = "private"


def parts_for(person: Person, player: Player, standing: ConsentStanding) -> frozenset[Part]:
    """What this person, who sees the player, reads of the player's logs."""
    if player.person_id == person.pk:
        return frozenset(Part)
    if not standing.allows:
        return frozenset({Part.RESULT})
    roles = set(player.team.filter(person=person).values_list("role", flat=True))
    if Role.COACH in roles:
        return frozenset(Part)
    if Role.STAFF in roles:
        return frozenset({Part.RESULT, Part.HEALTH})
    return frozenset({Part.RESULT})


def record_reads(
    person: Person,
    player: Player,
    logs: Iterable[EventCheckIn | DayLog],
    *,
    now: datetime,
) -> None:
    """Write down that this person was shown the health part of these logs, unless their own."""
    if player.person_id == person.pk:
        return
    HealthRead.objects.bulk_create(
        HealthRead(
            player=player,
            reader=person,
            read_at=now,
            check_in=log if isinstance(log, EventCheckIn) else None,
            day_log=log if isinstance(log, DayLog) else None,
        )
        for log in logs
    )
