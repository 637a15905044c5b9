"""A player's page: seasons, busy days, and starting a season."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.utils import timezone

from seasonplan.overview.players import next_season
from seasonplan.plans.models import BusyTime, SeasonPlan
from seasonplan.plans.standing import put_in_force
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    BusyTimeFactory,
    EventFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
)
from tests.plans.conftest import TenWeeks, week
from tests.plans.pages import Element, read

SOUND = {"name": "Season 2040", "start": "2040-01-02", "weeks": "52", "preset": "standard"}


@pytest.fixture
def path(cast: Cast) -> str:
    return f"/players/{cast.ines.pk}/"


def seasons(page: Element) -> list[list[str]]:
    section = page.one("section", aria_labelledby="seasons")
    return [
        [cell.text for cell in row.all("th") + row.all("td")][:4]
        for row in section.all("tr")
        if row.all("td")
    ]


def busy_lines(page: Element) -> list[str]:
    section = page.one("section", aria_labelledby="busy")
    return [item.all("span")[0].text for item in section.all("li") if item.all("strong")]


# Seasons -------------------------------------------------------------------------------------


def test_the_coach_sees_every_plan_and_the_player_the_one_in_force(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    SeasonPlanFactory(player=cast.ines, name="A try", start=date(2040, 1, 2), end=date(2040, 3, 11))
    BlockFactory(plan=ten_weeks.plan, start=ten_weeks.plan.start, weeks=10)
    put_in_force(ten_weeks.plan, now=timezone.now())
    ten_weeks.plan.planned_events.update(played=True)
    assert seasons(read(as_(cast.coach).get(path))) == [
        ["Spring 2040", "2040", "In force", "1 event"],
        ["A try", "2040", "Working copy", "not laid out yet"],
    ]
    page = read(as_(cast.player).get(path))
    assert seasons(page) == [["Spring 2040", "2040", "In force", "1 event"]]
    assert page.one("main").buttons() == []
    assert page.one("main").all("form") == []


def test_the_latest_season_stands_first(path: str, cast: Cast, as_: Any) -> None:
    for year, first in (
        (2039, date(2039, 1, 3)),
        (2041, date(2040, 12, 31)),
        (2040, date(2040, 1, 2)),
    ):
        SeasonPlanFactory(
            player=cast.ines, name=f"Plan {year}", start=first, end=first + timedelta(days=69)
        )
    names = [row[0] for row in seasons(read(as_(cast.coach).get(path)))]
    assert names == ["Plan 2041", "Plan 2040", "Plan 2039"]


def test_a_player_without_a_plan_in_force_is_told_so(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    page = read(as_(cast.player).get(path))
    assert "No season plan is in force yet." in page.one("section", aria_labelledby="seasons").text


def test_without_a_home_base_the_coach_is_led_to_set_it(path: str, cast: Cast, as_: Any) -> None:
    cast.ines.home_base.delete()
    empty = read(as_(cast.coach).get(path)).one("div", "empty")
    assert empty.links() == {"Set the home base": f"{path}edit/"}
    assert read(as_(cast.player).get(path)).all("div", "empty") == []


def test_only_a_working_copy_can_be_deleted(
    path: str, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach = as_(cast.coach)
    assert "Delete Spring 2040" in read(coach.get(path)).links()
    BlockFactory(plan=ten_weeks.plan, start=ten_weeks.plan.start, weeks=10)
    put_in_force(ten_weeks.plan, now=timezone.now())
    assert "Delete Spring 2040" not in read(coach.get(path)).links()


def test_a_season_is_started_with_the_limits_of_a_preset(path: str, cast: Cast, as_: Any) -> None:
    answer = as_(cast.coach).post(f"{path}plans/", SOUND | {"preset": "developing"})
    plan = SeasonPlan.objects.get(player=cast.ines)
    assert (answer.status_code, answer["Location"]) == (302, f"/plans/{plan.pk}/")
    assert (plan.name, plan.standing) == ("Season 2040", "working copy")
    assert (plan.start, plan.end) == (date(2040, 1, 2), date(2040, 12, 30))
    assert plan.limits == {
        "max_events": 14,
        "max_run": 2,
        "competition_weeks": [2, 6],
        "min_cycles": 3,
        "min_rest_weeks": 8,
    }


@pytest.mark.parametrize(
    ("start", "said"),
    [
        (
            "2040-01-05",
            "Thursday 5 January 2040 is not a Monday; the nearest are 2 January and 9 January.",
        ),
        (
            "2040-12-30",
            "Sunday 30 December 2040 is not a Monday; the nearest are 24 December and 31 December.",
        ),
    ],
)
def test_a_season_that_does_not_begin_on_a_monday_is_refused_with_the_nearest_ones(
    path: str, cast: Cast, as_: Any, start: str, said: str
) -> None:
    page = read(as_(cast.coach).post(f"{path}plans/", SOUND | {"start": start}), 422)
    assert page.wrong("start") == said
    assert (page.typed("name"), page.typed("weeks")) == ("Season 2040", "52")
    assert page.one("section", aria_labelledby="seasons").typed("start") == start
    assert SeasonPlan.objects.count() == 0


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("name", "  ", "This field is required."),
        ("name", "x" * 81, "Ensure this value has at most 80 characters (it has 81)."),
        ("start", "soon", "Enter a valid date."),
        ("start", "9999-12-31", "Give a year from 2000 to 2100."),
        ("start", "9999-12-27", "Give a year from 2000 to 2100."),
        ("start", "0001-01-01", "Give a year from 2000 to 2100."),
        ("weeks", "107", "Give a whole number from 4 to 106."),
        ("weeks", "3", "Give a whole number from 4 to 106."),
        ("preset", "heroic", "Select a valid choice. heroic is not one of the available choices."),
    ],
)
def test_a_season_that_makes_no_sense_is_refused_beside_the_field(
    path: str, cast: Cast, as_: Any, field: str, value: str, said: str
) -> None:
    page = read(as_(cast.coach).post(f"{path}plans/", SOUND | {field: value}), 422)
    section = page.one("section", aria_labelledby="seasons")
    assert section.wrong(field) == said
    assert "open" in section.one("details").attributes
    assert SeasonPlan.objects.count() == 0


@pytest.mark.parametrize(
    ("today", "name", "start", "weeks"),
    [
        (date(2026, 11, 25), "Season 2027", date(2027, 1, 4), 52),
        (date(2027, 3, 1), "Season 2027", date(2027, 1, 4), 52),
        (date(2036, 8, 1), "Season 2037", date(2036, 12, 29), 53),
    ],
)
def test_the_season_that_most_likely_comes_next_is_filled_in(
    today: date, name: str, start: date, weeks: int
) -> None:
    filled_in = next_season(today)
    assert (filled_in["name"], filled_in["start"], filled_in["weeks"]) == (name, start, weeks)


# Busy days -----------------------------------------------------------------------------------

EXAMS = {"busy-start": "2040-06-07", "busy-end": "2040-06-13", "busy-why": "Exams"}


def test_busy_days_are_added_and_removed(path: str, cast: Cast, as_: Any) -> None:
    coach = as_(cast.coach)
    page = read(coach.post(f"{path}busy/", EXAMS, follow=True))
    assert busy_lines(page) == ["7–13 Jun 2040 Exams"]
    [remove] = [f for f in page.all("form") if "Remove" in f.text]
    page = read(coach.post(remove.attributes["action"], follow=True))
    assert busy_lines(page) == []
    assert BusyTime.objects.count() == 0


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"busy-end": "2040-06-06"}, "busy-end", "The last day lies before the first day."),
        ({"busy-end": ""}, "busy-end", "This field is required."),
        ({"busy-start": "7 June"}, "busy-start", "Enter a valid date."),
        (
            {"busy-why": "x" * 81},
            "busy-why",
            "Ensure this value has at most 80 characters (it has 81).",
        ),
    ],
)
def test_busy_days_that_make_no_sense_are_refused_beside_the_field(
    path: str, cast: Cast, as_: Any, typed: dict[str, str], field: str, said: str
) -> None:
    sent = EXAMS | typed
    page = read(as_(cast.coach).post(f"{path}busy/", sent), 422)
    section = page.one("section", aria_labelledby="busy")
    assert section.wrong(field) == said
    assert {name: section.typed(name) for name in EXAMS} == sent
    assert "open" in section.one("details").attributes
    assert BusyTime.objects.count() == 0


def test_busy_days_say_that_the_whole_team_sees_them(path: str, cast: Cast, as_: Any) -> None:
    section = read(as_(cast.coach).get(path)).one("section", aria_labelledby="busy")
    assert "No health details: the whole team sees it." in section.text


def test_busy_days_long_past_are_not_listed(path: str, cast: Cast, as_: Any) -> None:
    today = timezone.localdate()
    for days_ago, why in [(91, "Long ago"), (90, "Lately")]:
        day = today - timedelta(days=days_ago)
        BusyTimeFactory(player=cast.ines, start=day, end=day, why=why)
    lines = busy_lines(read(as_(cast.player).get(path)))
    assert [line.split(" ", 3)[3] for line in lines] == ["Lately"]


def test_markup_in_busy_days_and_plans_is_text(path: str, cast: Cast, as_: Any) -> None:
    evil = "<script>alert(1)</script>"
    BusyTimeFactory(player=cast.ines, start=date(2040, 6, 7), end=date(2040, 6, 7), why=evil)
    SeasonPlanFactory(player=cast.ines, name=evil)
    page = read(as_(cast.coach).get(path))
    assert busy_lines(page) == [f"7 Jun 2040 {evil}"]
    assert seasons(page)[0][0] == evil
    assert not [script for script in page.all("script") if script.text]


def test_the_page_asks_the_database_as_often_for_many_plans_as_for_few(
    path: str, cast: Cast, as_: Any, django_assert_max_num_queries: Any
) -> None:
    coach = as_(cast.coach)

    def queries(numbers: range) -> int:
        for number in numbers:
            event = EventFactory(academy=cast.academy, **week(number))
            PlannedEventFactory(plan=SeasonPlanFactory(player=cast.ines), event=event, played=True)
            BusyTimeFactory(player=cast.ines, **week(number))
        with django_assert_max_num_queries(20) as asked:
            assert len(seasons(read(coach.get(path)))) == numbers.stop - 1
        return len(asked)

    assert queries(range(1, 6)) == queries(range(6, 51))
