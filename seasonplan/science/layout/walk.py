"""The best events for weeks of known kinds, found by one walk through the season, week by week.

At any moment the walk holds, for each place the player may be (at an event, back home since some
day, or not yet away), the best score of every *state*: what kind of week it is (the `Terrain` knows
which kinds there are and how one follows another), which of the last weeks were event weeks, and,
where asked, how many events were played. An event joins by the best way to it from each of those
places. That is exact: no rule looks further back.

Scores are those of `cutting.py`, value in thousandths less the breaks, shifted left to make room
for a label in the low bits: it names the event and state that a score last came from, so that the
best chain can be read back. `NEVER` is far below any score that a season can have.
"""

from __future__ import annotations

import time
from abc import ABC, abstractmethod
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from math import inf
from typing import Final

import numpy as np
from numpy.typing import NDArray

from seasonplan.science.layout.calendar import Calendar, Slot
from seasonplan.science.layout.cutting import (
    COMPETITION,
    NEVER,
    PRE_COMPETITION,
    Scores,
    Span,
)
from seasonplan.science.layout.rules import QUIET_BEFORE_WEEKS, TUNE_UP_WINDOW_WEEKS
from seasonplan.science.layout.rules import WEIGHTS as BREAK

POSSIBLE: Final = NEVER // 2
"""What a season can have scores above this."""

Kinds = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Moves:
    """Kinds of one week after those of the week before: from, to, and the score of the step.

    `to` is ascending, so that all moves to one kind lie side by side.
    """

    origin: Kinds
    to: Kinds
    score: Scores

    @staticmethod
    def of(moves: dict[tuple[int, int], int]) -> Moves:
        """Moves from their scores by (from, to)."""
        ordered = sorted(moves, key=lambda move: (move[1], move[0]))
        return Moves(
            np.array([origin for origin, _ in ordered], dtype=np.intp),
            np.array([to for _, to in ordered], dtype=np.intp),
            np.array([moves[move] for move in ordered], dtype=np.int64),
        )


class Terrain(ABC):
    """Which kinds of weeks there are, how they follow one another, what event weeks cost in them.

    All scores are per kind; NEVER where something may not be.
    """

    kinds: int
    moves: Moves

    @abstractmethod
    def begins(self, week: int) -> Scores:
        """Score of a walk that begins with this week; [kinds]."""

    @abstractmethod
    def event_week(self, week: int, slot: Slot, peak: bool) -> Scores:
        """Score of a week of an event, which is to lie in a peak or not; [kinds]."""

    @abstractmethod
    def week_over(self, week: int) -> Scores:
        """Score of the week with each history of event weeks (bit 0: this week); [kinds, 2^k]."""


@dataclass(frozen=True, slots=True)
class Ways:
    """From the states of one week to those of the next.

    Most states follow from two: with and without an event in the week that is now too long ago.
    The first two origins of each are therefore kept apart from the rest.
    """

    to: Kinds
    first: Kinds
    first_step: Scores
    second: Kinds
    second_step: Scores
    rest: Kinds
    rest_step: Scores
    rest_begins: Kinds
    rest_to: Kinds
    states: int

    @staticmethod
    def of(origin: Kinds, to: Kinds, step: Scores, states: int) -> Ways:
        """Ways from `origin` to `to`, each with its step."""
        order = np.argsort(to, kind="stable")
        origin, to, step = origin[order], to[order], step[order, None]
        reached, begins, counts = np.unique(to, return_index=True, return_counts=True)
        second = begins + (counts > 1)
        group = np.repeat(np.arange(len(reached)), counts)
        rest = np.flatnonzero(np.arange(len(to)) - begins[group] > 1)
        rest_to, rest_begins = np.unique(group[rest], return_index=True)
        return Ways(
            reached,
            origin[begins],
            step[begins],
            origin[second],
            step[second],
            origin[rest],
            step[rest],
            rest_begins,
            rest_to,
            states,
        )

    def go(self, scores: Scores) -> Scores:
        """The scores of the next week's states, NEVER where none is reached."""
        new = np.full((self.states, scores.shape[1]), NEVER, dtype=np.int64)
        best = scores[self.first] + self.first_step
        np.maximum(best, scores[self.second] + self.second_step, out=best)
        if len(self.rest):
            others = scores[self.rest] + self.rest_step
            others = np.maximum.reduceat(others, self.rest_begins, axis=0)
            best[self.rest_to] = np.maximum(best[self.rest_to], others)
        new[self.to] = best
        return new


@dataclass(slots=True)
class Trail:
    """Where labelled scores came from.

    The low `bits` of a score are its label: which join, of which event and in which state, it last
    went through; 0 for none.
    """

    bits: int
    size: int
    _joined: list[int] = field(default_factory=list)
    _parents: list[tuple[NDArray[np.int32], NDArray[np.int32]]] = field(default_factory=list)

    def label(self, scores: Scores, index: int) -> None:
        """Remember where the scores of joining an event came from, and give them labels of their
        own; `size` scores at most."""
        labels = scores & ((1 << self.bits) - 1)
        states = np.flatnonzero(scores > POSSIBLE)
        self._parents.append((states.astype(np.int32), labels.reshape(-1)[states].astype(np.int32)))
        scores -= labels
        first = 1 + len(self._joined) * self.size
        scores += np.arange(first, first + self.size).reshape(scores.shape)
        self._joined.append(index)

    def events(self, labelled: int) -> list[int]:
        """The events that a labelled score went through, the last one first."""
        found: list[int] = []
        while label := labelled & ((1 << self.bits) - 1):
            joined, state = divmod(label - 1, self.size)
            found.append(self._joined[joined])
            states, labels = self._parents[joined]
            labelled = int(labels[np.searchsorted(states, state)])
        return found


@dataclass(slots=True)
class _Place:
    """Where the player may be, with the scores of all states there; [states, events]."""

    scores: Scores
    slot: Slot | None = None
    peak: bool = False


@dataclass
class Walk:
    """One walk over a terrain.

    `most_events`: events are counted up to it, and at 0 not at all. `peaks` says that a target in
    no peak pays for that. `charges`, in thousandths, are taken off the value of each slot. Layouts
    with more than `most_breaks` are of no interest. After `deadline`, a time of the monotonic
    clock, the walk raises TimeoutError.

    A state is a kind of week and a history of event weeks; those that no layout of interest can
    reach, whatever its events, are left out from the beginning.
    """

    calendar: Calendar
    terrain: Terrain
    most_breaks: int
    most_events: int = 0
    peaks: bool = False
    charges: Sequence[int] | None = None
    deadline: float = inf
    label_bits: int = field(init=False, default=0)

    def __post_init__(self) -> None:
        calendar = self.calendar
        self._break_score = calendar.break_score
        self._number_states()
        most_labels = len(self._kind) * self._counts * self._most_joined()
        self.label_bits = (most_labels + 1).bit_length()
        self._unit = 1 << self.label_bits
        self._trail = Trail(self.label_bits, len(self._kind) * self._counts)
        self._ways = (self._ways_on(0), self._ways_on(1))
        self._floor = self._unit * (self._lowest_score() - self._most_charged())
        self._scratch = np.empty((len(self._kind), self._counts), dtype=np.int64)
        self._not_away = self._nowhere()
        self._home = self._nowhere()
        self._at_events: dict[tuple[int, bool], _Place] = {}
        self._back_home: dict[tuple[int, int], _Place] = {}
        longest_need = max((leg.need for leg in calendar.from_home), default=0)
        self._rested_after_days = max(calendar.limits.home_gap_days, longest_need) + 2
        self._starting: dict[int, list[int]] = defaultdict(list)
        for index, slot in enumerate(calendar.slots):
            self._starting[slot.start // 7].append(index)
        self._from: dict[int, list[tuple[int, int, int]]] = defaultdict(list)
        for index, ways in enumerate(calendar.onward):
            for way in ways:
                self._from[way.to].append((index, way.tenths, way.missing))
        before = self._history & (2**QUIET_BEFORE_WEEKS - 1)
        self._quiet_later = self._quiet_scores(before)
        self._quiet = self._quiet_scores((self._history >> 1) & (2**QUIET_BEFORE_WEEKS - 1))

    def _number_states(self) -> None:
        """The states of interest, and how each follows from those of the week before."""
        self._counts = self.most_events + 1
        histories = 1 << history_weeks(self.calendar)
        lowest = self._lowest_score()
        kind, history = np.nonzero(_of_interest(self.calendar, self.terrain, lowest, histories))
        self._kind, self._history = kind, history
        number = np.full((self.terrain.kinds, histories), -1, dtype=np.intp)
        number[kind, history] = np.arange(len(kind))
        even = np.flatnonzero(history % 2 == 0)
        odd = number[kind[even], history[even] + 1]
        self._without, self._with = even[odd >= 0], odd[odd >= 0]
        self._unbroken = number[:, 0]
        self._number = number

    def _ways_on(self, bit: int) -> Ways:
        """The ways to the next week, which is an event week or not."""
        return Ways.of(*self._steps_on(bit), len(self._kind))

    def _steps_on(self, bit: int) -> tuple[Kinds, Kinds, Scores]:
        """Each step to the next week: the state left, the state reached, and its score."""
        moves, histories = self.terrain.moves, self._number.shape[1]
        later = np.arange(histories) % (histories // 2) * 2 + bit
        came, went = self._number[moves.origin], self._number[moves.to][:, later]
        move, past = np.nonzero((came >= 0) & (went >= 0))
        steps = moves.score[move] * self._unit
        return came[move, past], went[move, past], steps

    def _lowest_score(self) -> int:
        """No beginning of a layout of interest has a lower score, charges left aside: neither the
        value that it has lost, nor any to come, makes up for ten more breaks."""
        return -self._break_score * (self.most_breaks + 10)

    def _most_charged(self) -> int:
        return sum(max(0, charge) for charge in self.charges or ())

    def _most_joined(self) -> int:
        return sum(1 + slot.target for slot in self.calendar.slots)

    def _quiet_scores(self, before: Kinds) -> Scores:
        """Score, for a target, of the event weeks in the four weeks before it; [states, 1]."""
        busy = np.array([int(history).bit_count() for history in before], dtype=np.int64)
        excess = np.maximum(busy - self.calendar.limits.quiet_weeks, 0)
        return broken(self.calendar, "quiet", excess)[:, None] * self._unit

    def fits(self) -> bool:
        """Whether scores with their labels can be told from NEVER."""
        targets = sum(slot.target for slot in self.calendar.slots)
        breaks = max(self.most_breaks, BREAK["target"] * targets) + 20
        most = self._break_score * breaks + self._most_charged()
        return self.label_bits < 31 and self._unit * most < -POSSIBLE

    def weeks(self) -> Iterator[tuple[int, Scores]]:
        """Walk; after each week, its number and the best labelled scores of all that end at home
        with it, as [kinds, events]."""
        for week in range(self.calendar.weeks):
            if time.monotonic() > self.deadline:
                raise TimeoutError
            self._open(week)
            for index in self._starting[week]:
                self._join(week, index)
            self._close(week)
            yield week, self._over(week)
            self._forget(week)

    @property
    def states(self) -> int:
        """States of a place, each number of events for itself."""
        return len(self._kind) * self._counts

    def score(self, labelled: int) -> int:
        """The score of a labelled one."""
        return labelled >> self.label_bits

    def chain(self, labelled: int) -> list[Slot]:
        """The events that led to a labelled score."""
        return [self.calendar.slots[index] for index in reversed(self._trail.events(labelled))]

    # One week.

    def _nowhere(self) -> _Place:
        return _Place(np.full_like(self._scratch, NEVER))

    def _by_state(self, scores: Scores) -> Scores:
        """Scores by kind as scores by state, with room for a label; NEVER stays what it is."""
        scaled: Scores = np.where(scores <= POSSIBLE, NEVER, scores * self._unit)
        return scaled[self._kind][:, None]

    def _places(self) -> list[_Place]:
        return [
            self._not_away,
            self._home,
            *self._at_events.values(),
            *self._back_home.values(),
        ]

    def _open(self, week: int) -> None:
        """The week begins: kinds follow one another, the histories move on by a week."""
        for place in self._places():
            under_way = place.slot is not None and week in place.slot.weeks
            new = self._ways[under_way].go(place.scores)
            if place.slot is not None and under_way:
                new += self._by_state(self.terrain.event_week(week, place.slot, place.peak))
            np.maximum(new, NEVER, out=new)
            place.scores = new
        for (index, _), place in self._at_events.items():
            self._go_home(week, index, place)
        begins = self.terrain.begins(week)
        kinds = np.flatnonzero((begins > POSSIBLE) & (self._unbroken >= 0))
        start, states = self._not_away.scores, self._unbroken[kinds]
        start[states, 0] = np.maximum(start[states, 0], begins[kinds] * self._unit)

    def _join(self, week: int, index: int) -> None:
        """An event joins, by the best way to it from each place the player may be."""
        calendar, slot = self.calendar, self.calendar.slots[index]
        place = _Place(np.full_like(self._scratch, NEVER), slot)
        for before, tenths, missing in self._from[index]:
            for peak in (False, True):
                if (origin := self._at_events.get((before, peak))) is not None:
                    self._come(place, origin, tenths, missing)
        leg = calendar.from_home[index]
        self._come(place, self._not_away, leg.tenths, max(0, leg.need - slot.start))
        self._come(place, self._home, leg.tenths, 0)
        for (back, since), home in self._back_home.items():
            gap = slot.start - since
            if gap >= max(calendar.limits.home_gap_days, leg.travel + back):
                self._come(place, home, leg.tenths, max(0, leg.need + back - gap))
        scores = place.scores
        scores += self._worth(week, index)
        np.maximum(scores, NEVER, out=scores)
        places = [(False, scores)]
        if slot.target and self.peaks:
            uncovered = scores - BREAK["peak"] * self._break_score * self._unit
            places = [(False, uncovered), (True, scores)]
        for peak, joined in places:
            if week in slot.weeks:
                joined[self._with] = np.maximum(joined[self._without], joined[self._with])
                joined[self._history % 2 == 0] = NEVER
                joined += self._by_state(self.terrain.event_week(week, slot, peak))
            np.maximum(joined, NEVER, out=joined)
            self._trail.label(joined, index)
            self._at_events[index, peak] = _Place(joined, slot, peak)
        if slot.forced:
            self._leave_out_none(index)
        for peak, _ in places:
            self._go_home(week, index, self._at_events[index, peak])

    def _come(self, to: _Place, origin: _Place, tenths: int, missing: int) -> None:
        """Better the scores at an event by those of coming from one place."""
        assert to.slot is not None
        score = self._journey(to.slot, tenths, missing)
        counted = 1 if self.most_events else 0
        width = self._counts - counted
        came = self._scratch[:, :width]
        np.add(origin.scores[:, :width], score * self._unit, out=came)
        into = to.scores[:, counted:]
        np.maximum(into, came, out=into)

    def _worth(self, week: int, index: int) -> Scores:
        """What playing an event is worth by state, in its first week; a column or one number."""
        slot = self.calendar.slots[index]
        worth = slot.value - (self.charges[index] if self.charges else 0)
        if not slot.target:
            return np.array(worth * self._unit)
        worth += self._break_score * BREAK["target"]
        # In the week of its start the event itself has set no bit yet.
        return worth * self._unit + (self._quiet if week in slot.weeks else self._quiet_later)

    def _journey(self, slot: Slot, tenths: int, missing: int) -> int:
        """Score of the way to an event."""
        score = -tenths * self.calendar.travel_weight
        if missing and slot.target:
            return score - missing * BREAK["arrival"] * self._break_score
        return score - missing * self.calendar.missing_weight

    def _leave_out_none(self, index: int) -> None:
        """The event must be played: whoever is elsewhere now has missed it."""
        self._not_away, self._home = self._nowhere(), self._nowhere()
        self._back_home.clear()
        for key in list(self._at_events):
            if key[0] != index:
                del self._at_events[key]

    def _close(self, week: int) -> None:
        """The week is over: what its kind and history cost."""
        over = self._cost_of(week)
        for place in self._places():
            place.scores += over
            place.scores[place.scores < self._floor] = NEVER

    def _cost_of(self, week: int) -> Scores:
        """What the kind and the history of a week cost at its end; [states, 1]."""
        by_kind = self.terrain.week_over(week)[self._kind, self._history]
        return np.where(by_kind <= POSSIBLE, NEVER, by_kind * self._unit)[:, None]

    def _go_home(self, week: int, index: int, place: _Place) -> None:
        """Who is at an event that ends this week may go home after it."""
        slot, way = self.calendar.slots[index], self.calendar.to_home[index]
        if slot.end // 7 == week:
            home = self._back_home.setdefault((way.travel, slot.end + 1), self._nowhere())
            self._better(home.scores, place, way.tenths)

    def _better(self, home: Scores, place: _Place, tenths: int) -> None:
        score = -tenths * self.calendar.travel_weight * self._unit
        np.add(place.scores, score, out=self._scratch)
        np.maximum(home, self._scratch, out=home)

    def _over(self, week: int) -> Scores:
        """Best scores, by kind and number of events, of having gone home by the end of the week."""
        ended = np.maximum(self._not_away.scores, self._home.scores)
        for place in self._back_home.values():
            np.maximum(ended, place.scores, out=ended)
        for (index, _), place in self._at_events.items():
            slot = self.calendar.slots[index]
            if slot.end // 7 > week and slot.weeks[-1] <= week:
                self._better(ended, place, self.calendar.to_home[index].tenths)
        best = np.full((self.terrain.kinds, self._counts), NEVER, dtype=np.int64)
        if len(self._kind):
            kinds, first = np.unique(self._kind, return_index=True)
            best[kinds] = np.maximum.reduceat(ended, first, axis=0)
        return best

    def _forget(self, week: int) -> None:
        """Leave the events from which nobody goes straight on any more."""
        next_day = 7 * (week + 1)
        for key in list(self._at_events):
            end = self.calendar.slots[key[0]].end
            if next_day - end - 1 >= self.calendar.limits.home_gap_days:
                del self._at_events[key]
        for back in list(self._back_home):
            if next_day - back[1] >= self._rested_after_days:
                rested = self._back_home.pop(back).scores
                np.maximum(self._home.scores, rested, out=self._home.scores)


@lru_cache(maxsize=4)
def _of_interest(
    calendar: Calendar, terrain: Terrain, lowest: int, histories: int
) -> NDArray[np.bool_]:
    """Which kinds and histories a layout with few enough breaks can reach; [kinds, histories].

    Every week may be an event week here, at what the phase rule asks of an open event. No beginning
    of a layout of interest has a score below `lowest`.
    """
    moves, slots = terrain.moves, calendar.slots
    cheapest = next((slot for slot in slots if not slot.target), None)
    half = histories // 2
    scores = np.full((terrain.kinds, histories), NEVER, dtype=np.int64)
    found = np.zeros(scores.shape, dtype=bool)
    to, first = np.unique(moves.to, return_index=True)
    for week in range(calendar.weeks):
        later = np.maximum(scores[:, :half], scores[:, half:])
        came = np.maximum.reduceat(later[moves.origin] + moves.score[:, None], first, axis=0)
        scores = np.full(scores.shape, NEVER, dtype=np.int64)
        scores[to, 0::2] = came
        scores[:, 0] = np.maximum(scores[:, 0], terrain.begins(week))
        if slots:
            event_week = terrain.event_week(week, cheapest or slots[0], False)
            scores[:, 1::2] = scores[:, 0::2] + event_week[:, None]
        scores += terrain.week_over(week)
        scores[scores < lowest] = NEVER
        found |= scores > POSSIBLE
    return found


class KnownBlocks(Terrain):
    """A season whose blocks are settled: every week is of one kind, and rules may break."""

    kinds = 1
    moves = Moves.of({(0, 0): 0})

    def __init__(self, calendar: Calendar, spans: Sequence[Span]) -> None:
        self.calendar = calendar
        self.phases = [phase for phase, _, length in spans for _ in range(length)]

    def begins(self, week: int) -> Scores:
        return np.array([0 if week == 0 else NEVER])

    def event_week(self, week: int, slot: Slot, peak: bool) -> Scores:
        phase = self.phases[week]
        fits = phase == COMPETITION or (phase == PRE_COMPETITION and not slot.target)
        return broken(self.calendar, "phase", np.array([int(not fits)]))

    def week_over(self, week: int) -> Scores:
        backs = [
            back
            for back in range(min(week + 1, TUNE_UP_WINDOW_WEEKS))
            if self.phases[week - back] == PRE_COMPETITION
        ]
        return history_scores(self.calendar, week, backs)[None, :]


def history_scores(calendar: Calendar, week: int, pre_competition: Sequence[int]) -> Scores:
    """Score of each history at the end of a week, by runs and tune-ups; [histories].

    `pre_competition`: which of the last three weeks (0: this one) are pre-competition. A window of
    three weeks that reaches before the season is none.
    """
    limits = calendar.limits
    histories = np.arange(1 << history_weeks(calendar))
    run = (1 << (limits.max_run + 1)) - 1
    scores = broken(calendar, "run", (histories & run) == run)
    if limits.tune_up_weeks == 0 and 0 in pre_competition:
        windows = range(max(0, week - TUNE_UP_WINDOW_WEEKS + 1), week + 1)
        held = sum(first + TUNE_UP_WINDOW_WEEKS <= calendar.weeks for first in windows)
        scores += broken(calendar, "phase", (histories & 1) * held)
    elif limits.tune_up_weeks > 0 and week >= TUNE_UP_WINDOW_WEEKS - 1 and pre_competition:
        in_window = np.sum([(histories >> back) & 1 for back in pre_competition], axis=0)
        too_many = np.maximum(in_window - limits.tune_up_weeks, 0)
        scores += broken(calendar, "phase", too_many)
    return scores


def best_events(calendar: Calendar, spans: Sequence[Span], most_breaks: int) -> list[Slot] | None:
    """The best events for blocks that are settled, but for the peaks, which it takes on trust;
    None where none have so few breaks."""
    needed = sum(slot.forced or slot.target for slot in calendar.slots)
    most = max(1, min(len(calendar.slots), max(calendar.limits.max_events, needed)))
    walk = Walk(calendar, KnownBlocks(calendar, spans), most_breaks, most)
    scores = np.full((1, most + 1), NEVER, dtype=np.int64)
    for _, labelled in walk.weeks():
        scores = labelled
    best = int((scores[0] + score_of_counts(calendar, most) * (1 << walk.label_bits)).max())
    return walk.chain(best) if best > POSSIBLE else None


def score_of_counts(calendar: Calendar, most: int) -> Scores:
    """What too many or too few events cost, for 0..most events."""
    limits, counts = calendar.limits, np.arange(most + 1)
    over = np.maximum(counts - limits.max_events, 0)
    short = np.maximum(limits.min_events - counts, 0)
    scores: Scores = broken(calendar, "count", over) - calendar.short_weight * short
    return scores


def broken(calendar: Calendar, rule: str, units: NDArray[np.generic]) -> Scores:
    """The score of breaking a rule by so many units."""
    return -BREAK[rule] * calendar.break_score * units.astype(np.int64)


def history_weeks(calendar: Calendar) -> int:
    """Weeks that rules look back, this one included."""
    quiet = 1 + QUIET_BEFORE_WEEKS if any(slot.target for slot in calendar.slots) else 0
    return max(calendar.limits.max_run + 1, TUNE_UP_WINDOW_WEEKS, quiet)
