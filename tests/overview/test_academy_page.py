"""The academy page: who sees whom, in which order, narrowed how, and what it may not say."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any
from urllib.parse import urlencode

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from openpyxl import load_workbook

from seasonplan.academy.models import Membership, Person, Player, RequiredSharing
from seasonplan.checkins.models import DayLog, HealthRead, Opened, SharingChoice
from seasonplan.overview.models import PlayerFacts, PlayerGroup, SavedView
from seasonplan.plans.models import BusyTime, PlannedEvent, SeasonPlan
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    ConsentFactory,
    DayLogFactory,
    EventCheckInFactory,
    EventFactory,
    HomeBaseFactory,
    MembershipFactory,
    PlaceFactory,
    PlannedEventFactory,
    PlayerFactory,
    SeasonPlanFactory,
    SessionLogFactory,
    TrainingSessionFactory,
    TrainingWeekFactory,
)
from tests.overview.academies import a_calendar, many_players
from tests.plans.pages import Element, read

As = Callable[[Person], Client]

# A Wednesday: the last full week is 3 to 9 May.
TODAY = date(2027, 5, 12)
HTMX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def _a_wednesday_in_may(monkeypatch: pytest.MonkeyPatch) -> None:
    now = datetime(2027, 5, 12, 9, 30, tzinfo=UTC)
    monkeypatch.setattr(timezone, "now", lambda: now)


def on(days: int) -> date:
    return TODAY + timedelta(days=days)


def rows(page: Element) -> dict[str, Element]:
    """The players on the page, by name, in order."""
    found = [row for row in page.all("tr") if row.attributes.get("id", "").startswith("player-")]
    return {row.one("th").all("a")[0].text: row for row in found}


def cell(row: Element, label: str) -> str:
    found = [td for td in row.all("td") if td.attributes["data-label"].startswith(label)]
    assert len(found) == 1
    return found[0].text


def look(client: Client, status: int = 200, **narrowing: Any) -> Element:
    return read(client.get(f"/academy/?{urlencode(narrowing)}"), status)


def season_of(player: Player, **events: dict[str, Any]) -> SeasonPlan:
    """In force: four weeks of preparation from three weeks ago, then pre-competition; with events
    of these names in ten days or when they say."""
    monday = TODAY - timedelta(days=2)
    plan: SeasonPlan = SeasonPlanFactory(
        player=player,
        start=monday - timedelta(weeks=8),
        end=monday + timedelta(weeks=20, days=-1),
        standing="in force",
    )
    BlockFactory(plan=plan, phase="competition", start=plan.start, weeks=5)
    BlockFactory(plan=plan, phase="preparation", start=monday - timedelta(weeks=3), weeks=4)
    BlockFactory(plan=plan, phase="pre-competition", start=monday + timedelta(weeks=1), weeks=19)
    place = PlaceFactory(academy=player.academy)
    for name, facts in events.items():
        said = {k: facts.pop(k) for k in ("role", "entry") if k in facts}
        event = EventFactory(
            academy=player.academy,
            place=facts.pop("place", place),
            name=name.replace("_", " "),
            start=(start := facts.pop("start", on(10))),
            end=start + timedelta(days=4),
            **facts,
        )
        PlannedEventFactory(plan=plan, event=event, played=True, **said)
    return plan


def work_out(client: Client) -> None:
    assert client.post("/academy/facts/").status_code == 302


def logged(player: Player, days_ago: int, *, step: int = 4, **said: Any) -> DayLog:
    written = datetime(2027, 5, 12, 8, tzinfo=UTC) - timedelta(days=days_ago)
    feelings = dict.fromkeys(("sleep", "freshness", "muscles", "calm", "mood"), step)
    return DayLogFactory(
        player=player, day=on(-days_ago), first_written_at=written, **(feelings | said)
    )


def poor_today(player: Player) -> DayLog:
    """Ten usual days, then one that is unlike them."""
    for days in range(1, 11):
        logged(player, days)
    return logged(player, 0, step=1)


@pytest.fixture
def ines(cast: Cast) -> Player:
    """Her guardian has consented, whatever the academy's age is."""
    ConsentFactory(player=cast.ines, given_by=cast.guardian)
    return cast.ines


# Who sees whom -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("role", "seen"),
    [
        ("director", ["Ines Varga", "Ravi Player"]),
        ("coach", ["Ines Varga"]),
        ("colleague", ["Ravi Player"]),
        ("staff", ["Ines Varga"]),
        ("foreign_coach", ["Far Player"]),
        ("foreign_director", ["Far Player"]),
    ],
)
def test_who_works_there_sees_the_players_that_are_theirs(
    cast: Cast, as_: As, role: str, seen: list[str]
) -> None:
    client = as_(cast.people()[role])
    assert sorted(rows(look(client))) == seen
    assert sorted(line["Player"] for line in table(client)) == seen
    assert sorted(element.text for element in weeks(client).all("th", scope="row")) == [
        f"{name} No plan in force" for name in seen
    ]


@pytest.mark.parametrize("role", ["player", "other_player", "guardian", "stranger"])
@pytest.mark.parametrize("path", ["", "weeks/", "players.csv", "players.xlsx", "groups/"])
def test_for_others_there_is_no_such_page(cast: Cast, as_: As, role: str, path: str) -> None:
    assert as_(cast.people()[role]).get(f"/academy/{path}").status_code == 404


def test_another_academy_is_not_there_and_of_two_one_chooses(cast: Cast, as_: As) -> None:
    coach = as_(cast.coach)
    for wanted in (cast.foreign_academy.pk, "x", 10**30):
        assert coach.get(f"/academy/?academy={wanted}").status_code == 404
    MembershipFactory(academy=cast.foreign_academy, person=cast.coach, role="staff").players.add(
        cast.foreign
    )
    assert list(rows(look(coach, academy=cast.foreign_academy.pk))) == ["Far Player"]
    assert list(rows(look(coach, academy=cast.academy.pk))) == ["Ines Varga"]
    page = look(coach)
    assert set(page.one("nav", aria_label="Academy").links()) == {
        "Tarn Valley Tennis",
        "Saltmarsh Tennis School",
    }


def test_a_guardian_who_also_coaches_there_sees_only_whom_they_coach(cast: Cast, as_: As) -> None:
    guardian = MembershipFactory(academy=cast.academy, person=cast.coach, role="guardian")
    guardian.players.add(cast.ravi)
    assert list(rows(look(as_(cast.coach)))) == ["Ines Varga"]


def test_the_header_leads_there_for_who_has_the_page(cast: Cast, as_: As) -> None:
    for role in ("coach", "director", "staff"):
        header = read(as_(cast.people()[role]).get("/me/")).one("nav", aria_label="Main")
        assert header.links()["Academy"] == "/academy/"
    assert "Academy" not in read(as_(cast.player).get("/me/")).links()


def test_an_academy_without_players_says_what_belongs_here(cast: Cast, as_: As) -> None:
    director = as_(cast.director)
    Player.objects.filter(academy=cast.academy).delete()
    assert look(director).one("div", "empty").one("h2").text == "No players yet"
    assert look(as_(cast.staff)).one("div", "empty").one("h2").text == "No player of yours yet"
    assert weeks(director).one("div", "empty")


# What a row says -----------------------------------------------------------------------------


def test_a_row_says_where_the_player_is_what_is_next_and_what_is_due(
    cast: Cast, as_: As, ines: Player
) -> None:
    lisbon = PlaceFactory(academy=cast.academy, place_name="Lisbon")
    plan = season_of(
        ines,
        Over={"start": on(-30)},
        Next={"start": on(5), "entry": "accepted", "withdrawal_deadline": on(2), "place": lisbon},
        Big={"start": on(40), "role": "target", "entry_deadline": on(20)},
        Off={"start": on(3), "cancelled": True, "entry_deadline": on(1)},
        Given_up={"start": on(4), "entry": "withdrawn", "withdrawal_deadline": on(1)},
    )
    row = rows(look(as_(cast.director)))["Ines Varga"]

    said = cell(row, "Season")
    assert said.startswith("Preparation week 4 of 4 Next Lisbon, 17–21 May in 5 days Target")
    assert said.endswith("21–25 Jun in 40 days")
    assert cell(row, "Deadlines") == (
        "Enter Big, Tue 1 Jun in 20 days Withdraw Next, Fri 14 May in 2 days"
    )
    assert cell(row, "Why").startswith("Withdraw from Next by Fri 14 May, in 2 days.")
    links = row.links()
    assert links["Ines Varga"] == f"/players/{ines.pk}/"
    assert links["Lisbon, 17–21 May"].startswith(f"/plans/{plan.pk}/")
    assert row.one("th").text == "Ines Varga Marta Coach"


def test_the_next_seasons_plan_in_force_counts_for_what_comes(
    cast: Cast, as_: As, ines: Player
) -> None:
    plan = season_of(ines)
    later = SeasonPlanFactory(
        player=ines,
        start=plan.end + timedelta(days=1),
        end=plan.end + timedelta(weeks=10),
        standing="in force",
    )
    event = EventFactory(
        academy=cast.academy, name="Far Off", start=later.start, entry_deadline=on(1)
    )
    PlannedEventFactory(plan=later, event=event, played=True)
    row = rows(look(as_(cast.director)))["Ines Varga"]
    assert cell(row, "Season").startswith("Preparation week 4 of 4 Next")
    assert cell(row, "Deadlines") == "Enter Far Off, Thu 13 May tomorrow"


def test_load_is_of_the_last_full_week_as_planned_and_as_logged(
    cast: Cast, as_: As, ines: Player
) -> None:
    for monday in (date(2027, 5, 3), date(2027, 5, 10)):
        week = TrainingWeekFactory(player=ines, monday=monday)
        for effort in (4, 6):
            TrainingSessionFactory(week=week, minutes=90, effort=effort)
    SessionLogFactory(player=ines, day=date(2027, 5, 3), minutes=80, effort=5)
    SessionLogFactory(player=ines, day=date(2027, 5, 9), minutes=60, effort=5)
    SessionLogFactory(player=ines, day=date(2027, 5, 2), minutes=600, effort=10)
    SessionLogFactory(player=ines, day=date(2027, 5, 10), minutes=600, effort=10)
    page = look(as_(cast.director))
    assert cell(rows(page)["Ines Varga"], "Load 3–9 May") == "700 logged of 900 planned"
    assert cell(rows(page)["Ravi Player"], "Load") == "–"


def test_findings_days_away_and_costs_stand_there_once_they_are_worked_out(
    cast: Cast, as_: As, ines: Player
) -> None:
    season_of(ines, Next={"start": on(5), "entry_fee": 45})
    SeasonPlan.objects.update(limits={"budget": 300.0})
    director = as_(cast.director)
    page = look(director)
    row = rows(page)["Ines Varga"]
    assert cell(row, "Plan in force") == "Plan not worked out yet"
    assert cell(row, "Away") == "–"
    assert "1 of 2 players are as of earlier or not" in page.one("div", "academy-facts").text

    work_out(director)

    page = look(director)
    row = rows(page)["Ines Varga"]
    facts = PlayerFacts.objects.get()
    assert facts.findings
    assert cell(row, "Plan in force") == f"{facts.findings} broken rules"
    assert cell(row, "Away").startswith(f"{facts.days_away} days away known costs 45 1 of 1 trip")
    assert cell(row, "Away").endswith("entry fees 45 of 300")
    assert facts.worst in cell(row, "Why")
    assert not page.one("div", "academy-facts").text


def test_a_row_as_of_earlier_says_so(cast: Cast, as_: As, ines: Player) -> None:
    season_of(ines, Next={})
    director = as_(cast.director)
    work_out(director)
    PlayerFacts.objects.update(stamp="old", made_at=datetime(2027, 5, 3, 9, tzinfo=UTC))
    assert cell(rows(look(director))["Ines Varga"], "Plan").endswith("as of 3 May")
    PlayerFacts.objects.update(made_at=datetime(2027, 5, 12, 7, 15, tzinfo=UTC))
    assert cell(rows(look(director))["Ines Varga"], "Plan").endswith("as of 07:15 UTC")


# What may be read ----------------------------------------------------------------------------


def checked_in(cast: Cast, player: Player) -> None:
    event = EventFactory(academy=cast.academy, name="Lantern Open", start=on(-20))
    EventCheckInFactory(
        player=player,
        event=event,
        energy_after=3,
        first_written_at=datetime(2027, 4, 28, 18, tzinfo=UTC),
    )


@pytest.mark.parametrize(
    ("role", "choice", "consent", "reads"),
    [
        ("coach", None, True, True),
        ("coach", (1, 1), True, True),
        ("coach", (0, 2), True, False),
        ("coach", None, False, False),
        ("staff", None, True, True),
        ("staff", (1, 1), True, False),
        ("director", (2, 2), True, False),
    ],
)
def test_energy_and_flags_are_for_whom_the_sharing_rules_name(
    cast: Cast, as_: As, role: str, choice: tuple[int, int] | None, consent: bool, reads: bool
) -> None:
    player = cast.ines
    player.birth_date = date(2013, 5, 17)
    player.save()
    if consent:
        ConsentFactory(player=player)
    if choice:
        SharingChoice.objects.create(
            player=player, health=choice[0], notes=choice[1], by_guardian=True,
            chosen_at=datetime(2027, 1, 1, tzinfo=UTC),
        )  # fmt: skip
    checked_in(cast, player)
    poor = poor_today(player)
    client = as_(cast.people()[role])

    page = look(client)
    row = rows(page)["Ines Varga"]
    line = next(line for line in table(client) if line["Player"] == "Ines Varga")

    assert "Lantern Open, 22–28 Apr" in row.text
    assert ("Energy 3 of 10 after" in row.text) == reads
    assert ("All five together 5 of 25; usually about 20." in row.text) == reads
    assert ("A reason to talk, not a diagnosis." in page.text) == reads
    assert (line["Energy (0-10)"] == "3") == reads
    assert bool(line["Flags"]) == reads
    assert bool(rows(look(client, flags="on"))) == reads
    assert ("usually about" in cell(row, "Why")) == reads
    if not reads:
        assert "Energy not shared with you" in row.text
    reader = cast.people()[role]
    shown = HealthRead.objects.filter(reader=reader, player=player)
    assert {(read.check_in is not None, read.day_log) for read in shown} == (
        {(True, None), (False, poor)} if reads else set()
    )


def test_the_usual_is_made_of_nothing_that_the_reader_may_not_read(
    cast: Cast, as_: As, ines: Player
) -> None:
    """Required since a few days: what was kept to oneself before stays so."""
    SharingChoice.objects.create(
        player=ines, health=0, notes=0, by_guardian=False,
        chosen_at=datetime(2027, 1, 1, tzinfo=UTC),
    )  # fmt: skip
    RequiredSharing.objects.create(
        academy=cast.academy, health=1, notes=0, set_at=datetime(2027, 5, 9, tzinfo=UTC)
    )
    poor_today(ines)
    assert "usually about" not in look(as_(cast.coach)).text
    RequiredSharing.objects.update(set_at=datetime(2027, 4, 1, tzinfo=UTC))
    assert "usually about" in look(as_(cast.coach)).text


def test_a_director_who_coaches_the_player_reads_as_a_coach(
    cast: Cast, as_: As, ines: Player
) -> None:
    checked_in(cast, ines)
    coach = MembershipFactory(academy=cast.academy, person=cast.director, role="coach")
    coach.players.add(ines)
    assert "Energy 3 of 10 after" in rows(look(as_(cast.director)))["Ines Varga"].text


def test_who_asks_to_talk_comes_first_for_the_coach_until_that_is_read(
    cast: Cast, as_: As, ines: Player
) -> None:
    logged(cast.ines, 2, wants_to_talk=True)
    cast.ravi.team.add(Membership.objects.get(person=cast.coach))
    season_of(cast.ravi, Soon={"entry_deadline": on(0)})
    coach = as_(cast.coach)
    page = rows(look(coach))
    assert list(page) == ["Ines Varga", "Ravi Player"]
    assert cell(page["Ines Varga"], "Why").startswith("Asks to talk, in the log of Mon 10 May.")
    assert "Asks to talk" not in look(as_(cast.director)).text
    log = DayLog.objects.get(wants_to_talk=True)
    Opened.objects.create(person=cast.coach, day_log=log, opened_at=timezone.now())
    page = rows(look(coach))
    assert list(page) == ["Ravi Player", "Ines Varga"]


def test_flags_of_a_log_of_last_week_are_no_news(cast: Cast, as_: As, ines: Player) -> None:
    for days in range(5, 16):
        logged(ines, days)
    logged(ines, 4, step=1)
    assert "usually about" not in look(as_(cast.coach)).text


# Order and narrowing -------------------------------------------------------------------------


def squad(cast: Cast) -> list[Player]:
    """Three players of the academy: a deadline soon, one later, none; by name the other way."""
    found = []
    for name, days in (("Zoë Ábrahám", 1), ("Mia Moss", 9), ("Adam Ash", None)):
        player = PlayerFactory(academy=cast.academy, name=name)
        HomeBaseFactory(player=player)
        season_of(player, **{f"{name[:3]} Open": {"entry_deadline": on(days) if days else None}})
        found.append(player)
    Player.objects.filter(pk__in=[cast.ines.pk, cast.ravi.pk]).delete()
    return found


def test_whoever_needs_attention_comes_first_or_all_by_name(cast: Cast, as_: As) -> None:
    squad(cast)
    director = as_(cast.director)
    assert list(rows(look(director))) == ["Zoë Ábrahám", "Mia Moss", "Adam Ash"]
    assert list(rows(look(director, sort="name"))) == ["Adam Ash", "Mia Moss", "Zoë Ábrahám"]
    assert cell(rows(look(director))["Adam Ash"], "Why") == "Nothing now"


@pytest.mark.parametrize(
    ("narrowing", "seen"),
    [
        ({"q": "zoe abr"}, ["Zoë Ábrahám"]),
        ({"q": "M"}, ["Zoë Ábrahám", "Mia Moss", "Adam Ash"]),
        ({"q": "moss"}, ["Mia Moss"]),
        ({"q": "%"}, []),
        ({"deadline": 1}, ["Zoë Ábrahám"]),
        ({"deadline": 9}, ["Zoë Ábrahám", "Mia Moss"]),
        ({"deadline": 0}, []),
        ({"phase": "preparation"}, ["Zoë Ábrahám", "Mia Moss", "Adam Ash"]),
        ({"phase": "competition"}, []),
        ({"phase": "none"}, []),
        ({"flags": "on"}, []),
        ({"deadline": 9, "q": "moss"}, ["Mia Moss"]),
    ],
)
def test_players_are_narrowed(
    cast: Cast, as_: As, narrowing: dict[str, Any], seen: list[str]
) -> None:
    squad(cast)
    page = look(as_(cast.director), **narrowing)
    assert list(rows(page)) == seen
    count = page.one("p", "academy-count")
    if len(seen) < 3:
        assert count.text == f"{len(seen)} of 3 players Show all"
        assert count.links()["Show all"] == f"/academy/?academy={cast.academy.pk}"


def test_by_coach_by_group_and_without_a_plan(cast: Cast, as_: As) -> None:
    zoe, _, adam = squad(cast)
    coach = Membership.objects.get(person=cast.coach)
    zoe.team.add(coach)
    juniors = PlayerGroup.objects.create(academy=cast.academy, name="Juniors")
    juniors.players.set([zoe, adam])
    adam.plans.update(standing="working copy")
    director = as_(cast.director)
    assert list(rows(look(director, coach=coach.pk))) == ["Zoë Ábrahám"]
    assert list(rows(look(director, group=juniors.pk))) == ["Zoë Ábrahám", "Adam Ash"]
    assert list(rows(look(director, phase="none"))) == ["Adam Ash"]
    assert cell(rows(look(director))["Adam Ash"], "Why") == (
        "Has a working copy, but no plan in force."
    )
    assert rows(look(director))["Zoë Ábrahám"].one("th").text == "Zoë Ábrahám Marta Coach Juniors"


def test_a_coach_is_told_of_groups_in_which_a_player_of_theirs_is(cast: Cast, as_: As) -> None:
    juniors = PlayerGroup.objects.create(academy=cast.academy, name="Juniors")
    juniors.players.set([cast.ines, cast.ravi])
    others = PlayerGroup.objects.create(academy=cast.academy, name="Others")
    others.players.set([cast.ravi])
    coach = as_(cast.coach)
    choice = look(coach).one("select", id="id_group")
    assert [option.text for option in choice.all("option")] == ["All players", "Juniors"]
    assert list(rows(look(coach, group=juniors.pk))) == ["Ines Varga"]
    look(coach, status=422, group=others.pk)


@pytest.mark.parametrize(
    ("narrowing", "said"),
    [
        ({"deadline": "soon"}, "Due within (days): Give a number of days from 0 to 366."),
        ({"deadline": -1}, "Due within (days): Give a number of days from 0 to 366."),
        ({"deadline": 10**30}, "Due within (days): Give a number of days from 0 to 366."),
        ({"phase": "sleeping"}, "Phase: This cannot be chosen here (any more)."),
        ({"coach": "1 or 1"}, "Coach: This cannot be chosen here (any more)."),
        ({"group": 99}, "Group: This cannot be chosen here (any more)."),
        (
            {"sort": "luck"},
            "In order of: Select a valid choice. luck is not one of the available choices.",
        ),
        ({"page": "x"}, "Page: Enter a whole number."),
        ({"since": "someday"}, "From the week of: Enter a valid date."),
        ({"q": "a\0b"}, "Name: Null characters are not allowed."),
        ({"q": "x" * 81}, "Name: Ensure this value has at most 80 characters (it has 81)."),
    ],
)
def test_what_is_typed_wrongly_is_said_and_the_rest_still_holds(
    cast: Cast, as_: As, narrowing: dict[str, Any], said: str
) -> None:
    other = {"q": "varga"} if "q" not in narrowing else {}
    page = look(as_(cast.director), status=422, **narrowing, **other)
    assert page.one("div", id="academy-wrong").text == said
    if other:
        assert list(rows(page)) == ["Ines Varga"]
        assert page.typed("q") == "varga"
    assert len(table(as_(cast.director), **narrowing)) == 2
    assert as_(cast.director).get("/academy/weeks/", narrowing).status_code == 422


def test_htmx_gets_the_list_and_what_is_wrong_beside_the_filter(cast: Cast, as_: As) -> None:
    answer = as_(cast.director).get("/academy/?deadline=x&q=varga", headers=HTMX)
    page = read(answer, 422)
    assert "<html" not in answer.content.decode()
    assert list(rows(page)) == ["Ines Varga"]
    assert page.one("div", id="academy-wrong").attributes["hx-swap-oob"] == "true"
    assert page.one("input", id="view-query").attributes["value"] == "q=varga"


# Many ----------------------------------------------------------------------------------------


@pytest.fixture
def crowd(cast: Cast) -> Callable[..., None]:
    """Bring the academy to so many players, each with a season, logs and training."""
    Player.objects.filter(academy=cast.academy).delete()
    calendar = a_calendar(cast.academy, start=date(2027, 1, 4), events=60)
    coach = Membership.objects.get(person=cast.coach)

    def bring(number: int, *, logs: bool = True) -> None:
        more = number - Player.objects.filter(academy=cast.academy).count()
        many_players(cast.academy, more, calendar, today=TODAY, coaches=[coach], logs=logs)

    return bring


@pytest.mark.parametrize(
    ("path", "role", "most"),
    [
        ("/academy/", "director", 14),
        ("/academy/", "coach", 20),
        ("/academy/weeks/", "director", 14),
        ("/academy/weeks/", "coach", 20),
        ("/academy/players.csv", "director", 14),
    ],
)
def test_the_database_is_asked_as_often_for_fifty_players_as_for_five(
    cast: Cast, as_: As, crowd: Callable[..., None], path: str, role: str, most: int
) -> None:
    client = as_(cast.people()[role])

    def asked(number: int) -> int:
        crowd(number)
        client.post("/academy/facts/")
        client.get(path)
        with CaptureQueriesContext(connection) as queries:
            assert client.get(path).status_code == 200
        return len(queries)

    assert asked(5) == asked(50) <= most


def test_fifty_players_make_a_page_and_the_next_come_as_one_scrolls(
    cast: Cast, as_: As, crowd: Callable[..., None]
) -> None:
    crowd(103, logs=False)
    director = as_(cast.director)
    first = look(director, sort="name")
    assert len(rows(first)) == 50
    more = first.one("tr", id="academy-more").one("a")
    url = f"/academy/?academy={cast.academy.pk}&sort=name&page=2"
    assert (more.attributes["href"], more.attributes["hx-get"]) == (url, url)

    piece = read(director.get(url, headers={**HTMX, "HX-Target": "academy-more"}))
    assert len(rows(piece)) == 50
    assert not piece.all("table")
    second, third = read(director.get(url)), look(director, sort="name", page=3)
    assert list(rows(piece)) == list(rows(second))
    assert len(rows(third)) == 3
    assert not third.all("tr", id="academy-more")
    everybody = [*rows(first), *rows(second), *rows(third)]
    assert len(set(everybody)) == 103
    assert everybody == sorted(everybody)
    assert list(rows(look(director, sort="name", page=99))) == list(rows(third))
    assert "The players before" in third.one("p", "academy-count").links()


def test_facts_are_worked_out_a_few_at_a_time_and_the_page_says_how_many_are_left(
    cast: Cast, as_: As, crowd: Callable[..., None]
) -> None:
    crowd(45, logs=False)
    director = as_(cast.director)
    state = look(director).one("div", id="academy-facts")
    assert "45 of 45 players are as of earlier or not worked out yet" in state.text
    assert state.buttons() == ["Work out 40 of them"]
    sent = {"goes-on": state.typed("goes-on")}

    state = read(director.post("/academy/facts/", sent, headers=HTMX))
    assert PlayerFacts.objects.count() == 40
    assert "5 of 45 players are as of earlier" in state.text
    assert state.buttons() == ["Work out 5 of them"]

    state = read(director.post("/academy/facts/", sent, headers=HTMX))
    assert PlayerFacts.objects.count() == 45
    assert not state.all("form")
    assert "All broken rules, days away and costs are worked out." in state.text
    assert not rows(state)


def test_few_facts_out_of_date_bring_the_list_anew_as_it_is_narrowed(
    cast: Cast, as_: As, ines: Player
) -> None:
    season_of(ines, Next={})
    answer = as_(cast.director).post("/academy/facts/", {"q": "varga"}, headers=HTMX)
    page = read(answer)
    assert list(rows(page)) == ["Ines Varga"]
    assert "not worked out yet" not in page.text
    assert page.one("div", id="academy-list").attributes["hx-swap-oob"] == "true"
    assert not page.one("div", id="academy-facts").text


def test_a_coach_works_out_the_facts_of_their_own_players_alone(
    cast: Cast, as_: As, ines: Player
) -> None:
    season_of(ines, Next={})
    season_of(cast.ravi, Other={})
    work_out(as_(cast.coach))
    assert [facts.player for facts in PlayerFacts.objects.all()] == [ines]


# Files ---------------------------------------------------------------------------------------


def table(client: Client, **narrowing: Any) -> list[dict[str, str]]:
    answer = client.get("/academy/players.csv", narrowing)
    assert answer.status_code == 200
    assert answer["Content-Disposition"] == 'attachment; filename="players.csv"'
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


def test_the_files_hold_what_is_narrowed_with_days_and_numbers_and_no_formula(
    cast: Cast, as_: As, ines: Player
) -> None:
    Player.objects.filter(pk=ines.pk).update(name="=cmd()")
    season_of(ines, Next={"start": on(5), "entry_deadline": on(2), "entry_fee": 45})
    director = as_(cast.director)
    work_out(director)
    [line] = table(director, q="cmd")
    assert line["Player"] == "'=cmd()"
    assert (line["Enter"], line["Enter by"]) == ("Next", "2027-05-14")
    assert (line["First day"], line["Phase"]) == ("2027-05-17", "Preparation")
    assert (line["Entry fees"], line["Broken rules"]) == (
        "45.00",
        str(PlayerFacts.objects.get().findings),
    )
    answer = director.get("/academy/players.xlsx?q=cmd")
    sheet = load_workbook(io.BytesIO(answer.content)).active
    assert sheet is not None
    header, row = sheet.iter_rows()
    cells = dict(zip([cell.value for cell in header], row, strict=True))
    assert (cells["Player"].value, cells["Player"].data_type) == ("'=cmd()", "s")
    assert cells["Enter by"].value == datetime(2027, 5, 14)  # noqa: DTZ001
    assert cells["Broken rules"].data_type == "n"


# Views under a name --------------------------------------------------------------------------


def test_a_view_keeps_how_the_page_is_narrowed_for_its_person_alone(cast: Cast, as_: As) -> None:
    coach = as_(cast.coach)
    sent = {"name": "Soon", "query": "deadline=7&q=v&page=3&evil=1&flags=on"}
    answer = coach.post("/academy/views/", sent)
    view = SavedView.objects.get()
    assert (view.person, view.query) == (cast.coach, "q=v&deadline=7&flags=on")
    assert answer["Location"] == f"/academy/?academy={cast.academy.pk}&{view.query}"
    page = look(coach)
    assert page.one("section", aria_labelledby="views").links() == {
        "Soon": f"/academy/?academy={cast.academy.pk}&{view.query}"
    }
    assert not look(as_(cast.director)).one("section", aria_labelledby="views").links()
    for other in (cast.director, cast.colleague, cast.stranger):
        assert as_(other).post(f"/academy/views/{view.pk}/remove/").status_code == 404
    assert coach.post(f"/academy/views/{view.pk}/remove/").status_code == 302
    assert not SavedView.objects.exists()


def test_a_view_without_a_name_of_its_own_is_refused_and_nothing_typed_is_lost(
    cast: Cast, as_: As
) -> None:
    coach = as_(cast.coach)
    sent = {"name": "Soon", "query": "q=varga"}
    coach.post("/academy/views/", sent)
    page = read(coach.post("/academy/views/", sent), 422)
    assert page.wrong("name") == "You have a view of this name already."
    assert (page.typed("name"), page.typed("q"), page.typed("query")) == (
        "Soon",
        "varga",
        "q=varga",
    )
    page = read(coach.post("/academy/views/", {"name": "", "query": "q=varga"}), 422)
    assert page.wrong("name") == "This field is required."
    page = read(coach.post("/academy/views/", {"name": "Odd", "query": "deadline=x"}), 422)
    assert "Give a number of days" in page.one("div", id="academy-wrong").text
    assert SavedView.objects.count() == 1
    # Another person may use the same name.
    assert as_(cast.director).post("/academy/views/", sent).status_code == 302


# Groups --------------------------------------------------------------------------------------


def test_a_director_makes_changes_and_removes_groups(cast: Cast, as_: As) -> None:
    director = as_(cast.director)
    sent = {"name": "Juniors", "players": [cast.ines.pk, cast.ravi.pk]}
    assert director.post("/academy/groups/", sent).status_code == 302
    group = PlayerGroup.objects.get()
    assert set(group.players.all()) == {cast.ines, cast.ravi}
    page = read(director.get("/academy/groups/"))
    assert "Juniors 2 players" in page.one("ul", "academy-groups").text
    path = f"/academy/groups/{group.pk}/"
    assert director.post(path, {"name": "Squad", "players": [cast.ines.pk]}).status_code == 302
    group.refresh_from_db()
    assert (group.name, list(group.players.all())) == ("Squad", [cast.ines])
    assert director.post(f"{path}remove/").status_code == 302
    assert not PlayerGroup.objects.exists()
    assert Player.objects.filter(academy=cast.academy).count() == 2


def test_a_group_holds_players_of_its_academy_and_has_a_name_of_its_own(
    cast: Cast, as_: As
) -> None:
    director = as_(cast.director)
    page = read(
        director.post("/academy/groups/", {"name": "Odd", "players": [cast.foreign.pk]}), 422
    )
    assert page.typed("name") == "Odd"
    PlayerGroup.objects.create(academy=cast.academy, name="Juniors")
    page = read(director.post("/academy/groups/", {"name": "Juniors"}), 422)
    assert page.wrong("name") == "The academy has a group of this name already."
    assert (
        as_(cast.foreign_director).post("/academy/groups/", {"name": "Juniors"}).status_code == 302
    )


# Week by week --------------------------------------------------------------------------------


def weeks(client: Client, **narrowing: Any) -> Element:
    return read(client.get("/academy/weeks/", narrowing))


def cells_of(page: Element, name: str) -> dict[str, str]:
    row = next(row for row in page.one("table").all("tr") if row.all("th")[0].text.startswith(name))
    return {td.attributes["data-label"]: td.text for td in row.all("td")}


def sends(cast: Cast, player: Player, event: str, *coaches: Person) -> str:
    """Where to say which coach travels with the player, after saying it."""
    found = PlannedEvent.objects.get(plan__player=player, event__name=event).event
    path = f"/players/{player.pk}/events/{found.pk}/coaches/"
    ids = [Membership.objects.get(person=coach, role="coach").pk for coach in coaches]
    client = Client()
    client.force_login(cast.director, backend="allauth.account.auth_backends.AuthenticationBackend")
    assert client.post(path, {"coaches": ids}).status_code == 302
    return path


def test_the_weeks_say_phase_event_and_which_coach_travels(
    cast: Cast, as_: As, ines: Player
) -> None:
    lisbon = PlaceFactory(academy=cast.academy, place_name="Lisbon")
    season_of(ines, Lantern={"start": date(2027, 5, 24), "place": lisbon, "role": "target"})
    sends(cast, ines, "Lantern", cast.coach, cast.colleague)
    found = cells_of(weeks(as_(cast.coach)), "Ines Varga")
    assert list(found)[:3] == [
        "Week 19, 10–16 May",
        "Week 20, 17–23 May",
        "Week 21, 24–30 May",
    ]
    assert len(found) == 12
    assert found["Week 19, 10–16 May"] == "Preparation"
    assert found["Week 21, 24–30 May"] == (
        "Pre-competition Lisbon Target "
        "with Colin Colleague and Marta Coach for Ines Varga at Lantern"
    )
    later = cells_of(weeks(as_(cast.coach), since="2027-05-26"), "Ines Varga")
    assert next(iter(later)) == "Week 21, 24–30 May"


def test_a_coach_at_two_places_in_one_week_is_named(cast: Cast, as_: As, ines: Player) -> None:
    lisbon = PlaceFactory(academy=cast.academy, place_name="Lisbon")
    rome = PlaceFactory(academy=cast.academy, place_name="Rome")
    season_of(ines, Lantern={"start": date(2027, 5, 24), "place": lisbon})
    season_of(cast.ravi, Copper={"start": date(2027, 5, 25), "place": rome})
    sends(cast, ines, "Lantern", cast.coach)
    sends(cast, cast.ravi, "Copper", cast.colleague)
    director = as_(cast.director)
    assert (
        "None among the travels" in weeks(director).one("section", aria_labelledby="clashes").text
    )
    sends(cast, cast.ravi, "Copper", cast.coach, cast.colleague)
    clashes = weeks(director).one("ul", "academy-clashes").text
    assert clashes == (
        "Marta Coach , Week 21, 24–30 May: Lisbon (Lantern) with Ines Varga; "
        "Rome (Copper) with Ravi Player."
    )
    # Whoever does not see Ravi is not told where he is.
    assert "Rome" not in weeks(as_(cast.coach)).text
    # An event that the plan does not hold any more clashes with nothing.
    PlannedEvent.objects.filter(event__name="Copper").update(played=False)
    assert not weeks(director).all("ul", "academy-clashes")


def test_who_says_which_coach_travels(cast: Cast, as_: As, ines: Player) -> None:
    season_of(ines, Lantern={})
    path = sends(cast, ines, "Lantern", cast.colleague)
    coach = Membership.objects.get(person=cast.coach)
    page = read(as_(cast.coach).get(path))
    assert [box.attributes["value"] for box in page.all("input", name="coaches")] == [
        str(Membership.objects.get(person=person).pk) for person in (cast.colleague, cast.coach)
    ]
    assert as_(cast.coach).post(path, {"coaches": [coach.pk]}).status_code == 302
    assert [t.coach for t in ines.coach_travels.all()] == [coach]
    staff = as_(cast.staff)
    assert not read(staff.get(path)).all("input", name="coaches")
    assert "Marta Coach" in read(staff.get(path)).one("main").text
    assert staff.post(path, {"coaches": []}).status_code == 403
    for other in (cast.player, cast.guardian, cast.colleague, cast.foreign_director):
        assert as_(other).get(path).status_code == 404
        assert as_(other).post(path).status_code == 404
    assert as_(cast.coach).post(path, {"coaches": []}).status_code == 302
    assert not ines.coach_travels.exists()


def test_only_a_coach_of_the_academy_travels_and_only_to_an_event_of_the_plan(
    cast: Cast, as_: As, ines: Player
) -> None:
    season_of(ines, Lantern={})
    path = sends(cast, ines, "Lantern")
    coach = as_(cast.coach)
    for person in (cast.foreign_coach, cast.staff):
        wrong = Membership.objects.get(person=person).pk
        read(coach.post(path, {"coaches": [wrong]}), 422)
    other = EventFactory(academy=cast.academy)
    assert coach.get(f"/players/{ines.pk}/events/{other.pk}/coaches/").status_code == 404


def test_busy_days_are_no_reason_to_look(cast: Cast, as_: As, ines: Player) -> None:
    season_of(ines)
    BusyTime.objects.create(player=ines, start=on(0), end=on(3))
    assert cell(rows(look(as_(cast.director)))["Ines Varga"], "Why") == "Nothing now"
