"""Who wishes to be reminded of what, and when: the choices of a person, or the defaults.

| who on the player's side  | is reminded, unless they choose otherwise, of  |
|---------------------------|------------------------------------------------|
| the player, a guardian    | deadlines, travel days and check-ins           |
| a coach on the team       | deadlines                                      |
| support staff on the team | nothing                                        |

A director who is on nobody's team is not reminded of anything.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Q, QuerySet

from seasonplan.academy.clocks import usual_zones
from seasonplan.academy.models import Membership, Person, Player, Role
from seasonplan.checkins.models import ReminderTimes, ReminderWish
from seasonplan.plans.due import DEADLINES, DEPARTURES, DueKind
from seasonplan.science.reminding import QuietHours

ON_THE_TEAM = (Role.COACH, Role.STAFF, Role.GUARDIAN)


class About(StrEnum):
    """What one may be reminded of; the values are fields of `ReminderWish`."""

    DEADLINES = "deadlines"
    TRAVEL = "travel"
    CHECK_INS = "check_ins"


KINDS: Final[Mapping[About, frozenset[DueKind]]] = {
    About.DEADLINES: DEADLINES,
    About.TRAVEL: DEPARTURES,
    About.CHECK_INS: frozenset({DueKind.CHECK_IN}),
}
ABOUT: Final = {kind: about for about, kinds in KINDS.items() for kind in kinds}

CHECK_IN_USEFUL_DAYS: Final = 6
"""A check-in is asked for from the day after the event, and within a week; common practice, no
source: what is remembered later is coloured by what came after."""

BY_ROLE: Final[Mapping[Role, frozenset[About]]] = {
    Role.PLAYER: frozenset(About),
    Role.GUARDIAN: frozenset(About),
    Role.COACH: frozenset({About.DEADLINES}),
    Role.STAFF: frozenset(),
}


@dataclass(frozen=True)
class Wish:
    """Of what one person is to be reminded for one player, and which roles they have there."""

    person: Person
    player: Player
    roles: frozenset[Role]
    about: frozenset[About]


def quiet_hours(times: ReminderTimes) -> QuietHours:
    return QuietHours(times.quiet_from, times.quiet_to)


def lead_days(times: ReminderTimes, about: About) -> int:
    """How many days before a day one is told of it."""
    return {
        About.DEADLINES: times.deadline_days,
        About.TRAVEL: times.travel_days,
        About.CHECK_INS: 0,
    }[about]


def useful_days(about: About) -> int:
    """How many days after a day it still makes sense to be told of it."""
    return CHECK_IN_USEFUL_DAYS if about == About.CHECK_INS else 0


def wishes_of(players: QuerySet[Player], *, person: Person | None = None) -> list[Wish]:
    """The wishes of everybody on these players' side (of one person, if given): three queries.

    People whose log-in is switched off have none.
    """
    only = Q(person__is_active=True) & (Q(person=person) if person else Q())
    by_id: dict[int, Player] = {}
    roles: dict[tuple[int, int], set[Role]] = defaultdict(set)
    people: dict[int, Person] = {}
    for player in players.filter(only).select_related("person"):
        _join(player, player.person, Role.PLAYER, by_id, people, roles)  # type: ignore[arg-type]
    through = Player.team.through.objects.filter(
        Q(membership__person__is_active=True) & (Q(membership__person=person) if person else Q()),
        player__in=players.values("pk"),
        membership__role__in=ON_THE_TEAM,
    ).select_related("player", "membership__person")
    for link in through:
        member: Membership = link.membership
        _join(link.player, member.person, Role(member.role), by_id, people, roles)
    chosen = {
        (row.person_id, row.player_id): frozenset(a for a in About if getattr(row, a))
        for row in ReminderWish.objects.filter(
            Q(person=person) if person else Q(), player__in=players.values("pk")
        )
    }
    return [
        Wish(
            person=people[person_id],
            player=by_id[player_id],
            roles=frozenset(held),
            about=chosen.get(
                (person_id, player_id), frozenset().union(*(BY_ROLE[role] for role in held))
            ),
        )
        for (person_id, player_id), held in roles.items()
    ]


def _join(
    player: Player,
    person: Person,
    role: Role,
    by_id: dict[int, Player],
    people: dict[int, Person],
    roles: dict[tuple[int, int], set[Role]],
) -> None:
    by_id.setdefault(player.pk, player)
    people.setdefault(person.pk, person)
    roles[person.pk, player.pk].add(role)


@dataclass(frozen=True)
class Audience:
    """Everybody who may be reminded: their wishes, and by their ids their zones and times.

    `usual_zones` are those of people who choose none.
    """

    wishes: tuple[Wish, ...]
    usual_zones: Mapping[int, ZoneInfo]
    times: Mapping[int, ReminderTimes]

    def zone(self, person: Person) -> ZoneInfo:
        return ZoneInfo(person.timezone) if person.timezone else self.usual_zones[person.pk]


def audience(players: QuerySet[Player], *, person: Person | None = None) -> Audience:
    """Everybody on these players' side, or one person alone; five queries."""
    wishes = wishes_of(players, person=person)
    people = {wish.person.pk: wish.person for wish in wishes}
    if person:
        people[person.pk] = person
    times = {pk: ReminderTimes(person_id=pk) for pk in people}
    kept = ReminderTimes.objects.filter(person__in=list(people))
    return Audience(
        wishes=tuple(sorted(wishes, key=lambda w: (w.player.name, w.player.pk, w.person.pk))),
        usual_zones=usual_zones(people.values()),
        times=times | {row.person_id: row for row in kept},
    )


@transaction.atomic
def keep_wishes(
    *, person: Person, times: ReminderTimes, about: Mapping[Player, Iterable[str]]
) -> None:
    """Keep a person's zone, times, and for each of the players what to be reminded of."""
    person.save(update_fields=["timezone"])
    times.save()
    for player, chosen in about.items():
        fields: dict[str, Any] = {kind: kind in set(chosen) for kind in About}
        ReminderWish.objects.update_or_create(person=person, player=player, defaults=fields)
