"""Whom a player turns to who wants to talk to somebody: a person, with how to reach them.

The pages on which a player says how a day felt name them, whatever the player has answered.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from django.db.models import QuerySet

from seasonplan.academy.models import Academy, Contact, Membership, Player, Role


@dataclass(frozen=True)
class ToTalkTo:
    """One person; `phone` and `email` may be empty, not both."""

    name: str
    what: str
    phone: str
    email: str
    reachable: str = ""
    line: str = ""

    @property
    def tel(self) -> str:
        """The number as an address to call: digits, with a leading + where there was one."""
        return re.sub(r"[^0-9+]", "", self.phone)


@dataclass(frozen=True)
class SomebodyToTalkTo:
    """The academy's contact, or, where none is set, those nearest to the player."""

    people: tuple[ToTalkTo, ...]
    is_contact: bool


def contact_of(academy: Academy) -> ToTalkTo | None:
    """The academy's contact, if one is set; one query."""
    contact = Contact.objects.filter(academy=academy).first()
    if contact is None:
        return None
    return ToTalkTo(
        contact.name, contact.what, contact.phone, contact.email, contact.reachable, contact.line
    )


def somebody_to_talk_to(player: Player) -> SomebodyToTalkTo:
    """The academy's contact; without one the player's coaches; without those the directors."""
    contact = contact_of(player.academy)
    if contact is not None:
        return SomebodyToTalkTo((contact,), is_contact=True)
    near = _people(player.team.filter(role=Role.COACH))
    if not near:
        near = _people(player.academy.memberships.filter(role=Role.DIRECTOR))
    return SomebodyToTalkTo(near, is_contact=False)


def directors_of(academy: Academy) -> tuple[ToTalkTo, ...]:
    """Those who direct the academy, with their email addresses."""
    return _people(academy.memberships.filter(role=Role.DIRECTOR))


def _people(memberships: QuerySet[Membership]) -> tuple[ToTalkTo, ...]:
    rows = (
        memberships.filter(person__is_active=True)
        .select_related("person")
        .order_by("person__name", "pk")
    )
    return tuple(ToTalkTo(row.person.name, row.role_word, "", row.person.email) for row in rows)
