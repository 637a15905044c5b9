"""Change a working copy: one transaction and one new revision a change.

Every change names the revision it was made against. If somebody changed the plan since, it is
refused with `Stale` and nothing is written.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass

from django.db import transaction
from django.db.models import F

from seasonplan.plans.laying_out import Stale
from seasonplan.plans.models import LevelWorth, PlannedEvent, SeasonPlan
from seasonplan.science.layout.limits import limits_as_mapping
from seasonplan.science.layout.problem import Limits


@dataclass(frozen=True)
class Choice:
    """What the coach says of one event.

    `worth` None takes the usual worth of its role or level; `entry` None leaves it as it is.
    """

    role: str
    worth: int | None
    standing: str
    entry: str | None = None

    def is_plain(self) -> bool:
        """True where it says no more than that the event is a candidate."""
        return (self.role, self.worth, self.standing) == ("open", None, "free") and (
            self.entry in (None, PlannedEvent.Entry.NOT_ENTERED)
        )


@contextmanager
def changing(plan: SeasonPlan, revision: int) -> Iterator[None]:
    """One change to a working copy, made against `revision`. Raises Stale."""
    with transaction.atomic():
        taken = SeasonPlan.objects.filter(pk=plan.pk, revision=revision).update(
            revision=F("revision") + 1
        )
        if not taken:
            raise Stale
        yield
    plan.refresh_from_db()


def set_limits(plan: SeasonPlan, limits: Limits, *, revision: int) -> None:
    """Keep these limits. Raises Stale."""
    with changing(plan, revision):
        SeasonPlan.objects.filter(pk=plan.pk).update(limits=limits_as_mapping(limits))


def choose_events(plan: SeasonPlan, choices: Mapping[int, Choice], *, revision: int) -> None:
    """Keep what the coach says of these events, by event id; others stay. Raises Stale."""
    with changing(plan, revision):
        rows = {row.event_id: row for row in plan.planned_events.filter(event_id__in=choices)}
        new, changed = [], []
        for event_id, choice in choices.items():
            row = rows.get(event_id)
            if row is None:
                if not choice.is_plain():
                    new.append(_set(PlannedEvent(plan=plan, event_id=event_id), choice))
            else:
                changed.append(_set(row, choice))
        PlannedEvent.objects.bulk_create(new)
        PlannedEvent.objects.bulk_update(changed, ["role", "worth", "standing", "entry"])


def set_level_worths(plan: SeasonPlan, worths: Mapping[str, int | None], *, revision: int) -> None:
    """Keep what events of these levels are usually worth; None forgets it. Raises Stale."""
    with changing(plan, revision):
        plan.level_worths.filter(level__in=worths).delete()
        LevelWorth.objects.bulk_create(
            LevelWorth(plan=plan, level=level, worth=worth)
            for level, worth in worths.items()
            if worth is not None
        )


def _set(row: PlannedEvent, choice: Choice) -> PlannedEvent:
    row.role = choice.role
    row.worth = choice.worth
    row.standing = choice.standing
    if choice.entry is not None:
        row.entry = choice.entry
    return row
