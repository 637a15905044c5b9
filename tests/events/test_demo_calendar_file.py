"""The two calendars in fixtures/ are what they say, read with nothing but the csv module."""

import csv
from collections import Counter
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from seasonplan.science.airports import Airport, airport_by_code, place_for_city
from tests.events.planted_faults import PLANTED_FAULTS

FIXTURES = Path(__file__).parents[2] / "fixtures"
SEASON_START, SEASON_END = date(2027, 1, 4), date(2028, 1, 2)
SURFACES = {"hard", "clay", "grass", "carpet"}
CONTINENTS = {
    "Africa": "Ghana Kenya Morocco Rwanda South_Africa Tunisia Zimbabwe",
    "America": "Argentina Canada Chile Colombia Dominican_Republic Ecuador Mexico Peru "
    "United_States Uruguay",
    "Asia": "China Cyprus Georgia India Japan Malaysia Qatar Singapore South_Korea Taiwan "
    "Thailand Turkey United_Arab_Emirates Vietnam",
    "Europe": "Austria Belgium Croatia Finland France Germany Greece Hungary Iceland Ireland Italy "
    "Luxembourg Netherlands Norway Poland Portugal Romania Serbia Slovakia Spain Sweden "
    "Switzerland United_Kingdom",
    "Oceania": "Australia New_Zealand",
}
CONTINENT_OF = {
    country.replace("_", " "): continent
    for continent, countries in CONTINENTS.items()
    for country in countries.split()
}


@pytest.fixture(scope="module")
def calendar() -> list[dict[str, str]]:
    with (FIXTURES / "demo-calendar.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def span(row: dict[str, str]) -> tuple[date, date]:
    return date.fromisoformat(row["Start"]), date.fromisoformat(row["End"])


def days(row: dict[str, str]) -> int:
    start, end = span(row)
    return (end - start).days + 1


def place(row: dict[str, str]) -> Airport:
    found = place_for_city(row["City"], row["Country"])
    assert found, row
    return found


def test_the_calendar_has_a_years_events_each_with_its_own_name(calendar):
    assert len(calendar) == 133
    assert len({row["Event"].casefold() for row in calendar}) == 133


def test_every_event_lies_in_the_season_and_they_stand_in_order_of_start(calendar):
    assert all(SEASON_START <= span(row)[0] <= span(row)[1] <= SEASON_END for row in calendar)
    assert calendar == sorted(calendar, key=lambda row: row["Start"])


def test_events_last_a_weekend_a_week_or_nearly_two(calendar):
    assert Counter(days(row) for row in calendar) == {7: 102, 3: 22, 12: 5, 14: 4}
    assert all(span(row)[1].strftime("%a") == "Sun" for row in calendar)
    first_days = {(days(row), span(row)[0].strftime("%a")) for row in calendar}
    assert first_days == {(3, "Fri"), (7, "Mon"), (12, "Wed"), (14, "Mon")}


def test_every_week_but_the_one_before_christmas_has_one_to_five_events(calendar):
    weeks = [SEASON_START + timedelta(weeks=week) for week in range(52)]
    held = {
        week: sum(span(r)[0] <= week + timedelta(6) and span(r)[1] >= week for r in calendar)
        for week in weeks
    }

    assert [week for week, events in held.items() if not events] == [date(2027, 12, 20)]
    assert max(held.values()) <= 5
    assert 2 <= sum(held.values()) / len(held) <= 4


def test_the_four_major_events_are_spread_over_the_year(calendar):
    majors = [
        (row["City"], row["Surface"], row["Start"], days(row))
        for row in calendar
        if row["Level"] == "major"
    ]

    assert majors == [
        ("Melbourne", "hard", "2027-01-18", 14),
        ("Toulouse", "clay", "2027-05-24", 14),
        ("Southampton", "grass", "2027-06-28", 14),
        ("Chicago", "hard", "2027-08-30", 14),
    ]


def test_the_calendar_goes_to_five_continents(calendar):
    events = Counter(CONTINENT_OF[row["Country"]] for row in calendar)

    assert set(events) == {"Africa", "America", "Asia", "Europe", "Oceania"}
    assert min(events.values()) >= 9


def test_every_city_is_found_in_the_country_that_the_row_names(calendar):
    assert all(place(row).iata for row in calendar)
    assert len({place(row).iata for row in calendar}) >= 120


def test_some_events_lie_high_enough_to_plan_for(calendar):
    high = {row["City"] for row in calendar if place(row).elevation_m >= 1_000}

    assert {"Bogotá", "Quito", "Denver", "Johannesburg", "Nairobi"} <= high


def test_surfaces_and_roofs_suit_the_season(calendar):
    assert {row["Surface"] for row in calendar} == SURFACES
    for row in calendar:
        month = span(row)[0].month
        if row["Surface"] == "grass":
            assert month in (6, 7), row
        if row["Surface"] == "carpet":
            assert row["Indoor"] == "yes", row
        if row["Indoor"] == "no":
            assert int(row["High C"]) >= 15, row
        assert row["Indoor"] in ("yes", "no"), row


def test_figures_are_those_of_an_event(calendar):
    for row in calendar:
        assert int(row["Draw"]) in (8, 16, 24, 32, 48, 64, 96, 128), row
        assert row["Level"] in ("regional", "national", "international", "major"), row
        assert -5 <= int(row["High C"]) <= 35, row
        assert 25 <= int(row["Fee"]) <= 160, row


def test_the_humidity_is_expected_where_it_is_hot_outdoors(calendar):
    for row in calendar:
        hot = row["Indoor"] == "no" and int(row["High C"]) >= 27
        assert bool(row["Humidity"]) is hot, row
        assert not hot or 15 <= int(row["Humidity"]) <= 70, row


def test_entries_close_before_withdrawals_and_both_before_the_event(calendar):
    for row in calendar:
        entry = date.fromisoformat(row["Entry deadline"])
        withdrawal = date.fromisoformat(row["Withdrawal deadline"])
        assert entry < withdrawal < span(row)[0], row
        assert (span(row)[0] - entry).days <= 50, row


def faulty_file() -> str:
    return (FIXTURES / "demo-calendar-with-faults.csv").read_bytes().decode("cp1252")


def faulty_rows() -> list[tuple[int, dict[str, str]]]:
    reader = csv.DictReader(faulty_file().splitlines(), delimiter=";")
    return list(enumerate(reader, start=2))


def test_the_file_with_faults_is_from_a_windows_spreadsheet():
    with pytest.raises(UnicodeDecodeError):
        (FIXTURES / "demo-calendar-with-faults.csv").read_bytes().decode("utf-8")

    assert "Málaga" in faulty_file()
    assert "Québec" in faulty_file()
    assert len(faulty_rows()) == 21
    assert {len(row) for _, row in faulty_rows()} == {14}


def test_the_planted_faults_are_the_only_ones_and_no_row_has_two():
    planted = {(number, header) for number, header, _ in PLANTED_FAULTS}
    found = set()
    seen: set[tuple[str, ...]] = set()
    for number, row in faulty_rows():
        found |= {(number, header) for header in wrong_columns(row)}
        if tuple(row.values()) in seen:
            found.add((number, "Name"))
        seen.add(tuple(row.values()))

    assert found == planted
    assert len({number for number, _ in planted}) == len(PLANTED_FAULTS) == 14


def wrong_columns(row: dict[str, str]) -> set[str]:
    dates = {
        header: day_first(row[header])
        for header in ("Start", "End", "Entry deadline", "Withdrawal deadline")
    }
    wrong = {header for header, day in dates.items() if day is None}
    start, end = dates["Start"], dates["End"]
    if start:
        wrong |= {h for h, day in dates.items() if h.endswith("deadline") and day and day > start}
        if end and not start <= end < start + timedelta(days=28):
            wrong.add("End")
    if not row["Name"]:
        wrong.add("Name")
    if row["Surface"] not in SURFACES:
        wrong.add("Surface")
    if not row["Draw size"].isdigit() or int(row["Draw size"]) < 2:
        wrong.add("Draw size")
    if not -30 <= int(row["Expected high"]) <= 55:
        wrong.add("Expected high")
    if int(row["Entry fee"]) < 0:
        wrong.add("Entry fee")
    code = row["Airport code"]
    if not (airport_by_code(code) if code else place_for_city(row["City"], row["Country"])):
        wrong.add("City")
    return wrong


def day_first(text: str) -> date | None:
    try:
        return datetime.strptime(text, "%d/%m/%Y").date()  # noqa: DTZ007 - a day, no moment
    except ValueError:
        return None
