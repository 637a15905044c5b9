"""The targets of a player's weeks, from the plan in force and what belongs to it."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from seasonplan.plans.models import Block, SeasonPlan, WinChance
from seasonplan.science.training_year import YearEvent, tapers_of
from seasonplan.science.week_target import WeekTarget
from seasonplan.training.models import PlayerTraining
from seasonplan.training.targets import season_training, targets_for
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    BusyTimeFactory,
    EventFactory,
    PlaceFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
)

START = date(2040, 1, 2)
WEEKS = 28


def week(number: int, weekday: int = 0) -> date:
    """A day of a week of the season, counted from 1."""
    return START + timedelta(weeks=number - 1, days=weekday)


@pytest.fixture
def plan(cast: Cast) -> SeasonPlan:
    """Twenty-eight weeks in force: 8 of preparation, 5 sharper, 13 of competition, 2 of rest."""
    made: SeasonPlan = SeasonPlanFactory(
        player=cast.ines,
        start=START,
        end=week(WEEKS, 6),
        standing=SeasonPlan.Standing.IN_FORCE,
    )
    first = 1
    for phase, weeks in (
        (Block.Phase.PREPARATION, 8),
        (Block.Phase.PRE_COMPETITION, 5),
        (Block.Phase.COMPETITION, 13),
        (Block.Phase.ACTIVE_REST, 2),
    ):
        BlockFactory(plan=made, phase=phase, start=week(first), weeks=weeks)
        first += weeks
    return made


def played(plan: SeasonPlan, number: int, *, role: str = "open", **facts: Any) -> Any:
    """An event from Monday to Sunday of a week, in the plan; in Valencia, where the player lives,
    where no place is named."""
    place = facts.pop("place", None) or PlaceFactory(
        academy=plan.player.academy, place_name="Valencia", lat=39.47, lon=-0.38
    )
    event = EventFactory(
        academy=plan.player.academy,
        place=place,
        start=week(number),
        end=week(number, 6),
        **{"name": f"Event {number}", **facts},
    )
    PlannedEventFactory(plan=plan, event=event, role=role, played=True)
    return event


def event_of(plan: SeasonPlan) -> YearEvent:
    """The only event of the plan, as the training sees it."""
    year = season_training(plan.player, START)
    assert year
    [event] = year.events
    return event


def target(plan: SeasonPlan, number: int) -> WeekTarget:
    return targets_for(plan.player, START)[number - 1]


def test_any_day_of_the_season_gives_all_its_weeks(plan: SeasonPlan) -> None:
    targets = targets_for(plan.player, week(17, 3))
    assert [t.monday for t in targets] == [week(n) for n in range(1, WEEKS + 1)]
    assert [t.phase for t in targets[7:9]] == ["preparation", "pre-competition"]
    assert targets == targets_for(plan.player, START) == targets_for(plan.player, week(WEEKS, 6))


def test_without_a_plan_in_force_on_the_day_there_are_none(cast: Cast, plan: SeasonPlan) -> None:
    assert targets_for(cast.ravi, START) == ()
    assert targets_for(plan.player, START - timedelta(days=1)) == ()
    assert targets_for(plan.player, week(WEEKS + 1)) == ()
    assert season_training(cast.ravi, START) is None
    plan.standing = SeasonPlan.Standing.WORKING_COPY
    plan.save()
    assert targets_for(plan.player, START) == ()


@pytest.mark.parametrize("events", [0, 12])
def test_the_queries_are_as_many_for_a_full_season_as_for_an_empty_one(
    plan: SeasonPlan, events: int
) -> None:
    for number in range(14, 14 + events):
        played(plan, number, place=PlaceFactory(academy=plan.player.academy))
        BusyTimeFactory(player=plan.player, start=week(number - 12), end=week(number - 12, 1))
    with CaptureQueriesContext(
        connection,
    ) as queries:
        targets = targets_for(plan.player, START)
    assert len(targets) == WEEKS
    assert len(queries) == 5


def test_a_trip_comes_as_the_judge_has_it(plan: SeasonPlan) -> None:
    """Barcelona is 306 km away: a day of travel there and one home. The surface is new: three days
    to get used to it."""
    barcelona = PlaceFactory(academy=plan.player.academy, place_name="Barcelona", lat=41.4, lon=2.2)
    played(plan, 15, role="target", place=barcelona, surface="hard")
    event = event_of(plan)
    assert (event.leave, event.arrive) == (week(14, 3), week(14, 4))
    assert (event.start, event.end, event.back) == (week(15), week(15, 6), week(16))
    assert event.is_target
    assert event.place == "Barcelona"
    kinds = [day.kind for day in target(plan, 14).days]
    assert kinds[3:] == ["travel", "arrival", "acclimatisation", "acclimatisation"]
    [taper] = tapers_of(season_training(plan.player, START))  # type: ignore[arg-type]
    assert (taper.first, taper.last) == (week(13), week(14, 6))
    assert taper.is_within


def test_an_event_at_home_needs_no_way(plan: SeasonPlan) -> None:
    played(plan, 15)
    event = event_of(plan)
    assert event.leave == event.arrive == event.start
    assert event.back == event.end
    assert not event.is_target


def test_without_a_home_base_there_are_no_trips_and_targets_all_the_same(
    plan: SeasonPlan,
) -> None:
    played(plan, 15, place=PlaceFactory(academy=plan.player.academy))
    plan.player.home_base.delete()
    event = event_of(plan)
    assert event.leave == event.start
    assert event.back == event.end
    assert len(targets_for(plan.player, START)) == WEEKS


def test_who_goes_straight_on_is_not_on_the_way_home(plan: SeasonPlan) -> None:
    barcelona = PlaceFactory(academy=plan.player.academy, place_name="Barcelona", lat=41.4, lon=2.2)
    for number in (15, 16):
        played(plan, number, place=barcelona)
    year = season_training(plan.player, START)
    assert year
    first, second = year.events
    assert first.back == first.end
    assert second.leave == second.start
    assert second.back == second.end + timedelta(days=1)


def test_a_cancelled_event_is_no_event(plan: SeasonPlan) -> None:
    before = targets_for(plan.player, START)
    event = played(plan, 15, role="target")
    assert targets_for(plan.player, START) != before
    event.cancelled = True
    event.save()
    assert targets_for(plan.player, START) == before


def test_an_event_that_is_only_a_candidate_is_none_either(plan: SeasonPlan) -> None:
    before = targets_for(plan.player, START)
    event = EventFactory(academy=plan.player.academy, start=week(15), end=week(15, 6))
    PlannedEventFactory(plan=plan, event=event, role="target", played=False)
    assert targets_for(plan.player, START) == before


def test_expected_matches_follow_draw_and_chance(plan: SeasonPlan) -> None:
    """(1 - p^k) / (1 - p) matches: 1.9375 for p = 0.5 and k = 5, 3.0508 for p = 0.75."""
    played(plan, 15, draw_size=32, level="national")
    assert sum(event_of(plan).matches_by_day.values()) == pytest.approx(1.9375)
    WinChance.objects.create(player=plan.player, season_start=START, level="national", percent=75)
    assert sum(event_of(plan).matches_by_day.values()) == pytest.approx(3.0508, abs=5e-5)
    assert min(event_of(plan).matches_by_day) == week(15)


def test_a_draw_that_is_not_known_counts_as_one_of_32(plan: SeasonPlan) -> None:
    played(plan, 15, draw_size=None)
    assert sum(event_of(plan).matches_by_day.values()) == pytest.approx(1.9375)


def test_busy_times_are_days_without_training(plan: SeasonPlan) -> None:
    BusyTimeFactory(player=plan.player, start=week(3, 1), end=week(3, 3), why="Exams")
    BusyTimeFactory(player=plan.player, start=START - timedelta(days=9), end=START, why="")
    year = season_training(plan.player, START)
    assert year
    assert year.busy == {START: "busy", **{week(3, n): "Exams" for n in (1, 2, 3)}}
    assert [day.aim_min for day in target(plan, 3).days[1:4]] == [0, 0, 0]


def test_how_the_player_trains_is_kept_to(plan: SeasonPlan) -> None:
    usual = target(plan, 1)
    PlayerTraining.objects.create(
        player=plan.player,
        shapes={"preparation": {"on_court_hours": 4.0}},
        free_time={"sunday": 0},
        rules={"lighter_every": 2},
    )
    changed = target(plan, 1)
    assert usual.on_court_min != changed.on_court_min == 240
    assert changed.off_court_min == usual.off_court_min
    assert changed.days[6].available_min == 0
    assert target(plan, 2).is_lighter


def test_a_birthday_within_the_season_moves_no_week(plan: SeasonPlan) -> None:
    """Ines is 28 on the first day; as one who turns 18 in April, she trains as a minor all year."""
    plan.player.birth_date = date(2022, 4, 3)
    plan.player.save()
    young = targets_for(plan.player, START)
    assert young == targets_for(plan.player, week(WEEKS))
    plan.player.birth_date = date(2021, 4, 3)
    plan.player.save()
    assert young[0].minutes < targets_for(plan.player, START)[0].minutes


def test_of_two_seasons_the_day_chooses(plan: SeasonPlan) -> None:
    later = SeasonPlanFactory(
        player=plan.player,
        start=week(WEEKS + 1),
        end=week(WEEKS + 4, 6),
        standing=SeasonPlan.Standing.IN_FORCE,
    )
    BlockFactory(plan=later, phase="preparation", start=later.start, weeks=4)
    assert len(targets_for(plan.player, later.start)) == 4
    assert len(targets_for(plan.player, later.start - timedelta(days=1))) == WEEKS


def test_a_plan_without_blocks_has_no_targets(plan: SeasonPlan) -> None:
    plan.blocks.all().delete()
    assert targets_for(plan.player, START) == ()
