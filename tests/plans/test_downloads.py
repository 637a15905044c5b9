"""Taking a plan along as tables: its events with their journeys, and its blocks."""

import csv
import io
from datetime import date, datetime
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook

from seasonplan.academy.models import Person
from seasonplan.events.importing import keep_file, preview
from seasonplan.plans.laying_out import gather, judge_plan
from tests.conftest import Cast
from tests.factories import BlockFactory, EventFactory, PlannedEventFactory
from tests.plans.conftest import TenWeeks

FILES = ["season-workbook", "season-events-csv", "season-blocks-csv"]


@pytest.fixture
def planned(ten_weeks: TenWeeks) -> TenWeeks:
    """The plan plays the target at home and the event in Barcelona in the week after it."""
    ten_weeks.plan.planned_events.update(played=True)
    PlannedEventFactory(plan=ten_weeks.plan, event=ten_weeks.lantern, played=True)
    PlannedEventFactory(plan=ten_weeks.plan, event=ten_weeks.harbour, played=False)
    BlockFactory(plan=ten_weeks.plan, phase="competition", start=date(2040, 2, 13), weeks=4)
    BlockFactory(plan=ten_weeks.plan, phase="preparation", start=date(2040, 1, 2), weeks=6)
    return ten_weeks


def lines(client: Any, name: str, planned: TenWeeks) -> list[dict[str, str]]:
    content = client.get(reverse(name, args=[planned.plan.pk])).content.decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(content, newline="")))


def test_the_events_that_are_played_stand_in_order_with_role_and_journey(
    planned: TenWeeks, cast: Cast, as_: Any
) -> None:
    cup, lantern = lines(as_(cast.coach), "season-events-csv", planned)
    assert [cup["Event"], cup["Start"], cup["End"], cup["Role"]] == [
        "Orchard Cup",
        "2040-02-13",
        "2040-02-18",
        "target",
    ]
    # 306 km are one travel day each way, and 0.9 hours of flight.
    journey = ("Leaves on", "Arrives on", "Flight hours", "Home again on")
    assert [lantern[name] for name in journey] == ["2040-02-19", "2040-02-20", "0.9", "2040-02-26"]
    assert (lantern["Event"], lantern["Fee"], lantern["Role"]) == ("Lantern Open", "45.50", "open")


def test_the_journeys_are_those_that_the_judge_speaks_of(
    planned: TenWeeks, cast: Cast, as_: Any
) -> None:
    judged = judge_plan(gather(planned.plan), today=timezone.localdate()).judgement.trips
    shown = lines(as_(cast.coach), "season-events-csv", planned)
    assert [(line["Leaves on"], line["Arrives on"]) for line in shown] == [
        (trip.leave.isoformat(), trip.arrive.isoformat()) for trip in judged
    ]


def test_the_blocks_stand_in_order_with_first_and_last_day(
    planned: TenWeeks, cast: Cast, as_: Any
) -> None:
    assert [
        list(line.values()) for line in lines(as_(cast.coach), "season-blocks-csv", planned)
    ] == [
        ["preparation", "2040-01-02", "2040-02-12", "6"],
        ["competition", "2040-02-13", "2040-03-11", "4"],
    ]


def test_the_spreadsheet_has_both_with_real_dates(planned: TenWeeks, cast: Cast, as_: Any) -> None:
    answer = as_(cast.coach).get(reverse("season-workbook", args=[planned.plan.pk]))
    assert answer["Content-Disposition"] == (
        f'attachment; filename="season-{planned.plan.pk}.xlsx"'
    )
    book = load_workbook(io.BytesIO(answer.content))
    assert book.sheetnames == ["Events", "Blocks"]
    assert book["Events"]["D2"].value == datetime.fromisoformat("2040-02-13T00:00")
    assert [cell.value for cell in book["Blocks"][2]][::3] == ["preparation", 6]


@pytest.mark.parametrize("name", ["season-workbook", "season-events-csv"])
def test_the_events_of_a_plan_can_be_imported_and_are_those_of_the_calendar(
    name: str, planned: TenWeeks, cast: Cast, as_: Any
) -> None:
    content = as_(cast.coach).get(reverse(name, args=[planned.plan.pk])).content
    batch = keep_file(academy=cast.academy, person=cast.coach, file_name="plan", content=content)
    plan = preview(batch)
    assert (plan.problems, plan.new, plan.changed, len(plan.unchanged)) == ((), (), (), 2)


def test_without_a_home_base_the_journeys_are_blank(
    planned: TenWeeks, cast: Cast, as_: Any
) -> None:
    cast.ines.home_base.delete()
    cup, lantern = lines(as_(cast.coach), "season-events-csv", planned)
    assert (cup["Leaves on"], lantern["Home again on"]) == ("", "")


def test_an_empty_plan_is_a_header_alone(ten_weeks: TenWeeks, cast: Cast, as_: Any) -> None:
    for name in ("season-events-csv", "season-blocks-csv"):
        assert lines(as_(cast.coach), name, ten_weeks) == []
    answer = as_(cast.coach).get(reverse("season-workbook", args=[ten_weeks.plan.pk]))
    assert load_workbook(io.BytesIO(answer.content))["Events"].max_row == 1


def test_a_name_that_looks_like_a_formula_is_a_name(
    planned: TenWeeks, cast: Cast, as_: Any
) -> None:
    planned.cup.name = "=HYPERLINK(1)"
    planned.cup.save()
    assert lines(as_(cast.coach), "season-events-csv", planned)[0]["Event"] == "'=HYPERLINK(1)"
    answer = as_(cast.coach).get(reverse("season-workbook", args=[planned.plan.pk]))
    cell = load_workbook(io.BytesIO(answer.content))["Events"]["A2"]
    assert (cell.value, cell.data_type) == ("'=HYPERLINK(1)", "s")


@pytest.mark.parametrize("name", FILES)
def test_who_does_not_see_the_plan_does_not_get_its_files(
    name: str, planned: TenWeeks, cast: Cast, as_: Any
) -> None:
    def status(person: Person) -> int:
        return as_(person).get(reverse(name, args=[planned.plan.pk])).status_code

    unseen = [cast.player, cast.guardian, cast.staff, cast.foreign_coach, cast.stranger]
    assert [status(person) for person in unseen] == [404] * 5
    planned.plan.standing = "in force"
    planned.plan.save()
    assert [status(person) for person in unseen] == [200, 200, 200, 404, 404]


@pytest.mark.parametrize("name", FILES)
def test_a_file_takes_as_many_queries_for_five_events_as_for_fifty(
    name: str, planned: TenWeeks, cast: Cast, as_: Any, django_assert_max_num_queries: Any
) -> None:
    client = as_(cast.coach)
    with django_assert_max_num_queries(20) as few:
        client.get(reverse(name, args=[planned.plan.pk]))
    for _ in range(45):
        event = EventFactory(
            academy=cast.academy, place=planned.valencia, start=date(2040, 1, 9),
            end=date(2040, 1, 15),
        )  # fmt: skip
        PlannedEventFactory(plan=planned.plan, event=event, played=True)
    with django_assert_max_num_queries(len(few)):
        client.get(reverse(name, args=[planned.plan.pk]))


def test_the_season_screen_offers_the_files(planned: TenWeeks, cast: Cast, as_: Any) -> None:
    html = as_(cast.coach).get(reverse("season", args=[planned.plan.pk])).content.decode()
    for name in FILES:
        assert f'href="{reverse(name, args=[planned.plan.pk])}" download' in html
