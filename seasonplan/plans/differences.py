"""What is different between two plans' events and blocks, in words.

Asked before a plan is put in force, before a new layout is accepted, and afterwards by those who
want to know what changed. Makes no query.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.utils.translation import gettext as _

from seasonplan.events.models import Event
from seasonplan.plans.laying_out import Material, science_blocks
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.operations import week_number
from seasonplan.plans.terms import phase_word
from seasonplan.science.layout.problem import Block
from seasonplan.science.weeks import Week, season_weeks
from seasonplan.science.words import days


@dataclass(frozen=True)
class Shape:
    """What a plan plays, by event id, and its blocks in order."""

    events: frozenset[int]
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Differences:
    """What is new, what is gone, and the weeks whose phase is another, each in words."""

    joins: tuple[str, ...]
    leaves: tuple[str, ...]
    phases: tuple[str, ...]

    def __bool__(self) -> bool:
        return bool(self.joins or self.leaves or self.phases)


def shape_of(material: Material) -> Shape:
    """The shape of a plan as it stands."""
    events = frozenset(event.pk for event in material.played)
    return Shape(events, science_blocks(material.blocks))


def shape_in_force(plan: SeasonPlan) -> Shape:
    """The same of a plan that stands beside another's material, its rows already fetched."""
    rows = plan.planned_events.all()
    events = frozenset(row.event_id for row in rows if row.played)
    return Shape(events, science_blocks(plan.blocks.all()))


def differences(
    before: Shape, after: Shape, *, events: Iterable[Event], start: date, end: date
) -> Differences:
    """From one shape of a season (`start` to `end`) to another; `events` are all it may name."""
    events = list(events)
    return Differences(
        joins=tuple(named(e) for e in events if e.pk in after.events - before.events),
        leaves=tuple(named(e) for e in events if e.pk in before.events - after.events),
        phases=tuple(_phases(before, after, start, end)),
    )


def named(event: Event) -> str:
    """`Barcelona, 20-25 Feb: Lantern Open`, with an en dash."""
    return _("%(place)s, %(days)s: %(event)s") % {
        "place": event.place.place_name,
        "days": days(event.start, event.end),
        "event": event.name,
    }


def _phases(before: Shape, after: Shape, start: date, end: date) -> Iterator[str]:
    """Weeks one after the other in which one phase stands for another, together."""

    def pair(week: Week) -> tuple[str, str]:
        return phase_of(before, week), phase_of(after, week)

    for (old, new), run in groupby(season_weeks(start, end), key=pair):
        if old != new:
            yield _("%(weeks)s: %(new)s instead of %(old)s") % {
                "weeks": _weeks(list(run)),
                "new": phase_word(new),
                "old": phase_word(old),
            }


def phase_of(shape: Shape, week: Week) -> str:
    """`active rest`; empty where the week belongs to no block."""
    found = (block.phase for block in shape.blocks if block.start <= week.start <= block.end)
    return next(found, "")


def _weeks(weeks: list[Week]) -> str:
    first, last = weeks[0], weeks[-1]
    dates = days(first.start, last.end)
    if first == last:
        return _("Week %(week)d (%(dates)s)") % {"week": week_number(first.start), "dates": dates}
    return _("Weeks %(first)d to %(last)d (%(dates)s)") % {
        "first": week_number(first.start),
        "last": week_number(last.start),
        "dates": dates,
    }
