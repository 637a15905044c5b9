"""Importing a calendar in the form of RFC 5545: its days, its places, and what it cannot say."""

from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from seasonplan.events.columns import propose_mapping
from seasonplan.events.importing import Outcome, confirm, keep_file, preview, undo
from seasonplan.events.models import Event, EventImport
from seasonplan.events.opening import read_table
from seasonplan.events.reading import EventRow, read_rows
from seasonplan.events.tables import FileUnreadable
from tests.factories import EventFactory, PlaceFactory

LANTERN = """BEGIN:VEVENT
UID:lantern@academy.test
DTSTAMP:20261101T120000Z
SUMMARY:Lantern Open
LOCATION:Valencia\\, Spain
DTSTART;VALUE=DATE:20270111
DTEND;VALUE=DATE:20270118
CATEGORIES:Clay,Regional
DESCRIPTION:Balls are handed out at the desk.
END:VEVENT"""


def calendar(*events: str, head: str = "") -> bytes:
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Academy//Events//EN", head, *events]
    text = "\n".join([line for line in lines if line] + ["END:VCALENDAR", ""])
    return text.replace("\n", "\r\n").encode()


def event(*lines: str, title: str = "Harbour Cup") -> str:
    """An event in Rome on clay, with these lines of its own."""
    return "\n".join(
        [
            "BEGIN:VEVENT",
            f"SUMMARY:{title}",
            "LOCATION:Rome\\, Italy",
            "CATEGORIES:clay",
            *lines,
            "END:VEVENT",
        ]
    )


def read(content: bytes) -> tuple[list[EventRow], list[tuple[int | None, str, str]]]:
    table = read_table(content)
    reading = read_rows(table, propose_mapping(table.header), "dmy")
    return list(reading.rows), [(p.row, p.column, p.sentence) for p in reading.problems]


def only(content: bytes) -> EventRow:
    [row], problems = read(content)
    assert problems == []
    return row


def refusal(content: bytes) -> str:
    with pytest.raises(FileUnreadable) as refused:
        read_table(content)
    return str(refused.value)


def keep(cast, content: bytes) -> EventImport:
    return keep_file(
        academy=cast.academy, person=cast.coach, file_name="calendar.ics", content=content
    )


# What comes in --------------------------------------------------------------------------------


def test_a_calendar_is_previewed_imported_and_undone_as_a_csv_file_is(cast) -> None:
    content = calendar(LANTERN, event("DTSTART:20270201", "DTEND:20270208"))
    batch = keep(cast, content)
    plan = preview(batch)
    assert (len(plan.new), plan.problems, plan.ready) == (2, (), True)

    assert confirm(batch=batch, seen=plan.digest) == Outcome(created=2, changed=0, unchanged=0)

    kept = Event.objects.select_related("place").get(name="Lantern Open")
    assert (kept.start, kept.end) == (date(2027, 1, 11), date(2027, 1, 17))
    assert (kept.surface, kept.level, str(kept.place)) == ("clay", "Regional", "Valencia, ES")
    assert preview(keep(cast, content)).nothing_to_do

    undo(batch=EventImport.objects.get(pk=batch.pk))
    assert not Event.objects.exists()


@pytest.mark.parametrize(
    ("lines", "first", "last"),
    [
        # The end of whole days is the first day that no longer belongs to the event.
        (("DTSTART;VALUE=DATE:20270111", "DTEND;VALUE=DATE:20270118"), 11, 17),
        (("DTSTART:20270111", "DTEND:20270112"), 11, 11),
        (("DTSTART:20270111", "DTEND:20270111"), 11, 11),
        (("DTSTART:20270111",), 11, 11),
        (("DTSTART:20270111", "DURATION:P7D"), 11, 17),
        (("DTSTART:20270111", "DURATION:P1W"), 11, 17),
        # Times: the days on which it begins and ends; midnight belongs to the day before.
        (("DTSTART:20270111T090000", "DTEND:20270117T180000"), 11, 17),
        (("DTSTART:20270111T090000", "DTEND:20270118T000000"), 11, 17),
        (("DTSTART:20270111T000000", "DTEND:20270111T000000"), 11, 11),
        (("DTSTART:20270111T090000", "DURATION:PT6H"), 11, 11),
        (("DTSTART:20270111T090000", "DURATION:P1DT15H"), 11, 12),
        # With a zone it is the day in that zone, whatever day it is elsewhere.
        (
            (
                "DTSTART;TZID=Pacific/Auckland:20270111T003000",
                "DTEND;TZID=Pacific/Auckland:20270117T233000",
            ),
            11,
            17,
        ),
        (
            (
                "DTSTART;TZID=A zone of our own:20270111T090000",
                "DTEND;TZID=A zone of our own:20270117T180000",
            ),
            11,
            17,
        ),
    ],
)
def test_the_days_of_an_event(lines, first, last) -> None:
    row = only(calendar(event(*lines)))
    assert (row.start, row.end) == (date(2027, 1, first), date(2027, 1, last))


@pytest.mark.parametrize(
    ("zone", "first", "last"),
    [("Pacific/Auckland", 12, 18), ("Europe/Rome", 11, 17), ("America/Lima", 11, 17)],
)
def test_a_time_in_utc_is_the_day_in_the_zone_of_the_calendar(zone, first, last) -> None:
    lines = event("DTSTART:20270111T110000Z", "DTEND:20270117T180000Z")
    row = only(calendar(lines, head=f"X-WR-TIMEZONE:{zone}"))
    assert (row.start, row.end) == (date(2027, 1, first), date(2027, 1, last))


@pytest.mark.parametrize(
    ("categories", "surface", "indoor", "level"),
    [
        ("CATEGORIES:Clay", "clay", False, ""),
        ("CATEGORIES:Indoor hard,National", "hard", True, "National"),
        ("CATEGORIES:National,Indoors,Carpet", "carpet", True, "National"),
        ("CATEGORIES:grass\nCATEGORIES:Regional,Juniors", "grass", False, "Regional, Juniors"),
        ("CATEGORIES:Hard courts,Under 16\\, girls", "hard", False, "Under 16, girls"),
    ],
)
def test_categories_say_surface_roof_and_level(categories, surface, indoor, level) -> None:
    lines = f"BEGIN:VEVENT\nSUMMARY:A\nLOCATION:Rome\\, Italy\nDTSTART:20270111\n{categories}"
    row = only(calendar(f"{lines}\nEND:VEVENT"))
    assert (row.surface, row.indoor, row.level) == (surface, indoor, level)


def test_a_calendar_without_levels_leaves_those_of_the_academy_alone(cast) -> None:
    place = PlaceFactory(academy=cast.academy, place_name="Rome", country="IT")
    mine = EventFactory(
        academy=cast.academy,
        name="Harbour Cup",
        start=date(2027, 2, 1),
        end=date(2027, 2, 7),
        surface="clay",
        level="national",
        draw_size=64,
        place=place,
    )
    plan = preview(keep(cast, calendar(event("DTSTART:20270201", "DTEND:20270208"))))
    assert [row.event.pk for row in plan.unchanged] == [mine.pk]


def test_folded_lines_escapes_and_other_parts_of_a_calendar_are_understood() -> None:
    content = calendar(
        "BEGIN:VTIMEZONE\nTZID:Europe/Rome\nBEGIN:STANDARD\nDTSTART:19701025T030000\n"
        "RRULE:FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU\nTZOFFSETFROM:+0200\nTZOFFSETTO:+0100\n"
        "END:STANDARD\nEND:VTIMEZONE",
        "BEGIN:VTODO\nSUMMARY:Order balls\nEND:VTODO",
        "begin:vevent\nsummary;language=en:Har\n bour\n \tCup\\; men\\, women\n"
        "Location:Rome\\, IT\n"
        "dtstart;tzid=Europe/Rome:20270201T090000\nDTEND;TZID=Europe/Rome:20270207T180000\n"
        "CATEGORIES:clay\n"
        "BEGIN:VALARM\nACTION:DISPLAY\nSUMMARY:Pack\nDTSTART:20260101\nTRIGGER:-P1D\nEND:VALARM\n"
        'X-OWN;X-A="b:c":d\nend:vevent',
    )
    row = only(content)
    assert (row.name, row.start, row.end) == (
        "Harbour Cup; men, women",
        date(2027, 2, 1),
        date(2027, 2, 7),
    )


def test_a_surface_that_no_event_says_can_be_said_for_all_of_them(cast, as_) -> None:
    client = as_(cast.coach)
    known = EventFactory(
        academy=cast.academy,
        name="Lantern Open",
        start=date(2027, 1, 11),
        end=date(2027, 1, 17),
        surface="grass",
        place=PlaceFactory(academy=cast.academy, place_name="Valencia", country="ES"),
    )
    content = calendar(
        LANTERN.replace("CATEGORIES:Clay,Regional\n", ""),
        event("DTSTART:20270201").replace("CATEGORIES:clay\n", ""),
        event("DTSTART:20270301"),
    )
    upload = SimpleUploadedFile("calendar.ics", content)
    page = client.get(client.post(reverse("event-import"), {"file": upload})["Location"])
    assert [p.sentence for p in page.context["plan"].problems] == [
        "The surface is missing. Fill it in, or say below which it is where the file says none."
    ] * 2
    batch = EventImport.objects.get()
    chosen = {name: str(column) for name, column in page.context["plan"].mapping.items()}

    client.post(reverse("import", args=[batch.pk]), {**chosen, "usual_surface": "hard"})
    plan = client.get(reverse("import", args=[batch.pk])).context["plan"]
    client.post(reverse("import-confirm", args=[batch.pk]), {"seen": plan.digest})

    surfaces = {(e.start.month, e.surface) for e in Event.objects.all()}
    # What the calendar knew of an event stays where the file says nothing.
    assert surfaces == {(1, "grass"), (2, "hard"), (3, "clay")}
    known.refresh_from_db()
    assert known.surface == "grass"


# Faults ---------------------------------------------------------------------------------------


def test_each_planted_fault_is_named_with_its_line_and_nothing_else_is() -> None:
    content = calendar(
        LANTERN,  # lines 4 to 13
        event("DTSTART:20270230", title="A"),  # 14
        event("DTSTART:20270210", "DTEND:20270208", title="B"),  # 20
        event("DTSTART:20270215", "RRULE:FREQ=WEEKLY;COUNT=4", title="C"),  # 27
        event("DTSTART:20270301T230000Z", "DTEND:20270307", title="D"),  # 34
        event("DTSTART:20270308", "RDATE:20270309", title="E"),  # 41
        event("DTSTART:20270315", "DURATION:a week", title="F"),  # 48
        event("DTSTART;VALUE:20270322", title="G"),  # 55
        event("DTEND:20270330", title="H"),  # 61
        event("DTSTART:20270405", title="I" * 130),  # 67
        event("DTSTART:20270412", title=""),  # 73
        event("DTSTART:20270419", title="J").replace("clay", "clay,hard"),  # 79
        event("DTSTART:20270426", title="K").replace("LOCATION:Rome\\, Italy\n", ""),  # 85
    )
    rows, problems = read(content)
    assert [row.name for row in rows] == ["Lantern Open"]
    assert problems == [
        (14, "Starts", "“20270230” is not a date. Write it like 20270114."),
        (
            20,
            "Ends",
            "The last day (Sun 7 Feb 2027) lies before the first day (Wed 10 Feb 2027); correct "
            "one of them.",
        ),
        (
            27,
            "Starts",
            "It repeats, and an event of the calendar stands alone. Make each of its dates an "
            "event of its own.",
        ),
        (
            34,
            "Starts",
            "“20270301T230000Z” is a time in UTC, which may be another day where the event is. "
            "Make it an event of whole days, or give its time zone.",
        ),
        (
            41,
            "Starts",
            "It repeats, and an event of the calendar stands alone. Make each of its dates an "
            "event of its own.",
        ),
        (48, "Ends", "“a week” is not a length. Write it like P7D."),
        (55, "DTSTART", "The line cannot be read, or is too long. Correct it, or write it anew."),
        (61, "Starts", "The first day is missing. Fill it in."),
        (67, "Title", f"“{'I' * 30}…” has 130 letters. Shorten it to 120 at most."),
        (73, "Title", "The event name is missing. Fill it in."),
        (79, "Surface", "“clay, hard” names two surfaces. Choose the one of the event."),
        (85, "Location", "The place is missing. Fill in a city or the code of an airport."),
    ]


@pytest.mark.parametrize(
    "line",
    ["LOCATION:" + "x" * 2_000, "CATEGORIES:" + "a," * 990, "\n".join(["CATEGORIES:a"] * 99)],
)
def test_a_line_that_goes_on_and_on_is_a_fault_and_takes_no_time(line) -> None:
    lines = f"BEGIN:VEVENT\nSUMMARY:A\n{line}\nDTSTART:20270201\nCATEGORIES:clay\nEND:VEVENT"
    _, problems = read(calendar(lines))
    assert [(number, column) for number, column, _ in problems] == [(4, line.partition(":")[0])]


@pytest.mark.parametrize("line", ["RDATE:20270301", "RECURRENCE-ID:20270301"])
def test_every_way_of_repeating_is_refused(line) -> None:
    _, [(number, column, sentence)] = read(calendar(event("DTSTART:20270201", line)))
    assert (number, column) == (4, "Starts")
    assert sentence.startswith("It repeats")


def test_an_event_that_stands_twice_is_named_with_the_line_of_the_first() -> None:
    _, problems = read(calendar(LANTERN, LANTERN))
    assert problems == [
        (
            14,
            "Title",
            "“Lantern Open” from Mon 11 Jan 2027 stands in line 4 already. Remove one of the two.",
        )
    ]


def test_a_place_that_is_not_known_is_named_with_line_and_title_on_the_page(cast, as_) -> None:
    client = as_(cast.coach)
    content = calendar(event("DTSTART:20270201").replace("Rome", "Nebelheim"))
    upload = SimpleUploadedFile("calendar.ics", content)
    page = client.get(client.post(reverse("event-import"), {"file": upload})["Location"])
    html = page.content.decode()
    assert '<span class="row-word">Line </span>4' in html
    assert '<td data-label="Event">Harbour Cup</td><td data-label="Column">Location</td>' in html
    assert "No place “Nebelheim” in Italy is known." in html


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (calendar(), "has no events in it"),
        (calendar("BEGIN:VTODO\nSUMMARY:Order balls\nEND:VTODO"), "has no events in it"),
        (calendar(*[LANTERN] * 2_001), "has 2,001 events; at most 2,000"),
        (calendar(LANTERN)[:-40], "breaks off within the event of line 4"),
        (b"BEGIN:VCALENDAR", "has no events in it"),
        (calendar(event("DESCRIPTION:" + "x" * 2 * 1024 * 1024)), "at most 2 MB"),
    ],
)
def test_a_calendar_that_cannot_be_read_is_refused_in_a_sentence(content, words) -> None:
    assert words in refusal(content)


LINES = st.one_of(
    st.text(max_size=30),
    st.sampled_from(
        [
            "BEGIN:VEVENT",
            "END:VEVENT",
            "BEGIN:VALARM",
            "END:VALARM",
            "END:VCALENDAR",
            "SUMMARY:Lantern Open",
            'SUMMARY;X="',
            "LOCATION:Valencia\\, Spain",
            "LOCATION:Rome\\",
            "CATEGORIES:clay,,\\",
            "DTSTART:20270111",
            "DTSTART;VALUE=DATE:00000000",
            "DTSTART:00010101",
            "DTSTART:99991231T235959Z",
            "DTSTART:20270111T250000",
            "DTSTART:20270111/20270112",
            "DTSTART:P1D",
            "DTEND:00010101",
            "DTEND:20270117T240000",
            "DURATION:P99999999D",
            "DURATION:-P7D",
            "X-WR-TIMEZONE:../../etc",
            "X-WR-TIMEZONE:Pacific/Auckland",
            "X-WR-TIMEZONE:Europe",
            " ",
            "\tmore",
        ]
    ),
)


@settings(
    max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    lines=st.lists(LINES, max_size=14),
    whole=st.booleans(),
    end=st.sampled_from(["\r\n", "\n", "\r"]),
)
def test_any_lines_are_previewed_or_refused_in_a_sentence(cast, as_, lines, whole, end) -> None:
    inside = ["BEGIN:VEVENT", *lines, "END:VEVENT"] if whole else lines
    content = end.join(["BEGIN:VCALENDAR", *inside, "END:VCALENDAR"]).encode("utf-8", "replace")
    client = as_(cast.coach)
    upload = SimpleUploadedFile("calendar.ics", content)
    response = client.post(reverse("event-import"), {"file": upload})
    if response.status_code == 302:
        assert client.get(response["Location"]).status_code == 200
        return
    assert response.status_code == 422
    [sentence] = response.context["form"].errors["file"]
    assert sentence.endswith(".")
