"""The figures of a season: what they say of none, one, five and eighty events, and to whom."""

from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from seasonplan.academy.models import Person
from seasonplan.checkins.models import HealthRead, PlayedMatch
from seasonplan.debrief.access import seat_of
from seasonplan.debrief.figures import Figures, View, figures_page, view_from
from seasonplan.plans.models import SeasonPlan, WinChance
from seasonplan.science.association import Silent
from tests.conftest import Cast
from tests.debrief.years import a_season, an_event, many, played
from tests.factories import (
    ConsentFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
    SessionLogFactory,
)

TODAY = date(2027, 1, 12)


@pytest.fixture
def plan(cast: Cast) -> SeasonPlan:
    """Ines's season, whose guardian said yes to health logs."""
    ConsentFactory(player=cast.ines)
    return a_season(cast.ines)


@pytest.fixture
def see(plan: SeasonPlan, cast: Cast) -> Callable[..., Figures]:
    def page(person: Person | None = None, **view: Any) -> Figures:
        seat = seat_of(person or cast.coach, plan.player)
        return figures_page(plan, seat, today=TODAY, view=View(**view))

    return page


@pytest.fixture
def read(plan: SeasonPlan, cast: Cast, as_: Callable[..., Client]) -> Callable[..., str]:
    def text(person: Person | None = None, query: str = "") -> str:
        url = reverse("debrief", args=[plan.pk]) + query
        response = as_(person or cast.coach).get(url)
        assert response.status_code == 200
        return response.content.decode()

    return text


# From nothing to a full year.


def test_a_year_without_check_ins_shows_the_plan_and_what_would_help(plan, see, read) -> None:
    event = an_event(plan, 20, name="Orchard Cup")
    PlannedEventFactory(plan=plan, event=event, role="target", played=True)
    figures = see()
    assert "there is nothing to compare. The plan has 1 event." in figures.advice
    assert (figures.energy, figures.together) == (None, None)
    assert figures.unlogged[0].startswith("Orchard Cup")
    page = read()
    assert "Orchard Cup" in page
    assert "nothing logged" in page
    assert "What went with what" not in page


def test_an_empty_plan_says_so_too(plan, see, read) -> None:
    assert "The plan has no events." in see().advice
    assert "Two questions on the phone" in read()


def test_one_event_is_told_in_words_and_not_drawn(plan, see, read) -> None:
    played(plan, 20, rounds_won=3, energy_before=7, event={"name": "Orchard Cup"})
    figures = see()
    assert "One event is a memory, not a pattern" in figures.advice
    assert figures.energy.chart is None
    assert figures.energy.says[:2] == (
        "n = 1 event. Describes your year; does not show cause.",
        "No rank correlation: only 1 event.",
    )
    assert figures.together.lines == ()
    assert ("Energy before", "only 1 event with this and a result") in figures.together.silent
    page = read()
    assert "Lost in the quarter-final" in page or "Lost in the semi-final" in page
    assert "scatter-title" not in page


def test_five_events_are_drawn_without_a_p(plan, see, read) -> None:
    for week, energy in enumerate((4, 6, 8, 7, 5)):
        played(plan, 20 + 2 * week, rounds_won=energy - 4, energy_before=energy)
    figures = see()
    assert "Five events can be told" in figures.advice or "5 events can be told" in figures.advice
    assert len(figures.energy.chart.marks) == 5
    assert figures.energy.answer.effect == pytest.approx(1)
    assert figures.energy.answer.p is None
    assert any("no p below six events" in sentence for sentence in figures.energy.says)
    assert all(line.p is None and not line.notable for line in figures.together.lines)
    assert "scatter-title" in read()


def test_eighty_events_of_noise_are_all_shown_and_nothing_is_claimed(plan, see, read) -> None:
    many(plan, 80)
    figures = see()
    assert len(figures.energy.chart.marks) == len(figures.events) == 80
    assert figures.advice == ""
    assert figures.together.headline.startswith("Nothing stands out. 12 things were looked at")
    assert not any(line.notable for line in figures.together.lines)
    assert "Describes your year; does not show cause." in read()


def test_what_went_with_the_results_is_named_once_there_are_enough_events(plan, see, read) -> None:
    many(plan, 30, energy_decides=True)
    first = see().together.lines[0]
    assert (first.name, first.notable) == ("Energy before", True)
    assert first.verdict == "better results with more energy"
    assert first.corrected_p < 0.05
    assert "this stands out: energy before" in read()


def test_soreness_that_follows_from_playing_more_is_told_as_that(plan, see) -> None:
    for at in range(16):
        played(plan, 2 * at, rounds_won=(5 * at) % 6, energy_before=5, soreness=(5 * at) % 6)
    first = see().together.lines[0]
    assert (first.name, first.notable) == ("Soreness", True)
    assert first.verdict.endswith("asked afterwards, and who wins more plays more")


def test_energy_that_was_the_same_everywhere_gives_a_reason_and_no_line(plan, see) -> None:
    for at in range(7):
        played(plan, 2 * at, rounds_won=at % 5, energy_before=6)
    energy = see().energy
    assert energy.answer == Silent("it was the same at all events")
    assert energy.chart.line is None
    assert "No rank correlation: it was the same at all events." in energy.says


# Results, energies and scales.


def test_results_are_on_one_scale_and_held_against_the_levels_chance(plan, see, cast) -> None:
    played(plan, 20, rounds_won=3, event={"draw_size": 32, "level": "high"})
    WinChance.objects.create(player=cast.ines, season_start=plan.start, level="high", percent=60)
    line = see().events[0]
    assert line.share == pytest.approx(0.6)
    assert line.above == pytest.approx(3 - 1.38336)  # 0.6 + 0.36 + 0.216 + 0.1296 + 0.07776
    assert (line.share_words, line.above_words) == ("60\N{NO-BREAK SPACE}%", "+1.62")


def test_the_chance_of_another_season_does_not_count(plan, see, cast) -> None:
    played(plan, 20, rounds_won=3, event={"level": "high"})
    WinChance.objects.create(
        player=cast.ines, season_start=date(2025, 1, 6), level="high", percent=60
    )
    assert see().events[0].above == pytest.approx(3 - 0.96875)


def test_a_bye_is_read_from_the_matches(plan, see) -> None:
    log = played(plan, 20, rounds_won=3, event={"draw_size": 28})
    assert see().events[0].share == pytest.approx(3 / 5)
    for number, won in enumerate((True, True, False), start=1):
        PlayedMatch.objects.create(check_in=log, number=number, won=won)
    assert see().events[0].share == pytest.approx(2 / 4)


def test_a_result_that_the_draw_does_not_hold_is_no_number(plan, see) -> None:
    played(plan, 20, rounds_won=6, event={"draw_size": 32})
    played(plan, 22, rounds_won=2, event={"draw_size": None})
    played(plan, 24, rounds_won=None, energy_before=4)
    figures = see()
    assert [line.share for line in figures.events] == [None, None, None]
    assert [line.result for line in figures.events] == ["6 rounds won", "Won 2 rounds", "No result"]
    assert "0 of them with a result and a known draw" in figures.headline


def test_which_energy_is_said_and_late_ones_are_marked(plan, see) -> None:
    for at in range(6):
        played(
            plan,
            2 * at,
            rounds_won=at % 4,
            energy_before=at,
            energy_before_late=at < 2,
            energy_after=9 - at,
        )
    before, after = see().energy, see(energy="after").energy
    assert (before.which, after.which) == ("Energy before the event", "Energy after the event")
    assert any(s.startswith("2 of 6 said their energy late") for s in before.says)
    assert [mark.late for mark in before.chart.marks] == [True, True, *[False] * 4]
    assert any("when the result was known, which colours it" in s for s in after.says)
    assert not any(mark.late for mark in after.chart.marks)


def test_the_view_comes_from_the_address_and_nonsense_is_left_out() -> None:
    assert view_from({"energy": "after", "by": "role", "scale": "?"}) == View(
        "after", "share", "role"
    )
    assert View("after", "above").query == "?energy=after&scale=above"
    assert View().query == ""


# Plan and year.


def test_added_dropped_and_silent_events_are_told_apart(plan, see) -> None:
    played(plan, 20, event={"name": "Kept Cup"})
    played(plan, 22, planned=False, event={"name": "Added Cup"})
    withdrawn = an_event(plan, 24, name="Dropped Cup")
    PlannedEventFactory(plan=plan, event=withdrawn, played=True, entry="withdrawn")
    PlannedEventFactory(plan=plan, event=an_event(plan, 26, name="Silent Cup"), played=True)
    figures = see()
    assert [name.split(",")[0] for name in figures.added] == ["Added Cup"]
    assert [name.split(",")[0] for name in figures.dropped] == ["Dropped Cup"]
    assert [name.split(",")[0] for name in figures.unlogged] == ["Silent Cup"]
    events = figures.counts[0]
    assert (events.planned, events.done) == (3, 2)


def test_planned_is_the_first_plan_that_was_in_force(plan, see, cast) -> None:
    first = SeasonPlanFactory(
        player=cast.ines,
        start=plan.start,
        end=plan.end,
        standing="replaced",
        in_force_since=datetime(2025, 12, 1, tzinfo=UTC),
    )
    left_out = an_event(plan, 30, name="Left Out Cup")
    PlannedEventFactory(plan=first, event=left_out, played=True)
    played(plan, 20, event={"name": "Later Cup"})
    figures = see()
    assert [name.split(",")[0] for name in figures.added] == ["Later Cup"]
    assert [name.split(",")[0] for name in figures.dropped] == ["Left Out Cup"]


def test_weeks_of_rest_count_as_taken_if_nothing_was_played_in_them(plan, see) -> None:
    played(plan, 46)
    rest = next(line for line in see().counts if line.label == "Weeks of active rest")
    assert (rest.planned, rest.done) == (8, 7)


def test_load_is_told_by_phase_for_the_weeks_that_have_any(plan, see) -> None:
    for day, minutes in ((date(2026, 1, 6), 90), (date(2026, 1, 8), 60), (date(2026, 3, 17), 60)):
        SessionLogFactory(player=plan.player, day=day, minutes=minutes, effort=6)
    first, second = see().load
    assert (first.phase, first.weeks, first.sessions, first.load_a_week) == (
        "Preparation",
        1,
        2,
        900,
    )
    assert (second.phase, second.hours) == ("Pre-competition", 1)


def test_targets_are_held_against_the_planned_peak_windows(plan, see) -> None:
    played(plan, 30, rounds_won=4, role="target", energy_before=8, event={"name": "Orchard Cup"})
    for week in (18, 21, 24):
        played(plan, week, rounds_won=1, energy_before=5)
    targets = see().targets
    assert (targets.lines[0].name, targets.lines[0].where) == ("Orchard Cup", "in a peak window")
    inside, outside = targets.groups
    assert (inside.events, inside.energy, outside.events, outside.energy) == (1, 8, 3, 5)
    assert "No comparison of result: only 1 of 4 events in one of the two groups." in targets.says


def test_without_a_home_base_trips_are_left_out_and_the_rest_stays(plan, see, cast, read) -> None:
    many(plan, 8)
    cast.ines.home_base.delete()
    plan.player.refresh_from_db()
    figures = see()
    assert [line.label for line in figures.counts] == ["Events", "Weeks of active rest"]
    assert "Time zones crossed" in dict(figures.together.silent)
    assert "Energy and results" in read()


def test_the_53rd_week_stands_in_the_last_row(see) -> None:
    rows = see().look
    assert [len(row.weeks) for row in rows] == [13, 13, 13, 13]


def test_a_year_of_53_weeks_has_four_rows_all_the_same(cast) -> None:
    plan = a_season(cast.ines, date(2024, 12, 30), date(2026, 1, 4))
    rows = figures_page(plan, seat_of(cast.player, cast.ines), today=TODAY).look
    assert [len(row.weeks) for row in rows] == [13, 13, 13, 14]


def test_the_seasons_of_a_player_stand_side_by_side(plan, see, cast, read) -> None:
    earlier = a_season(cast.ines, date(2025, 1, 6), date(2026, 1, 4))
    played(earlier, 20, rounds_won=5, energy_before=9)
    played(plan, 20, rounds_won=0, energy_before=3)
    first, second = see().seasons
    assert (first.name, first.events, first.result, first.energy) == ("2025", 1, 1, 9)
    assert (second.is_here, second.result) == (True, 0)
    assert reverse("debrief", args=[earlier.pk]) in read()


def test_events_of_other_players_are_not_in_it(plan, see, cast) -> None:
    played(a_season(cast.ravi), 20, energy_before=2)
    played(plan, 20, energy_before=7)
    assert [line.energy_before for line in see().events] == [7]


# Who reads what.


@pytest.mark.parametrize("who", ["director", "guardian"])
def test_who_may_not_read_about_health_sees_results_only(plan, see, read, cast, who) -> None:
    many(plan, 14)
    person = getattr(cast, who)
    figures = see(person)
    assert figures.energy is None
    assert all(line.energy_before is None and line.soreness is None for line in figures.events)
    assert "Energy before" not in [line.name for line in figures.together.lines]
    page = read(person, "?energy=after")
    assert "Rounds won of possible" in page
    assert 'id="energy"' not in page
    assert "Soreness <b>" not in page
    assert not HealthRead.objects.filter(reader=person).exists()


def test_without_consent_the_player_alone_reads_about_health(plan, see, cast) -> None:
    many(plan, 6)
    cast.ines.consents.all().delete()
    assert see().energy is None
    assert see(cast.player).energy is not None


def test_reading_the_figures_is_written_down_once_a_day_and_log(plan, read, cast) -> None:
    many(plan, 3)
    played(plan, 45, rounds_won=1, energy_after=None)
    read()
    read(query="?scale=above")
    reads = HealthRead.objects.filter(reader=cast.coach)
    assert reads.count() == 3  # a result alone is nobody's secret here
    assert {row.times for row in reads} == {2}


def test_the_players_own_reading_is_not_written_down(plan, read, cast) -> None:
    many(plan, 3)
    read(cast.player)
    assert not HealthRead.objects.exists()


# How much it asks of the database.


def test_the_page_asks_as_much_for_eighty_events_as_for_five_and_less_than_twenty(
    plan, cast, as_
) -> None:
    client = as_(cast.coach)
    url = reverse("debrief", args=[plan.pk])

    def queries() -> list[str]:
        with CaptureQueriesContext(connection) as asked:
            assert client.get(url).status_code == 200
        said = [query["sql"] for query in asked.captured_queries]
        return [sql for sql in said if "SAVEPOINT" not in sql]  # the tests' own transaction

    many(plan, 5)
    first = queries()  # the first of the day writes down who read
    again = queries()
    many(plan, 75)
    assert len(queries()) == len(first)
    assert len(queries()) == len(again)
    assert len(first) < 20, "\n".join(first)
