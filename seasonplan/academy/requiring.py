"""What an academy requires its players to share of their logs, and since when.

A player chooses freely above it. What is required counts for what is logged from then on: what a
player has kept from others before stays so.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from seasonplan.academy.models import Academy, Change, Person, Readers, RequiredSharing
from seasonplan.academy.recording import record


@dataclass(frozen=True)
class Required:
    """The fewest readers of each kind, as set at that moment (None: from the beginning)."""

    health: Readers
    notes: Readers
    since: datetime | None = None


NOTHING = Required(Readers.PLAYER, Readers.PLAYER)


@dataclass(frozen=True)
class Requirements:
    """All that an academy has required, the oldest first."""

    steps: tuple[Required, ...]

    @property
    def now(self) -> Required:
        return self.steps[-1]

    def of(self, written_at: datetime) -> Required:
        """What is required of a log written then: what was set at the time and still is."""
        then = [step for step in self.steps if step.since is None or step.since <= written_at][-1]
        return Required(min(then.health, self.now.health), min(then.notes, self.now.notes))


def requirements_of(academy: Academy) -> Requirements:
    """One query."""
    return Requirements(
        (
            NOTHING,
            *(
                Required(Readers(row.health), Readers(row.notes), row.set_at)
                for row in RequiredSharing.objects.filter(academy=academy)
            ),
        )
    )


@transaction.atomic
def require(academy: Academy, wanted: Required, *, by: Person, now: datetime) -> None:
    """Keep what is required from now on; the same as before is no change."""
    standing = requirements_of(academy).now
    if (standing.health, standing.notes) != (wanted.health, wanted.notes):
        RequiredSharing.objects.create(
            academy=academy, health=wanted.health, notes=wanted.notes, set_by=by, set_at=now
        )
    for subject, was, becomes in (
        (_("Required to share: health"), standing.health, wanted.health),
        (_("Required to share: notes"), standing.notes, wanted.notes),
    ):
        record(
            academy,
            Change.What.SETTING,
            by=by,
            subject=subject,
            before=_words(was),
            after=_words(becomes),
        )


def _words(required: Readers) -> str:
    return _("Nothing") if required == Readers.PLAYER else str(required.label)
