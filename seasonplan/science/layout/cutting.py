"""How is the season best cut into blocks around a given choice of events? Exact, in milliseconds.

With the events given, what a block costs depends on the block alone, but for the number of
competition blocks and of rest weeks: so a walk from the last week back to the first, with those two
counted as far as the rules ask for them, compares every sequence of blocks.

Scores are whole numbers: value in thousandths less the calendar's `break_score` for each of the
breaks, so that the larger score is the better layout.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from seasonplan.science.layout.calendar import Calendar, Slot
from seasonplan.science.layout.problem import PHASES
from seasonplan.science.layout.rules import TUNE_UP_WINDOW_WEEKS
from seasonplan.science.layout.rules import WEIGHTS as BREAK

PREPARATION, PRE_COMPETITION, COMPETITION, ACTIVE_REST = range(len(PHASES))

Span = tuple[int, int, int]
"""A block: phase, first week, weeks."""

Scores = NDArray[np.int64]

NEVER: Final = -(2**60)
"""The score of what cannot be; sums of a few of them still fit in 64 bits."""


def cut(calendar: Calendar, chain: Sequence[Slot]) -> tuple[Span, ...] | None:
    """The best blocks for these events, or None where the weeks gone by follow no cycle."""
    weeks, limits = calendar.weeks, calendar.limits
    cycles, rest = max(0, limits.min_cycles), max(0, limits.min_rest_weeks)
    costs = block_scores(calendar, chain)
    best = np.full((weeks + 1, 4, cycles + 1, rest + 1), NEVER, dtype=np.int64)
    missing_cycles = cycles - np.arange(cycles + 1)
    missing_rest = rest - np.arange(rest + 1)
    best[weeks] = -calendar.break_score * (
        BREAK["cycles"] * missing_cycles[:, None] + BREAK["rest"] * missing_rest[None, :]
    )
    longest = np.zeros((weeks, 4, cycles + 1, rest + 1), dtype=np.int64)
    more_cycles = np.minimum(np.arange(cycles + 1) + 1, cycles)
    for week in range(weeks - 1, -1, -1):
        lengths = np.arange(1, weeks - week + 1)
        for phase in range(4):
            after = best[week + 1 :, (phase + 1) % 4]
            if phase == COMPETITION:
                after = after[:, more_cycles]
            elif phase == ACTIVE_REST:
                more_rest = np.minimum(np.arange(rest + 1)[None, :] + lengths[:, None], rest)
                after = np.take_along_axis(after, more_rest[:, None, :], axis=2)
            scores = after + costs[phase, week, 1 : len(lengths) + 1, None, None]
            longest[week, phase] = scores.argmax(axis=0) + 1
            best[week, phase] = np.maximum(scores.max(axis=0), NEVER)
    phase, week, has_cycles, has_rest = calendar.first_phase, 0, 0, 0
    if best[0, phase, 0, 0] <= NEVER // 2:
        return None
    spans: list[Span] = []
    while week < weeks:
        length = int(longest[week, phase, has_cycles, has_rest])
        spans.append((phase, week, length))
        if phase == COMPETITION:
            has_cycles = min(cycles, has_cycles + 1)
        elif phase == ACTIVE_REST:
            has_rest = min(rest, has_rest + length)
        week += length
        phase = (phase + 1) % 4
    return tuple(spans)


def length_units(calendar: Calendar, phase: int, week: int, length: int) -> int:
    """Weeks by which a block is too short or too long."""
    least, most = calendar.block_weeks[phase]
    counted = length + (calendar.limits.weeks_already_done if week == 0 else 0)
    if counted > most:
        return counted - most
    ends = week + length == calendar.weeks
    return 0 if ends and phase != COMPETITION else max(0, least - counted)


def block_scores(calendar: Calendar, chain: Sequence[Slot]) -> Scores:
    """Score of each block (phase, first week, weeks) by itself, given the events; [4, W, W + 1]."""
    weeks = calendar.weeks
    pairs = np.zeros((2, weeks + 1), dtype=np.int64)  # event weeks of open events and of targets
    busy = np.zeros(weeks, dtype=np.int64)
    for slot in chain:
        for week in slot.weeks:
            pairs[int(slot.target), week + 1] += 1
            busy[week] = 1
    pairs = pairs.cumsum(axis=1)
    first, last = np.arange(weeks)[:, None], np.arange(weeks)[None, :]
    inside = pairs[:, last + 1] - pairs[:, first]
    breaks = np.zeros((4, weeks, weeks), dtype=np.int64)
    breaks[PREPARATION] = breaks[ACTIVE_REST] = BREAK["phase"] * inside.sum(axis=0)
    tune_ups = _tune_ups(busy, calendar.limits.tune_up_weeks)
    breaks[PRE_COMPETITION] = BREAK["phase"] * (inside[1] + tune_ups)
    targets = sorted(
        (slot.weeks for slot in chain if slot.target), key=lambda these: (these[0], these[-1])
    )
    if targets:
        breaks[COMPETITION] -= BREAK["peak"] * _covered_by_block(calendar, targets)
    scores = bare_block_scores(calendar).copy()
    by_length = np.minimum(first + np.arange(weeks)[None, :], weeks - 1)
    scores[:, :, 1:] -= calendar.break_score * breaks[:, first, by_length]
    return np.maximum(scores, NEVER)


@lru_cache(maxsize=2)
def bare_block_scores(calendar: Calendar) -> Scores:
    """Score of each block (phase, first week, weeks) of a season without events; [4, W, W + 1]."""
    weeks, limits = calendar.weeks, calendar.limits
    scores = np.full((4, weeks, weeks + 1), NEVER, dtype=np.int64)
    fixed = calendar.fixed_phases
    final = max(0, weeks - limits.final_rest_weeks)
    for phase in range(4):
        for week in range(weeks):
            for length in range(1, weeks - week + 1):
                last = week + length - 1
                if last < len(fixed) and fixed[last] not in (None, phase):
                    break
                breaks = BREAK["length"] * length_units(calendar, phase, week, length)
                if phase != ACTIVE_REST:
                    breaks += BREAK["rest"] * max(0, last + 1 - max(final, week))
                value = calendar.phase_value[phase] * length
                scores[phase, week, length] = value - calendar.break_score * breaks
    return scores


def _tune_ups(busy: NDArray[np.int64], most: int) -> Scores:
    """Event weeks too many in the windows of three weeks, of a pre-competition block from one week
    to another; [first, last]."""
    weeks = len(busy)
    first, last = np.arange(weeks)[:, None], np.arange(weeks)[None, :]
    until = np.concatenate(([0], busy.cumsum()))
    excess = np.zeros((weeks, weeks), dtype=np.int64)
    for window in range(weeks - TUNE_UP_WINDOW_WEEKS + 1):
        begins = np.maximum(first, window)
        stops = np.minimum(last, window + TUNE_UP_WINDOW_WEEKS - 1) + 1
        held = until[np.maximum(stops, begins)] - until[begins]
        excess += np.maximum(held - most, 0)
    return excess


def _covered_by_block(calendar: Calendar, targets: Sequence[range]) -> Scores:
    """How many targets the peaks of a competition block can cover; [first, last]."""
    weeks = calendar.weeks
    most = np.zeros((weeks, weeks), dtype=np.int64)
    starts = sorted({these[0] for these in targets})
    ends = sorted({these[-1] for these in targets})
    for after, start in zip([-1, *starts], starts, strict=False):
        for end, before in zip(ends, [*ends[1:], weeks], strict=True):
            # Blocks that begin or end anywhere between two targets hold the same ones.
            most[after + 1 : start + 1, end:before] = covered(calendar, targets, start, end)
    return most


def covered(calendar: Calendar, targets: Sequence[range], first: int, last: int) -> int:
    """How many of these targets (their weeks, in order) the peak windows of the competition block
    first..last can cover."""
    inside = tuple(
        (weeks[0], weeks[-1]) for weeks in targets if first <= weeks[0] and weeks[-1] <= last
    )
    if not inside:
        return 0
    return _most_covered(inside, calendar.limits.peak_weeks, calendar.limits.peak_gap_weeks)


@lru_cache(maxsize=4096)
def _most_covered(targets: tuple[tuple[int, int], ...], longest: int, gap: int) -> int:
    """Most of these (first week, last week) in windows of `longest` weeks, `gap` weeks apart."""

    def most_from(week: int) -> int:
        most = 0
        for start in {first for first, _ in targets if first >= week}:
            for stop in {last for _, last in targets if start <= last < start + longest}:
                held = sum(start <= first and last <= stop for first, last in targets)
                if held:
                    most = max(most, held + most_from(stop + 1 + gap))
        return most

    return most_from(0)
