"""Re-plan a season from a day on: what is past stays, the rest is laid out anew.

The page of re-planning asks. `propose` writes nothing: its answer goes to the page signed, and
comes back when the coach accepts it. It is judged again then, on the plan, the calendar and the
busy days as they are by that time, and written only if it is still what was shown: into a working
copy as one step of its history, or, where the plan is in force, into a new working copy of it.

How many changes a new layout makes is up to `change_weight`: what each event costs that joins or
leaves. It counts against the plan at hand, which for what has begun is the plan in force.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import copy
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any, Final

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _

from seasonplan.academy.models import Person
from seasonplan.plans import offered
from seasonplan.plans.history import Edit, Stale, changes_between, lock, record, with_changes
from seasonplan.plans.laying_out import (
    Material,
    code_of,
    fingerprint,
    gather,
    material_at,
    problem_from,
    science_blocks,
    state_of,
    things_laid_out,
)
from seasonplan.plans.models import Block, BusyTime, PlannedEvent, SeasonPlan
from seasonplan.plans.standing import copy_plan
from seasonplan.science.layout import problem as science
from seasonplan.science.layout.rules import Judgement, judge
from seasonplan.science.layout.solver import lay_out
from seasonplan.science.weeks import season_weeks
from seasonplan.science.words import N_, day_month

SALT: Final = "seasonplan.plans.replanning"

MOST_WEIGHT: Final = 100
"""What the slider reaches: no event is worth more, so that none joins or leaves for value alone."""

WHY_BUSY: Final = N_("Not available")
"""What the team reads of the days out. Not why: a player's health is not for all of them."""


@dataclass(frozen=True)
class Asked:
    """What the coach says: from which day, why, and what a change costs.

    The player is out from `day` to `out_until`, both included. `wild_card` and `not_accepted` are
    ids of events that begin on `day` or later. `weight` is in units of value an event, 0 to 100.
    """

    day: date
    weight: int
    out_until: date | None = None
    wild_card: int | None = None
    not_accepted: int | None = None


@dataclass(frozen=True)
class Proposal:
    """A season laid out anew, in the judge's figures; `value` is less what the changes cost."""

    revision: int
    asked: Asked
    events: tuple[str, ...]
    blocks: tuple[science.Block, ...]
    breaks: float
    value: float
    status: str
    bound: float
    seconds: float


@dataclass(frozen=True)
class Accepted:
    """Where a proposal was written. `made_copy`: into a new working copy; `changed`: the plan
    itself is different now; `busy`: the days out were added to the player's busy days."""

    plan: SeasonPlan
    made_copy: bool
    changed: bool
    busy: bool


# The question -------------------------------------------------------------------------------------


def first_day(plan: SeasonPlan, today: date) -> date:
    """The first day from which a plan can be laid out anew: what was before has happened."""
    return max(today, plan.start)


def question(material: Material, asked: Asked, *, today: date) -> science.Problem:
    """The problem of the season from `asked.day` on, with all reasons in it. Raises NoHomeBase."""
    based = with_reasons(as_it_went(material, today=today), asked)
    # Changes count against the plan at hand, as if it were in force, whatever its standing.
    plan = copy(based.plan)
    plan.standing = SeasonPlan.Standing.IN_FORCE
    problem = problem_from(replace(based, plan=plan, in_force=None), today=asked.day)
    if problem.in_force is None:  # from the season's first day on, when nothing is past
        now = science.InForce(
            tuple(code_of(event.pk) for event in based.played), science_blocks(based.blocks)
        )
        problem = replace(problem, today=asked.day, in_force=now)
    return replace(problem, limits=replace(problem.limits, change_weight=asked.weight))


def as_it_went(material: Material, *, today: date) -> Material:
    """The plan with its past as the plan in force has it: the events that began before today, and
    the blocks of the weeks before this one."""
    plan, in_force = material.plan, material.in_force
    if in_force is None or today <= plan.start:
        return material
    played = {row.event_id for row in in_force.planned_events.all() if row.played}
    planned = dict(material.planned)
    for event in material.events:
        row = planned.get(event.pk) or PlannedEvent(event_id=event.pk)
        if event.start < today and row.played != (event.pk in played):
            planned[event.pk] = row = copy(row)
            row.played = event.pk in played
    blocks = tuple(_joined(plan, tuple(in_force.blocks.all()), material.blocks, today=today))
    return replace(material, planned=planned, blocks=blocks)


def _joined(
    plan: SeasonPlan, past: tuple[Block, ...], to_come: tuple[Block, ...], *, today: date
) -> Iterator[Block]:
    """The blocks of the weeks that are over, and those of the others."""
    row: Block | None = None
    for week in season_weeks(plan.start, plan.end):
        phase = _phase(past if week.end < today else to_come, week.start)
        if row is not None and row.phase == phase:
            row.weeks += 1
            continue
        if row is not None:
            yield row
        row = Block(plan=plan, phase=phase, start=week.start, weeks=1) if phase else None
    if row is not None:
        yield row


def _phase(blocks: tuple[Block, ...], monday: date) -> str:
    return next(
        (b.phase for b in blocks if b.start <= monday < b.start + timedelta(weeks=b.weeks)), ""
    )


def with_reasons(material: Material, asked: Asked) -> Material:
    """The plan in which the reasons hold, its events where they were: a wild card is pinned in and
    accepted, an event that did not accept the player is ruled out, and the days out are busy."""
    planned = dict(material.planned)
    for event_id, standing, entry in (
        (asked.wild_card, PlannedEvent.Standing.PINNED, PlannedEvent.Entry.ACCEPTED),
        (asked.not_accepted, PlannedEvent.Standing.RULED_OUT, PlannedEvent.Entry.NOT_ENTERED),
    ):
        if event_id is not None:
            row = copy(planned.get(event_id)) or PlannedEvent(event_id=event_id)
            row.standing, row.entry = standing.value, entry.value
            planned[event_id] = row
    out = days_out(material, asked)
    busy = sorted((*material.busy, out), key=lambda b: (b.start, b.end)) if out else material.busy
    return replace(material, planned=planned, busy=tuple(busy))


def days_out(material: Material, asked: Asked) -> BusyTime | None:
    """The busy days that the reasons add, unsaved; None where they are busy already."""
    if asked.out_until is None:
        return None
    first, last = asked.day, asked.out_until
    if any(busy.start <= first and last <= busy.end for busy in material.busy):
        return None
    return BusyTime(player_id=material.plan.player_id, start=first, end=last, why=_(WHY_BUSY))


# The answer ---------------------------------------------------------------------------------------


def propose(
    material: Material, asked: Asked, *, today: date, seconds: float | None = None
) -> Proposal:
    """Lay out anew what is not past, in at most about `seconds` (the LAYOUT_SECONDS setting if
    None). Writes nothing. Raises NoHomeBase, and the solver's Impossible."""
    problem = question(material, asked, today=today)
    now = tuple(code_of(event.pk) for event in material.played)
    layout = lay_out(
        problem, seconds=settings.LAYOUT_SECONDS if seconds is None else seconds, start=now
    )
    events, blocks = _calmest(problem, (layout.events, layout.blocks), layout.judgement)
    return Proposal(
        revision=material.plan.revision,
        asked=asked,
        events=events,
        blocks=blocks,
        breaks=layout.breaks,
        value=layout.value,
        status=layout.status,
        bound=layout.bound,
        seconds=layout.seconds,
    )


_Layout = tuple[tuple[str, ...], tuple[science.Block, ...]]


def _calmest(problem: science.Problem, found: _Layout, judged: Judgement) -> _Layout:
    """Of layouts that are as good as the one found, one that leaves more as it was: among equals
    the solver has no preference, and blocks cost nothing to move."""
    assert problem.in_force is not None
    known = {event.code for event in problem.events}
    now = tuple(code for code in problem.in_force.events if code in known)
    for events, blocks in ((now, problem.in_force.blocks), (found[0], problem.in_force.blocks)):
        other = judge(problem, events, blocks)
        if other.possible and (other.breaks, other.value) == (judged.breaks, judged.value):
            return events, blocks
    return found


def season_value(judged: Judgement) -> float:
    """What a season is worth by itself, without what changing to it costs."""
    return (judged.value_thousandths - round(1000 * judged.value_parts.change)) / 1000


# To the page and back -----------------------------------------------------------------------------


def signed(plan: SeasonPlan, proposal: Proposal) -> str:
    """The proposal for the button that accepts it; good for this plan alone, and for a day."""
    asked = {
        name: value.isoformat() if isinstance(value, date) else value
        for name, value in asdict(proposal.asked).items()
    }
    said = {
        "revision": proposal.revision,
        "asked": asked,
        "events": proposal.events,
        "blocks": offered.blocks_said(proposal.blocks),
        "breaks": proposal.breaks,
        "value": proposal.value,
        "status": proposal.status,
        "bound": proposal.bound,
        "seconds": proposal.seconds,
    }
    return offered.signed(plan, said, salt=SALT)


def read_signed(plan: SeasonPlan, text: str) -> Proposal:
    """The proposal that a form carried. Raises NotOurs."""
    said = offered.read_signed(plan, text, salt=SALT)
    asked = said["asked"]
    until = asked["out_until"]
    return Proposal(
        revision=said["revision"],
        asked=Asked(
            day=date.fromisoformat(asked["day"]),
            weight=asked["weight"],
            out_until=date.fromisoformat(until) if until else None,
            wild_card=asked["wild_card"],
            not_accepted=asked["not_accepted"],
        ),
        events=tuple(said["events"]),
        blocks=offered.blocks_read(said["blocks"]),
        breaks=said["breaks"],
        value=said["value"],
        status=said["status"],
        bound=said["bound"],
        seconds=said["seconds"],
    )


# Accepting ----------------------------------------------------------------------------------------


def accept(
    plan: SeasonPlan, proposal: Proposal, *, today: date, now: datetime, by: Person
) -> Accepted:
    """Write what was shown: busy days, entries and the new layout, the last two as one step.

    Raises Stale where somebody changed the plan since, NotAsShown where something beneath it
    changed, and NoHomeBase; then nothing is written.
    """
    with transaction.atomic():
        lock(plan)
        if plan.revision != proposal.revision or plan.standing == SeasonPlan.Standing.REPLACED:
            raise Stale
        material = gather(plan)
        problem = question(material, proposal.asked, today=today)
        _refuse_if_changed(material, problem, proposal, today=today)
        changed = bool(changes_between(state_of(material), _after(material, proposal)))
        in_force = plan.standing == SeasonPlan.Standing.IN_FORCE
        written = plan
        if in_force and changed:
            written = copy_plan(plan, name=copy_name(plan, proposal.asked))
            material = gather(written)
        out = days_out(material, proposal.asked)
        if changed:
            edit = _step(material, problem, proposal, today=today, now=now, names=_names(material))
            record(written, edit, revision=written.revision, by=by, on_top=False)
        if out:
            out.full_clean()
            out.save()
    return Accepted(written, made_copy=in_force and changed, changed=changed, busy=out is not None)


def _refuse_if_changed(
    material: Material, problem: science.Problem, proposal: Proposal, *, today: date
) -> None:
    asked, known = proposal.asked, {event.pk for event in material.events}
    named = {asked.wild_card, asked.not_accepted} - {None}
    if asked.day < first_day(material.plan, today) or not named <= known:
        raise offered.NotAsShown
    offered.refuse_unless_as_shown(problem, proposal)


def _after(material: Material, proposal: Proposal) -> dict[str, Any]:
    """What the plan's history names, with the values that the proposal sets."""
    reasoned = with_reasons(material, proposal.asked)
    return things_laid_out(
        replace(material, planned=reasoned.planned), proposal.events, proposal.blocks
    )


def _step(
    material: Material,
    problem: science.Problem,
    proposal: Proposal,
    *,
    today: date,
    now: datetime,
    names: dict[int, str],
) -> Edit:
    after = _after(material, proposal)
    then = material_at(material, with_changes(state_of(material), after))
    then = replace(then, busy=with_reasons(material, proposal.asked).busy)
    layout = None
    # Proven is said of the plan only where its own limits ask the same question.
    if _alike(problem_from(then, today=today), problem):
        layout = {
            "laid_out_at": now.isoformat(),
            "layout_fingerprint": fingerprint(problem, proposal.events, proposal.blocks),
            "layout_status": proposal.status,
            "layout_value": proposal.value,
            "layout_bound": proposal.bound,
            "layout_seconds": proposal.seconds,
        }
    return Edit(title=title_of(proposal.asked, names), after={**after, "layout": layout})


def _alike(one: science.Problem, other: science.Problem) -> bool:
    return _in_order(one) == _in_order(other)


def _in_order(problem: science.Problem) -> science.Problem:
    """The same problem, with the events in force in an order that says nothing."""
    if problem.in_force is None:
        return problem
    now = replace(problem.in_force, events=tuple(sorted(problem.in_force.events)))
    return replace(problem, in_force=now)


# In words -----------------------------------------------------------------------------------------


def _names(material: Material) -> dict[int, str]:
    return {event.pk: event.name for event in material.events}


def title_of(asked: Asked, names: dict[int, str]) -> str:
    """`Re-planned from 25 Nov: out until 12 Dec, wild card for Harbour Open`."""
    reasons = []
    if asked.out_until:
        reasons.append(_("out until %(day)s") % {"day": day_month(asked.out_until)})
    if asked.wild_card is not None:
        reasons.append(_("wild card for %(event)s") % {"event": names[asked.wild_card]})
    if asked.not_accepted is not None:
        reasons.append(_("not accepted into %(event)s") % {"event": names[asked.not_accepted]})
    day = day_month(asked.day)
    if not reasons:
        return _("Re-planned from %(day)s") % {"day": day}
    said = {"day": day, "reasons": ", ".join(reasons)}
    return _("Re-planned from %(day)s: %(reasons)s") % said


def copy_name(plan: SeasonPlan, asked: Asked) -> str:
    """`Season 2027, re-planned from 25 Nov`, as long as a name may be. The player reads it."""
    longest = SeasonPlan._meta.get_field("name").max_length or 0
    said = _("re-planned from %(day)s") % {"day": day_month(asked.day)}
    ending = f", {said}"
    return f"{plan.name[: longest - len(ending)]}{ending}"
