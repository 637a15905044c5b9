"""How good can the season be with fewer events, or with more? A curve, and three shapes to choose.

One walk that counts events (`whole.py`) finds the best layout for every number of them, which the
judge measures. A number of events is then the question itself, so the limits on it (at most so
many, and how many are wanted) are set aside: a coach sees what lies beyond them, too. All other
rules count as always.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from math import inf
from typing import Final, Literal

from seasonplan.science.layout.calendar import Calendar, Impossible
from seasonplan.science.layout.cutting import cut
from seasonplan.science.layout.problem import Block, Problem
from seasonplan.science.layout.rules import WEIGHTS as BREAK
from seasonplan.science.layout.rules import Judgement, judge
from seasonplan.science.layout.solver import Layout, blocks_of, breaks_of, lay_out, score_of
from seasonplan.science.layout.whole import Best, Seasons

MORE_BREAKS: Final = 100
"""So many breaks more than the last layout's are looked for where a number of events needs them."""

SHARE: Final = 1 / 3
"""A lighter season has about so much fewer events, a fuller one so much more (common practice, no
source: enough to feel it, little enough to be a season of the same kind)."""

_SETTLES: Final = 1000.0
"""Value of an event too few at which no other value is worth one."""


@dataclass(frozen=True, slots=True)
class Point:
    """The best layout with exactly so many events.

    `status` is "proven" where no layout with this number of events is better; else it is the best
    found. `more_breaks`: beyond those of the layout that the curve is about, the number of events
    aside. `over_limit`: more than the coach's limit allows. `judgement` is measured with the limits
    on the number of events set aside.
    """

    events: int
    status: Literal["proven", "best found"]
    more_breaks: int
    over_limit: bool
    codes: tuple[str, ...]
    blocks: tuple[Block, ...]
    judgement: Judgement

    @property
    def breaks(self) -> float:
        """Units times weight of all rules but that on the number of events."""
        return self.judgement.breaks

    @property
    def value(self) -> float:
        """What the layout is worth, among those of the same breaks."""
        return self.judgement.value

    @property
    def figures(self) -> Figures:
        """The figures to compare it by."""
        judged = self.judgement
        return Figures(
            events=self.events,
            event_weeks=judged.event_weeks,
            weeks_away=judged.weeks_away,
            longest_run=judged.longest_run,
            flight_hours=judged.flight_hours,
            missing_days=judged.missing_days,
            rest_weeks=judged.rest_weeks,
            cost=judged.cost,
            value=judged.value,
            breaks=judged.breaks,
        )


@dataclass(frozen=True, slots=True)
class Figures:
    """What a season of this shape asks: weeks with an event, weeks with four days or more away from
    home, the longest run of event weeks, hours of flight, days missing to get used to places, weeks
    of active rest, what the events cost, and the value and breaks."""

    events: int
    event_weeks: int
    weeks_away: int
    longest_run: int
    flight_hours: float
    missing_days: int
    rest_weeks: int
    cost: float
    value: float
    breaks: float


@dataclass(frozen=True, slots=True)
class Shapes:
    """Three seasons to choose from; None where no number of events that is lighter, or fuller, does
    without more breaks."""

    lighter: Point | None
    balanced: Point
    fuller: Point | None


def curve(
    problem: Problem,
    layout: Layout,
    *,
    fewest: int | None = None,
    most: int | None = None,
    seconds: float | None = None,
) -> Iterator[Point]:
    """The best layout for each number of events, from half of the layout's to half as many again
    (or from `fewest` to `most`), in ascending order. Numbers for which none was found are left out.
    """
    number = len(layout.events)
    first = number // 2 if fewest is None else fewest
    last = number + -(-number // 2) if most is None else most
    found = _Curve(problem, layout, last, seconds).points(first)
    yield from (found[events] for events in sorted(found))


def shapes(points: Sequence[Point], layout: Layout) -> Shapes:
    """Lighter, balanced and fuller layouts from a curve of the layout's problem.

    Balanced is the number of events of the layout, the best of any number. Lighter has about a
    third fewer and fuller about a third more, or as near to that as can be without more breaks than
    balanced. Raises ValueError where the curve does not hold the layout's number.
    """
    number = len(layout.events)
    by_number = {point.events: point for point in points}
    if number not in by_number:
        raise ValueError(f"the curve says nothing of {number} events")
    balanced = by_number[number]
    step = max(1, round(number * SHARE))

    def nearest(wanted: int, side: Sequence[int]) -> Point | None:
        sound = [
            by_number[events]
            for events in side
            if events in by_number and by_number[events].breaks <= balanced.breaks
        ]
        return min(sound, key=lambda point: abs(point.events - wanted), default=None)

    return Shapes(
        lighter=nearest(number - step, range(number)),
        balanced=balanced,
        fuller=nearest(number + step, range(number + 1, max(by_number) + 1)),
    )


def pays_until(points: Sequence[Point]) -> int:
    """The number of events of the best point: with one more, breaks or value are no better."""
    best = min(points, key=lambda point: (point.breaks, -point.value, point.events))
    return best.events


class _Curve:
    def __init__(self, problem: Problem, layout: Layout, most: int, seconds: float | None) -> None:
        self.deadline = inf if seconds is None else time.monotonic() + seconds
        self.problem, self.last = problem, layout
        self.calendar = Calendar(problem)
        self.most = max(1, min(most, len(self.calendar.slots)))
        over = sum(found.units for found in layout.judgement.broken if found.rule == "count")
        self.breaks = round(layout.breaks) - BREAK["count"] * over
        """Breaks of the layout, the number of events aside."""

    def points(self, fewest: int) -> dict[int, Point]:
        """By number of events, from the fewest on."""
        seasons = Seasons(self.calendar)
        found: dict[int, Point] = {}
        least = self.breaks - BREAK["target"] * self.calendar.lost_targets
        with suppress(TimeoutError):
            for breaks in (least, least + MORE_BREAKS):
                open_numbers = [
                    events
                    for events in range(max(0, fewest), self.most + 1)
                    if events not in found or found[events].status != "proven"
                ]
                if open_numbers and seasons.can_count(self.most, breaks):
                    self._walk(seasons, breaks, open_numbers, found)
        for events in range(max(0, fewest), self.most + 1):
            # The walk leaves costs aside, and more breaks than it was allowed.
            known = found.get(events)
            in_budget = known is not None and self.problem.limits.budget is None
            if in_budget or (known is not None and known.status == "proven"):
                continue
            point = self._solved(events)
            if point is not None and (known is None or _no_worse(point, known)):
                found[events] = point
        return found

    def _walk(
        self, seasons: Seasons, breaks: int, numbers: Sequence[int], found: dict[int, Point]
    ) -> None:
        walked = seasons.best_by_count(self.deadline, self.most, breaks)
        for events in numbers:
            if (best := walked[events]) is None:
                continue
            proven = breaks_of(self.calendar, best.score) <= breaks
            point = self._point(events, best, proven)
            if point is not None:
                found[events] = point

    def _point(self, events: int, best: Best, proven: bool) -> Point | None:
        """The judged layout of a walk; proven only where the judge finds the walk's score."""
        spans = cut(self.calendar, best.chain)
        if spans is None:
            return None
        problem = self._asked(events)
        codes, blocks = tuple(slot.code for slot in best.chain), blocks_of(problem, spans)
        judgement = judge(problem, codes, blocks)
        score = score_of(self.calendar, judgement)
        if proven and score > best.score:
            raise AssertionError(f"{events} events score {score}, at most {best.score}")
        return self._made(events, proven and score == best.score, codes, blocks, judgement)

    def _solved(self, events: int) -> Point | None:
        """What the solver finds in the time that is left, where it has as many events."""
        asked = self._asked(events)
        wanted = replace(asked.limits, min_events=events, short_weight=_SETTLES)
        left = None if self.deadline == inf else max(0.0, self.deadline - time.monotonic())
        try:
            layout = lay_out(replace(asked, limits=wanted), seconds=left, start=self.last.events)
        except Impossible:
            return None
        if len(layout.events) != events:
            return None
        judgement = judge(asked, layout.events, layout.blocks)
        proven = layout.status == "proven"
        return self._made(events, proven, layout.events, layout.blocks, judgement)

    def _asked(self, events: int) -> Problem:
        """The problem with the limits on the number of events set aside."""
        limits = replace(self.problem.limits, max_events=events, min_events=0)
        return replace(self.problem, limits=limits)

    def _made(
        self,
        events: int,
        proven: bool,
        codes: tuple[str, ...],
        blocks: tuple[Block, ...],
        judgement: Judgement,
    ) -> Point:
        return Point(
            events=events,
            status="proven" if proven else "best found",
            more_breaks=round(judgement.breaks) - self.breaks,
            over_limit=events > self.problem.limits.max_events,
            codes=codes,
            blocks=blocks,
            judgement=judgement,
        )


def _no_worse(one: Point, other: Point) -> bool:
    return (one.breaks, -one.value) <= (other.breaks, -other.value)
