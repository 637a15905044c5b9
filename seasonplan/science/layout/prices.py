"""What does it cost to play this event, to leave that one out, or to move a limit by one?

The season screen asks, and shows the prices as they arrive. A price is always the difference of two
solved problems: the one at hand, and the same with one event pinned in, one ruled out, or one limit
one unit looser. `value_given_up` and `more_breaks` are the solved layout's less, and the other's
less the solved layout's: both are 0 or more for an event, 0 or less for a limit, where more breaks
count for more than any value. `price_words.py` puts prices into sentences.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

from seasonplan.science.layout.alternatives import (
    Alternative,
    Question,
    alternatives,
    problem_with,
)
from seasonplan.science.layout.calendar import Impossible
from seasonplan.science.layout.limits import LIMITS, Limits
from seasonplan.science.layout.problem import Block, Problem
from seasonplan.science.layout.rules import BUDGET_STEP, WEIGHTS, Judgement
from seasonplan.science.layout.solver import Layout, lay_out
from seasonplan.science.weeks import event_weeks
from seasonplan.science.words import listed

__all__ = [
    "LOOSER",
    "EventPrice",
    "LimitPrice",
    "Loosening",
    "Price",
    "RuleChange",
    "StandIn",
    "event_prices",
    "limit_prices",
    "limit_value",
    "looser_limits",
    "prices",
    "stand_ins",
]

Status = Literal["proven", "best found", "impossible"]


@dataclass(frozen=True, slots=True)
class RuleChange:
    """By how many units more (or, below 0, fewer) a rule is broken, each of which has a weight."""

    rule: str
    units: int
    weight: int

    @property
    def breaks(self) -> int:
        """Units times weight."""
        return self.units * self.weight


@dataclass(frozen=True, slots=True)
class Price:
    """The difference that one change makes to the best layout.

    `status`: "proven" where both layouts are; "best found" where time ran out: the true price is
    then no more breaks than these and, at as many, no more value; "impossible" where no layout does
    what was asked (`reasons` say why, and there is no layout and no difference).
    `most_value_thousandths` bounds the value of layouts with as few breaks as this one; it is the
    value itself where the layout is proven. `leaves` and `enters` are codes in order of start,
    without the event in question.
    """

    status: Status
    value_given_up_thousandths: int = 0
    more_breaks: int = 0
    leaves: tuple[str, ...] = ()
    enters: tuple[str, ...] = ()
    rules: tuple[RuleChange, ...] = ()
    breaks: float = 0
    value_thousandths: int = 0
    most_value_thousandths: int = 0
    events: tuple[str, ...] = ()
    blocks: tuple[Block, ...] = ()
    reasons: tuple[str, ...] = ()

    @property
    def value_given_up(self) -> float:
        """Value that the change costs; below 0 where it gains value."""
        return self.value_given_up_thousandths / 1000


@dataclass(frozen=True, slots=True)
class EventPrice:
    """What it costs to play an event that is not in the plan, or to leave out one that is."""

    code: str
    played: bool
    price: Price


@dataclass(frozen=True, slots=True)
class LimitPrice:
    """What a limit one unit looser gives: from one value to another."""

    loosening: Loosening
    before: int | float
    after: int | float
    price: Price


@dataclass(frozen=True, slots=True)
class StandIn:
    """An event to play in the week of one that the player may not get into, and its price.

    The price is that against the plan as it is.
    """

    code: str
    instead_of: str
    price: Price


@dataclass(frozen=True, slots=True)
class Loosening:
    """How a limit is made looser: by a step up or down; of a range, its smallest (0) or largest (1)
    end."""

    name: str
    step: int
    end: Literal[0, 1] | None = None


LOOSER: Final[tuple[Loosening, ...]] = (
    Loosening("max_events", 1),
    Loosening("max_run", 1),
    Loosening("tune_up_weeks", 1),
    Loosening("quiet_weeks", 1),
    Loosening("peak_weeks", 1),
    Loosening("peak_gap_weeks", -1),
    Loosening("min_cycles", -1),
    Loosening("min_rest_weeks", -1),
    Loosening("final_rest_weeks", -1),
    Loosening("preparation_weeks", -1, 0),
    Loosening("preparation_weeks", 1, 1),
    Loosening("pre_competition_weeks", -1, 0),
    Loosening("pre_competition_weeks", 1, 1),
    Loosening("competition_weeks", -1, 0),
    Loosening("competition_weeks", 1, 1),
    Loosening("active_rest_weeks", -1, 0),
    Loosening("active_rest_weeks", 1, 1),
    Loosening("budget", BUDGET_STEP),
)
"""The limits that can be looser, and in which direction that is.

Left out are those that say how things are and not what is allowed: the first phase, what a body
needs to get used to a place, how long journeys take and when one goes home, and the weights. The
number of events wanted is a wish, not a limit.
"""

_RANGES: Final = {limit.name: (limit.smallest, limit.largest) for limit in LIMITS}


def prices(
    problem: Problem, layout: Layout, *, seconds: float | None = None
) -> Iterator[EventPrice | LimitPrice]:
    """Every price of a solved problem: candidates, events played, and limits, as they are found.

    After `seconds` the rest are the best found by then, and say so.
    """
    deadline = None if seconds is None else time.monotonic() + seconds
    yield from event_prices(problem, layout, seconds=seconds)
    left = None if deadline is None else max(0.0, deadline - time.monotonic())
    yield from limit_prices(problem, layout, seconds=left)


def event_prices(
    problem: Problem,
    layout: Layout,
    codes: Collection[str] | None = None,
    *,
    seconds: float | None = None,
) -> Iterator[EventPrice]:
    """The prices of these events, or of all: playing those that are not in the layout, leaving out
    those that are. They come in the order in which they are found, unless time runs out the
    candidates before the events played, by and large.

    An event that was ruled out is priced as if it were not, and a pinned one likewise. Raises
    ValueError for a code that no event has.
    """
    known = [event.code for event in problem.events]
    wanted = known if codes is None else list(codes)
    if unknown := sorted(set(wanted) - set(known)):
        raise ValueError(f"no event has the code {listed(unknown)}")
    questions = [Question(code, code not in layout.events) for code in wanted]
    questions.sort(key=lambda question: not question.played)
    for answer in alternatives(problem, layout, questions, seconds=seconds):
        code = answer.question.code
        yield EventPrice(code, answer.question.played, _price(problem, layout, answer, {code}))


def limit_prices(
    problem: Problem,
    layout: Layout,
    loosenings: Collection[Loosening] = LOOSER,
    *,
    seconds: float | None = None,
) -> Iterator[LimitPrice]:
    """What each limit one unit looser gives; nothing for those that cannot be looser."""
    deadline = None if seconds is None else time.monotonic() + seconds
    for loosening in loosenings:
        limits = looser_limits(problem.limits, loosening)
        if limits is None:
            continue
        left = None if deadline is None else max(0.0, deadline - time.monotonic())
        looser = lay_out(replace(problem, limits=limits), seconds=left, start=layout.events)
        answer = Alternative(Question("", True), looser)
        yield LimitPrice(
            loosening,
            limit_value(problem.limits, loosening),
            limit_value(limits, loosening),
            _price(problem, layout, answer, set()),
        )


def looser_limits(limits: Limits, loosening: Loosening) -> Limits | None:
    """The limits with one of them one unit looser; None where it is as loose as can be."""
    name = loosening.name
    if getattr(limits, name) is None:
        return None
    changed = limit_value(limits, loosening) + loosening.step
    smallest, largest = _RANGES[name]
    if not smallest <= changed <= largest:
        return None
    value: object = changed
    if loosening.end is not None:
        ends = list(getattr(limits, name))
        ends[loosening.end] = changed
        value = tuple(ends)
    looser: dict[str, Any] = {name: value}
    return replace(limits, **looser)


def limit_value(limits: Limits, loosening: Loosening) -> int | float:
    """The number that is loosened: the limit itself, or one end of a range."""
    value = getattr(limits, loosening.name)
    found: int | float = value if loosening.end is None else value[loosening.end]
    return found


def stand_ins(
    problem: Problem, layout: Layout, code: str, *, seconds: float | None = None
) -> list[StandIn]:
    """Events for the weeks of a planned one that the player may not get into, the best first.

    Each candidate that shares an event week with it is priced: the season is laid out anew with the
    planned event ruled out and the candidate played. Those that cannot be played are left out.
    Raises ValueError for a code that is not in the layout.
    """
    if code not in layout.events:
        raise ValueError(f"{code} is not in the layout")
    season = problem.season.start
    weeks_of = {event.code: event_weeks(event.start, event.end, season) for event in problem.events}
    weeks = set(weeks_of[code])
    out = problem.drop | problem.cancelled
    nearby = [
        other
        for other, its in weeks_of.items()
        if other not in layout.events and other not in out and weeks & set(its)
    ]
    without = problem_with(problem, Question(code, played=False))
    began = time.monotonic()
    try:
        last = lay_out(without, seconds=seconds, start=layout.events)
    except Impossible:
        return []
    left = None if seconds is None else max(0.0, seconds - (time.monotonic() - began))
    questions = [Question(other, played=True) for other in nearby]
    found = [
        StandIn(
            answer.question.code,
            code,
            _price(problem, layout, answer, {code, answer.question.code}),
        )
        for answer in alternatives(without, last, questions, seconds=left)
        if answer.layout is not None
    ]
    found.sort(key=lambda one: (one.price.more_breaks, one.price.value_given_up_thousandths))
    return found


def _price(problem: Problem, layout: Layout, answer: Alternative, apart: Collection[str]) -> Price:
    other = answer.layout
    if other is None:
        return Price("impossible", reasons=answer.reasons)
    before, after = layout.judgement, other.judgement
    proven = layout.status == other.status == "proven"
    in_order = sorted(problem.events, key=lambda event: (event.start, event.end, event.code))
    gone, come = set(layout.events) - set(other.events), set(other.events) - set(layout.events)
    return Price(
        status="proven" if proven else "best found",
        value_given_up_thousandths=before.value_thousandths - after.value_thousandths,
        more_breaks=round(after.breaks - before.breaks),
        leaves=tuple(event.code for event in in_order if event.code in gone - set(apart)),
        enters=tuple(event.code for event in in_order if event.code in come - set(apart)),
        rules=_changes(before, after),
        breaks=after.breaks,
        value_thousandths=after.value_thousandths,
        most_value_thousandths=round(1000 * other.bound),
        events=other.events,
        blocks=other.blocks,
    )


def _changes(before: Judgement, after: Judgement) -> tuple[RuleChange, ...]:
    """The rules that are broken more or less than before, in the order of their weights' table."""
    units: Counter[str] = Counter()
    for finding in after.broken:
        units[finding.rule] += finding.units
    for finding in before.broken:
        units[finding.rule] -= finding.units
    return tuple(
        RuleChange(rule, units[rule], weight) for rule, weight in WEIGHTS.items() if units[rule]
    )
