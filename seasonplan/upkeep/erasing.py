"""Erase a player or a person, so that nothing says who it was and the season's figures stay.

`registry.py` says what happens to each table. A player's row stays as "A former player", with the
plans, the results and the energies of events; a person's row goes. Whoever asked to be erased waits
in `ErasureRequest` until a director acts.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.contrib.sessions.models import Session
from django.core.mail import EmailMessage, get_connection
from django.db import transaction
from django.db.models import Q
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext

from seasonplan.academy import belonging
from seasonplan.academy.models import Academy, Change, Contact, Invitation, Person, Player, Role
from seasonplan.academy.recording import record
from seasonplan.academy.speaking import speaking_to
from seasonplan.upkeep.models import ErasureRequest
from seasonplan.upkeep.registry import (
    SOMEBODY_WHO_LEFT,
    TABLES,
    Erasing,
    Of,
    leads_to,
)

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Consequences:
    """What a page says before somebody is erased: the tables that go, and those that stay."""

    deleted: tuple[str, ...]
    stripped: tuple[str, ...]


def consequences(of: Of) -> Consequences:
    """The tables by what erasing does to them, as a reader knows them."""
    tables = [table for table in TABLES if table.of == of and table.heading]
    return Consequences(
        deleted=tuple(gettext(t.heading) for t in tables if t.erasing == Erasing.DELETES),
        stripped=tuple(gettext(t.heading) for t in tables if t.erasing == Erasing.STRIPS),
    )


# Asking --------------------------------------------------------------------------------------


@transaction.atomic
def ask_to_be_erased(
    academy: Academy, *, player: Player | None, person: Person | None, by: Person, now: datetime
) -> bool:
    """Keep that somebody asks to erase one of the two; False if that was asked before."""
    _, is_new = ErasureRequest.objects.get_or_create(
        academy=academy,
        player=player,
        person=person,
        defaults={"asked_by": by, "asked_at": now},
    )
    return is_new


def tell_directors(academy: Academy, *, link: str) -> bool:
    """Mail the directors that somebody asks, and the page where they see who; False if the mail
    server would not take it. The mail names nobody."""
    rows = academy.memberships.filter(role=Role.DIRECTOR, person__is_active=True)
    directors = [row.person for row in rows.select_related("person").order_by("person__name", "pk")]
    mails = [_mail_to(director, academy, link) for director in directors]
    try:
        get_connection().send_messages(mails)
    except OSError:
        log.exception("the directors of academy %s were not told of a request", academy.pk)
        return False
    return True


def _mail_to(director: Person, academy: Academy, link: str) -> EmailMessage:
    with speaking_to(director):
        return EmailMessage(
            gettext("Seasonplan: somebody asks %(academy)s to be erased") % {"academy": academy},
            render_to_string("upkeep/mail/asked.txt", {"academy": academy, "link": link}),
            to=[director.email],
        )


# Erasing -------------------------------------------------------------------------------------


@transaction.atomic
def erase_player(player: Player, *, by: Person) -> None:
    """Make a player a former player; their log-in goes too, unless it is needed elsewhere."""
    Player.objects.select_for_update().get(pk=player.pk)
    person, academy = player.person, player.academy
    _strip(player)
    if person is not None:
        for membership in academy.memberships.filter(person=person, role="player"):
            belonging.remove_member(membership, by=by)
        _erase_log_in_if_last(person)
    record(
        academy,
        Change.What.ERASURE,
        by=by,
        player=player,
        subject=gettext("Player"),
        after=gettext("Erased"),
    )


@transaction.atomic
def erase_person(person: Person, academy: Academy, *, by: Person) -> bool:
    """End all that ties a person to an academy; True if their log-in went with it.

    It stays while they belong to another academy. A player that they are there is erased, too.
    Raises belonging.LastDirector, and then nothing has changed.
    """
    for player in Player.objects.select_for_update().filter(academy=academy, person=person):
        _strip(player)
    memberships = academy.memberships.filter(person=person)
    for membership in memberships.select_related("academy", "person"):
        belonging.remove_member(membership, by=by)
    ErasureRequest.objects.filter(academy=academy, person=person).delete()
    _forget_in_the_academy(person, academy)
    gone = _erase_log_in_if_last(person)
    record(
        academy,
        Change.What.ERASURE,
        by=_still_there(by),
        subject=gettext("Person"),
        after=gettext("Erased"),
    )
    return gone


def _still_there(person: Person) -> Person | None:
    """Whoever erased themselves is nobody any more."""
    return Person.objects.filter(pk=person.pk).first()


def _strip(player: Player) -> None:
    """Delete, or empty of what says who it was, every row that is the player's.

    What is said in place of names stays for good, so it is said in the academy's language.
    """
    with translation.override(player.academy.language):
        for table in TABLES:
            if not table.to_player or table.erasing == Erasing.KEEPS:
                continue
            rows = table.rows._base_manager.filter(leads_to(table.to_player, player))
            if table.erasing == Erasing.DELETES:
                rows.delete()
            elif table.emptied:
                rows.update(**{column: _said(value) for column, value in table.emptied.items()})


def _said(value: object) -> object:
    """A text in the language of the moment; anything else, and no text, as it is."""
    return gettext(value) if isinstance(value, str) and value else value


def _forget_in_the_academy(person: Person, academy: Academy) -> None:
    """Take their name from what the academy keeps for itself."""
    named = Q(email__iexact=person.email) | Q(name__iexact=person.name)
    Contact.objects.filter(named, academy=academy).delete()
    Invitation.objects.filter(academy=academy, email__iexact=person.email).delete()


def _erase_log_in_if_last(person: Person) -> bool:
    if person.memberships.exists() or person.players.exists():
        return False
    for table in TABLES:
        for column, name in table.named.items():
            table.rows._base_manager.filter(**{column: person}).update(
                **{name: gettext(SOMEBODY_WHO_LEFT)}
            )
        for column in table.by_person:
            table.rows._base_manager.filter(**{column: person}).update(**{column: None})
    Invitation.objects.filter(email__iexact=person.email).delete()
    for model in (AccessAttempt, AccessFailureLog, AccessLog):
        model.objects.filter(username__iexact=person.email).delete()
    _end_sessions(person)
    for table in reversed(TABLES):
        if table.to_person and table.of == Of.PERSON:
            table.rows._base_manager.filter(leads_to(table.to_person, person)).delete()
    return True


AT_ONCE: Final = 500


def _end_sessions(person: Person) -> None:
    """Delete the sessions of the person, each of which says who it is only when it is opened."""
    for session in Session.objects.iterator(chunk_size=AT_ONCE):
        if session.get_decoded().get("_auth_user_id") == str(person.pk):
            session.delete()
