"""This week on the player's phone: what is planned, and what of it is done."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from itertools import count
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from seasonplan.checkins.models import Message, SessionLog
from seasonplan.training.models import SessionKind, TrainingSession, TrainingWeek
from seasonplan.training.phone_week import EFFORT_WORDS, effort_words
from tests.conftest import Cast
from tests.factories import SessionLogFactory, TrainingSessionFactory, TrainingWeekFactory
from tests.plans.pages import Element, read

MONDAY = date(2027, 2, 22)
WEDNESDAY = date(2027, 2, 24)
As = Callable[..., Client]


@pytest.fixture(autouse=True)
def _a_wednesday_in_february(monkeypatch: pytest.MonkeyPatch) -> None:
    """A clock that goes on: of two words at one moment neither is the later."""
    seconds = count()
    half_past_nine = datetime(2027, 2, 24, 9, 30, tzinfo=UTC)
    monkeypatch.setattr(timezone, "now", lambda: half_past_nine + timedelta(seconds=next(seconds)))


@pytest.fixture
def week(cast: Cast) -> TrainingWeek:
    """Monday strength, Wednesday rallies and a run, Friday match play."""
    planned: TrainingWeek = TrainingWeekFactory(player=cast.ines, monday=MONDAY)
    for day, name, minutes, effort, more in (
        (0, "Strength base", 45, 5, {"court": "off court", "emphasis": "strength"}),
        (2, "Rally build-up", 90, 6, {"note": "On clay, with Ravi"}),
        (2, "Steady run", 30, 3, {"court": "off court", "emphasis": "endurance", "order": 1}),
        (4, "Match play", 120, 8, {"emphasis": "tactics and match play"}),
    ):
        TrainingSessionFactory(
            week=planned,
            day=MONDAY + timedelta(days=day),
            name=name,
            minutes=minutes,
            effort=effort,
            **more,
        )
    return planned


def session(name: str) -> TrainingSession:
    return TrainingSession.objects.get(name=name)


def page(client: Client) -> Element:
    answer = client.get("/phone/")
    assert answer.status_code == 200
    return read(answer)


def line(found: Element, name: str) -> Element:
    return found.one("li", "planned", id=f"session-{session(name).key}")


def shown(row: Element) -> set[str]:
    """What can be pressed in a session's line without opening anything."""
    forms = [form for form in row.all("form") if "data-do" in form.attributes]
    hidden = {id(e) for e in row.all("div") if "hidden" in e.attributes}
    inside = {id(form) for e in row.all("div") if id(e) in hidden for form in e.all("form")}
    return {
        form.attributes["data-do"]
        for form in forms
        if "hidden" not in form.attributes and id(form) not in inside
    }


def post(client: Client, row: Element, do: str) -> Any:
    """Press the button as a browser without a script does."""
    form = row.one("form", data_do=do)
    fields = {e.attributes["name"]: e.attributes["value"] for e in form.all("input")}
    return client.post(form.attributes["action"], fields)


# What it says ----------------------------------------------------------------------------------


def test_each_day_has_its_sessions_with_minutes_effort_in_words_and_what_for(
    cast: Cast, week: TrainingWeek, as_: As
) -> None:
    found = page(as_(cast.player))
    days = {
        day.attributes["data-day"]: [row.all("h3")[0].text for row in day.all("li", "planned")]
        for day in found.one("ol", "phone-days").all("li")
        if "data-day" in day.attributes
    }
    names = {day: [n.removesuffix(" On this phone") for n in rows] for day, rows in days.items()}
    assert {day: rows for day, rows in names.items() if rows} == {
        "2027-02-22": ["Strength base"],
        "2027-02-24": ["Rally build-up", "Steady run"],
        "2027-02-26": ["Match play"],
    }
    assert len(days) == 7
    text = line(found, "Rally build-up").text
    assert "90 min, effort 6 of 10, hard" in text
    assert "Trains technique. On clay, with Ravi" in text
    assert "4 sessions planned, 0 done." in found.one("main").text


def test_what_for_is_said_in_the_words_of_the_academys_library(
    cast: Cast, week: TrainingWeek, as_: As
) -> None:
    """Also of a kind that is out of use by now."""
    SessionKind.objects.create(
        academy=cast.academy,
        code="our-rallies",
        name="Our rallies",
        court="on court",
        emphasis="technique",
        purpose="Depth before pace.",
        cautions="Stop while it is clean.",
        minutes=90,
        shortest_min=60,
        longest_min=120,
        effort=6,
        in_use=False,
    )
    TrainingSession.objects.filter(name="Rally build-up").update(kind="our-rallies")
    text = line(page(as_(cast.player)), "Rally build-up").text
    assert "Depth before pace. On clay, with Ravi Stop while it is clean." in text


def test_what_now_names_the_sessions_of_today(cast: Cast, week: TrainingWeek, as_: As) -> None:
    now = page(as_(cast.player)).one("section", "phone-now")
    assert "Today: Rally build-up and Steady run, 120 min." in now.text
    session("Rally build-up").delete()
    session("Steady run").delete()
    now = page(as_(cast.player)).one("section", "phone-now")
    assert "No session is planned for today." in now.text


def test_without_planned_sessions_the_page_is_as_it_was(cast: Cast, as_: As) -> None:
    found = page(as_(cast.player))
    assert not found.all("li", "planned")
    assert "No season plan is in force yet" in found.one("main").text
    assert "planned for today" not in found.one("main").text
    scripts = [e.attributes.get("src", "") for e in found.all("script")]
    assert not [src for src in scripts if "planned.js" in src]


def test_only_sessions_whose_day_has_come_can_be_done(
    cast: Cast, week: TrainingWeek, as_: As
) -> None:
    found = page(as_(cast.player))
    assert shown(line(found, "Strength base")) == {"done"}
    assert shown(line(found, "Rally build-up")) == {"done"}
    assert shown(line(found, "Match play")) == set()
    assert "hidden" in line(found, "Match play").one("details").attributes


def test_other_weeks_and_other_players_are_not_shown(
    cast: Cast, week: TrainingWeek, as_: As
) -> None:
    for player, monday in ((cast.ines, MONDAY + timedelta(weeks=1)), (cast.ravi, MONDAY)):
        other = TrainingWeekFactory(player=player, monday=monday)
        TrainingSessionFactory(week=other, name=f"Not Ines's now {player}")
    assert "Not Ines" not in page(as_(cast.player)).one("main").text
    assert "Rally build-up" not in page(as_(cast.other_player)).one("main").text


def test_every_effort_has_its_word() -> None:
    assert len(EFFORT_WORDS) == 11
    assert [effort_words(0), effort_words(10)] == [
        "effort 0 of 10, rest",
        "effort 10 of 10, all you have",
    ]


def test_it_says_when_and_how_effort_is_rated(cast: Cast, week: TrainingWeek, as_: As) -> None:
    text = page(as_(cast.player)).one("main").text
    assert "about half an hour after its end: 0 is rest, 10 as hard as can be" in text


# Doing it, without a script --------------------------------------------------------------------


def test_done_as_planned_is_one_press_and_one_log(cast: Cast, week: TrainingWeek, as_: As) -> None:
    client = as_(cast.player)
    row = line(page(client), "Rally build-up")
    for _ in range(2):
        answer = post(client, row, "done")
        assert (answer.status_code, answer["Location"]) == (
            302,
            f"/phone/?academy={cast.academy.pk}",
        )
    planned, log = session("Rally build-up"), SessionLog.objects.get()
    assert (log.player, log.day, log.what) == (cast.ines, WEDNESDAY, "Rally build-up")
    assert (log.minutes, log.effort, log.as_planned) == (90, 6, True)
    assert (log.planned_key, log.session) == (planned.key, planned.key)
    assert Message.objects.count() == 2

    found = page(client)
    row = line(found, "Rally build-up")
    assert "Done as planned: 90 min, effort 6 of 10" in row.text
    assert shown(row) == {"take back"}
    assert "4 sessions planned, 1 done." in found.one("main").text


def test_done_differently_is_the_session_log_filled_in(
    cast: Cast, week: TrainingWeek, as_: As
) -> None:
    client = as_(cast.player)
    form = line(page(client), "Strength base").one("details").one("form")
    typed = {name: form.typed(name) for name in ("what", "minutes", "effort", "day", "session")}
    key = str(session("Strength base").key)
    assert typed == {
        "what": "Strength base",
        "minutes": "45",
        "effort": "5",
        "day": "2027-02-22",
        "session": key,
    }
    sent = typed | {"minutes": "30", "effort": "7", "planned_key": key, "then": "week"}
    assert client.post(form.attributes["action"], sent).status_code == 302
    log = SessionLog.objects.get()
    assert (log.minutes, log.effort, log.as_planned) == (30, 7, False)
    row = line(page(client), "Strength base")
    assert "Done differently: 30 min, effort 7 of 10" in row.text
    assert row.one("details").one("form").typed("minutes") == "30"

    # On another day than planned, it says so.
    client.post(form.attributes["action"], sent | {"day": "2027-02-23"})
    assert "effort 7 of 10, on Tue 23 Feb" in line(page(client), "Strength base").text


def test_what_is_wrong_stands_beside_its_field_and_the_session_stays_known(
    cast: Cast, week: TrainingWeek, as_: As
) -> None:
    client = as_(cast.player)
    key = str(session("Match play").key)
    sent = {
        "session": key,
        "planned_key": key,
        "what": "Match play",
        "minutes": "0",
        "effort": "8",
        "day": "2027-02-26",
        "then": "week",
    }
    answer = client.post("/phone/log/session/", sent)
    found = read(answer, 422)
    assert "Give whole minutes from 1 to 600." in found.wrong("minutes")
    kept = [found.typed(name) for name in ("planned_key", "session", "then")]
    assert kept == [key, key, "week"]
    answer = client.post("/phone/log/session/", sent | {"minutes": "90"})
    assert "This day has not come yet." in read(answer, 422).wrong("day")
    assert not SessionLog.objects.exists()


def test_it_is_taken_back_and_done_again(cast: Cast, week: TrainingWeek, as_: As) -> None:
    client = as_(cast.player)
    post(client, line(page(client), "Rally build-up"), "done")
    post(client, line(page(client), "Rally build-up"), "take back")
    assert not SessionLog.objects.exists()
    row = line(page(client), "Rally build-up")
    assert shown(row) == {"done"}
    post(client, row, "done")
    assert SessionLog.objects.get().as_planned


def test_a_log_outlives_its_planned_session(cast: Cast, week: TrainingWeek, as_: As) -> None:
    client = as_(cast.player)
    post(client, line(page(client), "Rally build-up"), "done")
    session("Rally build-up").delete()
    text = page(client).one("ol", "phone-days").text
    assert "Also Rally build-up: 90 min, effort 6 of 10" in text


def test_what_was_trained_beside_the_plan_stands_on_its_day(
    cast: Cast, week: TrainingWeek, as_: As
) -> None:
    SessionLogFactory(player=cast.ines, day=WEDNESDAY, what="Swim", minutes=30, effort=2)
    SessionLogFactory(player=cast.ravi, day=WEDNESDAY, what="Ravi's own")
    text = page(as_(cast.player)).one("ol", "phone-days").text
    assert "Also Swim: 30 min, effort 2 of 10" in text
    assert "Ravi" not in text.replace("with Ravi", "")


# The page as a whole ---------------------------------------------------------------------------


def test_it_is_kept_for_its_person_and_has_nothing_inline(
    cast: Cast, week: TrainingWeek, as_: As
) -> None:
    answer = as_(cast.player).get("/phone/")
    assert answer.headers["Seasonplan-Kept-For"] == str(cast.player.pk)
    text = answer.content.decode()
    assert not re.search(r"<script(?![^>]*src=)|\sstyle=|\son\w+=", text)
    ids = re.findall(r'\sid="([^"]+)"', text)
    assert len(ids) == len(set(ids))


def test_typed_text_is_shown_as_text(cast: Cast, week: TrainingWeek, as_: As) -> None:
    TrainingSession.objects.update(name="<img src=x>", note="<b>bold")
    text = as_(cast.player).get("/phone/").content.decode()
    assert "<img src=x" not in text
    assert "<b>bold" not in text


def test_it_asks_as_often_for_five_sessions_as_for_fifty(
    cast: Cast, week: TrainingWeek, as_: As
) -> None:
    client = as_(cast.player)

    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            assert client.get("/phone/").status_code == 200
        return len(caught)

    queries()
    post(client, line(page(client), "Rally build-up"), "done")
    five = queries()
    for n in range(46):
        row = TrainingSessionFactory(week=week, day=MONDAY + timedelta(days=n % 7), order=n)
        SessionLogFactory(
            player=cast.ines, day=row.day, session=row.key, planned_key=row.key, as_planned=True
        )
    assert queries() == five
    assert five <= 20
