"""Who belongs to an academy and who works with whom: players come, teams change, members leave."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import transaction
from django.utils.translation import gettext as _

from seasonplan.academy.models import Change, HomeBase, Membership, Person, Player, Role
from seasonplan.academy.recording import record, record_team

WORKS_WITH_PLAYERS = (Role.COACH, Role.STAFF, Role.GUARDIAN)


CHANGEABLE = (Role.COACH, Role.DIRECTOR, Role.STAFF)
"""Roles that a director may change one for another; guardians and players are invited as such."""


class LastDirector(Exception):
    """Without this membership nobody would direct the academy."""


class HeldAlready(Exception):
    """The person has this role here in another membership."""


@transaction.atomic
def add_player(
    *, player: Player, home_base: HomeBase, team: Iterable[Membership] | None, added_by: Person
) -> Player:
    """Keep a new player with home base and team; who adds a player and coaches joins the team."""
    player.save()
    home_base.player = player
    home_base.save()
    record(player.academy, Change.What.PLAYER, by=added_by, player=player, after=_("Added"))
    if team is not None:
        player.team.set(team)
    player.team.add(*added_by.memberships.filter(academy=player.academy, role=Role.COACH))
    record_team(player, before=(), after=_team(player), by=added_by)
    return player


@transaction.atomic
def change_player(
    *,
    player: Player,
    home_base: HomeBase,
    team: Iterable[Membership] | None,
    by: Person | None = None,
) -> Player:
    """Keep what changed; a team of None stays as it is."""
    player.save()
    home_base.player = player
    home_base.save()
    if team is not None:
        before = _team(player)
        player.team.set(team)
        record_team(player, before=before, after=_team(player), by=by)
    return player


def _team(player: Player) -> list[Membership]:
    return list(player.team.select_related("person"))


@transaction.atomic
def set_players(
    membership: Membership, players: Iterable[Player], *, by: Person | None = None
) -> None:
    """Say which players a coach, guardian or member of staff works with."""
    before = set(membership.players.all())
    membership.players.set(players)
    _record_players(membership, before, set(membership.players.all()), by)


def _record_players(
    membership: Membership, before: set[Player], after: set[Player], by: Person | None
) -> None:
    """Keep which players a member came to work with and which no more, one change each."""
    for player in sorted(before ^ after, key=lambda player: player.pk):
        record_team(
            player,
            before=[membership] if player in before else [],
            after=[membership] if player in after else [],
            by=by,
        )


@transaction.atomic
def hand_over(
    source: Membership, to: Membership, players: Iterable[Player], *, by: Person | None = None
) -> list[Player]:
    """Give players of one coach or member of staff to another; their plans and history stay.

    Returns those handed over. Raises ValueError unless both hold the same role at one academy, and
    for a player that `source` does not work with.
    """
    if (source.academy_id, source.role) != (to.academy_id, to.role) or source.pk == to.pk:
        raise ValueError("players go to somebody else in the same role at the same academy")
    given = list(players)
    if not {player.pk for player in given} <= {player.pk for player in source.players.all()}:
        raise ValueError(f"{source} does not work with all of these players")
    known = set(to.players.all())
    to.players.add(*given)
    source.players.remove(*given)
    _record_players(source, set(given), set(), by)
    _record_players(to, known, known | set(given), by)
    return given


@transaction.atomic
def change_role(membership: Membership, role: Role, *, by: Person | None = None) -> None:
    """Make a member something else; who no longer works with players leaves their teams.

    Raises LastDirector, HeldAlready, and ValueError for roles that are not changed in this way.
    """
    if membership.role not in CHANGEABLE or role not in CHANGEABLE:
        raise ValueError(f"{membership.role} does not become {role}")
    if membership.role == role:
        return
    if membership.role == Role.DIRECTOR:
        _refuse_last_director(membership)
    others = membership.academy.memberships.filter(person=membership.person, role=role)
    if others.exists():
        raise HeldAlready
    if role not in WORKS_WITH_PLAYERS:
        _record_players(membership, set(membership.players.all()), set(), by)
        membership.players.clear()
    before = membership.get_role_display()
    membership.role = role
    membership.save(update_fields=["role"])
    _record_role(membership, before=before, after=membership.get_role_display(), by=by)


def _record_role(
    membership: Membership, *, by: Person | None, before: str = "", after: str = ""
) -> None:
    record(
        membership.academy_id,
        Change.What.ROLE,
        by=by,
        person=membership.person,
        before=before,
        after=after,
    )


@transaction.atomic
def remove_member(membership: Membership, *, by: Person | None = None) -> None:
    """End a membership: the person keeps their log-in, and sees nothing of the academy by it.

    A player's season stays; only their log-in is parted from it. Invitations that a leaving coach
    or director sent, and that still wait, are withdrawn. Raises LastDirector.
    """
    if membership.role == Role.DIRECTOR:
        _refuse_last_director(membership)
    if membership.role == Role.PLAYER:
        Player.objects.filter(academy=membership.academy, person=membership.person).update(
            person=None
        )
    if membership.role in (Role.DIRECTOR, Role.COACH):
        sent = membership.academy.invitations.waiting()
        sent.filter(invited_by=membership.person).delete()
    _record_players(membership, set(membership.players.all()), set(), by)
    _record_role(membership, before=membership.get_role_display(), by=by)
    membership.delete()


def _refuse_last_director(membership: Membership) -> None:
    # The rows are locked, so that two directors cannot remove each other at once.
    directors = membership.academy.memberships.filter(role=Role.DIRECTOR)
    if len(directors.select_for_update()) == 1:
        raise LastDirector
