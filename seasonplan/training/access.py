"""Who may see and change the weeks of a player.

Everybody who sees the player sees the weeks: the player, their coaches, support staff, guardians,
and the academy's directors. A coach of the player changes both parts of a week. Support staff of
the player change the part off court once it was given to them; the coach then changes the part on
court alone, until it is taken back. The library of session kinds is read by everybody of the
academy, and changed by its coaches and directors.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self

from django.db import models
from django.db.models import Q

from seasonplan.academy.access import coached_ids, member_ids, team_player_ids
from seasonplan.academy.models import Player

if TYPE_CHECKING:
    from seasonplan.academy.models import Person
    from seasonplan.science.week_target import Court


class OfAPlayer(models.QuerySet[Any]):
    """Rows of one player: weeks, and how the player trains."""

    def visible_to(self, person: Person) -> Self:
        return self.filter(player__in=Player.objects.visible_to(person).values("pk"))


class SessionKindQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        return self.filter(academy__in=member_ids(person))

    def editable_by(self, person: Person) -> Self:
        return self.filter(academy__in=member_ids(person, "coach", "director"))


def trained_by(person: Person) -> models.QuerySet[Player]:
    """Players of whose weeks the person may change at least one part."""
    staffed = team_player_ids(person, "staff")
    return Player.objects.filter(
        Q(pk__in=coached_ids(person)) | Q(pk__in=staffed, training__off_court_by_staff=True)
    )


def parts_changed_by(person: Person, player: Player) -> frozenset[Court]:
    """The parts of the player's weeks that the person may change, in two queries at most.

    Who changes none gets the empty set; whether they may look is not asked here.
    """
    with_staff = (
        type(player).objects.filter(pk=player.pk, training__off_court_by_staff=True).exists()
    )
    links = person.memberships.filter(players=player.pk).values_list("role", flat=True)
    parts: set[Court] = set()
    if "coach" in links:
        parts |= {"on court"} if with_staff else {"on court", "off court"}
    if "staff" in links and with_staff:
        parts.add("off court")
    return frozenset(parts)
