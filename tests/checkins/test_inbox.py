"""What came in, as a coach finds it: unread first, with reasons, and a thread under each."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from seasonplan.academy.models import Player
from seasonplan.checkins.models import DayLog, Opened, Reply
from tests.checkins.conftest import this_week
from tests.conftest import Cast
from tests.factories import (
    DayLogFactory,
    EventCheckInFactory,
    EventFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
    SessionLogFactory,
)
from tests.plans.pages import Element, read

As = Callable[..., Client]


def just(hours_ago: float = 0) -> dict[str, datetime]:
    return {"first_written_at": timezone.now() - timedelta(hours=hours_ago)}


@pytest.fixture
def path(ines: Player) -> str:
    return f"/players/{ines.pk}/logs/"


def listed(page: Element, section: str) -> list[str]:
    found = page.all("section", aria_labelledby=section)
    return [h3.text for s in found for h3 in s.all("h3")]


def facts(line: Element) -> dict[str, str]:
    pairs = zip(line.all("dt"), line.all("dd"), strict=True)
    return {dt.text: dd.text for dt, dd in pairs}


def test_the_player_page_leads_to_the_logs(cast: Cast, ines: Player, path: str, as_: As) -> None:
    assert read(as_(cast.coach).get(f"/players/{ines.pk}/")).links()["Logs"] == path


def test_what_came_in_stands_there_in_short(cast: Cast, ines: Player, path: str, as_: As) -> None:
    event = this_week(cast, name="Lantern Open", draw_size=8)
    check_in = EventCheckInFactory(
        player=ines, event=event, energy_before=8, energy_after=3, rounds_won=1, soreness=6,
        sore_where=["calf", "neck"], **just(),
    )  # fmt: skip
    check_in.matches.create(number=1, won=True)
    check_in.matches.create(number=2, won=False)
    page = read(as_(cast.coach).get(path))
    line = page.one("li", "log-line")
    assert line.one("h3").links() == {"Lantern Open": f"/logs/events/{check_in.pk}/"}
    assert facts(line) == {
        "Result": "Lost in the semi-final",
        "Matches": "1 won, 1 lost",
        "Energy before": "8 of 10",
        "Energy after": "3 of 10",
        "Soreness": "6 of 10: calf or shin and neck",
    }


def test_energy_said_afterwards_is_marked(cast: Cast, ines: Player, path: str, as_: As) -> None:
    EventCheckInFactory(player=ines, energy_before=8, energy_before_late=True, **just())
    line = read(as_(cast.coach).get(path)).one("li", "log-line")
    assert facts(line)["Energy before"] == "8 of 10, said afterwards"


def test_a_day_unlike_the_usual_says_why_and_that_it_is_no_diagnosis(
    cast: Cast, ines: Player, path: str, as_: As
) -> None:
    today = timezone.localdate()
    for days in range(1, 9):
        log = DayLogFactory(player=ines, day=today - timedelta(days=days), **just(24 * days))
        Opened.objects.create(person=cast.coach, day_log=log, opened_at=timezone.now())
    log = DayLogFactory(player=ines, day=today, sleep=1, **just())
    page = read(as_(cast.coach).get(path))
    flagged = page.one("ul", "log-flags")
    assert [item.text for item in flagged.all("li")] == [
        "All five together 17 of 25; usually about 20. Worth talking about today.",
        "Sleep 1 of 5; usually about 4. Worth talking about today.",
    ]
    assert "A reason to talk, not a diagnosis." in page.text
    assert "Single answers are unlike the usual by chance on many days" in page.text
    page = read(as_(cast.coach).get(f"/logs/days/{log.pk}/"))
    assert "Sleep 1 of 5; usually about 4." in page.text
    assert "A reason to talk, not a diagnosis." in page.text


def test_days_before_the_last_four_weeks_are_not_the_usual(
    cast: Cast, ines: Player, path: str, as_: As
) -> None:
    today = timezone.localdate()
    for days in range(29, 40):
        DayLogFactory(player=ines, day=today - timedelta(days=days), **just(24 * days))
    DayLogFactory(player=ines, day=today, sleep=1, **just())
    assert read(as_(cast.coach).get(path)).all("ul", "log-flags") == []


def test_trouble_is_added_up(cast: Cast, ines: Player, path: str, as_: As) -> None:
    DayLogFactory(
        player=ines, problem="injury", problem_where=["calf"], took_part=8, changed_training=17,
        hurt_performance=8, symptoms=8, **just(),
    )  # fmt: skip
    line = read(as_(cast.coach).get(path)).one("li", "log-line")
    assert facts(line)["Ill or hurt"] == "Injury or pain: calf or shin"
    assert facts(line)["Trouble this week"] == "41 of 100, training or play clearly cut"


def test_who_wants_to_talk_stands_first(cast: Cast, ines: Player, path: str, as_: As) -> None:
    today = timezone.localdate()
    DayLogFactory(player=ines, day=today - timedelta(days=1), wants_to_talk=True, **just(30))
    EventCheckInFactory(player=ines, event=this_week(cast, name="Lantern Open"), **just(1))
    page = read(as_(cast.coach).get(path))
    first, second = page.all("li", "log-line")
    assert "wants to talk" in first.text
    assert second.one("h3").text == "Lantern Open"


def test_opening_a_log_marks_it_read_for_who_opened_it(
    cast: Cast, ines: Player, path: str, as_: As
) -> None:
    check_in = EventCheckInFactory(player=ines, event__name="Lantern Open", **just())
    coach, staff = as_(cast.coach), as_(cast.staff)
    assert listed(read(coach.get(path)), "unread") == ["Lantern Open"]
    assert listed(read(coach.get(path)), "unread") == ["Lantern Open"]
    coach.get(f"/logs/events/{check_in.pk}/")
    page = read(coach.get(path))
    assert (listed(page, "unread"), listed(page, "earlier")) == ([], ["Lantern Open"])
    assert listed(read(staff.get(path)), "unread") == ["Lantern Open"]


def test_a_log_that_was_added_to_is_unread_again(
    cast: Cast, ines: Player, path: str, as_: As
) -> None:
    check_in = EventCheckInFactory(player=ines, event__name="Lantern Open", **just(5))
    coach = as_(cast.coach)
    coach.get(f"/logs/events/{check_in.pk}/")
    check_in.last_arrived_at = timezone.now()
    check_in.save()
    assert listed(read(coach.get(path)), "unread") == ["Lantern Open"]


def test_ones_own_logs_are_news_by_their_replies(
    cast: Cast, ines: Player, path: str, as_: As
) -> None:
    log = DayLogFactory(player=ines, **just())
    player, coach = as_(cast.player), as_(cast.coach)
    assert listed(read(player.get(path)), "unread") == []
    coach.post(f"/logs/days/{log.pk}/reply/", {"text": "Call me tonight."})
    [title] = listed(read(player.get(path)), "unread")
    assert title.startswith("Day log")
    assert "Call me tonight." in read(player.get(f"/logs/days/{log.pk}/")).text
    assert listed(read(player.get(path)), "unread") == []


def test_what_is_unread_is_listed_however_old(cast: Cast, ines: Player, path: str, as_: As) -> None:
    old = datetime(2026, 1, 5, 12, 0, tzinfo=UTC)
    log = DayLogFactory(player=ines, first_written_at=old)
    coach = as_(cast.coach)
    assert len(listed(read(coach.get(path)), "unread")) == 1
    coach.get(f"/logs/days/{log.pk}/")
    page = read(coach.get(path))
    assert (listed(page, "unread"), listed(page, "earlier")) == ([], [])
    assert "Earlier logs" in page.links()


def test_earlier_logs_are_reached_window_by_window(
    cast: Cast, ines: Player, path: str, as_: As
) -> None:
    log = DayLogFactory(player=ines, **just(24 * 40))
    Opened.objects.create(person=cast.coach, day_log=log, opened_at=timezone.now())
    coach = as_(cast.coach)
    older = read(coach.get(path)).links()["Earlier logs"]
    assert len(listed(read(coach.get(path + older)), "earlier")) == 1
    for odd in ("?until=soon", "?until=9999-12-31", "?until=0001-01-01"):
        assert coach.get(path + odd).status_code == 200


def test_sessions_stand_with_their_load(cast: Cast, ines: Player, path: str, as_: As) -> None:
    SessionLogFactory(player=ines, day=timezone.localdate(), minutes=240, effort=6)
    section = read(as_(cast.coach).get(path)).one("section", aria_labelledby="sessions")
    assert [td.text for td in section.all("td")] == ["Serve and return", "240", "6 of 10", "1,440"]


def test_events_that_wait_for_a_log_are_offered(
    cast: Cast, ines: Player, path: str, as_: As
) -> None:
    today = timezone.localdate()
    plan = SeasonPlanFactory(player=ines, standing="in force")
    now = this_week(cast, name="Lantern Open")
    other = EventFactory(academy=cast.academy, name="Far Off", start=today + timedelta(days=30))
    copy = SeasonPlanFactory(player=ines, name="What if")
    tried = this_week(cast, name="Only Tried")
    for in_plan, event in ((plan, now), (plan, other), (copy, tried)):
        PlannedEventFactory(plan=in_plan, event=event, played=True)
    links = read(as_(cast.coach).get(path)).one("section", aria_labelledby="to-log").links()
    assert list(links) == ["Before Lantern Open", "After Lantern Open", "Today", "A session"]
    assert links["After Lantern Open"] == f"/phone/log/event/{now.pk}/?player={ines.pk}"
    assert read(as_(cast.staff).get(path)).all("section", aria_labelledby="to-log") == []


def test_a_page_with_nothing_says_so(cast: Cast, path: str, as_: As) -> None:
    page = read(as_(cast.coach).get(path))
    assert "Nothing else since" in page.text
    assert "None since" in page.text


# Replies -------------------------------------------------------------------------------------


def test_a_thread_is_read_in_order_by_player_coach_and_staff(
    cast: Cast, ines: Player, as_: As
) -> None:
    check_in = EventCheckInFactory(player=ines, **just())
    path = f"/logs/events/{check_in.pk}/"
    for person, text in (
        (cast.coach, "How is the calf?"),
        (cast.player, "Better.\nNo pain."),
        (cast.staff, "Come by on Monday."),
    ):
        answer = as_(person).post(f"{path}reply/", {"text": text})
        assert (answer.status_code, answer["Location"]) == (302, path)
    for person in (cast.player, cast.coach, cast.staff):
        thread = read(as_(person).get(path)).one("ol", "log-thread")
        assert [item.all("p")[1].text for item in thread.all("li")] == [
            "How is the calf?",
            "Better. No pain.",
            "Come by on Monday.",
        ]


@pytest.mark.parametrize("text", ["", "   ", "x" * 2001])
def test_a_reply_that_says_nothing_or_too_much_is_refused(
    cast: Cast, ines: Player, as_: As, text: str
) -> None:
    log = DayLogFactory(player=ines)
    page = read(as_(cast.coach).post(f"/logs/days/{log.pk}/reply/", {"text": text}), 422)
    assert page.wrong("text")
    assert Reply.objects.count() == 0


# Queries -------------------------------------------------------------------------------------


def test_the_list_asks_the_database_as_often_for_many_logs_as_for_few(
    cast: Cast, ines: Player, path: str, as_: As, django_assert_max_num_queries: Any
) -> None:
    coach = as_(cast.coach)
    today = timezone.localdate()

    def queries(numbers: range) -> int:
        for number in numbers:
            event = EventFactory(academy=cast.academy)
            check_in = EventCheckInFactory(player=ines, event=event, **just(number))
            check_in.matches.create(number=1, won=True)
            log = DayLogFactory(player=ines, day=today - timedelta(days=number), **just(number))
            Reply.objects.create(day_log=log, author=cast.player, text="Hello")
            SessionLogFactory(player=ines, day=today - timedelta(days=number))
        with django_assert_max_num_queries(30) as asked:
            assert len(read(coach.get(path)).all("li", "log-line")) == 2 * (numbers.stop - 1)
        return len(asked)

    assert queries(range(1, 4)) == queries(range(4, 20))


def test_a_thread_asks_as_often_for_many_replies_as_for_few(
    cast: Cast, ines: Player, as_: As, django_assert_max_num_queries: Any
) -> None:
    log = DayLogFactory(player=ines)
    coach = as_(cast.coach)
    coach.get(f"/logs/days/{log.pk}/")

    def queries(number: int) -> int:
        for _ in range(number):
            Reply.objects.create(day_log=log, author=cast.player, text="Hello")
        with django_assert_max_num_queries(30) as asked:
            coach.get(f"/logs/days/{log.pk}/")
        return len(asked)

    assert queries(1) == queries(20)
    assert DayLog.objects.count() == 1
