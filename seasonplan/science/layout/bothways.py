"""What is the best season with each event in turn, and without it? All at once, by two walks.

The walk of `walk.py` knows at each event the best score of every way that led there. The same walk
taken backwards, from the last week to the first, knows the best score of every way on from there.
The two together are the best of all layouts that play the event, and the same for the moment at
which others are somewhere else: the best of all layouts that do not. So the prices of a whole
calendar (`prices.py`) cost two walks, not one for each event.

Each step of the walk adds to scores or takes the larger of two, so that it has an exact mirror
image: what went from one place to another with a score comes back the same way with the same
score. The rules that the walk leaves aside (`whole.py`) are left aside here.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from seasonplan.science.layout.calendar import Slot
from seasonplan.science.layout.cutting import NEVER, Scores
from seasonplan.science.layout.rules import WEIGHTS as BREAK
from seasonplan.science.layout.walk import POSSIBLE, Trail, Walk, Ways
from seasonplan.science.layout.whole import Best

_NOT_AWAY, _HOME, _AT, _BACK = range(4)


class _Key(NamedTuple):
    """A place: not yet away, at home, at an event (index, in a peak), or back home (days of the
    way, since which day)."""

    where: int
    one: int = 0
    two: int = 0


_STILL_HERE: Final = _Key(_NOT_AWAY)
_RESTED: Final = _Key(_HOME)


class _Kept(NamedTuple):
    """The scores of a place at one moment, without those that cannot be."""

    key: _Key
    states: NDArray[np.int32]
    scores: Scores


@dataclass
class BothWays(Walk):
    """A walk there and back.

    `leave_out` are the events (indexes of slots) of which the best without them is wanted, too:
    each costs room for a copy of all places. Call `there_and_back` once.
    """

    leave_out: frozenset[int] = frozenset()
    _joined: dict[int, list[_Kept]] = field(init=False, default_factory=dict)
    _elsewhere: dict[int, list[_Kept]] = field(init=False, default_factory=dict)
    _homes: dict[int, list[_Key]] = field(init=False, default_factory=dict)
    _rested: dict[int, list[_Key]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        super().__post_init__()
        self._trail_back = Trail(self.label_bits, len(self._kind) * self._counts)
        self._ways_back = tuple(self._mirrored(bit) for bit in (0, 1))
        # States of no event in the week, but for those to which one can be added.
        alone = self._history % 2 == 0
        alone[self._without] = False
        self._alone = np.flatnonzero(alone)
        self._later: dict[_Key, Scores] = {}

    def _mirrored(self, bit: int) -> Ways:
        came, went, step = self._steps_on(bit)
        return Ways.of(went, came, step, len(self._kind))

    # The way there: the walk as it is, with what is needed for the way back written down.

    def _join(self, week: int, index: int) -> None:
        backs = [(_Key(_BACK, *back), place) for back, place in self._back_home.items()]
        self._homes[index] = [key for key, _ in backs]
        if index in self.leave_out:
            places = [(_STILL_HERE, self._not_away), (_RESTED, self._home), *backs]
            places += [(_Key(_AT, *key), place) for key, place in self._at_events.items()]
            self._elsewhere[index] = [_kept(key, place.scores) for key, place in places]
        super()._join(week, index)
        self._joined[index] = [
            _kept(key, self._at_events[key.one, bool(key.two)].scores) for key in self._keys(index)
        ]

    def _forget(self, week: int) -> None:
        before = list(self._back_home)
        super()._forget(week)
        self._rested[week] = [_Key(_BACK, *back) for back in before if back not in self._back_home]

    # The way back: each step in its mirror image, the last one first.

    def there_and_back(self, ends: Scores) -> tuple[dict[int, Best], dict[int, Best]]:
        """The best with each event, and without each of those to leave out, by index; nothing for
        what no layout of interest does. `ends`: score of each kind and number of events at the end;
        [kinds, events]. The scores are as walked, without what is added to all layouts alike.
        """
        for _ in self.weeks():
            pass
        calendar = self.calendar
        by_state = np.where(ends <= POSSIBLE, NEVER, ends * self._unit)[self._kind]
        at_home = (_STILL_HERE, _RESTED, *(_Key(_BACK, *back) for back in self._back_home))
        self._later = {key: by_state.copy() for key in at_home}
        ending: dict[int, list[int]] = defaultdict(list)
        for index, slot in enumerate(calendar.slots):
            if slot.start // 7 < slot.end // 7:
                ending[slot.end // 7].append(index)
        found_with: dict[int, Best] = {}
        found_without: dict[int, Best] = {}
        for week in range(calendar.weeks - 1, -1, -1):
            if time.monotonic() > self.deadline:
                raise TimeoutError
            for key in self._rested[week]:
                self._later[key] = self._later[_RESTED].copy()
            over = self._cost_of(week)
            for scores in self._later.values():
                scores += over
                scores[scores <= POSSIBLE] = NEVER
            for index in reversed(self._starting[week]):
                self._not_yet_home(index, week)
                if calendar.slots[index].forced:
                    self._later = {key: self._later[key] for key in self._keys(index)}
                if best := self._best_of(self._joined[index]):
                    found_with[index] = best
                if index in self.leave_out and (best := self._best_of(self._elsewhere[index])):
                    found_without[index] = best
                self._not_yet_joined(week, index)
            for index in ending[week]:
                self._not_yet_home(index, week)
            self._not_yet_open(week)
        return found_with, found_without

    def _keys(self, index: int) -> list[_Key]:
        """The places of being at an event."""
        in_peaks = (False, True) if self.peaks and self.calendar.slots[index].target else (False,)
        return [_Key(_AT, index, peak) for peak in in_peaks]

    def _at(self, key: _Key) -> Scores:
        """The scores of going on from a place; nowhere, where no step has led back to it yet."""
        if key not in self._later:
            self._later[key] = np.full((len(self._kind), self._counts), NEVER, dtype=np.int64)
        return self._later[key]

    def _not_yet_home(self, index: int, week: int) -> None:
        """Before going home after an event that ends this week."""
        slot, way = self.calendar.slots[index], self.calendar.to_home[index]
        if slot.end // 7 != week:
            for key in self._keys(index):
                self._at(key)
            return
        score = -way.tenths * self.calendar.travel_weight * self._unit
        at_home = self._at(_Key(_BACK, way.travel, slot.end + 1))
        for key in self._keys(index):
            at_event = self._at(key)
            np.maximum(at_event, at_home + score, out=at_event)

    def _not_yet_joined(self, week: int, index: int) -> None:
        """Before an event joins: back to all places from which it can be reached."""
        calendar, slot = self.calendar, self.calendar.slots[index]
        before = np.full((len(self._kind), self._counts), NEVER, dtype=np.int64)
        for key in self._keys(index):
            after = self._later.pop(key)
            if week in slot.weeks:
                after += self._by_state(self.terrain.event_week(week, slot, bool(key.two)))
                after[self._without] = after[self._with]
                after[self._alone] = NEVER
            if slot.target and self.peaks and not key.two:
                after -= BREAK["peak"] * self._break_score * self._unit
            np.maximum(before, after, out=before)
        before += self._worth(week, index)
        before[before <= POSSIBLE] = NEVER
        self._trail_back.label(before, index)
        for left, tenths, missing in self._from[index]:
            for key in self._keys(left):
                self._came(key, before, slot, tenths, missing)
        leg = calendar.from_home[index]
        self._came(_STILL_HERE, before, slot, leg.tenths, max(0, leg.need - slot.start))
        self._came(_RESTED, before, slot, leg.tenths, 0)
        for key in self._homes[index]:
            gap, back = slot.start - key.two, key.one
            if gap >= max(calendar.limits.home_gap_days, leg.travel + back):
                self._came(key, before, slot, leg.tenths, max(0, leg.need + back - gap))

    def _came(self, key: _Key, at_event: Scores, slot: Slot, tenths: int, missing: int) -> None:
        """Better the scores of a place by those of having come from there."""
        counted = 1 if self.most_events else 0
        width = self._counts - counted
        place = self._at(key)[:, :width]
        score = self._journey(slot, tenths, missing) * self._unit
        np.maximum(place, at_event[:, counted:] + score, out=place)

    def _not_yet_open(self, week: int) -> None:
        """Before the week: back to the states of the week before."""
        earlier: dict[_Key, Scores] = {}
        for key, scores in self._later.items():
            if key.where == _BACK and (key.two - 1) // 7 == week:
                continue
            under_way = False
            if key.where == _AT:
                slot = self.calendar.slots[key.one]
                under_way = week in slot.weeks
                if under_way:
                    scores += self._by_state(self.terrain.event_week(week, slot, bool(key.two)))
            moved = self._ways_back[under_way].go(scores)
            moved[moved <= POSSIBLE] = NEVER
            earlier[key] = moved
        self._later = earlier

    def _best_of(self, places: Sequence[_Kept]) -> Best | None:
        """The best of what led to these places and what leads on from there."""
        best, ways = POSSIBLE, (0, 0)
        for kept in places:
            later = self._later.get(kept.key)
            if later is None or not len(kept.states):
                continue
            onward = later.reshape(-1)[kept.states]
            sums = (kept.scores >> self.label_bits) + (onward >> self.label_bits)
            sums[onward <= POSSIBLE] = NEVER
            place = int(sums.argmax())
            if sums[place] > best:
                best, ways = int(sums[place]), (int(kept.scores[place]), int(onward[place]))
        if best <= POSSIBLE:
            return None
        slots = self.calendar.slots
        chain = [*reversed(self._trail.events(ways[0])), *self._trail_back.events(ways[1])]
        return Best([slots[index] for index in chain], best)


def _kept(key: _Key, scores: Scores) -> _Kept:
    flat = scores.reshape(-1)
    states = np.flatnonzero(flat > POSSIBLE).astype(np.int32)
    return _Kept(key, states, flat[states])
