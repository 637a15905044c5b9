"""The coach says how often a win was expected; results are held against it."""

import pytest
from django.urls import reverse

from seasonplan.plans.chances import chances_of
from seasonplan.plans.models import SeasonPlan, WinChance
from tests.conftest import Cast
from tests.debrief.years import a_season, played


@pytest.fixture
def plan(cast: Cast) -> SeasonPlan:
    plan = a_season(cast.ines)
    played(plan, 20, event={"level": "national"})
    played(plan, 22, event={"level": "regional"})
    return plan


@pytest.fixture
def url(plan: SeasonPlan) -> str:
    return reverse("win-chances", args=[plan.pk])


def test_a_coach_sets_the_chance_of_each_level(plan, url, cast, as_) -> None:
    client = as_(cast.coach)
    page = client.get(url).content.decode()
    assert "Events of level “national”" in page
    assert "Events of level “regional”" in page
    response = client.post(url, {"level_0": "60", "level_1": ""})
    assert response.url == reverse("debrief", args=[plan.pk]) + "?scale=above#energy"
    assert chances_of(plan) == {"national": 0.6}
    assert "“national” 60 %, “regional” 50 %" in client.get(response.url).content.decode()


def test_a_chance_can_be_changed_and_taken_back(plan, url, cast, as_) -> None:
    client = as_(cast.coach)
    client.post(url, {"level_0": "60", "level_1": "40"})
    client.post(url, {"level_0": "65", "level_1": ""})
    assert list(WinChance.objects.values_list("level", "percent")) == [("national", 65)]


@pytest.mark.parametrize("typed", ["0", "100", "-5", "half"])
def test_what_is_no_chance_is_refused_and_stays_in_the_field(url, cast, as_, typed: str) -> None:
    response = as_(cast.coach).post(url, {"level_0": typed, "level_1": "40"})
    assert response.status_code == 422
    assert f'value="{typed}"' in response.content.decode()
    assert not WinChance.objects.exists()


@pytest.mark.parametrize("who", ["player", "staff", "guardian", "director"])
def test_only_the_coaches_set_chances(url, cast, as_, who: str) -> None:
    client = as_(getattr(cast, who))
    assert client.get(url).status_code == 403
    assert client.post(url, {"level_0": "60"}).status_code == 403
    assert not WinChance.objects.exists()


def test_a_season_without_check_ins_has_no_levels_to_set(cast, as_) -> None:
    plan = a_season(cast.ines)
    page = as_(cast.coach).get(reverse("win-chances", args=[plan.pk])).content.decode()
    assert "there are no levels to set a chance for" in page
