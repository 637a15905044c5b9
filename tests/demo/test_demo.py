"""The demo academy, and the command that loads and serves it."""

import socket
from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from seasonplan.academy.models import Academy, Membership, Person, Player
from seasonplan.checkins.models import DayLog, EventCheckIn, SessionLog
from seasonplan.demo.academy import CALENDAR, LOG_INS, PASSWORD
from seasonplan.demo.loading import load, remove
from seasonplan.demo.management.commands.demo import free_port, welcome
from seasonplan.demo.past import tell_season_under_way
from seasonplan.events.models import Event, EventImport
from seasonplan.plans.laying_out import gather, judge_plan
from seasonplan.plans.models import SeasonPlan
from tests.demo.conftest import TODAY
from tests.factories import ConsentFactory

EVE = date(2027, 1, 3)


@pytest.fixture(scope="module")
def loaded(loading: Callable[..., Any]) -> Iterator[None]:
    with loading(with_past=False):
        yield


@pytest.fixture
def demo(loaded: None, db: None) -> Academy:
    return Academy.objects.get()


def in_force(name: str) -> SeasonPlan:
    return SeasonPlan.objects.get(player__name=name, standing="in force")


def test_the_demo_has_everybody_who_works_at_an_academy(demo: Academy) -> None:
    roles = list(demo.memberships.values_list("role", flat=True))
    assert {role: roles.count(role) for role in sorted(set(roles))} == {
        "coach": 3,
        "director": 1,
        "guardian": 2,
        "player": 2,
        "staff": 1,
    }
    coach = Person.objects.get(email="coach@demo.example")
    assert [p.name for p in Player.objects.planned_by(coach)] == [
        "Amara Detti",
        "Ines Varga",
        "Kofi Arendal",
        "Mireia Solbes",
    ]
    assert Player.objects.get(name="Ines Varga").age_on(date(2027, 1, 4)) == 15
    assert demo.players.count() == 6


def test_every_email_of_the_demo_is_under_a_domain_that_cannot_exist(demo: Academy) -> None:
    emails = Person.objects.values_list("email", flat=True)
    assert all(email.endswith(".example") for email in emails)


def test_its_event_calendar_came_through_an_import(demo: Academy) -> None:
    batch = EventImport.objects.get(academy=demo)
    assert (batch.file_name, batch.status) == ("demo-calendar.csv", "done")
    lines = CALENDAR.read_text().splitlines()
    assert demo.events.count() == len(lines) - 1 > 100


@pytest.mark.parametrize(
    ("player", "targets"),
    [
        ("Ines Varga", ["Terracotta Open", "Blue Shutter Trophy", "Sundial Trophy"]),
        (
            "Amara Detti",
            [
                "Southern Lantern Championships",
                "Brickyard Championships",
                "Greensward Championships",
                "Steel Pier Championships",
            ],
        ),
    ],
)
def test_a_season_of_the_demo_is_proven_best_and_plays_its_targets(
    demo: Academy, player: str, targets: list[str]
) -> None:
    plan = in_force(player)
    assert (plan.start, plan.end) == (date(2027, 1, 4), date(2028, 1, 2))
    assert plan.layout_status == "proven"
    rows = plan.planned_events.filter(role="target", played=True)
    assert [row.event.name for row in rows] == targets
    verdict = judge_plan(gather(plan), today=EVE)
    assert verdict.as_laid_out
    judgement = verdict.judgement
    assert judgement.breaks == 0
    assert judgement.value == pytest.approx(plan.layout_bound)


def test_no_event_of_ines_falls_into_her_exams(demo: Academy) -> None:
    played = Event.objects.filter(planned__plan=in_force("Ines Varga"), planned__played=True)
    assert played.exists()
    assert not played.filter(start__lte=date(2027, 6, 13), end__gte=date(2027, 6, 7)).exists()


def test_the_coach_has_a_working_copy_beside_the_plan_in_force(demo: Academy) -> None:
    copy = SeasonPlan.objects.get(standing="working copy")
    assert copy.based_on == in_force("Ines Varga")
    rest = copy.blocks.filter(phase="active rest")
    assert sum(block.weeks for block in rest) >= 10


def test_some_players_have_no_plan_and_one_has_no_home_base(demo: Academy) -> None:
    assert list(demo.players.filter(plans=None).values_list("name", flat=True)) == [
        "Jonas Wik",
        "Kofi Arendal",
        "Mireia Solbes",
        "Pau Solbes",
    ]
    assert [p.name for p in demo.players.filter(home_base=None)] == ["Pau Solbes"]


@pytest.mark.parametrize(
    ("today", "logged"),
    [(EVE, False), (date(2027, 1, 4), False), (date(2027, 4, 28), True)],
)
def test_of_the_season_2027_only_what_was_lived_is_logged(
    demo: Academy, today: date, logged: bool
) -> None:
    ines = demo.players.get(name="Ines Varga")
    ConsentFactory(player=ines)
    tell_season_under_way(ines, today=today)
    played = in_force("Ines Varga").planned_events.filter(played=True)
    over = played.filter(event__end__lt=today).values_list("event_id", flat=True)
    told = EventCheckIn.objects.exclude(rounds_won=None).values_list("event_id", flat=True)
    assert set(over) <= set(told) <= set(played.values_list("event_id", flat=True))
    assert not EventCheckIn.objects.filter(event__start__gte=today).exists()
    for logs in (DayLog, SessionLog):
        assert logs.objects.exists() is logged
        assert not logs.objects.filter(day__gte=today).exists()


def test_loading_again_keeps_what_was_entered_even_under_another_name(demo: Academy) -> None:
    Academy.objects.update(name="Renamed")
    Player.objects.filter(name="Kofi Arendal").update(name="Kofi A.")
    assert load(say=lambda line: None, today=TODAY, with_past=False) is False
    assert Academy.objects.get().name == "Renamed"
    assert Player.objects.filter(name="Kofi A.").exists()


def test_removing_the_demo_leaves_other_academies_alone(demo: Academy) -> None:
    own = Academy.objects.create(name="Our own")
    visitor = Person.objects.create_user("visitor@own.test", "Visitor")
    Membership.objects.create(academy=own, person=visitor, role="coach")
    Player.objects.create(academy=own, name="Own player")
    remove()
    assert list(Academy.objects.all()) == [own]
    assert list(Person.objects.all()) == [visitor]
    assert [p.name for p in Player.objects.all()] == ["Own player"]
    assert not SeasonPlan.objects.exists()


@pytest.mark.parametrize("email", [email for email, _ in LOG_INS])
def test_everybody_whom_the_demo_prints_can_sign_in_and_sees_a_page(
    demo: Academy, client: Client, email: str
) -> None:
    answer = client.post("/account/login/", {"login": email, "password": PASSWORD})
    assert answer.status_code == 302
    assert client.get("/", follow=True).status_code == 200


def test_the_demo_says_where_it_is_and_who_can_sign_in() -> None:
    text = welcome(8000)
    assert "http://127.0.0.1:8000/" in text
    assert "coach@demo.example" in text
    assert PASSWORD in text


def test_the_demo_refuses_to_run_in_production(settings: Any) -> None:
    settings.DEVELOPMENT = False
    with pytest.raises(CommandError, match="never runs in production"):
        call_command("demo")


def test_a_taken_port_is_passed_over_unless_it_was_asked_for() -> None:
    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        taken = holder.getsockname()[1]
        with pytest.raises(CommandError, match=f"Port {taken} is taken"):
            free_port(taken)
    assert free_port(taken) == taken
    assert 8000 <= free_port(None) < 8050


def test_a_port_that_cannot_be_is_refused() -> None:
    with pytest.raises(CommandError, match="Port 99999"):
        free_port(99999)
