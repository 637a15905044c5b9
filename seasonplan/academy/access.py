"""Who may see and change academies, people, invitations and players.

Every view starts from one of these querysets: what is outside it does not exist for the person
(404), and what is visible but not editable is refused (403).

| role     | sees                                                | changes                     |
|----------|-----------------------------------------------------|-----------------------------|
| director | all people, invitations and players of the academy  | the same                    |
| coach    | coaches, staff and directors of the academy; their  | the players they work with; |
|          | players, with their guardians and invitations       | invites people around them  |
| staff    | players they work with                              | nothing here                |
| guardian | players they are guardian of                        | nothing here                |
| player   | themselves                                          | nothing here                |
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self, TypeVar

from django.core.exceptions import PermissionDenied
from django.db import models
from django.db.models import F, Q
from django.http import Http404
from django.shortcuts import get_object_or_404

if TYPE_CHECKING:
    from seasonplan.academy.models import Person

# Whom a coach sees of the whole academy, and whom they may invite around a player of theirs.
COLLEAGUES = ("coach", "director", "staff")
AROUND_A_PLAYER = ("guardian", "player", "staff")

Row = TypeVar("Row", bound=models.Model)


def member_ids(person: Person, *roles: str) -> models.QuerySet[Any, Any]:
    """Ids of the academies in which the person holds one of the roles (any role if none given)."""
    held = person.memberships.all()
    if roles:
        held = held.filter(role__in=roles)
    return held.values("academy_id")


def team_player_ids(person: Person, *roles: str) -> models.QuerySet[Any, Any]:
    """Ids of the players whom the person works with, in one of the roles if any are given."""
    links = person.memberships.filter(players__isnull=False)
    if roles:
        links = links.filter(role__in=roles)
    return links.values("players__pk")


def coached_ids(person: Person) -> models.QuerySet[Any, Any]:
    return team_player_ids(person, "coach")


def one_academy(rows: AcademyQuerySet, wanted: str | None) -> Any:
    """The academy whose id `wanted` is, or the first by name if nothing is wanted; else 404."""
    if not wanted:
        first = rows.order_by("name", "pk").first()
        if first is None:
            raise Http404
        return first
    if not wanted.isdecimal():
        raise Http404
    return get_object_or_404(rows, pk=int(wanted))


def planned_academy(rows: AcademyQuerySet, person: Person, wanted: str | None) -> Any:
    """The academy wanted, or the first that the person plans; 404 if they may not see it, 403 if
    they only look."""
    planned = rows.planned_by(person)
    academy = one_academy(
        planned if planned.exists() and not wanted else rows.visible_to(person), wanted
    )
    if not planned.filter(pk=academy.pk).exists():
        raise PermissionDenied
    return academy


def get_visible(rows: models.QuerySet[Row], person: Person, **lookup: object) -> Row:
    """The one row that the person may see, or 404."""
    seen: models.QuerySet[Row] = rows.visible_to(person)  # type: ignore[attr-defined]
    return get_object_or_404(seen, **lookup)


def get_editable(rows: models.QuerySet[Row], person: Person, **lookup: object) -> Row:
    """The one row that the person may change; 404 if they may not see it, 403 if only see."""
    row = get_visible(rows, person, **lookup)
    if not rows.editable_by(person).filter(pk=row.pk).exists():  # type: ignore[attr-defined]
        raise PermissionDenied
    return row


def get_planned(rows: models.QuerySet[Row], person: Person, **lookup: object) -> Row:
    """The one row whose season the person plans; 404 if they may not see it, 403 if only see."""
    row = get_visible(rows, person, **lookup)
    if not rows.planned_by(person).filter(pk=row.pk).exists():  # type: ignore[attr-defined]
        raise PermissionDenied
    return row


class AcademyQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        """Academies in which the person holds any role."""
        return self.filter(pk__in=member_ids(person))

    def editable_by(self, person: Person) -> Self:
        """Academies that the person directs: name, people, invitations."""
        return self.filter(pk__in=member_ids(person, "director"))

    def planned_by(self, person: Person) -> Self:
        """Academies whose event calendar and players the person looks after: coach or director."""
        return self.filter(pk__in=member_ids(person, "coach", "director"))


class MembershipQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        """All of an academy for its directors, colleagues and one's own players for a coach."""
        return self.filter(
            Q(academy_id__in=member_ids(person, "director"))
            | Q(academy_id__in=member_ids(person, "coach"), role__in=COLLEAGUES)
            | Q(pk__in=self._around(person))
            | Q(person_id=person.pk)
        )

    def editable_by(self, person: Person) -> Self:
        return self.filter(academy_id__in=member_ids(person, "director"))

    def _around(self, person: Person) -> Self:
        """Memberships of the players that the person coaches, and of these players' teams."""
        own = coached_ids(person)
        around = self.model._default_manager.filter(
            Q(players__in=own)
            | Q(role="player", person__players__in=own, academy=F("person__players__academy"))
        )
        return around.values("pk")  # type: ignore[no-any-return]


class InvitationQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        """All of an academy for its directors, those around one's own players for a coach."""
        return self.filter(
            Q(academy_id__in=member_ids(person, "director"))
            | Q(player__in=coached_ids(person), role__in=AROUND_A_PLAYER)
        )

    editable_by = visible_to

    def waiting(self) -> Self:
        """Those that nobody has used yet, expired ones among them."""
        return self.filter(used_at=None)


class ChangeQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        """The change record of the academies that the person directs."""
        return self.filter(academy_id__in=member_ids(person, "director"))


class PlayerQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        """The player themselves, their team (coaches, staff, guardians), and their directors."""
        return self.filter(
            Q(person_id=person.pk)
            | Q(pk__in=team_player_ids(person))
            | Q(academy_id__in=member_ids(person, "director"))
        )

    def editable_by(self, person: Person) -> Self:
        """Players that the person coaches or directs."""
        return self.filter(
            Q(pk__in=coached_ids(person)) | Q(academy_id__in=member_ids(person, "director"))
        )

    def planned_by(self, person: Person) -> Self:
        """Players whose season the person plans: those they coach."""
        return self.filter(pk__in=coached_ids(person))

    def guarded_by(self, person: Person) -> Self:
        """Players whose guardian the person is."""
        return self.filter(pk__in=team_player_ids(person, "guardian"))
