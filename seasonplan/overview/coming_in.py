"""What came in lately from a player, for the page of that player."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from seasonplan.academy.consent import consent_standing
from seasonplan.academy.models import Person, Player, Role
from seasonplan.checkins.inbox import EventToLog, Newest, events_to_log, newest
from seasonplan.checkins.models import DayLog, EventCheckIn
from seasonplan.checkins.sharing import parts_for

MOST_LINES: Final = 4


@dataclass(frozen=True)
class ComingIn:
    """`shown` are the logs of which more than the result is on the page."""

    newest: Newest
    may_write: bool
    to_log: tuple[EventToLog, ...]
    shown: tuple[EventCheckIn | DayLog, ...]


def coming_in(player: Player, person: Person, *, today: date) -> ComingIn | None:
    """For the coaches and support staff on the player's team; to others it is not news."""
    reading = parts_for(person, player, consent_standing(player, today=today))
    if not reading.roles & {Role.COACH, Role.STAFF}:
        return None
    page, shown = newest(player, person, reading, today=today, most=MOST_LINES)
    may_write = Role.COACH in reading.roles
    return ComingIn(
        newest=page,
        may_write=may_write,
        to_log=events_to_log(player, today=today) if may_write else (),
        shown=tuple(shown),
    )
