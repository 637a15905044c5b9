"""The exhaustive search is right: solved seasons, cases worked by hand, and plain enumeration."""

import json
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import combinations, product
from pathlib import Path
from typing import Any

import pytest

from tests.science.layout import exhaustive, random_problems
from tests.science.layout.exhaustive import NothingPossible

SEASONS = Path(__file__).parents[3] / "fixtures" / "seasons"

BARCELONA = {"lat": 41.4, "lon": 2.2, "timezone": "Europe/Madrid", "elevation_m": 10}
AUSTIN = {"lat": 30.3, "lon": -97.7, "timezone": "America/Chicago", "elevation_m": 150}
BOGOTA = {"lat": 4.6, "lon": -74.1, "timezone": "America/Bogota", "elevation_m": 2550}
BANGKOK = {"lat": 13.8, "lon": 100.5, "timezone": "Asia/Bangkok", "elevation_m": 5}
LIMA = {"lat": -12.0, "lon": -77.0, "timezone": "America/Lima", "elevation_m": 150}

MONDAY = date(2027, 1, 4)

# Blocks of one week or more break nothing, and no rule asks for anything.
EASY = {
    "preparation_weeks": [1, 20],
    "pre_competition_weeks": [1, 20],
    "competition_weeks": [1, 20],
    "active_rest_weeks": [1, 20],
    "min_cycles": 0,
    "min_rest_weeks": 0,
    "final_rest_weeks": 0,
}


def day(week: int, weekday: int = 0) -> str:
    return (MONDAY + timedelta(weeks=week, days=weekday)).isoformat()


def event(code: str, start: str, days: int, **changes: Any) -> dict[str, Any]:
    """An event at home, on the home surface: no travel and nothing to get used to."""
    end = date.fromisoformat(start) + timedelta(days=days - 1)
    return {
        "code": code,
        "name": code,
        "start": start,
        "end": end.isoformat(),
        **BARCELONA,
        "high_c": None,
        "surface": "clay",
        "role": "open",
        "worth": 10,
        "cost": 0,
        **changes,
    }


def season(weeks: int, *events: dict[str, Any], **changes: Any) -> dict[str, Any]:
    limits = EASY | changes.pop("limits", {})
    return {
        "season": {"start": day(0), "end": day(weeks - 1, 6)},
        "today": None,
        "home": {**BARCELONA, "name": "Base", "surface": "clay", "monthly_high_c": None},
        "events": list(events),
        "busy": [],
        "limits": limits,
        "keep": [],
        "drop": [],
        "in_force": None,
        **changes,
    }


def blocks(*lengths: int, first: str = "preparation") -> list[dict[str, str]]:
    laid, week = [], 0
    phase = exhaustive.PHASES.index(first)
    for length in lengths:
        name = exhaustive.PHASES[phase]
        laid.append({"phase": name, "start": day(week), "end": day(week + length - 1, 6)})
        week, phase = week + length, (phase + 1) % 4
    return laid


def units(problem: dict[str, Any], codes: str, laid: list[dict[str, str]]) -> dict[str, int]:
    """The broken rules and their units."""
    counted = exhaustive.units_of(problem, codes.split(), laid)
    return {rule: count for rule, count in counted.items() if count}


def solved(number: int) -> tuple[dict[str, Any], dict[str, Any]]:
    problem = json.loads((SEASONS / f"season-{number}.json").read_text())
    answer = json.loads((SEASONS / f"season-{number}.answer.json").read_text())
    return problem, answer


# -- Solved seasons -------------------------------------------------------------------------------


@pytest.mark.parametrize("number", range(1, 9))
def test_the_search_reaches_the_proven_answer_of_a_solved_season(number: int) -> None:
    problem, answer = solved(number)

    best = exhaustive.best(problem)

    assert best.breaks == round(100 * answer["breaks"])
    assert best.value == round(100 * answer["value"])


@pytest.mark.parametrize("number", range(1, 9))
def test_the_printed_layout_of_a_solved_season_measures_as_its_answer_says(number: int) -> None:
    problem, answer = solved(number)
    layout = answer["one_best_layout"]

    measured = exhaustive.measure(problem, layout["events"], layout["blocks"])

    assert measured == (round(100 * answer["breaks"]), round(100 * answer["value"]))
    assert exhaustive.forbidden(problem, layout["events"], layout["blocks"]) == []


# -- Against plain enumeration --------------------------------------------------------------------


def every_layout(problem: dict[str, Any]) -> Iterator[tuple[list[str], list[dict[str, str]]]]:
    codes = [event["code"] for event in problem["events"]]
    weeks = exhaustive.week_count(problem)
    first = problem["limits"].get("first_phase", "preparation")
    choices = [list(c) for size in range(len(codes) + 1) for c in combinations(codes, size)]
    for cuts in product([False, True], repeat=weeks - 1):
        ends = [week + 1 for week, cut in enumerate(cuts) if cut] + [weeks]
        lengths = [end - start for start, end in zip([0, *ends], ends, strict=False)]
        laid = [
            {
                **block,
                "start": shifted(block["start"], problem),
                "end": shifted(block["end"], problem),
            }
            for block in blocks(*lengths, first=first)
        ]
        for choice in choices:
            yield choice, laid


def shifted(iso: str, problem: dict[str, Any]) -> str:
    by = date.fromisoformat(problem["season"]["start"]) - MONDAY
    return (date.fromisoformat(iso) + by).isoformat()


@pytest.mark.parametrize("seed", range(24))
def test_no_layout_of_a_tiny_season_beats_the_search(seed: int) -> None:
    problem = random_problems.tiny(seed)
    measured = [
        exhaustive.measure(problem, codes, laid)
        for codes, laid in every_layout(problem)
        if not exhaustive.forbidden(problem, codes, laid)
    ]
    if not measured:
        with pytest.raises(NothingPossible):
            exhaustive.best(problem)
        return

    best = exhaustive.best(problem)

    assert (best.breaks, -best.value) == min((breaks, -value) for breaks, value in measured)


# -- Days and weeks -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("start", "days", "weeks"),
    [
        (day(1), 7, {1}),
        (day(1, 6), 7, {2}),  # Sunday to Saturday: one day in week 1, six in week 2
        (day(1, 5), 4, {1}),  # two days on each side: the earlier week
        (day(1, 4), 6, {1, 2}),  # three days on each side
        (day(1, 6), 2, {1}),  # one day on each side
        (day(1, 5), 14, {2, 3}),  # two, seven and five days
        (day(1, 2), 14, {1, 2}),  # five, seven and two days
        (day(1, 3), 14, {1, 2, 3}),  # four, seven and three days
    ],
)
def test_an_event_week_holds_three_days_or_most_of_them(
    start: str, days: int, weeks: set[int]
) -> None:
    the_event = event("e", start, days)
    assert exhaustive.event_weeks(season(6, the_event), the_event) == weeks


# -- Places and trips -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("here", "there", "km"),
    [
        ((40.6, -73.8), (51.6, -0.5), 5552),  # 5551759.400 m, computed with the same library
        # 19959.679267 km: Karney 2013, J Geodesy 87:43-55
        ((-41.32, 174.81), (40.96, -5.50), 19960),
        ((0.0, 179.5), (0.0, -179.5), 111),
    ],
)
def test_distance_is_the_geodesic_in_whole_kilometres(
    here: tuple[float, float], there: tuple[float, float], km: int
) -> None:
    assert exhaustive.kilometres(*here, *there) == km


@pytest.mark.parametrize(
    ("left", "timezone", "start", "days"),
    [
        # Zone counts computed from tzdata; days at 60 minutes a day east and 90 west.
        ("Europe/London", "America/New_York", "2026-01-15", 4),  # 5 h west: 300/90
        ("Europe/London", "America/New_York", "2026-03-15", 3),  # summer time in one place: 4 h
        ("Europe/Madrid", "Australia/Melbourne", "2026-01-10", 10),
        ("Europe/Madrid", "Australia/Melbourne", "2026-07-10", 8),
        ("America/New_York", "Australia/Melbourne", "2026-01-10", 6),  # 16 h east is 8 h west
        ("Asia/Kolkata", "America/Los_Angeles", "2026-08-20", 12),  # 11.5 h east
        ("Asia/Bangkok", "America/Lima", "2026-07-05", 8),  # exactly 12 h counts as west
        ("Pacific/Apia", "Pacific/Pago_Pago", "2026-08-25", 0),  # only the date differs
        ("Asia/Kathmandu", "Asia/Kolkata", "2026-08-25", 0),  # below the threshold of 3 h
    ],
)
def test_the_clock_takes_the_shorter_way_round(
    left: str, timezone: str, start: str, days: int
) -> None:
    the_event = event("e", start, 7, timezone=timezone)
    problem = season(4, the_event)
    assert exhaustive.clock_days(problem, {"timezone": left}, the_event) == days


@pytest.mark.parametrize(
    ("left_m", "venue_m", "days"),
    [(10, 999, 0), (10, 1000, 2), (1499, 1999, 2), (1500, 1999, 0), (10, 2000, 5), (10, 3000, 10)],
)
def test_altitude_counts_from_500_m_up_by_the_height_of_the_venue(
    left_m: int, venue_m: int, days: int
) -> None:
    assert exhaustive.altitude_days({"elevation_m": left_m}, {"elevation_m": venue_m}) == days


@pytest.mark.parametrize(
    ("home_high", "venue_high", "days"),
    [(20, 28, 7), (20.5, 28, 0), (10, 27.5, 0), (20, None, 0), (None, 40, 0)],
)
def test_heat_needs_28_degrees_and_a_step_of_8(
    home_high: float | None, venue_high: float | None, days: int
) -> None:
    the_event = event("e", "2027-02-01", 7, high_c=venue_high)
    problem = season(8, the_event)
    if home_high is not None:
        problem["home"]["monthly_high_c"] = [0, home_high, *[0] * 10]
    assert exhaustive.heat_days(problem, problem["home"], the_event) == days


def test_ten_free_days_lead_home_and_nine_lead_straight_on() -> None:
    first = event("a", day(1), 7, **AUSTIN)
    straight = event("b", day(3, 2), 7, **BOGOTA)
    from_home = event("c", day(3, 3), 7, **BOGOTA)
    problem = season(8, first, straight, from_home)

    on = exhaustive.leg(problem, first, straight)
    back = exhaustive.leg(problem, first, from_home)

    # Austin-Bogota 3772 km, 4.9 h; Barcelona-Austin 8598 km, 10.6 h; Barcelona-Bogota 8532 km,
    # 10.5 h.
    assert (on.from_home, on.travel_days, on.hours_tenths) == (False, 1, 49)
    assert (back.from_home, back.travel_days, back.hours_tenths) == (True, 2, 211)
    # Straight on: 9 days there for 1 of travel and 5 of altitude. From home: 10 less 2 on the way
    # back leave 8 for 2 of travel and 5.
    assert (on.missing_days, back.missing_days) == (0, 0)
    assert on.acclimatisation == {"clock": 0, "surface": 0, "altitude": 5, "heat": 0}
    assert back.acclimatisation == {"clock": 4, "surface": 0, "altitude": 5, "heat": 0}


def test_days_are_missing_when_the_season_has_only_just_begun() -> None:
    the_event = event("e", day(0, 3), 5, **BANGKOK)
    the_leg = exhaustive.leg(season(4, the_event), None, the_event)
    # 6 h east take 6 days and the flight 2; three days have passed.
    assert the_leg.missing_days == 5


# -- Rules ----------------------------------------------------------------------------------------


def test_a_target_outside_competition_breaks_phase_and_peak() -> None:
    problem = season(6, event("t", day(1), 7, role="target"))
    assert units(problem, "t", blocks(2, 1, 2, 1)) == {"phase": 1, "peak": 1}


def test_an_open_event_may_lie_in_pre_competition_but_not_in_preparation_or_rest() -> None:
    problem = season(
        6,
        event("a", day(0), 7),
        event("b", day(2), 7),
        event("c", day(5), 7),
        event("d", day(4), 7),
    )
    assert units(problem, "a b c", blocks(2, 2, 1, 1)) == {"phase": 2}
    assert units(problem, "b d", blocks(2, 2, 1, 1)) == {}


def test_tune_ups_are_counted_in_each_three_weeks() -> None:
    problem = season(6, event("a", day(1), 7), event("b", day(2), 7), event("c", day(4), 7))
    # Weeks 1-3 are pre-competition: weeks 0-2 and 1-3 hold two tune-ups each, weeks 2-4 one.
    assert units(problem, "a b c", blocks(1, 3, 2)) == {"phase": 2}


def test_two_events_in_one_week_count_as_one_event_week_but_as_two_pairs() -> None:
    problem = season(6, event("a", day(1), 3), event("b", day(1, 3), 3))
    assert units(problem, "a b", blocks(1, 2, 2, 1)) == {}
    assert units(problem, "a b", blocks(2, 1, 2, 1)) == {"phase": 2}


@pytest.mark.parametrize(
    ("second_week", "uncovered"),
    [
        (4, 0),  # weeks 2 and 4: one window of three weeks
        (5, 1),  # weeks 2 and 5: four weeks are too many, two windows are only two weeks apart
        (6, 0),  # weeks 2 and 6: two windows with three weeks between them
    ],
)
def test_peak_windows_hold_three_weeks_and_lie_three_weeks_apart(
    second_week: int, uncovered: int
) -> None:
    problem = season(
        9,
        event("t", day(2), 7, role="target"),
        event("u", day(second_week), 7, role="target"),
    )
    assert units(problem, "t u", blocks(1, 1, 6, 1)).get("peak", 0) == uncovered


def test_windows_of_two_blocks_may_lie_close_together() -> None:
    problem = season(
        8, event("t", day(2), 7, role="target"), event("u", day(6), 7, role="target"),
        limits={"peak_weeks": 1, "peak_gap_weeks": 5},
    )  # fmt: skip
    assert units(problem, "t u", blocks(1, 1, 1, 1, 1, 1, 2)) == {}
    assert units(problem, "t u", blocks(1, 1, 6)) == {"peak": 1}


def test_a_run_of_five_event_weeks_is_two_too_long_and_unquiet_before_a_target() -> None:
    problem = season(
        8, *[event(f"e{week}", day(week), 7) for week in range(2, 6)],
        event("t", day(6), 7, role="target"),
    )  # fmt: skip
    assert units(problem, "e2 e3 e4 e5 t", blocks(1, 1, 6)) == {"run": 2, "quiet": 2}
    assert units(problem, "e2 e3 e5 t", blocks(1, 1, 6)) == {"quiet": 1}


def test_missing_days_break_a_rule_at_a_target_and_cost_value_elsewhere() -> None:
    place = BANGKOK | {"worth": 50}
    target = season(4, event("e", day(0, 3), 5, role="target", **place))
    other = season(4, event("e", day(0, 3), 5, **place))
    laid = blocks(1, 3, first="competition")

    # Barcelona-Bangkok 9685 km: 11.9 h each way; three weeks of active rest.
    assert exhaustive.measure(target, ["e"], laid) == (100 * 5 * 20, 5000 - 1190 + 90)
    assert exhaustive.measure(other, ["e"], laid) == (0, 5000 - 1190 - 5 * 400 + 90)


def test_a_target_left_out_breaks_target_and_nothing_else() -> None:
    problem = season(4, event("t", day(2), 7, role="target"))
    assert units(problem, "", blocks(1, 1, 1, 1)) == {"target": 1}


def test_block_lengths_count_what_is_done_before_and_forgive_a_short_last_block() -> None:
    limits = {
        "preparation_weeks": [4, 5],
        "pre_competition_weeks": [2, 3],
        "competition_weeks": [2, 10],
        "active_rest_weeks": [3, 4],
        "weeks_already_done": 4,
    }
    problem = season(8, limits=limits)
    assert units(problem, "", blocks(3, 1, 3, 1)) == {"length": 3}  # 7 of 5, 1 of 2
    assert units(problem, "", blocks(1, 2, 4, 1)) == {}
    assert units(problem, "", blocks(1, 6, 1)) == {"length": 4}  # 6 of 3, competition 1 of 2


def test_rest_counts_in_all_and_at_the_end() -> None:
    problem = season(6, limits={"min_cycles": 2, "min_rest_weeks": 4, "final_rest_weeks": 2})
    # One week of rest: three missing in all, one missing at the end; one competition block.
    assert units(problem, "", blocks(2, 1, 2, 1)) == {"rest": 4, "cycles": 1}


def test_budget_breaks_with_each_started_hundred_and_count_with_each_event() -> None:
    limits = {"budget": 500, "max_events": 1}
    problem = season(
        8, event("a", day(2), 7, cost=400), event("b", day(4), 7, cost=200.5), limits=limits
    )
    assert units(problem, "a", blocks(1, 1, 6)) == {}
    assert units(problem, "a b", blocks(1, 1, 6)) == {"count": 1, "budget": 2}


# -- What is never broken -------------------------------------------------------------------------


def test_events_that_overlap_cannot_both_be_kept() -> None:
    problem = season(4, event("a", day(1), 7), event("b", day(1, 6), 7), keep=["a", "b"])
    with pytest.raises(NothingPossible):
        exhaustive.best(problem)


def test_the_gap_must_hold_the_days_of_travel() -> None:
    first = event("a", day(1), 6)
    for start, allowed in ((day(2), False), (day(2, 1), True)):  # one and two free days
        problem = season(4, first, event("b", start, 5, **AUSTIN))
        assert exhaustive.may_follow(problem, *problem["events"]) is allowed


def test_an_event_on_a_busy_day_cannot_be_kept() -> None:
    busy = [{"start": day(1, 6), "end": day(1, 6), "why": "family"}]
    problem = season(4, event("a", day(1), 7), keep=["a"], busy=busy)
    with pytest.raises(NothingPossible):
        exhaustive.best(problem)


def test_an_event_that_is_past_and_was_not_in_the_plan_cannot_be_kept() -> None:
    in_force = {"events": [], "blocks": blocks(1, 1, 1, 1)}
    problem = season(4, event("a", day(1), 7), keep=["a"], today=day(1, 1), in_force=in_force)
    with pytest.raises(NothingPossible):
        exhaustive.best(problem)


def test_what_is_ruled_out_is_not_played_however_much_it_is_worth() -> None:
    problem = season(4, event("a", day(2), 7, worth=100), drop=["a"])
    assert exhaustive.best(problem).events == ()


# -- The best layout ------------------------------------------------------------------------------


def test_without_events_the_whole_season_is_preparation() -> None:
    best = exhaustive.best(season(6))
    assert (best.breaks, best.value) == (0, 600)
    assert best.blocks == tuple(blocks(6))


def test_blocks_make_room_for_a_target() -> None:
    best = exhaustive.best(season(6, event("t", day(4), 7, role="target")))
    # Three weeks of preparation, one before competition, two of competition or one and one of
    # rest: 3.0 + 0.5 + 0.3 and the worth of 10.
    assert (best.breaks, best.value) == (0, 1380)
    assert best.blocks == tuple(blocks(3, 1, 1, 1))


def test_an_event_worth_less_than_its_phases_stays_out() -> None:
    # In week 3 it costs two weeks of preparation turned into one of pre-competition and one of
    # competition (1.5), or one week of preparation turned into pre-competition (0.5 and more
    # after it: pre-competition to the end, 1.5 in all for the last three weeks).
    assert exhaustive.best(season(6, event("a", day(3), 7, worth=1.25))).events == ()
    assert exhaustive.best(season(6, event("a", day(3), 7, worth=1.75))).events == ("a",)


def test_of_two_overlapping_targets_one_is_left_out() -> None:
    problem = season(
        6,
        event("t", day(4), 7, role="target", worth=40),
        event("u", day(4, 2), 7, role="target", worth=60),
    )
    best = exhaustive.best(problem)
    assert (best.breaks, best.events) == (30000, ("u",))


def test_replanning_keeps_what_is_past_and_pays_for_each_change() -> None:
    in_force = {"events": ["a"], "blocks": blocks(2, 1, 2, 1)}
    problem = season(
        6,
        event("a", day(0), 7, worth=1),
        event("b", day(4), 7, worth=9),
        event("c", day(4), 7, worth=40, role="target"),
        today=day(3, 2),
        in_force=in_force,
    )
    best = exhaustive.best(problem)
    # a stays, in a preparation week, at one break of phase; c is added for 10.
    assert best.events == ("a", "c")
    assert best.blocks == tuple(blocks(2, 2, 1, 1))
    assert (best.breaks, best.value) == (5000, 4100 - 1000 + 200 + 100 + 30)


def test_without_today_nothing_is_fixed_and_only_changes_cost() -> None:
    in_force = {"events": ["a"], "blocks": []}
    problem = season(6, event("a", day(0), 7, worth=1), in_force=in_force)
    best = exhaustive.best(problem)
    # Dropping it costs 10 and keeping it in a preparation week would break a rule.
    assert (best.breaks, best.value, best.events) == (0, 600 - 1000, ())


# -- The random problems --------------------------------------------------------------------------


def test_a_seed_always_gives_the_same_problem() -> None:
    assert random_problems.problem(7) == random_problems.problem(7)
    assert random_problems.problem(7) != random_problems.problem(8)


def test_the_random_problems_exercise_every_rule() -> None:
    broken: set[str] = set()
    acclimatised: set[str] = set()
    unbroken = impossible = re_planned = 0
    seeds = range(100)
    for seed in seeds:
        problem = random_problems.problem(seed)
        try:
            best = exhaustive.best(problem)
        except NothingPossible:
            impossible += 1
            continue
        unbroken += best.breaks == 0
        re_planned += problem["today"] is not None
        counted = exhaustive.units_of(problem, best.events, best.blocks)
        broken |= {rule for rule, count in counted.items() if count}
        for the_leg in exhaustive.legs_of(problem, exhaustive.chain_of(problem, best.events)):
            acclimatised |= {cause for cause, days in the_leg.acclimatisation.items() if days}

    assert broken == set(exhaustive.WEIGHTS)
    assert acclimatised == {"clock", "surface", "altitude", "heat"}
    assert 0.35 < unbroken / len(seeds) < 0.6
    assert impossible >= 2
    assert re_planned >= 15
