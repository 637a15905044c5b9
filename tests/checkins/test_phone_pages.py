"""The four pages of the phone: what a player reads on them, and whose they are."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from seasonplan.academy.models import Academy
from seasonplan.events.models import Event
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.standing import put_in_force
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    BusyTimeFactory,
    DayLogFactory,
    EventCheckInFactory,
    EventFactory,
    MembershipFactory,
    PlaceFactory,
    PlannedEventFactory,
    PlayerFactory,
    SeasonPlanFactory,
    SessionLogFactory,
)
from tests.plans.pages import Element, read

PAGES = ("/phone/", "/phone/season/", "/phone/log/", "/phone/me/")
START = date(2027, 1, 4)


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """`at(2027, 2, 3)` is noon of that day in Valencia."""

    def go(*day: int, hour: int = 11) -> None:
        monkeypatch.setattr(timezone, "now", lambda: datetime(*day, hour, tzinfo=UTC))  # type: ignore[arg-type]

    return go


@pytest.fixture
def season(cast: Cast) -> SeasonPlan:
    """Ines's season in force: six weeks of preparation, four of competition, with an event at the
    far end of Spain in week 8, Mon 22 Feb, and one in Perth in week 10, Mon 8 Mar."""
    Academy.objects.update(consent_age=10)
    plan: SeasonPlan = SeasonPlanFactory(
        player=cast.ines, start=START, end=date(2027, 3, 14), name="Spring"
    )
    BlockFactory(plan=plan, phase="preparation", start=START, weeks=6)
    BlockFactory(plan=plan, phase="competition", start=date(2027, 2, 15), weeks=4)
    vigo = PlaceFactory(academy=cast.academy, place_name="Vigo", lat=42.23, lon=-8.72)
    perth = PlaceFactory(
        academy=cast.academy,
        place_name="Perth",
        country="AU",
        lat=-31.94,
        lon=115.97,
        timezone="Australia/Perth",
    )
    for name, place, start, facts in (
        ("Vigo Cup", vigo, date(2027, 2, 22), {"draw_size": 32}),
        ("Swan Open", perth, date(2027, 3, 8), {"draw_size": None}),
    ):
        event = EventFactory(
            academy=cast.academy,
            name=name,
            place=place,
            start=start,
            end=start + timedelta(days=5),
            entry_deadline=start - timedelta(days=30),
            withdrawal_deadline=start - timedelta(days=12),
            **facts,
        )
        PlannedEventFactory(plan=plan, event=event, played=True, role="target")
    put_in_force(plan, now=timezone.now())
    return plan


def page(client: Client, address: str) -> Element:
    answer = client.get(address)
    assert answer.status_code == 200
    return read(answer)


def said(client: Client, address: str = "/phone/") -> str:
    return page(client, address).one("main").text


# Whose pages ----------------------------------------------------------------------------------


@pytest.mark.parametrize("address", PAGES)
def test_a_page_is_kept_for_its_person_alone(cast: Cast, as_: Any, address: str) -> None:
    answer = as_(cast.player).get(address)
    assert answer.headers["Seasonplan-Kept-For"] == str(cast.player.pk)
    assert answer.headers["Cache-Control"] == "private, no-store"
    assert f'data-person="{cast.player.pk}"' in answer.content.decode()


@pytest.mark.parametrize("address", PAGES)
def test_who_is_no_player_goes_to_the_first_page(cast: Cast, as_: Any, address: str) -> None:
    for role in ("coach", "guardian", "director", "staff", "stranger"):
        answer = as_(cast.people()[role]).get(address)
        assert (answer.status_code, answer.url) == (302, "/"), role
        assert "Seasonplan-Kept-For" not in answer.headers


def test_a_player_sees_nothing_of_another_one(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any
) -> None:
    at(2027, 2, 24)
    EventCheckInFactory(player=cast.ines, event=Event.objects.get(name="Vigo Cup"))
    SessionLogFactory(player=cast.ines, day=date(2027, 2, 23), what="Ines alone")
    for address in PAGES:
        text = as_(cast.other_player).get(address).content.decode()
        for secret in ("Ines", "Vigo", "Swan Open"):
            assert secret not in text, (address, secret)


def test_a_working_copy_is_not_shown(cast: Cast, season: SeasonPlan, as_: Any, at: Any) -> None:
    at(2027, 2, 3)
    SeasonPlan.objects.update(standing=SeasonPlan.Standing.WORKING_COPY)
    assert "No season plan is in force yet" in said(as_(cast.player))
    assert "No season plan is in force yet" in said(as_(cast.player), "/phone/season/")
    assert "Vigo" not in said(as_(cast.player), "/phone/log/")


def test_a_player_of_two_academies_chooses(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any
) -> None:
    at(2027, 2, 3)
    second = Academy.objects.create(name="Alder Courts")
    MembershipFactory(academy=second, person=cast.player, role="player")
    PlayerFactory(academy=second, person=cast.player, name="Ines there")
    client = as_(cast.player)

    first = page(client, "/phone/")
    assert "No season plan" in first.one("main").text
    chosen = page(client, f"/phone/?academy={cast.academy.pk}")
    assert "Vigo" in chosen.one("main").text
    tabs = chosen.one("nav", "phone-tabs").links()
    assert tabs["Season"] == f"/phone/season/?academy={cast.academy.pk}"
    for wrong in (cast.foreign_academy.pk, "x", "9" * 40):
        assert client.get(f"/phone/?academy={wrong}").status_code == 404


# This week ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "sentence"),
    [
        ((2026, 12, 30), "The season begins in 5 days, on Mon 4 Jan."),
        ((2027, 1, 20), "At home."),
        ((2027, 2, 16), "At home, and you leave in 5 days."),
        ((2027, 2, 21), "Leave for Vigo today."),
        ((2027, 2, 22), "You play Vigo Cup in Vigo, until Sat 27 Feb."),
        ((2027, 2, 27), "You play Vigo Cup in Vigo, last day."),
        ((2027, 3, 1), "On the way to Perth. You arrive on Tue 2 Mar."),
        ((2027, 3, 7), "In Perth: settle in. Swan Open begins tomorrow, on Mon 8 Mar."),
        ((2027, 3, 20), "Spring ended on Sun 14 Mar."),
    ],
)
def test_what_now(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any, day: tuple[int, ...], sentence: str
) -> None:
    at(*day)
    assert sentence in said(as_(cast.player))


def test_the_week_names_its_phase_and_what_it_is_for(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any
) -> None:
    at(2027, 1, 20)
    text = said(as_(cast.player))
    assert "Week 3, 18–24 Jan" in text
    assert "Preparation Week 3 of 6. Build the base" in text


def test_the_next_deadline_is_entering_until_entered_then_withdrawing(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any
) -> None:
    at(2027, 1, 20)
    assert "Enter Vigo Cup, Vigo: by Sat 23 Jan, in 3 days ." in said(as_(cast.player))
    season.planned_events.update(entry="entered")
    assert "Last day to withdraw from Vigo Cup, Vigo: by Wed 10 Feb" in said(as_(cast.player))
    season.planned_events.update(entry="withdrawn")
    assert "deadline" not in said(as_(cast.player))


def test_the_next_event_says_when_to_leave_and_to_arrive(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any
) -> None:
    at(2027, 2, 16)
    text = said(as_(cast.player))
    assert "Next event in 6 days" in text
    assert "Vigo Cup , Vigo 22–27 Feb · clay · Target" in text
    assert "Leave Sun 21 Feb, in 5 days Be there by Mon 22 Feb" in text


def test_every_day_of_the_week_has_what_happens_on_it(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any
) -> None:
    BusyTimeFactory(player=cast.ines, start=date(2027, 2, 17), end=date(2027, 2, 18), why="Exams")
    at(2027, 2, 16)
    days = {
        line.attributes["data-day"]: line.text
        for line in page(as_(cast.player), "/phone/").one("ol", "phone-days").all("li")
    }
    assert days["2027-02-16"] == "Tue 16 –"
    assert days["2027-02-17"] == "Wed 17 Exams"
    assert (
        days["2027-02-21"] == "Sun 21 Leave for Vigo Arrive in Vigo"
        or "Leave" in days["2027-02-21"]
    )
    assert len(days) == 7


def test_the_day_is_that_of_the_players_home(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any
) -> None:
    """Half past eleven at night in London is the next day in Valencia."""
    at(2027, 2, 21, hour=23)
    text = as_(cast.player).get("/phone/").content.decode()
    assert "You play Vigo Cup" in text
    assert "Mon 22 Feb, 00:00" in text


def test_a_plan_without_a_home_base_has_no_trips_and_no_errors(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any
) -> None:
    cast.ines.home_base.delete()
    at(2027, 2, 16)
    assert "Next event in 6 days" in said(as_(cast.player))
    for address in PAGES:
        assert as_(cast.player).get(address).status_code == 200


# The year -------------------------------------------------------------------------------------


def test_the_season_is_a_list_of_weeks_in_blocks(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any
) -> None:
    at(2027, 2, 24)
    found = page(as_(cast.player), "/phone/season/")
    assert [s.one("h2").text for s in found.all("section", "stretch")] == [
        "Preparation 6 weeks",
        "Competition 4 weeks",
    ]
    assert len(found.one("details", "phone-past").all("li")) == 6
    weeks = found.all("li")
    assert len([week for week in weeks if "data-first" in week.attributes]) == 10
    now = found.one("li", "is-now")
    assert now.attributes["data-first"] == "2027-02-22"
    assert "Vigo Vigo Cup" in now.text


# The log --------------------------------------------------------------------------------------


def due(client: Client) -> list[str]:
    found = page(client, "/phone/log/")
    sections = [s for s in found.all("section", "logs") if s.one("h2").text == "Due"]
    return [
        box.attributes["id"].rstrip("0123456789")
        for s in sections
        for box in s.all("details", "log")
    ]


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        ((2027, 2, 18), ["day"]),
        ((2027, 2, 22), ["arrival-", "day"]),  # on the first day
        ((2027, 2, 24), ["day"]),  # the event can be told of, and is not yet due
        ((2027, 2, 27), ["event-", "day"]),
        ((2027, 3, 12), ["event-", "day"]),
        ((2027, 3, 14), ["event-", "day"]),  # Swan Open; Vigo Cup is asked about no more
    ],
)
def test_what_is_due(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any, day: tuple[int, ...], expected: list[str]
) -> None:
    at(*day)
    assert due(as_(cast.player)) == expected


def test_what_is_logged_is_no_longer_due(cast: Cast, season: SeasonPlan, as_: Any, at: Any) -> None:
    at(2027, 3, 1)
    event = Event.objects.get(name="Vigo Cup")
    assert due(as_(cast.player)) == ["event-", "day"]
    EventCheckInFactory(player=cast.ines, event=event, energy_after=4, rounds_won=3)
    DayLogFactory(player=cast.ines, day=date(2027, 3, 1))

    assert due(as_(cast.player)) == []
    found = page(as_(cast.player), "/phone/log/")
    form = found.one("details", id=f"event-{event.pk}")
    checked = [i.attributes["value"] for i in form.all("input", type="radio", checked="")]
    assert checked[:2] == ["4", "3"]
    assert "Energy after 4, 3 rounds won" in found.text


def test_energy_is_asked_before_the_first_match_and_not_when_the_result_is_known(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any
) -> None:
    at(2027, 2, 22)
    event = Event.objects.get(name="Vigo Cup")
    found = page(as_(cast.player), "/phone/log/")
    assert found.all("details", id=f"arrival-{event.pk}")
    EventCheckInFactory(player=cast.ines, event=event)
    found = page(as_(cast.player), "/phone/log/")
    assert not found.all("details", id=f"arrival-{event.pk}")


def test_results_are_the_rounds_of_the_draw(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any
) -> None:
    at(2027, 3, 1)
    question = page(as_(cast.player), "/phone/log/").one("log-question", data_question="rounds_won")
    assert [label.text for label in question.all("label")] == [
        "Lost in the round of 32",
        "Lost in the round of 16",
        "Lost in the quarter-final",
        "Lost in the semi-final",
        "Lost in the final",
        "Won the title",
    ]


def test_every_field_of_every_form_is_asked_once(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any
) -> None:
    """A field that the steps do not name would come last; all that are asked are named."""
    from seasonplan.checkins.forms import FORMS
    from seasonplan.checkins.phone_log import STEPS

    for kind, form in FORMS.items():
        named = [name for _, names in STEPS[kind] for name in names]
        asked = [n for n, field in form.base_fields.items() if not field.widget.is_hidden]
        assert sorted(named) == sorted(asked), kind


def test_without_a_guardians_consent_health_is_not_asked_about(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any
) -> None:
    Academy.objects.update(consent_age=18)
    at(2027, 3, 1)
    found = page(as_(cast.player), "/phone/log/")
    asked = {q.attributes["data-question"] for q in found.all("log-question")}
    assert not asked & {"soreness", "sore_where", "sleep_last_h", "mood", "private_note"}
    assert {"energy_after", "rounds_won", "what"} <= asked
    assert "a guardian has to consent first" in found.text


def test_what_the_phase_calls_for_is_offered_first(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any
) -> None:
    at(2027, 1, 20)
    question = page(as_(cast.player), "/phone/log/").one("log-question", data_question="what")
    assert question.buttons()[:2] == ["Endurance", "Strength"]


def test_typed_text_is_shown_as_text(cast: Cast, season: SeasonPlan, as_: Any, at: Any) -> None:
    at(2027, 3, 1)
    SessionLogFactory(player=cast.ines, day=date(2027, 3, 1), what="<img src=x onerror=alert(1)>")
    text = as_(cast.player).get("/phone/log/").content.decode()
    assert "<img src=x" not in text
    assert "&lt;img src=x" in text


# Me, and all four -----------------------------------------------------------------------------


def test_me_says_who_sees_what(cast: Cast, as_: Any) -> None:
    Academy.objects.update(consent_age=10)
    text = said(as_(cast.player), "/phone/me/")
    assert (
        "Marta Coach , coach: all plans, working copies too; of your logs results, sessions, "
        "health, notes, replies and private notes"
    ) in text
    assert "Gita Guardian , guardian: the plan in force; of your logs results and sessions" in text
    assert "Colin Colleague" not in text
    assert "Sign out" in text


@pytest.mark.parametrize("address", PAGES)
def test_a_page_is_asked_for_with_as_many_queries_whatever_was_logged(
    cast: Cast, season: SeasonPlan, as_: Any, at: Any, address: str
) -> None:
    at(2027, 3, 1)
    client = as_(cast.player)

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as caught:
            assert client.get(address).status_code == 200
        return len(caught)

    queries()
    EventCheckInFactory(player=cast.ines, event=Event.objects.get(name="Vigo Cup"))
    SessionLogFactory(player=cast.ines, day=date(2027, 3, 1))
    one = queries()
    for day in range(1, 6):
        SessionLogFactory(player=cast.ines, day=date(2027, 3, 1))
        DayLogFactory(player=cast.ines, day=date(2027, 2, 20 + day))
        EventCheckInFactory(
            player=cast.ines,
            event__start=date(2027, 2, 20),
            event__academy=cast.academy,
        )
    assert queries() == one


def test_no_page_needs_htmx_or_an_inline_script(cast: Cast, as_: Any) -> None:
    for address in PAGES:
        text = as_(cast.player).get(address).content.decode()
        assert "htmx" not in text
        assert not re.search(r"<script(?![^>]*src=)|\sstyle=|\son\w+=", text)
