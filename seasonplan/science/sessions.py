"""Which sessions make a sensible week towards a target?

`fill_week` answers in four steps, each of them plain and in one order, so that the same question
has the same answer: the frame of the week (`week_frame.py`), what each session trains, which kind
of session that is and how long it is, and how hard. No step can break a rule of `session_rules.py`;
where the days allow it, the week also comes within that judge's tolerances of its target. Weights
of the choices are common practice, no source.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from seasonplan.science.session_rules import (
    STRENGTH_EFFORT,
    volume_tolerance_min,
)
from seasonplan.science.week_frame import Frame, Lengths, Slot, frame_of, has_aims
from seasonplan.science.week_target import (
    EMPHASES,
    LIGHT_EFFORT,
    Court,
    Emphasis,
    PlannedSession,
    SessionKind,
    TrainingRules,
    WeekTarget,
)

STEP_MIN: Final = 5
"""Sessions are planned in steps of so many minutes where their kind allows it."""

NEAR_ENOUGH: Final = 0.1
"""The effort of a week is not tuned any finer (0-10)."""

_COURTS: Final[tuple[Court, ...]] = ("on court", "off court")

_COURT_FIRST: Final[tuple[Emphasis, ...]] = ("technique", "tactics and match play")
"""What is trained on court as long as there is room there."""

_MATCH_DAY_EFFORT: Final = 3
_MATCH_DAY_USUAL_MIN: Final = 45
"""On a day with a match: kinds no harder and usually no longer than that. Each takes at most half
of the day's minutes, for one before a match and one after it."""

_TRIES: Final = 5
"""A week whose sessions would have to be longer than their kinds is tried with more of them."""

_FRESH: Final[frozenset[Emphasis]] = frozenset(
    ("strength", "power", "speed and agility", "tactics and match play")
)
"""What belongs on full days rather than on the days between them."""

_IN_A_DAY: Final[tuple[Emphasis, ...]] = (
    "coordination and balance",
    "speed and agility",
    "power",
    "technique",
    "tactics and match play",
    "strength",
    "other sport",
    "endurance",
    "recovery",
)
"""The order of a day: what needs a fresh head and fresh legs comes first."""


def fill_week(
    target: WeekTarget,
    kinds: Sequence[SessionKind],
    *,
    rules: TrainingRules,
    age: int | None,
    kept: Sequence[PlannedSession] = (),
    before: Sequence[PlannedSession] = (),
    after: Sequence[PlannedSession] = (),
) -> tuple[PlannedSession, ...]:
    """The sessions of a week, in order; those that are `kept` stay as they are and count.

    `before` and `after` are sessions of the days around the week. `age` is in whole years; for
    None, kinds with a youngest age are left out, because nobody knows whether they are due. A week
    without kinds, time or target comes back with what is kept. Raises ValueError for a kept session
    of another week.
    """
    days = [day.day for day in target.days]
    for session in kept:
        if session.day not in days:
            raise ValueError(f"{session.day} does not lie in the week of {target.monday}")
    usable = _usable(kinds, target, age)
    more: Counter[Court] = Counter()
    fillings: list[_Filling] = []
    for _ in range(_TRIES):
        frame = frame_of(
            target,
            _lengths(usable),
            rules=rules,
            kept=kept,
            before=before,
            after=after,
            more=more,
        )
        fillings.append(_Filling(target, frame, usable, kept, before))
        too_short = fillings[-1].too_short()
        if not too_short:
            break
        more.update(too_short)
    best = min(fillings, key=_Filling.missing_min)
    return _in_order([*kept, *best.sessions()])


def _usable(
    kinds: Iterable[SessionKind], target: WeekTarget, age: int | None
) -> tuple[SessionKind, ...]:
    """The kinds for a player of this age in this phase. What the week is to train and no kind of
    the phase does comes from other phases; so do all kinds if the phase has none."""
    fit = [
        kind
        for kind in kinds
        if kind.youngest is None or (age is not None and age >= kind.youngest)
        if not (target.no_racket and kind.court == "on court")
    ]
    of_phase = [kind for kind in fit if target.phase in kind.phases]
    trained = {kind.emphasis for kind in of_phase}
    courts = {kind.court for kind in of_phase}
    return tuple(
        kind
        for kind in fit
        if kind in of_phase
        or (kind.emphasis not in trained and target.shares.get(kind.emphasis, 0) > 0)
        or kind.court not in courts
    )


def _lengths(kinds: Sequence[SessionKind]) -> Lengths:
    courts = {kind.court for kind in kinds}
    return Lengths(
        {c: min(kind.shortest_min for kind in kinds if kind.court == c) for c in courts},
        {c: max(kind.longest_min for kind in kinds if kind.court == c) for c in courts},
    )


def _in_order(sessions: Iterable[PlannedSession]) -> tuple[PlannedSession, ...]:
    return tuple(sorted(sessions, key=lambda each: (each.day, each.order)))


def _parts_by_taper(target: WeekTarget) -> list[list[int]]:
    """The weekdays of no taper, of which there may be none, and those of each taper that lies in
    the week. Within a taper the share of the volume falls from day to day."""
    plain: list[int] = []
    tapers: list[list[int]] = []
    for n, day in enumerate(target.days):
        if day.taper == 1:
            plain.append(n)
        elif tapers and tapers[-1][-1] == n - 1 and day.taper < target.days[n - 1].taper:
            tapers[-1].append(n)
        else:
            tapers.append([n])
    return [plain, *tapers]


def easiest(kind: SessionKind) -> int:
    """The least effort at which the kind is planned: a step less in its easier form."""
    return max(0, kind.effort_0_10 - 1) if kind.easier else kind.effort_0_10


def hardest(kind: SessionKind) -> int:
    """The most effort at which the kind is planned: a step more in its harder form."""
    return min(10, kind.effort_0_10 + 1) if kind.harder else kind.effort_0_10


@dataclass
class _Choice:
    """A slot of the frame, with what was chosen for it."""

    slot: Slot
    emphasis: Emphasis
    kind: SessionKind
    effort: int
    minutes: int = 0

    @property
    def load(self) -> int:
        return self.minutes * self.effort


class _Filling:
    """A frame that is being filled."""

    def __init__(
        self,
        target: WeekTarget,
        frame: Frame,
        kinds: Sequence[SessionKind],
        kept: Sequence[PlannedSession],
        before: Sequence[PlannedSession],
    ) -> None:
        self.target = target
        self.frame = frame
        self.kept = kept
        self.kinds: dict[tuple[Court, Emphasis], list[SessionKind]] = defaultdict(list)
        for kind in kinds:
            self.kinds[kind.court, kind.emphasis].append(kind)
        self.kept_on = [[each for each in kept if each.day == day.day] for day in target.days]
        self.used = Counter(each.kind for each in kept)
        self.lately = {each.kind for each in before}
        self.week_number = target.monday.toordinal() // 7
        self.emphases: list[tuple[Slot, Emphasis]] = []
        self.choices: list[_Choice] = []
        self.wanted = self._wanted()
        self._choose_emphases()
        self._choose_kinds()
        self._settle_minutes()
        self._tune_effort()

    def missing_min(self) -> float:
        """Minutes that are wanted and not there."""
        return sum(max(0.0, self._missing(court)) for court in _COURTS)

    def too_short(self) -> list[Court]:
        """The parts whose sessions cannot be as long as their number asks for."""
        return [
            court
            for court in _COURTS
            if self._missing(court) > volume_tolerance_min(self.frame.wanted_min.get(court, 0))
        ]

    def _missing(self, court: Court) -> float:
        there = sum(each.minutes for each in self.choices if each.slot.court == court)
        return self.frame.wanted_min.get(court, 0.0) - there

    # What each session trains

    def _wanted(self) -> Mapping[tuple[Court, Emphasis], float]:
        """Minutes of each emphasis on and off court. Technique and tactics are on court while there
        is room; what can be trained in both places fills the rest of the court alike."""
        shares = self.target.shares
        total = sum(self.frame.wanted_min.values())
        kept = sum(session.minutes for session in self.kept)
        left = {e: shares.get(e, 0) * (total + kept) for e in EMPHASES}
        for session in self.kept:
            left[session.emphasis] -= session.minutes
        left = {e: max(0.0, minutes) for e, minutes in left.items()}
        room = self.frame.wanted_min.get("on court", 0.0)
        on: dict[Emphasis, float] = dict.fromkeys(EMPHASES, 0.0)
        for group in (
            [e for e in EMPHASES if not self.kinds.get(("off court", e))],
            [e for e in _COURT_FIRST if self.kinds.get(("off court", e))],
            [e for e in EMPHASES if e not in _COURT_FIRST and self.kinds.get(("off court", e))],
        ):
            here = [e for e in group if self.kinds.get(("on court", e))]
            asked = sum(left[e] for e in here)
            share = min(1.0, room / asked) if asked else 0.0
            for e in here:
                on[e] = left[e] * share
            room = max(0.0, room - asked * share)
        return {("on court", e): on[e] for e in EMPHASES} | {
            ("off court", e): max(0.0, left[e] - on[e]) for e in EMPHASES
        }

    def _choose_emphases(self) -> None:
        """Days that allow little choose first, then full days, then the others."""
        given: dict[tuple[Court, Emphasis], float] = defaultdict(float)
        order = sorted(
            self.frame.slots,
            key=lambda slot: (
                self.frame.most_effort[slot.day] > LIGHT_EFFORT,
                slot.day not in self.frame.full,
                slot.day,
                slot.court,
            ),
        )
        for slot in order:
            could = [e for e in EMPHASES if self._fitting(slot, e)]
            if could:
                best = max(could, key=lambda e: self._worth(slot, e, given))
                given[slot.court, best] += slot.minutes
                self.emphases.append((slot, best))

    def _worth(
        self, slot: Slot, emphasis: Emphasis, given: Mapping[tuple[Court, Emphasis], float]
    ) -> float:
        """How much a slot asks for an emphasis: what is still missing of it, in sessions, and how
        well it suits the day."""
        where = slot.court, emphasis
        missing = self.wanted[where] - given.get(where, 0.0)
        worth = max(-1.0, min(1.2, missing / slot.minutes))
        around = self._trained(slot.day)
        worth -= 0.7 * (emphasis in around)
        worth += 0.25 * (emphasis in _FRESH) * (1 if slot.day in self.frame.full else -1)
        if emphasis == "strength":
            tomorrow_is_easy = slot.day == 6 or slot.day + 1 not in self.frame.full
            worth += 0.3 if tomorrow_is_easy and self._may_be_strong(slot.day) else -0.6
            beside = self._trained(slot.day - 1) | self._trained(slot.day + 1)
            worth -= 0.5 * (emphasis in beside)
        if emphasis == "recovery" and self.frame.most_effort[slot.day] <= LIGHT_EFFORT:
            worth += 0.6
        elif emphasis == "recovery" and missing > 0:
            worth += 0.4 * (slot.day - 1 in self.frame.full) - 0.3 * (slot.day in self.frame.full)
        return worth

    def _trained(self, day: int) -> set[Emphasis]:
        if not 0 <= day <= 6:
            return set()
        return {e for slot, e in self.emphases if slot.day == day} | {
            each.emphasis for each in self.kept_on[day]
        }

    def _may_be_strong(self, day: int) -> bool:
        """Whether strength on this day may be more than light: the next one is no match."""
        return self._most(day, "strength") >= STRENGTH_EFFORT

    def _most(self, day: int, emphasis: Emphasis) -> int:
        """The most effort of a new session of that emphasis on that day."""
        most = self.frame.most_effort[day]
        if emphasis == "strength" and self.target.days[day].is_before_match:
            return min(most, LIGHT_EFFORT)
        return most

    def _fitting(self, slot: Slot, emphasis: Emphasis) -> list[SessionKind]:
        """Kinds that may stand in the slot, whatever its minutes."""
        most = self._most(slot.day, emphasis)
        fit = [
            kind
            for kind in self.kinds.get((slot.court, emphasis), [])
            if easiest(kind) <= most and kind.shortest_min <= self.frame.room_min[slot.day]
        ]
        if self._is_match_day(slot.day):
            return [
                kind
                for kind in fit
                if emphasis == "recovery" or (emphasis, slot.court) == ("technique", "on court")
                if kind.effort_0_10 <= _MATCH_DAY_EFFORT
                and kind.minutes <= _MATCH_DAY_USUAL_MIN
                and kind.shortest_min <= self._match_day_most(slot.day)
            ]
        return fit

    def _is_match_day(self, day: int) -> bool:
        return self.target.days[day].kind == "match"

    def _match_day_most(self, day: int) -> int:
        return self.target.days[day].match_day_min // 2

    # Which kind, how long

    def _choose_kinds(self) -> None:
        """Kinds whose effort and length suit the day, and that the week has not had yet."""
        given: dict[tuple[Court, Emphasis], float] = defaultdict(float)
        for slot, emphasis in self.emphases:
            given[slot.court, emphasis] += slot.minutes
        for slot, emphasis in sorted(self.emphases, key=lambda each: each[0].day):
            where = slot.court, emphasis
            share = (self.wanted[where] / given[where]) ** 0.5 if self.wanted[where] else 1.0
            slot.minutes *= min(1.5, max(0.6, share))
            most = self._most(slot.day, emphasis)
            leaning = 1.0 if slot.day in self.frame.full else -0.5
            aim = min(float(most), self.target.effort_0_10 + leaning)
            fitting = self._fitting(slot, emphasis)
            kind = min(fitting, key=lambda each: self._against(each, slot, aim))
            self.used[kind.code] += 1
            effort = self._usual_effort(slot, kind)
            self.choices.append(_Choice(slot, emphasis, kind, effort))

    def _against(self, kind: SessionKind, slot: Slot, aim: float) -> float:
        """What speaks against a kind in a slot, in steps of effort."""
        too_short = max(0.0, slot.minutes - kind.longest_min)
        too_long = max(0.0, kind.shortest_min - slot.minutes)
        turn = (sum(map(ord, kind.code)) + self.week_number) % 7
        return (
            abs(kind.effort_0_10 - aim)
            + 1.5 * (0 if self._is_match_day(slot.day) else self.used[kind.code])
            + 0.6 * (kind.code in self.lately)
            + (too_short + 2 * too_long) / 10
            + 0.1 * turn
        )

    def _settle_minutes(self) -> None:
        """Whole steps of minutes: never more than a day's room, and both parts as wanted."""
        for choice in self.choices:
            steps = STEP_MIN * round(choice.slot.minutes / STEP_MIN)
            choice.minutes = min(max(steps, choice.kind.shortest_min), self._longest(choice))
        for day in range(7):
            self._fit_into(day)
        for court in _COURTS:
            self._settle(court)
        self._follow_tapers()

    def _fit_into(self, day: int) -> None:
        while self._free(day) < 0:
            here = [choice for choice in self.choices if choice.slot.day == day]
            longest = max(here, key=lambda each: each.minutes - each.kind.shortest_min)
            spare = longest.minutes - longest.kind.shortest_min
            if spare:
                longest.minutes -= min(spare, STEP_MIN)
            else:
                self._leave_out(min(here, key=lambda each: each.minutes))

    def _leave_out(self, choice: _Choice) -> None:
        self.choices.remove(choice)
        self.used[choice.kind.code] -= 1

    def _free(self, day: int) -> int:
        there = sum(choice.minutes for choice in self.choices if choice.slot.day == day)
        return self.frame.room_min[day] - there

    def _settle(self, court: Court) -> None:
        """Lengthen or shorten the sessions of a part, those first that are furthest from what the
        frame gave them, until they come to what is wanted."""
        here = [choice for choice in self.choices if choice.slot.court == court]
        while True:
            missing = self._missing(court)
            if missing >= STEP_MIN:
                able = [each for each in here if self._longer_by(each) > 0]
                if not able:
                    if self._take_longer_kind(here):
                        continue
                    return
                chosen = max(able, key=lambda each: each.slot.minutes - each.minutes)
                chosen.minutes += self._longer_by(chosen)
            elif missing <= -STEP_MIN:
                able = [each for each in here if each.minutes > each.kind.shortest_min]
                if not able:
                    return
                chosen = min(able, key=lambda each: each.slot.minutes - each.minutes)
                chosen.minutes -= min(STEP_MIN, chosen.minutes - chosen.kind.shortest_min)
            else:
                return

    def _follow_tapers(self) -> None:
        """Where a taper begins or ends within the week, let each part of the week come to the aims
        of its days: minutes go from one part to another, on or off court as they are. What a taper
        has too much and no other part takes is left out."""
        plain, *tapers = _parts_by_taper(self.target)
        if not tapers or not has_aims(self.target):
            return
        parts = [part for part in (plain, *tapers) if part]
        while True:
            over = {day: self._over_aims(part) for part in parts for day in part}
            givers = [
                each
                for each in self.choices
                if over[each.slot.day] >= STEP_MIN and each.minutes > each.kind.shortest_min
            ]
            takers = [
                each
                for each in self.choices
                if over[each.slot.day] <= -STEP_MIN and self._longer_by(each) > 0
            ]
            pairs = [
                (giver, taker)
                for giver in givers
                for taker in takers
                if giver.slot.court == taker.slot.court
            ]
            in_tapers = [each for each in givers if each.slot.day not in plain]
            courts = {each.slot.court for each in givers}
            at_longest = [
                each
                for each in self.choices
                if over[each.slot.day] <= -STEP_MIN
                and each.slot.court in courts
                and each not in takers
            ]
            if pairs:
                giver, taker = max(
                    pairs,
                    key=lambda pair: (
                        over[pair[0].slot.day] - over[pair[1].slot.day],
                        pair[0].minutes - pair[0].slot.minutes,
                        pair[1].slot.minutes - pair[1].minutes,
                    ),
                )
                minutes = min(giver.minutes - giver.kind.shortest_min, self._longer_by(taker))
                taker.minutes += minutes
            elif self._take_longer_kind(at_longest):
                continue
            elif in_tapers:
                giver = max(in_tapers, key=lambda each: each.minutes - each.kind.shortest_min)
                minutes = min(giver.minutes - giver.kind.shortest_min, STEP_MIN)
            else:
                return
            giver.minutes -= minutes

    def _over_aims(self, part: Sequence[int]) -> int:
        """By how many minutes some days of the week are above their aims."""
        aims = sum(self.target.days[day].aim_min for day in part)
        kept = sum(each.minutes for day in part for each in self.kept_on[day])
        return kept + sum(each.minutes for each in self.choices if each.slot.day in part) - aims

    def _take_longer_kind(self, here: Iterable[_Choice]) -> bool:
        """Give one session whose kind cannot be longer another kind for the same that can."""
        for choice in here:
            if self._free(choice.slot.day) <= 0 or self._is_match_day(choice.slot.day):
                continue
            for kind in self._fitting(choice.slot, choice.emphasis):
                if kind.shortest_min <= choice.minutes < kind.longest_min:
                    self._change(choice, kind, self._usual_effort(choice.slot, kind))
                    return True
        return False

    def _change(self, choice: _Choice, kind: SessionKind, effort: int) -> None:
        self.used[choice.kind.code] -= 1
        self.used[kind.code] += 1
        choice.kind, choice.effort = kind, effort

    def _usual_effort(self, slot: Slot, kind: SessionKind) -> int:
        """The kind's own effort, or its easier form's where the day allows no more."""
        return min(kind.effort_0_10, self._most(slot.day, kind.emphasis))

    def _longer_by(self, choice: _Choice) -> int:
        return min(STEP_MIN, self._longest(choice) - choice.minutes, self._free(choice.slot.day))

    def _longest(self, choice: _Choice) -> int:
        longest, day = choice.kind.longest_min, choice.slot.day
        return min(longest, self._match_day_most(day)) if self._is_match_day(day) else longest

    # How hard

    def _tune_effort(self) -> None:
        """Easier and harder forms, and other kinds for the same purpose, one change at a time,
        until the mean effort by minutes is near the target's."""
        choices = [each for each in self.choices if not self._is_match_day(each.slot.day)]
        kept = [
            each
            for day, there in enumerate(self.kept_on)
            for each in there
            if not self._is_match_day(day)
        ]
        minutes = sum(each.minutes for each in kept) + sum(each.minutes for each in choices)
        load = sum(each.load for each in kept) + sum(each.load for each in choices)
        wanted = self.target.effort_0_10 * minutes
        while abs(wanted - load) > NEAR_ENOUGH * minutes:
            best: tuple[float, int, SessionKind, int] | None = None
            for n, choice in enumerate(choices):
                for kind, effort, against in self._other_forms(choice):
                    off = abs(wanted - load + choice.load - choice.minutes * effort) / minutes
                    if off < abs(wanted - load) / minutes - 0.01 and (
                        best is None or off + against < best[0]
                    ):
                        best = off + against, n, kind, effort
            if best is None:
                return
            _, n, kind, effort = best
            choice = choices[n]
            load += choice.minutes * effort - choice.load
            self._change(choice, kind, effort)

    def _other_forms(self, choice: _Choice) -> Iterable[tuple[SessionKind, int, float]]:
        """Other kinds and efforts for the choice, each with what speaks against it."""
        most = self._most(choice.slot.day, choice.emphasis)
        for kind in self._fitting(choice.slot, choice.emphasis):
            same = kind is choice.kind
            if not same and not kind.shortest_min <= choice.minutes <= kind.longest_min:
                continue
            for effort in range(easiest(kind), min(hardest(kind), most) + 1):
                if same and effort == choice.effort:
                    continue
                off_form = 0.02 * (effort != kind.effort_0_10)
                again = 0.0 if same else 0.1 * self.used[kind.code] + 0.02
                yield kind, effort, off_form + again + 0.02 * abs(effort - choice.effort)

    # The answer

    def sessions(self) -> list[PlannedSession]:
        """New sessions in the order of their days, behind those that are kept there."""
        made: list[PlannedSession] = []
        for day, there in enumerate(self.kept_on):
            new = [choice for choice in self.choices if choice.slot.day == day]
            new.sort(key=lambda each: (_IN_A_DAY.index(each.emphasis), each.kind.code))
            first = max((each.order + 1 for each in there), default=0)
            made += [
                PlannedSession(
                    day=self.target.monday + timedelta(days=day),
                    order=first + n,
                    name=choice.kind.name,
                    court=choice.kind.court,
                    emphasis=choice.emphasis,
                    minutes=choice.minutes,
                    effort_0_10=choice.effort,
                    kind=choice.kind.code,
                )
                for n, choice in enumerate(new)
            ]
        return made
