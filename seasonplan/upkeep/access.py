"""Who may take a player's or a person's data along, ask for erasure, and carry it out.

| who                  | takes along         | asks for erasure of | erases             |
|----------------------|---------------------|---------------------|--------------------|
| player               | their own data      | themselves          |                    |
| guardian of a minor  | the minor's data    | the minor           |                    |
| director             | any player's data   | themselves          | players and people |
| everybody            | what is about them  | themselves          |                    |

A guardian speaks for a player under 18, or of unknown age.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any, Final, Self

from django.db import models
from django.db.models import Q

from seasonplan.academy.access import member_ids
from seasonplan.academy.models import Membership, Player

if TYPE_CHECKING:
    from seasonplan.academy.models import Person

OF_AGE: Final = 18
"""Years; until then parents act for a child (Convention on the Rights of the Child, article 1)."""


class ErasureRequestQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        """Requests at the academies that the person directs, and those they made themselves."""
        return self.filter(Q(academy_id__in=member_ids(person, "director")) | Q(asked_by=person.pk))


def spoken_for(person: Person, *, today: date) -> models.QuerySet[Player]:
    """Players for whom the person decides: they are the player, or guardian of a minor."""
    leap_day = (today.month, today.day) == (2, 29)
    of_age_from = today.replace(year=today.year - OF_AGE, day=28 if leap_day else today.day)
    minors = Player.objects.guarded_by(person).filter(
        Q(birth_date=None) | Q(birth_date__gt=of_age_from)
    )
    return Player.objects.filter(Q(person=person.pk) | Q(pk__in=minors.values("pk")))


def handed_to(person: Person, *, today: date) -> models.QuerySet[Player]:
    """Players whose data the person may take along: those they speak for or direct."""
    return Player.objects.filter(
        Q(pk__in=spoken_for(person, today=today).values("pk"))
        | Q(academy_id__in=member_ids(person, "director"))
    )


def handed_whole(person: Person, player: Player, *, today: date) -> bool:
    """Whether the file holds what the player alone reads, too: for the player, and for the
    guardian of a minor who has no log-in to ask for it."""
    if player.person_id is not None:
        return player.person_id == person.pk
    return spoken_for(person, today=today).filter(pk=player.pk).exists()


def erasable_players(person: Person) -> models.QuerySet[Player]:
    """Players of the academies that the person directs."""
    return Player.objects.filter(academy_id__in=member_ids(person, "director"))


def erasable_members(person: Person) -> models.QuerySet[Membership]:
    """Memberships at the academies that the person directs, but those of players, who are erased
    as players."""
    return Membership.objects.editable_by(person).exclude(role="player")
