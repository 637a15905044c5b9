"""Lay out a season: the smallest breaks, then the largest value, proven.

`lay_out` is the one door. The planner calls it with a time limit and the last layout as a start;
the command line calls it without. It has two ways to a proof. A walk through the whole season
(`whole.py`) is exact but for the number of events and their costs, and closes most problems by
itself, by a price on events, or by counting them. HiGHS (`model.py`) takes the others: a budget
that binds, and limits that make the walk too long.

No figure leaves here that the judge (`rules.py`) has not worked out again: where judge and solver
differ, that is a bug, and it is raised, never hidden.
"""

from __future__ import annotations

import time
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import timedelta
from math import floor
from typing import Final, Literal

from seasonplan.science.layout.calendar import Calendar, Impossible, Slot
from seasonplan.science.layout.cutting import Span, cut
from seasonplan.science.layout.model import Answer, Model
from seasonplan.science.layout.problem import PHASES, Block, Problem
from seasonplan.science.layout.rules import WEIGHTS as BREAK
from seasonplan.science.layout.rules import Judgement, judge
from seasonplan.science.layout.walk import best_events
from seasonplan.science.layout.whole import Best, Seasons

__all__ = ["Impossible", "Layout", "lay_out"]

NO_LIMIT_SECONDS: Final = 1e6

MOST_PRICES: Final = 12
"""Walks that are spent on finding a price."""

FIRST_PRICE: Final = 10_000
"""The first price to try on an event, or on ten units of cost, in thousandths."""

MOST_PRICE: Final = 200_000
"""At this price on it, no event is worth its place."""

PER_AMOUNT: Final = 1000
"""A price is for so much of an amount, so that prices of a unit of cost can be fine."""


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
    problem: Problem,
    *,
    seconds: float | None = None,
    start: Collection[str] | None = None,
    at_best: tuple[float, float] | None = None,
) -> Layout:
    """The best layout of the season, or the best that `seconds` sufficed to find.

    `start` names the events of a layout to begin from, such as the last one; those that the
    problem no longer allows are passed over. `at_best` says, where it is known, that no layout has
    fewer breaks than these, nor as many and a larger value than this. Neither changes what is best.
    Raises `Impossible` where the rules that are never broken contradict one another.
    """
    search = Search(problem, NO_LIMIT_SECONDS if seconds is None else seconds)
    search.first_layouts(start)
    if at_best is not None:
        breaks, value = at_best
        by_choice = round(breaks) - search.lost
        search.bounded_by(round(1000 * value) - by_choice * search.calendar.break_score)
    try:
        if not search.proven():
            search.walk()
        search.fewest_breaks()
        search.most_value()
    except TimeoutError:
        pass
    return search.layout()


class Search:
    """The best layout so far, and what is known to be out of reach."""

    def __init__(self, problem: Problem, seconds: float) -> None:
        self.began = time.monotonic()
        self.deadline = self.began + seconds
        self.problem = problem
        self.calendar = Calendar(problem)
        self.lost = BREAK["target"] * self.calendar.lost_targets
        self.best: tuple[tuple[str, ...], tuple[Block, ...], Judgement] | None = None
        self.least_breaks = 0
        """No layout has fewer breaks by choice."""
        self.most = self.calendar.highest_value
        """No layout with the smallest breaks has a larger value, in thousandths."""
        self.highest_score: int | None = None
        """No layout has a larger score (see `cutting.py`)."""

    def left(self) -> float:
        """Seconds left."""
        return self.deadline - time.monotonic()

    def breaks(self) -> int:
        """Breaks by choice of the best layout so far."""
        assert self.best is not None
        return round(self.best[2].breaks) - self.lost

    def value(self) -> int:
        """Value of the best layout so far, in thousandths."""
        assert self.best is not None
        return self.best[2].value_thousandths

    def proven(self) -> bool:
        """Whether nothing is better than the best layout."""
        return self.least_breaks >= self.breaks() and self.most <= self.value()

    # The steps, each of which may be the last.

    def first_layouts(self, start: Collection[str] | None) -> None:
        """The needed events, or those of `start`, with the best blocks for them."""
        by_worth = by_need(self.calendar.slots)
        needed = [slot for slot in by_worth if slot.forced or slot.target]
        self._offer_chain(chain_of(self.calendar, needed))
        if start is not None:
            chosen = set(start)
            wanted = [slot for slot in by_worth if slot.forced or slot.code in chosen]
            self._offer_chain(chain_of(self.calendar, wanted))

    def walk(self) -> None:
        """The whole season in one walk; where too many events or too few come out, or too dear
        ones, a price on them, and where that leaves a gap, a walk that counts the events."""
        calendar, seasons = self.calendar, Seasons(self.calendar)
        if not seasons.apply(self.breaks()):
            return
        free = seasons.best(self.deadline, self.breaks())
        if free is None:
            return
        self._offer_chain(free.chain)
        self.bounded_by(free.score)
        if self.proven():
            return
        other_breaks = breaks_of(calendar, free.score)
        limits, slots = calendar.limits, calendar.slots
        wrong_number = not limits.min_events <= len(free.chain) <= limits.max_events
        if wrong_number:
            forced = sum(slot.forced for slot in slots)
            fewer = by_need(free.chain)[: max(limits.max_events, forced)]
            self._offer_chain(chain_of(calendar, fewer))
            self._offer_events(self._spans(free.chain))
            too_many = len(free.chain) > limits.max_events
            self._price(
                seasons,
                free,
                amounts=[PER_AMOUNT] * len(slots),
                limit=PER_AMOUNT * (limits.max_events if too_many else limits.min_events),
                dearest=BREAK["count"] * calendar.break_score
                if too_many
                else -calendar.short_weight,
            )
        if calendar.budget is not None and _cost(free.chain) > calendar.budget:
            self._price(
                seasons,
                free,
                amounts=[slot.cost for slot in slots],
                limit=calendar.budget,
                dearest=calendar.break_score // 2,
            )
        elif wrong_number and not self.proven():
            self._count(seasons, other_breaks)

    def _count(self, seasons: Seasons, other_breaks: int) -> None:
        """The walk that counts events, where it is not too long; `other_breaks` cannot be helped
        even where there may be any number of events."""
        limits, slots = self.calendar.limits, self.calendar.slots
        spare = (self.breaks() - other_breaks) // BREAK["count"]
        most_events = max(limits.max_events + spare, sum(slot.forced for slot in slots))
        most_events = min(most_events, len(slots))
        if seasons.can_count(most_events, self.breaks()):
            counted = seasons.best_counting(self.deadline, most_events, self.breaks())
            if counted is not None:
                self._offer_chain(counted.chain)
                self.bounded_by(counted.score)

    def _price(
        self, seasons: Seasons, free: Best, *, amounts: list[int], limit: int, dearest: int
    ) -> None:
        """Narrow down the price at which an amount (of events, of costs) meets its limit.

        Charging each event its amount times a price, and giving the limit times the price back,
        makes no layout that keeps the limit worth less, nor one that breaks it as long as the price
        is not beyond `dearest`, what the rule itself takes. So each walk bounds the best layout
        from above. The next price is the one at which the best layouts known on either side of the
        limit are worth the same.
        """
        slots = self.calendar.slots
        index_of = {slot.code: index for index, slot in enumerate(slots)}
        first = sum(amounts[index_of[slot.code]] for slot in free.chain)
        sign = 1 if first > limit else -1
        sides = {first > limit: (first, free.score)}
        price = sign * FIRST_PRICE
        assert self.best is not None
        at_best = sum(amounts[index_of[code]] for code in self.best[0])
        if (at_best > limit) not in sides:
            score = self.value() - self.breaks() * self.calendar.break_score
            sides[at_best > limit] = (at_best, score)
            price = _even(sides)
        for _ in range(MOST_PRICES):
            price = min(price, dearest, MOST_PRICE) if sign > 0 else max(price, dearest)
            charges = [price * amount // PER_AMOUNT for amount in amounts]
            priced = seasons.best(self.deadline, self.breaks(), charges)
            if priced is None:
                return
            self.bounded_by(priced.score + price * limit // PER_AMOUNT)
            self._offer_chain(priced.chain)
            played = [index_of[slot.code] for slot in priced.chain]
            amount = sum(amounts[index] for index in played)
            if amount > limit:
                self._offer_events(self._spans(priced.chain))
            if self.proven() or amount == limit:
                return
            paid = sum(charges[index] for index in played)
            found, side = (amount, priced.score + paid), amount > limit
            if len(sides) == 2 and sides[side] == found:
                return
            sides[side] = found
            if len(sides) == 2:
                next_price = _even(sides)
                if next_price == price:
                    return
                price = next_price
            elif price in (dearest, MOST_PRICE):
                return
            else:
                price *= 2

    def fewest_breaks(self) -> None:
        """The smallest breaks, with more and more of them allowed until they suffice."""
        chosen = _that_matter_for_breaks(self.calendar)
        allowed = self.least_breaks
        while self.least_breaks < self.breaks() and self.left() > 0:
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
            allowed = min(self.breaks(), max(40, 2 * allowed))

    def most_value(self) -> None:
        """The largest value at the smallest breaks."""
        if self.left() <= 0 or self.least_breaks < self.breaks() or self.proven():
            return
        everything = range(len(self.calendar.slots))
        answer = Model(self.calendar, everything, self.breaks()).most_value(self.left())
        if answer.codes is not None:
            self._offer(answer)
        if answer.bound is not None:
            # Values are whole thousandths, and HiGHS works with a tolerance.
            bound = floor(answer.bound * 1000 + 0.4) + self.calendar.base_value
            self.most = min(self.most, bound)

    def layout(self) -> Layout:
        """What was found, in the judge's figures."""
        assert self.best is not None
        events, blocks, judgement = self.best
        fewest = self.least_breaks >= self.breaks()
        if self.least_breaks > self.breaks() or (fewest and self.most < self.value()):
            raise AssertionError(
                f"the judge finds {judgement.breaks} breaks and a value of {judgement.value},"
                f" proven out of reach: at best {self.least_breaks + self.lost}"
                f" and {self.most / 1000}"
            )
        return Layout(
            status="proven" if self.proven() else "best found",
            breaks=judgement.breaks,
            value=judgement.value,
            bound=self.most / 1000,
            seconds=time.monotonic() - self.began,
            events=events,
            blocks=blocks,
            judgement=judgement,
        )

    # What they share.

    def _offer(self, answer: Answer) -> int:
        """Have the judge measure an answer of the model; returns its breaks by choice."""
        assert answer.codes is not None and answer.spans is not None
        judgement = self._judged(answer.codes, answer.spans)
        if answer.breaks is not None and judgement.breaks - self.lost > answer.breaks + 0.5:
            raise AssertionError(
                f"the model counts {answer.breaks} breaks, the judge {judgement.breaks - self.lost}"
            )
        return round(judgement.breaks) - self.lost

    def bounded_by(self, score: int) -> None:
        """No layout has a larger score: what that says of breaks and value."""
        calendar = self.calendar
        if self.highest_score is not None:
            score = min(score, self.highest_score)
        self.highest_score = score
        breaks = breaks_of(calendar, score)
        self.least_breaks = max(self.least_breaks, breaks)
        if breaks == self.breaks():
            self.most = min(self.most, score + breaks * calendar.break_score)

    def _offer_chain(self, chain: Sequence[Slot]) -> None:
        """Have the judge measure the best layout of these events."""
        self._judged(tuple(slot.code for slot in chain), self._spans(chain))

    def _offer_events(self, spans: Sequence[Span]) -> None:
        """Have the judge measure the best layout with these blocks, or with better ones."""
        chain = best_events(self.calendar, spans, self.breaks())
        if chain is not None:
            self._offer_chain(chain)

    def _spans(self, chain: Sequence[Slot]) -> tuple[Span, ...]:
        spans = cut(self.calendar, chain)
        if spans is None:
            raise Impossible(
                ["The blocks of the weeks gone by do not follow one another in the cycle."]
            )
        return spans

    def _judged(self, codes: tuple[str, ...], spans: Sequence[Span]) -> Judgement:
        blocks = blocks_of(self.problem, spans)
        judgement = judge(self.problem, codes, blocks)
        if not judgement.possible:
            texts = [finding.text for finding in judgement.broken if finding.weight is None]
            raise AssertionError(f"the judge finds a layout impossible: {texts}")
        if self.best is None or _better(judgement, self.best[2]):
            self.best = (codes, blocks, judgement)
            if self.highest_score is not None:
                self.bounded_by(self.highest_score)
        return judgement


def score_of(calendar: Calendar, judgement: Judgement) -> int:
    """The judged layout's score: value in thousandths less its breaks by choice, weighed."""
    by_choice = round(judgement.breaks) - BREAK["target"] * calendar.lost_targets
    return judgement.value_thousandths - by_choice * calendar.break_score


def breaks_and_value(calendar: Calendar, score: int) -> tuple[int, int]:
    """All breaks, and the value in thousandths, of a layout with this score."""
    breaks = breaks_of(calendar, score)
    return breaks + BREAK["target"] * calendar.lost_targets, score + breaks * calendar.break_score


def breaks_of(calendar: Calendar, score: int) -> int:
    """The breaks by choice of a layout with this score."""
    return 10 * ((calendar.highest_value - score) // (10 * calendar.break_score))


def blocks_of(problem: Problem, spans: Sequence[Span]) -> tuple[Block, ...]:
    """Blocks with their days."""
    monday = problem.season.start
    return tuple(
        Block(
            PHASES[phase],
            monday + timedelta(weeks=week),
            monday + timedelta(weeks=week + length, days=-1),
        )
        for phase, week, length in spans
    )


def _cost(chain: Sequence[Slot]) -> int:
    return sum(slot.cost for slot in chain)


def _better(one: Judgement, other: Judgement) -> bool:
    if one.breaks != other.breaks:
        return one.breaks < other.breaks
    return one.value_thousandths > other.value_thousandths


def _even(sides: dict[bool, tuple[int, int]]) -> int:
    """The price at which layouts with more than a limit and with less have the same score, given
    the amount and score of each."""
    (more, score_of_more), (less, score_of_less) = sides[True], sides[False]
    return PER_AMOUNT * (score_of_more - score_of_less) // (more - less)


def by_need(slots: Sequence[Slot]) -> list[Slot]:
    """Pinned events first, then targets, then the others by their worth."""
    return sorted(
        slots, key=lambda slot: (not slot.forced, not slot.target, -slot.value, slot.code)
    )


def chain_of(calendar: Calendar, wanted: Sequence[Slot]) -> list[Slot]:
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
