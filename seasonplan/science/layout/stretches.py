"""A season in which no rule breaks, solved exactly without a search.

Where no rule breaks, events lie in *stretches*: a pre-competition block and the competition block
after it. Between two stretches lie active rest and preparation, so that the player is home, rested,
and nothing before is looked back at any more. Stretches therefore meet only in the order of blocks
and in three counts: competition blocks, rest weeks and events. One walk over all stretches at once
(`walk.py`) finds the best events of each, by number; a second walk over the blocks puts the season
together.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from seasonplan.science.layout.calendar import Calendar
from seasonplan.science.layout.cutting import (
    ACTIVE_REST,
    BREAK_SCORE,
    COMPETITION,
    NEVER,
    PRE_COMPETITION,
    PREPARATION,
    Scores,
    Span,
    covered,
    length_units,
)
from seasonplan.science.layout.rules import QUIET_BEFORE_WEEKS, TUNE_UP_WINDOW_WEEKS
from seasonplan.science.layout.walk import (
    PLAYED_SCORE,
    Terrain,
    Walk,
    broken,
    history_weeks,
    score_of_counts,
    too_long,
)

MOST_STATES = 40_000
"""Kinds of weeks times histories times numbers of events up to which the walk is the quick way."""


def applies(calendar: Calendar) -> bool:
    """Whether the limits keep stretches apart, and the walk has few enough states."""
    limits = calendar.limits
    (prep, _), (_, pre), (_, competition), (rest, _) = calendar.block_weeks
    apart_weeks = max(prep, 1) + max(rest, 1)
    overhang = max(
        (
            max(7 * slot.weeks[0] - slot.start, slot.end - 7 * slot.weeks[-1] - 6)
            for slot in calendar.slots
        ),
        default=0,
    )
    apart_days = 7 * apart_weeks - 2 * max(overhang, 0)
    longest_need = max((leg.need for leg in calendar.from_home), default=0)
    states = Stretches(calendar).kinds * 2 ** history_weeks(calendar) * (limits.max_events + 1)
    return (
        limits.home_gap_days >= 7
        and apart_days >= max(limits.home_gap_days, longest_need) + 2
        and apart_weeks >= QUIET_BEFORE_WEEKS
        and calendar.weeks >= TUNE_UP_WINDOW_WEEKS
        and states <= MOST_STATES
        and pre >= 1
        and competition >= 1
    )


class Stretches(Terrain):
    """All stretches at once: a kind is the week's number in its stretch.

    `pre[a]` is week a of a pre-competition block, a = 0 being the week before it, in which an event
    may begin whose weeks come later; `comp[p, b]` is week b of a competition block after p weeks of
    pre-competition, p = 0 where the season begins with competition.
    """

    def __init__(self, calendar: Calendar) -> None:
        self.calendar = calendar
        (self.least_pre, self.most_pre), (self.least_comp, self.most_comp) = (
            calendar.block_weeks[PRE_COMPETITION],
            calendar.block_weeks[COMPETITION],
        )
        self.least_pre = max(1, self.least_pre)
        self.least_comp = max(1, self.least_comp)
        done = calendar.limits.weeks_already_done
        self.pre = {age: age for age in range(self.most_pre + 1)}
        self.comp: dict[tuple[int, int], int] = {}
        before = [-1, *range(self.most_pre)]
        lengths = list(range(self.least_pre, self.most_pre + 1))
        if calendar.first_phase == COMPETITION:
            lengths.append(0)
        for pre in lengths:
            for age in range(1, self.most_comp + 1):
                self.comp[pre, age] = len(before)
                first = self.pre[pre] if pre else -1
                before.append(first if age == 1 else self.comp[pre, age - 1])
        self.kinds = len(before)
        self.before = np.array(before, dtype=np.intp)
        self.first_kind = {
            PRE_COMPETITION: self.pre.get(done + 1),
            COMPETITION: self.comp.get((0, done + 1)),
        }.get(calendar.first_phase)
        is_pre, is_comp = np.zeros((2, self.kinds), dtype=bool)
        is_pre[1 : self.most_pre + 1] = True
        is_comp[list(self.comp.values())] = True
        self._open_weeks = np.where(is_pre | is_comp, 0, NEVER)
        self._target_weeks = np.where(is_comp, 0, NEVER)
        self._over = self._weeks_over()
        self._phase = np.where(is_pre, PRE_COMPETITION, np.where(is_comp, COMPETITION, PREPARATION))

    def begins(self, week: int) -> Scores:
        scores = np.full(self.kinds, NEVER, dtype=np.int64)
        scores[0] = 0
        kind = self.first_kind if week == 0 else 1
        if kind is not None and kind < self.kinds:
            scores[kind] = 0
        return scores

    def event_week(self, week: int, target: bool) -> Scores:
        return self._target_weeks if target else self._open_weeks

    def week_over(self, week: int) -> Scores:
        fixed = self.calendar.fixed_phases
        if week < len(fixed) and fixed[week] is not None:
            wrong = np.where(self._phase == fixed[week], 0, NEVER)
            return np.maximum(self._over + wrong[:, None], NEVER)
        return self._over

    def _weeks_over(self) -> Scores:
        limits = self.calendar.limits
        histories = np.arange(1 << history_weeks(self.calendar))
        scores = np.zeros((self.kinds, len(histories)), dtype=np.int64)
        scores += broken("run", too_long(histories, limits.max_run), hard=True)
        window = range(TUNE_UP_WINDOW_WEEKS)
        in_pre = {kind: [back for back in window if back < age] for age, kind in self.pre.items()}
        for (pre, age), kind in self.comp.items():
            in_pre[kind] = [back for back in window if age <= back < age + pre]
        for kind, backs in in_pre.items():
            held = sum(((histories >> back) & 1 for back in backs), np.zeros_like(histories))
            scores[kind] += broken("phase", np.maximum(held - limits.tune_up_weeks, 0), hard=True)
        return np.maximum(scores, NEVER)


@dataclass(frozen=True, slots=True)
class Season:
    """The best blocks, and the value in thousandths of the best layout that has them."""

    spans: tuple[Span, ...]
    value: int


def season(calendar: Calendar) -> Season | None:
    """The best season in which no rule breaks, budget left aside; None where there is none.

    Asks that `applies` holds. Targets that no layout can play are left aside, too.
    """
    return _Together(calendar).best()


Node = tuple[int, int]
"""A week, and the phase of the block that begins with it."""


@dataclass(frozen=True, slots=True)
class _Part:
    """Blocks from one node to another, with their scores by number of events played in them."""

    start: Node
    stop: Node
    spans: tuple[Span, ...]
    scores: Scores


class _Together:
    """The walk over the blocks: by competition blocks, rest weeks and events so far."""

    def __init__(self, calendar: Calendar) -> None:
        self.calendar = calendar
        limits = calendar.limits
        self.cycles, self.rest = max(0, limits.min_cycles), max(0, limits.min_rest_weeks)
        self.most = min(len(calendar.slots), limits.max_events)
        self.targets = sorted(
            (slot.weeks for slot in calendar.slots if slot.target),
            key=lambda weeks: (weeks[0], weeks[-1]),
        )
        self.into: dict[Node, list[_Part]] = {}
        for part in (*self._plain(), *self._stretches()):
            self.into.setdefault(part.stop, []).append(part)
        self.reached: dict[Node, Scores] = {}

    def _plain(self) -> Iterator[_Part]:
        """Preparation and active rest."""
        calendar, weeks = self.calendar, self.calendar.weeks
        fixed = calendar.fixed_phases
        for phase in (PREPARATION, ACTIVE_REST):
            for week in range(weeks):
                for length in range(1, weeks - week + 1):
                    last = week + length - 1
                    if last < len(fixed) and fixed[last] not in (None, phase):
                        break
                    if length_units(calendar, phase, week, length) == 0:
                        yield _Part(
                            (week, phase),
                            (week + length, (phase + 1) % 4),
                            ((phase, week, length),),
                            np.array([calendar.phase_value[phase] * length]),
                        )

    def _stretches(self) -> Iterator[_Part]:
        calendar = self.calendar
        terrain = Stretches(calendar)
        done, first_phase = calendar.limits.weeks_already_done, calendar.first_phase
        walk = Walk(calendar, terrain, self.most, hard=True, traced=False)
        worth = calendar.phase_value[PRE_COMPETITION]
        for last, scores in walk.weeks():
            for (pre, age), kind in terrain.comp.items():
                start = last - age - pre + 1
                if scores[kind].max() <= NEVER // 2 or age < terrain.least_comp:
                    continue
                competition = max(0, last - age + 1)
                inside = [
                    these
                    for these in self.targets
                    if competition <= these[0] and these[-1] <= last
                ]
                if covered(calendar, inside, competition, last) < len(inside):
                    continue
                # A block that began before the season has less of its weeks in it.
                begun = start <= 0 and first_phase in (PRE_COMPETITION, COMPETITION)
                start = 0 if begun and start == -done else start
                spans: list[Span] = []
                if pre:
                    spans.append((PRE_COMPETITION, start, competition - start))
                spans.append((COMPETITION, competition, last + 1 - competition))
                yield _Part(
                    (start, PRE_COMPETITION if pre else COMPETITION),
                    (last + 1, ACTIVE_REST),
                    tuple(spans),
                    np.maximum(scores[kind] + worth * (competition - start), NEVER),
                )
            if last == calendar.weeks - 1:
                for age, kind in terrain.pre.items():
                    start = last - age + 1
                    if age == 0 or scores[kind].max() <= NEVER // 2:
                        continue
                    start = max(0, start)
                    yield _Part(
                        (start, PRE_COMPETITION),
                        (last + 1, COMPETITION),
                        ((PRE_COMPETITION, start, last + 1 - start),),
                        np.maximum(scores[kind] + worth * (last + 1 - start), NEVER),
                    )

    def best(self) -> Season | None:
        calendar, limits = self.calendar, self.calendar.limits
        shape = (self.cycles + 1, self.rest + 1, self.most + 1)
        first = np.full(shape, NEVER, dtype=np.int64)
        first[0, 0, 0] = 0
        self.reached[0, calendar.first_phase] = first
        for node in sorted(self.into):
            if node == (0, calendar.first_phase):
                continue
            scores = np.full(shape, NEVER, dtype=np.int64)
            for part in self.into[node]:
                if part.start in self.reached:
                    self._go(self.reached[part.start], part, scores)
            self.reached[node] = scores
        musts = sum(slot.target for slot in calendar.slots)
        musts += sum(slot.forced for slot in calendar.slots)
        best: tuple[int, Node, int] | None = None
        for phase in range(4):
            node = (calendar.weeks, phase)
            if node not in self.reached:
                continue
            totals = self.reached[node][self.cycles, self.rest] + score_of_counts(
                calendar, self.most
            )
            played = int(totals.argmax())
            if best is None or totals[played] > best[0]:
                best = (int(totals[played]), node, played)
        if best is None or best[0] < musts * PLAYED_SCORE - BREAK_SCORE:
            return None
        spans = self._back(best[1], best[2])
        return Season(spans, best[0] - musts * PLAYED_SCORE + calendar.base_value)

    def _moves(self, part: _Part) -> tuple[int, int]:
        """Competition blocks and weeks of rest that a part adds."""
        cycles = sum(phase == COMPETITION for phase, _, _ in part.spans)
        rest = sum(length for phase, _, length in part.spans if phase == ACTIVE_REST)
        return cycles, rest

    def _ends_well(self, part: _Part) -> bool:
        """Whether the season may end with the part: its last weeks are active rest."""
        weeks = self.calendar.weeks
        if part.stop[0] < weeks:
            return True
        final = max(0, weeks - self.calendar.limits.final_rest_weeks)
        phase, week, _ = part.spans[-1]
        return final == weeks or (phase == ACTIVE_REST and week <= final)

    def _go(self, before: Scores, part: _Part, after: Scores) -> None:
        """Better the scores at the end of a part by those of coming through it."""
        if not self._ends_well(part):
            return
        cycles, rest = self._moves(part)
        moved = _capped(_capped(before, 0, cycles), 1, rest)
        for played, score in enumerate(part.scores.tolist()):
            if score <= NEVER // 2 or played > self.most:
                continue
            came = moved[:, :, : self.most + 1 - played] + score
            np.maximum(after[:, :, played:], came, out=after[:, :, played:])

    def _back(self, node: Node, played: int) -> tuple[Span, ...]:
        """The blocks of the best season, found from its end: each part that explains the score."""
        spans: list[Span] = []
        at = (self.cycles, self.rest, played)
        while node != (0, self.calendar.first_phase):
            score = int(self.reached[node][at])
            part, at = next(self._explained(node, at, score))
            spans[:0] = part.spans
            node = part.start
        return tuple(spans)

    def _explained(
        self, node: Node, at: tuple[int, int, int], score: int
    ) -> Iterator[tuple[_Part, tuple[int, int, int]]]:
        for part in self.into[node]:
            if part.start not in self.reached or not self._ends_well(part):
                continue
            cycles, rest = self._moves(part)
            before = self.reached[part.start]
            for has_cycles in range(self.cycles + 1):
                if min(self.cycles, has_cycles + cycles) != at[0]:
                    continue
                for has_rest in range(self.rest + 1):
                    if min(self.rest, has_rest + rest) != at[1]:
                        continue
                    for more in range(min(at[2], len(part.scores) - 1) + 1):
                        place = (has_cycles, has_rest, at[2] - more)
                        if int(before[place]) + int(part.scores[more]) == score:
                            yield part, place


def _capped(scores: Scores, axis: int, step: int) -> Scores:
    """Scores moved up an axis by `step`; what goes beyond its end counts at the end."""
    if step == 0:
        return scores
    length = scores.shape[axis]
    moved = np.full_like(scores, NEVER)
    for place in range(length):
        source = np.take(scores, place, axis=axis)
        index = [slice(None)] * scores.ndim
        index[axis] = slice(min(length - 1, place + step), min(length - 1, place + step) + 1)
        into = moved[tuple(index)]
        np.maximum(into, np.expand_dims(source, axis), out=into)
    return moved
