"""The calendar: which events it shows to whom, and in which words."""

from datetime import date, timedelta

import pytest
from django.http import QueryDict
from django.urls import reverse

from seasonplan.events.calendar import calendar_page
from seasonplan.science.words import days
from tests.factories import EventFactory, PlaceFactory

TODAY = date(2027, 3, 1)


def page_of(cast, query: str = "", today: date = TODAY):
    return calendar_page(cast.academy, QueryDict(query), today)


def names(page) -> list[str]:
    return [line.name for month in page.months for line in month.lines]


@pytest.fixture
def four(cast) -> None:
    rome = PlaceFactory(academy=cast.academy, place_name="Rome", country="IT")
    EventFactory(academy=cast.academy, name="Late Cup", start=date(2027, 6, 7), surface="grass")
    EventFactory(academy=cast.academy, name="Roman Cup", start=date(2027, 4, 5), place=rome)
    EventFactory(academy=cast.academy, name="Early Cup", start=date(2027, 4, 1), level="major")
    EventFactory(academy=cast.academy, name="Next Cup", start=date(2028, 1, 3))
    EventFactory(academy=cast.foreign_academy, name="Their Cup", start=date(2027, 4, 1))


@pytest.mark.usefixtures("four")
def test_the_events_of_a_year_stand_by_month_in_order(cast) -> None:
    page = page_of(cast)
    assert [(month.label, [line.name for line in month.lines]) for month in page.months] == [
        ("April 2027", ["Early Cup", "Roman Cup"]),
        ("June 2027", ["Late Cup"]),
    ]


@pytest.mark.usefixtures("four")
@pytest.mark.parametrize(
    ("query", "shown"),
    [
        ("year=2028", ["Next Cup"]),
        ("year=all", ["Early Cup", "Roman Cup", "Late Cup", "Next Cup"]),
        ("year=2027&surface=grass", ["Late Cup"]),
        ("level=major", ["Early Cup"]),
        ("q=rome", ["Roman Cup"]),
        ("q=cup+it", ["Roman Cup"]),
        ("q=nothing", []),
        ("year=1066&surface=mud&level=unheard", ["Early Cup", "Roman Cup", "Late Cup"]),
    ],
)
def test_the_calendar_is_narrowed_by_year_surface_level_and_text(cast, query, shown) -> None:
    assert names(page_of(cast, query)) == shown


@pytest.mark.usefixtures("four")
def test_without_a_year_it_is_the_one_in_which_something_is_to_come(cast) -> None:
    assert names(page_of(cast, today=date(2027, 12, 1))) == ["Next Cup"]
    assert names(page_of(cast, today=date(2030, 1, 1))) == ["Next Cup"]


def test_the_next_deadlines_stand_in_order_with_what_closes(cast) -> None:
    EventFactory(
        academy=cast.academy,
        name="Soon Cup",
        start=date(2027, 4, 5),
        entry_deadline=date(2027, 3, 2),
        withdrawal_deadline=date(2027, 3, 20),
    )
    EventFactory(
        academy=cast.academy,
        name="Sooner Cup",
        start=date(2027, 4, 5),
        entry_deadline=date(2027, 2, 28),
        withdrawal_deadline=date(2027, 3, 1),
    )
    EventFactory(
        academy=cast.academy,
        name="Far Cup",
        start=date(2027, 9, 6),
        entry_deadline=date(2027, 3, 30),
    )
    assert [(d.event, d.what, d.when) for d in page_of(cast).deadlines] == [
        ("Sooner Cup", "last day to withdraw", "today"),
        ("Soon Cup", "entries close", "tomorrow"),
        ("Soon Cup", "last day to withdraw", "in 19 days"),
    ]


def test_a_line_says_what_is_over_and_leaves_out_what_is_not_known(cast) -> None:
    EventFactory(
        academy=cast.academy,
        start=date(2027, 2, 22),
        entry_deadline=date(2026, 12, 30),
        withdrawal_deadline=date(2027, 2, 10),
        draw_size=None,
        high_c=-3.5,
        entry_fee="45.50",
    )
    line = page_of(cast, "year=2027", today=TODAY).months[0].lines[0]
    assert (line.days, line.past) == ("22–28 Feb", True)
    assert (line.entry, line.entry_closed) == ("30 Dec 2026", True)
    assert (line.withdrawal, line.withdrawal_closed) == ("10 Feb", True)
    assert (line.draw_size, line.high, line.fee) == ("", "−3.5 °C", "45.50")


@pytest.mark.parametrize(
    ("start", "end", "words"),
    [
        (date(2027, 1, 11), date(2027, 1, 17), "11–17 Jan"),
        (date(2027, 3, 29), date(2027, 4, 4), "29 Mar – 4 Apr"),
        (date(2026, 12, 28), date(2027, 1, 3), "28 Dec – 3 Jan"),
        (date(2027, 1, 11), date(2027, 1, 11), "11 Jan"),
    ],
)
def test_days_are_written_as_short_as_they_can_be(start, end, words) -> None:
    assert days(start, end) == words


def test_a_member_reads_the_calendar_and_is_offered_nothing_to_change(cast, as_) -> None:
    EventFactory(academy=cast.academy, name="Lantern Open")
    html = as_(cast.player).get(reverse("calendar")).content.decode()
    assert "Lantern Open" in html
    assert "Add an event" not in html
    assert "Import a file" not in html


def test_an_empty_calendar_says_what_belongs_there_and_offers_the_import(cast, as_) -> None:
    html = as_(cast.coach).get(reverse("calendar")).content.decode()
    assert "No events yet" in html
    assert reverse("event-import") in html
    assert "Withdrawal deadline" in html
    assert reverse("event-import") not in as_(cast.player).get(reverse("calendar")).content.decode()


def test_htmx_gets_the_list_alone(cast, as_) -> None:
    EventFactory(academy=cast.academy, name="Lantern Open")
    html = as_(cast.coach).get(reverse("calendar"), headers={"HX-Request": "true"}).content.decode()
    assert html.strip().startswith('<div id="calendar-list"')
    assert "Lantern Open" in html


def test_the_calendar_takes_as_many_queries_for_fifty_events_as_for_five(
    cast, as_, django_assert_max_num_queries
) -> None:
    client = as_(cast.coach)

    def queries() -> int:
        with django_assert_max_num_queries(12) as captured:
            client.get(reverse("calendar") + "?year=all")
        return len(captured)

    def add(count: int) -> None:
        for n in range(count):
            start = date(2027, 1, 4) + timedelta(days=7 * n)
            EventFactory(academy=cast.academy, start=start, entry_deadline=start)

    add(5)
    with_five = queries()
    add(45)
    assert queries() == with_five


def test_who_is_in_two_academies_sees_one_at_a_time(cast, as_) -> None:
    cast.coach.memberships.create(academy=cast.foreign_academy, role="staff")
    EventFactory(academy=cast.academy, name="Tarn Cup")
    EventFactory(academy=cast.foreign_academy, name="Saltmarsh Cup")
    client = as_(cast.coach)
    first = client.get(reverse("calendar")).content.decode()
    assert "Saltmarsh Cup" in first
    assert "Add an event" not in first
    second = client.get(reverse("calendar"), {"academy": cast.academy.pk}).content.decode()
    assert "Tarn Cup" in second
    assert "Add an event" in second


@pytest.mark.usefixtures("four")
def test_a_character_that_no_database_holds_is_looked_for_in_vain(cast, as_) -> None:
    answer = as_(cast.player).get(reverse("calendar"), {"q": "Cup\x00", "year": "all"})
    assert answer.status_code == 200
