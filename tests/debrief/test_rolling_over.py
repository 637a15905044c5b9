"""The next season begun for many players at once."""

from collections.abc import Callable
from datetime import date

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from seasonplan.academy.models import Player
from seasonplan.debrief.rolling_over import roll_over, rolling
from seasonplan.plans.models import SeasonPlan
from tests.conftest import Cast
from tests.factories import (
    DebriefFactory,
    DecisionFactory,
    LevelWorthFactory,
    PlayerFactory,
    SeasonPlanFactory,
)

PAGE = "/next-seasons/"


def in_force(player: Player, **more: object) -> SeasonPlan:
    return SeasonPlanFactory(player=player, standing="in force", **more)


@pytest.fixture
def seasons(cast: Cast) -> tuple[SeasonPlan, SeasonPlan]:
    """Ines and Ravi, each with a season in force."""
    return in_force(cast.ines, limits={"max_events": 14}), in_force(cast.ravi)


def test_a_director_begins_the_next_season_of_everybody(
    cast: Cast, as_: Callable[..., Client], seasons: tuple[SeasonPlan, SeasonPlan]
) -> None:
    LevelWorthFactory(plan=seasons[0], level="regional", worth=33)
    sent = {"player": [cast.ines.pk, cast.ravi.pk]}
    answer = as_(cast.director).post(PAGE, sent, follow=True)
    assert "The next seasons of 2 players are begun" in answer.text
    copies = SeasonPlan.objects.filter(standing="working copy")
    assert {(p.player, p.start, p.end) for p in copies} == {
        (player, date(2028, 1, 3), date(2028, 12, 31)) for player in (cast.ines, cast.ravi)
    }
    mine = copies.get(player=cast.ines)
    assert mine.limits["max_events"] == 14
    assert list(mine.level_worths.values_list("level", "worth")) == [("regional", 33)]


def test_a_coach_begins_it_for_their_own_players_alone(
    cast: Cast, as_: Callable[..., Client], seasons: tuple[SeasonPlan, SeasonPlan]
) -> None:
    page = as_(cast.coach).get(PAGE).text
    assert "Ines Varga" in page
    assert "Ravi" not in page
    as_(cast.coach).post(PAGE, {"player": [cast.ines.pk, cast.ravi.pk, cast.foreign.pk]})
    copies = SeasonPlan.objects.filter(standing="working copy")
    assert [plan.player for plan in copies] == [cast.ines]


def test_pressing_twice_begins_it_once(
    cast: Cast, as_: Callable[..., Client], seasons: tuple[SeasonPlan, SeasonPlan]
) -> None:
    before = rolling(cast.academy, cast.director)
    assert len(roll_over(before, by=cast.director)) == 2
    assert roll_over(before, by=cast.director) == []
    answer = as_(cast.director).post(PAGE, {"player": [cast.ines.pk]})
    assert answer.status_code == 422
    assert "Everybody who has a season in force has the next one begun" in answer.text
    assert SeasonPlan.objects.filter(standing="working copy").count() == 2


def test_nobody_ticked_is_said(
    cast: Cast, as_: Callable[..., Client], seasons: tuple[SeasonPlan, SeasonPlan]
) -> None:
    answer = as_(cast.director).post(PAGE)
    assert answer.status_code == 422
    assert "Tick at least one player" in answer.text
    assert not SeasonPlan.objects.filter(standing="working copy").exists()


def test_decisions_that_stand_go_along(cast: Cast, seasons: tuple[SeasonPlan, SeasonPlan]) -> None:
    debrief = DebriefFactory(player=cast.ines, season_start=seasons[0].start)
    DecisionFactory(debrief=debrief, text="Two weeks of rest in August")
    [made] = [
        plan
        for plan in roll_over(rolling(cast.academy, cast.coach), by=cast.coach)
        if plan.player == cast.ines
    ]
    assert [row.text for row in made.carried_over.all()] == ["Two weeks of rest in August"]


def test_a_player_without_a_season_is_told_apart(cast: Cast, as_: Callable[..., Client]) -> None:
    page = as_(cast.coach).get(PAGE).text
    assert "None yet" in page
    assert 'name="player"' not in page


def test_the_page_takes_as_many_queries_for_five_players_as_for_fifty(
    cast: Cast, as_: Callable[..., Client]
) -> None:
    client = as_(cast.director)
    counts = []
    for number in (5, 45):
        for player in PlayerFactory.create_batch(number, academy=cast.academy):
            in_force(player)
        with CaptureQueriesContext(connection) as asked:
            client.get(PAGE)
        counts.append(len(asked))
    assert counts[0] == counts[1]
