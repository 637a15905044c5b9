"""The season screen's page model: rows, weeks, bands, cards, notes and findings."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from seasonplan.plans.laying_out import gather, lay_out_plan
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.planner import (
    CardView,
    FindingView,
    SeasonPage,
    WeekView,
    changed_limits,
    findings_line,
    row_lengths,
    season_name,
    season_page,
)
from seasonplan.plans.standing import copy_plan, put_in_force
from seasonplan.science.layout.problem import Limits
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    BusyTimeFactory,
    EventFactory,
    PlaceFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
)
from tests.plans.conftest import START, TenWeeks, week

EVE = date(2039, 12, 31)
NOW = datetime(2039, 12, 31, 9, tzinfo=UTC)


def shown(plan: SeasonPlan, today: date = EVE, **reader: Any) -> SeasonPage:
    who = {"may_change": True, "may_plan": True} | reader
    return season_page(gather(plan), today=today, **who)


def weeks_of(page: SeasonPage) -> list[WeekView]:
    return [week for row in page.rows for week in row.weeks]


def cards_of(page: SeasonPage) -> list[CardView]:
    return [card for week in weeks_of(page) for card in week.cards]


@pytest.fixture
def laid_out(ten_weeks: TenWeeks) -> TenWeeks:
    lay_out_plan(ten_weeks.plan, today=EVE, now=NOW)
    return ten_weeks


@pytest.fixture
def year(cast: Cast) -> SeasonPlan:
    """The 53 weeks of the ISO year 2037, from 29 December 2036 to 3 January 2038."""
    return SeasonPlanFactory(player=cast.ines, start=date(2036, 12, 29), end=date(2038, 1, 3))


def play(plan: SeasonPlan, start: date, end: date, **facts: Any) -> None:
    event = EventFactory(academy=plan.player.academy, start=start, end=end, **facts)
    PlannedEventFactory(plan=plan, event=event, played=True)


# Rows and weeks ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("weeks", "rows"),
    [
        (4, [4]),
        (2, [2]),
        (13, [13]),
        (16, [16]),
        (17, [13, 4]),
        (24, [13, 11]),
        (52, [13, 13, 13, 13]),
        (53, [13, 13, 13, 14]),
        (56, [13, 13, 13, 13, 4]),
        (106, [13, 13, 13, 13, 13, 13, 13, 15]),
    ],
)
def test_a_row_holds_thirteen_weeks_and_a_short_rest_joins_the_last(
    weeks: int, rows: list[int]
) -> None:
    assert row_lengths(weeks) == rows


def test_the_53rd_week_is_the_last_of_the_fourth_row(year: SeasonPlan) -> None:
    rows = shown(year).rows
    assert [(row.label, row.columns) for row in rows] == [
        ("Weeks 1 to 13", 13),
        ("Weeks 14 to 26", 13),
        ("Weeks 27 to 39", 13),
        ("Weeks 40 to 53", 14),
    ]
    last = rows[-1].weeks[-1]
    assert (last.iso, last.number, last.monday, last.column) == ("2037-W53", 53, "28 Dec", 14)
    assert last.title == "Week 53, 28 Dec – 3 Jan"


def test_the_current_week_and_those_before_it_are_marked(ten_weeks: TenWeeks) -> None:
    weeks = weeks_of(shown(ten_weeks.plan, date(2040, 1, 21)))
    assert [week.is_now for week in weeks] == [False, False, True] + [False] * 7
    assert [week.is_past for week in weeks] == [True, True] + [False] * 8


@pytest.mark.parametrize(("today", "past"), [(date(2040, 1, 1), 0), (date(2040, 3, 12), 10)])
def test_outside_the_season_no_week_is_the_current_one(
    ten_weeks: TenWeeks, today: date, past: int
) -> None:
    weeks = weeks_of(shown(ten_weeks.plan, today))
    assert not any(week.is_now for week in weeks)
    assert sum(week.is_past for week in weeks) == past


@pytest.mark.parametrize(
    ("start", "end", "name"),
    [
        (date(2027, 1, 4), date(2028, 1, 2), "2027"),
        (date(2025, 12, 29), date(2027, 1, 3), "2026"),
        (date(2027, 8, 30), date(2028, 7, 30), "2027/28"),
        (date(2099, 8, 31), date(2100, 7, 25), "2099/00"),
        (date(2027, 1, 4), date(2029, 1, 14), "2027/28"),
    ],
)
def test_a_season_is_named_after_the_year_or_years_it_lies_in(
    start: date, end: date, name: str
) -> None:
    assert season_name(start, end) == name


# Bands ---------------------------------------------------------------------------------------


def test_each_block_is_a_band_with_as_many_words_as_it_holds(laid_out: TenWeeks) -> None:
    weeks = weeks_of(shown(laid_out.plan))
    assert [
        (week.number, week.band.phase, week.band.column, week.band.span, week.band.label)
        for week in weeks
        if week.band
    ] == [
        (1, "preparation", 1, 5, "Preparation"),
        (6, "pre-competition", 6, 1, "Pre-comp."),
        (7, "competition", 7, 3, "Competition"),
        (10, "active-rest", 10, 1, "Rest"),
    ]
    assert [week.band.detail for week in weeks if week.band] == ["5 weeks", "", "3 weeks", ""]
    assert [week.phase_label for week in weeks] == (
        ["Preparation"] * 5 + ["Pre-competition"] + ["Competition"] * 3 + ["Active rest"]
    )


def test_the_peak_is_shown_over_the_weeks_of_its_target(laid_out: TenWeeks) -> None:
    page = shown(laid_out.plan)
    peaks = [(week.number, week.peak) for week in weeks_of(page) if week.peak]
    assert [(number, p.column, p.span, p.label) for number, p in peaks if p] == [(7, 7, 1, "Peak")]
    assert [week.number for week in weeks_of(page) if week.in_peak] == [7]


def test_a_block_that_crosses_rows_has_a_band_in_each(year: SeasonPlan) -> None:
    BlockFactory(plan=year, phase="preparation", start=date(2036, 12, 29), weeks=11)
    BlockFactory(plan=year, phase="pre-competition", start=date(2037, 3, 16), weeks=6)
    page = shown(year)
    first, second = page.rows[0].weeks[11].band, page.rows[1].weeks[0].band
    assert first and second
    assert (first.column, first.span, first.label, first.detail) == (12, 2, "Pre-competition", "")
    assert (second.column, second.span, second.detail) == (1, 4, "goes on")


# Cards ---------------------------------------------------------------------------------------


def test_a_card_says_what_where_when_and_how_the_player_gets_there(laid_out: TenWeeks) -> None:
    cards = cards_of(shown(laid_out.plan))
    assert [(c.place, c.name, c.dates, c.column, c.span, c.lane, c.is_target) for c in cards] == [
        ("Valencia", "Orchard Cup", "13–18 Feb", 7, 1, 1, True),
        ("Barcelona", "Lantern Open", "20–25 Feb", 8, 1, 1, False),
        ("Valencia", "Harbour Trophy", "27 Feb – 3 Mar", 9, 1, 1, False),
    ]
    assert [c.origin for c in cards] == [
        "",
        "0.9\u00a0h flight from Valencia",
        "0.9\u00a0h flight from Barcelona",
    ]
    assert [c.arrive for c in cards] == ["", "", ""]
    assert {c.surface_label for c in cards} == {"clay"}


def test_an_event_that_runs_over_the_end_of_a_row_is_in_both_rows_and_says_so(
    year: SeasonPlan,
) -> None:
    # Monday of week 13 to Sunday of week 14: the row ends between them.
    play(year, date(2037, 3, 23), date(2037, 4, 5), name="Fortnight Open")
    page = shown(year)
    [before], [after] = page.rows[0].weeks[12].cards, page.rows[1].weeks[0].cards
    assert (before.name, before.column, before.span) == ("Fortnight Open", 13, 1)
    assert (before.from_week, before.into_week) == ("", "on to week 14")
    assert (after.name, after.column, after.span) == ("Fortnight Open", 1, 1)
    assert (after.from_week, after.into_week) == ("from week 13", "")
    assert len(cards_of(page)) == 2


def test_two_events_in_one_week_lie_in_two_lanes(year: SeasonPlan) -> None:
    play(year, date(2037, 2, 2), date(2037, 2, 4), name="Early")
    play(year, date(2037, 2, 6), date(2037, 2, 8), name="Late")
    play(year, date(2037, 2, 9), date(2037, 2, 15), name="Next week")
    assert [(c.name, c.column, c.lane) for c in cards_of(shown(year))] == [
        ("Early", 6, 1),
        ("Late", 6, 2),
        ("Next week", 7, 1),
    ]


def test_an_event_of_two_weeks_keeps_its_lane_while_another_begins(year: SeasonPlan) -> None:
    play(year, date(2037, 2, 2), date(2037, 2, 15), name="Long")
    play(year, date(2037, 2, 9), date(2037, 2, 11), name="Short")
    assert [(c.name, c.column, c.span, c.lane) for c in cards_of(shown(year))] == [
        ("Long", 6, 2, 1),
        ("Short", 7, 1, 2),
    ]


def test_an_event_that_is_only_a_candidate_has_no_card(ten_weeks: TenWeeks) -> None:
    page = shown(ten_weeks.plan)
    assert cards_of(page) == []
    assert [line.title for line in page.outside] == [
        "Valencia, 13–18 Feb",
        "Barcelona, 20–25 Feb",
        "Valencia, 27 Feb – 3 Mar",
    ]


def test_a_card_says_that_its_event_is_pinned_and_entered(laid_out: TenWeeks) -> None:
    laid_out.plan.planned_events.filter(event=laid_out.lantern).update(
        standing="pinned", entry="waiting"
    )
    marks = {c.name: c.marks for c in cards_of(shown(laid_out.plan))}
    assert marks["Lantern Open"] == ("pinned", "on the waiting list")
    assert marks["Orchard Cup"] == ()


def test_a_card_says_when_to_arrive_and_what_is_too_short(ten_weeks: TenWeeks, cast: Cast) -> None:
    # Barcelona on hard courts: a journey of a day and three days for the new surface, with one
    # free day after Valencia. In the second case ten free days: home, and there on Friday.
    plan = ten_weeks.plan
    hard = EventFactory(
        academy=cast.academy,
        place=ten_weeks.barcelona,
        name="Hard Open",
        surface="hard",
        start=date(2040, 2, 6),
        end=date(2040, 2, 11),
    )
    PlannedEventFactory(plan=plan, event=hard, played=True)
    BlockFactory(plan=plan, start=START, weeks=10)
    [alone] = cards_of(shown(plan))
    assert alone.arrive == "arrive Fri 3"
    PlannedEventFactory(
        plan=plan,
        event=EventFactory(academy=cast.academy, place=ten_weeks.valencia, **week(5)),
        played=True,
    )
    pressed = cards_of(shown(plan))[1]
    assert pressed.arrive == "3 days short"


# Notes ---------------------------------------------------------------------------------------


def test_a_journey_that_begins_in_an_earlier_week_is_noted_there(
    ten_weeks: TenWeeks, cast: Cast
) -> None:
    plan = ten_weeks.plan
    miami = PlaceFactory(
        academy=cast.academy,
        place_name="Miami",
        country="US",
        lat=25.8,
        lon=-80.2,
        timezone="America/New_York",
    )
    event = EventFactory(academy=cast.academy, place=miami, name="Palm Open", **week(8))
    PlannedEventFactory(plan=plan, event=event, played=True)
    BlockFactory(plan=plan, start=START, weeks=10)
    page = shown(plan)
    [card] = cards_of(page)
    # Six zones west at 90 minutes a day are four days; 7,400 km are two days of travel.
    assert card.arrive == "arrive Thu 16"
    assert {w.number: w.notes for w in weeks_of(page) if w.notes} == {
        7: ("Tue 14 leave for Miami",)
    }


def test_an_entry_that_is_still_to_be_made_is_noted_in_the_week_it_closes(
    laid_out: TenWeeks,
) -> None:
    for event, closes in [
        (laid_out.cup, date(2040, 1, 17)),
        (laid_out.lantern, date(2040, 1, 19)),
        (laid_out.harbour, date(2040, 1, 16)),
    ]:
        event.entry_deadline = closes
        event.save()
    laid_out.plan.planned_events.filter(event=laid_out.lantern).update(entry="entered")
    notes = {w.number: w.notes for w in weeks_of(shown(laid_out.plan)) if w.notes}
    assert notes[3] == ("Mon 16 enter Valencia", "Tue 17 enter Valencia")


def test_an_entry_that_closes_before_the_season_is_noted_nowhere(laid_out: TenWeeks) -> None:
    laid_out.cup.entry_deadline = date(2039, 12, 20)
    laid_out.cup.save()
    notes = [note for w in weeks_of(shown(laid_out.plan)) for note in w.notes]
    assert not any("enter" in note for note in notes)


def test_busy_days_are_said_in_each_of_their_weeks(ten_weeks: TenWeeks, cast: Cast) -> None:
    BusyTimeFactory(
        player=cast.ines, start=date(2040, 1, 14), end=date(2040, 1, 16), why="School trip"
    )
    BusyTimeFactory(player=cast.ines, start=date(2040, 1, 16), end=date(2040, 1, 16), why="")
    page = shown(ten_weeks.plan)
    assert {w.number: w.busy for w in weeks_of(page) if w.busy} == {
        2: ("School trip",),
        3: ("School trip", "Busy"),
    }
    assert page.busy == ("14–16 Jan: School trip", "16 Jan: busy")


# Findings ------------------------------------------------------------------------------------


def test_a_broken_rule_is_said_at_its_weeks_in_its_row_and_in_the_list(
    laid_out: TenWeeks,
) -> None:
    plan = laid_out.plan
    plan.limits |= {"max_run": 2, "min_cycles": 2}
    plan.save()
    page = shown(plan)
    assert [(f.id, f.short, f.where, f.never) for f in page.findings] == [
        (f"finding-run-2040-W07-e{laid_out.cup.pk}", "Long run", "Weeks 7, 8 and 9", False),
        ("finding-cycles", "Too few blocks", "Whole season", False),
    ]
    assert page.findings[0].text == (
        "3 event weeks in a row, from 13 Feb to 4 Mar (Orchard Cup, Lantern Open and Harbour"
        " Trophy), at most 2: leave one out, best from the middle."
    )
    at = {w.number: [f.short for f in w.findings] for w in weeks_of(page) if w.findings}
    assert at == {7: ["Long run"], 8: ["Long run"], 9: ["Long run"]}
    assert [f.id for f in page.rows[0].findings] == [page.findings[0].id]
    assert page.findings_line == "2 broken rules, in weeks 7, 8 and 9"


def test_two_events_at_once_are_said_where_the_second_begins(
    laid_out: TenWeeks, cast: Cast
) -> None:
    other = EventFactory(
        academy=cast.academy, name="Pier Cup", start=date(2040, 2, 24), end=date(2040, 2, 26)
    )
    PlannedEventFactory(plan=laid_out.plan, event=other, played=True)
    found = [f for f in shown(laid_out.plan).findings if f.short == "Two at once"]
    assert [f.where for f in found] == ["Week 8", "Week 9"]


def test_the_line_of_findings_names_no_more_weeks_than_one_reads() -> None:
    weeks = tuple(f"2040-W{number:02d}" for number in range(1, 9))
    finding = FindingView("finding-1", "No phase", "", never=True, weeks=weeks, where="")
    assert findings_line([finding]) == "1 broken rule, in weeks 1, 2, 3, 4, 5 and 3 more"
    assert findings_line([replace(finding, weeks=())]) == "1 broken rule"
    assert findings_line([]) == ""


def test_what_cannot_stand_is_said_to_be_so(laid_out: TenWeeks, cast: Cast) -> None:
    BusyTimeFactory(player=cast.ines, start=date(2040, 2, 21), end=date(2040, 2, 22))
    page = shown(laid_out.plan)
    [finding] = page.findings
    assert (finding.short, finding.never) == ("On busy days", True)
    assert "Lantern Open (20–25 Feb) falls on days on which the player is busy" in finding.text


def test_a_plan_that_is_not_laid_out_is_not_judged(ten_weeks: TenWeeks) -> None:
    page = shown(ten_weeks.plan)
    assert not page.is_laid_out
    assert (page.findings, page.figures, page.value_parts) == ((), (), ())


# Beside the planner --------------------------------------------------------------------------


def test_the_season_in_figures(laid_out: TenWeeks) -> None:
    figures = {figure.label: figure.value for figure in shown(laid_out.plan).figures}
    assert figures == {
        "Events": "3",
        "Event weeks": "3",
        "Longest run": "3 weeks",
        "Weeks away": "1",
        "Active rest": "1 week",
        "Flight hours": "2",
        "Days short of settling in": "0",
        "Entry fees": "76",
        # Barcelona, and the way home from there straight to the next event.
        "Costs known so far": "76",
        "Trips without costs": "2 of 3",
    }


def test_the_value_is_shown_with_the_parts_it_is_made_of(laid_out: TenWeeks) -> None:
    assert [(part.label, part.value) for part in shown(laid_out.plan).value_parts] == [
        ("Worth of the events", "+120.0"),
        ("Preparation weeks", "+5.0"),
        ("Pre-competition weeks", "+0.5"),
        ("Active rest weeks", "+0.3"),
        ("Flight hours", "-0.9"),
        ("Value", "124.9"),
    ]


def test_each_target_says_whether_it_is_in_a_peak(laid_out: TenWeeks) -> None:
    plan = laid_out.plan
    plan.planned_events.filter(event=laid_out.lantern).update(role="target", played=False)
    plan.planned_events.filter(event=laid_out.harbour).update(role="target")
    plan.limits |= {"peak_weeks": 1}
    plan.save()
    # Two weeks apart, with three between peaks: only one of the two played targets is in one.
    details = sorted(line.detail.split(". ")[1] for line in shown(plan).targets)
    assert [d for d in details if "peak of" not in d] == [
        "Not in the plan.",
        "Played, but outside a peak.",
    ]
    assert len(details) == 3


def test_only_a_layout_that_nobody_changed_since_is_called_the_best(laid_out: TenWeeks) -> None:
    plan = laid_out.plan
    assert shown(plan).layout_line == "Proven best for these events and limits"
    BusyTimeFactory(player=plan.player, start=plan.start, end=plan.start)
    assert shown(plan).layout_line == "Changed since it was laid out"
    plan.layout_status = ""
    assert shown(plan).layout_line == "Set by hand"


def test_a_layout_for_which_time_ran_out_says_how_much_better_it_could_be(
    laid_out: TenWeeks,
) -> None:
    plan = laid_out.plan
    plan.layout_status, plan.layout_bound = "best found", 130.0
    assert shown(plan).layout_line == (
        "Best found in the time given; at most 5.1 short of the best"
    )


def test_the_limits_that_differ_are_said_with_their_units() -> None:
    limits = Limits(
        first_phase="competition",
        preparation_weeks=(3, 10),
        max_run=1,
        budget=1_250_000.5,
        travel_weight=0.25,
    )
    assert changed_limits(limits) == (
        "First phase: competition",
        "Preparation block: 3 to 10 weeks",
        "Event weeks in a row, at most: 1 week",
        "Budget: 1250000.5",
        "Cost of an hour of flight: 0.25 value an hour",
    )


def test_no_budget_is_said_as_none() -> None:
    assert changed_limits(Limits(budget=None)) == ()


# Work ----------------------------------------------------------------------------------------


def test_the_page_asks_nothing_of_the_database_once_the_plan_is_gathered(
    laid_out: TenWeeks, cast: Cast, django_assert_num_queries: Any
) -> None:
    BusyTimeFactory(player=cast.ines, start=date(2040, 1, 14), end=date(2040, 1, 16))
    plan = SeasonPlan.objects.select_related("player__academy").get(pk=laid_out.plan.pk)
    put_in_force(plan, now=NOW)
    copy = copy_plan(plan, name="Try")
    for one in (plan, copy):
        material = gather(one)
        with django_assert_num_queries(0):
            season_page(
                material,
                today=START + timedelta(days=40),
                may_change=True,
                may_plan=True,
                others=[plan, copy],
            )
