"""Lay out a season: the smallest breaks, then the largest value, proven.

`lay_out` is the one door. The planner calls it with a time limit and the last layout as a start;
the command line calls it without. No figure leaves here that the judge (`rules.py`) has not worked
out again: where judge and model differ, that is a bug, and it is raised, never hidden.
"""

from __future__ import annotations

import time
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import timedelta
from math import inf
from typing import Literal

from seasonplan.science.layout.calendar import Calendar, Impossible, Slot
from seasonplan.science.layout.cutting import Span, cut
from seasonplan.science.layout.model import Answer, Model
from seasonplan.science.layout.problem import PHASES, Block, Problem
from seasonplan.science.layout.rules import WEIGHTS as BREAK
from seasonplan.science.layout.rules import Judgement, judge

__all__ = ["Impossible", "Layout", "lay_out"]

NO_LIMIT_SECONDS = 1e6


@dataclass(frozen=True, slots=True)
class Layout:
    """A layout and how good it is, in the judge's figures.

    `bound`: no layout with the smallest breaks has a larger value. `status` is "proven" where no
    layout has fewer breaks, or as many and a larger value.
    """

    status: Literal["proven", "best found"]
    breaks: float
    value: float
    bound: float
    seconds: float
    events: tuple[str, ...]
    blocks: tuple[Block, ...]
    judgement: Judgement


def lay_out(
    problem: Problem, *, seconds: float | None = None, start: Collection[str] | None = None
) -> Layout:
    """The best layout of the season, or the best that `seconds` sufficed to find.

    `start` names the events of a layout to begin from, such as the last one; those that the
    problem no longer allows are passed over. It never changes what is best. Raises `Impossible`
    where the rules that are never broken contradict one another.
    """
    search = _Search(problem, NO_LIMIT_SECONDS if seconds is None else seconds)
    search.first_layouts(start)
    search.fewest_breaks()
    search.most_value()
    return search.layout()


class _Search:
    """The best layout so far, and what is known to be out of reach."""

    def __init__(self, problem: Problem, seconds: float) -> None:
        self.began = time.monotonic()
        self.deadline = self.began + seconds
        self.problem = problem
        self.calendar = Calendar(problem)
        self.best: tuple[tuple[str, ...], tuple[Block, ...], Judgement] | None = None
        self.lost = BREAK["target"] * self.calendar.lost_targets
        self.least_breaks = 0.0
        self.most: float = _value_without_rules(self.calendar)

    def left(self) -> float:
        """Seconds left."""
        return self.deadline - time.monotonic()

    def allowed(self) -> int:
        """Breaks by choice of the best layout so far."""
        assert self.best is not None  # noqa: S101 - first_layouts has found one, or raised
        return round(self.best[2].breaks) - self.lost

    # The three steps.

    def first_layouts(self, start: Collection[str] | None) -> None:
        """Events chosen greedily, or those of `start`, with the best blocks for them."""
        slots = self.calendar.slots
        by_worth = sorted(
            slots, key=lambda slot: (not slot.forced, not slot.target, -slot.value, slot.code)
        )
        needed = [slot for slot in by_worth if slot.forced or slot.target]
        self._offer_chain(_chain(self.calendar, needed))
        if start is not None:
            chosen = set(start)
            wanted = [slot for slot in by_worth if slot.forced or slot.code in chosen]
            self._offer_chain(_chain(self.calendar, wanted))

    def fewest_breaks(self) -> None:
        """The smallest breaks, with more and more of them allowed until they suffice."""
        chosen = _that_matter_for_breaks(self.calendar)
        allowed = 0
        while self.least_breaks < self.allowed() and self.left() > 0:
            answer = Model(self.calendar, chosen, allowed).fewest_breaks(self.left())
            if answer.codes is not None:
                breaks = self._offer(answer)
                if answer.proven and breaks <= allowed:
                    self.least_breaks = breaks
                    return
            if not answer.proven:
                return
            if answer.codes is None:
                self.least_breaks = max(self.least_breaks, allowed + 10)
            allowed = min(self.allowed(), max(40, 2 * allowed))

    def most_value(self) -> None:
        """The largest value at the smallest breaks."""
        if self.left() <= 0 or self.least_breaks < self.allowed():
            return
        model = Model(self.calendar, range(len(self.calendar.slots)), self.allowed())
        answer = model.most_value(self.left())
        if answer.codes is not None:
            self._offer(answer)
        if answer.bound is not None:
            self.most = min(self.most, answer.bound + self.calendar.base_value / 1000)

    def layout(self) -> Layout:
        """What was found, in the judge's figures."""
        assert self.best is not None  # noqa: S101 - first_layouts has found one, or raised
        events, blocks, judgement = self.best
        bound = self.most
        fewest = self.least_breaks >= self.allowed()
        if fewest and bound < judgement.value - 0.01:
            raise AssertionError(
                f"the judge finds a value of {judgement.value}, above the proven bound {bound}"
            )
        proven = fewest and bound < judgement.value + 0.005
        return Layout(
            status="proven" if proven else "best found",
            breaks=judgement.breaks,
            value=judgement.value,
            bound=judgement.value if proven else max(bound, judgement.value),
            seconds=time.monotonic() - self.began,
            events=events,
            blocks=blocks,
            judgement=judgement,
        )

    # What they share.

    def _offer(self, answer: Answer) -> int:
        """Have the judge measure an answer of the model; returns its breaks by choice."""
        assert answer.codes is not None and answer.spans is not None  # noqa: S101
        judgement = self._judged(answer.codes, answer.spans)
        if answer.breaks is not None and judgement.breaks - self.lost > answer.breaks + 0.5:
            raise AssertionError(
                f"the model counts {answer.breaks} breaks, the judge {judgement.breaks - self.lost}"
            )
        return round(judgement.breaks) - self.lost

    def _offer_chain(self, chain: Sequence[Slot]) -> None:
        spans = cut(self.calendar, chain)
        if spans is None:
            raise Impossible(
                ["The blocks of the weeks gone by do not follow one another in the cycle."]
            )
        self._judged(tuple(slot.code for slot in chain), spans)

    def _judged(self, codes: tuple[str, ...], spans: Sequence[Span]) -> Judgement:
        monday = self.problem.season.start
        blocks = tuple(
            Block(
                PHASES[phase],
                monday + timedelta(weeks=week),
                monday + timedelta(weeks=week + length, days=-1),
            )
            for phase, week, length in spans
        )
        judgement = judge(self.problem, codes, blocks)
        if not judgement.possible:
            texts = [finding.text for finding in judgement.broken if finding.weight is None]
            raise AssertionError(f"the judge finds a layout impossible: {texts}")
        if self.best is None or _better(judgement, self.best[2]):
            self.best = (codes, blocks, judgement)
        return judgement


def _better(one: Judgement, other: Judgement) -> bool:
    if one.breaks != other.breaks:
        return one.breaks < other.breaks
    return one.value_thousandths > other.value_thousandths


def _chain(calendar: Calendar, wanted: Sequence[Slot]) -> list[Slot]:
    """The wanted events, the first ones first, as far as they can be played together."""
    chain: list[Slot] = []
    for slot in wanted:
        place = sum(other.start <= slot.start for other in chain)
        fits = (place == 0 or calendar.can_follow(chain[place - 1], slot)) and (
            place == len(chain) or calendar.can_follow(slot, chain[place])
        )
        if fits:
            chain.insert(place, slot)
    return chain


def _that_matter_for_breaks(calendar: Calendar) -> list[int]:
    """Targets, pinned events, and those from which a target can be reached straight on.

    Any other event can be left out of a layout without a new break: it makes no rule hold.
    """
    slots = calendar.slots
    return [
        index
        for index, slot in enumerate(slots)
        if slot.target or slot.forced or any(slots[way.to].target for way in calendar.onward[index])
    ]


def _value_without_rules(calendar: Calendar) -> float:
    """A value that no layout exceeds, since no rule but the order of events is asked for."""
    events = sum(max(0, slot.value) for slot in calendar.slots)
    weeks = calendar.weeks * max(calendar.phase_value)
    return (events + weeks + calendar.base_value) / 1000
