"""What the solver needs to know of a problem, worked out once in whole numbers.

A `Calendar` holds the events that may still be played, in order of start, with their days and
weeks counted from the season's first, and every journey that could be part of a layout. Values are
counted in thousandths (hundredths of a weight times tenths of a flight hour), so that sums are
exact.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise
from typing import Literal

from seasonplan.science import arrival
from seasonplan.science.exact import hundredths
from seasonplan.science.layout.problem import PHASES, Event, Home, Problem
from seasonplan.science.layout.rules import PHASE_VALUE_THOUSANDTHS
from seasonplan.science.places import (
    LONGEST_JOURNEY_DAYS,
    distance_km,
    flight_tenths,
    travel_days,
    zones_crossed,
)
from seasonplan.science.weeks import event_weeks
from seasonplan.science.words import _

_WhyNot = Literal["ruled out", "begun without", "busy", "cancelled"]
"""Why an event cannot be played."""

_altitude_days = lru_cache(maxsize=50_000)(arrival.altitude_days)
_heat_days = lru_cache(maxsize=50_000)(arrival.heat_days)
_clock_days = lru_cache(maxsize=50_000)(arrival.clock_days)


def _contradiction(event: Event, why_not: _WhyNot, *, begun: bool) -> str:
    """That an event has to be played, because it is pinned in or `begun`, and cannot be."""
    if begun:
        text = {
            "ruled out": _(
                "%(event)s began before today and is in the plan in force, but is ruled out."
            ),
            "busy": _(
                "%(event)s began before today and is in the plan in force, but falls on days on"
                " which the player is busy."
            ),
        }[why_not]
    else:
        text = {
            "ruled out": _("%(event)s is pinned in, but is ruled out."),
            "begun without": _(
                "%(event)s is pinned in, but began before today without being in the plan in force."
            ),
            "busy": _("%(event)s is pinned in, but falls on days on which the player is busy."),
            "cancelled": _("%(event)s is pinned in, but is cancelled."),
        }[why_not]
    return text % {"event": f"{event.name} ({event.code})"}


class Impossible(Exception):
    """No layout keeps the rules that are never broken; `reasons` say why, naming the events."""

    def __init__(self, reasons: Iterable[str]) -> None:
        self.reasons = tuple(reasons)
        super().__init__(" ".join(self.reasons))


@dataclass(frozen=True, slots=True)
class Slot:
    """A candidate event, in days (0 = the season's first) and weeks.

    `value` in thousandths is its worth and what its change against the plan in force is worth;
    `forced` says that it must be played. Costs are hundredths.
    """

    event: Event
    start: int
    end: int
    weeks: range
    target: bool
    forced: bool
    value: int
    cost: int

    @property
    def code(self) -> str:
        """The event's code."""
        return self.event.code


@dataclass(frozen=True, slots=True)
class Leg:
    """The way to an event from one place: travel days, flight hours in tenths, and the days needed
    in all, travel and acclimatisation."""

    travel: int
    tenths: int
    need: int


@dataclass(frozen=True, slots=True)
class Onward:
    """Going straight on to `slots[to]`: flight hours in tenths, and days that will be missing."""

    to: int
    tenths: int
    missing: int


class Calendar:
    """A problem in whole numbers; see the module for the units.

    Raises `Impossible` where the rules that are never broken contradict one another.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.limits = limits = problem.limits
        self.weeks = problem.season.weeks
        self.first_phase = PHASES.index(limits.first_phase)
        self.block_weeks = (
            limits.preparation_weeks,
            limits.pre_competition_weeks,
            limits.competition_weeks,
            limits.active_rest_weeks,
        )
        self.phase_value = tuple(PHASE_VALUE_THOUSANDTHS[phase] for phase in PHASES)
        self.travel_weight = hundredths(limits.travel_weight)
        self.missing_weight = 10 * hundredths(limits.missing_weight)
        self.short_weight = 10 * hundredths(limits.short_weight)
        self.change_weight = 10 * hundredths(limits.change_weight)
        self.budget = None if limits.budget is None else hundredths(limits.budget)
        self.in_force = frozenset(problem.in_force.events) if problem.in_force else frozenset()
        self._rates = arrival.Rates(
            clock_threshold_h=limits.clock_threshold_h,
            east_min_per_day=limits.east_min_per_day,
            west_min_per_day=limits.west_min_per_day,
            surface_days=limits.surface_days,
            heat_days=limits.heat_days,
            heat_step_c=limits.heat_step_c,
        )
        self.fixed_phases = self._fixed_phases()
        self.slots = self._playable()
        self._refuse_clashes()
        playable = {slot.code for slot in self.slots}
        self.lost_targets = sum(
            event.role == "target" and event.code not in playable for event in problem.events
        )
        """Targets that no layout can play: breaks that cannot be helped."""
        self.base_value = -self.change_weight * len(self.in_force)
        """Value of dropping all that is in force; a slot in force gives its change back."""

    @cached_property
    def highest_value(self) -> int:
        """No layout has a larger value."""
        gains = [max(0, slot.value) for slot in self.slots]
        return _most_of(self.slots, gains) + self._most_of_weeks + self.base_value

    @cached_property
    def break_score(self) -> int:
        """More than a tenth of the difference in value that two layouts can have.

        Breaks come in tens, so that with each break weighed by this, the smallest sum of breaks
        less value has the smallest breaks.
        """
        longest_tenths = max((leg.tenths for leg in self.from_home), default=0)
        longest_tenths = max(
            longest_tenths, max((way.tenths for ways in self.onward for way in ways), default=0)
        )
        most_missing = max((leg.need for leg in self.from_home), default=0)
        most_missing = max(
            most_missing, max((way.missing for ways in self.onward for way in ways), default=0)
        )
        journeys = 2 * longest_tenths * self.travel_weight + most_missing * self.missing_weight
        losses = [max(0, -slot.value) + journeys for slot in self.slots]
        lowest = _most_of(self.slots, losses)
        lowest += self.short_weight * max(0, self.limits.min_events) - self.base_value
        return 1 << ((self.highest_value + lowest) // 10 + 1).bit_length()

    @property
    def _most_of_weeks(self) -> int:
        return self.weeks * max(self.phase_value)

    # What is settled before anything is chosen.

    def _fixed_phases(self) -> tuple[int | None, ...]:
        """The phase of each week before today's, None where the plan in force says nothing."""
        problem = self.problem
        if problem.today is None or problem.in_force is None:
            return ()
        begun = max(0, min(self.weeks, (problem.today - problem.season.start).days // 7))
        phases: list[int | None] = [None] * begun
        for block in problem.in_force.blocks:
            first = (block.start - problem.season.start).days // 7
            last = (block.end - problem.season.start).days // 7
            for week in range(max(0, first), min(begun, last + 1)):
                phases[week] = PHASES.index(block.phase)
        return tuple(phases)

    def _playable(self) -> tuple[Slot, ...]:
        problem = self.problem
        known = {event.code for event in problem.events}
        reasons = [
            _("%(event)s is pinned in, but is not among the candidates.") % {"event": code}
            for code in sorted(problem.keep - known)
        ]
        slots: list[Slot] = []
        for event in problem.events:
            begun = (
                problem.in_force is not None
                and problem.today is not None
                and event.start < problem.today
            )
            off = event.code in problem.cancelled
            played = begun and event.code in self.in_force and not off
            forced = event.code in problem.keep or played
            why_not: _WhyNot | None = None
            if event.code in problem.drop:
                why_not = "ruled out"
            if begun and not played:
                why_not = "begun without"
            if any(busy.start <= event.end and event.start <= busy.end for busy in problem.busy):
                why_not = "busy"
            if off:
                why_not = "cancelled"
            if forced and why_not:
                reasons.append(_contradiction(event, why_not, begun=played))
            elif not why_not:
                slots.append(self._slot(event, forced))
        if reasons:
            raise Impossible(reasons)
        slots.sort(key=lambda slot: (slot.start, slot.end, slot.code))
        return tuple(self._beside_the_forced(slots))

    def _beside_the_forced(self, slots: list[Slot]) -> list[Slot]:
        """Without what can be in no layout, because an event that must be played leaves no room.

        The search need not find that out for itself: a target lost that way is no choice.
        """
        forced = [slot for slot in slots if slot.forced]

        def clash(one: Slot, other: Slot) -> bool:
            before, after = sorted((one, other), key=lambda slot: slot.start)
            if before.end >= after.start:
                return True
            if after.start - before.end > 2 * LONGEST_JOURNEY_DAYS or self.can_follow(
                before, after
            ):
                return False
            # With an event between the two, both journeys may be short.
            return not any(before.end < slot.start and slot.end < after.start for slot in slots)

        return [slot for slot in slots if slot.forced or not any(clash(slot, f) for f in forced)]

    def _slot(self, event: Event, forced: bool) -> Slot:
        origin = self.problem.season.start
        change = 0
        if self.problem.in_force is not None:
            change = self.change_weight if event.code in self.in_force else -self.change_weight
        return Slot(
            event=event,
            start=(event.start - origin).days,
            end=(event.end - origin).days,
            weeks=event_weeks(event.start, event.end, origin),
            target=event.role == "target",
            forced=forced,
            value=10 * hundredths(event.worth) + change,
            cost=hundredths(event.cost),
        )

    def _refuse_clashes(self) -> None:
        """Events that must be played, and cannot be played one after the other."""
        forced = [slot for slot in self.slots if slot.forced]
        reasons = []
        for before, after in pairwise(forced):
            if self.can_follow(before, after):
                continue
            gap = after.start - before.end - 1
            text = (
                _("%(event)s and %(other)s are both pinned in or begun already, and they overlap.")
                if gap < 0
                else _(
                    "%(event)s and %(other)s are both pinned in or begun already, and the days"
                    " between them do not suffice for the journey."
                )
            )
            reasons.append(
                text
                % {
                    "event": f"{before.event.name} ({before.code})",
                    "other": f"{after.event.name} ({after.code})",
                }
            )
        if reasons:
            raise Impossible(reasons)

    # Journeys.

    def can_follow(self, before: Slot, after: Slot) -> bool:
        """Whether the free days between two events suffice for the journey."""
        gap = after.start - before.end - 1
        if gap < 0:
            return False
        if gap < self.limits.home_gap_days:
            return gap >= self.leg(before, after).travel
        return gap >= self.leg(None, after).travel + self.way_home(before).travel

    def leg(self, left: Slot | None, to: Slot) -> Leg:
        """The way to an event, from the event before or (None) from home."""
        event = to.event
        if left is not None:
            place: Event | Home = left.event
            high_c = left.event.high_c
        else:
            place = home = self.problem.home
            highs = home.monthly_high_c
            high_c = highs[event.start.month - 1] if highs else None
        km = distance_km(place.lat, place.lon, event.lat, event.lon)
        days = travel_days(km, self.limits.one_day_travel_km)
        settle = max(
            _clock_days(zones_crossed(place.timezone, event.timezone, event.start), self._rates),
            self.limits.surface_days if place.surface != event.surface else 0,
            _altitude_days(place.elevation_m, event.elevation_m),
            _heat_days(high_c, event.high_c, self._rates),
        )
        return Leg(days, flight_tenths(km), days + settle)

    def way_home(self, slot: Slot) -> Leg:
        """The way back home from an event; nothing needs getting used to there."""
        home, event = self.problem.home, slot.event
        km = distance_km(event.lat, event.lon, home.lat, home.lon)
        days = travel_days(km, self.limits.one_day_travel_km)
        return Leg(days, flight_tenths(km), days)

    @cached_property
    def from_home(self) -> tuple[Leg, ...]:
        """The way from home to each slot."""
        return tuple(self.leg(None, slot) for slot in self.slots)

    @cached_property
    def to_home(self) -> tuple[Leg, ...]:
        """The way home from each slot."""
        return tuple(self.way_home(slot) for slot in self.slots)

    @cached_property
    def onward(self) -> tuple[tuple[Onward, ...], ...]:
        """For each slot, the events to which the player can go straight on."""
        starts = [slot.start for slot in self.slots]
        ways = []
        for left in self.slots:
            first = bisect_right(starts, left.end)
            after_last = bisect_right(starts, left.end + self.limits.home_gap_days)
            found = []
            for to in range(first, after_last):
                gap = starts[to] - left.end - 1
                leg = self.leg(left, self.slots[to])
                if gap >= leg.travel:
                    found.append(Onward(to, leg.tenths, max(0, leg.need - gap)))
            ways.append(tuple(found))
        return tuple(ways)


def _most_of(slots: tuple[Slot, ...], amounts: list[int]) -> int:
    """The largest sum of amounts of events that do not overlap."""
    ends: list[int] = [-1]
    best: list[int] = [0]
    for slot, amount in sorted(zip(slots, amounts, strict=True), key=lambda pair: pair[0].end):
        before = best[bisect_right(ends, slot.start - 1) - 1]
        ends.append(slot.end)
        best.append(max(best[-1], before + amount))
    return best[-1]
