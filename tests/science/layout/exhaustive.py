"""What is the best layout of a small season, found by trying every one?

The oracle of the layout tests. It takes a problem as the plain dictionary of the file form and
shares no code with the application, so that a misreading on either side shows as a difference.

`measure` evaluates one layout rule by rule, in the order and the words of the rules. `best` looks
at every chain of events that the never-broken rules allow and, for each, at every way of cutting
the season into blocks of one week or more. Two facts keep that quick, and both are exact:

* Each rule belongs to the chain alone (target, arrival, run, quiet, count, budget), to one block
  alone (length, the final rest), to one block together with the chain (phase, peak), or to the
  number of competition blocks and of rest weeks (cycles, rest). Two ways of laying out the first
  weeks of the season that end at the same week, with the same next phase and the same two numbers,
  can therefore be compared right there, and only the better one needs to be carried on.
* No rule gives breaks back, so a chain or a beginning of the season that is already no better than
  the best layout known, even if all rules about chain and blocks together held, can be left.

The layout that `best` returns is measured once more by `measure`, and the two must agree.

Breaks and value are whole hundredths: a value of 129.5 is 12950.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from functools import cache
from itertools import pairwise
from math import ceil
from typing import Any
from zoneinfo import ZoneInfo

from geographiclib.geodesic import Geodesic

Problem = dict[str, Any]
Event = dict[str, Any]

PHASES = ("preparation", "pre-competition", "competition", "active rest")

DEFAULTS: dict[str, Any] = {
    "one_day_travel_km": 5000,
    "home_gap_days": 10,
    "clock_threshold_h": 3,
    "east_min_per_day": 60,
    "west_min_per_day": 90,
    "surface_days": 3,
    "heat_days": 7,
    "heat_step_c": 8,
    "preparation_weeks": [4, 12],
    "pre_competition_weeks": [4, 6],
    "competition_weeks": [2, 10],
    "active_rest_weeks": [1, 4],
    "first_phase": "preparation",
    "weeks_already_done": 0,
    "tune_up_weeks": 1,
    "peak_weeks": 3,
    "peak_gap_weeks": 3,
    "max_run": 3,
    "quiet_weeks": 2,
    "min_cycles": 2,
    "min_rest_weeks": 4,
    "final_rest_weeks": 2,
    "max_events": 20,
    "budget": None,
    "travel_weight": 0.5,
    "missing_weight": 4,
    "short_weight": 3,
    "min_events": 0,
    "change_weight": 10,
}

HEAT_FROM_C = 28
WORTH_OF_A_WEEK = {
    "preparation": 100,
    "pre-competition": 50,
    "competition": 0,
    "active rest": 30,
}


class NothingPossible(Exception):
    """The never-broken rules contradict one another: no layout exists."""


@dataclass(frozen=True)
class Best:
    """One best layout: its breaks and value in hundredths, event codes in order of start, and
    blocks as in the file form."""

    breaks: int
    value: int
    events: tuple[str, ...]
    blocks: tuple[dict[str, str], ...]


@dataclass(frozen=True)
class Leg:
    """How the player comes to an event: `hours_tenths` counts all flights since the last event."""

    from_home: bool
    travel_days: int
    all_travel_days: int
    acclimatisation: dict[str, int]
    missing_days: int
    hours_tenths: int


# -- Numbers, days and weeks ----------------------------------------------------------------------


def exact(number: float) -> Fraction:
    """The decimal number as it is written."""
    return Fraction(str(number))


def hundredths(amount: Fraction) -> int:
    """The amount in whole hundredths; ValueError if it is not whole."""
    scaled = amount * 100
    if scaled.denominator != 1:
        raise ValueError(f"{amount} is not a whole number of hundredths")
    return scaled.numerator


def limit(problem: Problem, name: str) -> Any:
    return problem["limits"].get(name, DEFAULTS[name])


def first_day(thing: dict[str, Any]) -> date:
    return date.fromisoformat(thing["start"])


def last_day(thing: dict[str, Any]) -> date:
    return date.fromisoformat(thing["end"])


def days_of(thing: dict[str, Any]) -> list[date]:
    start, end = first_day(thing), last_day(thing)
    return [start + timedelta(days=n) for n in range((end - start).days + 1)]


def week_of(problem: Problem, day: date) -> int:
    """The number of the season's week that holds the day, from 0."""
    return (day - first_day(problem["season"])).days // 7


def week_count(problem: Problem) -> int:
    season = problem["season"]
    return ((last_day(season) - first_day(season)).days + 1) // 7


def event_weeks(problem: Problem, event: Event) -> frozenset[int]:
    """Weeks of which the event covers at least 3 days, and the week with most of its days."""
    return weeks_covered(problem["season"]["start"], event["start"], event["end"])


@cache
def weeks_covered(season_start: str, start: str, end: str) -> frozenset[int]:
    days_in: dict[int, int] = {}
    for day in days_of({"start": start, "end": end}):
        week = (day - date.fromisoformat(season_start)).days // 7
        days_in[week] = days_in.get(week, 0) + 1
    most = max(days_in.values())
    fullest = min(week for week, days in days_in.items() if days == most)
    return frozenset(week for week, days in days_in.items() if days >= 3) | {fullest}


# -- Places and trips -----------------------------------------------------------------------------


@cache
def kilometres(lat_1: float, lon_1: float, lat_2: float, lon_2: float) -> int:
    metres: float = Geodesic.WGS84.Inverse(lat_1, lon_1, lat_2, lon_2)["s12"]
    return round(metres / 1000)


def distance_km(a: dict[str, Any], b: dict[str, Any]) -> int:
    return kilometres(a["lat"], a["lon"], b["lat"], b["lon"])


def flight_tenths(a: dict[str, Any], b: dict[str, Any]) -> int:
    """Flight hours between two places in tenths of an hour."""
    km = distance_km(a, b)
    if km < 100:
        return 0
    # Tenths are 5 + km/85, and a whole number of kilometres never falls on half a tenth.
    return round((Fraction(1, 2) + Fraction(km, 850)) * 10)


def travel_days(problem: Problem, a: dict[str, Any], b: dict[str, Any]) -> int:
    km = distance_km(a, b)
    if km < 100:
        return 0
    return 1 if km <= limit(problem, "one_day_travel_km") else 2


@cache
def offset_minutes(timezone: str, day: date) -> int:
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    offset = noon.astimezone(ZoneInfo(timezone)).utcoffset()
    assert offset is not None
    return int(offset.total_seconds()) // 60


def clock_days(problem: Problem, left: dict[str, Any], event: Event) -> int:
    day = first_day(event)
    eastward = (offset_minutes(event["timezone"], day) - offset_minutes(left["timezone"], day)) % (
        24 * 60
    )
    westward = (24 * 60 - eastward) % (24 * 60)
    minutes = min(eastward, westward)
    if minutes < 60 * exact(limit(problem, "clock_threshold_h")):
        return 0
    goes_west = westward <= eastward
    a_day = limit(problem, "west_min_per_day" if goes_west else "east_min_per_day")
    return ceil(Fraction(minutes) / exact(a_day))


def surface_days(problem: Problem, left: dict[str, Any], event: Event) -> int:
    return limit(problem, "surface_days") if event["surface"] != left["surface"] else 0


def altitude_days(left: dict[str, Any], event: Event) -> int:
    if event["elevation_m"] - left["elevation_m"] < 500:
        return 0
    if event["elevation_m"] < 1000:
        return 0
    if event["elevation_m"] < 2000:
        return 2
    if event["elevation_m"] < 3000:
        return 5
    return 10


def high_of(place: dict[str, Any], day: date) -> float | None:
    """The expected daily high: an event states its own, home has one for each month."""
    high: float | None
    if "monthly_high_c" in place:
        months = place["monthly_high_c"]
        high = None if months is None else months[day.month - 1]
    else:
        high = place["high_c"]
    return high


def heat_days(problem: Problem, left: dict[str, Any], event: Event) -> int:
    there, here = event["high_c"], high_of(left, first_day(event))
    if there is None or here is None:
        return 0
    hot = there >= HEAT_FROM_C and exact(there) - exact(here) >= exact(
        limit(problem, "heat_step_c")
    )
    return limit(problem, "heat_days") if hot else 0


def gap_days(previous: Event, event: Event) -> int:
    return (first_day(event) - last_day(previous)).days - 1


def leg(problem: Problem, previous: Event | None, event: Event) -> Leg:
    """The way to the event from the event before it in the chain, or None before the first."""
    home = problem["home"]
    if previous is None:
        left, back_days, back_tenths = home, 0, 0
        available = (first_day(event) - first_day(problem["season"])).days
    else:
        gap = gap_days(previous, event)
        if gap >= limit(problem, "home_gap_days"):
            left = home
            back_days = travel_days(problem, previous, home)
            back_tenths = flight_tenths(previous, home)
            available = gap - back_days
        else:
            left, back_days, back_tenths = previous, 0, 0
            available = gap
    out_days = travel_days(problem, left, event)
    acclimatisation = {
        "clock": clock_days(problem, left, event),
        "surface": surface_days(problem, left, event),
        "altitude": altitude_days(left, event),
        "heat": heat_days(problem, left, event),
    }
    return Leg(
        from_home=left is home,
        travel_days=out_days,
        all_travel_days=back_days + out_days,
        acclimatisation=acclimatisation,
        missing_days=max(0, out_days + max(acclimatisation.values()) - available),
        hours_tenths=back_tenths + flight_tenths(left, event),
    )


# -- What is never broken -------------------------------------------------------------------------


def may_follow(problem: Problem, previous: Event, event: Event) -> bool:
    """One event at a time, and the gap holds the days of travel."""
    gap = gap_days(previous, event)
    return gap >= 0 and gap >= leg(problem, previous, event).all_travel_days


def is_busy(problem: Problem, event: Event) -> bool:
    return any(
        first_day(busy) <= day <= last_day(busy)
        for busy in problem["busy"]
        for day in days_of(event)
    )


def is_past(problem: Problem, event: Event) -> bool:
    """Whether re-planning leaves the event as it was: it started before today."""
    if problem["today"] is None or problem["in_force"] is None:
        return False
    return first_day(event) < date.fromisoformat(problem["today"])


def is_cancelled(problem: Problem, event: Event) -> bool:
    return event["code"] in problem.get("cancelled", [])


def must_play(problem: Problem, event: Event) -> bool:
    return event["code"] in problem["keep"] or (
        is_past(problem, event)
        and not is_cancelled(problem, event)
        and event["code"] in problem["in_force"]["events"]
    )


def must_not_play(problem: Problem, event: Event) -> bool:
    return (
        event["code"] in problem["drop"]
        or is_cancelled(problem, event)
        or is_busy(problem, event)
        or (is_past(problem, event) and event["code"] not in problem["in_force"]["events"])
    )


def phase_by_week(problem: Problem, blocks: Sequence[dict[str, str]]) -> list[str]:
    """The phase of each week; ValueError if the blocks are not whole weeks one after another."""
    phases: list[str] = []
    for block in blocks:
        days = len(days_of(block))
        if (
            days < 7
            or days % 7
            or first_day(block) != first_day(problem["season"]) + timedelta(weeks=len(phases))
        ):
            raise ValueError(f"block {block} does not follow in whole weeks")
        phases += [block["phase"]] * (days // 7)
    if len(phases) != week_count(problem):
        raise ValueError("the blocks do not fill the season")
    return phases


def past_phases(problem: Problem) -> list[str]:
    """The phases of the weeks before today's week, which re-planning leaves as they were."""
    if problem["today"] is None or problem["in_force"] is None:
        return []
    today_week = week_of(problem, date.fromisoformat(problem["today"]))
    if today_week <= 0:
        return []
    return phase_by_week(problem, problem["in_force"]["blocks"])[:today_week]


def forbidden(
    problem: Problem, events: Sequence[str], blocks: Sequence[dict[str, str]]
) -> list[str]:
    """The names of the never-broken rules that the layout breaks; "blocks" if the blocks do not
    follow one another as they must."""
    chain = chain_of(problem, events)
    wrong = []
    if any(not may_follow(problem, e, f) for e, f in pairwise(chain)):
        wrong.append("overlap")
    if any(is_busy(problem, event) for event in chain):
        wrong.append("busy")
    played = {event["code"] for event in chain}
    if any(code not in played for code in problem["keep"]):
        wrong.append("keep")
    if any(code in played for code in problem["drop"]):
        wrong.append("drop")
    if any(is_cancelled(problem, event) for event in chain):
        wrong.append("cancelled")
    phases = phase_by_week(problem, blocks)
    if phases[: len(past_phases(problem))] != past_phases(problem) or any(
        is_past(problem, event)
        and not is_cancelled(problem, event)
        and (event["code"] in played) != (event["code"] in problem["in_force"]["events"])
        for event in problem["events"]
    ):
        wrong.append("past")
    first = PHASES.index(limit(problem, "first_phase"))
    if any(block["phase"] != PHASES[(first + n) % 4] for n, block in enumerate(blocks)):
        wrong.append("blocks")
    return wrong


# -- What a layout breaks and what it is worth ----------------------------------------------------


def chain_of(problem: Problem, codes: Sequence[str]) -> list[Event]:
    chosen = [event for event in problem["events"] if event["code"] in codes]
    return sorted(chosen, key=first_day)


def chain_breaks(problem: Problem, chain: Sequence[Event]) -> dict[str, int]:
    """Units by which the events alone break each rule."""
    weeks = sorted(set().union(*(event_weeks(problem, event) for event in chain)))
    targets = [event for event in chain if event["role"] == "target"]
    played = {event["code"] for event in chain}

    left_out = sum(
        event["role"] == "target" and event["code"] not in played for event in problem["events"]
    )
    missing_at_targets = sum(
        the_leg.missing_days
        for event, the_leg in zip(chain, legs_of(problem, chain), strict=True)
        if event["role"] == "target"
    )
    too_long_runs = sum(
        max(0, length - limit(problem, "max_run")) for length in lengths_of_runs(weeks)
    )
    unquiet = 0
    for target in targets:
        first = min(event_weeks(problem, target))
        before = sum(first - 4 <= week < first for week in weeks)
        unquiet += max(0, before - limit(problem, "quiet_weeks"))
    too_many = max(0, len(chain) - limit(problem, "max_events"))
    over_budget = 0
    if limit(problem, "budget") is not None:
        cost = sum((exact(event["cost"]) for event in chain), Fraction(0))
        over_budget = max(0, ceil((cost - exact(limit(problem, "budget"))) / 100))
    return {
        "target": left_out,
        "arrival": missing_at_targets,
        "run": too_long_runs,
        "quiet": unquiet,
        "count": too_many,
        "budget": over_budget,
    }


def legs_of(problem: Problem, chain: Sequence[Event]) -> list[Leg]:
    return [
        leg(problem, previous, event)
        for previous, event in zip([None, *chain], chain, strict=False)
    ]


def lengths_of_runs(weeks: Sequence[int]) -> list[int]:
    lengths: list[int] = []
    for week in weeks:
        if week - 1 in weeks:
            lengths[-1] += 1
        else:
            lengths.append(1)
    return lengths


def chain_value(problem: Problem, chain: Sequence[Event]) -> int:
    """The part of the value that the events alone decide, in hundredths."""
    worth = sum((exact(event["worth"]) for event in chain), Fraction(0))
    legs = legs_of(problem, chain)
    tenths = sum(the_leg.hours_tenths for the_leg in legs)
    if chain:
        tenths += flight_tenths(chain[-1], problem["home"])
    missing = sum(
        the_leg.missing_days
        for event, the_leg in zip(chain, legs, strict=True)
        if event["role"] != "target"
    )
    short = max(0, limit(problem, "min_events") - len(chain))
    changes = 0
    if problem["in_force"] is not None:
        changes = len({event["code"] for event in chain} ^ set(problem["in_force"]["events"]))
    return hundredths(
        worth
        - exact(limit(problem, "travel_weight")) * Fraction(tenths, 10)
        - exact(limit(problem, "missing_weight")) * missing
        - exact(limit(problem, "short_weight")) * short
        - exact(limit(problem, "change_weight")) * changes
    )


def block_length_units(problem: Problem, phase: str, first: int, after: int) -> int:
    """Weeks by which the block from week `first` to before week `after` is too short or long."""
    shortest: int
    longest: int
    shortest, longest = limit(problem, phase.replace("-", "_").replace(" ", "_") + "_weeks")
    length = after - first
    if first == 0:
        length += limit(problem, "weeks_already_done")
    if after == week_count(problem) and phase != "competition":
        return max(0, length - longest)
    return max(0, shortest - length) + max(0, length - longest)


def misplaced_pairs(
    problem: Problem, chain: Sequence[Event], phase: str, first: int, after: int
) -> int:
    """(Event, week) pairs in the block that its phase may not hold."""
    if phase == "competition":
        return 0
    return sum(
        first <= week < after
        for event in chain
        if phase != "pre-competition" or event["role"] == "target"
        for week in event_weeks(problem, event)
    )


def too_many_tune_ups(
    problem: Problem, chain: Sequence[Event], pre_competition: Sequence[bool]
) -> int:
    """Event weeks too many among the pre-competition weeks of each 3 weeks of the season.

    `pre_competition` says for each week of the season whether it is a pre-competition week."""
    weeks = set().union(*(event_weeks(problem, event) for event in chain))
    units = 0
    for start in range(week_count(problem) - 2):
        tune_ups = sum(week in weeks and pre_competition[week] for week in range(start, start + 3))
        units += max(0, tune_ups - limit(problem, "tune_up_weeks"))
    return units


def most_covered_targets(problem: Problem, chain: Sequence[Event], first: int, after: int) -> int:
    """How many targets the best choice of peak windows in one competition block covers."""
    targets = [event_weeks(problem, event) for event in chain if event["role"] == "target"]

    @cache
    def most_from(week: int) -> int:
        if week >= after:
            return 0
        most = most_from(week + 1)
        for window_after in range(week + 1, min(week + limit(problem, "peak_weeks"), after) + 1):
            covered = sum(weeks <= set(range(week, window_after)) for weeks in targets)
            most = max(most, covered + most_from(window_after + limit(problem, "peak_gap_weeks")))
        return most

    return most_from(first)


def measure(
    problem: Problem, events: Sequence[str], blocks: Sequence[dict[str, str]]
) -> tuple[int, int]:
    """Breaks and value, in hundredths, of one layout that keeps the never-broken rules."""
    units = units_of(problem, events, blocks)
    breaks = sum(WEIGHTS[rule] * count for rule, count in units.items())
    value = chain_value(problem, chain_of(problem, events)) + sum(
        WORTH_OF_A_WEEK[phase] for phase in phase_by_week(problem, blocks)
    )
    return 100 * breaks, value


WEIGHTS = {
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


def units_of(
    problem: Problem, events: Sequence[str], blocks: Sequence[dict[str, str]]
) -> dict[str, int]:
    """By how many units the layout breaks each rule."""
    chain = chain_of(problem, events)
    phases = phase_by_week(problem, blocks)
    spans = [
        (block["phase"], week_of(problem, first_day(block)), week_of(problem, last_day(block)) + 1)
        for block in blocks
    ]
    competitions = [(first, after) for phase, first, after in spans if phase == "competition"]
    played_targets = sum(event["role"] == "target" for event in chain)
    final_rest = limit(problem, "final_rest_weeks")
    units = chain_breaks(problem, chain)
    units["phase"] = sum(misplaced_pairs(problem, chain, *span) for span in spans)
    units["phase"] += too_many_tune_ups(problem, chain, [p == "pre-competition" for p in phases])
    units["peak"] = played_targets - sum(
        most_covered_targets(problem, chain, first, after) for first, after in competitions
    )
    units["length"] = sum(block_length_units(problem, *span) for span in spans)
    units["cycles"] = max(0, limit(problem, "min_cycles") - len(competitions))
    units["rest"] = max(0, limit(problem, "min_rest_weeks") - phases.count("active rest"))
    units["rest"] += sum(
        week >= len(phases) - final_rest and phase != "active rest"
        for week, phase in enumerate(phases)
    )
    return units


# -- Trying everything ----------------------------------------------------------------------------

# Breaks before value: a hundredth of a break outweighs every value a season can reach.
BREAKS_FIRST = 10**12


def loss(breaks: int, value: int) -> int:
    """One number to make small: fewer breaks first, then more value."""
    return breaks * BREAKS_FIRST - value


def best(problem: Problem) -> Best:
    """A layout with the smallest breaks and, among those, the largest value.

    Raises NothingPossible if the never-broken rules contradict each other."""
    blocks = Blocks(problem)
    chains = sorted(
        (
            (
                loss(
                    100 * sum(WEIGHTS[r] * n for r, n in chain_breaks(problem, chain).items()),
                    chain_value(problem, chain),
                ),
                chain,
            )
            for chain in chains_allowed(problem)
        ),
        key=lambda pair: pair[0],
    )
    if not chains:
        raise NothingPossible("no choice of events keeps every rule that is never broken")

    least: int | None = None
    winner: tuple[list[Event], list[tuple[str, int, int]]] | None = None
    for chain_loss, chain in chains:
        if least is not None and chain_loss + blocks.least_loss() >= least:
            # The chains that follow are no better on their own, so neither are their layouts.
            break
        found = blocks.best_with(chain, None if least is None else least - chain_loss)
        if found is not None:
            least, winner = chain_loss + found[0], (chain, found[1])
    if least is None or winner is None:
        raise NothingPossible("no sequence of blocks keeps the weeks that are past")

    chain, spans = winner
    codes = tuple(event["code"] for event in chain)
    layout = tuple(block_in_file_form(problem, *span) for span in spans)
    breaks, value = measure(problem, codes, layout)
    if loss(breaks, value) != least or forbidden(problem, codes, layout):
        raise AssertionError("the search and the measure of one layout disagree")
    return Best(breaks, value, codes, layout)


def chains_allowed(problem: Problem) -> Iterator[list[Event]]:
    """Every choice of events, in order of start, that keeps the never-broken rules."""
    ordered = sorted(problem["events"], key=first_day)

    def longer(chain: list[Event], rest: list[Event]) -> Iterator[list[Event]]:
        if not rest:
            yield chain
            return
        event, later = rest[0], rest[1:]
        if not must_play(problem, event):
            yield from longer(chain, later)
        if not must_not_play(problem, event) and (
            not chain or may_follow(problem, chain[-1], event)
        ):
            yield from longer([*chain, event], later)

    yield from longer([], ordered)


def block_in_file_form(problem: Problem, phase: str, first: int, after: int) -> dict[str, str]:
    monday = first_day(problem["season"])
    return {
        "phase": phase,
        "start": (monday + timedelta(weeks=first)).isoformat(),
        "end": (monday + timedelta(weeks=after, days=-1)).isoformat(),
    }


class Blocks:
    """Every way of cutting the season into blocks.

    A place between two blocks is (week, phase of the next block, competition blocks so far, rest
    weeks so far); the two numbers stop growing where the rules stop counting."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.weeks = week_count(problem)
        self.past = past_phases(problem)
        self.min_cycles: int = limit(problem, "min_cycles")
        self.min_rest: int = limit(problem, "min_rest_weeks")
        self.start = (0, PHASES.index(limit(problem, "first_phase")), 0, 0)
        self._alone: dict[tuple[int, int, int], int] = {}
        self._to_go: dict[tuple[int, int, int, int], int | None] = {}

    def least_loss(self) -> int:
        """No chain can do with less than this: the best blocks of a season without events."""
        least = self.to_go(self.start)
        if least is None:
            raise NothingPossible("no sequence of blocks keeps the weeks that are past")
        return least

    def next_place(self, place: tuple[int, int, int, int], after: int) -> tuple[int, int, int, int]:
        week, phase, cycles, rest = place
        if PHASES[phase] == "competition":
            cycles = min(cycles + 1, self.min_cycles)
        if PHASES[phase] == "active rest":
            rest = min(rest + after - week, self.min_rest)
        return after, (phase + 1) % 4, cycles, rest

    def may_be(self, phase: int, first: int, after: int) -> bool:
        return all(past == PHASES[phase] for past in self.past[first:after])

    def alone(self, phase: int, first: int, after: int) -> int:
        """The loss of one block without regard to events."""
        key = (phase, first, after)
        if key not in self._alone:
            name = PHASES[phase]
            units = block_length_units(self.problem, name, first, after)
            breaks = WEIGHTS["length"] * units
            if name != "active rest":
                final = self.weeks - limit(self.problem, "final_rest_weeks")
                breaks += WEIGHTS["rest"] * sum(week >= final for week in range(first, after))
            self._alone[key] = loss(100 * breaks, WORTH_OF_A_WEEK[name] * (after - first))
        return self._alone[key]

    def at_the_end(self, place: tuple[int, int, int, int]) -> int:
        _, _, cycles, rest = place
        breaks = WEIGHTS["cycles"] * (self.min_cycles - cycles)
        breaks += WEIGHTS["rest"] * (self.min_rest - rest)
        return loss(100 * breaks, 0)

    def to_go(self, place: tuple[int, int, int, int]) -> int | None:
        """The least loss from this place to the season's end without regard to events; None if
        the weeks that are past leave no way."""
        if place not in self._to_go:
            week, phase, _, _ = place
            if week == self.weeks:
                self._to_go[place] = self.at_the_end(place)
            else:
                least: int | None = None
                for after in range(week + 1, self.weeks + 1):
                    rest = self.to_go(self.next_place(place, after))
                    if rest is None or not self.may_be(phase, week, after):
                        continue
                    whole = self.alone(phase, week, after) + rest
                    least = whole if least is None else min(least, whole)
                self._to_go[place] = least
        return self._to_go[place]

    def best_with(
        self, chain: list[Event], below: int | None
    ) -> tuple[int, list[tuple[str, int, int]]] | None:
        """The least loss of blocks for this chain, and the blocks as (phase, first week, week
        after); None if no sequence of blocks has a loss under `below`."""
        reached: dict[tuple[int, int, int, int], tuple[int, list[tuple[str, int, int]]]] = {
            self.start: (0, [])
        }
        together: dict[tuple[int, int, int], int] = {}
        by_week: list[list[tuple[int, int, int, int]]] = [[] for _ in range(self.weeks + 1)]
        by_week[0].append(self.start)
        for week in range(self.weeks):
            for place in by_week[week]:
                so_far, spans = reached[place]
                phase = place[1]
                for after in range(week + 1, self.weeks + 1):
                    onward = self.next_place(place, after)
                    rest = self.to_go(onward)
                    if rest is None or not self.may_be(phase, week, after):
                        continue
                    here = so_far + self.alone(phase, week, after)
                    if below is not None and here + rest >= below:
                        continue
                    block = (phase, week, after)
                    if block not in together:
                        together[block] = self.with_events(chain, *block)
                    here += together[block]
                    if below is not None and here + rest >= below:
                        continue
                    if onward not in reached:
                        by_week[after].append(onward)
                    elif reached[onward][0] <= here:
                        continue
                    reached[onward] = (here, [*spans, (PHASES[phase], week, after)])
        ends = [
            (reached[place][0] + self.at_the_end(place), reached[place][1])
            for place in by_week[self.weeks]
        ]
        return min(ends, key=lambda end: end[0], default=None)

    def with_events(self, chain: list[Event], phase: int, first: int, after: int) -> int:
        """The loss of one block together with the events: the rules phase and peak.

        Two pre-competition blocks lie at least three weeks apart (a competition, a rest and a
        preparation block stand between them), so that no three weeks see both. A target that is
        not covered by a window is counted in the block that holds its first event week."""
        problem, name = self.problem, PHASES[phase]
        breaks = WEIGHTS["phase"] * misplaced_pairs(problem, chain, name, first, after)
        if name == "pre-competition":
            inside = [first <= week < after for week in range(self.weeks)]
            breaks += WEIGHTS["phase"] * too_many_tune_ups(problem, chain, inside)
        begun = sum(
            event["role"] == "target" and first <= min(event_weeks(problem, event)) < after
            for event in chain
        )
        covered = 0
        if name == "competition" and begun:
            covered = most_covered_targets(problem, chain, first, after)
        breaks += WEIGHTS["peak"] * (begun - covered)
        return loss(100 * breaks, 0)
