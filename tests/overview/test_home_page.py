"""The first page: the players a person may see, or straight on to the only one or one's week."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.utils import timezone

from seasonplan.academy.models import Academy, Membership, Player
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    EventFactory,
    HomeBaseFactory,
    MembershipFactory,
    PlaceFactory,
    PlannedEventFactory,
    PlayerFactory,
    SeasonPlanFactory,
)
from tests.plans.pages import Element, read


def lines(page: Element) -> list[list[str]]:
    return [
        [cell.text for cell in row.all("th") + row.all("td")]
        for row in page.one("table").all("tr")
        if row.all("td")
    ]


def names(page: Element) -> list[str]:
    return [line[0] for line in lines(page)]


def coached(cast: Cast, **facts: Any) -> Player:
    player = PlayerFactory(academy=cast.academy, **facts)
    player.team.add(Membership.objects.get(person=cast.coach, academy=cast.academy))
    return player


@pytest.mark.parametrize(
    ("role", "seen"),
    [
        ("coach", ["Ines Varga"]),
        ("colleague", ["Ravi Player"]),
        ("director", ["Ines Varga", "Ravi Player"]),
        ("foreign_coach", ["Far Player"]),
    ],
)
def test_who_plans_sees_the_players_that_are_theirs(
    cast: Cast, as_: Any, role: str, seen: list[str]
) -> None:
    page = read(as_(cast.people()[role]).get("/"))
    assert names(page) == seen
    assert page.links()["Add a player"] == "/players/new/"


@pytest.mark.parametrize(
    ("role", "path"), [("player", "/players/"), ("guardian", "/"), ("staff", "/")]
)
def test_who_looks_at_one_player_goes_straight_to_the_season_in_force(
    cast: Cast, as_: Any, role: str, path: str
) -> None:
    client = as_(cast.people()[role])
    SeasonPlanFactory(player=cast.ines, name="A try", start=date(2090, 1, 2), end=date(2090, 3, 12))
    assert client.get(path)["Location"] == f"/players/{cast.ines.pk}/"
    plan = SeasonPlanFactory(
        player=cast.ines, start=date(2040, 1, 2), end=date(2040, 3, 11), standing="in force"
    )
    assert client.get(path)["Location"] == f"/plans/{plan.pk}/"


def test_who_only_plays_comes_to_their_week_and_finds_the_season_from_there(
    cast: Cast, as_: Any
) -> None:
    SeasonPlanFactory(
        player=cast.ines, start=date(2040, 1, 2), end=date(2040, 3, 11), standing="in force"
    )
    player = as_(cast.player)
    assert player.get("/")["Location"] == "/phone/"
    season = read(player.get("/phone/season/"))
    assert season.links()["The whole year as a planner"] == "/players/"
    header = read(player.get("/players/", follow=True)).one("nav", aria_label="Main").links()
    assert (header["Phone"], header["My season"]) == ("/phone/", "/players/")


def test_a_coach_who_also_plays_comes_to_the_players_and_has_the_phone_in_the_header(
    cast: Cast, as_: Any
) -> None:
    MembershipFactory(academy=cast.foreign_academy, person=cast.coach, role="player")
    page = read(as_(cast.coach).get("/"))
    assert names(page) == ["Ines Varga"]
    header = page.one("nav", aria_label="Main").links()
    assert (header["Phone"], header["Players"]) == ("/phone/", "/")
    assert "Phone" not in read(as_(cast.director).get("/")).one("nav", aria_label="Main").links()


def test_who_looks_at_several_players_gets_the_list_and_cannot_add_one(
    cast: Cast, as_: Any
) -> None:
    cast.ravi.team.add(Membership.objects.get(person=cast.staff))
    page = read(as_(cast.staff).get("/"))
    assert names(page) == ["Ines Varga", "Ravi Player"]
    assert "Add a player" not in page.links()


def test_a_stranger_is_told_that_there_is_nobody_to_see(cast: Cast, as_: Any) -> None:
    page = read(as_(cast.stranger).get("/"))
    assert page.one("div", "empty").one("h2").text == "Nobody to see yet"


def test_a_coach_without_players_is_led_to_add_one(cast: Cast, as_: Any) -> None:
    cast.ines.team.clear()
    empty = read(as_(cast.coach).get("/")).one("div", "empty")
    assert empty.links() == {"Add a player": "/players/new/"}


def test_each_line_says_where_the_player_is_in_the_season_and_what_comes_next(
    cast: Cast, as_: Any
) -> None:
    today = timezone.localdate()
    monday = today - timedelta(days=today.weekday())
    plan = SeasonPlanFactory(
        player=cast.ines,
        start=monday - timedelta(weeks=5),
        end=monday + timedelta(weeks=15, days=-1),
        standing="in force",
    )
    BlockFactory(plan=plan, phase="preparation", weeks=5)
    BlockFactory(plan=plan, phase="pre-competition", start=monday, weeks=4)
    place = PlaceFactory(academy=cast.academy, place_name="Lisbon")
    for name, weeks, played in [("Past", -3, True), ("Candidate", 1, False), ("Next", 2, True)]:
        start = monday + timedelta(weeks=weeks)
        event = EventFactory(academy=cast.academy, place=place, name=name, start=start)
        PlannedEventFactory(plan=plan, event=event, played=played)
    page = read(as_(cast.coach).get("/"))
    [[name, _, home, _, now, event]] = lines(page)
    assert (name, home, now) == ("Ines Varga", "Valencia", "Pre-competition")
    first, last = monday + timedelta(weeks=2), monday + timedelta(weeks=3, days=-1)
    assert event.startswith(f"Lisbon, {first.day}")
    assert event.endswith(f"{last.day} {last:%b}")
    assert page.one("table").links() == {"Ines Varga": f"/plans/{plan.pk}/"}


@pytest.mark.parametrize(
    ("home", "standing", "step"),
    [
        (False, None, "Set the home base"),
        (False, "in force", "Set the home base"),
        (True, None, "Start a season"),
        (True, "working copy", "Put a working copy in force"),
    ],
)
def test_a_player_whose_season_is_not_ready_says_what_to_do(
    cast: Cast, as_: Any, home: bool, standing: str | None, step: str
) -> None:
    player = coached(cast, name="Aina New")
    if home:
        HomeBaseFactory(player=player)
    if standing:
        SeasonPlanFactory(
            player=player, start=date(2040, 1, 2), end=date(2040, 3, 11), standing=standing
        )
    assert lines(read(as_(cast.coach).get("/")))[0][4] == step


def test_a_season_that_is_over_is_no_season(cast: Cast, as_: Any) -> None:
    SeasonPlanFactory(
        player=cast.ines, start=date(2020, 1, 6), end=date(2020, 3, 15), standing="in force"
    )
    page = read(as_(cast.coach).get("/"))
    assert lines(page)[0][3:5] == ["–", "Start a season"]


def test_a_season_that_is_still_to_come_says_when_it_begins(cast: Cast, as_: Any) -> None:
    SeasonPlanFactory(
        player=cast.ines, start=date(2040, 1, 2), end=date(2040, 12, 30), standing="in force"
    )
    page = read(as_(cast.coach).get("/"))
    assert lines(page)[0][3:5] == ["2040", "begins Mon 2 Jan"]


def test_the_name_of_a_player_is_text(cast: Cast, as_: Any) -> None:
    coached(cast, name="<b>Aina</b> & Co")
    assert names(read(as_(cast.coach).get("/")))[0] == "<b>Aina</b> & Co"


def test_the_list_asks_the_database_as_often_for_fifty_players_as_for_five(
    cast: Cast, as_: Any, django_assert_max_num_queries: Any
) -> None:
    coach = as_(cast.coach)
    Academy.objects.filter(pk=cast.foreign_academy.pk).delete()

    def queries(number: int) -> int:
        while Player.objects.filter(team__person=cast.coach).count() < number:
            player = coached(cast)
            HomeBaseFactory(player=player)
            plan = SeasonPlanFactory(
                player=player, start=date(2040, 1, 2), end=date(2040, 12, 30), standing="in force"
            )
            BlockFactory(plan=plan)
            event = EventFactory(academy=cast.academy, start=date(2040, 2, 6))
            PlannedEventFactory(plan=plan, event=event, played=True)
        with django_assert_max_num_queries(20) as asked:
            assert len(names(read(coach.get("/")))) == number
        return len(asked)

    assert queries(5) == queries(50)
