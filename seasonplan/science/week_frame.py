"""Which days of a week train, which are full, and how long are the sessions of each day?

`sessions.py` asks before it chooses what the sessions are. The frame alone sees to days off, to
hard days apart, to light days, matches and tapers, and to the time that there is, so that nothing
that is chosen later can break a rule of `session_rules.py`. Where several frames would do, the
numbers below prefer what is usual (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from itertools import combinations, pairwise
from math import ceil
from typing import Final

from seasonplan.science.session_rules import (
    MOST_SESSIONS_A_DAY,
    can_be_off,
    days_off_wanted,
    is_always_light,
    most_effort,
    most_minutes,
)
from seasonplan.science.spreading import spread
from seasonplan.science.week_target import (
    HARD_EFFORT,
    Court,
    PlannedSession,
    TrainingDay,
    TrainingRules,
    WeekTarget,
)

MOST_FULL_DAYS: Final = 3
MOST_OF_A_COURT_A_DAY: Final = 2

FULL_DAY, EASIER_DAY, DAY_BEFORE_MATCH, LIGHT_DAY = 1.15, 0.85, 0.7, 0.5
"""What a day has of the minutes of a usual one."""

_SUNDAY: Final = 6
_OFF_RATHER: Final = {_SUNDAY: 50, 5: 20, 3: 10, 2: 8}
"""Weekdays that are off rather than others, in minutes of room that this is worth."""


@dataclass
class Slot:
    """Room for one session: on which weekday (0 to 6), on or off court, how long."""

    day: int
    court: Court
    minutes: float


@dataclass(frozen=True)
class Frame:
    """The week before it is known what is trained.

    `room_min` are the minutes a day that kept sessions leave; `most_effort` is the most of a new
    session on each day; `wanted_min` are the minutes on and off court that new sessions share.
    """

    slots: tuple[Slot, ...]
    room_min: tuple[int, ...]
    most_effort: tuple[int, ...]
    full: frozenset[int]
    wanted_min: Mapping[Court, float]


@dataclass(frozen=True)
class Lengths:
    """How short and how long the sessions of each part may be; a part without kinds has none."""

    shortest_min: Mapping[Court, int]
    longest_min: Mapping[Court, int]


def frame_of(
    target: WeekTarget,
    lengths: Lengths,
    *,
    rules: TrainingRules,
    kept: Sequence[PlannedSession] = (),
    before: Sequence[PlannedSession] = (),
    after: Sequence[PlannedSession] = (),
    more: Mapping[Court, int] | None = None,
) -> Frame:
    """The frame of a week around the sessions that are kept, with so many sessions `more` than the
    target says."""
    kept_by_day = [[each for each in kept if each.day == day.day] for day in target.days]
    room = [
        max(0, most_minutes(day) - sum(each.minutes for each in there))
        if len(there) < MOST_SESSIONS_A_DAY and (day.aim_min or not has_aims(target))
        else 0
        for day, there in zip(target.days, kept_by_day, strict=True)
    ]
    wanted = _wanted(target, lengths, kept)
    for day in _days_off(target, rules, room, kept_by_day, sum(wanted.values())):
        room[day] = 0
    if sum(wanted.values()) > sum(room):
        share = sum(room) / sum(wanted.values())
        wanted = {court: minutes * share for court, minutes in wanted.items()}
    hard_kept = {n for n, there in enumerate(kept_by_day) if any(each.is_hard for each in there)}
    full = _full_days(target, room, hard_kept, before, after)
    making = _Making(target, lengths, room, full, kept_by_day, wanted)
    making.place(_counts(target, lengths, kept, wanted, more or {}))
    making.share_minutes()
    return Frame(
        slots=tuple(sorted(making.slots, key=lambda slot: slot.day)),
        room_min=tuple(room),
        most_effort=tuple(
            min(most_effort(day), 10 if n in full else HARD_EFFORT - 1)
            for n, day in enumerate(target.days)
        ),
        full=full,
        wanted_min=wanted,
    )


def has_aims(target: WeekTarget) -> bool:
    """Whether the target says how its minutes are spread over the days."""
    return any(day.aim_min for day in target.days)


def _wanted(
    target: WeekTarget, lengths: Lengths, kept: Sequence[PlannedSession]
) -> dict[Court, float]:
    """Minutes on and off court that kept sessions leave to be filled."""
    wanted: dict[Court, float] = {
        "on court": target.on_court_min,
        "off court": target.off_court_min,
    }
    if target.no_racket:
        wanted["on court"] = 0
    for session in kept:
        wanted[session.court] = max(0.0, wanted[session.court] - session.minutes)
    return {
        court: minutes
        for court, minutes in wanted.items()
        if court in lengths.shortest_min and minutes >= lengths.shortest_min[court]
    }


def _counts(
    target: WeekTarget,
    lengths: Lengths,
    kept: Sequence[PlannedSession],
    wanted: Mapping[Court, float],
    more: Mapping[Court, int],
) -> dict[Court, int]:
    """How many new sessions each part gets: what the target says, unless their minutes could not be
    shared out over so many or so few."""
    asked: dict[Court, int] = {
        "on court": target.on_court_sessions,
        "off court": target.off_court_sessions,
    }
    for session in kept:
        asked[session.court] = max(0, asked[session.court] - 1)
    return {
        court: min(
            max(asked[court], ceil(minutes / lengths.longest_min[court])) + more.get(court, 0),
            int(minutes // lengths.shortest_min[court]),
        )
        for court, minutes in wanted.items()
    }


# Days off and full days ---------------------------------------------------------------------------


def _days_off(
    target: WeekTarget,
    rules: TrainingRules,
    room: Sequence[int],
    kept_by_day: Sequence[Sequence[PlannedSession]],
    wanted_min: float,
) -> list[int]:
    """Weekdays that become days off, beside those that are free anyway."""
    could = [n for n, day in enumerate(target.days) if can_be_off(day) and not kept_by_day[n]]
    free = [n for n in could if not room[n]]
    could = [n for n in could if room[n]]
    chosen: list[int] = []
    while could and len(free) + len(chosen) < days_off_wanted(target, rules):
        left = sum(room) - sum(room[n] for n in chosen)
        best = min(
            could,
            key=lambda n: (
                max(0.0, wanted_min - (left - room[n]))
                - _rather_off(target.days, n)
                + 15 * any(abs(n - other) == 1 for other in (*free, *chosen))
            ),
        )
        could.remove(best)
        chosen.append(best)
    return chosen


def _rather_off(days: Sequence[TrainingDay], n: int) -> int:
    day = days[n]
    worth = _OFF_RATHER.get(n, 0)
    if day.kind in ("travel", "arrival"):
        worth += 60
    if day.is_before_match:
        worth -= 40
    if n and days[n - 1].kind == "match" and day.kind != "match":
        worth += 40
    return worth


def _full_days(
    target: WeekTarget,
    room: Sequence[int],
    hard_kept: set[int],
    before: Sequence[PlannedSession],
    after: Sequence[PlannedSession],
) -> frozenset[int]:
    """The weekdays on which new sessions may be hard: no two together, none beside a hard one."""
    hard_around = {each.day for each in (*before, *after) if each.is_hard}
    taken = {target.days[n].day for n in hard_kept} | hard_around
    one = timedelta(days=1)
    could = [
        n
        for n, day in enumerate(target.days)
        if room[n]
        and most_effort(day) == 10
        and day.day - one not in taken
        and day.day + one not in taken
    ]
    choices = (
        chosen
        for size in range(min(MOST_FULL_DAYS, len(could)) + 1)
        for chosen in combinations(could, size)
        if all(later - earlier > 1 for earlier, later in pairwise(chosen))
        and len(hard_kept | set(chosen)) <= max(MOST_FULL_DAYS, len(hard_kept))
    )

    def worth(chosen: Iterable[int]) -> float:
        return sum(
            min(room[n], 120) / 120
            + (0.3 if n < _SUNDAY and not room[n + 1] else 0.0)
            - (0.3 if n and target.days[n - 1].kind == "match" else 0.0)
            for n in chosen
        )

    return frozenset(max(choices, key=worth))


# Sessions a day and their minutes -----------------------------------------------------------------


@dataclass
class _Making:
    """A frame in the making."""

    target: WeekTarget
    lengths: Lengths
    room: Sequence[int]
    full: frozenset[int]
    kept_by_day: Sequence[Sequence[PlannedSession]]
    wanted: Mapping[Court, float]
    slots: list[Slot] = field(default_factory=list)

    def place(self, counts: Mapping[Court, int]) -> None:
        """Put so many sessions on days, longer ones first, as if there were no taper: a taper
        shortens sessions and keeps their number."""
        even = self._spread([self._weight(n) / day.taper for n, day in enumerate(self.target.days)])
        usual = {court: self.wanted[court] / n for court, n in counts.items() if n}
        for court in sorted(usual, key=lambda each: -usual[each]):
            for _ in range(counts[court]):
                could = [n for n in range(7) if self._takes(n, court)]
                if not could:
                    break
                day = max(could, key=lambda n: self._need(n, court, even[n]))
                self.slots.append(Slot(day, court, usual[court]))

    def share_minutes(self) -> None:
        """Give each session its minutes, so that days follow their weight and taper and both parts
        come to what is wanted, as far as the lengths of sessions allow."""
        held = [sum(slot.day == n for slot in self.slots) for n in range(7)]
        by_day = self._spread(
            [
                self._weight(n) * ((1 + held[n]) / 2 if not self.aims else 1) if held[n] else 0
                for n in range(7)
            ]
        )
        for _ in range(6):
            for n in range(7):
                self._scale([slot for slot in self.slots if slot.day == n], by_day[n])
            for court, minutes in self.wanted.items():
                self._scale([slot for slot in self.slots if slot.court == court], minutes)

    def _scale(self, slots: Sequence[Slot], minutes: float) -> None:
        has = sum(slot.minutes for slot in slots)
        for slot in slots:
            slot.minutes = min(
                max(slot.minutes * minutes / has, self.lengths.shortest_min[slot.court]),
                self.lengths.longest_min[slot.court],
            )

    def _spread(self, weights: Sequence[float]) -> list[float]:
        return spread(sum(self.wanted.values()), weights, self.room)

    def _weight(self, n: int) -> float:
        """The part of a day in the minutes of the week: its aim, or a usual day's by its kind and
        taper; more on full days and less after them where no taper says otherwise."""
        day = self.target.days[n]
        weight = day.aim_min if self.aims else day.taper
        if is_always_light(day):
            return weight * (1 if self.aims else LIGHT_DAY)
        if day.is_before_match:
            return weight * (1 if self.aims else DAY_BEFORE_MATCH)
        if self.aims and self.tapers:
            return weight
        if n in self.full:
            return weight * FULL_DAY
        return weight * (EASIER_DAY if n - 1 in self.full else 1)

    @property
    def aims(self) -> bool:
        return has_aims(self.target)

    @property
    def tapers(self) -> bool:
        return any(day.taper < 1 for day in self.target.days)

    def _takes(self, n: int, court: Court) -> bool:
        there = [slot for slot in self.slots if slot.day == n]
        shortest = sum(self.lengths.shortest_min[slot.court] for slot in there)
        return (
            shortest + self.lengths.shortest_min[court] <= self.room[n]
            and len(there) + len(self.kept_by_day[n]) < MOST_SESSIONS_A_DAY
            and self._of_court(n, court) < MOST_OF_A_COURT_A_DAY
        )

    def _need(self, n: int, court: Court, even_min: float) -> float:
        """How much a day asks for one more session of that part, in minutes."""
        there = [slot for slot in self.slots if slot.day == n]
        need = even_min - sum(slot.minutes for slot in there)
        need -= 45 * (len(there) + len(self.kept_by_day[n])) + 60 * self._of_court(n, court)
        if not there:
            used = {slot.day for slot in self.slots}
            need -= 8 * ((n - 1 in used) + (n + 1 in used))
        return need

    def _of_court(self, n: int, court: Court) -> int:
        return sum(slot.day == n and slot.court == court for slot in self.slots) + sum(
            each.court == court for each in self.kept_by_day[n]
        )
