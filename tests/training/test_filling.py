"""Filling weeks: what stays, what a part is, and what it costs."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from seasonplan.science.session_rules import judge_week
from seasonplan.science.week_target import HARD_EFFORT
from seasonplan.training.filling import fill_weeks, from_today
from seasonplan.training.models import PlayerTraining, TrainingSession, TrainingWeek
from seasonplan.training.targets import targets_for
from seasonplan.training.weeks import as_planned
from tests.conftest import Cast
from tests.factories import SessionLogFactory
from tests.training.season import MONDAY, NEXT, TODAY, a_season, a_session, a_week

WEEK = timedelta(weeks=1)
SEASON = [date(2027, 1, 4) + n * WEEK for n in range(22)]


def rows(monday: date = NEXT) -> list[TrainingSession]:
    return list(TrainingSession.objects.filter(week__monday=monday))


def said(monday: date = NEXT) -> list[tuple[object, ...]]:
    return [(row.key, row.day, row.name, row.minutes, row.effort) for row in rows(monday)]


def test_a_filled_season_breaks_no_rule_and_comes_near_its_targets(cast: Cast) -> None:
    a_season(cast)

    weeks = fill_weeks(cast.ines, SEASON, today=SEASON[0])

    assert [week.monday for week in weeks] == SEASON
    assert {week.revision for week in weeks} == {1}
    before = []
    for target in targets_for(cast.ines, NEXT):
        planned = [as_planned(row) for row in rows(target.monday)]
        found = judge_week(target, planned, age=cast.ines.age_on(target.monday), before=before)
        assert [finding for finding in found if not finding.is_note] == []
        minutes = sum(session.minutes for session in planned)
        assert abs(minutes - target.minutes) <= max(60, 0.2 * target.minutes), target.monday
        before = planned


def test_hard_days_lie_apart_over_the_edge_of_two_weeks(cast: Cast) -> None:
    a_season(cast)
    a_session(a_week(cast.ines, MONDAY), 6, name="Hard sets", effort=9, fixed=True)

    fill_weeks(cast.ines, [NEXT], today=TODAY)

    assert rows()
    assert all(row.effort < HARD_EFFORT for row in rows() if row.day == NEXT)


def test_what_was_set_by_hand_was_done_or_is_over_stays(cast: Cast) -> None:
    a_season(cast)
    week = a_week(cast.ines, MONDAY)
    over = a_session(week, 0, name="Over")
    by_hand = a_session(week, 4, name="By hand", fixed=True, court="off court")
    done = a_session(week, 2, name="Done this morning", minutes=40, effort=3)
    a_session(week, 5, name="From the filler")
    SessionLogFactory(player=cast.ines, day=TODAY, session=done.key, planned_key=done.key)

    fill_weeks(cast.ines, [MONDAY], today=TODAY)

    names = {row.name for row in rows(MONDAY)}
    assert {"Over", "By hand", "Done this morning"} <= names
    assert "From the filler" not in names
    kept = {row.pk for row in rows(MONDAY)}
    assert {over.pk, by_hand.pk, done.pk} <= kept
    assert all(row.day >= TODAY for row in rows(MONDAY) if row != over)


def test_a_week_that_has_begun_gets_no_more_than_its_days_left_would_have_had(cast: Cast) -> None:
    a_season(cast)
    target = next(t for t in targets_for(cast.ines, NEXT) if t.monday == NEXT)
    friday = NEXT + timedelta(days=4)

    left = from_today(target, [], friday)
    fill_weeks(cast.ines, [NEXT], today=friday)

    share = sum(d.aim_min for d in target.days[4:]) / sum(d.aim_min for d in target.days)
    assert left.minutes == pytest.approx(target.minutes * share, abs=2)
    assert sum(row.minutes for row in rows()) < 0.7 * target.minutes
    assert from_today(target, [], NEXT) is target


def test_what_stands_before_today_counts_as_it_is(cast: Cast) -> None:
    a_season(cast)
    target = next(t for t in targets_for(cast.ines, NEXT) if t.monday == NEXT)
    run = as_planned(a_session(a_week(cast.ines), 0, minutes=200, court="off court"))
    wednesday = NEXT + timedelta(days=2)

    with_it, without = (from_today(target, kept, wednesday) for kept in ([run], []))

    assert with_it.off_court_min == without.off_court_min + 200
    assert with_it.on_court_min == without.on_court_min
    assert with_it.off_court_sessions == without.off_court_sessions + 1


def test_each_part_is_filled_alone_and_leaves_the_other(cast: Cast) -> None:
    a_season(cast)
    fill_weeks(cast.ines, [NEXT], today=TODAY)
    on = [row for row in said() if TrainingSession.objects.get(key=row[0]).court == "on court"]

    fill_weeks(cast.ines, [NEXT], today=TODAY, parts=frozenset({"off court"}))
    assert [row for row in said() if row in on] == on

    TrainingSession.objects.filter(court="off court").delete()
    fill_weeks(cast.ines, [NEXT], today=TODAY, parts=frozenset({"on court"}))
    assert {row.court for row in rows()} == {"on court"}


def test_filling_again_gives_the_same_under_the_same_keys(cast: Cast) -> None:
    """A log that waits on a phone still finds its session."""
    a_season(cast)
    fill_weeks(cast.ines, [NEXT], today=TODAY)
    first = said()

    [week] = fill_weeks(cast.ines, [NEXT], today=TODAY)

    assert said() == first
    assert week.revision == 2
    assert TrainingWeek.objects.get().revision == 2


def test_weeks_outside_of_any_season_are_left_alone(cast: Cast) -> None:
    assert fill_weeks(cast.ines, [NEXT], today=TODAY) == []
    a_season(cast)
    outside = date(2027, 6, 7)
    kept = a_session(a_week(cast.ines, outside), 0)

    filled = fill_weeks(cast.ines, [SEASON[-1], outside], today=TODAY)

    assert [week.monday for week in filled] == [SEASON[-1]]
    assert rows(outside) == [kept]


def test_the_players_rules_count(cast: Cast) -> None:
    a_season(cast)
    PlayerTraining.objects.create(player=cast.ines, rules={"days_off": 3})

    fill_weeks(cast.ines, [NEXT], today=TODAY)

    assert rows()
    assert len({row.day for row in rows()}) <= 4


def test_as_many_queries_for_one_week_as_for_twelve(cast: Cast) -> None:
    """But for the inserts, which SQLite takes in portions."""
    a_season(cast)
    counts = []
    for mondays in (SEASON[:1], SEASON[:12]):
        TrainingWeek.objects.all().delete()
        with CaptureQueriesContext(connection) as queries:
            fill_weeks(cast.ines, mondays, today=SEASON[0])
        inserts = [q for q in queries if q["sql"].startswith("INSERT")]
        counts.append(len(queries) - len(inserts))
        assert len(inserts) <= 4

    assert counts[0] == counts[1] <= 13
