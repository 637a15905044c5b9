"""Carry what was decided after one season into the plan of the next, and take it back.

Whoever looks back on a season says what was decided as `Carry`; a working copy takes it, keeps a
row of each with the page that says why, and sets the limit, the target or the worth. Carrying the
same again changes nothing, and what a coach took back in the plan stays taken back until they set
it again there. A plan in force is never touched.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from seasonplan.academy.models import Person
from seasonplan.events.models import Event
from seasonplan.plans.history import recording
from seasonplan.plans.models import (
    CarriedOver,
    EventRole,
    LevelWorth,
    PlannedEvent,
    SeasonPlan,
)
from seasonplan.science.layout.limits import limits_as_mapping, limits_from

Kind = CarriedOver.Kind


@dataclass(frozen=True)
class Carry:
    """One decision to carry over.

    `subject` is the name of a limit or a level, `event` the event of a target or an event's worth
    (None while the calendar does not have it yet), `value` the limit as `limits_from` reads it or
    a worth from 0 to 100; a target without a worth has None. `source` names the decision for good.
    """

    source: str
    text: str
    kind: str
    origin: str
    why_path: str
    subject: str = ""
    event: Event | None = None
    value: Any = None


@dataclass(frozen=True)
class Carried:
    """What carrying over did: how many decisions it set or noted, took back, and left waiting."""

    set: int
    taken_back: int
    waiting: int

    @property
    def changed(self) -> int:
        return self.set + self.taken_back


def carry_over(
    plan: SeasonPlan,
    carries: Sequence[Carry],
    *,
    withdrawn: Collection[str] = (),
    by: Person | None = None,
) -> Carried:
    """Bring a working copy up to these decisions; `withdrawn` sources are taken back in it.

    Raises Stale if the plan was changed since it was read, and LimitsError for a limit that cannot
    be. Where nothing is new the plan stays as it is, its revision too.
    """
    rows = {row.source: row for row in plan.carried_over.all()}
    new = [carry for carry in carries if _differs(rows.get(carry.source), carry)]
    back = [row for source, row in rows.items() if source in set(withdrawn) and not row.taken_back]
    waiting = sum(_waits(carry) for carry in carries)
    if new or back:
        count = len(new) + len(back)
        title = ngettext(
            "Carried over %(count)d decision of the season before",
            "Carried over %(count)d decisions of the season before",
            count,
        ) % {"count": count}
        with recording(plan, revision=plan.revision, by=by, title=title):
            for row in back:
                _undo(plan, row)
                row.taken_back = True
                row.save()
            for carry in new:
                _carry(plan, rows.get(carry.source), carry)
    return Carried(set=len(new), taken_back=len(back), waiting=waiting)


def take_back(plan: SeasonPlan, row: CarriedOver, *, by: Person | None = None) -> None:
    """Put back what stood before, unless the coach has changed it since; the row stays, marked.

    Raises Stale.
    """
    if row.taken_back:
        return
    title = _("Took back: %(decision)s") % {"decision": row.text}
    with recording(plan, revision=plan.revision, by=by, title=title):
        _undo(plan, row)
        row.taken_back = True
        row.save()


def set_again(plan: SeasonPlan, row: CarriedOver, *, by: Person | None = None) -> None:
    """Set what was taken back once more. Raises Stale."""
    if not row.taken_back:
        return
    title = _("Set again: %(decision)s") % {"decision": row.text}
    with recording(plan, revision=plan.revision, by=by, title=title):
        row.taken_back = False
        row.before = _set(plan, row)
        row.save()


def value_now(
    row: CarriedOver,
    limits: dict[str, Any],
    planned: dict[int, PlannedEvent],
    levels: dict[str, int],
) -> object:
    """What stands in the plan now where this row set something, in the form of `_set_by`."""
    if row.kind == Kind.LIMIT:
        return _as_kept(getattr(limits_from(limits), row.subject))
    if row.kind == Kind.LEVEL_WORTH:
        return levels.get(row.subject)
    if row.event_id is None or row.kind == Kind.NOTE:
        return None
    found = planned.get(row.event_id)
    if row.kind == Kind.EVENT_WORTH:
        return found.worth if found else None
    role = found.role if found else EventRole.OPEN
    return [role, found.worth if found else None] if row.value is not None else [role]


def set_by(row: CarriedOver) -> object:
    """What the row sets, to be compared with `value_now`."""
    if row.kind == Kind.TARGET:
        return [EventRole.TARGET] if row.value is None else [EventRole.TARGET, row.value]
    return _as_kept(row.value)


def _waits(carry: Carry) -> bool:
    return carry.kind in (Kind.TARGET, Kind.EVENT_WORTH) and carry.event is None


def _differs(row: CarriedOver | None, carry: Carry) -> bool:
    if row is None:
        return True
    if row.taken_back:
        return False
    event_id = carry.event.pk if carry.event else None
    return (row.text, row.kind, row.subject, row.event_id, _as_kept(row.value)) != (
        carry.text,
        carry.kind,
        carry.subject,
        event_id,
        _as_kept(carry.value),
    )


def _carry(plan: SeasonPlan, row: CarriedOver | None, carry: Carry) -> None:
    if row is None:
        row = CarriedOver(plan=plan, source=carry.source)
    else:
        _undo(plan, row)
    row.text, row.kind, row.subject = carry.text, carry.kind, carry.subject
    row.event, row.value = carry.event, carry.value
    row.origin, row.why_path = carry.origin, carry.why_path
    row.before = _set(plan, row)
    row.full_clean(exclude=["plan", "event"], validate_unique=False)
    row.save()


def _set(plan: SeasonPlan, row: CarriedOver) -> Any:
    """Set what the row says; return what stood there."""
    before: Any = None
    value: Any = row.value
    if row.kind == Kind.LIMIT:
        before = plan.limits.get(row.subject)
        _keep_limits(plan, {**plan.limits, row.subject: value})
    elif row.kind == Kind.LEVEL_WORTH:
        kept = plan.level_worths.filter(level=row.subject).first()
        before = kept.worth if kept else None
        LevelWorth.objects.update_or_create(plan=plan, level=row.subject, defaults={"worth": value})
    elif row.kind in (Kind.TARGET, Kind.EVENT_WORTH) and row.event_id:
        planned = plan.planned_events.filter(event_id=row.event_id).first() or PlannedEvent(
            plan=plan, event_id=row.event_id
        )
        before = {"role": planned.role, "worth": planned.worth}
        if row.kind == Kind.TARGET:
            planned.role = EventRole.TARGET
        if row.value is not None:
            planned.worth = value
        planned.save()
    return before


def _undo(plan: SeasonPlan, row: CarriedOver) -> None:
    """Put back what stood before the row, where what it set still stands."""
    before: Any = row.before
    planned = {p.event_id: p for p in plan.planned_events.all() if p.event_id == row.event_id}
    levels = {level.level: level.worth for level in plan.level_worths.all()}
    if row.kind == Kind.NOTE or value_now(row, plan.limits, planned, levels) != set_by(row):
        return
    if row.kind == Kind.LIMIT:
        limits = {name: value for name, value in plan.limits.items() if name != row.subject}
        if before is not None:
            limits[row.subject] = before
        _keep_limits(plan, limits)
    elif row.kind == Kind.LEVEL_WORTH:
        plan.level_worths.filter(level=row.subject).delete()
        if before is not None:
            LevelWorth.objects.create(plan=plan, level=row.subject, worth=before)
    elif row.event_id in planned and isinstance(before, dict):
        found = planned[row.event_id]
        if row.kind == Kind.TARGET:
            found.role = before["role"]
        if row.value is not None:
            found.worth = before["worth"]
        found.save()


def _keep_limits(plan: SeasonPlan, limits: dict[str, Any]) -> None:
    plan.limits = limits_as_mapping(limits_from(limits))
    SeasonPlan.objects.filter(pk=plan.pk).update(limits=plan.limits)


def _as_kept(value: object) -> object:
    """A value as the database gives it back: a range is a list there."""
    return list(value) if isinstance(value, tuple) else value
