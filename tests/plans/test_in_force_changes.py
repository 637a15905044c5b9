"""Another plan is in force: who is told, until when, and what they find."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from seasonplan.plans.models import Block, ChangeSeen, SeasonPlan
from seasonplan.plans.standing import copy_plan, put_in_force
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    EventFactory,
    MembershipFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
)
from tests.plans.conftest import START, TenWeeks, week
from tests.plans.pages import Element, read

SECOND_DAY = datetime(2040, 1, 3, 9, tzinfo=UTC)
READERS = ["player", "guardian", "staff"]
TOLD = "The plan for 2040 changed on 3 Jan: 1 event new, 1 gone."


@pytest.fixture(autouse=True)
def _the_second_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: SECOND_DAY)


@pytest.fixture
def first(ten_weeks: TenWeeks) -> SeasonPlan:
    """In force since New Year's Eve: the cup and the Lantern Open."""
    plan = ten_weeks.plan
    plan.planned_events.update(played=True)
    PlannedEventFactory(plan=plan, event=ten_weeks.lantern, played=True)
    BlockFactory(plan=plan, phase="preparation", start=START, weeks=6)
    BlockFactory(plan=plan, phase="competition", start=START + timedelta(weeks=6), weeks=4)
    put_in_force(plan, now=datetime(2039, 12, 31, 9, tzinfo=UTC))
    return plan


@pytest.fixture
def copy(first: SeasonPlan, ten_weeks: TenWeeks) -> SeasonPlan:
    """The Harbour Trophy in place of the Lantern Open, competition a week earlier."""
    copy = copy_plan(first, name="More at home")
    copy.planned_events.filter(event=ten_weeks.lantern).update(played=False)
    PlannedEventFactory(plan=copy, event=ten_weeks.harbour, played=True)
    Block.objects.filter(plan=copy, phase="preparation").update(weeks=5)
    Block.objects.filter(plan=copy, phase="competition").update(
        start=START + timedelta(weeks=5), weeks=5
    )
    return copy


@pytest.fixture
def second(copy: SeasonPlan, cast: Cast) -> SeasonPlan:
    """The copy, put in force by the coach."""
    put_in_force(copy, now=SECOND_DAY, by=cast.coach)
    return copy


def notices(page: Element) -> list[str]:
    return [notice.one("p").text for notice in page.all("div", "change-notice")]


# Before --------------------------------------------------------------------------------------


def test_the_coach_reads_what_will_change_and_what_is_left_broken(
    first: SeasonPlan, copy: SeasonPlan, cast: Cast, as_: Any
) -> None:
    page = read(as_(cast.coach).get(f"/plans/{copy.pk}/in-force/")).one("main")
    groups = {
        group.one("dt").text: [line.text for line in group.all("dd")]
        for group in page.one("dl", "changes").all("div")
    }
    assert groups == {
        "New": ["Valencia, 27 Feb – 3 Mar: Harbour Trophy"],
        "No longer": ["Barcelona, 20–25 Feb: Lantern Open"],
        "Other phases": ["Week 6 (6–12 Feb): competition instead of preparation"],
    }
    assert "Each of them is told that the plan changed" in page.text
    assert page.links()["Compare the two week by week"] == (f"/plans/{first.pk}/compare/{copy.pk}/")
    broken = [line.text for line in page.all("ul", "consequences")[1].all("li")]
    shown = read(as_(cast.coach).get(f"/plans/{copy.pk}/")).one(id="findings")
    assert len(broken) > 0
    assert all(sentence in shown.text for sentence in broken)


def test_a_first_plan_changes_nothing_for_anybody(first: SeasonPlan, cast: Cast, as_: Any) -> None:
    page = read(as_(cast.player).get(f"/plans/{first.pk}/"))
    assert notices(page) == []
    assert "Against the plan that was in force before" not in page.links()
    changes = read(as_(cast.player).get(f"/plans/{first.pk}/changes/"))
    assert changes.one("h2").text == "Nothing was before it"
    assert not ChangeSeen.objects.exists()


# The notice ----------------------------------------------------------------------------------


@pytest.mark.parametrize("role", [*READERS, "director"])
def test_everybody_who_sees_the_plan_is_told_until_they_look(
    second: SeasonPlan, cast: Cast, as_: Any, role: str
) -> None:
    person = as_(cast.people()[role])
    season = f"/plans/{second.pk}/"
    assert notices(read(person.get(season))) == [f"{TOLD} See what changed"]
    assert notices(read(person.get(season))) == [f"{TOLD} See what changed"]
    read(person.get(f"{season}changes/"))
    assert notices(read(person.get(season))) == []


def test_one_who_has_looked_takes_it_from_nobody_else(
    second: SeasonPlan, cast: Cast, as_: Any
) -> None:
    season = f"/plans/{second.pk}/"
    as_(cast.player).get(f"{season}changes/")
    assert notices(read(as_(cast.guardian).get(season))) == [f"{TOLD} See what changed"]
    assert list(ChangeSeen.objects.values_list("person__name", flat=True)) == [
        "Marta Coach",
        "Ines Player",
    ]


def test_who_put_the_plan_in_force_is_not_told(
    first: SeasonPlan, copy: SeasonPlan, cast: Cast, as_: Any
) -> None:
    coach = as_(cast.coach)
    answer = coach.post(f"/plans/{copy.pk}/in-force/", {"revision": copy.revision}, follow=True)
    assert notices(read(answer)) == []
    assert notices(read(coach.get(f"/plans/{copy.pk}/"))) == []
    copy.refresh_from_db()
    assert copy.replaces == first

    cast.ines.team.add(cast.colleague.memberships.get())
    assert notices(read(as_(cast.colleague).get(f"/plans/{copy.pk}/"))) == [
        f"{TOLD} See what changed"
    ]


def test_the_notice_is_put_away_where_it_stands(second: SeasonPlan, cast: Cast, as_: Any) -> None:
    player = as_(cast.player)
    page = read(player.get("/phone/"))
    notice = page.one("div", "change-notice")
    assert notices(page) == [f"{TOLD} See what changed"]
    form = notice.one("form")
    answer = player.post(form.attributes["action"], {"back": page.typed("back")})
    assert (answer.status_code, answer["Location"]) == (302, "/phone/")
    for address in ("/phone/", "/phone/season/", f"/plans/{second.pk}/"):
        assert notices(read(player.get(address))) == []


def test_the_phone_names_the_change_of_a_season_that_is_still_to_come(
    second: SeasonPlan, cast: Cast, as_: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(timezone, "now", lambda: datetime(2039, 12, 20, 9, tzinfo=UTC))
    this_year = SeasonPlanFactory(
        player=cast.ines, start=date(2039, 1, 3), end=date(2040, 1, 1), standing="in force"
    )
    BlockFactory(plan=this_year, start=this_year.start, weeks=52)
    assert notices(read(as_(cast.player).get("/phone/"))) == [f"{TOLD} See what changed"]


@pytest.mark.parametrize("back", ["", "https://elsewhere.test/", "//elsewhere.test"])
def test_putting_it_away_leads_nowhere_else(
    second: SeasonPlan, cast: Cast, as_: Any, back: str
) -> None:
    answer = as_(cast.player).post(f"/plans/{second.pk}/changes/", {"back": back})
    assert answer["Location"] == f"/plans/{second.pk}/"


def test_the_next_change_is_told_anew(second: SeasonPlan, cast: Cast, as_: Any) -> None:
    player = as_(cast.player)
    player.get(f"/plans/{second.pk}/changes/")
    third = copy_plan(second, name="Rest more")
    Block.objects.filter(plan=third, phase="competition").update(weeks=4)
    put_in_force(third, now=SECOND_DAY + timedelta(days=1), by=cast.coach)
    assert third.replaces == second
    assert notices(read(player.get(f"/plans/{third.pk}/"))) == [
        "The plan for 2040 changed on 4 Jan: no event is new or gone. See what changed"
    ]


def test_a_season_that_is_over_is_no_news(
    second: SeasonPlan, cast: Cast, as_: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(timezone, "now", lambda: datetime(2040, 3, 12, 9, tzinfo=UTC))
    assert notices(read(as_(cast.player).get(f"/plans/{second.pk}/"))) == []


def test_the_list_of_players_names_it_too(second: SeasonPlan, cast: Cast, as_: Any) -> None:
    director = as_(cast.director)
    address = f"/plans/{second.pk}/changes/"
    assert read(director.get("/")).links()["plan changed for Ines Varga"] == address
    director.get(address)
    assert "plan changed for Ines Varga" not in read(director.get("/")).links()
    assert "plan changed for Ines Varga" not in read(as_(cast.coach).get("/")).links()


# What they find ------------------------------------------------------------------------------


@pytest.mark.parametrize("role", READERS)
def test_readers_find_what_changed_in_words_and_week_by_week(
    first: SeasonPlan, second: SeasonPlan, cast: Cast, as_: Any, role: str
) -> None:
    page = read(as_(cast.people()[role]).get(f"/plans/{second.pk}/changes/")).one("main")
    assert "“More at home” took the place of “Spring 2040” on 3 Jan 2040." in page.text
    assert [line.text for line in page.one("dl", "changes").all("dd")] == [
        "Valencia, 27 Feb – 3 Mar: Harbour Trophy",
        "Barcelona, 20–25 Feb: Lantern Open",
        "Week 6 (6–12 Feb): competition instead of preparation",
    ]
    table = page.one("table", "compare-weeks")
    said = {
        row.one("th").text.split()[2]: [
            line.text for line in row.one("ul", "compare-words").all("li")
        ]
        for row in table.one("tbody").all("tr")
    }
    assert said["6"] == ["Phase: competition instead of preparation"]
    assert "No longer: Lantern Open" in said["8"]
    assert "New: Harbour Trophy" in said["9"]
    figures = page.one("table", "compare-totals").text
    assert "Flight hours" in figures
    assert "Value" not in figures
    # The plan before is open to readers here alone: nothing leads to its pages.
    assert [link for link in page.links().values() if f"/plans/{first.pk}/" in link] == []
    assert as_(cast.people()[role]).get(f"/plans/{first.pk}/").status_code == 404


def test_the_season_screen_keeps_a_way_to_it(second: SeasonPlan, cast: Cast, as_: Any) -> None:
    player = as_(cast.player)
    player.get(f"/plans/{second.pk}/changes/")
    side = read(player.get(f"/plans/{second.pk}/")).one(id="side")
    assert side.links()["Against the plan that was in force before"] == (
        f"/plans/{second.pk}/changes/"
    )


def test_what_a_coach_goes_by_alone_is_not_told(
    first: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    copy = copy_plan(first, name="Pinned")
    copy.planned_events.filter(event=ten_weeks.cup).update(standing="pinned", worth=99)
    put_in_force(copy, now=SECOND_DAY, by=cast.coach)
    page = read(as_(cast.player).get(f"/plans/{copy.pk}/changes/")).one("main")
    assert "None of 10 weeks differs." in page.text
    assert "Events and phases stay the same." in page.text
    whole = read(as_(cast.player).get(f"/plans/{copy.pk}/changes/?all")).one("main")
    assert "pinned" not in whole.text
    assert "99" not in whole.text


def test_working_copies_have_no_such_page_and_a_replaced_plan_only_for_planners(
    first: SeasonPlan, second: SeasonPlan, cast: Cast, as_: Any
) -> None:
    try_out = copy_plan(second, name="Try")

    def who(plan: SeasonPlan) -> set[str]:
        path = f"/plans/{plan.pk}/changes/"
        found = {r: as_(p).get(path).status_code for r, p in cast.people().items()}
        assert set(found.values()) <= {200, 404}
        return {role for role, status in found.items() if status == 200}

    assert who(try_out) == set()
    assert who(first) == {"coach", "director"}
    assert who(second) == {"coach", "director", *READERS}


def test_nobody_clears_a_notice_of_a_plan_that_they_do_not_see(
    second: SeasonPlan, cast: Cast, as_: Any
) -> None:
    unseen = [cast.colleague, cast.other_player, cast.foreign_coach, cast.stranger]
    for person in unseen:
        assert as_(person).post(f"/plans/{second.pk}/changes/").status_code == 404
    assert not ChangeSeen.objects.filter(person__in=unseen).exists()


@pytest.mark.parametrize("role", ["coach", "player"])
def test_the_page_asks_as_often_for_fifty_events_as_for_five(
    cast: Cast, as_: Any, role: str, django_assert_max_num_queries: Any
) -> None:
    plans = [
        SeasonPlanFactory(player=cast.ines, name=name, start=START, end=date(2040, 12, 30))
        for name in ("One", "Two")
    ]
    for plan in plans:
        BlockFactory(plan=plan, start=START, weeks=52)
        put_in_force(plan, now=SECOND_DAY)
    # Another person on the team, who changes nothing about it
    cast.ines.team.add(MembershipFactory(academy=cast.academy, role="staff"))
    client = as_(cast.people()[role])

    def queries(numbers: range) -> tuple[int, int]:
        ChangeSeen.objects.all().delete()
        for number in numbers:
            event = EventFactory(academy=cast.academy, **week(number))
            PlannedEventFactory(plan=plans[number % 2], event=event, played=True)
        with django_assert_max_num_queries(20) as on_the_season:
            assert len(notices(read(client.get(f"/plans/{plans[1].pk}/")))) == 1
        with django_assert_max_num_queries(20) as on_the_page:
            read(client.get(f"/plans/{plans[1].pk}/changes/"))
        return len(on_the_season), len(on_the_page)

    assert queries(range(1, 6)) == queries(range(6, 51))
