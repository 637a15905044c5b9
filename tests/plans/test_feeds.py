"""The calendar feed: its secret address, who reads what in it, and that it is a sound calendar."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import icalendar
import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from seasonplan.academy.models import Person, Player
from seasonplan.events.models import Event
from seasonplan.plans import feeds
from seasonplan.plans.models import FeedAddress, SeasonPlan
from seasonplan.plans.standing import copy_plan, put_in_force
from seasonplan.web.log import OneLine
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    BusyTimeFactory,
    DayLogFactory,
    EventCheckInFactory,
    EventFactory,
    PlannedEventFactory,
    PlayerFactory,
    SeasonPlanFactory,
    SessionLogFactory,
)
from tests.ical_rules import faults
from tests.plans.conftest import START, TenWeeks, week
from tests.plans.pages import read

NOW = datetime(2040, 1, 4, 9, 30, tzinfo=UTC)


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch) -> Callable[[datetime], None]:
    """`at(moment)` sets the clock."""

    def go(moment: datetime) -> None:
        monkeypatch.setattr(timezone, "now", lambda: moment)

    return go


@pytest.fixture(autouse=True)
def _january(at: Callable[[datetime], None]) -> None:
    at(NOW)


@pytest.fixture
def season(ten_weeks: TenWeeks) -> SeasonPlan:
    """Ines plays one event, in Barcelona, and trains before it."""
    plan = ten_weeks.plan
    BlockFactory(plan=plan, phase="preparation", weeks=6)
    BlockFactory(plan=plan, phase="active rest", start=week(7)["start"], weeks=4)
    Event.objects.filter(pk=ten_weeks.lantern.pk).update(entry_deadline=date(2040, 1, 23))
    PlannedEventFactory(plan=plan, event=ten_weeks.lantern, played=True)
    put_in_force(plan, now=NOW)
    return plan


def address_of(person: Person) -> str:
    return f"/feeds/{feeds.make_address(person, now=NOW)}.ics"


def fetch(address: str, **headers: str) -> HttpResponse:
    """What a calendar program gets, which is not signed in."""
    answer: HttpResponse = Client().get(address, headers=headers)
    return answer


def calendar_of(person: Person) -> icalendar.Calendar:
    """The person's feed, sound by the RFC's rules, as another library reads it."""
    answer = fetch(address_of(person))
    assert answer.status_code == 200
    assert faults(answer.content) == []
    calendar = icalendar.Calendar.from_ical(answer.content)
    assert isinstance(calendar, icalendar.Calendar)
    return calendar


def summaries(person: Person) -> list[str]:
    return [str(event["SUMMARY"]) for event in calendar_of(person).events]


def another_season(cast: Cast, player: Player) -> SeasonPlan:
    plan: SeasonPlan = SeasonPlanFactory(
        player=player, start=START, end=date(2040, 3, 11), name="Another"
    )
    BlockFactory(plan=plan, phase="preparation", weeks=10)
    event = EventFactory(academy=player.academy, name=f"Cup of {player.name}", **week(5))
    PlannedEventFactory(plan=plan, event=event, played=True)
    put_in_force(plan, now=NOW)
    return plan


# What is in it -------------------------------------------------------------------------------


def test_the_players_season_as_another_library_reads_it(cast: Cast, season: SeasonPlan) -> None:
    """All of it, with the last day of each as the day before DTEND."""
    assert [
        (str(e["SUMMARY"]), f"{e['DTSTART'].dt:%d %b}", f"{e['DTEND'].dt:%d %b}", e["TRANSP"])
        for e in calendar_of(cast.player).events
    ] == [
        ("Enter Lantern Open, Barcelona", "23 Jan", "24 Jan", "TRANSPARENT"),
        ("Leave for Barcelona", "19 Feb", "20 Feb", "OPAQUE"),
        ("Arrive in Barcelona", "20 Feb", "21 Feb", "TRANSPARENT"),
        ("Lantern Open, Barcelona", "20 Feb", "26 Feb", "OPAQUE"),
        ("Travel home from Barcelona", "26 Feb", "27 Feb", "OPAQUE"),
        ("Check in after Lantern Open", "26 Feb", "27 Feb", "TRANSPARENT"),
        ("Preparation", "02 Jan", "13 Feb", "TRANSPARENT"),
        ("Active rest", "13 Feb", "12 Mar", "TRANSPARENT"),
    ]


def test_the_event_says_where_and_leads_to_its_page(cast: Cast, season: SeasonPlan) -> None:
    [event] = [
        e for e in calendar_of(cast.player).events if e["SUMMARY"] == "Lantern Open, Barcelona"
    ]
    assert event["LOCATION"] == "Barcelona, Spain"
    assert event["DESCRIPTION"] == "Clay."
    found = Event.objects.get(name="Lantern Open")
    assert event["URL"] == f"http://testserver/plans/{season.pk}/events/{found.pk}/"


def test_alarms_come_on_the_evenings_before(cast: Cast, season: SeasonPlan) -> None:
    """Whole days begin at the reader's own midnight, from which the alarms count."""
    found = {
        str(event["SUMMARY"]): [
            f"{_midnight(event) + alarm['TRIGGER'].dt:%d %b %H:%M}"
            for alarm in event.walk("VALARM")
        ]
        for event in calendar_of(cast.player).events
    }
    assert {name: times for name, times in found.items() if times} == {
        "Enter Lantern Open, Barcelona": ["20 Jan 17:00", "22 Jan 17:00"],
        "Leave for Barcelona": ["18 Feb 18:00"],
        "Travel home from Barcelona": ["25 Feb 18:00"],
        "Check in after Lantern Open": ["26 Feb 18:00"],
    }


def _midnight(event: icalendar.Event) -> datetime:
    return datetime.combine(event["DTSTART"].dt, datetime.min.time())


def test_nothing_about_health_gets_out(cast: Cast, season: SeasonPlan) -> None:
    lantern = Event.objects.get(name="Lantern Open")
    words = {"private_note": "zqhealth", "went_well": "zqhealth", "do_differently": "zqhealth"}
    EventCheckInFactory(player=cast.ines, event=lantern, soreness=9, **words)
    DayLogFactory(player=cast.ines, problem="injury", note="zqhealth", private_note="zqhealth")
    SessionLogFactory(player=cast.ines, what="zqhealth")
    BusyTimeFactory(player=cast.ines, **week(3), why="zqhealth surgery")
    for person in (cast.player, cast.coach, cast.guardian, cast.staff, cast.director):
        text = fetch(address_of(person)).content.decode().lower()
        assert "lantern open" in text
        for word in ("zqhealth", "surgery", "injury", "sore"):
            assert word not in text.replace("\r\n ", "")


def test_odd_names_stay_whole(cast: Cast, season: SeasonPlan) -> None:
    """Separators, line breaks and long names of letters that take several octets."""
    name = "Ñandú; \\ Copa, Älv–Öppet\nBEGIN:VEVENT " + 20 * "é"
    Event.objects.filter(name="Lantern Open").update(name=name)
    assert f"{name}, Barcelona" in summaries(cast.player)


# Who reads what ------------------------------------------------------------------------------


def test_a_coach_reads_their_players_by_name(cast: Cast, season: SeasonPlan) -> None:
    another_season(cast, cast.ravi)
    said = summaries(cast.coach)
    assert "Ines Varga: Lantern Open, Barcelona" in said
    assert "Ines Varga: Check in after Lantern Open" in said
    assert all(one.startswith("Ines Varga: ") for one in said)
    alarms = {str(e["SUMMARY"]) for e in calendar_of(cast.coach).events if e.walk("VALARM")}
    assert alarms == {"Ines Varga: Enter Lantern Open, Barcelona"}


def test_a_guardian_reads_their_child_and_is_told_of_journeys(
    cast: Cast, season: SeasonPlan
) -> None:
    another_season(cast, cast.ravi)
    events = calendar_of(cast.guardian).events
    assert all(str(e["SUMMARY"]).startswith("Ines Varga: ") for e in events)
    assert not any("Check in" in e["SUMMARY"] for e in events)
    assert not any(e["TRANSP"] == "OPAQUE" for e in events)
    assert "Ines Varga: Leave for Barcelona" in {
        str(e["SUMMARY"]) for e in events if e.walk("VALARM")
    }


@pytest.mark.parametrize("role", ["staff", "director"])
def test_staff_and_directors_read_without_alarms(cast: Cast, season: SeasonPlan, role: str) -> None:
    another_season(cast, cast.ravi)
    events = calendar_of(cast.people()[role]).events
    names = {str(e["SUMMARY"]).partition(":")[0] for e in events}
    assert names == ({"Ines Varga", "Ravi Player"} if role == "director" else {"Ines Varga"})
    assert not any(e.walk("VALARM") for e in events)


@pytest.mark.parametrize("role", ["other_player", "colleague", "foreign_coach", "stranger"])
def test_who_does_not_see_the_season_reads_nothing_of_it(
    cast: Cast, season: SeasonPlan, role: str
) -> None:
    assert summaries(cast.people()[role]) == []


def test_only_the_plan_in_force_is_read(cast: Cast, season: SeasonPlan) -> None:
    copy = copy_plan(season, name="What if")
    secret = EventFactory(academy=cast.academy, name="Not told yet", **week(4))
    PlannedEventFactory(plan=copy, event=secret, played=True)
    for person in (cast.player, cast.coach):
        assert not any("Not told yet" in said for said in summaries(person))
    put_in_force(copy, now=NOW)
    assert any(said.startswith("Not told yet") for said in summaries(cast.player))


def test_a_feed_shrinks_to_what_is_seen_now(cast: Cast, season: SeasonPlan) -> None:
    address = address_of(cast.coach)
    assert b"Lantern Open" in fetch(address).content
    cast.ines.team.remove(cast.academy.memberships.get(person=cast.coach))
    after = fetch(address)
    assert b"Lantern Open" not in after.content
    assert faults(after.content) == []


def test_a_person_who_may_not_sign_in_reads_an_empty_calendar(
    cast: Cast, season: SeasonPlan
) -> None:
    address = address_of(cast.player)
    Person.objects.filter(pk=cast.player.pk).update(is_active=False)
    answer = fetch(address)
    assert faults(answer.content) == []
    assert icalendar.Calendar.from_ical(answer.content).events == []


def test_a_season_long_over_is_left_out(
    cast: Cast, season: SeasonPlan, at: Callable[[datetime], None]
) -> None:
    address = address_of(cast.player)
    at(datetime(2040, 6, 9, tzinfo=UTC))
    assert b"Lantern" in fetch(address).content
    at(datetime(2040, 6, 10, tzinfo=UTC))
    assert b"Lantern" not in fetch(address).content


# The address ---------------------------------------------------------------------------------


def test_an_unknown_address_is_not_found(cast: Cast, season: SeasonPlan) -> None:
    address_of(cast.player)
    stored = FeedAddress.objects.get().token_hash
    for guess in ("x", "x" * 43, "None", stored, "é"):
        assert fetch(f"/feeds/{guess}.ics").status_code == 404


def test_a_new_address_ends_the_old_one(cast: Cast, season: SeasonPlan) -> None:
    old, new = address_of(cast.player), address_of(cast.player)
    assert [fetch(old).status_code, fetch(new).status_code] == [404, 200]


def test_an_address_taken_back_is_not_found(cast: Cast, season: SeasonPlan, as_: Any) -> None:
    address = address_of(cast.player)
    answer = as_(cast.player).post("/me/calendar/take-back/")
    assert (answer.status_code, answer.url) == (302, "/me/calendar/")
    assert fetch(address).status_code == 404
    assert as_(cast.player).post("/me/calendar/take-back/").status_code == 302


def test_taking_back_ends_nobody_elses(cast: Cast, season: SeasonPlan, as_: Any) -> None:
    address = address_of(cast.coach)
    address_of(cast.player)
    as_(cast.player).post("/me/calendar/take-back/")
    assert fetch(address).status_code == 200


def test_the_address_is_shown_once_and_kept_as_a_hash(
    cast: Cast, season: SeasonPlan, as_: Any
) -> None:
    client = as_(cast.player)
    assert read(client.get("/me/calendar/")).all(id="link") == []
    assert client.post("/me/calendar/").status_code == 302
    shown = client.get("/me/calendar/")
    link = read(shown).one(id="link").attributes["value"]
    assert link.startswith("http://testserver/feeds/")
    assert f'href="webcal:{link.removeprefix("http:")}"' in shown.content.decode()
    assert "no-store" in shown.headers["Cache-Control"]
    token = link.removeprefix("http://testserver/feeds/").removesuffix(".ics")
    assert len(token) == 43  # 256 bits
    assert fetch(link).status_code == 200

    again = client.get("/me/calendar/").content.decode()
    assert token not in again
    assert "You have an address since 4 January 2040" in again
    for row in (*FeedAddress.objects.values(), *Session.objects.values()):
        assert token not in str(row)


def test_the_page_says_whose_season_is_in_it(cast: Cast, season: SeasonPlan, as_: Any) -> None:
    text = read(as_(cast.coach).get("/me/calendar/")).one("main").text
    assert "Ines Varga: of each plan in force" in text
    assert "Whoever has the address can read the calendar" in text
    empty = read(as_(cast.stranger).get("/me/calendar/")).one("main").text
    assert "no season that you see has a plan in force" in empty


@pytest.mark.parametrize("page", ["/me/", "/phone/me/"])
def test_the_page_is_found(cast: Cast, as_: Any, page: str) -> None:
    assert 'href="/me/calendar/"' in as_(cast.player).get(page).content.decode()


# The answer ----------------------------------------------------------------------------------


def test_the_answer_is_kept_from_proxies_and_search_engines(cast: Cast, season: SeasonPlan) -> None:
    answer = fetch(address_of(cast.player))
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer.headers["Cache-Control"] == "private, no-cache"
    assert answer.headers["X-Robots-Tag"] == "noindex, nofollow"
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    assert "Set-Cookie" not in answer.headers


def test_a_copy_of_the_file_does_not_hold_the_address(cast: Cast, season: SeasonPlan) -> None:
    address = address_of(cast.player)
    token = address.removeprefix("/feeds/").removesuffix(".ics")
    assert token not in fetch(address).content.decode().replace("\r\n ", "")


def test_what_has_not_changed_is_not_sent_again(
    cast: Cast, season: SeasonPlan, at: Callable[[datetime], None]
) -> None:
    address = address_of(cast.player)
    first = fetch(address)
    at(NOW + timedelta(days=1))
    same = fetch(address, **{"If-None-Match": first.headers["ETag"]})
    assert (same.status_code, same.content) == (304, b"")
    assert same.headers["ETag"] == first.headers["ETag"]
    assert same.headers["Cache-Control"] == "private, no-cache"

    Event.objects.filter(name="Lantern Open").update(entry_deadline=date(2040, 1, 24))
    changed = fetch(address, **{"If-None-Match": first.headers["ETag"]})
    assert changed.status_code == 200
    assert changed.headers["ETag"] != first.headers["ETag"]


def test_a_change_raises_the_sequence_and_says_when(
    cast: Cast, season: SeasonPlan, at: Callable[[datetime], None]
) -> None:
    """RFC 5545, 3.8.7: DTSTAMP and LAST-MODIFIED in UTC; SEQUENCE only ever rises."""
    before = calendar_of(cast.player).events[0]
    assert (before["SEQUENCE"], before["DTSTAMP"].dt) == (1, NOW)

    later = NOW + timedelta(days=2)
    at(later)
    same = calendar_of(cast.player).events[0]
    assert (same["SEQUENCE"], same["DTSTAMP"].dt) == (1, NOW)

    Event.objects.filter(name="Lantern Open").update(entry_deadline=date(2040, 1, 24))
    after = calendar_of(cast.player).events[0]
    assert (after["SEQUENCE"], after["LAST-MODIFIED"].dt) == (2, later)
    assert after["UID"] == before["UID"]


def test_entries_stay_the_same_ones(cast: Cast, season: SeasonPlan) -> None:
    """Through a new address and another plan put in force; but every feed has its own."""

    def uids(person: Person) -> set[str]:
        return {str(event["UID"]) for event in calendar_of(person).events}

    before = uids(cast.player)
    feeds.take_back(cast.player)
    put_in_force(copy_plan(season, name="The same again"), now=NOW)
    assert uids(cast.player) == before
    assert not uids(cast.coach) & before


def test_a_log_line_does_not_give_the_address_away(
    cast: Cast, season: SeasonPlan, caplog: pytest.LogCaptureFixture
) -> None:
    given = settings.LOGGING["formatters"]["line"]
    line = OneLine(**{name: value for name, value in given.items() if name != "()"})
    address = address_of(cast.player)
    token = address.removeprefix("/feeds/").removesuffix(".ics")
    with caplog.at_level(logging.INFO):
        assert Client().post(address).status_code == 405
    assert any("/feeds/" in line.format(each) for each in caplog.records)
    assert not any(token in line.format(each) for each in caplog.records)


# How much it asks ----------------------------------------------------------------------------


def test_twelve_players_cost_as_many_queries_as_one(
    cast: Cast, season: SeasonPlan, django_assert_max_num_queries: Any
) -> None:
    address = address_of(cast.coach)
    with django_assert_max_num_queries(19) as one:
        fetch(address)
    membership = cast.academy.memberships.get(person=cast.coach)
    for _ in range(11):
        player = PlayerFactory(academy=cast.academy)
        player.team.add(membership)
        another_season(cast, player)
    with django_assert_max_num_queries(19) as twelve:
        answer = fetch(address)
    assert len(twelve) == len(one)
    assert answer.content.count(b"CATEGORIES:Event") == 12


def test_the_page_asks_the_same_for_twelve_players(
    cast: Cast, season: SeasonPlan, as_: Any, django_assert_max_num_queries: Any
) -> None:
    client = as_(cast.coach)
    with django_assert_max_num_queries(10) as one:
        client.get("/me/calendar/")
    membership = cast.academy.memberships.get(person=cast.coach)
    for _ in range(11):
        player = PlayerFactory(academy=cast.academy)
        player.team.add(membership)
        another_season(cast, player)
    with django_assert_max_num_queries(10) as twelve:
        answer = client.get("/me/calendar/")
    assert len(twelve) == len(one)
    assert "Player" in read(answer).one("main").text
