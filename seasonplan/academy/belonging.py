"""Who belongs to an academy and who works with whom: players come, teams change, members leave."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import transaction

from seasonplan.academy.models import HomeBase, Membership, Person, Player, Role

WORKS_WITH_PLAYERS = (Role.COACH, Role.STAFF, Role.GUARDIAN)


class LastDirector(Exception):
    """Without this membership nobody would direct the academy."""


@transaction.atomic
def add_player(
    *, player: Player, home_base: HomeBase, team: Iterable[Membership] | None, added_by: Person
) -> Player:
    """Keep a new player with home base and team; who adds a player and coaches joins the team."""
    player.save()
    home_base.player = player
    home_base.save()
    if team is not None:
        player.team.set(team)
    player.team.add(*added_by.memberships.filter(academy=player.academy, role=Role.COACH))
    return player


@transaction.atomic
def change_player(
    *, player: Player, home_base: HomeBase, team: Iterable[Membership] | None
) -> Player:
    """Keep what changed; a team of None stays as it is."""
    player.save()
    home_base.player = player
    home_base.save()
    if team is not None:
        player.team.set(team)
    return player


def set_players(membership: Membership, players: Iterable[Player]) -> None:
    """Say which players a coach, guardian or member of staff works with."""
    membership.players.set(players)


@transaction.atomic
def remove_member(membership: Membership) -> None:
    """End a membership: the person keeps their log-in, and sees nothing of the academy by it.

    A player's season stays; only their log-in is parted from it. Invitations that a leaving coach
    or director sent, and that still wait, are withdrawn. Raises LastDirector.
    """
    if membership.role == Role.DIRECTOR:
        # The rows are locked, so that two directors cannot remove each other at once.
        directors = membership.academy.memberships.filter(role=Role.DIRECTOR)
        if len(directors.select_for_update()) == 1:
            raise LastDirector
    if membership.role == Role.PLAYER:
        Player.objects.filter(academy=membership.academy, person=membership.person).update(
            person=None
        )
    if membership.role in (Role.DIRECTOR, Role.COACH):
        sent = membership.academy.invitations.waiting()
        sent.filter(invited_by=membership.person).delete()
    membership.delete()
