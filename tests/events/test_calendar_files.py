"""Taking the event calendar along: what is in the files, and that they come back as they went."""

import csv
import io
from datetime import date
from pathlib import Path

import pytest
from django.urls import reverse
from openpyxl import load_workbook

from seasonplan.events.importing import Outcome, import_file, keep_file, preview
from seasonplan.events.models import Event, Place
from tests.factories import AcademyFactory, EventFactory, PlaceFactory

FIXTURES = Path(__file__).parents[2] / "fixtures"
KINDS = ["calendar-csv", "calendar-workbook"]
FACTS = (
    "name", "start", "end", "surface", "indoor", "draw_size", "level", "high_c", "humidity_percent",
    "entry_deadline", "withdrawal_deadline", "entry_fee", "dates_unconfirmed", "place__place_name",
    "place__country", "place__timezone",
)  # fmt: skip


def facts(academy) -> list[tuple]:
    return list(Event.objects.filter(academy=academy).order_by("start", "name").values_list(*FACTS))


def taken(client, name: str, **query: object) -> bytes:
    return client.get(reverse(name), query).content


@pytest.fixture
def full(cast):
    """An academy with the demo's calendar, and events that are hard on a file."""
    content = (FIXTURES / "demo-calendar.csv").read_bytes()
    import_file(academy=cast.academy, person=None, file_name="demo.csv", content=content)
    rome = Place.objects.get(academy=cast.academy, place_name="Rome")
    own = PlaceFactory(academy=cast.academy, place_name="=Court 7, “Oak”", country="")
    for number, name in enumerate(["=1+1", "+Cup", "-", "@home; or, away", "'Open'", "#REF!", "7"]):
        if name != "-":
            EventFactory(academy=cast.academy, place=rome, name=name, start=date(2027, 3, 1))
        EventFactory(
            academy=cast.academy,
            place=own if number % 2 else rome,
            name=f"Fell Cup {number}",
            start=date(2028, 2, 7),
            end=date(2028, 2, 13),
            indoor=True,
            draw_size=None,
            high_c=-4.5,
            humidity_percent=80,
            entry_deadline=date(2028, 1, 3),
            withdrawal_deadline=date(2028, 1, 10),
            entry_fee="45.50",
            dates_unconfirmed=True,
        )
    return cast.academy


@pytest.mark.parametrize("name", KINDS)
def test_what_went_out_comes_back_and_changes_nothing(name, full, cast, as_) -> None:
    content = taken(as_(cast.coach), name, year="all")
    batch = keep_file(academy=full, person=cast.coach, file_name="back", content=content)
    plan = preview(batch)
    assert (plan.problems, plan.new, plan.changed) == ((), (), ())
    assert len(plan.unchanged) == Event.objects.filter(academy=full).count() == 133 + 13


@pytest.mark.parametrize("name", KINDS)
def test_another_academy_gets_the_same_events_from_the_file(name, full, cast, as_) -> None:
    content = taken(as_(cast.coach), name, year="all")
    elsewhere = AcademyFactory()
    PlaceFactory(academy=elsewhere, place_name="=Court 7, “Oak”", country="")
    outcome = import_file(academy=elsewhere, person=None, file_name="calendar", content=content)
    assert outcome == Outcome(created=146, changed=0, unchanged=0)
    assert facts(elsewhere) == facts(full)


@pytest.mark.parametrize("name", KINDS)
def test_the_file_has_the_events_that_the_page_shows(name, full, cast, as_) -> None:
    client = as_(cast.coach)
    query = {"year": "2028", "q": "fell"}
    page = client.get(reverse("calendar"), query)
    assert f"{reverse(name)}?{page.context['page'].address}".replace("&", "&amp;") in (
        page.content.decode()
    )
    content = client.get(f"{reverse(name)}?{page.context['page'].address}").content
    batch = keep_file(academy=full, person=cast.coach, file_name="back", content=content)
    assert len(preview(batch).rows) == page.context["page"].shown == 7


def test_the_csv_file_is_a_download_with_dates_as_dates(cast, as_) -> None:
    place = PlaceFactory(academy=cast.academy, place_name="Rome", country="IT")
    EventFactory(
        academy=cast.academy, place=place, name="=Lantern", start=date(2027, 1, 11),
        end=date(2027, 1, 17), surface="clay", level="regional", draw_size=32, high_c=-1,
    )  # fmt: skip
    answer = as_(cast.player).get(reverse("calendar-csv"), {"year": "2027"})
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert answer["Content-Disposition"] == 'attachment; filename="event-calendar.csv"'
    header, row = csv.reader(io.StringIO(answer.content.decode("utf-8-sig"), newline=""))
    said = dict(zip(header, row, strict=True))
    assert (said["Event"], said["City"], said["Country"]) == ("'=Lantern", "Rome", "IT")
    assert (said["Start"], said["End"], said["High C"]) == ("2027-01-11", "2027-01-17", "-1")


def test_the_spreadsheet_is_a_download_with_one_sheet(cast, as_) -> None:
    EventFactory(academy=cast.academy, start=date(2027, 1, 11))
    answer = as_(cast.player).get(reverse("calendar-workbook"), {"year": "2027"})
    assert answer["Content-Type"].endswith("spreadsheetml.sheet")
    assert answer["Content-Disposition"] == 'attachment; filename="event-calendar.xlsx"'
    page = load_workbook(io.BytesIO(answer.content))["Events"]
    assert (page.max_row, page["D2"].is_date) == (2, True)


@pytest.mark.parametrize("name", KINDS)
def test_a_file_takes_as_many_queries_for_five_events_as_for_fifty(
    name, cast, as_, django_assert_num_queries
) -> None:
    client = as_(cast.coach)
    place = PlaceFactory(academy=cast.academy)
    EventFactory.create_batch(5, academy=cast.academy, place=place)
    with django_assert_num_queries(6) as few:
        taken(client, name, year="all")
    EventFactory.create_batch(45, academy=cast.academy, place=place)
    with django_assert_num_queries(len(few)):
        taken(client, name, year="all")
