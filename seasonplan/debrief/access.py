"""Who writes and who reads the words of a debrief.

Whoever sees a player's plan in force may open its debrief. What they find there in words:

| who                         | notes and decisions           | the player's own view         |
|-----------------------------|-------------------------------|-------------------------------|
| the player                  | writes                        | writes                        |
| coach on the player's team  | writes                        | reads once the player shares  |
| staff of the team, director | read once shared              | never                         |
| guardian                    | reads the decisions, if shared| never                         |

The meeting is the coach's and the player's: either of them shares its words. The own view is the
player's alone; sharing it shows it to the coaches, and taking it back hides it again. Nobody is
told whether there is one that is not shared.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Self

from django.db import models
from django.db.models import Exists, OuterRef, Q, QuerySet

from seasonplan.academy.access import coached_ids, member_ids, team_player_ids
from seasonplan.academy.models import Membership, Player, Role
from seasonplan.plans.models import SeasonPlan

if TYPE_CHECKING:
    from seasonplan.academy.models import Person


def plans_looked_back_on(person: Person) -> QuerySet[SeasonPlan]:
    """Plans in force that the person may see, running ones among them: the year so far."""
    plans: QuerySet[SeasonPlan] = SeasonPlan.objects.visible_to(person)
    return plans.filter(standing=SeasonPlan.Standing.IN_FORCE)


def players_met(person: Person) -> QuerySet[Player]:
    """Players with whom the person sits down: themselves, and those they coach."""
    return Player.objects.filter(Q(person_id=person.pk) | Q(pk__in=coached_ids(person)))


@dataclass(frozen=True)
class Seat:
    """Where a reader sits in the meeting about one player, and the player's team around the table.

    `keeps_calendar` is for who may change the academy's event calendar; `roles` are those that the
    reader has on the player's team.
    """

    plays: bool
    coaches: bool
    reads_notes_once_shared: bool
    keeps_calendar: bool
    roles: frozenset[str]
    team: tuple[Person, ...]

    @property
    def writes(self) -> bool:
        return self.plays or self.coaches


def seat_of(person: Person, player: Player) -> Seat:
    """The seat of somebody who sees the player's plan in force, in one query."""
    links = Player.team.through.objects.filter(membership_id=OuterRef("pk"), player_id=player.pk)
    rows = list(
        Membership.objects.annotate(around=Exists(links))
        .filter(Q(around=True) | Q(person=person, academy_id=player.academy_id))
        .select_related("person")
        .order_by("person__name", "person_id")
    )
    held = {row.role for row in rows if row.person_id == person.pk}
    around = {row.role for row in rows if row.person_id == person.pk and row.around}
    return Seat(
        plays=player.person_id == person.pk,
        coaches=Role.COACH in around,
        reads_notes_once_shared=Role.STAFF in around or Role.DIRECTOR in held,
        roles=frozenset(around),
        keeps_calendar=bool(held & {Role.COACH, Role.DIRECTOR}),
        team=tuple({row.person_id: row.person for row in rows if row.around}.values()),
    )


def _read_by(person: Person, debrief: str = "") -> Q:
    """Debriefs of which the person reads at least the decisions; `debrief` leads to them."""

    def is_so(**lookup: Any) -> Q:
        return Q(**{f"{debrief}{name}": value for name, value in lookup.items()})

    around = is_so(player__in=team_player_ids(person, "staff", "guardian")) | is_so(
        player__academy_id__in=member_ids(person, "director")
    )
    met = is_so(player__in=players_met(person).values("pk"))
    return met | (is_so(shared_at__isnull=False) & around)


class DebriefQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        return self.filter(_read_by(person))

    def editable_by(self, person: Person) -> Self:
        return self.filter(player__in=players_met(person).values("pk"))


class DecisionQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        return self.filter(_read_by(person, "debrief__"))

    def editable_by(self, person: Person) -> Self:
        return self.filter(debrief__player__in=players_met(person).values("pk"))


class OwnViewQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        """The player's own, and shared ones of players whom the person coaches."""
        return self.filter(
            Q(player__person_id=person.pk)
            | Q(shared_at__isnull=False, player__in=coached_ids(person))
        )

    def editable_by(self, person: Person) -> Self:
        return self.filter(player__person_id=person.pk)
