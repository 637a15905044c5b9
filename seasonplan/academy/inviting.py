"""Invite somebody into an academy, and let them in: once, in time, as the person they are.

The secret of a link is known only while it is made: the database keeps its hash.
"""

from __future__ import annotations

import logging
from datetime import datetime

from django.core.mail import send_mail
from django.db import IntegrityError, transaction
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext as _

from seasonplan.academy.models import (
    Academy,
    Change,
    Invitation,
    Membership,
    Person,
    Player,
    Role,
    hashed,
    invitation_expiry,
)
from seasonplan.academy.recording import record, record_team

log = logging.getLogger(__name__)


class InvitationSpent(Exception):
    """Somebody has used the invitation, or its time is over."""


class PersonExists(Exception):
    """The invited email address signs in already: that person has to accept, signed in."""


class CannotJoin(Exception):
    """What stands in the way, in a sentence for the person who accepts."""


@transaction.atomic
def invite(
    *, academy: Academy, email: str, role: str, player: Player | None, invited_by: Person | None
) -> tuple[Invitation, str]:
    """Make an invitation and return it with the secret of its link.

    One that still waits for the same person in the same place is replaced.
    """
    email = email.strip().lower()
    academy.invitations.waiting().filter(email=email, role=role, player=player).delete()
    invitation = Invitation(
        academy=academy, email=email, role=role, player=player, invited_by=invited_by
    )
    token = invitation.new_token()
    invitation.full_clean()
    invitation.save()
    return invitation, token


def renew(invitation: Invitation) -> str:
    """Give the invitation a new link and a new term; the old link stops working.

    Raises InvitationSpent if somebody has used it.
    """
    token = invitation.new_token()
    invitation.expires_at = invitation_expiry()
    changed = Invitation.objects.filter(pk=invitation.pk, used_at=None).update(
        token_hash=invitation.token_hash, expires_at=invitation.expires_at
    )
    if not changed:
        raise InvitationSpent
    return token


def withdraw(invitation: Invitation) -> None:
    """Make the link unknown; whoever has joined by it stays."""
    Invitation.objects.filter(pk=invitation.pk, used_at=None).delete()


def mail_link(invitation: Invitation, link: str) -> bool:
    """Send the link to the invited address; False if the mail server would not take it."""
    context = {"invitation": invitation, "link": link}
    with translation.override(invitation.academy.language):
        subject = _("Seasonplan: invitation to %(academy)s") % {"academy": invitation.academy}
        text = render_to_string("academy/mail/invitation.txt", context)
    try:
        send_mail(subject, text, None, [invitation.email])
    except OSError:
        log.exception("the mail of invitation %s was not sent", invitation.pk)
        return False
    return True


def find_invitation(token: str) -> Invitation | None:
    """The invitation whose link carries this secret, used and expired ones included."""
    rows = Invitation.objects.select_related("academy", "player", "invited_by")
    return rows.filter(token_hash=hashed(token)).first()


@transaction.atomic
def accept_as_new(invitation: Invitation, *, name: str, password: str, now: datetime) -> Person:
    """Make the person and let them in.

    Raises InvitationSpent, PersonExists or CannotJoin, and then nothing has changed.
    """
    _use(invitation, now)
    if Person.objects.filter(email__iexact=invitation.email).exists():
        raise PersonExists
    try:
        with transaction.atomic():
            person = Person.objects.create_user(invitation.email, name, password)
            person.language = invitation.academy.language
            person.save(update_fields=["language"])
    except IntegrityError as error:
        raise PersonExists from error
    _join(invitation, person)
    return person


@transaction.atomic
def accept_as(invitation: Invitation, *, person: Person, now: datetime) -> Membership:
    """Let somebody in who signs in already.

    Raises ValueError if the invitation is another person's, InvitationSpent or CannotJoin; then
    nothing has changed.
    """
    if not is_for(invitation, person):
        raise ValueError(f"invitation {invitation.pk} is not for person {person.pk}")
    _use(invitation, now)
    return _join(invitation, person)


def is_for(invitation: Invitation, person: Person) -> bool:
    return invitation.email.lower() == person.email.lower()


def _use(invitation: Invitation, now: datetime) -> None:
    """Mark as used what is unused and in time, in one statement: of two at once one gets it."""
    open_now = Invitation.objects.filter(pk=invitation.pk, used_at=None, expires_at__gt=now)
    if not open_now.update(used_at=now):
        raise InvitationSpent


def _join(invitation: Invitation, person: Person) -> Membership:
    membership, is_new = Membership.objects.get_or_create(
        academy=invitation.academy, person=person, role=invitation.role
    )
    if is_new:
        record(
            invitation.academy,
            Change.What.ROLE,
            by=invitation.invited_by,
            person=person,
            subject=_("by invitation"),
            after=membership.get_role_display(),
        )
    player = invitation.player
    if player is None:
        return membership
    if invitation.role != Role.PLAYER:
        before = player.team.filter(pk=membership.pk)
        record_team(player, before=list(before), after=[membership], by=invitation.invited_by)
        player.team.add(membership)
        return membership
    if Player.objects.filter(academy=invitation.academy, person=person).exists():
        raise CannotJoin(
            _("You sign in for a player of %(academy)s already.") % {"academy": invitation.academy}
        )
    if not Player.objects.filter(pk=player.pk, person=None).update(person=person):
        raise CannotJoin(_("Somebody signs in for %(player)s already.") % {"player": player})
    return membership
