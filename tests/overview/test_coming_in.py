"""What came in, where the coach looks anyway: in the list of players, and on a player's page."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from seasonplan.academy.models import Membership, Player
from seasonplan.checkins.models import DayLog, HealthRead, Opened, Reply
from tests.conftest import Cast
from tests.factories import (
    ConsentFactory,
    DayLogFactory,
    EventCheckInFactory,
    EventFactory,
    PlannedEventFactory,
    PlayerFactory,
    SeasonPlanFactory,
)
from tests.plans.pages import Element, read

As = Callable[..., Client]


@pytest.fixture
def ines(cast: Cast) -> Player:
    """Her guardian has consented, whatever the academy's age is."""
    ConsentFactory(player=cast.ines, given_by=cast.guardian)
    return cast.ines


def logged(player: Player, days_ago: int = 0, **said: Any) -> DayLog:
    now = timezone.now()
    return DayLogFactory(
        player=player,
        day=timezone.localdate() - timedelta(days=days_ago),
        first_written_at=now - timedelta(days=days_ago),
        **said,
    )


def came_in(page: Element) -> Element:
    return page.one("section", aria_labelledby="came-in")


def test_the_page_of_a_player_has_what_came_in_unread_first_with_flags_and_a_way_to_reply(
    cast: Cast, ines: Player, as_: As
) -> None:
    for days in range(2, 12):
        log = logged(ines, days)
        if days > 3:
            Opened.objects.create(person=cast.coach, day_log=log, opened_at=timezone.now())
    poor = logged(ines, 1, sleep=1)
    seen = logged(ines)
    Opened.objects.create(person=cast.coach, day_log=seen, opened_at=timezone.now())

    section = came_in(read(as_(cast.coach).get(f"/players/{ines.pk}/")))

    assert section.one("h2").text == "What came in 3 unread"
    first, *others = section.all("li", "log-line")
    assert first.one("h3").links() == {first.one("h3").text: f"/logs/days/{poor.pk}/"}
    assert "All five together 17 of 25; usually about 20." in first.one("ul", "log-flags").text
    assert "A reason to talk, not a diagnosis." in section.text
    assert f"/logs/days/{poor.pk}/#replies" in first.links().values()
    assert ["log-unread" in line.attributes["class"] for line in (first, *others)] == [
        True, True, True, False,
    ]  # fmt: skip


def test_who_is_shown_a_log_there_is_written_down(cast: Cast, ines: Player, as_: As) -> None:
    log = logged(ines)
    as_(cast.coach).get(f"/players/{ines.pk}/")
    assert [(read.reader, read.day_log) for read in HealthRead.objects.all()] == [(cast.coach, log)]
    assert not Opened.objects.exists()


@pytest.mark.parametrize("role", ["director", "guardian", "player"])
def test_it_is_no_news_for_who_does_not_work_with_the_player(
    cast: Cast, ines: Player, as_: As, role: str
) -> None:
    logged(ines)
    page = read(as_(cast.people()[role]).get(f"/players/{ines.pk}/"))
    assert page.all("section", aria_labelledby="came-in") == []
    assert not HealthRead.objects.exists()


def test_without_consent_nothing_about_health_is_there(cast: Cast, ines: Player, as_: As) -> None:
    EventCheckInFactory(player=ines, energy_after=3, rounds_won=0, first_written_at=timezone.now())
    ines.consents.all().delete()
    type(cast.academy).objects.update(consent_age=21)
    section = came_in(read(as_(cast.coach).get(f"/players/{ines.pk}/")))
    assert [dt.text for dt in section.all("dt")] == ["Result"]
    assert section.one("h2").text == "What came in"
    assert "unread" not in read(as_(cast.coach).get("/")).text


def test_a_page_without_logs_says_what_will_stand_there(cast: Cast, ines: Player, as_: As) -> None:
    section = came_in(read(as_(cast.coach).get(f"/players/{ines.pk}/")))
    assert "Nothing in the last four weeks." in section.text


def test_a_coach_logs_on_behalf_with_one_click_and_staff_do_not(
    cast: Cast, ines: Player, as_: As
) -> None:
    today = timezone.localdate()
    event = EventFactory(
        academy=cast.academy, name="Lantern Open", start=today - timedelta(days=7),
        end=today - timedelta(days=1),
    )  # fmt: skip
    plan = SeasonPlanFactory(player=ines, standing="in force")
    PlannedEventFactory(plan=plan, event=event, played=True)
    coach = as_(cast.coach)
    links = came_in(read(coach.get(f"/players/{ines.pk}/"))).links()
    assert list(links) == ["After Lantern Open", "Today", "A session"]
    form = read(coach.get(links["After Lantern Open"]))
    assert "It is marked as logged by a coach." in form.text
    assert came_in(read(as_(cast.staff).get(f"/players/{ines.pk}/"))).links() == {}


def test_the_list_of_players_counts_what_is_unread_for_coach_and_staff(
    cast: Cast, ines: Player, as_: As
) -> None:
    EventCheckInFactory(player=ines)
    answered = logged(ines)
    logged(ines, 1)
    Opened.objects.create(person=cast.coach, day_log=answered, opened_at=timezone.now())
    coach = as_(cast.coach)
    assert read(coach.get("/")).links()["2 unread of Ines Varga"] == (
        f"/players/{ines.pk}/#came-in"
    )
    for text in ("Thank you.", "It was the bus."):
        Reply.objects.create(day_log=answered, author=cast.player, text=text)
    assert "3 unread of Ines Varga" in read(coach.get("/")).links()
    cast.ravi.team.add(Membership.objects.get(person=cast.staff))
    assert "3 unread of Ines Varga" in read(as_(cast.staff).get("/")).links()
    assert "unread" not in read(as_(cast.director).get("/")).text


def test_pages_ask_the_database_as_often_for_many_logs_as_for_few(
    cast: Cast, ines: Player, as_: As
) -> None:
    coach = as_(cast.coach)
    membership = Membership.objects.get(person=cast.coach)

    def queries(path: str) -> int:
        with CaptureQueriesContext(connection) as asked:
            assert coach.get(path).status_code == 200
        return sum("SAVEPOINT" not in query["sql"] for query in asked)

    def more(number: int) -> None:
        for _ in range(number):
            logged(PlayerFactory(academy=cast.academy)).player.team.add(membership)
            EventCheckInFactory(player=ines, event=EventFactory(academy=cast.academy))
            last = DayLog.objects.filter(player=ines).latest("day").day
            DayLogFactory(player=ines, day=last + timedelta(days=1))

    logged(ines)
    more(4)
    paths = ("/", f"/players/{ines.pk}/")
    few = [queries(path) for path in paths]
    more(12)
    assert [queries(path) for path in paths] == few
    assert max(few) <= 20
