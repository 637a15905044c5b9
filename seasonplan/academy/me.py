"""One's own page: in which roles one is here, and who sees what of the players one belongs to."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Prefetch
from django.utils.translation import gettext_lazy as _

from seasonplan.academy.models import Membership, Person, Player, Role

SEES = {
    Role.DIRECTOR: _(
        "All players of the academy and their plans, working copies too, and everybody "
        "who belongs to it. Of players' logs the results and sessions, nothing about health. "
        "Changes people and players; does not change a plan."
    ),
    Role.COACH: _(
        "The players you work with, all their plans, working copies too, and of their logs "
        "what they share with you. Changes the plans, the players and the academy's event "
        "calendar; logs on behalf."
    ),
    Role.STAFF: _(
        "The players you work with, the plan in force of each, and of their logs what they "
        "share with you. Changes nothing."
    ),
    Role.GUARDIAN: _(
        "Your child's plan in force and trips; of the logs the results and sessions, "
        "about health only if that is chosen. Says yes or no to health logs, and chooses who reads "
        "them, until your child is old enough."
    ),
    Role.PLAYER: _("Your own plan in force and trips, and all you log. Changes no plan."),
}


@dataclass(frozen=True)
class OneRole:
    membership: Membership
    players: list[Player]
    sees: str


@dataclass(frozen=True)
class Watched:
    """A player whose season the person owns or guards, and everybody who sees it."""

    player: Player
    team: list[Membership]
    directors: list[Membership]


@dataclass(frozen=True)
class MyPage:
    roles: list[OneRole]
    watched: list[Watched]


def my_page(person: Person) -> MyPage:
    memberships = (
        Membership.objects.filter(person=person)
        .select_related("academy")
        .prefetch_related("players")
        .order_by("academy__name", "academy__pk", "role")
    )
    own = {p.academy_id: p for p in Player.objects.filter(person=person)}
    roles = [
        OneRole(
            m,
            [own[m.academy_id]]
            if m.role == Role.PLAYER and m.academy_id in own
            else list(m.players.all()),
            str(SEES[Role(m.role)]),
        )
        for m in memberships
    ]
    return MyPage(roles=roles, watched=_watched(roles))


def _watched(roles: list[OneRole]) -> list[Watched]:
    """Who sees the players that one is, or is guardian of."""
    mine = {
        p.pk
        for role in roles
        if role.membership.role in (Role.PLAYER, Role.GUARDIAN)
        for p in role.players
    }
    directors = Prefetch(
        "academy__memberships",
        Membership.objects.filter(role=Role.DIRECTOR).select_related("person"),
        to_attr="directors",
    )
    team = Prefetch("team", Membership.objects.select_related("person").order_by("role", "pk"))
    players = Player.objects.filter(pk__in=mine).select_related("academy", "person")
    return [
        Watched(p, list(p.team.all()), p.academy.directors)  # type: ignore[attr-defined]
        for p in players.prefetch_related(team, directors)
    ]
