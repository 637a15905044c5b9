"""What does each event cost, what each limit, and who stands in? From a plan to its prices.

The pages of prices ask, and nothing is worked out before. Every price is counted from the best
season that the plan's pins, limits and calendar allow. As a rule that is the plan as it stands; a
plan that was changed by hand is laid out anew for this, and only for this: nothing is written.
"""

from __future__ import annotations

import time
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from seasonplan.events.models import Event
from seasonplan.plans.laying_out import (
    Material,
    code_of,
    judge_plan,
    problem_from,
    science_blocks,
)
from seasonplan.plans.models import PlannedEvent, SeasonPlan
from seasonplan.science.layout.alternatives import Question, problem_with
from seasonplan.science.layout.prices import (
    LOOSER,
    EventPrice,
    LimitPrice,
    Loosening,
    StandIn,
    event_prices,
    limit_prices,
    looser_limits,
    stand_ins,
)
from seasonplan.science.layout.problem import Limits, Problem
from seasonplan.science.layout.rules import Judgement
from seasonplan.science.layout.solver import Layout, lay_out

SURE_OF_ENTRY: Final = {PlannedEvent.Entry.ACCEPTED.value}


@dataclass(frozen=True)
class Base:
    """The season from which prices are counted, and what the judge says of the plan as it stands.

    `layout` is the plan itself where `is_the_plan`.
    """

    problem: Problem
    layout: Layout
    as_it_stands: Judgement
    is_the_plan: bool


def may_ask(material: Material) -> bool:
    """Whether there is a season to ask about: laid out, with a home to travel from."""
    return bool(material.home and material.blocks)


def base_of(material: Material, *, today: date, seconds: float) -> Base:
    """The best season for the plan's choices: the plan itself while it is as it was laid out.

    Once the season is under way what is past weighs in, so that it is laid out anew, too; that
    takes at most about `seconds`. Raises NoHomeBase and the solver's Impossible.
    """
    problem = problem_from(material, today=today)
    verdict = judge_plan(material, today=today)
    played = tuple(code_of(event.pk) for event in material.played)
    if verdict.as_laid_out and problem.today is None:
        return Base(problem, _kept(material, verdict.judgement, played), verdict.judgement, True)
    layout = lay_out(problem, seconds=seconds, start=played or None)
    same = set(layout.events) == set(played) and _score(layout) == _score(verdict.judgement)
    return Base(problem, layout, verdict.judgement, is_the_plan=same)


def _score(measured: Layout | Judgement) -> tuple[float, float]:
    return measured.breaks, measured.value


def _kept(material: Material, judgement: Judgement, played: tuple[str, ...]) -> Layout:
    """The layout that the plan holds, as the solver gave it."""
    plan: SeasonPlan = material.plan
    proven = plan.layout_status == "proven"
    return Layout(
        status="proven" if proven else "best found",
        breaks=judgement.breaks,
        value=judgement.value,
        bound=judgement.value if proven or plan.layout_bound is None else plan.layout_bound,
        seconds=0.0,
        events=played,
        blocks=science_blocks(material.blocks),
        judgement=judgement,
    )


# What can be asked --------------------------------------------------------------------------------


def candidates(material: Material, *, today: date) -> list[Event]:
    """Events to come that take place and are not in the plan, in order of start."""
    played = {event.pk for event in material.played}
    return [
        event
        for event in material.events
        if event.pk not in played and event.start > today and not event.cancelled
    ]


def to_play(material: Material, *, today: date) -> list[Event]:
    """Events of the plan that are to come and take place."""
    return [event for event in material.going if event.start > today]


def unsure_of_entry(material: Material, *, today: date) -> list[Event]:
    """Events of the plan, to come, that the player has not been accepted for, or are cancelled."""
    return [
        event
        for event in material.played
        if event.start > today
        and (event.cancelled or material.planned[event.pk].entry not in SURE_OF_ENTRY)
    ]


def key_of(loosening: Loosening) -> str:
    """`max_run`, or `competition_weeks-most` for one end of a range."""
    if loosening.end is None:
        return loosening.name
    return f"{loosening.name}-{('least', 'most')[loosening.end]}"


def loosenings(limits: Limits) -> dict[str, Loosening]:
    """The limits that can be looser, by their keys."""
    return {key_of(one): one for one in LOOSER if looser_limits(limits, one) is not None}


# Answers ------------------------------------------------------------------------------------------


def priced_events(base: Base, events: Sequence[Event], *, until: float) -> Iterator[EventPrice]:
    """The prices of these events, as they are found; none after the moment `until`.

    What is not answered by then would take a solve each, and be no better than a guess.
    """
    codes = [code_of(event.pk) for event in events]
    left = max(0.0, until - time.monotonic())
    for found in event_prices(base.problem, base.layout, codes, seconds=left):
        yield found
        if time.monotonic() >= until:
            return


def priced_limits(
    base: Base, wanted: Collection[Loosening], *, until: float
) -> Iterator[LimitPrice]:
    """What each of these limits one unit looser gives, as it is found; none after `until`."""
    left = max(0.0, until - time.monotonic())
    for found in limit_prices(base.problem, base.layout, wanted, seconds=left):
        yield found
        if time.monotonic() >= until:
            return


def stand_ins_for(base: Base, event: Event, *, seconds: float) -> list[StandIn]:
    """Events for the weeks of one that the player may not get into, the best first.

    An event that the best season would not play, or that is cancelled, is put in for the question.
    Raises Impossible where it cannot be played at all.
    """
    code, began = code_of(event.pk), time.monotonic()
    problem, layout = base.problem, base.layout
    if code not in layout.events:
        problem = problem_with(problem, Question(code, played=True))
        problem = replace(problem, cancelled=problem.cancelled - {code})
        layout = lay_out(problem, seconds=seconds / 2, start=layout.events)
    left = max(0.0, seconds - (time.monotonic() - began))
    return stand_ins(problem, layout, code, seconds=left)


def revision_now(plan: SeasonPlan) -> int | None:
    """The plan's revision by now, which another coach may have raised; None if it is gone."""
    return SeasonPlan.objects.filter(pk=plan.pk).values_list("revision", flat=True).first()
