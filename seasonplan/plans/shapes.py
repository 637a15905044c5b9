"""A lighter, a balanced and a fuller season from the same calendar, and a working copy of one.

The page of shapes asks. Nothing is kept between the question and the copy: each shape goes to the
page signed, and comes back with the press. Before it is written it is judged again, on the plan as
it is by then.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Final, Literal, get_args

from django.conf import settings
from django.db import transaction
from django.utils.translation import ngettext, pgettext

from seasonplan.academy.models import Person
from seasonplan.plans import offered
from seasonplan.plans.history import Edit, lock, record
from seasonplan.plans.laying_out import (
    Material,
    code_of,
    fingerprint,
    gather,
    problem_from,
    things_laid_out,
)
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.standing import copy_plan
from seasonplan.science.layout import problem as science
from seasonplan.science.layout.limits import limits_as_mapping
from seasonplan.science.layout.shapes import Point, Shapes, curve, shapes
from seasonplan.science.layout.solver import Layout, lay_out

Kind = Literal["lighter", "balanced", "fuller"]
KINDS: Final[tuple[Kind, ...]] = get_args(Kind)

SALT: Final = "seasonplan.plans.shapes"


class NotFoundInTime(Exception):
    """The time given did not suffice for a layout with the balanced number of events."""


@dataclass(frozen=True)
class Answer:
    """The best layout of the plan's season, the best for each number of events, and three of
    these."""

    problem: science.Problem
    layout: Layout
    points: tuple[Point, ...]
    three: Shapes

    def shape(self, kind: Kind) -> Point | None:
        found: Point | None = getattr(self.three, kind)
        return found

    def is_best_of_all(self, kind: Kind) -> bool:
        """Whether no layout within the plan's limits is better, whatever its number of events."""
        return (
            kind == "balanced"
            and self.layout.status == "proven"
            and self.three.balanced.breaks == self.layout.breaks
            and self.three.balanced.value == self.layout.value
        )


def ask_for_shapes(material: Material, *, today: date, seconds: float | None = None) -> Answer:
    """Lay the season out, and find the best for each number of events around that.

    Takes at most about `seconds` (the LAYOUT_SECONDS setting if None); what is not proven by then
    is the best found. Writes nothing. Raises NoHomeBase, the solver's Impossible, and
    NotFoundInTime.
    """
    problem = problem_from(material, today=today)
    given = settings.LAYOUT_SECONDS if seconds is None else seconds
    until = time.monotonic() + given
    played = [code_of(event.pk) for event in material.played]
    layout = lay_out(problem, seconds=given / 2, start=played)
    left = max(0.0, until - time.monotonic())
    points = tuple(curve(problem, layout, seconds=left))
    if all(point.events != len(layout.events) for point in points):
        raise NotFoundInTime
    return Answer(problem, layout, points, shapes(points, layout))


# To the page and back -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Taken:
    """A shape as it was shown, from its signature."""

    kind: Kind
    events: tuple[str, ...]
    blocks: tuple[science.Block, ...]
    breaks: float
    value: float
    best: bool


def signed(plan: SeasonPlan, kind: Kind, answer: Answer) -> str:
    """A shape for the form that makes a copy of it; good for this plan alone, and for a day."""
    point = answer.shape(kind)
    if point is None:
        raise ValueError(f"there is no {kind} shape")
    said = {
        "kind": kind,
        "events": point.codes,
        "blocks": offered.blocks_said(point.blocks),
        "breaks": point.breaks,
        "value": point.value,
        "best": answer.is_best_of_all(kind),
    }
    return offered.signed(plan, said, salt=SALT)


def read_signed(plan: SeasonPlan, text: str) -> Taken:
    """The shape that a form carried. Raises NotOurs."""
    said = offered.read_signed(plan, text, salt=SALT)
    return Taken(
        kind=said["kind"],
        events=tuple(said["events"]),
        blocks=offered.blocks_read(said["blocks"]),
        breaks=said["breaks"],
        value=said["value"],
        best=said["best"],
    )


def kind_name(kind: Kind) -> str:
    """`Lighter`, as it stands alone."""
    return {
        "lighter": pgettext("shape of a season", "Lighter"),
        "balanced": pgettext("shape of a season", "Balanced"),
        "fuller": pgettext("shape of a season", "Fuller"),
    }[kind]


def kind_word(kind: Kind) -> str:
    """`lighter`, within a sentence."""
    return {
        "lighter": pgettext("shape of a season within a sentence", "lighter"),
        "balanced": pgettext("shape of a season within a sentence", "balanced"),
        "fuller": pgettext("shape of a season within a sentence", "fuller"),
    }[kind]


# The copy -----------------------------------------------------------------------------------------


def copy_name(plan: SeasonPlan, taken: Taken) -> str:
    """`Season 2027, lighter`, as long as a name may be."""
    longest = SeasonPlan._meta.get_field("name").max_length or 0
    ending = f", {kind_word(taken.kind)}"
    return f"{plan.name[: longest - len(ending)]}{ending}"


def limits_of(limits: science.Limits, kind: Kind, events: int) -> science.Limits:
    """The limits with which a season of so many events stays one of this kind when it is laid out
    again: no more events than a lighter one has, no fewer wanted than a fuller one has."""
    if kind == "lighter":
        return replace(limits, max_events=events, min_events=min(limits.min_events, events))
    if kind == "fuller":
        return replace(limits, max_events=max(limits.max_events, events), min_events=events)
    return limits


def copy_of_shape(
    plan: SeasonPlan, taken: Taken, *, today: date, now: datetime, by: Person
) -> SeasonPlan:
    """Make a working copy that has this shape; taking the shape is the first step of its history.

    The layout is judged on the plan as it is now, with the copy's limits, and taken only if that
    gives what was shown. Raises NoHomeBase and NotAsShown; then nothing is written.
    """
    with transaction.atomic():
        lock(plan)
        material = gather(plan)
        limits = limits_of(plan.parsed_limits, taken.kind, len(taken.events))
        problem = replace(problem_from(material, today=today), limits=limits)
        offered.refuse_unless_as_shown(problem, taken)
        copy = copy_plan(plan, name=copy_name(plan, taken))
        step = _taking(gather(copy), problem, taken, now=now)
        record(copy, step, revision=copy.revision, by=by)
    return copy


def _taking(material: Material, problem: science.Problem, taken: Taken, *, now: datetime) -> Edit:
    before, after = material.plan.parsed_limits, problem.limits
    limits = {
        f"limit:{name}": limits_as_mapping(after).get(name)
        for name in ("max_events", "min_events")
        if getattr(before, name) != getattr(after, name)
    }
    layout = None
    if taken.best:
        layout = {
            "laid_out_at": now.isoformat(),
            "layout_fingerprint": fingerprint(problem, taken.events, taken.blocks),
            "layout_status": "proven",
            "layout_value": taken.value,
            "layout_bound": taken.value,
            "layout_seconds": None,
        }
    title = ngettext(
        "Took the %(kind)s shape: %(count)d event",
        "Took the %(kind)s shape: %(count)d events",
        len(taken.events),
    )
    return Edit(
        title=title % {"kind": kind_word(taken.kind), "count": len(taken.events)},
        after={
            **things_laid_out(material, taken.events, taken.blocks),
            **limits,
            "layout": layout,
        },
    )
