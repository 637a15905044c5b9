"""A whole season in one walk: every rule may break, and the smallest breaks come out first.

Where rules must break, events may lie anywhere, so the season cannot be cut into stretches. This
walk (`walk.py`) takes it whole: a kind of week is its phase and place in its block, the number of
competition blocks and of rest weeks so far (as far as the rules ask for them), and where the block
stands with its peak windows. Two rules look at all events at once and are left aside: how many
there are, and what they cost; charges on events stand in for them. So its score is a bound for
every layout, and proves its own layout best wherever that keeps those two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Final, NamedTuple

import numpy as np

from seasonplan.science.layout.calendar import Calendar, Slot
from seasonplan.science.layout.cutting import (
    ACTIVE_REST,
    COMPETITION,
    NEVER,
    PRE_COMPETITION,
    Scores,
    covered,
)
from seasonplan.science.layout.rules import TUNE_UP_WINDOW_WEEKS
from seasonplan.science.layout.rules import WEIGHTS as BREAK
from seasonplan.science.layout.walk import (
    POSSIBLE,
    Moves,
    Terrain,
    Walk,
    broken,
    history_scores,
    history_weeks,
    score_of_counts,
)

MOST_WORK: Final = 200_000_000
"""States times events up to which the walk is the quick way: some twenty seconds."""

MOST_STATES: Final = 1_000_000
"""States that fit into memory many times over."""


class Kind(NamedTuple):
    """A week: its phase, its number in its block (the longest length stands for all beyond), the
    competition blocks and rest weeks so far, and the peak.

    `peak`: weeks of the window so far, 0 when a window may begin, -d when one ended d weeks ago.
    `hasty`: the first week of competition after a single week of pre-competition.
    """

    phase: int
    age: int
    cycles: int
    rest: int
    peak: int = 0
    hasty: bool = False


class WholeSeason(Terrain):
    """The kinds of a whole season, and the steps from each to those of the next week."""

    def __init__(self, calendar: Calendar) -> None:
        self.calendar, self._break_score = calendar, calendar.break_score
        limits = calendar.limits
        self.most_cycles, self.most_rest = max(0, limits.min_cycles), max(0, limits.min_rest_weeks)
        targets = sorted(
            (slot.weeks for slot in calendar.slots if slot.target),
            key=lambda weeks: (weeks[0], weeks[-1]),
        )
        self.peaks_meet = covered(calendar, targets, 0, calendar.weeks - 1) < len(targets)
        """Whether targets may be in each other's way, so that windows have to be chosen."""
        first, begun_too_long = self._first()
        waiting = [first._replace(peak=peak) for peak in self._peaks_of_a_first_week(first.phase)]
        self._starts = len(waiting)
        self._start_score = begun_too_long
        self.index = {kind: number for number, kind in enumerate(waiting)}
        steps: dict[tuple[int, int], int] = {}
        for kind in waiting:
            for after, score in self._after(kind):
                if after not in self.index:
                    self.index[after] = len(waiting)
                    waiting.append(after)
                step = (self.index[kind], self.index[after])
                steps[step] = max(score, steps.get(step, NEVER))
        self.kinds = len(waiting)
        self.moves = Moves.of(steps)
        self._all = waiting
        self._phase = np.array([kind.phase for kind in waiting])
        self._value = np.array([calendar.phase_value[kind.phase] for kind in waiting])
        # Weeks of the peak window so far; where windows need not be chosen, all of competition.
        self._peak = np.array(
            [
                0 if kind.phase != COMPETITION else kind.peak if self.peaks_meet else 2
                for kind in waiting
            ]
        )
        self._over: dict[tuple[int, ...], Scores] = {}

    def _first(self) -> tuple[Kind, int]:
        """The season's first week, and the score of what its block has too many weeks before it."""
        limits, phase = self.calendar.limits, self.calendar.first_phase
        age = limits.weeks_already_done + 1
        beyond = max(0, age - self.calendar.block_weeks[phase][1])
        kind = Kind(phase, min(age, self._longest(phase)), 0, 0)
        if phase == COMPETITION:
            kind = kind._replace(cycles=min(1, self.most_cycles))
        elif phase == ACTIVE_REST:
            kind = kind._replace(rest=min(1, self.most_rest))
        return kind, -self._break_score * BREAK["length"] * beyond

    def _longest(self, phase: int) -> int:
        """The age beyond which weeks of a block are not told apart any more."""
        longest = max(1, self.calendar.block_weeks[phase][1])
        near = phase in (PRE_COMPETITION, COMPETITION)
        return max(longest, TUNE_UP_WINDOW_WEEKS) if near else longest

    def _too_short(self, kind: Kind) -> int:
        """Score of the block ending after this week."""
        least = self.calendar.block_weeks[kind.phase][0]
        return -self._break_score * BREAK["length"] * max(0, least - kind.age)

    def _after(self, kind: Kind) -> list[tuple[Kind, int]]:
        """What the next week may be, with the score of the step."""
        stays = kind._replace(age=min(kind.age + 1, self._longest(kind.phase)), hasty=False)
        if kind.phase == ACTIVE_REST:
            stays = stays._replace(rest=min(kind.rest + 1, self.most_rest))
        too_long = kind.age >= self.calendar.block_weeks[kind.phase][1]
        score = -self._break_score * BREAK["length"] * too_long
        found = [(stays._replace(peak=peak), score) for peak in self._peaks_after(kind)]
        new = Kind((kind.phase + 1) % 4, 1, kind.cycles, kind.rest)
        if new.phase == COMPETITION:
            new = new._replace(cycles=min(kind.cycles + 1, self.most_cycles), hasty=kind.age == 1)
        elif new.phase == ACTIVE_REST:
            new = new._replace(rest=min(kind.rest + 1, self.most_rest))
        peaks = self._peaks_of_a_first_week(new.phase)
        found += [(new._replace(peak=peak), self._too_short(kind)) for peak in peaks]
        return found

    def _peaks_of_a_first_week(self, phase: int) -> list[int]:
        """Where the peak windows may stand in the first week of a block."""
        return self._peaks_after(Kind(phase, 1, 0, 0))

    def _peaks_after(self, kind: Kind) -> list[int]:
        """Where the peak windows of a competition block may stand in its next week."""
        limits = self.calendar.limits
        if kind.phase != COMPETITION or not self.peaks_meet or limits.peak_weeks < 1:
            return [0]
        if kind.peak == 0:
            return [0, 1]
        idle_weeks = 1 - min(0, kind.peak)
        found = [-idle_weeks if idle_weeks < limits.peak_gap_weeks else 0]
        if 0 < kind.peak < limits.peak_weeks:
            found.append(kind.peak + 1)
        if kind.peak > 0 and limits.peak_gap_weeks == 0:
            found.append(1)
        return found

    def begins(self, week: int) -> Scores:
        scores = np.full(self.kinds, NEVER, dtype=np.int64)
        if week == 0:
            scores[: self._starts] = self._start_score
        return scores

    def event_week(self, week: int, slot: Slot, peak: bool) -> Scores:
        fits = self._phase == COMPETITION
        if not slot.target:
            fits = fits | (self._phase == PRE_COMPETITION)
        scores = broken(self.calendar, "phase", ~fits)
        if peak:
            scores[self._peak < (1 if week == slot.weeks[0] else 2)] = NEVER
        return scores

    def week_over(self, week: int) -> Scores:
        calendar = self.calendar
        # Only near its ends does the season have fewer windows that hold a week.
        place = (min(week, TUNE_UP_WINDOW_WEEKS), min(calendar.weeks - week, TUNE_UP_WINDOW_WEEKS))
        if place not in self._over:
            self._over[place] = self._weeks_over(week)
        scores = self._over[place]
        alone = self._value.copy()
        if week >= calendar.weeks - calendar.limits.final_rest_weeks:
            alone -= self._break_score * BREAK["rest"] * (self._phase != ACTIVE_REST)
        fixed = calendar.fixed_phases
        if week < len(fixed) and fixed[week] is not None:
            alone = np.where(self._phase == fixed[week], alone, NEVER)
        over: Scores = np.maximum(scores + alone[:, None], NEVER)
        return over

    def _weeks_over(self, week: int) -> Scores:
        calendar = self.calendar
        rows: dict[tuple[int, ...], Scores] = {}
        found = []
        for kind in self._all:
            backs = tuple(back for back in range(TUNE_UP_WINDOW_WEEKS) if self._was_pre(kind, back))
            if backs not in rows:
                rows[backs] = history_scores(calendar, week, backs)
            found.append(rows[backs])
        return np.array(found)

    def _was_pre(self, kind: Kind, back: int) -> bool:
        """Whether the week so many weeks before was pre-competition, as far as it can matter."""
        if kind.phase == PRE_COMPETITION:
            return back < kind.age
        if kind.phase == COMPETITION:
            return kind.age <= back and not (kind.hasty and back > 1)
        return False

    def ends(self) -> Scores:
        """Score of each kind as the season's last week."""
        scores = []
        for kind in self._all:
            breaks = BREAK["cycles"] * (self.most_cycles - kind.cycles)
            breaks += BREAK["rest"] * (self.most_rest - kind.rest)
            too_short = self._too_short(kind) if kind.phase == COMPETITION else 0
            scores.append(too_short - self._break_score * breaks)
        return np.array(scores)


@dataclass(frozen=True, slots=True)
class Best:
    """The events of the best layout and its score, less what they were charged.

    Where events are not counted, the score says nothing of their number.
    """

    chain: list[Slot]
    score: int


class Seasons:
    """Walks through one calendar."""

    def __init__(self, calendar: Calendar) -> None:
        self.calendar = calendar
        self.terrain = WholeSeason(calendar)

    def apply(self, most_breaks: int) -> bool:
        """Whether the walk has few enough states to be quick."""
        return self._is_quick(0, most_breaks)

    def can_count(self, most_events: int, most_breaks: int) -> bool:
        """Whether there is room to count so many events as well."""
        return self._is_quick(most_events, most_breaks)

    def _is_quick(self, most_events: int, most_breaks: int) -> bool:
        states = self.terrain.kinds * (most_events + 1) << history_weeks(self.calendar)
        if states > MOST_STATES or states * len(self.calendar.slots) > MOST_WORK:
            return False
        return self._walk(most_events=most_events, most_breaks=most_breaks).fits()

    def best(
        self, deadline: float, most_breaks: int, charges: Sequence[int] | None = None
    ) -> Best | None:
        """The best with any number of events and at most so many breaks, less the charge
        (thousandths) of each slot played; None where there is none, or charges are out of size."""
        walk = self._walk(most_breaks=most_breaks, charges=charges, deadline=deadline)
        return self._best(walk) if walk.fits() else None

    def best_counting(self, deadline: float, most_events: int, most_breaks: int) -> Best | None:
        """The best with at most so many events and breaks."""
        walk = self._walk(most_events=most_events, most_breaks=most_breaks, deadline=deadline)
        return self._best(walk)

    def best_by_count(
        self, deadline: float, most_events: int, most_breaks: int
    ) -> list[Best | None]:
        """The best with exactly 0, 1, ... most_events events, whatever the limits say of their
        number; None where none has so few breaks, or nearly."""
        walk = self._walk(most_events=most_events, most_breaks=most_breaks, deadline=deadline)
        scores = np.full((self.terrain.kinds, most_events + 1), NEVER, dtype=np.int64)
        for _, labelled in walk.weeks():
            scores = labelled
        scores = scores + self.terrain.ends()[:, None] * (1 << walk.label_bits)
        return [self._read(walk, int(best)) for best in scores.max(axis=0)]

    def _walk(
        self,
        *,
        most_events: int = 0,
        most_breaks: int,
        charges: Sequence[int] | None = None,
        deadline: float = inf,
    ) -> Walk:
        return Walk(
            self.calendar,
            self.terrain,
            most_breaks,
            most_events,
            peaks=True,
            charges=charges,
            deadline=deadline,
        )

    def _best(self, walk: Walk) -> Best | None:
        calendar, counted = self.calendar, walk.most_events
        scores = np.full((self.terrain.kinds, counted + 1), NEVER, dtype=np.int64)
        for _, labelled in walk.weeks():
            scores = labelled
        ends = self.terrain.ends()[:, None]
        if counted:
            ends = ends + score_of_counts(calendar, counted)[None, :]
        return self._read(walk, int((scores + ends * (1 << walk.label_bits)).max()))

    def _read(self, walk: Walk, best: int) -> Best | None:
        """The layout of a labelled score at the season's end."""
        calendar = self.calendar
        if best <= POSSIBLE:
            return None
        targets = sum(slot.target for slot in calendar.slots)
        score = walk.score(best) + calendar.base_value
        score -= calendar.break_score * BREAK["target"] * targets
        return Best(walk.chain(best), score)
