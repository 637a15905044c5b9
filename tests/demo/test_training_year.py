"""The demo's season is filled session by session: a walk through the year, and what a coach did."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from seasonplan.academy.models import Academy, Person, Player
from seasonplan.demo.loading import load
from seasonplan.plans.models import SeasonPlan
from seasonplan.science.phases import SHAPES
from seasonplan.science.season_matches import BEST_OF_THREE
from seasonplan.science.week_target import PlannedSession
from seasonplan.science.weeks import monday_of
from seasonplan.training.access import parts_changed_by
from seasonplan.training.models import PlayerTraining, TrainingSession, TrainingWeek
from seasonplan.training.shaping import shapes_of, usual_shapes
from seasonplan.training.targets import season_training, targets_for
from tests.demo.conftest import filled_year
from tests.training.filled_years import (
    OF_A_USUAL_YEAR,
    Check,
    FilledYear,
    days_of_tapers_keep_the_effort,
    days_off_are_off,
    effort_rises_in_pre_competition,
    every_week_is_filled,
    hard_days_are_apart,
    is_at_home,
    is_plain,
    light_days_are_light,
    no_rule_is_broken,
    preparation_has_the_highest_hours,
    rest_is_away_from_the_racket,
    tapers_cut_the_volume_by_41_to_60_percent,
    tapers_keep_the_sessions,
)

START, END = date(2027, 1, 4), date(2028, 1, 2)
TODAY = date(2027, 1, 13)
"""A day of the season's second week, so that all that is done by hand lies in the season."""

DAY, WEEK = timedelta(days=1), timedelta(weeks=1)


@pytest.fixture(scope="module")
def loaded(loading: Callable[..., Any]) -> Iterator[None]:
    with loading(with_past=False, today=TODAY):
        yield


@pytest.fixture
def demo(loaded: None, db: None) -> Academy:
    return Academy.objects.get()


@pytest.fixture
def ines(demo: Academy) -> Player:
    return demo.players.get(name="Ines Varga")


@pytest.fixture
def amara(demo: Academy) -> Player:
    return demo.players.get(name="Amara Detti")


@pytest.fixture(params=["Ines Varga", "Amara Detti"])
def season(request: pytest.FixtureRequest, demo: Academy) -> FilledYear:
    return filled_year(demo.players.get(name=request.param), START)


# A walk through the year --------------------------------------------------------------------------


@pytest.mark.parametrize("check", OF_A_USUAL_YEAR, ids=lambda check: check.__name__)
def test_the_season_of_the_demo(season: FilledYear, check: Check) -> None:
    check(season)


def test_the_walk_passes_by_all_that_it_looks_for(season: FilledYear) -> None:
    """Of each kind of week and day there are some, or a check would have nothing to look at."""
    assert [target.monday for target in season.targets] == [START + n * WEEK for n in range(52)]
    plain = [target.phase for target in season.targets if is_plain(target)]
    assert plain.count("preparation") >= 3
    rising = [t.phase for t in season.targets if is_at_home(t)].count("pre-competition")
    assert rising >= 4
    assert sum(target.no_racket for target in season.targets) >= 5
    kinds = [day.kind for day in season.days.values()]
    assert min(kinds.count(kind) for kind in ("travel", "arrival", "acclimatisation")) >= 2
    assert kinds.count("match") > 50
    assert len({each.day for each in season.sessions if each.is_hard}) > 25
    targets = {event.name for event in season.year.events if event.is_target}
    assert {taper.event for taper in season.tapers} == targets
    assert not any(taper.why for taper in season.tapers)
    assert all(taper.last - taper.first == 13 * DAY for taper in season.tapers)


def test_the_two_weeks_at_the_end_of_the_season_are_without_a_racket(season: FilledYear) -> None:
    last = season.between(END - 13 * DAY, END)
    assert len(last) >= 4
    assert {each.court for each in last} == {"off court"}


def test_the_cut_before_a_target_is_worked_out_by_hand(ines: Player) -> None:
    """The Sundial Trophy: two weeks of pre-competition, and the matches of the event before it."""
    season = filled_year(ines, START)
    [taper] = [taper for taper in season.tapers if taper.event == "Sundial Trophy"]
    shape = usual_shapes(15)["pre-competition"]
    usual_min = 2 * 60 * (shape.on_court_hours + shape.off_court_hours)
    assert {season.year.blocks[n].phase for n in range(len(season.year.blocks))} == set(SHAPES)
    days = [season.days[taper.first + n * DAY] for n in range(14)]
    matches = BEST_OF_THREE.usual * sum(day.expected_matches for day in days)
    trained = sum(each.minutes for day in days for each in season.on(day.day))
    assert taper.normal_min == pytest.approx(usual_min)
    assert 0.41 <= 1 - (trained + matches) / usual_min <= 0.60


def _swapped(season: FilledYear, change: Callable[[PlannedSession], PlannedSession]) -> FilledYear:
    return replace(season, sessions=tuple(change(each) for each in season.sessions))


@pytest.mark.parametrize(
    ("check", "change"),
    [
        (every_week_is_filled, lambda s: replace(s, day=max(s.day, START + WEEK))),
        (preparation_has_the_highest_hours, lambda s: replace(s, minutes=60)),
        (effort_rises_in_pre_competition, lambda s: replace(s, effort_0_10=5)),
        (tapers_cut_the_volume_by_41_to_60_percent, lambda s: replace(s, minutes=2 * s.minutes)),
        (tapers_cut_the_volume_by_41_to_60_percent, lambda s: replace(s, minutes=s.minutes // 3)),
        (days_of_tapers_keep_the_effort, lambda s: replace(s, effort_0_10=3)),
        (rest_is_away_from_the_racket, lambda s: replace(s, court="on court")),
        (hard_days_are_apart, lambda s: replace(s, effort_0_10=7)),
        (light_days_are_light, lambda s: replace(s, effort_0_10=s.effort_0_10 + 1)),
        (light_days_are_light, lambda s: replace(s, minutes=s.minutes + 60)),
        (days_off_are_off, lambda s: replace(s, day=s.day + DAY)),
        (no_rule_is_broken, lambda s: replace(s, day=s.day + DAY)),
    ],
)
def test_the_checks_of_the_walk_notice_a_season_that_is_otherwise(
    ines: Player, check: Check, change: Callable[[PlannedSession], PlannedSession]
) -> None:
    season = filled_year(ines, START)
    check(season)
    with pytest.raises(AssertionError):
        check(_swapped(season, change))


def test_the_walk_notices_tapers_with_few_sessions(ines: Player) -> None:
    season = filled_year(ines, START)
    firsts = [each for each in season.sessions if each.order == 0]
    few = replace(season, sessions=tuple(each for each in firsts if each.day.weekday() < 2))
    with pytest.raises(AssertionError):
        tapers_keep_the_sessions(few)


# What the coach did -------------------------------------------------------------------------------


def test_two_weeks_were_corrected_by_hand_and_one_has_a_note(ines: Player) -> None:
    weeks = TrainingWeek.objects.filter(player=ines)
    fixed = weeks.filter(sessions__fixed=True).distinct()
    assert [week.monday for week in fixed] == [monday_of(TODAY) + n * WEEK for n in (1, 2)]
    [noted] = weeks.exclude(note="")
    assert noted.monday == monday_of(TODAY)
    assert not TrainingSession.objects.filter(week__player__name="Amara Detti", fixed=True).exists()


def test_the_coach_of_ines_has_changed_one_shape_and_it_counts(ines: Player) -> None:
    shapes = shapes_of(ines.training, 15)
    assert [phase for phase, shape in shapes.items() if shape != usual_shapes(15)[phase]] == [
        "competition"
    ]
    year = season_training(ines, START)
    assert year is not None
    assert year.shapes["competition"].off_court_sessions == 3


def test_support_staff_plan_the_part_off_court_of_amara(ines: Player, amara: Player) -> None:
    staff = Person.objects.get(email="staff@demo.example")
    coach = Person.objects.get(email="coach@demo.example")
    assert parts_changed_by(staff, amara) == {"off court"}
    assert parts_changed_by(coach, amara) == {"on court"}
    assert parts_changed_by(coach, ines) == {"on court", "off court"}


# Loading ------------------------------------------------------------------------------------------


def test_loading_again_changes_no_week(demo: Academy) -> None:
    def keys() -> set[Any]:
        return set(TrainingSession.objects.values_list("key", "day", "minutes", "fixed"))

    before, revisions = keys(), list(TrainingWeek.objects.values_list("pk", "revision"))
    assert load(say=lambda line: None, today=TODAY + WEEK, with_past=False) is False
    assert keys() == before
    assert list(TrainingWeek.objects.values_list("pk", "revision")) == revisions


def test_an_older_demo_gets_its_weeks(demo: Academy) -> None:
    TrainingWeek.objects.all().delete()
    PlayerTraining.objects.all().delete()
    assert load(say=lambda line: None, today=TODAY, with_past=False) is True
    assert TrainingWeek.objects.count() == 2 * 52
    assert TrainingSession.objects.filter(fixed=True).count() == 2
    assert PlayerTraining.objects.count() == 2


def test_a_demo_without_a_season_ahead_is_left_as_it_is(demo: Academy) -> None:
    TrainingWeek.objects.all().delete()
    assert load(say=lambda line: None, today=END + DAY, with_past=False) is False
    assert not TrainingWeek.objects.exists()


def test_weeks_are_filled_for_everybody_with_a_season(demo: Academy) -> None:
    for plan in SeasonPlan.objects.filter(standing="in force"):
        mondays = {target.monday for target in targets_for(plan.player, plan.start)}
        weeks = TrainingWeek.objects.filter(player=plan.player)
        assert set(weeks.values_list("monday", flat=True)) == mondays
