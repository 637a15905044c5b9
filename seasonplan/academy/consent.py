"""Whether a player may keep a health log: under the academy's age a guardian has to say yes.

Check-ins and logs ask here before they keep or show anything about health.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from django.core.mail import EmailMessage, get_connection
from django.db import transaction
from django.template.loader import render_to_string
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from seasonplan.academy.models import Change, Consent, ConsentRequest, Person, Player, Role
from seasonplan.academy.recording import record
from seasonplan.academy.speaking import speaking_to

log = logging.getLogger(__name__)

HEALTH_LOGS = gettext_lazy("Health logs")
SAID_YES = gettext_lazy("Consent")

Asked = Literal["asked", "asked before", "nobody to ask", "not sent"]


@dataclass(frozen=True)
class ConsentStanding:
    """`needed` where the player is under the academy's age, or nobody knows the birth date."""

    needed: bool
    age_known: bool
    consent: Consent | None

    @property
    def allows(self) -> bool:
        """Health logs may be kept, and read by those who work with the player."""
        return not self.needed or self.consent is not None


def consent_standing(player: Player, *, today: date) -> ConsentStanding:
    """How it stands today; at most one query beside the player's academy."""
    return standing_of(player, player.consents.filter(withdrawn_at=None), today=today)


def standing_of(player: Player, consents: Iterable[Consent], *, today: date) -> ConsentStanding:
    """The same from the player's consents that are not withdrawn, looked at only where needed."""
    age = player.age_on(today)
    needed = age is None or age < player.academy.consent_age
    consent = next(iter(consents), None) if needed else None
    return ConsentStanding(needed=needed, age_known=age is not None, consent=consent)


def guardians_of(player: Player) -> list[Person]:
    """The guardians on the player's team; any one of them may give consent or take it back."""
    people = Person.objects.filter(
        memberships__players=player, memberships__role=Role.GUARDIAN, is_active=True
    )
    return list(people.order_by("name", "pk").distinct())


@transaction.atomic
def give_consent(player: Player, *, by: Person, now: datetime) -> Consent:
    """Keep a guardian's yes; one that stands already stays as it is."""
    consent, is_new = Consent.objects.get_or_create(
        player=player, withdrawn_at=None, defaults={"given_by": by, "given_at": now}
    )
    if is_new:
        record(
            player.academy_id,
            Change.What.CONSENT,
            by=by,
            player=player,
            subject=str(HEALTH_LOGS),
            after=str(SAID_YES),
        )
    return consent


@transaction.atomic
def withdraw_consent(player: Player, *, by: Person, now: datetime) -> None:
    """End the consent that stands, if one does; what was logged stays, for the player alone."""
    if player.consents.filter(withdrawn_at=None).update(withdrawn_by=by, withdrawn_at=now):
        record(
            player.academy_id,
            Change.What.CONSENT,
            by=by,
            player=player,
            subject=str(HEALTH_LOGS),
            before=str(SAID_YES),
            after=_("Taken back"),
        )


def ask_guardians(player: Player, *, by: Person, link: str, now: datetime) -> Asked:
    """Mail the guardians the address of the page on which they decide, once a day (UTC).

    The mail names the player and nothing about health. What the mail server would not take does
    not count as asked.
    """
    guardians = guardians_of(player)
    if not guardians:
        return "nobody to ask"
    request, is_new = ConsentRequest.objects.get_or_create(
        player=player, day=now.date(), defaults={"asked_by": by}
    )
    if not is_new:
        return "asked before"
    try:
        _mail(player, guardians, link)
    except OSError:
        log.exception("the guardians of player %s were not asked by mail", player.pk)
        request.delete()
        return "not sent"
    return "asked"


def _mail(player: Player, guardians: list[Person], link: str) -> None:
    """One mail each, so that no guardian learns another's address."""
    get_connection().send_messages([_mail_to(guardian, player, link) for guardian in guardians])


def _mail_to(guardian: Person, player: Player, link: str) -> EmailMessage:
    context = {"player": player, "guardian": guardian, "link": link}
    with speaking_to(guardian):
        return EmailMessage(
            _("Seasonplan: a question about %(player)s") % {"player": player},
            render_to_string("academy/mail/consent.txt", context),
            to=[guardian.email],
        )
