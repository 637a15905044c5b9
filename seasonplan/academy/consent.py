"""Whether a player may keep a health log: under the academy's age a guardian has to say yes.

Check-ins and logs ask here before they keep or show anything about health.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from seasonplan.academy.models import Consent, Person, Player, Role


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
    age = player.age_on(today)
    needed = age is None or age < player.academy.consent_age
    consent = player.consents.filter(withdrawn_at=None).first() if needed else None
    return ConsentStanding(needed=needed, age_known=age is not None, consent=consent)


def guardians_of(player: Player) -> list[Person]:
    """The guardians on the player's team; any one of them may give consent or take it back."""
    people = Person.objects.filter(
        memberships__players=player, memberships__role=Role.GUARDIAN, is_active=True
    )
    return list(people.order_by("name", "pk").distinct())


def give_consent(player: Player, *, by: Person, now: datetime) -> Consent:
    """Keep a guardian's yes; one that stands already stays as it is."""
    consent, _ = Consent.objects.get_or_create(
        player=player, withdrawn_at=None, defaults={"given_by": by, "given_at": now}
    )
    return consent


def withdraw_consent(player: Player, *, by: Person, now: datetime) -> None:
    """End the consent that stands, if one does; what was logged stays, for the player alone."""
    player.consents.filter(withdrawn_at=None).update(withdrawn_by=by, withdrawn_at=now)
