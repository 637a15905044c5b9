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
from django.db.models import Exists, OuterRef, Q

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
    """The parts of the player's weeks that the person may change, in one query.

    Who changes none gets the empty set; whether they may look is not asked here.
    """
    seen = seen_with_parts(person).filter(pk=player.pk).first()
    return parts_of(seen) if seen else frozenset()


def seen_with_parts(person: Person) -> models.QuerySet[Player]:
    """The players that the person sees, with academy and training, for `parts_of` to ask no more.

    `is_coached` and `is_staffed` say how the person works with the player.
    """
    links = person.memberships.filter(players=OuterRef("pk"))
    return (
        Player.objects.visible_to(person)
        .select_related("academy", "training")
        .annotate(
            is_coached=Exists(links.filter(role="coach")),
            is_staffed=Exists(links.filter(role="staff")),
        )
    )


def parts_of(player: Any) -> frozenset[Court]:
    """What `parts_changed_by` says, for a player from `seen_with_parts`, without a query."""
    training = getattr(player, "training", None)
    with_staff = training is not None and training.off_court_by_staff
    parts: set[Court] = set()
    if player.is_coached:
        parts |= {"on court"} if with_staff else {"on court", "off court"}
    if player.is_staffed and with_staff:
        parts.add("off court")
    return frozenset(parts)
