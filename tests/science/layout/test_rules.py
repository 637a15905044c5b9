"""The judge: every rule at its edges, with numbers worked out by hand.

The small season has 26 weeks from Monday 4 January 2027: preparation in weeks 0-3, pre-competition
4-7, competition 8-11, active rest 12-13, preparation 14-17, pre-competition 18-21, competition
22-23, active rest 24-25. Its weeks are worth 8 x 1 + 8 x 0.5 + 4 x 0.3 = 13.2. Unless a test says
otherwise, events are at home, so that nobody travels.
"""

from __future__ import annotations

import json
import time
from collections.abc import Sequence
from dataclasses import asdict, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.arrival import Acclimatisation
from seasonplan.science.layout.problem import (
    PHASES,
    Block,
    Busy,
    Event,
    Home,
    InForce,
    Limits,
    Phase,
    Problem,
    Season,
    read_problem,
)
from seasonplan.science.layout.rules import NEVER_BROKEN, WEIGHTS, Finding, Judgement, judge

SEASONS = Path(__file__).parents[3] / "fixtures" / "seasons"

START = date(2027, 1, 4)
SEASON = Season(START, date(2027, 7, 4))
HOME = Home("Valencia", 39.5, -0.4, "Europe/Madrid", 20, "clay")
BLOCK_LENGTHS = (4, 4, 4, 2, 4, 4, 2, 2)


def blocks(*lengths: int, first: Phase = "preparation", start: date = START) -> list[Block]:
    """Blocks of so many weeks that follow the cycle."""
    made: list[Block] = []
    for index, weeks in enumerate(lengths):
        phase = PHASES[(PHASES.index(first) + index) % 4]
        made.append(Block(phase, start, start + timedelta(weeks=weeks, days=-1)))
        start += timedelta(weeks=weeks)
    return made


USUAL = blocks(*BLOCK_LENGTHS)


def day(week: int, weekday: int = 0) -> date:
    return START + timedelta(weeks=week, days=weekday)


def event(code: str, week: int, weeks: int = 1, **fields: Any) -> Event:
    """An event at home from the Monday of a week to a Sunday."""
    return replace(
        Event(
            code=code,
            name=code.title(),
            start=day(week),
            end=day(week + weeks - 1, 6),
            lat=HOME.lat,
            lon=HOME.lon,
            timezone=HOME.timezone,
            elevation_m=HOME.elevation_m,
            surface=HOME.surface,
        ),
        **fields,
    )


def target(code: str, week: int, weeks: int = 1, **fields: Any) -> Event:
    return event(code, week, weeks, role="target", worth=80, **fields)


TOKYO: dict[str, Any] = {"lat": 35.7, "lon": 139.7, "timezone": "Asia/Tokyo"}
LISBON: dict[str, Any] = {"lat": 38.7, "lon": -9.1, "timezone": "Europe/Lisbon"}


def problem(*events: Event, **fields: Any) -> Problem:
    limits = fields.pop("limits", Limits())
    return Problem(season=SEASON, home=HOME, events=events, limits=limits, **fields)


def judged(
    *events: Event,
    layout: Sequence[Block] = USUAL,
    play: Sequence[str] | None = None,
    **fields: Any,
) -> Judgement:
    """The judgement of playing all of these events, or those named."""
    codes = [one.code for one in events] if play is None else play
    return judge(problem(*events, **fields), codes, layout)


def broken(judgement: Judgement) -> list[tuple[str, int]]:
    return [(finding.rule, finding.units) for finding in judgement.broken]


def only(judgement: Judgement) -> Finding:
    (finding,) = judgement.broken
    return finding


# The whole.


def test_a_season_of_well_made_blocks_breaks_nothing_and_has_the_value_of_its_weeks() -> None:
    judgement = judged()
    assert judgement.possible
    assert judgement.broken == ()
    assert judgement.breaks == 0
    assert judgement.value == 13.2
    assert asdict(judgement.value_parts) == {
        "worth": 0,
        "preparation": 8,
        "pre_competition": 4,
        "active_rest": 1.2,
        "travel": 0,
        "missing": 0,
        "short": 0,
        "change": 0,
    }


@pytest.mark.parametrize("number", range(1, 9))
def test_the_layout_of_each_example_has_the_breaks_and_the_value_that_were_proven(
    number: int,
) -> None:
    answer = json.loads((SEASONS / f"season-{number}.answer.json").read_text())
    layout = answer["one_best_layout"]
    judgement = judge(
        read_problem(json.loads((SEASONS / f"season-{number}.json").read_text())),
        layout["events"],
        [
            Block(
                block["phase"],
                date.fromisoformat(block["start"]),
                date.fromisoformat(block["end"]),
            )
            for block in layout["blocks"]
        ],
    )
    assert judgement.possible
    assert (judgement.breaks, judgement.value) == (answer["breaks"], answer["value"])


def test_the_weights_are_the_agreed_ones() -> None:
    assert WEIGHTS == {
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


def test_a_code_that_no_event_has_is_refused() -> None:
    with pytest.raises(ValueError, match="no event has the code rome"):
        judged(play=["rome"])


def test_an_event_that_leaves_the_season_is_refused() -> None:
    with pytest.raises(ValueError, match="Late does not lie wholly inside the season"):
        judged(event("late", 25, 2))


# Never broken: cover and the order of phases.


def test_a_layout_without_blocks_covers_no_week() -> None:
    judgement = judged(layout=[])
    assert not judgement.possible
    assert broken(judgement) == [("cover", 26), ("cycles", 2), ("rest", 4), ("rest", 2)]
    assert judgement.breaks == 100 + 120 + 60


def test_a_week_between_two_blocks_is_named() -> None:
    layout = [*USUAL[:3], *blocks(1, 4, 4, 2, 2, first="active rest", start=day(13))]
    finding = only(judged(layout=layout, limits=Limits(min_rest_weeks=3)))
    assert (finding.rule, finding.units, finding.weight) == ("cover", 1, None)
    assert finding.weeks == ("2027-W13",)
    assert finding.text == "No block holds the week of 29 Mar: give it a phase."


def test_a_week_in_two_blocks_is_named_and_counts_as_the_earlier_one() -> None:
    longer = replace(USUAL[3], end=day(14, 6))
    judgement = judged(layout=[*USUAL[:3], longer, *USUAL[4:]])
    finding = only(judgement)
    assert (finding.rule, finding.units, finding.weeks) == ("cover", 1, ("2027-W15",))
    assert finding.text == (
        "More than one block holds the week of 12 Apr: let one begin where the other ends."
    )
    assert judgement.rest_weeks == 5


def test_a_block_that_starts_in_the_middle_of_a_week_is_named() -> None:
    layout = [*USUAL[:-1], replace(USUAL[-1], start=day(24, 1))]
    assert only(judged(layout=layout)).text == (
        "The active rest block 22 Jun – 4 Jul is not made of whole weeks of the season: let it run"
        " from a Monday to a Sunday."
    )


def test_a_block_that_leaves_the_season_is_named_and_cut() -> None:
    layout = [*USUAL[:-1], replace(USUAL[-1], end=day(26, 6))]
    judgement = judged(layout=layout)
    assert broken(judgement) == [("cover", 1)]
    assert judgement.rest_weeks == 4


def test_blocks_are_judged_whatever_their_order() -> None:
    assert judged(layout=list(reversed(USUAL))) == judged()


def test_a_season_that_begins_with_another_phase_is_impossible() -> None:
    finding = only(judged(layout=USUAL, limits=Limits(first_phase="active rest")))
    assert (finding.rule, finding.weight) == ("phase order", None)
    assert finding.text == "The season begins with active rest, but its first block is preparation."


def test_a_phase_out_of_the_cycle_is_impossible_and_so_is_the_way_back_into_it() -> None:
    layout = [*USUAL[:3], replace(USUAL[3], phase="preparation"), *USUAL[4:]]
    judgement = judged(layout=layout)
    assert broken(judgement) == [
        ("phase order", 1),  # competition -> preparation
        ("phase order", 1),  # preparation -> preparation
        ("length", 2),
        ("rest", 2),
    ]
    assert judgement.broken[0].text == (
        "After competition comes active rest, but the block from 29 Mar is preparation."
    )


# Never broken: overlap, busy days, pins, the past.


def test_an_event_may_follow_the_next_day_at_the_same_place() -> None:
    judgement = judged(event("a", 8), event("b", 9))
    assert judgement.broken == ()


def test_two_events_on_the_same_day_overlap() -> None:
    judgement = judged(event("a", 8), event("b", 9, start=day(8, 6)))
    finding = only(judgement)
    assert (finding.rule, finding.units, finding.events) == ("overlap", 1, ("a", "b"))
    assert finding.text == "A (1–7 Mar) and B (7–14 Mar) overlap: play one of them."
    assert not judgement.possible


@pytest.mark.parametrize(("free_days", "possible"), [(0, False), (1, True)])
def test_a_journey_of_a_day_needs_a_free_day(free_days: int, possible: bool) -> None:
    judgement = judged(event("a", 8, end=day(8, 6 - free_days)), event("b", 9, **LISBON))
    assert judgement.possible is possible


@pytest.mark.parametrize(("free_days", "possible"), [(1, False), (2, True)])
def test_a_long_journey_needs_two_free_days(free_days: int, possible: bool) -> None:
    judgement = judged(event("a", 8, end=day(8, 6 - free_days)), event("b", 9, **TOKYO))
    assert judgement.possible is possible


def test_a_journey_without_time_is_told_with_its_days() -> None:
    judgement = judged(event("a", 8), event("b", 9, **LISBON))
    assert judgement.broken[0].text == (
        "B starts on Mon 8 Mar, A may last until Sun 7 Mar: the journey takes 1 day, and none is"
        " free. Play one of them."
    )


def test_going_home_in_between_needs_the_days_of_both_journeys() -> None:
    there = event("a", 8, end=day(8, 3), **TOKYO)
    again = event("b", 9, **TOKYO)
    assert not judged(there, again, limits=Limits(home_gap_days=3)).possible
    assert judged(there, again, limits=Limits(home_gap_days=4)).possible


def test_a_long_event_overlaps_a_later_one_behind_a_short_one() -> None:
    judgement = judged(event("a", 8, 3), event("b", 9, end=day(9, 1)), event("c", 10))
    assert [finding.events for finding in judgement.broken if finding.rule == "overlap"] == [
        ("a", "b"),
        ("a", "c"),
    ]


@pytest.mark.parametrize(
    ("first", "last", "units"),
    [(day(8, 6), day(9, 3), 1), (day(7, 0), day(7, 6), 0), (day(9), day(9, 6), 0),
     (day(8, 2), day(8, 3), 2), (day(7), day(10), 7)],
)  # fmt: skip
def test_each_event_day_on_a_busy_day_counts(first: date, last: date, units: int) -> None:
    judgement = judged(event("a", 8), busy=(Busy(first, last, "exams"),))
    assert broken(judgement) == ([("busy", units)] if units else [])
    assert judgement.possible is (units == 0)


def test_a_busy_day_is_told_with_its_reason() -> None:
    finding = only(judged(event("a", 8), busy=(Busy(day(8, 6), day(9), "exams"),)))
    assert finding.text == (
        "A (1–7 Mar) falls on days on which the player is busy, 7–8 Mar (exams): leave it out, or"
        " free those days."
    )


def test_an_event_that_is_pinned_in_must_be_played() -> None:
    judgement = judged(event("a", 8), play=[], keep=frozenset({"a"}))
    assert only(judgement).text == "A is pinned in, but not in the plan: add it, or unpin it."
    assert not judgement.possible
    assert judged(event("a", 8), keep=frozenset({"a"})).possible


def test_an_event_that_is_ruled_out_must_not_be_played() -> None:
    judgement = judged(event("a", 8), drop=frozenset({"a"}))
    assert only(judgement).rule == "drop"
    assert not judgement.possible
    assert judged(event("a", 8), play=[], drop=frozenset({"a"})).possible


@pytest.mark.parametrize(
    ("today", "possible"), [(day(8), True), (day(8, 1), False), (day(20), False)]
)
def test_an_event_of_the_plan_in_force_that_began_before_today_stays(
    today: date, possible: bool
) -> None:
    judgement = judged(event("a", 8), play=[], today=today, in_force=InForce(("a",)))
    assert judgement.possible is possible


@pytest.mark.parametrize(("today", "possible"), [(day(8), True), (day(8, 1), False)])
def test_an_event_that_began_before_today_can_no_longer_be_added(
    today: date, possible: bool
) -> None:
    judgement = judged(event("a", 8), today=today, in_force=InForce(()))
    assert judgement.possible is possible


def test_past_events_are_told_with_the_day_they_began() -> None:
    judgement = judged(
        event("a", 8), event("b", 9), play=["b"], today=day(10), in_force=InForce(("a",))
    )
    assert [finding.text for finding in judgement.broken] == [
        "A began on Mon 1 Mar, before today, and belongs to the plan in force: what is played stays"
        " in the plan.",
        "B began on Mon 8 Mar, before today, and is not in the plan in force: it can no longer be"
        " added.",
    ]


@pytest.mark.parametrize(
    ("today", "units"),
    # The plan in force ended preparation after week 2; this one ends it after week 3.
    [(day(3, 6), 0), (day(4), 1), (day(5, 3), 1)],
)
def test_weeks_before_the_week_of_today_keep_their_phase(today: date, units: int) -> None:
    in_force = InForce((), tuple(blocks(3, 5, *BLOCK_LENGTHS[2:])))
    judgement = judged(today=today, in_force=in_force)
    assert broken(judgement) == ([("past", units)] if units else [])


def test_a_past_week_is_told_with_what_it_was() -> None:
    in_force = InForce((), tuple(blocks(3, 5, *BLOCK_LENGTHS[2:])))
    assert only(judged(today=day(6), in_force=in_force)).text == (
        "The week of 25 Jan is over: what was pre-competition cannot be changed any more."
    )


def test_without_today_the_plan_in_force_fixes_nothing_and_changes_cost() -> None:
    judgement = judged(event("a", 8), event("b", 9), play=["b"], in_force=InForce(("a",)))
    assert judgement.possible
    assert judgement.value_parts.change == -20


def test_without_a_plan_in_force_today_fixes_nothing() -> None:
    assert judged(event("a", 8), today=day(20)).possible


# Targets, phases, peaks.


def test_an_event_that_is_cancelled_must_not_be_played() -> None:
    judgement = judged(event("a", 8), cancelled=frozenset({"a"}))
    assert only(judgement).rule == "cancelled"
    assert only(judgement).text == "A (1–7 Mar) is cancelled, but in the plan: take it out."
    assert not judgement.possible
    assert judged(event("a", 8), play=[], cancelled=frozenset({"a"})).possible


def test_a_target_left_out_weighs_300() -> None:
    judgement = judged(target("a", 8), event("b", 9, role="build-up"), play=[])
    finding = only(judgement)
    assert (finding.rule, finding.units, finding.events) == ("target", 1, ("a",))
    assert judgement.breaks == 300
    assert finding.text == "A (1–7 Mar), a target, is left out: add it, or make it no target."


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"drop": frozenset({"a"})}, "since it is ruled out"),
        ({"cancelled": frozenset({"a"})}, "since it is cancelled: make it no target"),
        ({"busy": (Busy(day(8, 6), day(9), "exams"),)}, "the player is busy 7–8 Mar (exams)"),
        ({}, "it overlaps B. Play it instead, or make it no target."),
    ],
)
def test_a_target_left_out_is_told_with_the_reason(fields: dict[str, Any], says: str) -> None:
    judgement = judged(target("a", 8), event("b", 8, start=day(8, 6)), play=["b"], **fields)
    text = next(finding.text for finding in judgement.broken if finding.rule == "target")
    assert says in text


@pytest.mark.parametrize(
    ("week", "weeks", "units"),
    [(3, 1, 1), (2, 2, 2), (4, 1, 0), (7, 2, 0), (8, 2, 0), (11, 2, 1), (12, 2, 2), (3, 2, 1)],
)
def test_an_event_lies_in_competition_or_pre_competition(week: int, weeks: int, units: int) -> None:
    judgement = judged(event("a", week, weeks), limits=Limits(tune_up_weeks=3))
    assert broken(judgement) == ([("phase", units)] if units else [])
    assert judgement.breaks == 50 * units


@pytest.mark.parametrize(("week", "weeks", "units"), [(7, 1, 1), (6, 2, 2), (8, 2, 0), (7, 2, 1)])
def test_a_target_lies_in_competition_only(week: int, weeks: int, units: int) -> None:
    judgement = judged(target("a", week, weeks), limits=Limits(tune_up_weeks=3))
    assert sum(number for rule, number in broken(judgement) if rule == "phase") == units


def test_two_events_in_the_same_wrong_week_count_twice() -> None:
    first = event("a", 1, end=day(1, 2))
    assert judged(first, event("b", 1, start=day(1, 4))).breaks == 100


def test_a_phase_is_told_with_the_weeks() -> None:
    assert only(judged(event("a", 2, 2))).text == (
        "A (18–31 Jan) lies in preparation in the weeks of 18 Jan and 25 Jan: make those weeks"
        " competition, or leave it out."
    )


# Pre-competition is weeks 4-7; windows of three weeks begin at weeks 0..23.
@pytest.mark.parametrize(
    ("weeks", "allowed", "units"),
    [
        ([5], 1, 0),
        ([4, 7], 1, 0),
        ([5, 7], 1, 1),  # in window 5-7
        ([5, 6], 1, 2),  # in windows 4-6 and 5-7
        ([4, 5], 1, 2),  # in windows 3-5 and 4-6
        ([6, 7], 1, 2),  # in windows 5-7 and 6-8
        ([7, 8], 1, 0),  # week 8 is competition
        ([4, 5, 6], 1, 1 + 2 + 1),
        ([4, 5, 6, 7], 2, 2),
        ([5], 0, 3),
        ([7, 18], 1, 0),
    ],
)
def test_any_three_weeks_hold_few_event_weeks_of_pre_competition(
    weeks: list[int], allowed: int, units: int
) -> None:
    events = [event(f"e{week}", week) for week in weeks]
    judgement = judged(*events, limits=Limits(tune_up_weeks=allowed, max_run=4))
    assert [(f.rule, f.units) for f in judgement.broken] == ([("phase", units)] if units else [])


def test_two_events_in_one_week_are_one_tune_up_week() -> None:
    judgement = judged(event("a", 5, end=day(5, 2)), event("b", 5, start=day(5, 4)))
    assert judgement.broken == ()


def test_the_last_three_weeks_of_the_season_are_a_window_too() -> None:
    layout = [*blocks(4, 4, 4, 4, 6), Block("pre-competition", day(22), SEASON.end)]
    judgement = judged(
        event("a", 23),
        event("b", 25),
        layout=layout,
        limits=Limits(min_cycles=0, min_rest_weeks=0, final_rest_weeks=0),
    )
    assert broken(judgement) == [("phase", 1)]


def test_windows_that_share_a_tune_up_week_are_told_together() -> None:
    finding = only(
        judged(
            *(event(f"e{week}", week) for week in (4, 6, 8)),
            layout=blocks(4, 5, 3, 2, 4, 4, 2, 2),
        )
    )
    assert finding.units == 2  # weeks 4-6 and 6-8
    assert finding.events == ("e4", "e6", "e8")


def test_too_many_tune_ups_are_told_in_one_sentence_with_their_events() -> None:
    finding = only(judged(event("a", 5), event("b", 6)))
    assert finding.events == ("a", "b")
    assert finding.weeks == ("2027-W06", "2027-W07")
    assert finding.text == (
        "Of any 3 weeks in a row in pre-competition, only 1 week may hold an event: A and B take"
        " the weeks of 8 Feb and 15 Feb. Leave one out, or begin competition earlier."
    )


# Competition is weeks 8-11; a peak lasts three weeks, with three between two.
@pytest.mark.parametrize(
    ("starts", "peaks", "uncovered"),
    [
        ([8], [(8, 8)], 0),
        ([8, 9, 10], [(8, 10)], 0),
        ([8, 10], [(8, 10)], 0),
        ([8, 11], [(11, 11)], 1),  # four weeks apart, two between
        ([8, 9, 11], [(8, 9)], 1),
        ([8, 9, 10, 11], [(8, 10)], 1),
        ([22, 23], [(22, 23)], 0),
        ([8, 22], [(8, 8), (22, 22)], 0),  # other block
    ],
)
def test_peaks_cover_as_many_targets_as_they_can(
    starts: list[int], peaks: list[tuple[int, int]], uncovered: int
) -> None:
    judgement = judged(
        *(target(f"t{week}", week) for week in starts), limits=Limits(quiet_weeks=4, max_run=4)
    )
    assert broken(judgement) == [("peak", 1)] * uncovered
    covered = sum(len(peak.targets) for peak in judgement.peaks)
    assert covered == len(starts) - uncovered
    assert len(judgement.peaks) == len(peaks)


def test_a_peak_is_as_short_as_its_targets_allow() -> None:
    (peak,) = judged(target("a", 9, 2)).peaks
    assert (peak.start, peak.end, peak.targets) == (day(9), day(10, 6), ("a",))


@pytest.mark.parametrize(("gap", "uncovered"), [(2, 0), (3, 1)])
def test_two_peaks_of_a_block_have_weeks_between_them(gap: int, uncovered: int) -> None:
    judgement = judged(target("a", 8), target("b", 11), limits=Limits(peak_gap_weeks=gap))
    assert broken(judgement) == [("peak", 1)] * uncovered


@pytest.mark.parametrize(("longest", "uncovered"), [(2, 0), (1, 1)])
def test_a_target_longer_than_a_peak_is_in_none(longest: int, uncovered: int) -> None:
    judgement = judged(target("a", 8, 2), limits=Limits(peak_weeks=longest))
    assert broken(judgement) == [("peak", 1)] * uncovered
    assert judgement.breaks == 60 * uncovered


def test_a_target_that_leaves_its_competition_block_is_in_no_peak() -> None:
    assert broken(judged(target("a", 11, 2))) == [("phase", 1), ("peak", 1)]


def test_a_missing_peak_is_told_with_its_reason() -> None:
    long = only(judged(target("a", 8, 2), limits=Limits(peak_weeks=1)))
    assert long.text == (
        "A (1–14 Mar), a target, is in no peak: it takes 2 weeks, and a peak lasts at most 1 week."
    )
    near = only(judged(target("a", 8), target("b", 11)))
    assert near.text == (
        "B (22–28 Mar), a target, is in no peak: its block has other peaks, 3 weeks must lie"
        " between two, and one lasts at most 3 weeks; leave one of the targets out, or make it no"
        " target."
    )


@settings(deadline=None)
@given(
    starts=st.lists(st.tuples(st.integers(0, 17), st.integers(1, 3)), max_size=7, unique=True),
    longest=st.integers(1, 5),
    gap=st.integers(0, 4),
)
def test_no_choice_of_peak_windows_covers_more_targets(
    starts: list[tuple[int, int]], longest: int, gap: int
) -> None:
    targets = [target(f"t{index}", *when) for index, when in enumerate(starts)]
    judgement = judged(
        *targets,
        layout=[Block("competition", START, SEASON.end)],
        limits=Limits(peak_weeks=longest, peak_gap_weeks=gap),
    )
    # The most that windows from each week on can cover, whatever their beginnings and ends.
    best = [0] * (26 + longest + gap + 1)
    for week in range(25, -1, -1):
        best[week] = best[week + 1]
        for weeks in range(1, longest + 1):
            inside = sum(
                week <= first and first + length <= week + weeks for first, length in starts
            )
            best[week] = max(best[week], inside + best[week + weeks + gap])
    assert sum(len(peak.targets) for peak in judgement.peaks) == best[0]


# Arrival, runs, quiet weeks.


def test_each_missing_day_before_a_target_weighs_20() -> None:
    # Tokyo lies 8 hours east: 8 days of clock and 2 of travel; week 8 to week 10 leaves 7 free.
    judgement = judged(event("a", 8), target("b", 10, **TOKYO))
    finding = only(judgement)
    assert (finding.rule, finding.units, finding.events) == ("arrival", 3, ("b",))
    assert judgement.breaks == 60
    assert judgement.value_parts.missing == 0
    assert finding.text == (
        "B, a target, starts 5 days after the landing and needs 8 days to settle (body clock):"
        " arrive by Sun 7 Mar, or skip A."
    )


def test_a_missing_day_before_another_event_costs_value_only() -> None:
    judgement = judged(event("a", 8), event("b", 10, **TOKYO))
    assert judgement.broken == ()
    assert judgement.value_parts.missing == -12
    assert judgement.missing_days == 3


def test_a_target_too_early_in_the_season_is_told_when_to_leave_home() -> None:
    judgement = judged(
        target("a", 1, **TOKYO),
        layout=blocks(1, 6, 2, 4, 4, 5, 4, first="pre-competition"),
        limits=Limits(first_phase="pre-competition", weeks_already_done=3),
    )
    assert only(judgement).text == (
        "A, a target, starts 5 days after the landing and needs 8 days to settle (body clock):"
        " leave home by Fri 1 Jan, before the season begins, or make it no target."
    )


@pytest.mark.parametrize(("weeks", "units"), [([8, 9, 10], 0), ([8, 9, 10, 11], 1)])
def test_an_event_week_too_many_in_a_row_weighs_30(weeks: list[int], units: int) -> None:
    judgement = judged(*(event(f"e{week}", week) for week in weeks))
    assert broken(judgement) == ([("run", units)] if units else [])
    assert judgement.breaks == 30 * units
    assert judgement.longest_run == len(weeks)


def test_two_runs_count_each_for_itself() -> None:
    events = [event(f"e{week}", week) for week in (8, 9, 11, 22, 23)]
    assert broken(judged(*events, limits=Limits(max_run=1))) == [("run", 1), ("run", 1)]


def test_a_long_run_is_told_with_its_days_and_events() -> None:
    events = [event(code, week) for code, week in zip("abcd", (8, 9, 10, 11), strict=True)]
    assert only(judged(*events)).text == (
        "4 event weeks in a row, from 1 Mar to 28 Mar (A, B, C and D), at most 3: leave one out,"
        " best from the middle."
    )


@pytest.mark.parametrize(("weeks", "how_many"), [(7, "one"), (8, "some")])
def test_a_run_that_one_free_week_does_not_cure_needs_more(weeks: int, how_many: str) -> None:
    judgement = judged(event("a", 8, weeks))
    text = next(finding.text for finding in judgement.broken if finding.rule == "run")
    assert f"leave {how_many} out" in text


@pytest.mark.parametrize(
    ("before", "units"),
    [([], 0), ([8, 9], 0), ([7, 8, 9], 1), ([7, 8, 10], 1), ([6, 8, 10], 0), ([7, 8, 9, 10], 2)],
)
def test_the_four_weeks_before_a_target_hold_two_event_weeks(before: list[int], units: int) -> None:
    judgement = judged(
        target("t", 11),
        *(event(f"e{week}", week) for week in before),
        limits=Limits(max_run=9, tune_up_weeks=3),
    )
    assert broken(judgement) == ([("quiet", units)] if units else [])
    assert judgement.breaks == 20 * units


def test_quiet_weeks_are_counted_for_each_target() -> None:
    judgement = judged(
        *(event(f"e{week}", week) for week in (6, 7, 8)),
        target("t", 9),
        target("u", 10),
        limits=Limits(max_run=9, tune_up_weeks=3),
    )
    # Before week 9: 6, 7 and 8. Before week 10: 6, 7, 8 and the target of week 9.
    assert broken(judgement) == [("quiet", 1), ("quiet", 2)]


def test_there_is_nothing_before_the_season() -> None:
    judgement = judged(
        target("t", 1),
        layout=blocks(2, 2, 6, 5, 7, 4, first="competition"),
        limits=Limits(first_phase="competition", quiet_weeks=0),
    )
    assert judgement.broken == ()


# Lengths, cycles, rest.


def test_a_block_too_short_or_too_long_weighs_30_a_week() -> None:
    short = judged(layout=blocks(3, 5, *BLOCK_LENGTHS[2:]))
    assert broken(short) == [("length", 1)]
    assert short.broken[0].text == (
        "The preparation block 4–24 Jan has 3 weeks, at least 4: make it 1 week longer."
    )
    long = judged(layout=blocks(4, 8, 4, 2, 4, 0, 2, 2), limits=Limits())
    assert ("length", 2) in broken(long)
    rest = judged(layout=blocks(4, 4, 2, 6, 4, 4, 1, 1), limits=Limits(final_rest_weeks=1))
    assert broken(rest) == [("length", 2), ("length", 1)]
    assert rest.breaks == 90


@pytest.mark.parametrize(("done", "units"), [(0, 2), (1, 1), (2, 0), (10, 0), (12, 2)])
def test_weeks_already_done_count_for_the_first_block_only(done: int, units: int) -> None:
    judgement = judged(
        layout=blocks(2, 6, *BLOCK_LENGTHS[2:]), limits=Limits(weeks_already_done=done)
    )
    assert broken(judgement) == ([("length", units)] if units else [])


def test_weeks_already_done_are_told() -> None:
    judgement = judged(layout=blocks(2, 6, *BLOCK_LENGTHS[2:]), limits=Limits(weeks_already_done=1))
    assert only(judgement).text == (
        "The preparation block 4–17 Jan has 3 weeks (1 before the season began), at least 4: make"
        " it 1 week longer."
    )


def test_the_seasons_end_may_cut_the_last_block_short() -> None:
    layout = blocks(4, 4, 4, 4, 4, 4, 2)
    limits = Limits(min_rest_weeks=0, final_rest_weeks=0)
    assert judged(layout=layout, limits=limits).broken == ()
    cut = blocks(4, 4, 4, 4, 4, 4, 1, 1)
    assert broken(judged(layout=cut, limits=limits)) == [("length", 1)]  # competition of one week
    last = blocks(4, 4, 5, 4, 4, 4, 1)
    assert broken(judged(layout=last, limits=limits)) == [("length", 1)]  # competition, too
    preparing = blocks(6, 6, 10, 3, 1)
    one = replace(limits, min_cycles=1)
    assert judged(layout=preparing, limits=one).broken == ()


def test_the_last_block_may_not_be_too_long() -> None:
    layout = blocks(4, 4, 2, 2, 4, 4, 2, 4)
    assert judged(layout=layout).broken == ()
    judgement = judged(layout=layout, limits=Limits(active_rest_weeks=(1, 3)))
    assert broken(judgement) == [("length", 1)]


def test_a_competition_block_too_few_weighs_50() -> None:
    judgement = judged(limits=Limits(min_cycles=4))
    assert broken(judgement) == [("cycles", 2)]
    assert judgement.breaks == 100
    assert only(judgement).text == (
        "The season has 2 blocks of competition, at least 4: make room for another round of"
        " preparation, pre-competition and competition."
    )


def test_rest_in_all_and_rest_at_the_end_weigh_30_a_week_each() -> None:
    in_all = judged(limits=Limits(min_rest_weeks=6))
    assert broken(in_all) == [("rest", 2)]
    assert in_all.breaks == 60
    at_the_end = judged(limits=Limits(final_rest_weeks=4))
    assert broken(at_the_end) == [("rest", 2)]
    assert at_the_end.broken[0].weeks == ("2027-W23", "2027-W24")
    both = judged(limits=Limits(min_rest_weeks=5, final_rest_weeks=3))
    assert broken(both) == [("rest", 1), ("rest", 1)]


# Events and money.


def test_an_event_too_many_weighs_40_and_names_those_of_least_worth() -> None:
    judgement = judged(
        event("a", 8, worth=50), event("b", 9, worth=10), target("c", 10),
        limits=Limits(max_events=1),
    )  # fmt: skip
    assert broken(judgement) == [("count", 2)]
    assert judgement.breaks == 80
    assert only(judgement).text == "3 events, at most 1: leave out 2. Of least worth: B and A."


def test_pinned_events_and_targets_are_the_last_to_be_left_out() -> None:
    judgement = judged(
        event("a", 8, worth=5),
        event("b", 9, worth=90),
        event("c", 10, worth=7, role="target"),
        event("d", 22, worth=95),
        limits=Limits(max_events=1),
        keep=frozenset({"a"}),
    )
    assert only(judgement).text.endswith("Of least worth: B, D and C.")


@pytest.mark.parametrize(
    ("cost", "units"),
    [(500, 0), (500.01, 1), (600, 1), (600.01, 2), (1000, 5)],
)
def test_each_started_hundred_over_the_budget_weighs_10(cost: float, units: int) -> None:
    judgement = judged(event("a", 8, cost=cost), limits=Limits(budget=500))
    assert broken(judgement) == ([("budget", units)] if units else [])
    assert judgement.breaks == 10 * units


def test_costs_are_summed_in_hundredths() -> None:
    events = [event(f"e{week}", week, cost=0.1) for week in (8, 9, 22)]
    assert (
        judged(*events, limits=Limits(budget=0.3)).broken == ()
    )  # 0.1 + 0.1 + 0.1 > 0.3 in floats


def test_no_budget_is_no_limit() -> None:
    assert judged(event("a", 8, cost=1e9)).broken == ()


def test_money_is_told_without_a_currency() -> None:
    judgement = judged(
        event("a", 8, cost=1200), event("b", 9, cost=40.5), limits=Limits(budget=1000)
    )
    assert only(judgement).text == (
        "The events cost 1,240.50, 240.50 more than the budget of 1,000: the dearest is A (1,200)."
    )
    assert judgement.cost == 1240.5


# Value.


def test_value_is_the_worth_of_the_events_and_of_the_weeks_less_the_travel() -> None:
    # Lisbon is 758 km from Valencia: 1.4 hours each way.
    judgement = judged(event("a", 9, worth=33.33, **LISBON))
    assert judgement.flight_hours == 2.8
    assert judgement.value_parts.worth == 33.33
    assert judgement.value_parts.travel == -1.4
    assert judgement.value == 33.33 + 13.2 - 1.4
    assert judgement.value_thousandths == 45130


def test_each_event_fewer_than_wanted_costs_its_weight() -> None:
    judgement = judged(event("a", 8), limits=Limits(min_events=3, short_weight=2.5))
    assert judgement.value_parts.short == -5
    assert judged(event("a", 8), limits=Limits(min_events=1)).value_parts.short == 0


def test_each_event_added_or_dropped_costs_its_weight() -> None:
    judgement = judged(
        event("a", 8), event("b", 9), event("c", 10),
        play=["b", "c"], in_force=InForce(("a", "b")), today=day(2), limits=Limits(change_weight=7),
    )  # fmt: skip
    assert judgement.value_parts.change == -14
    assert judgement.possible


# Trips.


def test_a_first_trip_starts_at_home_with_the_days_since_the_season_began() -> None:
    (trip,) = judged(event("a", 1, **TOKYO)).trips
    assert (trip.origin, trip.available_days, trip.travel_days) == ("home", 7, 2)
    assert trip.acclimatisation == Acclimatisation(clock=8, surface=0, altitude=0, heat=0)
    assert trip.missing_days == 3
    assert (trip.leave, trip.arrive) == (date(2027, 1, 4), date(2027, 1, 6))
    assert trip.zones_minutes == 480
    assert trip.distance_km == 10730  # geodesic; 10707 on a sphere
    assert trip.flight_hours == 13.1
    assert (trip.goes_home, trip.home_travel_days, trip.home_flight_hours) == (True, 2, 13.1)


def test_a_trip_with_time_enough_arrives_just_in_time() -> None:
    (trip,) = judged(event("a", 9, **TOKYO)).trips
    assert (trip.leave, trip.arrive, trip.missing_days) == (day(7, 4), day(7, 6), 0)


def test_nobody_arrives_after_the_first_day() -> None:
    (trip,) = judged(event("a", 0, **TOKYO)).trips
    assert (trip.arrive, trip.missing_days) == (START, 10)


@pytest.mark.parametrize(("free_days", "origins"), [(9, ["home", "a"]), (10, ["home", "home"])])
def test_ten_free_days_send_the_player_home(free_days: int, origins: list[str]) -> None:
    first = event("a", 8, end=day(10, -free_days - 1), **LISBON)
    judgement = judged(first, event("b", 10, **LISBON))
    assert [trip.origin for trip in judgement.trips] == origins
    hours = 2.8 if free_days == 9 else 5.6  # 1.4 an hour each way
    assert judgement.flight_hours == hours


def test_from_home_the_days_of_the_way_back_are_not_available() -> None:
    # Eleven free days, two of them on the way back from Tokyo, leave nine for two and eight.
    first = event("a", 8, end=day(8, 2), **TOKYO)
    _, second = judged(first, event("b", 10, **TOKYO)).trips
    assert (second.origin, second.available_days, second.missing_days) == ("home", 9, 1)


def test_zones_surface_and_height_are_those_of_the_place_left() -> None:
    first = event("a", 8, surface="hard", elevation_m=2600, **TOKYO)
    second = event("b", 9, start=day(9, 2), surface="hard", elevation_m=2700, **TOKYO)
    judgement = judged(first, second)
    assert judgement.trips[0].acclimatisation == Acclimatisation(8, 3, 5, 0)
    assert judgement.trips[1].acclimatisation == Acclimatisation(0, 0, 0, 0)


def test_heat_at_home_is_that_of_the_month_in_which_the_event_starts() -> None:
    highs = (14.0, 15.0, 26.0, 28.0, 29.0, 30.0, 31.0, 31.0, 29.0, 25.0, 19.0, 15.0)
    home = replace(HOME, monthly_high_c=highs)
    events = (event("feb", 5, high_c=30), event("mar", 8, high_c=30))
    season = replace(problem(*events, limits=Limits(home_gap_days=1)), home=home)
    trips = judge(season, ["feb", "mar"], USUAL).trips
    assert [trip.acclimatisation.heat for trip in trips] == [7, 0]  # 15 C, and 26 C in March


def test_heat_between_two_events_is_the_difference_of_their_highs() -> None:
    trips = judged(event("a", 8, high_c=22), event("b", 9, high_c=30)).trips
    assert trips[1].acclimatisation.heat == 7


def test_the_coachs_limits_set_the_days() -> None:
    limits = Limits(
        surface_days=1, east_min_per_day=120, one_day_travel_km=20000, clock_threshold_h=8
    )
    (trip,) = judged(event("a", 9, surface="grass", **TOKYO), limits=limits).trips
    assert trip.travel_days == 1
    assert trip.acclimatisation == Acclimatisation(clock=4, surface=1, altitude=0, heat=0)


# Totals.


def test_totals_count_weeks_and_not_events() -> None:
    judgement = judged(
        event("a", 8, end=day(8, 2), **LISBON),
        event("b", 8, start=day(8, 4), **LISBON),
        event("c", 22, cost=10),
    )
    assert (judgement.event_weeks, judgement.longest_run) == (2, 1)
    assert judgement.rest_weeks == 4
    assert judgement.cost == 10
    # Week 8 in Lisbon; week 22 at home; the day of travel before week 8 makes no week away.
    assert judgement.weeks_away == 1


def test_a_week_at_home_between_two_events_is_not_away_and_one_on_the_road_is() -> None:
    far = judged(event("a", 8, **LISBON), event("b", 10, **LISBON))
    assert far.weeks_away == 3  # straight on: the week between is spent there
    home = judged(event("a", 8, **LISBON), event("b", 11, **LISBON))
    assert home.weeks_away == 2


@pytest.mark.parametrize(("event_days", "weeks_away"), [(1, 0), (2, 1)])
def test_a_week_counts_as_away_with_four_days_on_the_road(event_days: int, weeks_away: int) -> None:
    # A day of travel before and one after.
    away = event("a", 8, start=day(8, 2), end=day(8, 1 + event_days), **LISBON)
    assert judged(away).weeks_away == weeks_away


# Properties.

codes = st.sampled_from([f"e{number}" for number in range(8)])


@st.composite
def any_layout(draw: st.DrawFn) -> tuple[Problem, frozenset[str], list[Block]]:
    """Events anywhere, and blocks that need not make sense."""
    events = []
    for number in range(8):
        first = draw(st.integers(0, 175))
        length = draw(st.integers(1, 14))
        start = START + timedelta(days=first)
        events.append(
            Event(
                code=f"e{number}",
                name=f"Event {number}",
                start=start,
                end=min(SEASON.end, start + timedelta(days=length - 1)),
                lat=draw(st.sampled_from([39.5, 38.7, -31.9])),
                lon=draw(st.sampled_from([-0.4, 115.9])),
                timezone=draw(st.sampled_from(["UTC", "Etc/GMT-8", "Etc/GMT+5"])),
                elevation_m=draw(st.sampled_from([0, 1500, 3200])),
                surface=draw(st.sampled_from(["hard", "clay"])),
                high_c=draw(st.sampled_from([None, 20, 33])),
                role=draw(st.sampled_from(["target", "build-up", "open"])),
                worth=draw(st.integers(0, 10000)) / 100,
                cost=draw(st.integers(0, 300)),
            )
        )
    layout = []
    for _ in range(draw(st.integers(0, 9))):
        first_week, weeks = draw(st.integers(-1, 25)), draw(st.integers(1, 8))
        phase = draw(st.sampled_from(PHASES))
        layout.append(Block(phase, day(first_week), day(first_week + weeks - 1, 6)))
    today = draw(st.none() | st.integers(-10, 200).map(lambda days: START + timedelta(days=days)))
    season = Problem(
        season=SEASON,
        home=replace(HOME, timezone="UTC"),
        events=tuple(events),
        busy=(Busy(day(4, 3), day(5, 1)),),
        limits=Limits(budget=600, max_events=4, min_events=2, max_run=2),
        keep=draw(st.frozensets(codes, max_size=2)),
        drop=draw(st.frozensets(codes, max_size=2)),
        today=today,
        in_force=draw(
            st.none()
            | st.lists(codes, unique=True, max_size=4).map(
                lambda played: InForce(tuple(played), tuple(USUAL))
            )
        ),
    )
    return season, draw(st.frozensets(codes)), layout


@settings(deadline=None)
@given(any_layout())
def test_breaks_value_and_possible_are_what_findings_and_parts_add_up_to(
    case: tuple[Problem, frozenset[str], list[Block]],
) -> None:
    judgement = judge(*case)
    parts = asdict(judgement.value_parts).values()
    assert sum(round(part * 1000) for part in parts) == judgement.value_thousandths
    assert judgement.breaks == sum(f.units * (f.weight or 0) for f in judgement.broken)
    assert judgement.possible is not any(f.rule in NEVER_BROKEN for f in judgement.broken)
    assert all(finding.units > 0 for finding in judgement.broken)
    assert all(finding.text.endswith(".") for finding in judgement.broken)
    assert len(judgement.trips) == len(case[1])


@settings(deadline=None)
@given(any_layout(), st.randoms(use_true_random=False))
def test_the_order_in_which_events_and_blocks_are_written_means_nothing(
    case: tuple[Problem, frozenset[str], list[Block]], chance: Any
) -> None:
    season, played, layout = case
    layout = sorted(layout, key=lambda block: (block.start, block.end))
    events = list(season.events)
    chance.shuffle(events)
    assert judge(replace(season, events=tuple(events)), sorted(played), layout) == judge(
        season, sorted(played, reverse=True), layout
    )


@settings(deadline=None)
@given(any_layout())
def test_a_year_of_52_weeks_later_breaks_and_value_are_the_same(
    case: tuple[Problem, frozenset[str], list[Block]],
) -> None:
    # The zones have no summer time and home has no monthly highs, so that the date means nothing.
    season, played, layout = case
    later = timedelta(weeks=52)

    def moved(thing: Any) -> Any:
        return replace(thing, start=thing.start + later, end=thing.end + later)

    in_force = season.in_force
    next_year = replace(
        season,
        season=moved(season.season),
        events=tuple(moved(one) for one in season.events),
        busy=tuple(moved(one) for one in season.busy),
        today=season.today and season.today + later,
        in_force=in_force and replace(in_force, blocks=tuple(moved(b) for b in in_force.blocks)),
    )
    before, after = (
        judge(season, played, layout),
        judge(next_year, played, [moved(block) for block in layout]),
    )
    assert broken(after) == broken(before)
    assert after.value_thousandths == before.value_thousandths


def test_a_season_of_twenty_events_among_three_hundred_is_judged_in_five_milliseconds() -> None:
    weeks = [4, 7, 8, 9, 10, 11, 18, 20, 22, 23]
    played = [
        event(f"p{week}{half}", week, start=day(week, start), end=day(week, end), **TOKYO)
        for week in weeks
        for half, (start, end) in enumerate([(0, 2), (3, 6)])
    ]
    others = [event(f"o{number}", number % 26, lat=40 + number / 100) for number in range(280)]
    season = problem(*played, *others)
    codes = [one.code for one in played]
    judge(season, codes, USUAL)
    times = []
    for _ in range(20):
        began = time.perf_counter()
        judge(season, codes, USUAL)
        times.append(time.perf_counter() - began)
    assert min(times) < 0.005
