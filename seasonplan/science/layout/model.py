"""The rules of a layout said to HiGHS: a flow of blocks, a flow of trips, and what ties them.

Read it beside the rules: `Blocks` is one path through (week, phase) nodes, whose arcs are blocks;
`Trips` is one path from home to home through the events; `EventWeeks` ties the two week by week
(phases, tune-ups, runs, quiet weeks) and `Peaks` places the peak windows. Each family owns its
columns and its rows. A rule is hard where one break of it would cost more than the breaks allowed,
else its break is a column of its own.

`Model.solve` minimises the breaks or, with the breaks held, maximises the value.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import highspy
import numpy as np

from seasonplan.science.layout.calendar import Calendar, Slot
from seasonplan.science.layout.cutting import (
    ACTIVE_REST,
    COMPETITION,
    PRE_COMPETITION,
    PREPARATION,
    Span,
    length_units,
)
from seasonplan.science.layout.rules import BUDGET_STEP, QUIET_BEFORE_WEEKS, TUNE_UP_WINDOW_WEEKS
from seasonplan.science.layout.rules import WEIGHTS as BREAK

INF: Final = highspy.kHighsInf

MOST_BREAKS_GAP: Final = 4.9
"""HiGHS may stop this far from the smallest breaks: they come in tens."""

MOST_VALUE_GAP: Final = 0.0004
"""HiGHS may stop this far from the largest value: values are whole thousandths."""

Term = tuple[int, float]


class Rows:
    """Columns and rows of a mixed integer programme, each column with its breaks and its value."""

    def __init__(self) -> None:
        self.breaks: list[int] = []
        self.value: list[int] = []
        self.lower: list[float] = []
        self.upper: list[float] = []
        self.whole: list[bool] = []
        self.row_lower: list[float] = []
        self.row_upper: list[float] = []
        self.starts: list[int] = [0]
        self.columns: list[int] = []
        self.factors: list[float] = []

    def column(
        self,
        *,
        breaks: int = 0,
        value: int = 0,
        lower: float = 0,
        upper: float = 1,
        whole: bool = False,
    ) -> int:
        """A new column; value in thousandths. Returns its index."""
        self.breaks.append(breaks)
        self.value.append(value)
        self.lower.append(lower)
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.value) - 1

    def row(self, terms: Iterable[Term], lower: float, upper: float) -> None:
        """lower <= sum of factor x column <= upper."""
        for column, factor in terms:
            self.columns.append(column)
            self.factors.append(factor)
        self.starts.append(len(self.columns))
        self.row_lower.append(lower)
        self.row_upper.append(upper)


class Blocks:
    """The season as one path of blocks; `in_phase[week][phase]` is 1 in weeks of the phase."""

    def __init__(self, rows: Rows, calendar: Calendar, allowed: int) -> None:
        self.rows, self.calendar, self.allowed = rows, calendar, allowed
        self.columns: dict[Span, int] = {}
        for span, units in self._spans():
            phase, _, length = span
            self.columns[span] = rows.column(
                breaks=BREAK["length"] * units,
                value=calendar.phase_value[phase] * length,
                whole=True,
            )
        self._one_path()
        self.in_phase = self._phases()
        self._counts()

    def _spans(self) -> list[tuple[Span, int]]:
        """Blocks on some path through the season, with the weeks they break `length` by."""
        calendar, weeks = self.calendar, self.calendar.weeks
        fixed = calendar.fixed_phases
        reached: set[tuple[int, int]] = {(0, calendar.first_phase)}
        found: list[tuple[Span, int]] = []
        for week in range(weeks):
            for phase in range(4):
                if (week, phase) not in reached:
                    continue
                for length in range(1, weeks - week + 1):
                    last = week + length - 1
                    if last < len(fixed) and fixed[last] not in (None, phase):
                        break
                    units = length_units(calendar, phase, week, length)
                    if units * BREAK["length"] > self.allowed:
                        continue
                    ends = week + length == weeks
                    found.append(((phase, week, length), units))
                    if not ends:
                        reached.add((week + length, (phase + 1) % 4))
        useful: set[tuple[int, int]] = set()
        kept = []
        for span, units in reversed(found):
            phase, week, length = span
            if week + length == weeks or (week + length, (phase + 1) % 4) in useful:
                useful.add((week, phase))
                kept.append((span, units))
        kept.reverse()
        return kept

    def _one_path(self) -> None:
        into: dict[tuple[int, int], list[int]] = defaultdict(list)
        out: dict[tuple[int, int], list[int]] = defaultdict(list)
        for (phase, week, length), column in self.columns.items():
            out[week, phase].append(column)
            into[week + length, (phase + 1) % 4].append(column)
        source = (0, self.calendar.first_phase)
        self.rows.row([(column, 1) for column in out[source]], 1, 1)
        for node in out.keys() - {source}:
            terms = [(column, 1.0) for column in out[node]]
            terms += [(column, -1.0) for column in into[node]]
            self.rows.row(terms, 0, 0)

    def _phases(self) -> list[list[int]]:
        rows, weeks = self.rows, self.calendar.weeks
        covering: list[list[list[int]]] = [[[] for _ in range(4)] for _ in range(weeks)]
        for (phase, week, length), column in self.columns.items():
            for covered in range(week, week + length):
                covering[covered][phase].append(column)
        in_phase = []
        for week in range(weeks):
            columns = []
            for phase in range(4):
                column = rows.column(upper=1 if covering[week][phase] else 0)
                rows.row([(column, -1), *((block, 1) for block in covering[week][phase])], 0, 0)
                columns.append(column)
            in_phase.append(columns)
        return in_phase

    def _counts(self) -> None:
        """The rules about all blocks together: cycles, rest in all, rest at the end."""
        rows, limits, weeks = self.rows, self.calendar.limits, self.calendar.weeks
        competition = [
            (column, 1.0) for (phase, _, _), column in self.columns.items() if phase == COMPETITION
        ]
        if limits.min_cycles > 0:
            missing = self.slack("cycles", limits.min_cycles)
            rows.row([*competition, *missing], limits.min_cycles, INF)
        rest = [columns[ACTIVE_REST] for columns in self.in_phase]
        if limits.min_rest_weeks > 0:
            missing = self.slack("rest", limits.min_rest_weeks)
            rows.row([*((week, 1.0) for week in rest), *missing], limits.min_rest_weeks, INF)
        for week in rest[max(0, weeks - limits.final_rest_weeks) :]:
            rows.row([(week, 1.0), *self.slack("rest", 1)], 1, INF)

    def slack(self, rule: str, most: int, *, whole: bool = False) -> list[Term]:
        """A column for the units by which a rule is broken, or none where it may not be."""
        most = min(most, self.allowed // BREAK[rule])
        if most <= 0:
            return []
        return [(self.rows.column(breaks=BREAK[rule], upper=most, whole=whole), 1.0)]

    def within_one(self, phase: int, first: int, last: int) -> list[Term]:
        """Blocks of a phase that hold all weeks first..last."""
        return [
            (column, 1.0)
            for (its, week, length), column in self.columns.items()
            if its == phase and week <= first and last < week + length
        ]


class Trips:
    """One path from home to home through the events played.

    Going home after an event, the player is back in a chain of nodes, one for each day on which an
    event ends, and leaves it for any later event; there are up to three chains, by the days that
    the way home took, since those days are missing for the next event.
    """

    def __init__(
        self, rows: Rows, calendar: Calendar, chosen: Sequence[int], blocks: Blocks
    ) -> None:
        self.rows, self.calendar, self.blocks = rows, calendar, blocks
        self.chosen = chosen
        self.slots = [calendar.slots[index] for index in chosen]
        self.played = [
            rows.column(value=slot.value, lower=1 if slot.forced else 0, whole=True)
            for slot in self.slots
        ]
        self.into: list[list[Term]] = [[] for _ in chosen]
        self.out: list[list[Term]] = [[] for _ in chosen]
        self._between_home()
        self._straight_on()
        for index, column in enumerate(self.played):
            rows.row([(column, -1), *self.into[index]], 0, 0)
            rows.row([(column, -1), *self.out[index]], 0, 0)

    def _arc(self, tenths: int, missing: int, to: int | None) -> int | None:
        """A column for a journey; None where its missing days cost more breaks than allowed."""
        calendar = self.calendar
        value, breaks = -tenths * calendar.travel_weight, 0
        if to is not None and missing:
            if self.slots[to].target:
                breaks = BREAK["arrival"] * missing
                if breaks > self.blocks.allowed:
                    return None
            else:
                value -= missing * calendar.missing_weight
        return self.rows.column(value=value, breaks=breaks)

    def _between_home(self) -> None:
        rows, calendar = self.rows, self.calendar
        home_gap = calendar.limits.home_gap_days
        ways_home = [calendar.to_home[index] for index in self.chosen]
        start: list[Term] = []
        finish: list[Term] = []
        days: dict[int, list[int]] = {}
        for back in {way.travel for way in ways_home}:
            days[back] = sorted(
                {
                    slot.end + 1
                    for slot, way in zip(self.slots, ways_home, strict=True)
                    if way.travel == back
                }
            )
        nodes: dict[int, list[list[Term]]] = {
            back: [[] for _ in ends] for back, ends in days.items()
        }
        for index, (slot, way) in enumerate(zip(self.slots, ways_home, strict=True)):
            if (column := self._arc(way.tenths, 0, None)) is not None:
                node = bisect_right(days[way.travel], slot.end + 1) - 1
                nodes[way.travel][node].append((column, 1))
                self.out[index].append((column, 1))
        for index, slot in enumerate(self.slots):
            leg = calendar.from_home[self.chosen[index]]
            missing = max(0, leg.need - slot.start)
            if (column := self._arc(leg.tenths, missing, index)) is not None:
                start.append((column, 1))
                self.into[index].append((column, 1))
            for back, ends in days.items():
                last_node = None
                least = max(home_gap, leg.travel + back)
                for missing in range(max(0, leg.need + back - least) + 1):
                    gap = max(least, leg.need + back - missing)
                    node = bisect_right(ends, slot.start - gap) - 1
                    if node < 0 or node == last_node:
                        continue
                    last_node = node
                    if (column := self._arc(leg.tenths, missing, index)) is not None:
                        nodes[back][node].append((column, -1))
                        self.into[index].append((column, 1))
        for chain in nodes.values():
            for here, after in pairwise(chain):
                column = rows.column()
                here.append((column, -1))
                after.append((column, 1))
            if chain:
                column = rows.column()
                chain[-1].append((column, -1))
                finish.append((column, 1))
            for node_terms in chain:
                rows.row(node_terms, 0, 0)
        nothing = rows.column()
        rows.row([*start, (nothing, 1)], 1, 1)
        rows.row([*finish, (nothing, 1)], 1, 1)

    def _straight_on(self) -> None:
        place = {index: number for number, index in enumerate(self.chosen)}
        for number, index in enumerate(self.chosen):
            for way in self.calendar.onward[index]:
                to = place.get(way.to)
                if to is None:
                    continue
                column = self._arc(way.tenths, way.missing, to)
                if column is not None:
                    self.out[number].append((column, 1))
                    self.into[to].append((column, 1))

    def totals(self) -> None:
        """The rules about all events together: targets, count, budget, and too few events."""
        rows, calendar, limits = self.rows, self.calendar, self.calendar.limits
        blocks = self.blocks
        for slot, column in zip(self.slots, self.played, strict=True):
            if slot.target:
                rows.row([(column, 1), *blocks.slack("target", 1)], 1, 1)
        everyone = [(column, 1.0) for column in self.played]
        if len(everyone) > limits.max_events:
            too_many = blocks.slack("count", len(everyone))
            rows.row(
                [*everyone, *((column, -1.0) for column, _ in too_many)], -INF, limits.max_events
            )
        if limits.min_events > 0 and calendar.short_weight:
            short = rows.column(value=-calendar.short_weight, upper=limits.min_events)
            rows.row([*everyone, (short, 1)], limits.min_events, INF)
        if calendar.budget is not None:
            costs = [
                (column, slot.cost / 100)
                for column, slot in zip(self.played, self.slots, strict=True)
                if slot.cost
            ]
            over = blocks.slack("budget", 10**6, whole=True)
            rows.row(
                [*costs, *((column, -BUDGET_STEP) for column, _ in over)],
                -INF,
                calendar.budget / 100,
            )


class EventWeeks:
    """`played[week]` is 1 where the week is an event week; what phases and neighbours allow it."""

    def __init__(self, rows: Rows, trips: Trips, blocks: Blocks) -> None:
        self.rows, self.trips, self.blocks = rows, trips, blocks
        self.calendar = blocks.calendar
        self.played = [rows.column() for _ in range(self.calendar.weeks)]
        self.wrong = self._wrong_pairs()
        for week in range(self.calendar.weeks):
            self._one_week(week)
        self._tune_ups()
        self._runs()
        self._quiet()

    def _wrong_pairs(self) -> dict[tuple[int, int], int]:
        """Columns of the (event, week) pairs that may break the phase rule."""
        if self.blocks.allowed < BREAK["phase"]:
            return {}
        return {
            (index, week): self.rows.column(breaks=BREAK["phase"])
            for index, slot in enumerate(self.trips.slots)
            for week in slot.weeks
        }

    def _one_week(self, week: int) -> None:
        """Events of one day exclude one another, so a row a day ties all of them at once."""
        rows, slots, played = self.rows, self.trips.slots, self.trips.played
        in_phase = self.blocks.in_phase[week]
        here = [index for index, slot in enumerate(slots) if week in slot.weeks]
        for days in _cliques(here, slots, week):
            rows.row([*((played[index], 1) for index in days), (self.played[week], -1)], -INF, 0)
        may = [(in_phase[COMPETITION], -1.0), (in_phase[PRE_COMPETITION], -1.0)]
        for days in _cliques(here, slots, week):
            rows.row([*self._pairs(days, week), *may], -INF, 0)
        targets = [index for index in here if slots[index].target]
        for days in _cliques(targets, slots, week):
            rows.row([*self._pairs(days, week), may[0]], -INF, 0)

    def _pairs(self, indexes: Sequence[int], week: int) -> list[Term]:
        """Events played less those that break the phase rule in the week."""
        terms = [(self.trips.played[index], 1.0) for index in indexes]
        terms += [
            (self.wrong[index, week], -1.0) for index in indexes if (index, week) in self.wrong
        ]
        return terms

    def _tune_ups(self) -> None:
        """Event weeks in pre-competition, at most so many in three weeks."""
        rows, limits, weeks = self.rows, self.calendar.limits, self.calendar.weeks
        tune_up: list[int] = []
        for week in range(weeks):
            in_phase = self.blocks.in_phase[week]
            column = rows.column()
            elsewhere = [in_phase[COMPETITION]]
            if self.wrong:
                elsewhere += [in_phase[PREPARATION], in_phase[ACTIVE_REST]]
            # An event week outside pre-competition is covered by the phase that holds it.
            rows.row(
                [
                    (self.played[week], 1),
                    (column, -1),
                    *((phase, -1) for phase in elsewhere),
                ],
                -INF,
                0,
            )
            tune_up.append(column)
        for first in range(weeks - TUNE_UP_WINDOW_WEEKS + 1):
            too_many = self.blocks.slack("phase", TUNE_UP_WINDOW_WEEKS)
            rows.row(
                [
                    *((column, 1) for column in tune_up[first : first + TUNE_UP_WINDOW_WEEKS]),
                    *((column, -1) for column, _ in too_many),
                ],
                -INF,
                limits.tune_up_weeks,
            )

    def _runs(self) -> None:
        most = self.calendar.limits.max_run
        for first in range(self.calendar.weeks - most):
            too_many = self.blocks.slack("run", 1)
            self.rows.row(
                [
                    *((week, 1) for week in self.played[first : first + most + 1]),
                    *((column, -1) for column, _ in too_many),
                ],
                -INF,
                most,
            )

    def _quiet(self) -> None:
        most = self.calendar.limits.quiet_weeks
        for index, slot in enumerate(self.trips.slots):
            if not slot.target:
                continue
            before = self.played[max(0, slot.weeks[0] - QUIET_BEFORE_WEEKS) : slot.weeks[0]]
            surplus = len(before) - most
            if surplus <= 0:
                continue
            too_many = self.blocks.slack("quiet", surplus)
            self.rows.row(
                [
                    *((week, 1) for week in before),
                    (self.trips.played[index], surplus),
                    *((column, -1) for column, _ in too_many),
                ],
                -INF,
                most + surplus,
            )


class Peaks:
    """Peak windows, each within one competition block, and the targets that they cover."""

    def __init__(self, rows: Rows, trips: Trips, blocks: Blocks) -> None:
        limits = blocks.calendar.limits
        targets = [(index, slot) for index, slot in enumerate(trips.slots) if slot.target]
        windows: dict[tuple[int, int], int] = {}
        for first in {slot.weeks[0] for _, slot in targets}:
            for last in {slot.weeks[-1] for _, slot in targets}:
                if 0 <= last - first < limits.peak_weeks and any(
                    first <= slot.weeks[0] and slot.weeks[-1] <= last for _, slot in targets
                ):
                    windows[first, last] = rows.column(whole=True)
        for (first, last), column in windows.items():
            within = blocks.within_one(COMPETITION, first, last)
            rows.row([(column, 1), *((block, -1) for block, _ in within)], -INF, 0)
        for index, slot in targets:
            covering = [
                (column, -1.0)
                for (first, last), column in windows.items()
                if first <= slot.weeks[0] and slot.weeks[-1] <= last
            ]
            uncovered = [(column, -1.0) for column, _ in blocks.slack("peak", 1)]
            rows.row([(trips.played[index], 1), *covering, *uncovered], -INF, 0)
        ordered = sorted(windows)
        for place, one in enumerate(ordered):
            for other in ordered[place + 1 :]:
                if other[0] - one[1] - 1 >= limits.peak_gap_weeks:
                    continue
                both = blocks.within_one(COMPETITION, one[0], max(one[1], other[1]))
                pair = [(windows[one], 1.0), (windows[other], 1.0)]
                rows.row([*pair, *both], -INF, 2)


def _cliques(indexes: Sequence[int], slots: Sequence[Slot], week: int) -> list[list[int]]:
    """Events that share a day of the week, for each day; sets that lie within another are left."""
    sets = []
    for day in range(7 * week, 7 * week + 7):
        members = [index for index in indexes if slots[index].start <= day <= slots[index].end]
        if members:
            sets.append(members)
    unique = {frozenset(members): members for members in sets}
    return [members for key, members in unique.items() if not any(key < other for other in unique)]


@dataclass(frozen=True, slots=True)
class Answer:
    """What HiGHS found: the events and blocks, or None, and a bound on what was asked for.

    `bound` is a lower bound on the breaks or an upper bound on the value in units, None if there is
    none; `proven` when HiGHS says that nothing is better (or, with no events and blocks, nothing is
    possible).
    """

    codes: tuple[str, ...] | None
    spans: tuple[Span, ...] | None
    breaks: int | None
    bound: float | None
    proven: bool


class Model:
    """The layout of the calendar's slots in `chosen` (indexes), with at most `allowed` breaks.

    Targets that no layout can play are not counted in the breaks, nor changes that cannot be
    helped in the value.
    """

    def __init__(self, calendar: Calendar, chosen: Sequence[int], allowed: int) -> None:
        self.calendar, self.allowed = calendar, allowed
        self.rows = rows = Rows()
        self.blocks = Blocks(rows, calendar, allowed)
        self.trips = Trips(rows, calendar, chosen, self.blocks)
        self.trips.totals()
        self.event_weeks = EventWeeks(rows, self.trips, self.blocks)
        self.peaks = Peaks(rows, self.trips, self.blocks)

    def fewest_breaks(self, seconds: float) -> Answer:
        """The smallest breaks by choice."""
        return self._solve(
            [float(breaks) for breaks in self.rows.breaks], seconds, gap=MOST_BREAKS_GAP
        )

    def most_value(self, seconds: float) -> Answer:
        """The largest value with no more than the breaks allowed; bounds in units of value."""
        if self.allowed:
            broken = [(column, breaks) for column, breaks in enumerate(self.rows.breaks) if breaks]
            self.rows.row(broken, -INF, self.allowed)
        cost = [-value / 1000 for value in self.rows.value]
        answer = self._solve(cost, seconds, gap=MOST_VALUE_GAP)
        bound = None if answer.bound is None else -answer.bound
        return replace(answer, bound=bound)

    def _solve(self, cost: list[float], seconds: float, gap: float) -> Answer:
        rows, solver = self.rows, highspy.Highs()
        solver.setOptionValue("output_flag", False)
        solver.setOptionValue("threads", 2)
        solver.setOptionValue("mip_rel_gap", 0.0)
        solver.setOptionValue("mip_abs_gap", gap)
        solver.setOptionValue("time_limit", max(0.01, seconds))
        programme = highspy.HighsLp()
        programme.num_col_ = len(cost)
        programme.num_row_ = len(rows.row_lower)
        programme.col_cost_ = np.array(cost)
        programme.col_lower_ = np.array(rows.lower, dtype=float)
        programme.col_upper_ = np.array(rows.upper, dtype=float)
        programme.row_lower_ = np.array(rows.row_lower, dtype=float)
        programme.row_upper_ = np.array(rows.row_upper, dtype=float)
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        programme.integrality_ = [kinds[whole] for whole in rows.whole]
        matrix = programme.a_matrix_
        matrix.format_ = highspy.MatrixFormat.kRowwise
        matrix.start_ = np.array(rows.starts, dtype=np.int32)
        matrix.index_ = np.array(rows.columns, dtype=np.int32)
        matrix.value_ = np.array(rows.factors, dtype=float)
        solver.passModel(programme)
        solver.run()
        status = solver.getModelStatus()
        info = solver.getInfo()
        if status == highspy.HighsModelStatus.kInfeasible:
            return Answer(None, None, None, None, True)
        proven = status == highspy.HighsModelStatus.kOptimal
        bound = float(info.mip_dual_bound)
        if info.primal_solution_status != highspy.kSolutionStatusFeasible:
            return Answer(None, None, None, bound if np.isfinite(bound) else None, False)
        values = np.array(solver.getSolution().col_value)
        codes = tuple(
            slot.code
            for slot, column in zip(self.trips.slots, self.trips.played, strict=True)
            if values[column] > 0.5
        )
        spans = sorted(
            (span for span, column in self.blocks.columns.items() if values[column] > 0.5),
            key=lambda span: span[1],
        )
        breaks = round(float(np.dot(values, rows.breaks)))
        return Answer(codes, tuple(spans), breaks, bound if np.isfinite(bound) else None, proven)
