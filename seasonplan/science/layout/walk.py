"""The best events for weeks of known kinds, found by one walk through the season, week by week.

At any moment the walk holds, for each place the player may be (at an event, back home since some
day, or not yet away), the best score of every *state*: what kind of week it is (the `Terrain` knows
which kinds there are and how one follows another), which of the last weeks were event weeks, and
how many events were played. An event joins by the best way to it from each of those places. That is
exact: no rule looks further back.

Scores are those of `cutting.py`: value in thousandths less the breaks, and no sum of rules that may
not break is ever mistaken for a layout.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from seasonplan.science.layout.calendar import Calendar, Slot
from seasonplan.science.layout.cutting import (
    BREAK_SCORE,
    COMPETITION,
    NEVER,
    PRE_COMPETITION,
    Scores,
    Span,
)
from seasonplan.science.layout.rules import QUIET_BEFORE_WEEKS, TUNE_UP_WINDOW_WEEKS
from seasonplan.science.layout.rules import WEIGHTS as BREAK

Trace = NDArray[np.int32]

PLAYED_SCORE: Final = 10**4 * BREAK_SCORE
"""Score of an event that must be played: more than all breaks that it could bring."""


class Terrain(ABC):
    """Which kinds of weeks there are, in what order, and what event weeks cost in them."""

    kinds: int
    """Number of kinds."""

    before: NDArray[np.intp]
    """For each kind, the kind of the week before; -1 where a walk can only begin in it."""

    @abstractmethod
    def begins(self, week: int) -> Scores:
        """Score of each kind for a walk that begins with this week: 0 or NEVER; [kinds]."""

    @abstractmethod
    def event_week(self, week: int, target: bool) -> Scores:
        """Score of an event's week being of each kind; [kinds]."""

    @abstractmethod
    def week_over(self, week: int) -> Scores:
        """Score of each kind with each history of event weeks (bit 0: this week); [kinds, 2^k]."""


@dataclass(slots=True)
class _Place:
    """Where the player may be, with the scores of all states there; [kinds, histories, events]."""

    scores: Scores
    trace: Trace | None
    slot: Slot | None = None
    home_since: int | None = None
    back: int = 0


class Walk:
    """One walk over a terrain; `hard` walks break no rule, others pay for it.

    After each week `over(week)` gives the best scores by kind and number of events of all walks
    that end at home with it, as [kinds, events].
    """

    def __init__(
        self, calendar: Calendar, terrain: Terrain, most_events: int, *, hard: bool, traced: bool
    ) -> None:
        self.calendar, self.terrain, self.hard, self.traced = calendar, terrain, hard, traced
        self.history = 1 << history_weeks(calendar)
        self.shape = (terrain.kinds, self.history, most_events + 1)
        self.not_away = self._nowhere()
        self.home = self._nowhere()
        self.at_events: dict[int, _Place] = {}
        self.back_home: dict[tuple[int, int], _Place] = {}
        self.parents: dict[int, Trace] = {}
        self.last_trace = np.full((terrain.kinds, most_events + 1), -1, dtype=np.int32)
        longest_need = max((leg.need for leg in calendar.from_home), default=0)
        self.rested_after = max(calendar.limits.home_gap_days + 2, longest_need + 2)
        self.starting: dict[int, list[int]] = defaultdict(list)
        for index, slot in enumerate(calendar.slots):
            self.starting[slot.start // 7].append(index)
        self.reached_from: dict[int, list[tuple[int, int, int]]] = defaultdict(list)
        for index, ways in enumerate(calendar.onward):
            for way in ways:
                self.reached_from[way.to].append((index, way.tenths, way.missing))
        quiet_weeks = 2**QUIET_BEFORE_WEEKS - 1
        self.quiet_excess = np.array(
            [
                max(0, (history & quiet_weeks).bit_count() - calendar.limits.quiet_weeks)
                for history in range(self.history)
            ]
        )

    def _nowhere(self) -> _Place:
        trace = np.full(self.shape, -1, dtype=np.int32) if self.traced else None
        return _Place(np.full(self.shape, NEVER, dtype=np.int64), trace)

    def weeks(self) -> Iterator[tuple[int, Scores]]:
        """Walk; after each week its number and the best scores of going home with it."""
        for week in range(self.calendar.weeks):
            self._open(week)
            for index in self.starting[week]:
                self._join(week, index)
            self._close(week)
            yield week, self._over(week)
            self._forget(week)

    # One week.

    def _places(self) -> list[_Place]:
        return [self.not_away, self.home, *self.at_events.values(), *self.back_home.values()]

    def _open(self, week: int) -> None:
        """The week begins: kinds follow one another, the histories move on by a week."""
        came = self.terrain.before
        valid = came >= 0
        half = self.history // 2
        for place in self._places():
            old = place.scores[came[valid]]
            new = np.full(self.shape, NEVER, dtype=np.int64)
            bit, gained = 0, None
            slot = place.slot
            if slot is not None and week in slot.weeks:
                bit, gained = 1, self.terrain.event_week(week, slot.target)
            if place.trace is None:
                new[valid, bit::2] = np.maximum(old[:, :half], old[:, half:])
            else:
                trace = place.trace[came[valid]]
                later = old[:, half:] > old[:, :half]
                new[valid, bit::2] = np.where(later, old[:, half:], old[:, :half])
                moved = np.full(self.shape, -1, dtype=np.int32)
                moved[valid, bit::2] = np.where(later, trace[:, half:], trace[:, :half])
                place.trace = moved
            if gained is not None:
                new += gained[:, None, None]
                np.maximum(new, NEVER, out=new)
            place.scores = new
        begins = self.terrain.begins(week)
        np.maximum(self.not_away.scores[:, 0, 0], begins, out=self.not_away.scores[:, 0, 0])

    def _join(self, week: int, index: int) -> None:
        """The event joins, by the best way from each place the player may be."""
        calendar, slot = self.calendar, self.calendar.slots[index]
        place = self._nowhere()
        place.slot = slot
        for before, tenths, missing in self.reached_from[index]:
            self._come(place, self.at_events.get(before), tenths, missing)
        leg = calendar.from_home[index]
        self._come(place, self.not_away, leg.tenths, max(0, leg.need - slot.start))
        self._come(place, self.home, leg.tenths, 0)
        for (back, since), home in self.back_home.items():
            gap = slot.start - since
            if gap >= max(calendar.limits.home_gap_days, leg.travel + back):
                self._come(place, home, leg.tenths, max(0, leg.need + back - gap))
        scores = place.scores
        scores += slot.value
        if slot.forced:
            scores += PLAYED_SCORE
        if slot.target:
            scores += PLAYED_SCORE if self.hard else BREAK_SCORE * BREAK["target"]
            # In the week of its start the event itself has set no bit yet.
            excess = self.quiet_excess
            if week in slot.weeks:
                excess = excess[np.arange(self.history) >> 1]
            scores += broken("quiet", excess, hard=self.hard)[None, :, None]
        if week in slot.weeks:
            self._set_bit(place)
            scores += self.terrain.event_week(week, slot.target)[:, None, None]
        np.maximum(scores, NEVER, out=scores)
        if place.trace is not None:
            self.parents[index] = place.trace
            labels = np.arange(self.history * self.shape[2], dtype=np.int32)
            place.trace = np.broadcast_to(
                labels.reshape(1, *self.shape[1:]) + index * len(labels), self.shape
            ).copy()
        self.at_events[index] = place

    def _come(self, to: _Place, origin: _Place | None, tenths: int, missing: int) -> None:
        """Better the scores at an event by those of coming from one place."""
        if origin is None:
            return
        assert to.slot is not None  # noqa: S101 - only events are come to
        score = -tenths * self.calendar.travel_weight
        if missing:
            if not to.slot.target:
                score -= missing * self.calendar.missing_weight
            elif self.hard:
                return
            else:
                score -= missing * BREAK["arrival"] * BREAK_SCORE
        came = origin.scores[:, :, :-1] + score
        if to.trace is None:
            np.maximum(to.scores[:, :, 1:], came, out=to.scores[:, :, 1:])
        else:
            assert origin.trace is not None  # noqa: S101 - all places are traced, or none
            # Parents are looked up by the label made of the state before the bit is set.
            better = came > to.scores[:, :, 1:]
            np.copyto(to.scores[:, :, 1:], came, where=better)
            np.copyto(to.trace[:, :, 1:], origin.trace[:, :, :-1], where=better)

    def _set_bit(self, place: _Place) -> None:
        """This week is an event week: histories without its bit join those with it."""
        even, odd = place.scores[:, 0::2], place.scores[:, 1::2]
        if place.trace is not None:
            better = even > odd
            np.copyto(place.trace[:, 1::2], place.trace[:, 0::2], where=better)
            place.trace[:, 0::2] = -1
        np.maximum(odd, even, out=odd)
        even[...] = NEVER

    def _close(self, week: int) -> None:
        """The week is over: what its kind and history cost; players are back home."""
        over = self.terrain.week_over(week)[:, :, None]
        for place in self._places():
            place.scores += over
            np.maximum(place.scores, NEVER, out=place.scores)
        for index, place in self.at_events.items():
            slot = self.calendar.slots[index]
            if slot.end // 7 != week:
                continue
            way = self.calendar.to_home[index]
            key = (way.travel, slot.end + 1)
            if key not in self.back_home:
                self.back_home[key] = self._nowhere()
            self._merge(self.back_home[key], place, -way.tenths * self.calendar.travel_weight)

    def _merge(self, into: _Place, place: _Place, score: int) -> None:
        scores = place.scores + score
        if into.trace is None:
            np.maximum(into.scores, scores, out=into.scores)
        else:
            assert place.trace is not None  # noqa: S101 - all places are traced, or none
            better = scores > into.scores
            np.copyto(into.scores, scores, where=better)
            np.copyto(into.trace, place.trace, where=better)

    def _over(self, week: int) -> Scores:
        """Best scores, by kind and number of events, of having gone home by the end of the week."""
        ended = self._nowhere()
        for place in (self.not_away, self.home, *self.back_home.values()):
            self._merge(ended, place, 0)
        for index, place in self.at_events.items():
            slot = self.calendar.slots[index]
            if slot.end // 7 > week and slot.weeks[-1] <= week:
                way = self.calendar.to_home[index]
                self._merge(ended, place, -way.tenths * self.calendar.travel_weight)
        if ended.trace is not None:
            best = ended.scores.argmax(axis=1, keepdims=True)
            self.last_trace = np.take_along_axis(ended.trace, best, axis=1)[:, 0]
        scores: Scores = ended.scores.max(axis=1)
        return scores

    def _forget(self, week: int) -> None:
        """Leave the events from which nobody goes straight on any more."""
        next_day = 7 * (week + 1)
        gap = self.calendar.limits.home_gap_days
        for index in list(self.at_events):
            if next_day - self.calendar.slots[index].end - 1 >= gap:
                del self.at_events[index]
        for key in list(self.back_home):
            if next_day - key[1] >= self.rested_after:
                self._merge(self.home, self.back_home.pop(key), 0)

    def chain(self, label: int) -> list[Slot]:
        """The events of a traced walk over one kind, from the label of its last event back."""
        found = []
        size = self.history * self.shape[2]
        while label >= 0:
            index, state = divmod(label, size)
            found.append(self.calendar.slots[index])
            label = int(self.parents[index][0].reshape(-1)[state])
        found.reverse()
        return found


class KnownBlocks(Terrain):
    """A season whose blocks are settled: every week is of one kind, and rules may break."""

    kinds = 1
    before = np.zeros(1, dtype=np.intp)

    def __init__(self, calendar: Calendar, spans: Sequence[Span]) -> None:
        self.calendar = calendar
        self.phases = [phase for phase, _, length in spans for _ in range(length)]

    def begins(self, week: int) -> Scores:
        return np.array([0 if week == 0 else NEVER])

    def event_week(self, week: int, target: bool) -> Scores:
        phase = self.phases[week]
        fits = phase == COMPETITION or (phase == PRE_COMPETITION and not target)
        return np.array([0 if fits else -BREAK["phase"] * BREAK_SCORE])

    def week_over(self, week: int) -> Scores:
        limits = self.calendar.limits
        histories = np.arange(1 << history_weeks(self.calendar))
        scores = broken("run", too_long(histories, limits.max_run), hard=False)
        if week >= TUNE_UP_WINDOW_WEEKS - 1:
            pre = [
                back
                for back in range(TUNE_UP_WINDOW_WEEKS)
                if self.phases[week - back] == PRE_COMPETITION
            ]
            held = sum(((histories >> back) & 1 for back in pre), np.zeros_like(histories))
            excess = np.maximum(held - limits.tune_up_weeks, 0)
            scores = scores + broken("phase", excess, hard=False)
        return scores[None, :]


def best_events(calendar: Calendar, spans: Sequence[Span]) -> list[Slot]:
    """The best events for blocks that are settled, but for the peaks, which it takes on trust."""
    limits = calendar.limits
    needed = sum(slot.forced or slot.target for slot in calendar.slots)
    most = min(len(calendar.slots), max(limits.max_events, needed))
    walk = Walk(calendar, KnownBlocks(calendar, spans), most, hard=False, traced=True)
    scores = np.full((1, most + 1), NEVER, dtype=np.int64)
    for _, scores in walk.weeks():
        pass
    totals = scores[0] + score_of_counts(calendar, most)
    return walk.chain(int(walk.last_trace[0, totals.argmax()]))


def score_of_counts(calendar: Calendar, most: int) -> Scores:
    """What too many or too few events cost, for 0..most events."""
    limits, counts = calendar.limits, np.arange(most + 1)
    over = np.maximum(counts - limits.max_events, 0)
    short = np.maximum(limits.min_events - counts, 0)
    return -BREAK["count"] * BREAK_SCORE * over - calendar.short_weight * short


def broken(rule: str, units: NDArray[np.int64], *, hard: bool) -> Scores:
    """The score of breaking a rule by so many units; NEVER for any of them if `hard`."""
    if hard:
        return np.where(units > 0, NEVER, 0).astype(np.int64)
    return -BREAK[rule] * BREAK_SCORE * units.astype(np.int64)


def too_long(histories: NDArray[np.int64], max_run: int) -> NDArray[np.int64]:
    """1 for each history in which this week is one too many in a run."""
    run = (1 << (max_run + 1)) - 1
    return ((histories & run) == run).astype(np.int64)


def history_weeks(calendar: Calendar) -> int:
    """Weeks that rules look back, this one included."""
    quiet = 1 + QUIET_BEFORE_WEEKS if any(slot.target for slot in calendar.slots) else 0
    return max(calendar.limits.max_run + 1, TUNE_UP_WINDOW_WEEKS, quiet)
