"""Every change of a working copy as one recorded step; undo, redo, and two coaches at once.

What a plan says is a `State`: one value a thing, under a name that tells what it is.

| thing                | value                                                       |
|----------------------|-------------------------------------------------------------|
| `event:7`            | role, worth, standing, entry, and whether it is in the plan |
| `from:2027-03-01`    | the phase that begins in this week; "" where none does      |
| `limit:max_run`      | a limit that differs from its default                       |
| `level:regional`     | the worth of a level                                        |
| `name`, `layout`     | the plan's name; what the last layout said                  |
| `decision:...`       | a decision carried over from the season before              |

A thing that the plan does not speak of is not there. A step keeps, for each thing that it changed,
the value before and after, in the same transaction as the change. So the plan is the replay of its
steps, and a change that was made against an older plan is applied to the newer one if the things
that it touches are still as they were.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import Any

from django.db import transaction
from django.db.models import (
    Case,
    CharField,
    DateField,
    Field,
    PositiveSmallIntegerField,
    Q,
    Value,
    When,
)
from django.utils.translation import gettext as _

from seasonplan.academy.models import Person
from seasonplan.plans.models import (
    Block,
    CarriedOver,
    LevelWorth,
    PlannedEvent,
    SeasonPlan,
    Step,
)

State = dict[str, Any]
Changes = dict[str, list[Any]]

LAYOUT_FIELDS = (
    "laid_out_at",
    "layout_fingerprint",
    "layout_value",
    "layout_status",
    "layout_bound",
    "layout_seconds",
)
EVENT_FIELDS = ("role", "worth", "standing", "played", "entry")
PLAIN = {
    "role": "open",
    "worth": None,
    "standing": "free",
    "played": False,
    "entry": "not entered",
}
DECISION_FIELDS = (
    "text",
    "kind",
    "subject",
    "event_id",
    "value",
    "before",
    "origin",
    "why_path",
    "taken_back",
)


class Stale(Exception):
    """The plan was changed by somebody else since it was read."""


@dataclass(frozen=True)
class Clash:
    """One thing that two people changed: as both found it, as the other left it, as I want it."""

    thing: str
    then: Any
    theirs: Any
    mine: Any
    who: str
    at: datetime


class Conflict(Stale):
    """The change touches what somebody else changed since; both versions of each thing."""

    def __init__(self, clashes: Sequence[Clash]) -> None:
        super().__init__()
        self.clashes = tuple(clashes)


class NothingThere(Exception):
    """There is no step to undo or to redo."""


@dataclass(frozen=True)
class Edit:
    """A change to record: its name in words, and the new value of each thing (None: no longer).

    `reads` are things that the change rests on without changing them.
    """

    title: str
    after: Mapping[str, Any]
    reads: frozenset[str] = field(default_factory=frozenset)


# What a plan says --------------------------------------------------------------------------------


def event_thing(event_id: int) -> str:
    return f"event:{event_id}"


def week_thing(monday: date) -> str:
    return f"from:{monday.isoformat()}"


def said_of_event(row: PlannedEvent) -> dict[str, Any] | None:
    """The value of an event's thing; None where the event is a plain candidate."""
    value = {name: getattr(row, name) for name in EVENT_FIELDS}
    return None if value == PLAIN else value


def beginnings(plan: SeasonPlan, blocks: Iterable[Block]) -> dict[str, str]:
    """The weeks in which a phase begins, with the phase; "" where weeks without one begin."""
    found: dict[str, str] = {}
    free_from = plan.start
    for block in sorted(blocks, key=lambda block: block.start):
        if found and block.start > free_from:
            found[week_thing(free_from)] = ""
        found[week_thing(block.start)] = block.phase
        free_from = block.start + timedelta(weeks=block.weeks)
    if found and free_from <= plan.end:
        found[week_thing(free_from)] = ""
    return found


def blocks_in(state: Mapping[str, Any], plan: SeasonPlan) -> list[Block]:
    """The blocks that a state says, unsaved, in order; the last one ends with the season."""
    starts = sorted(
        (date.fromisoformat(thing.removeprefix("from:")), phase)
        for thing, phase in state.items()
        if thing.startswith("from:")
    )
    ends = pairwise([*(start for start, _ in starts), plan.end + timedelta(days=1)])
    return [
        Block(plan=plan, phase=phase, start=start, weeks=(end - start).days // 7)
        for (_, phase), (start, end) in zip(starts, ends, strict=True)
        if phase
    ]


def state_from(
    plan: SeasonPlan,
    *,
    planned: Iterable[PlannedEvent],
    blocks: Iterable[Block],
    levels: Mapping[str, int],
    decisions: Iterable[CarriedOver] = (),
) -> State:
    """What the plan's rows say, as one value a thing. Makes no query."""
    state: State = {"name": plan.name}
    if plan.layout_status:
        layout = {name: getattr(plan, name) for name in LAYOUT_FIELDS}
        at = plan.laid_out_at
        state["layout"] = layout | {"laid_out_at": at.isoformat() if at else None}
    state.update({f"limit:{name}": value for name, value in plan.limits.items()})
    for row in planned:
        if (value := said_of_event(row)) is not None:
            state[event_thing(row.event_id)] = value
    state.update(beginnings(plan, blocks))
    state.update({f"level:{level}": worth for level, worth in levels.items()})
    for decision in decisions:
        state[f"decision:{decision.source}"] = {
            name: getattr(decision, name) for name in DECISION_FIELDS
        }
    return state


def read_state(plan: SeasonPlan) -> State:
    """The same, read from the database."""
    return state_from(
        plan,
        planned=PlannedEvent.objects.filter(plan=plan),
        blocks=Block.objects.filter(plan=plan),
        levels=dict(LevelWorth.objects.filter(plan=plan).values_list("level", "worth")),
        decisions=CarriedOver.objects.filter(plan=plan),
    )


def with_changes(state: Mapping[str, Any], after: Mapping[str, Any]) -> State:
    """A state in which these things have these values; None takes a thing out."""
    changed = {thing: value for thing, value in state.items() if thing not in after}
    changed.update({thing: value for thing, value in after.items() if value is not None})
    return changed


def replay(plan: SeasonPlan) -> State:
    """What the plan must say after all its steps, from nothing."""
    state: State = {}
    for step in plan.steps.order_by("number"):
        state = with_changes(state, {thing: after for thing, (_, after) in step.changes.items()})
    return state


# Recording ---------------------------------------------------------------------------------------


def lock(plan: SeasonPlan) -> None:
    """Read the plan's row anew and hold it until the transaction is over."""
    rows = SeasonPlan.objects.select_for_update(of=("self",)).select_related("head")
    plan.refresh_from_db(from_queryset=rows)


def record(
    plan: SeasonPlan,
    edit: Edit,
    *,
    revision: int,
    by: Person | None,
    state: State | None = None,
    on_top: bool = True,
) -> Step | None:
    """Make a change and record it; None where everything is already so.

    `revision` is the plan that the change was made against. If the plan has moved on, the change
    goes on top of the newer plan as long as it touches nothing that is different there; else
    Conflict is raised, or Stale if what happened since is not known or `on_top` is false.
    `state` is what the plan says now, for a caller who has locked and read it in a transaction.
    """
    with _locked(plan, state) as now:
        if plan.revision != revision:
            if not on_top:
                raise Stale
            refuse_clashes(plan, now, edit, revision=revision)
        changes = changes_between(now, edit.after)
        if not changes:
            return None
        _begin(plan)
        step = Step(
            plan=plan,
            number=plan.revision + 1,
            kind=Step.Kind.EDIT,
            who=by,
            title=edit.title[:200],
            changes=changes,
            parent=plan.head,
        )
        step.save(force_insert=True)
        _write(plan, now, changes, head=step, revision=step.number)
        return step


@contextmanager
def _locked(plan: SeasonPlan, state: State | None) -> Iterator[State]:
    """The plan's state within a transaction; who brings one along has opened it themselves."""
    if state is not None:
        yield state
        return
    with transaction.atomic():
        lock(plan)
        yield read_state(plan)


@contextmanager
def recording(plan: SeasonPlan, *, revision: int, by: Person | None, title: str) -> Iterator[None]:
    """Record as one step whatever the body writes into the plan's rows. Raises Stale."""
    with transaction.atomic():
        lock(plan)
        if plan.revision != revision:
            raise Stale
        before = read_state(plan)
        _begin(plan)
        yield
        plan.refresh_from_db()
        now = read_state(plan)
        changes = changes_between(before, {t: now.get(t) for t in before.keys() | now.keys()})
        step = Step(
            plan=plan,
            number=plan.revision + 1,
            kind=Step.Kind.EDIT,
            who=by,
            title=title[:200],
            changes=changes,
            parent=plan.head,
        )
        step.save(force_insert=True)
        _move_on(plan, head=step, revision=step.number)


def changes_between(state: Mapping[str, Any], after: Mapping[str, Any]) -> Changes:
    """Of these new values, those that are new, each with the value before."""
    return {
        thing: [state.get(thing), value]
        for thing, value in sorted(after.items())
        if state.get(thing) != value
    }


def _begin(plan: SeasonPlan) -> None:
    """Before anything is written for the first step: write down what there is."""
    if plan.head_id is not None:
        return
    state = read_state(plan)
    plan.head = Step.objects.create(
        plan=plan,
        number=plan.revision,
        kind=Step.Kind.BEGIN,
        title=_("Started as a copy") if plan.based_on_id else _("Started"),
        changes={thing: [None, value] for thing, value in sorted(state.items())},
    )
    plan.save(update_fields=["head"])


# Two at once -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Since:
    """What happened after a revision: the things that differ now, as they were then, and who."""

    then: Mapping[str, Any]
    last: Mapping[str, Step]


def since(plan: SeasonPlan, state: Mapping[str, Any], revision: int) -> Since:
    """What is different now from the plan at `revision`. Raises Stale where that is not known."""
    if not 1 <= revision <= plan.revision:
        raise Stale
    if revision == plan.revision:
        return Since({}, {})
    steps = list(plan.steps.filter(number__gt=revision).select_related("who").order_by("number"))
    if [step.number for step in steps] != list(range(revision + 1, plan.revision + 1)):
        raise Stale
    then: dict[str, Any] = {}
    last: dict[str, Step] = {}
    for step in steps:
        for thing, (before, _after) in step.changes.items():
            then.setdefault(thing, before)
            last[thing] = step
    differ = {thing: value for thing, value in then.items() if state.get(thing) != value}
    return Since(differ, {thing: last[thing] for thing in differ})


def refuse_clashes(
    plan: SeasonPlan, state: Mapping[str, Any], edit: Edit, *, revision: int
) -> None:
    """Raise Conflict where the change touches what is different from the plan at `revision`."""
    past = since(plan, state, revision)
    touched = {t for t, value in edit.after.items() if state.get(t) != value} | edit.reads
    clashes = [
        Clash(
            thing=thing,
            then=past.then[thing],
            theirs=state.get(thing),
            mine=edit.after[thing] if thing in edit.after else past.then[thing],
            who=_name(past.last[thing].who),
            at=past.last[thing].at,
        )
        for thing in sorted(touched & past.then.keys())
    ]
    if clashes:
        raise Conflict(clashes)


def _name(person: Person | None) -> str:
    return person.name if person else ""


# Undo and redo -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Reach:
    """The step that can be undone and the one that can be done again, where there is one."""

    undo: Step | None
    redo: Step | None


def reach(plan: SeasonPlan) -> Reach:
    """What undo and redo would do now."""
    head = plan.head
    if head is None:
        return Reach(None, None)
    return Reach(head if head.kind == Step.Kind.EDIT else None, _child(head))


def _child(head: Step) -> Step | None:
    return head.children.order_by("-number").first()


def undo(
    plan: SeasonPlan, number: int, *, by: Person | None, state: State | None = None
) -> tuple[Step, Reach]:
    """Take the last step back, if it is still the one of this number; what can be done then.

    Raises NothingThere, and Stale where another step came after it.
    """
    with _locked(plan, state) as now:
        head = plan.head
        if head is None or head.kind != Step.Kind.EDIT:
            raise NothingThere
        if head.number != number:
            raise Stale
        parent = head.parent
        back: Changes = {thing: [after, before] for thing, (before, after) in head.changes.items()}
        _repeat(plan, now, head, back, kind=Step.Kind.UNDO, by=by, head=parent)
        return head, Reach(parent if parent and parent.kind == Step.Kind.EDIT else None, head)


def redo(
    plan: SeasonPlan, number: int, *, by: Person | None, state: State | None = None
) -> tuple[Step, Reach]:
    """Make the step that was undone last once more, if it has this number; what can be done then.

    Raises NothingThere, and Stale where another step came instead.
    """
    with _locked(plan, state) as now:
        step, following = _next_two(plan)
        if step is None:
            raise NothingThere
        if step.number != number:
            raise Stale
        _repeat(plan, now, step, dict(step.changes), kind=Step.Kind.REDO, by=by, head=step)
        return step, Reach(step, following)


def _next_two(plan: SeasonPlan) -> tuple[Step | None, Step | None]:
    """What redo does now, and what it would do after that, in one query."""
    rows = plan.steps.filter(Q(parent=plan.head_id) | Q(parent__parent=plan.head_id))
    found = list(rows.order_by("-number")) if plan.head_id else []
    step = next((s for s in found if s.parent_id == plan.head_id), None)
    return step, next((s for s in found if step and s.parent_id == step.pk), None)


def _repeat(
    plan: SeasonPlan,
    state: State,
    of: Step,
    changes: Changes,
    *,
    kind: Step.Kind,
    by: Person | None,
    head: Step | None,
) -> None:
    title = _("Undid: %(step)s") if kind == Step.Kind.UNDO else _("Did again: %(step)s")
    Step(
        plan=plan,
        number=plan.revision + 1,
        kind=kind,
        who=by,
        title=(title % {"step": of.title})[:200],
        changes=changes,
        of=of,
    ).save(force_insert=True)
    _write(plan, state, changes, head=head, revision=plan.revision + 1)


# Writing -----------------------------------------------------------------------------------------


def _write(
    plan: SeasonPlan, state: State, changes: Changes, *, head: Step | None, revision: int
) -> None:
    """Bring the plan's rows from `state` to what the changes say."""
    after = with_changes(state, {thing: new for thing, (_, new) in changes.items()})
    _write_events(plan, changes)
    if any(thing.startswith("from:") for thing in changes):
        _write_blocks(plan, state, after)
    _write_levels(plan, changes)
    _write_decisions(plan, changes)
    say(plan, after)
    _move_on(plan, head=head, revision=revision, also=("name", "limits", *LAYOUT_FIELDS))


def say(plan: SeasonPlan, state: Mapping[str, Any]) -> None:
    """Set the plan's own fields, unsaved, to what a state says."""
    plan.name = state["name"]
    plan.limits = {
        thing.removeprefix("limit:"): value
        for thing, value in state.items()
        if thing.startswith("limit:")
    }
    layout = state.get("layout")
    at = layout and layout["laid_out_at"]
    plan.laid_out_at = datetime.fromisoformat(at) if at else None
    plan.layout_fingerprint = layout["layout_fingerprint"] if layout else ""
    plan.layout_status = layout["layout_status"] if layout else ""
    for name in ("layout_value", "layout_bound", "layout_seconds"):
        setattr(plan, name, layout[name] if layout else None)


def _move_on(
    plan: SeasonPlan, *, head: Step | None, revision: int, also: Sequence[str] = ()
) -> None:
    plan.head, plan.revision = head, revision
    plan.save(update_fields=["head", "revision", *also])


def _of_kind(changes: Changes, kind: str) -> dict[str, Any]:
    return {
        thing.removeprefix(kind): after
        for thing, (_, after) in changes.items()
        if thing.startswith(kind)
    }


def _write_events(plan: SeasonPlan, changes: Changes) -> None:
    rows = [
        PlannedEvent(plan=plan, event_id=int(event_id), **(value or PLAIN))
        for event_id, value in _of_kind(changes, "event:").items()
    ]
    if rows:
        PlannedEvent.objects.bulk_create(
            rows,
            update_conflicts=True,
            unique_fields=["plan", "event"],
            update_fields=list(EVENT_FIELDS),
        )


def _write_blocks(plan: SeasonPlan, state: State, after: State) -> None:
    before = {block.start: (block.phase, block.weeks) for block in blocks_in(state, plan)}
    wanted = blocks_in(after, plan)
    gone = before.keys() - {block.start for block in wanted}
    new = [block for block in wanted if before.get(block.start) != (block.phase, block.weeks)]
    added = [block for block in new if block.start not in before]
    if len(gone) == len(added) == 1:
        # An edge that moved: one statement for the two blocks beside it.
        [old], [moved] = gone, added
        _update_blocks(plan, {old if block is moved else block.start: block for block in new})
        return
    if gone:
        Block.objects.filter(plan=plan, start__in=gone).delete()
    if new:
        Block.objects.bulk_create(
            new,
            update_conflicts=True,
            unique_fields=["plan", "start"],
            update_fields=["phase", "weeks"],
        )


def _update_blocks(plan: SeasonPlan, by_start: Mapping[date, Block]) -> None:
    """Make the blocks that begin on these days those beside them."""
    fields: dict[str, Field[Any, Any]] = {
        "phase": CharField(),
        "start": DateField(),
        "weeks": PositiveSmallIntegerField(),
    }
    new = {
        name: Case(
            *(
                When(start=start, then=Value(getattr(block, name)))
                for start, block in by_start.items()
            ),
            output_field=kind,
        )
        for name, kind in fields.items()
    }
    Block.objects.filter(plan=plan, start__in=by_start).update(**new)


def _write_levels(plan: SeasonPlan, changes: Changes) -> None:
    levels = _of_kind(changes, "level:")
    gone = [level for level, worth in levels.items() if worth is None]
    if gone:
        LevelWorth.objects.filter(plan=plan, level__in=gone).delete()
    rows = [
        LevelWorth(plan=plan, level=level, worth=worth)
        for level, worth in levels.items()
        if worth is not None
    ]
    if rows:
        LevelWorth.objects.bulk_create(
            rows, update_conflicts=True, unique_fields=["plan", "level"], update_fields=["worth"]
        )


def _write_decisions(plan: SeasonPlan, changes: Changes) -> None:
    for source, value in _of_kind(changes, "decision:").items():
        if value is None:
            CarriedOver.objects.filter(plan=plan, source=source).delete()
        else:
            CarriedOver.objects.update_or_create(plan=plan, source=source, defaults=value)
