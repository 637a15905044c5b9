"""What is the best layout if this event is played, or if that one is not? Many such questions.

The prices (`prices.py`) and stand-ins ask. Each question is a problem of its own, with one event
pinned in or ruled out, and any of them could go to the solver. But two walks (`bothways.py`) answer
most of them at once; what those leave aside, the number of events, is met by charging each event a
price, as the solver does; and what is left then goes to the solver one by one, with the best layout
and the best bound that are known. Every layout is measured by the judge, and is called proven only
where its score is the bound.
"""

from __future__ import annotations

import time
from collections.abc import Collection, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from math import inf
from statistics import median_low
from typing import Final

from seasonplan.science.layout.bothways import BothWays
from seasonplan.science.layout.calendar import Calendar, Impossible, Slot
from seasonplan.science.layout.cutting import cut
from seasonplan.science.layout.problem import Problem
from seasonplan.science.layout.rules import WEIGHTS as BREAK
from seasonplan.science.layout.rules import judge
from seasonplan.science.layout.solver import (
    FIRST_PRICE,
    MOST_PRICE,
    Layout,
    blocks_of,
    breaks_and_value,
    breaks_of,
    by_need,
    chain_of,
    lay_out,
    score_of,
)
from seasonplan.science.layout.whole import Best, Seasons

MOST_CHARGES: Final = 6
"""Prices on an event that are tried in turn; what they leave open goes to the solver."""

FEW: Final = 2
"""So many questions are quicker for the solver than another walk."""

MOST_KEPT: Final = 20_000_000
"""Scores that a walk there and back may have to keep: some 250 MB."""

MOST_EXTRA_BREAKS: Final = 2 * BREAK["target"]
"""Layouts with more breaks than the last one and this many are left to the solver."""


@dataclass(frozen=True, slots=True)
class Question:
    """The best layout with an event (its code) played, or not played."""

    code: str
    played: bool


@dataclass(frozen=True, slots=True)
class Alternative:
    """The answer: a layout, or the reasons why there is none."""

    question: Question
    layout: Layout | None
    reasons: tuple[str, ...] = ()


def alternatives(
    problem: Problem,
    layout: Layout,
    questions: Collection[Question],
    *,
    seconds: float | None = None,
) -> Iterator[Alternative]:
    """The best layout to each question, in the order in which they are answered.

    `layout` is the best known layout of the problem itself. After `seconds` the rest are answered
    by the best layouts found so far. With few questions the solver is asked at once.
    """
    return _Answers(problem, layout, questions, seconds).given()


def problem_with(problem: Problem, question: Question) -> Problem:
    """The problem in which the event must be played, or must not be, whatever was said before."""
    code = {question.code}
    if question.played:
        return replace(problem, keep=problem.keep | code, drop=problem.drop - code)
    return replace(problem, keep=problem.keep - code, drop=problem.drop | code)


@dataclass(slots=True)
class _Open:
    """A question that is not yet answered.

    `bound`: no layout has a larger score. `reach`: the breaks of some layout, the limits on all
    events together left aside. `more` and `fewer`: how many events a layout on either side of their
    largest number has, and its score, that rule left aside. `charged`: prices that were tried.
    """

    question: Question
    slot: Slot
    start: tuple[str, ...] | None = None
    best: Layout | None = None
    score: int | None = None
    bound: int | None = None
    reach: int | None = None
    too_few: bool = False
    more: tuple[int, int] | None = None
    fewer: tuple[int, int] | None = None
    charged: set[int] = field(default_factory=set)


class _Answers:
    def __init__(
        self,
        problem: Problem,
        layout: Layout,
        questions: Collection[Question],
        seconds: float | None,
    ) -> None:
        self.deadline = inf if seconds is None else time.monotonic() + seconds
        self.problem, self.last = problem, layout
        self.calendar = calendar = Calendar(problem)
        self.index_of = {slot.code: index for index, slot in enumerate(calendar.slots)}
        targets = sum(slot.target for slot in calendar.slots)
        self.constant = calendar.base_value - calendar.break_score * BREAK["target"] * targets
        """What a walk leaves out of its scores."""
        self.open: dict[Question, _Open] = {}
        self.alone: list[Question] = []
        """Questions about events that may not be played, or must be, as the problem stands."""
        for question in dict.fromkeys(questions):
            index = self.index_of.get(question.code)
            if index is None or calendar.slots[index].forced:
                self.alone.append(question)
            else:
                self.open[question] = _Open(question, calendar.slots[index])

    def given(self) -> Iterator[Alternative]:
        if len(self.open) > FEW:
            with suppress(TimeoutError):
                yield from self._by_walks()
        for entry in self.open.values():
            yield self._solved(entry.question, entry)
        for question in self.alone:
            yield self._solved(question, None)

    def _by_walks(self) -> Iterator[Alternative]:
        """What walks there and back answer, with more and more breaks allowed."""
        seasons = Seasons(self.calendar)
        least = round(self.last.breaks) - BREAK["target"] * self.calendar.lost_targets
        breaks = least
        while self.open and seasons.apply(breaks):
            yield from self._walked(seasons, breaks)
            yield from self._charged(seasons)
            higher = [
                entry.reach if entry.reach is not None else least + BREAK["target"]
                for entry in self.open.values()
                if entry.bound is None
            ]
            allowed = min(max(higher, default=0), least + MOST_EXTRA_BREAKS)
            if allowed <= breaks:
                return
            breaks = allowed

    def _walked(self, seasons: Seasons, breaks: int) -> Iterator[Alternative]:
        """Walk with any number of events, and answer what that settles."""
        limits = self.calendar.limits
        for entry, best in self._walk(seasons, breaks, 0):
            score, number = best.score, len(best.chain)
            entry.start = tuple(slot.code for slot in best.chain)
            entry.reach = breaks_of(self.calendar, score)
            if entry.reach > breaks:
                continue
            entry.bound = score
            entry.too_few = number < limits.min_events
            if number > limits.max_events:
                entry.more = (number, score)
                self._offer(entry, self._fewer(entry, best.chain))
                if entry.best is not None and entry.score is not None:
                    number = len(entry.best.events)
                    entry.fewer = (number, entry.score) if number <= limits.max_events else None
            else:
                self._offer(entry, best.chain)
            if entry.score == entry.bound:
                yield self._answered(entry)

    def _charged(self, seasons: Seasons) -> Iterator[Alternative]:
        """Charge each event a price, so that their number comes to keep its limit.

        Why each walk bounds the best layout from above, the solver's `_price` says.
        """
        limits = self.calendar.limits
        for _ in range(MOST_CHARGES):
            prices, breaks = [], 0
            for entry in self.open.values():
                if entry.bound is not None and (own := self._price(entry)) is not None:
                    prices.append(own)
                    breaks = max(breaks, breaks_of(self.calendar, entry.bound))
            if len(prices) <= FEW:
                return
            price = median_low(prices)
            limit = limits.max_events if price > 0 else limits.min_events
            for entry, best in self._walk(seasons, breaks, price):
                if entry.bound is None or entry.too_few != (price < 0):
                    continue
                entry.charged.add(price)
                number = len(best.chain)
                # The walk knows nothing of layouts with more breaks than it allows.
                beyond = self.calendar.highest_value - (breaks + 10) * self.calendar.break_score
                entry.bound = min(entry.bound, max(best.score + price * limit, beyond))
                free = (number, best.score + price * number)
                if number > limits.max_events:
                    entry.more = free
                else:
                    entry.fewer = free
                    self._offer(entry, best.chain)
                if entry.score == entry.bound:
                    yield self._answered(entry)

    def _price(self, entry: _Open) -> int | None:
        """The next price that may settle a question, if there is one."""
        calendar = self.calendar
        if entry.too_few:
            price = -calendar.short_weight
        elif entry.more is None:
            return None
        elif entry.fewer is None:
            price = FIRST_PRICE
        else:
            (more, score_of_more), (fewer, score_of_fewer) = entry.more, entry.fewer
            price = (score_of_more - score_of_fewer) // (more - fewer)
            price = min(max(price, 1), MOST_PRICE, BREAK["count"] * calendar.break_score)
        return None if price in entry.charged else price

    def _walk(self, seasons: Seasons, breaks: int, price: int) -> Iterator[tuple[_Open, Best]]:
        """The best to each open question with each event charged a price."""
        calendar = self.calendar
        walk = BothWays(
            calendar,
            seasons.terrain,
            breaks,
            peaks=True,
            charges=[price] * len(calendar.slots) if price else None,
            deadline=self.deadline,
            leave_out=frozenset(
                self.index_of[question.code] for question in self.open if not question.played
            ),
        )
        if not walk.fits() or walk.states * len(calendar.slots) > MOST_KEPT:
            return
        with_it, without_it = walk.there_and_back(seasons.terrain.ends()[:, None])
        for entry in list(self.open.values()):
            found = with_it if entry.question.played else without_it
            if (best := found.get(self.index_of[entry.question.code])) is not None:
                yield entry, Best(best.chain, best.score + self.constant)

    def _fewer(self, entry: _Open, chain: Sequence[Slot]) -> list[Slot]:
        """As many of these events as there may be, and the one that must be played."""
        needed = sorted(
            by_need(chain), key=lambda slot: (not slot.forced, slot.code != entry.question.code)
        )
        return chain_of(self.calendar, needed[: self.calendar.limits.max_events])

    def _offer(self, entry: _Open, chain: Sequence[Slot]) -> None:
        """Have the judge measure the best layout of these events."""
        spans = cut(self.calendar, chain)
        if spans is None:
            return
        problem = problem_with(self.problem, entry.question)
        codes, blocks = tuple(slot.code for slot in chain), blocks_of(problem, spans)
        judgement = judge(problem, codes, blocks)
        if not judgement.possible:
            return
        score = score_of(self.calendar, judgement)
        if entry.bound is not None and score > entry.bound:
            raise AssertionError(f"{entry.question} scores {score}, at most {entry.bound}")
        if entry.score is None or score > entry.score:
            entry.score = score
            entry.best = Layout(
                status="best found",
                breaks=judgement.breaks,
                value=judgement.value,
                bound=judgement.value,
                seconds=0.0,
                events=codes,
                blocks=blocks,
                judgement=judgement,
            )

    def _answered(self, entry: _Open) -> Alternative:
        """The best layout known is the best there is."""
        assert entry.best is not None
        del self.open[entry.question]
        return Alternative(entry.question, replace(entry.best, status="proven"))

    def _solved(self, question: Question, entry: _Open | None) -> Alternative:
        """What the solver answers in the time that is left."""
        start, at_best = self.last.events, None
        if entry is not None:
            start = entry.best.events if entry.best else entry.start or start
            if entry.bound is not None:
                breaks, value = breaks_and_value(self.calendar, entry.bound)
                at_best = breaks, value / 1000
        try:
            layout = lay_out(
                problem_with(self.problem, question),
                seconds=None
                if self.deadline == inf
                else max(0.0, self.deadline - time.monotonic()),
                start=start,
                at_best=at_best,
            )
        except Impossible as impossible:
            return Alternative(question, None, impossible.reasons)
        return Alternative(question, layout)
