"""Whose players a person oversees, and who changes the academy's groups and coaches' travels.

The academy page shows a director every player of the academy, and a coach or a member of support
staff the players they work with. To players and guardians, and to other academies, it does not
exist. Groups are the director's to change. Which coach travels with a player is for the player's
coaches and the directors to say. A saved view is its person's alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self

from django.db import models
from django.db.models import Q

from seasonplan.academy.access import coached_ids, member_ids, team_player_ids

if TYPE_CHECKING:
    from seasonplan.academy.models import Person, Player

OVERSEEING = ("director", "coach", "staff")
WORKING = ("coach", "staff")


def overseen_by(rows: models.QuerySet[Player], person: Person) -> models.QuerySet[Player]:
    """Of these players those that the person directs, coaches or works with as support staff."""
    return rows.filter(
        Q(pk__in=team_player_ids(person, *WORKING))
        | Q(academy_id__in=member_ids(person, "director"))
    )


class PlayerGroupQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        """Groups of the academies whose page the person has."""
        return self.filter(academy_id__in=member_ids(person, *OVERSEEING))

    def editable_by(self, person: Person) -> Self:
        return self.filter(academy_id__in=member_ids(person, "director"))


class SavedViewQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        return self.filter(person=person)

    editable_by = visible_to


def may_send_coaches(person: Person, player: Player) -> bool:
    """Whether the person says which coach travels with the player; one query."""
    return (
        type(player)
        .objects.filter(
            Q(pk__in=coached_ids(person)) | Q(academy_id__in=member_ids(person, "director")),
            pk=player.pk,
        )
        .exists()
    )
