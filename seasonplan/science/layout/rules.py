"""The one judge: which rules does a layout of the season break, by how much, and what is it worth.

`judge` takes any choice of events and any blocks: the solver's answer, a hand edit on the planner,
an imported plan. A layout that cannot be is judged like any other, and what is impossible in it is
named. One function a rule, in the order in which a coach reads them.

A finding has units; units times weight, summed, are the layout's `breaks`. Rules with no weight are
never broken by a layout that is `possible`. Values are summed in whole thousandths (hundredths of a
weight times tenths of a flight hour), so that ties are exact.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from seasonplan.science.exact import hundredths
from seasonplan.science.layout.problem import PHASES, Block, Busy, Event, Phase, Problem
from seasonplan.science.layout.trips import Trip, gap_days, trips
from seasonplan.science.layout.wording import day_count, phase_word, week_count
from seasonplan.science.places import NEARBY_KM, distance_km
from seasonplan.science.weeks import event_weeks, iso_label
from seasonplan.science.words import (
    _,
    amount,
    day_month,
    days,
    listed,
    ngettext,
    pgettext,
    weekday_day,
)

WEIGHTS: Final[dict[str, int]] = {
    "target": 300,
    "phase": 50,
    "peak": 60,
    "arrival": 20,
    "run": 30,
    "quiet": 20,
    "length": 30,
    "cycles": 50,
    "rest": 30,
    "count": 40,
    "budget": 10,
}
"""What one unit of a broken rule weighs."""

NEVER_BROKEN: Final = (
    "cover",
    "phase order",
    "overlap",
    "busy",
    "keep",
    "drop",
    "cancelled",
    "past",
)
"""The rules that no layout may break; their findings have no weight."""

QUIET_BEFORE_WEEKS: Final = 4
"""The weeks before a target's first event week that are to be quiet."""

TUNE_UP_WINDOW_WEEKS: Final = 3
"""Tune-up weeks are counted in every window of so many weeks."""

BUDGET_STEP: Final = 100
"""Each started step over the budget is one unit."""

PHASE_VALUE_THOUSANDTHS: Final[dict[Phase, int]] = {
    "preparation": 1000,
    "pre-competition": 500,
    "competition": 0,
    "active rest": 300,
}
"""Value of a week of each phase."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One broken rule, or one place where it is broken.

    `weight` is None for a rule that is never broken; `events` are codes, `weeks` ISO labels, and
    `text` is a sentence for a coach, with the remedy where there is one.
    """

    rule: str
    units: int
    weight: int | None
    events: tuple[str, ...]
    weeks: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Peak:
    """A peak window, from a Monday to a Sunday, and the codes of the targets in it."""

    start: date
    end: date
    targets: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ValueParts:
    """What the value is made of, signed: the parts add up to it."""

    worth: float
    preparation: float
    pre_competition: float
    active_rest: float
    travel: float
    missing: float
    short: float
    change: float


@dataclass(frozen=True, slots=True)
class Judgement:
    """All that is to be said of one layout.

    `possible`: no rule that is never broken is violated. `breaks`: units times weight, summed.
    `value_thousandths`: the exact value. `trips`: one an event, in order of start. The rest are
    totals for the coach: weeks with an event, the longest run of them, costs, hours of flight (all
    legs), weeks of active rest, weeks with four days or more away from home, and days that are
    missing before events, targets or not.
    """

    possible: bool
    breaks: float
    value_thousandths: int
    value_parts: ValueParts
    broken: tuple[Finding, ...]
    trips: tuple[Trip, ...]
    peaks: tuple[Peak, ...]
    event_weeks: int
    longest_run: int
    cost: float
    flight_hours: float
    rest_weeks: int
    weeks_away: int
    missing_days: int

    @property
    def value(self) -> float:
        """What the layout is worth, among layouts of the same breaks."""
        return self.value_thousandths / 1000


def judge(problem: Problem, events: Collection[str], blocks: Sequence[Block]) -> Judgement:
    """Judge the layout that plays these events (codes) and has these blocks.

    Raises ValueError for a code that no event of the problem has, and for an event that does not
    lie wholly inside the season.
    """
    plan = _Plan(problem, events, blocks)
    broken = tuple(finding for rule in _RULES for finding in rule(plan))
    parts = _value_parts(plan)
    flight_tenths = sum(trip.flight_tenths + trip.home_flight_tenths for trip in plan.trips)
    return Judgement(
        possible=all(finding.weight is not None for finding in broken),
        breaks=float(sum(finding.units * (finding.weight or 0) for finding in broken)),
        value_thousandths=sum(parts.values()),
        value_parts=ValueParts(**{name: part / 1000 for name, part in parts.items()}),
        broken=broken,
        trips=plan.trips,
        peaks=plan.peaks,
        event_weeks=sum(plan.busy_weeks),
        longest_run=max((len(run) for run in plan.runs()), default=0),
        cost=plan.cost_hundredths / 100,
        flight_hours=flight_tenths / 10,
        rest_weeks=plan.phases.count("active rest"),
        weeks_away=_weeks_away(plan),
        missing_days=sum(trip.missing_days for trip in plan.trips),
    )


@dataclass(frozen=True, slots=True)
class _Span:
    """A block as indexes of the season's weeks, cut to the season."""

    phase: Phase
    weeks: range


class _Plan:
    """A layout, looked at from all the sides that the rules need."""

    def __init__(self, problem: Problem, events: Collection[str], blocks: Sequence[Block]) -> None:
        self.problem = problem
        self.limits = problem.limits
        self.by_code = {event.code: event for event in problem.events}
        unknown = sorted(set(events) - self.by_code.keys())
        if unknown:
            raise ValueError(f"no event has the code {listed(unknown)}")
        season = problem.season
        self.codes = frozenset(events)
        self.chosen = _in_order(self.by_code[code] for code in self.codes)
        for event in self.chosen:
            if event.start < season.start or event.end > season.end:
                raise ValueError(f"{event.name} does not lie wholly inside the season")
        self.targets = [event for event in self.chosen if event.role == "target"]
        self.trips = trips(problem, self.chosen)
        self.season_weeks = season.weeks
        self.weeks_of = {
            event.code: event_weeks(event.start, event.end, season.start) for event in self.chosen
        }
        self.busy_weeks = [False] * self.season_weeks
        for weeks in self.weeks_of.values():
            for week in weeks:
                self.busy_weeks[week] = True
        self.blocks = sorted(blocks, key=lambda block: (block.start, block.end))
        self.spans = [
            _Span(block.phase, weeks) for block in self.blocks if (weeks := self.weeks_in(block))
        ]
        self.phases: list[Phase | None] = [None] * self.season_weeks
        for span in reversed(self.spans):  # where two blocks overlap, the earlier one counts
            for week in span.weeks:
                self.phases[week] = span.phase
        self.peaks, self.in_peak = _peaks(self)
        self.cost_hundredths = sum(hundredths(event.cost) for event in self.chosen)

    def weeks_in(self, block: Block) -> range:
        """The weeks that a block touches, cut to the season."""
        first = (block.start - self.problem.season.start).days // 7
        last = (block.end - self.problem.season.start).days // 7
        return range(max(first, 0), min(last + 1, self.season_weeks))

    def monday(self, week: int) -> date:
        return self.problem.season.start + timedelta(weeks=week)

    def sunday(self, week: int) -> date:
        return self.monday(week) + timedelta(days=6)

    def labels(self, weeks: Collection[int]) -> tuple[str, ...]:
        return tuple(iso_label(self.monday(week)) for week in weeks)

    def named(self, code: str) -> str:
        event = self.by_code.get(code)
        return event.name if event else code

    def events_in(self, weeks: Collection[int]) -> list[Event]:
        """The events played that have an event week among these."""
        return [
            event
            for event in self.chosen
            if any(week in weeks for week in self.weeks_of[event.code])
        ]

    def runs(self) -> list[range]:
        """Event weeks in a row."""
        return _rows([week for week, busy in enumerate(self.busy_weeks) if busy])

    def finding(
        self,
        rule: str,
        units: int,
        text: str,
        *,
        events: Sequence[Event | str] = (),
        weeks: Collection[int] = (),
    ) -> Finding:
        codes = tuple(event.code if isinstance(event, Event) else event for event in events)
        return Finding(rule, units, WEIGHTS.get(rule), codes, self.labels(weeks), text)


# The rules that are never broken.


def _cover(plan: _Plan) -> Iterator[Finding]:
    """Blocks are whole weeks of the season, and each week lies in one of them."""
    season = plan.problem.season
    for block in plan.blocks:
        whole = block.start.weekday() == 0 and block.end.weekday() == 6
        if not whole or block.start < season.start or block.end > season.end:
            yield plan.finding(
                "cover",
                1,
                _(
                    "The %(phase)s block %(days)s is not made of whole weeks of the season: let it"
                    " run from a Monday to a Sunday."
                )
                % {"phase": phase_word(block.phase), "days": days(block.start, block.end)},
            )
    holds = [sum(week in span.weeks for span in plan.spans) for week in range(plan.season_weeks)]
    for weeks in _rows([week for week, number in enumerate(holds) if number == 0]):
        yield plan.finding(
            "cover",
            len(weeks),
            ngettext(
                "No block holds %(weeks)s: give it a phase.",
                "No block holds %(weeks)s: give them a phase.",
                len(weeks),
            )
            % {"weeks": _weeks_of(plan, weeks)},
            weeks=weeks,
        )
    for weeks in _rows([week for week, number in enumerate(holds) if number > 1]):
        yield plan.finding(
            "cover",
            len(weeks),
            _("More than one block holds %(weeks)s: let one begin where the other ends.")
            % {"weeks": _weeks_of(plan, weeks)},
            weeks=weeks,
        )


def _phase_order(plan: _Plan) -> Iterator[Finding]:
    """The first block has the phase the season begins with; the others follow the cycle."""
    expected = plan.limits.first_phase
    for index, span in enumerate(plan.spans):
        if span.phase != expected:
            text = (
                _("The season begins with %(expected)s, but its first block is %(phase)s.")
                if index == 0
                else _(
                    "After %(before)s comes %(expected)s, but the block from %(day)s is %(phase)s."
                )
            )
            text %= {
                "before": phase_word(plan.spans[index - 1].phase),
                "expected": phase_word(expected),
                "day": day_month(plan.monday(span.weeks.start)),
                "phase": phase_word(span.phase),
            }
            yield plan.finding("phase order", 1, text, weeks=span.weeks)
        expected = PHASES[(PHASES.index(span.phase) + 1) % len(PHASES)]


def _overlap(plan: _Plan) -> Iterator[Finding]:
    """One event at a time, with the days of the journey between two of them."""
    longest: Event | None = None
    for index, event in enumerate(plan.chosen):
        if longest is not None:
            before = plan.chosen[index - 1]
            journey = plan.trips[index].travel_days + plan.trips[index - 1].home_travel_days
            if longest.end >= event.start:
                yield plan.finding(
                    "overlap",
                    1,
                    _("%(event)s and %(other)s overlap: play one of them.")
                    % {"event": _dated(longest), "other": _dated(event)},
                    events=(longest, event),
                )
            elif (gap := gap_days(before, event)) < journey:
                yield plan.finding(
                    "overlap",
                    1,
                    (
                        _(
                            "%(event)s starts on %(start)s, %(before)s may last until %(end)s: the"
                            " journey takes %(days)s, and none is free. Play one of them."
                        )
                        if gap == 0
                        else ngettext(
                            "%(event)s starts on %(start)s, %(before)s may last until %(end)s: the"
                            " journey takes %(days)s, and only %(free)d is free. Play one of them.",
                            "%(event)s starts on %(start)s, %(before)s may last until %(end)s: the"
                            " journey takes %(days)s, and only %(free)d is free. Play one of them.",
                            gap,
                        )
                    )
                    % {
                        "event": event.name,
                        "start": weekday_day(event.start),
                        "before": before.name,
                        "end": weekday_day(before.end),
                        "days": day_count(journey),
                        "free": gap,
                    },
                    events=(before, event),
                )
        if longest is None or event.end > longest.end:
            longest = event


def _busy(plan: _Plan) -> Iterator[Finding]:
    """No event day on a busy day of the player."""
    for event in plan.chosen:
        for busy in plan.problem.busy:
            first, last = max(event.start, busy.start), min(event.end, busy.end)
            if first <= last:
                yield plan.finding(
                    "busy",
                    (last - first).days + 1,
                    _(
                        "%(event)s falls on days on which the player is busy, %(days)s: leave it"
                        " out, or free those days."
                    )
                    % {"event": _dated(event), "days": _busy_days(busy)},
                    events=(event,),
                )


def _keep(plan: _Plan) -> Iterator[Finding]:
    """Events that the coach has pinned in are played."""
    for code in sorted(plan.problem.keep - plan.codes):
        yield plan.finding(
            "keep",
            1,
            _("%(event)s is pinned in, but not in the plan: add it, or unpin it.")
            % {"event": plan.named(code)},
            events=(code,),
        )


def _drop(plan: _Plan) -> Iterator[Finding]:
    """Events that the coach has ruled out are not."""
    for event in plan.chosen:
        if event.code in plan.problem.drop:
            yield plan.finding(
                "drop",
                1,
                _("%(event)s is ruled out, but in the plan: leave it out, or allow it again.")
                % {"event": event.name},
                events=(event,),
            )


def _cancelled(plan: _Plan) -> Iterator[Finding]:
    """Events that do not take place are not played."""
    for event in plan.chosen:
        if event.code in plan.problem.cancelled:
            yield plan.finding(
                "cancelled",
                1,
                _("%(event)s is cancelled, but in the plan: take it out.")
                % {"event": _dated(event)},
                events=(event,),
            )


def _past(plan: _Plan) -> Iterator[Finding]:
    """In re-planning, events begun before today and weeks before this one stay as they were.

    What was cancelled never began.
    """
    problem = plan.problem
    if problem.today is None or problem.in_force is None:
        return
    in_force = set(problem.in_force.events)
    for event in _in_order(problem.events):
        if event.start >= problem.today or event.code in problem.cancelled:
            continue
        if (event.code in in_force) == (event.code in plan.codes):
            continue
        if event.code in in_force:
            text = _(
                "%(event)s began on %(day)s, before today, and belongs to the plan in force: what"
                " is played stays in the plan."
            )
        else:
            text = _(
                "%(event)s began on %(day)s, before today, and is not in the plan in force: it can"
                " no longer be added."
            )
        text %= {"event": event.name, "day": weekday_day(event.start)}
        yield plan.finding("past", 1, text, events=(event,))
    begun = (problem.today - problem.season.start).days // 7
    before: list[Phase | None] = [None] * plan.season_weeks
    for block in problem.in_force.blocks:
        for week in plan.weeks_in(block):
            before[week] = block.phase
    changed = [
        week
        for week in range(min(max(begun, 0), plan.season_weeks))
        if before[week] is not None and before[week] != plan.phases[week]
    ]
    for weeks in _rows(changed):
        yield plan.finding(
            "past",
            len(weeks),
            ngettext(
                "%(weeks)s is over: what was %(phase)s cannot be changed any more.",
                "%(weeks)s are over: what was %(phase)s cannot be changed any more.",
                len(weeks),
            )
            % {
                "weeks": _weeks_of(plan, weeks, capital=True),
                "phase": phase_word(before[weeks.start] or ""),
            },
            weeks=weeks,
        )


# The rules that are broken as little as possible.


def _target(plan: _Plan) -> Iterator[Finding]:
    """Every target is played."""
    for event in _in_order(plan.problem.events):
        if event.role == "target" and event.code not in plan.codes:
            yield plan.finding(
                "target",
                1,
                _left_out(plan, event),
                events=(event,),
                weeks=event_weeks(event.start, event.end, plan.problem.season.start),
            )


def _left_out(plan: _Plan, event: Event) -> str:
    if event.code in plan.problem.drop:
        return _(
            "%(event)s, a target, is left out, since it is ruled out: allow it again, or make it no"
            " target."
        ) % {"event": _dated(event)}
    if event.code in plan.problem.cancelled:
        return _("%(event)s, a target, is left out, since it is cancelled: make it no target.") % {
            "event": _dated(event)
        }
    for busy in plan.problem.busy:
        if busy.start <= event.end and event.start <= busy.end:
            return _(
                "%(event)s, a target, is left out: the player is busy %(days)s. Free those days, or"
                " make it no target."
            ) % {"event": _dated(event), "days": _busy_days(busy)}
    clashing = [
        other.name for other in plan.chosen if other.start <= event.end and event.start <= other.end
    ]
    if clashing:
        return _(
            "%(event)s, a target, is left out: it overlaps %(others)s. Play it instead, or make it"
            " no target."
        ) % {"event": _dated(event), "others": listed(clashing)}
    return _("%(event)s, a target, is left out: add it, or make it no target.") % {
        "event": _dated(event)
    }


def _phase(plan: _Plan) -> Iterator[Finding]:
    """Event weeks lie in competition; an event that is no target may be a tune-up."""
    for event in plan.chosen:
        fine = ("competition",) if event.role == "target" else ("competition", "pre-competition")
        wrong = [week for week in plan.weeks_of[event.code] if plan.phases[week] not in fine]
        if wrong:
            text = (
                ngettext(
                    "%(event)s, a target, lies in %(phases)s in %(weeks)s: make that week"
                    " competition, or leave it out.",
                    "%(event)s, a target, lies in %(phases)s in %(weeks)s: make those weeks"
                    " competition, or leave it out.",
                    len(wrong),
                )
                if event.role == "target"
                else ngettext(
                    "%(event)s lies in %(phases)s in %(weeks)s: make that week competition, or"
                    " leave it out.",
                    "%(event)s lies in %(phases)s in %(weeks)s: make those weeks competition, or"
                    " leave it out.",
                    len(wrong),
                )
            )
            phases = dict.fromkeys(plan.phases[week] for week in wrong)
            words = [phase_word(phase) if phase else _("no phase") for phase in phases]
            yield plan.finding(
                "phase",
                len(wrong),
                text
                % {
                    "event": _dated(event),
                    "phases": listed(words),
                    "weeks": _weeks_of(plan, wrong),
                },
                events=(event,),
                weeks=wrong,
            )
    yield from _tune_ups(plan)


def _tune_ups(plan: _Plan) -> Iterator[Finding]:
    """Any three weeks in a row hold few event weeks that are pre-competition weeks."""
    allowed = plan.limits.tune_up_weeks
    tune_up = [
        busy and phase == "pre-competition"
        for busy, phase in zip(plan.busy_weeks, plan.phases, strict=True)
    ]
    windows = range(plan.season_weeks - TUNE_UP_WINDOW_WEEKS + 1)
    excess = {
        first: over
        for first in windows
        if (over := sum(tune_up[first : first + TUNE_UP_WINDOW_WEEKS]) - allowed) > 0
    }
    for firsts in _rows(list(excess), reach=TUNE_UP_WINDOW_WEEKS - 1):
        span = range(firsts.start, firsts.stop - 1 + TUNE_UP_WINDOW_WEEKS)
        weeks = [week for week in span if tune_up[week]]
        events = plan.events_in(weeks)
        text = (
            ngettext(
                "Of any %(window)d weeks in a row in pre-competition, only %(allowed)d week may"
                " hold an event: %(events)s take %(weeks)s. Leave one out, or begin competition"
                " earlier.",
                "Of any %(window)d weeks in a row in pre-competition, only %(allowed)d weeks may"
                " hold an event: %(events)s take %(weeks)s. Leave one out, or begin competition"
                " earlier.",
                allowed,
            )
            if allowed
            else _(
                "Of any %(window)d weeks in a row in pre-competition, no week may hold an event:"
                " %(events)s take %(weeks)s. Leave one out, or begin competition earlier."
            )
        )
        yield plan.finding(
            "phase",
            sum(excess[first] for first in firsts if first in excess),
            text
            % {
                "window": TUNE_UP_WINDOW_WEEKS,
                "allowed": allowed,
                "events": _names(events),
                "weeks": _weeks_of(plan, weeks),
            },
            events=events,
            weeks=weeks,
        )


def _peak(plan: _Plan) -> Iterator[Finding]:
    """All event weeks of a target lie in one peak window."""
    for event in plan.targets:
        if event.code in plan.in_peak:
            continue
        weeks = plan.weeks_of[event.code]
        longest = plan.limits.peak_weeks
        if len(weeks) > longest:
            text = _(
                "%(event)s, a target, is in no peak: it takes %(weeks)s, and a peak lasts at most"
                " %(longest)s."
            )
        elif not any(
            span.phase == "competition" and _holds(span.weeks, weeks) for span in plan.spans
        ):
            text = ngettext(
                "%(event)s, a target, is in no peak: its week does not lie in one block of"
                " competition; move the block, or leave it out.",
                "%(event)s, a target, is in no peak: its weeks do not lie in one block of"
                " competition; move the block, or leave it out.",
                len(weeks),
            )
        else:
            text = _(
                "%(event)s, a target, is in no peak: its block has other peaks, %(gap)s must lie"
                " between two, and one lasts at most %(longest)s; leave one of the targets out, or"
                " make it no target."
            )
        yield plan.finding(
            "peak",
            1,
            text
            % {
                "event": _dated(event),
                "weeks": week_count(len(weeks)),
                "gap": week_count(plan.limits.peak_gap_weeks),
                "longest": week_count(longest),
            },
            events=(event,),
            weeks=weeks,
        )


def _arrival(plan: _Plan) -> Iterator[Finding]:
    """The player reaches a target in time to get used to the place."""
    for index, (event, trip) in enumerate(zip(plan.chosen, plan.trips, strict=True)):
        if event.role != "target" or trip.missing_days == 0:
            continue
        in_time = event.start - timedelta(days=trip.acclimatisation.days)
        if index:
            text = _(
                "%(event)s, a target, starts %(when)s: arrive by %(day)s, or skip %(before)s."
            ) % {
                "event": event.name,
                "when": _landing(event, trip),
                "day": weekday_day(in_time),
                "before": plan.chosen[index - 1].name,
            }
        else:
            text = _(
                "%(event)s, a target, starts %(when)s: leave home by %(day)s, before the season"
                " begins, or make it no target."
            ) % {
                "event": event.name,
                "when": _landing(event, trip),
                "day": weekday_day(in_time - timedelta(days=trip.travel_days)),
            }
        yield plan.finding(
            "arrival", trip.missing_days, text, events=(event,), weeks=plan.weeks_of[event.code][:1]
        )


def _landing(event: Event, trip: Trip) -> str:
    """`2 days after the landing and needs 5 days to settle (body clock)`."""
    days_there = (event.start - trip.arrive).days
    needed = trip.acclimatisation
    if needed.days == 0:
        return ngettext(
            "before the journey of %(count)d day is over",
            "before the journey of %(count)d days is over",
            trip.travel_days,
        ) % {"count": trip.travel_days}
    reasons = [
        name
        for name, needs in (
            (pgettext("reason to arrive early", "body clock"), needed.clock),
            (pgettext("reason to arrive early", "surface"), needed.surface),
            (pgettext("reason to arrive early", "altitude"), needed.altitude),
            (pgettext("reason to arrive early", "heat"), needed.heat),
        )
        if needs == needed.days
    ]
    said = (
        _("%(there)s after the landing and needs %(needed)s to settle (%(reasons)s)")
        if days_there
        else _("on the landing day and needs %(needed)s to settle (%(reasons)s)")
    )
    return said % {
        "there": day_count(days_there),
        "needed": day_count(needed.days),
        "reasons": listed(reasons),
    }


def _run(plan: _Plan) -> Iterator[Finding]:
    """Not too many event weeks in a row."""
    longest = plan.limits.max_run
    for run in plan.runs():
        if len(run) > longest:
            events = plan.events_in(run)
            several = len(run) > 2 * longest + 1  # one week without an event will not do
            text = (
                _(
                    "%(weeks)d event weeks in a row, from %(first)s to %(last)s (%(events)s), at"
                    " most %(most)d: leave some out, best from the middle."
                )
                if several
                else _(
                    "%(weeks)d event weeks in a row, from %(first)s to %(last)s (%(events)s), at"
                    " most %(most)d: leave one out, best from the middle."
                )
            )
            yield plan.finding(
                "run",
                len(run) - longest,
                text
                % {
                    "weeks": len(run),
                    "first": day_month(plan.monday(run.start)),
                    "last": day_month(plan.sunday(run.stop - 1)),
                    "events": _names(events),
                    "most": longest,
                },
                events=events,
                weeks=run,
            )


def _quiet(plan: _Plan) -> Iterator[Finding]:
    """The four weeks before a target hold few event weeks."""
    allowed = plan.limits.quiet_weeks
    for event in plan.targets:
        first = plan.weeks_of[event.code].start
        busy = [
            week
            for week in range(max(0, first - QUIET_BEFORE_WEEKS), first)
            if plan.busy_weeks[week]
        ]
        if len(busy) > allowed:
            others = [other for other in plan.events_in(busy) if other is not event]
            yield plan.finding(
                "quiet",
                len(busy) - allowed,
                ngettext(
                    "%(weeks)d of the %(all)d weeks before %(event)s, a target, are event weeks"
                    " (%(others)s), at most %(most)d: leave one of them out.",
                    "%(weeks)d of the %(all)d weeks before %(event)s, a target, are event weeks"
                    " (%(others)s), at most %(most)d: leave one of them out.",
                    len(busy),
                )
                % {
                    "weeks": len(busy),
                    "all": QUIET_BEFORE_WEEKS,
                    "event": event.name,
                    "others": _names(others),
                    "most": allowed,
                },
                events=(event, *others),
                weeks=busy,
            )


def _length(plan: _Plan) -> Iterator[Finding]:
    """Blocks are neither too short nor too long."""
    for index, span in enumerate(plan.spans):
        smallest, largest = plan.limits.block_weeks(span.phase)
        done = plan.limits.weeks_already_done if index == 0 else 0
        length = len(span.weeks) + done
        may_be_cut = span.weeks.stop == plan.season_weeks and span.phase != "competition"
        if length < smallest and not may_be_cut:
            units = smallest - length
            text = _(
                "The %(phase)s block %(days)s has %(weeks)s, at least %(smallest)d: make it"
                " %(units)s longer."
            )
        elif length > largest:
            units = length - largest
            text = _(
                "The %(phase)s block %(days)s has %(weeks)s, at most %(largest)d: make it %(units)s"
                " shorter."
            )
        else:
            continue
        has = (
            _("%(weeks)s (%(done)d before the season began)")
            % {"weeks": week_count(length), "done": done}
            if done
            else week_count(length)
        )
        yield plan.finding(
            "length",
            units,
            text
            % {
                "phase": phase_word(span.phase),
                "days": days(plan.monday(span.weeks.start), plan.sunday(span.weeks.stop - 1)),
                "weeks": has,
                "smallest": smallest,
                "largest": largest,
                "units": week_count(units),
            },
            weeks=span.weeks,
        )


def _cycles(plan: _Plan) -> Iterator[Finding]:
    """The season has enough competition blocks."""
    has = sum(span.phase == "competition" for span in plan.spans)
    wanted = plan.limits.min_cycles
    if has < wanted:
        yield plan.finding(
            "cycles",
            wanted - has,
            ngettext(
                "The season has %(count)d block of competition, at least %(wanted)d: make room for"
                " another round of preparation, pre-competition and competition.",
                "The season has %(count)d blocks of competition, at least %(wanted)d: make room for"
                " another round of preparation, pre-competition and competition.",
                has,
            )
            % {"count": has, "wanted": wanted},
        )


def _rest(plan: _Plan) -> Iterator[Finding]:
    """Enough active rest in all, and at the end."""
    has = plan.phases.count("active rest")
    wanted = plan.limits.min_rest_weeks
    if has < wanted:
        yield plan.finding(
            "rest",
            wanted - has,
            ngettext(
                "The season has %(weeks)s of active rest, at least %(wanted)d: plan %(more)d more"
                " week of it.",
                "The season has %(weeks)s of active rest, at least %(wanted)d: plan %(more)d more"
                " weeks of it.",
                wanted - has,
            )
            % {"weeks": week_count(has), "wanted": wanted, "more": wanted - has},
        )
    final = range(max(0, plan.season_weeks - plan.limits.final_rest_weeks), plan.season_weeks)
    wrong = [week for week in final if plan.phases[week] != "active rest"]
    if wrong:
        yield plan.finding(
            "rest",
            len(wrong),
            ngettext(
                "The season ends with %(final)s of active rest, but %(weeks)s is not: end"
                " competition earlier.",
                "The season ends with %(final)s of active rest, but %(weeks)s are not: end"
                " competition earlier.",
                len(wrong),
            )
            % {"final": week_count(len(final)), "weeks": _weeks_of(plan, wrong)},
            weeks=wrong,
        )


def _count(plan: _Plan) -> Iterator[Finding]:
    """Not too many events."""
    over = len(plan.chosen) - plan.limits.max_events
    if over > 0:
        yield plan.finding(
            "count",
            over,
            ngettext(
                "%(count)d event, at most %(most)d: leave out %(over)d. Of least worth:"
                " %(events)s.",
                "%(count)d events, at most %(most)d: leave out %(over)d. Of least worth:"
                " %(events)s.",
                len(plan.chosen),
            )
            % {
                "count": len(plan.chosen),
                "most": plan.limits.max_events,
                "over": over,
                "events": _names(_least_worth(plan, over)),
            },
            events=plan.chosen,
        )


def _budget(plan: _Plan) -> Iterator[Finding]:
    """The events cost no more than the budget."""
    if plan.limits.budget is None:
        return
    budget = hundredths(plan.limits.budget)
    over = plan.cost_hundredths - budget
    if over > 0:
        paid = [event for event in plan.chosen if event.cost > 0]
        dearest = max(paid, key=lambda event: event.cost)
        yield plan.finding(
            "budget",
            -(-over // (BUDGET_STEP * 100)),
            _(
                "The events cost %(cost)s, %(over)s more than the budget of %(budget)s: the dearest"
                " is %(event)s (%(its_cost)s)."
            )
            % {
                "cost": amount(plan.cost_hundredths),
                "over": amount(over),
                "budget": amount(budget),
                "event": dearest.name,
                "its_cost": amount(hundredths(dearest.cost)),
            },
            events=paid,
        )


_RULES: Final[tuple[Callable[[_Plan], Iterator[Finding]], ...]] = (
    _cover,
    _phase_order,
    _overlap,
    _busy,
    _keep,
    _drop,
    _cancelled,
    _past,
    _target,
    _phase,
    _peak,
    _arrival,
    _run,
    _quiet,
    _length,
    _cycles,
    _rest,
    _count,
    _budget,
)


# What the rules need to know.


def _peaks(plan: _Plan) -> tuple[tuple[Peak, ...], frozenset[str]]:
    """Peak windows that cover as many targets as they can, in as few weeks, and those targets."""
    peaks: list[Peak] = []
    for span in plan.spans:
        if span.phase != "competition":
            continue
        hulls = [
            (weeks, event.code)
            for event in plan.targets
            if (weeks := plan.weeks_of[event.code]).start >= span.weeks.start
            and weeks.stop <= span.weeks.stop
        ]
        peaks.extend(
            Peak(
                plan.monday(window.start),
                plan.sunday(window.stop - 1),
                tuple(code for weeks, code in hulls if _holds(window, weeks)),
            )
            for window in _best_windows([weeks for weeks, _ in hulls], plan)
        )
    return tuple(peaks), frozenset(code for peak in peaks for code in peak.targets)


def _best_windows(hulls: Sequence[range], plan: _Plan) -> list[range]:
    """Windows of one block that hold the most of these ranges of weeks.

    A best window begins where one of the ranges begins and ends where one ends, so only those are
    tried, from the last beginning to the first; `best` knows what can be had from there on.
    """
    starts = sorted({weeks.start for weeks in hulls})
    stops = sorted({weeks.stop for weeks in hulls})
    best: dict[int, tuple[int, int, list[range]]] = {}  # held, -weeks, windows

    def from_week(week: int) -> tuple[int, int, list[range]]:
        return next((best[start] for start in starts if start >= week), (0, 0, []))

    for start in reversed(starts):
        found = from_week(start + 1)
        for stop in stops:
            window = range(start, stop)
            held = sum(_holds(window, weeks) for weeks in hulls)
            if not held or len(window) > plan.limits.peak_weeks:
                continue
            later, spared, windows = from_week(stop + plan.limits.peak_gap_weeks)
            candidate = (held + later, spared - len(window), [window, *windows])
            if candidate[:2] >= found[:2]:
                found = candidate
        best[start] = found
    return from_week(0)[2]


def _value_parts(plan: _Plan) -> dict[str, int]:
    """The parts of the value in thousandths, each with its sign."""
    limits = plan.limits
    weeks = {phase: plan.phases.count(phase) for phase in PHASES}
    tenths = sum(trip.flight_tenths + trip.home_flight_tenths for trip in plan.trips)
    missing = sum(
        trip.missing_days
        for event, trip in zip(plan.chosen, plan.trips, strict=True)
        if event.role != "target"
    )
    short = max(0, limits.min_events - len(plan.chosen))
    in_force = plan.problem.in_force
    changes = len(plan.codes ^ set(in_force.events)) if in_force is not None else 0
    return {
        "worth": 10 * sum(hundredths(event.worth) for event in plan.chosen),
        "preparation": PHASE_VALUE_THOUSANDTHS["preparation"] * weeks["preparation"],
        "pre_competition": PHASE_VALUE_THOUSANDTHS["pre-competition"] * weeks["pre-competition"],
        "active_rest": PHASE_VALUE_THOUSANDTHS["active rest"] * weeks["active rest"],
        "travel": -hundredths(limits.travel_weight) * tenths,
        "missing": -10 * hundredths(limits.missing_weight) * missing,
        "short": -10 * hundredths(limits.short_weight) * short,
        "change": -10 * hundredths(limits.change_weight) * changes,
    }


def _weeks_away(plan: _Plan) -> int:
    """Weeks of the season with four days or more away from home, journeys included."""
    home, season = plan.problem.home, plan.problem.season
    away: set[int] = set()  # days since the season began
    for index, (event, trip) in enumerate(zip(plan.chosen, plan.trips, strict=True)):
        if distance_km(home.lat, home.lon, event.lat, event.lon) < NEARBY_KM:
            until = trip.arrive
        elif trip.goes_home:
            until = event.end + timedelta(days=trip.home_travel_days + 1)
        else:
            until = max(event.end + timedelta(days=1), plan.trips[index + 1].leave)
        away.update(range((trip.leave - season.start).days, (until - season.start).days))
    days_away = [0] * plan.season_weeks
    for day in away:
        if 0 <= day < 7 * plan.season_weeks:
            days_away[day // 7] += 1
    return sum(number >= 4 for number in days_away)


def _in_order(events: Iterable[Event]) -> list[Event]:
    return sorted(events, key=lambda event: (event.start, event.end, event.code))


def _holds(window: range, weeks: range) -> bool:
    return window.start <= weeks.start and weeks.stop <= window.stop


def _rows(weeks: Sequence[int], reach: int = 1) -> list[range]:
    """Ascending numbers, gathered into ranges whose members are at most `reach` apart."""
    rows: list[range] = []
    for week in weeks:
        if rows and week - rows[-1].stop < reach:
            rows[-1] = range(rows[-1].start, week + 1)
        else:
            rows.append(range(week, week + 1))
    return rows


def _least_worth(plan: _Plan, number: int) -> list[Event]:
    def reluctance(event: Event) -> tuple[bool, bool, float]:
        return event.code in plan.problem.keep, event.role == "target", event.worth

    return sorted(plan.chosen, key=reluctance)[:number]


# How findings say it.


def _dated(event: Event) -> str:
    return f"{event.name} ({days(event.start, event.end)})"


def _busy_days(busy: Busy) -> str:
    """`10–16 May (school)`."""
    why = f" ({busy.why})" if busy.why else ""
    return f"{days(busy.start, busy.end)}{why}"


def _names(events: Sequence[Event]) -> str:
    return listed([event.name for event in events])


def _weeks_of(plan: _Plan, weeks: Collection[int], capital: bool = False) -> str:
    """`the week of 24 May`, `the weeks of 24 and 31 May`, `the 5 weeks from 3 May to 6 Jun`."""
    rows = _rows(sorted(weeks))
    if len(weeks) == 1:
        text = _("The week of %(days)s") if capital else _("the week of %(days)s")
    elif len(rows) == 1 and len(weeks) > 3:
        text = (
            _("The %(count)d weeks from %(first)s to %(last)s")
            if capital
            else _("the %(count)d weeks from %(first)s to %(last)s")
        )
    else:
        text = _("The weeks of %(days)s") if capital else _("the weeks of %(days)s")
    return text % {
        "count": len(weeks),
        "days": listed([day_month(plan.monday(week)) for week in sorted(weeks)]),
        "first": day_month(plan.monday(rows[0].start)),
        "last": day_month(plan.sunday(rows[-1].stop - 1)),
    }
