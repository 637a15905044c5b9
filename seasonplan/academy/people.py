"""The page of an academy's people, as a director or a coach sees it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Prefetch
from django.utils.translation import gettext_lazy as _

from seasonplan.academy.models import Academy, Contact, Invitation, Membership, Person, Player, Role

HEADINGS = {
    Role.DIRECTOR: _("Directors"),
    Role.COACH: _("Coaches"),
    Role.STAFF: _("Support staff"),
    Role.GUARDIAN: _("Guardians"),
}


@dataclass(frozen=True)
class Member:
    membership: Membership
    players: list[Player]
    is_viewer: bool


@dataclass(frozen=True)
class Group:
    role: str
    heading: str
    members: list[Member]

    @property
    def works_with_players(self) -> bool:
        return self.role != Role.DIRECTOR


@dataclass(frozen=True)
class PlayerRow:
    player: Player
    team: list[Membership]
    login: Membership | None


@dataclass(frozen=True)
class Waiting:
    invitation: Invitation
    expired: bool


@dataclass(frozen=True)
class PeoplePage:
    academy: Academy
    directs: bool
    has_contact: bool
    groups: list[Group]
    players: list[PlayerRow]
    invitations: list[Waiting]


def people_page(academy: Academy, person: Person, now: datetime) -> PeoplePage:
    """Everything the page shows, in a number of queries that does not grow with the academy."""
    players = Player.objects.visible_to(person).filter(academy=academy)
    seen = Membership.objects.visible_to(person).filter(academy=academy).select_related("person")
    memberships = list(
        seen.prefetch_related(Prefetch("players", players)).order_by("person__name", "pk")
    )
    logins = {m.person_id: m for m in memberships if m.role == Role.PLAYER}
    with_team = players.prefetch_related(
        Prefetch("team", Membership.objects.select_related("person").order_by("role", "pk"))
    )
    invitations = (
        Invitation.objects.visible_to(person)
        .waiting()
        .filter(academy=academy)
        .select_related("player", "invited_by")
    )
    return PeoplePage(
        academy=academy,
        directs=any(m.role == Role.DIRECTOR and m.person_id == person.pk for m in memberships),
        has_contact=Contact.objects.filter(academy=academy).exists(),
        groups=[
            Group(
                role,
                str(heading),
                [
                    Member(m, list(m.players.all()), m.person_id == person.pk)
                    for m in memberships
                    if m.role == role
                ],
            )
            for role, heading in HEADINGS.items()
        ],
        players=[
            PlayerRow(p, list(p.team.all()), logins.get(p.person_id) if p.person_id else None)
            for p in with_team
        ],
        invitations=[Waiting(i, i.expires_at <= now) for i in invitations],
    )
