"""The week screen: who sees what of a week, planned and done side by side, and why."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from seasonplan.training.models import PlayerTraining
from tests.conftest import Cast
from tests.factories import SessionLogFactory
from tests.plans.pages import Element, read
from tests.training.season import MONDAY, NEXT, NOW, SWAP, a_season, a_session, a_week, url

As = Callable[..., Client]


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: NOW)


def day(page: Element, iso: str) -> Element:
    return page.one("li", id=f"day-{iso}")


def figures(page: Element) -> dict[str, list[str]]:
    """Target, planned and done of each line of the week's figures."""
    table = page.one("table", "week-figures").one("tbody")
    return {row.one("th").text: [cell.text for cell in row.all("td")] for row in table.all("tr")}


@pytest.mark.parametrize("role", ["coach", "player", "staff", "guardian", "director"])
def test_everybody_around_the_player_sees_the_week(role: str, cast: Cast, as_: As) -> None:
    a_season(cast)
    a_session(a_week(cast.ines, note="Exam on Thursday"), 1, name="Serve blocks", minutes=75)

    page = read(as_(getattr(cast, role)).get(url(cast.ines)))

    assert "Serve blocks" in day(page, "2027-03-02").text
    assert "Exam on Thursday" in page.text
    assert "Preparation , week 9 of 12" in page.one(id="week-head").text


@pytest.mark.parametrize(
    "role", ["colleague", "other_player", "foreign_coach", "foreign_director", "stranger"]
)
def test_to_everybody_else_there_is_no_such_week(role: str, cast: Cast, as_: As) -> None:
    client = as_(getattr(cast, role))

    assert client.get(url(cast.ines)).status_code == 404
    assert client.get(url(cast.ines, MONDAY + timedelta(days=2))).status_code == 404
    assert client.post(url(cast.ines, edit=True), {"do": "empty", "revision": 0}).status_code == 404


def test_only_the_coach_is_offered_to_change_the_week(cast: Cast, as_: As) -> None:
    a_season(cast)
    a_session(a_week(cast.ines))

    offered = {
        role: "Fill this week" in read(as_(getattr(cast, role)).get(url(cast.ines))).buttons()
        for role in ("coach", "player", "staff", "guardian", "director")
    }

    assert offered == {
        "coach": True,
        "player": False,
        "staff": False,
        "guardian": False,
        "director": False,
    }


def test_staff_is_offered_the_part_that_was_given_to_them(cast: Cast, as_: As) -> None:
    a_season(cast)
    PlayerTraining.objects.create(player=cast.ines, off_court_by_staff=True)
    week = a_week(cast.ines)
    on = a_session(week, 0, name="Serve blocks")
    off = a_session(week, 1, name="Squats", court="off court", emphasis="strength")

    staff = read(as_(cast.staff).get(url(cast.ines)))
    coach = read(as_(cast.coach).get(url(cast.ines)))

    assert [e.attributes["data-session"] for e in staff.all(klass="session", data_name="Squats")]
    assert not staff.all(data_session=str(on.key))
    assert not coach.all(data_session=str(off.key))
    assert "Fill this week off court" in staff.buttons()
    assert "Fill this week on court" in coach.buttons()


def test_any_day_leads_to_the_monday_of_its_week(cast: Cast, as_: As) -> None:
    answer = as_(cast.player).get(url(cast.ines, date(2027, 3, 5)))

    assert (answer.status_code, answer["Location"]) == (302, url(cast.ines, NEXT))


@pytest.mark.parametrize(
    "text", ["tomorrow", "2027-13-01", "20270301x", "1899-01-02", "9998-12-27"]
)
def test_what_is_no_day_of_any_season_is_not_found(text: str, cast: Cast, as_: As) -> None:
    assert as_(cast.coach).get(f"/players/{cast.ines.pk}/weeks/{text}/").status_code == 404


def test_planned_and_done_stand_side_by_side(cast: Cast, as_: As) -> None:
    a_season(cast)
    week = a_week(cast.ines, MONDAY)
    serve = a_session(week, 0, name="Serve blocks", minutes=90, effort=6)
    missed = a_session(week, 1, name="Easy run", minutes=30, effort=4, court="off court")
    SessionLogFactory(
        player=cast.ines, day=MONDAY, what="Serve blocks", minutes=75, effort=7,
        session=serve.key, planned_key=serve.key,
    )  # fmt: skip
    SessionLogFactory(
        player=cast.ines, day=MONDAY + timedelta(days=1), what="Football", minutes=40, effort=5
    )

    page = read(as_(cast.coach).get(url(cast.ines, MONDAY)))

    monday, tuesday = day(page, "2027-02-22"), day(page, "2027-02-23")
    assert monday.one("dl", "pair").text == (
        "Planned 90 min effort 6 load 540 Done 75 min effort 7 load 525"
    )
    assert "Planned 1 h 30, load 540 Done 1 h 15, load 525" in monday.one(klass="day-foot").text
    assert missed.name in tuesday.text
    assert "not logged" in tuesday.text
    assert "Football Not planned Done 40 min effort 5 load 200" in tuesday.text
    assert figures(page)["Load"][1:] == ["660", "725"]
    assert figures(page)["Together"][1:] == ["2 h", "1 h 55"]
    assert figures(page)["Mean effort"][1:] == ["5.5", "6.3"]


def test_a_session_done_on_another_day_counts_on_that_day(cast: Cast, as_: As) -> None:
    serve = a_session(a_week(cast.ines, MONDAY), 0, name="Serve blocks")
    SessionLogFactory(
        player=cast.ines, day=MONDAY + timedelta(days=1), minutes=90, effort=6,
        session=serve.key, planned_key=serve.key, as_planned=True,
    )  # fmt: skip

    page = read(as_(cast.coach).get(url(cast.ines, MONDAY)))

    words = day(page, "2027-02-22").text.replace("\N{NO-BREAK SPACE}", " ")
    assert "Done as planned on Tue 23 Feb" in words
    assert "Done 1 h 30, load 540" in day(page, "2027-02-23").one(klass="day-foot").text
    assert "Not planned" not in day(page, "2027-02-23").text
    assert "Done 1 h 30" not in day(page, "2027-02-22").one(klass="day-foot").text


def test_a_day_says_in_words_what_it_is(cast: Cast, as_: As) -> None:
    a_season(cast)
    client = as_(cast.player)

    busy = day(read(client.get(url(cast.ines, NEXT))), "2027-03-04")
    before = read(client.get(url(cast.ines, date(2027, 5, 3))))
    match = day(read(client.get(url(cast.ines, date(2027, 5, 10)))), "2027-05-10")

    assert "Busy: School exam" in busy.text
    assert "Taper:" in day(before, "2027-05-08").text
    assert "Match day: Lantern Cup" in match.text
    assert "matches expected" in match.text


def test_the_target_has_its_reasons_and_findings_stand_at_their_days(cast: Cast, as_: As) -> None:
    a_season(cast)
    week = a_week(cast.ines)
    a_session(week, 1, name="Sprints", effort=8, court="off court", emphasis="speed and agility")
    a_session(week, 2, name="Hard sets", effort=9)

    page = read(as_(cast.coach).get(url(cast.ines)))

    hard = [li for li in page.one(id="week-findings").all("li") if "Hard days" in li.text]
    assert len(hard) == 1
    for iso in ("2027-03-02", "2027-03-03"):
        assert day(page, iso).links()["Hard days"] == f"#{hard[0].attributes['id']}"
    assert figures(page)["On court"][0] != ""
    assert page.one(id="week-reasons").all("li")


def test_a_week_outside_any_season_has_no_target_but_sessions(cast: Cast, as_: As) -> None:
    a_session(a_week(cast.ines, date(2030, 7, 1)), 0, name="Beach day", court="off court")

    page = read(as_(cast.coach).get(url(cast.ines, date(2030, 7, 1))))

    assert "Beach day" in day(page, "2030-07-01").text
    assert "Fill this week" not in page.buttons()
    assert figures(page)["Sessions"] == ["1", ""]


def test_weeks_lead_to_one_another(cast: Cast, as_: As) -> None:
    links = read(as_(cast.player).get(url(cast.ines, NEXT))).links()

    assert links["Week before"] == links["This week"] == url(cast.ines, MONDAY)
    assert links["Week after"] == url(cast.ines, date(2027, 3, 8))


def test_a_session_opens_beside_the_week_with_and_without_a_script(cast: Cast, as_: As) -> None:
    a_season(cast)
    row = a_session(a_week(cast.ines), 1, name="Serve blocks", note="Slow feet first")
    address = f"{url(cast.ines)}?session={row.key}"

    for person, buttons in ((cast.coach, True), (cast.player, False)):
        page = read(as_(person).get(address))
        piece = read(as_(person).get(address, headers=SWAP))

        for found in (page.one(id="panel"), piece.one(id="panel")):
            assert "Serve blocks" in found.text
            assert ("Remove" in found.buttons()) is buttons
            assert ("Slow feet first" in found.text) or buttons
        assert not piece.all(id="week-days")


def test_there_is_nothing_to_open_that_is_not_of_this_week(cast: Cast, as_: As) -> None:
    other = a_session(a_week(cast.ravi))
    coach = as_(cast.coach)

    assert coach.get(f"{url(cast.ines)}?session={other.key}").status_code == 404
    assert coach.get(f"{url(cast.ines)}?session=x").status_code == 404
    assert coach.get(f"{url(cast.ines)}?add=2027-03-09").status_code == 404
    assert as_(cast.player).get(f"{url(cast.ines)}?add=2027-03-01").status_code == 403


def test_adding_offers_the_kinds_that_are_for_the_players_age(cast: Cast, as_: As) -> None:
    cast.ines.birth_date = date(2019, 5, 17)
    cast.ines.save()
    child = read(as_(cast.coach).get(f"{url(cast.ines)}?add=2027-03-01")).one(id="id_from_kind")
    cast.ines.birth_date = date(2001, 5, 17)
    cast.ines.save()
    adult = read(as_(cast.coach).get(f"{url(cast.ines)}?add=2027-03-01")).one(id="id_from_kind")

    assert 1 < len(child.all("option")) < len(adult.all("option"))


def test_as_many_queries_for_five_sessions_as_for_fifty(cast: Cast, as_: As) -> None:
    a_season(cast)
    week = a_week(cast.ines, MONDAY)
    client = as_(cast.coach)

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            read(client.get(url(cast.ines, MONDAY)))
        return len(queries)

    counts = []
    for number in (5, 45):
        for n in range(number):
            row = a_session(week, n % 7, name=f"Session {n}")
            SessionLogFactory(
                player=cast.ines, day=row.day, session=row.key, planned_key=row.key,
                last_written_at=datetime(2027, 2, 24, tzinfo=UTC),
            )  # fmt: skip
        counts.append(asked())

    assert counts[0] == counts[1] <= 15
