"""Calendars as text: the RFC's rules, and what another reader makes of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonplan.web.ical import (
    Alarm,
    Calendar,
    Entry,
    calendar_text,
    duration,
    escape,
    fold,
    moment,
)
from tests.ical_rules import components, faults, unescape, unfold

ENTRY = Entry(
    uid="0f3d1f4e-5b0c-5d8e-9f0b-2f1f0c0e7a11",
    summary="Lantern Open",
    first=date(2026, 3, 2),
    last=date(2026, 3, 8),
    category="Event",
    url="https://season.test/plans/1/",
    description="Clay.",
    location="Málaga, Spain",
    takes_time=True,
    alarms=(Alarm(timedelta(days=-3, hours=17), "Enter"),),
)
CALENDAR = Calendar(
    uid="9a4c2d3e-0f1b-4c5d-8e7f-6a5b4c3d2e1f",
    name="Seasonplan",
    description="A season",
    color="teal",
    url="https://season.test/me/calendar/",
    refresh=timedelta(hours=12),
    changed_at=datetime(2026, 1, 4, 7, 15, tzinfo=UTC),
    sequence=3,
    entries=(ENTRY,),
)
# What a database of UTF-8 can hold: no lone surrogates.
TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=300)
LINES = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\r\n"), max_size=400)


# Lines ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "octets"),
    [
        # RFC 5545, 3.1: at most 75 octets without the line break. Worked out by hand: 108 octets
        # are 75 and a space with 33; of 128 the 75th would be half a character.
        ("SUMMARY:" + 100 * "x", [75, 34]),
        ("SUMMARY:" + 60 * "é", [74, 55]),
        ("x" * 75, [75]),
        ("x" * 76, [75, 2]),
        ("", [0]),
    ],
)
def test_lines_are_filled_to_75_octets(line: str, octets: list[int]) -> None:
    assert [len(part.encode()) for part in fold(line).split("\r\n")] == octets


@given(LINES)
def test_folding_tears_no_character_and_loses_nothing(line: str) -> None:
    folded = fold(line)
    for octets in folded.encode().split(b"\r\n"):
        assert len(octets) <= 75
        octets.decode()
    assert unfold(folded) == line


def test_text_is_escaped_as_the_rfc_says() -> None:
    assert escape("Week, one; test\\ line\nnew") == r"Week\, one\; test\\ line\nnew"
    assert escape("a\r\nb\rc") == r"a\nb\nc"
    assert escape("bell\x07 and\ttab") == "bell and\ttab"


@given(st.text(st.characters(exclude_categories=["Cc", "Cs"], include_characters="\n\t\\;,")))
def test_escaping_can_be_undone(text: str) -> None:
    assert unescape(escape(text)) == text


@pytest.mark.parametrize(
    ("length", "written"),
    [
        (timedelta(hours=12), "PT12H"),
        (timedelta(days=-3, hours=17), "-P2DT7H"),
        (timedelta(days=-1, hours=17), "-PT7H"),
        (timedelta(days=-1), "-P1D"),
        (timedelta(hours=18), "PT18H"),
        (timedelta(days=1, minutes=5), "P1DT5M"),
        (timedelta(0), "PT0S"),
    ],
)
def test_durations_are_those_of_the_rfc(length: timedelta, written: str) -> None:
    assert duration(length) == written
    assert icalendar.vDuration.from_ical(written) == length


def test_moments_are_in_utc() -> None:
    evening = datetime(2027, 1, 4, 1, 15, tzinfo=timezone(timedelta(hours=2)))
    assert moment(evening) == "20270103T231500Z"


# Calendars -----------------------------------------------------------------------------------


def test_a_calendar_says_what_programs_need() -> None:
    calendar = components(calendar_text(CALENDAR).encode())
    for name, value in {
        "NAME": "Seasonplan",
        "X-WR-CALNAME": "Seasonplan",
        "UID": CALENDAR.uid,
        "COLOR": "teal",
        "REFRESH-INTERVAL": "PT12H",
        "X-PUBLISHED-TTL": "PT12H",
        "LAST-MODIFIED": "20260104T071500Z",
    }.items():
        assert calendar.value(name) == value


def test_the_last_day_is_followed_by_the_end() -> None:
    """RFC 5545, 3.6.1: DTEND of whole days is exclusive; Mon 2 to Sun 8 March ends on the 9th."""
    text = calendar_text(CALENDAR)
    assert "DTSTART;VALUE=DATE:20260302\r\nDTEND;VALUE=DATE:20260309\r\n" in text


def test_a_calendar_without_entries_is_sound() -> None:
    empty = calendar_text(replace(CALENDAR, entries=())).encode()
    assert faults(empty) == []
    assert icalendar.Calendar.from_ical(empty).events == []


@given(TEXT, TEXT, TEXT, st.booleans(), st.dates(date(1900, 1, 1), date(2200, 1, 1)))
def test_whatever_is_written_is_sound_and_read_back(
    summary: str, description: str, location: str, takes_time: bool, first: date
) -> None:
    entry = replace(
        ENTRY,
        summary=summary,
        description=description,
        location=location,
        takes_time=takes_time,
        first=first,
        last=first + timedelta(days=2),
        alarms=(Alarm(timedelta(hours=-7), summary),),
    )
    text = calendar_text(replace(CALENDAR, entries=(entry,))).encode()
    assert faults(text) == []

    [event] = components(text).inside
    assert escape(unescape(event.value("SUMMARY"))) == escape(summary)

    [read] = icalendar.Calendar.from_ical(text).events
    assert read["DTSTART"].dt == first
    assert read["DTEND"].dt == first + timedelta(days=3)
    assert read["UID"] == entry.uid
    [alarm] = read.walk("VALARM")
    assert alarm["TRIGGER"].dt == timedelta(hours=-7)


@given(st.text(st.characters(categories=["L", "N", "P", "S", "Zs"], include_characters="\n")))
def test_another_reader_reads_the_same_words(summary: str) -> None:
    text = calendar_text(replace(CALENDAR, entries=(replace(ENTRY, summary=summary),)))
    [read] = icalendar.Calendar.from_ical(text.encode()).events
    assert str(read["SUMMARY"]) == summary


# The rules find faults -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("was", "becomes", "fault"),
    [
        ("\r\n", "\n", "the last line does not end with CR LF"),
        ("SUMMARY:", "SUMMARY:" + 70 * "x", "has 90 octets"),
        ("Clay.", "Clay; red", "DESCRIPTION is not escaped"),
        ("Clay.", "Clay\\. red", "DESCRIPTION is not escaped"),
        ("Clay.", "Clay\x07", "is none"),
        ("VERSION:2.0\r\n", "", "VCALENDAR needs VERSION once"),
        ("VERSION:2.0", "VERSION:1.0", "VERSION is not 2.0"),
        ("DTSTAMP:20260104T071500Z\r\n", "", "VEVENT needs DTSTAMP once"),
        ("DTSTAMP:20260104T071500Z", "DTSTAMP:20260104T071500", "DTSTAMP is not in UTC"),
        (f"UID:{ENTRY.uid}\r\n", 2 * f"UID:{ENTRY.uid}\r\n", "VEVENT needs UID once"),
        ("20260309", "20260302", "DTEND is not after DTSTART"),
        ("DTEND;VALUE=DATE:20260309", "DTEND:20260309T000000Z", "DTEND is not a whole day"),
        ("REFRESH-INTERVAL;VALUE=DURATION", "REFRESH-INTERVAL", "needs VALUE=DURATION"),
        ("TRIGGER:-P2DT7H", "TRIGGER:-P2D7H", "TRIGGER is no duration"),
        ("ACTION:DISPLAY\r\n", "", "VALARM needs ACTION once"),
        ("END:VALARM\r\n", "", "VEVENT ends and was not open"),
    ],
)
def test_the_rules_name_a_fault(was: str, becomes: str, fault: str) -> None:
    sound = calendar_text(CALENDAR)
    assert faults(sound.encode()) == []
    assert was in sound
    assert any(fault in found for found in faults(sound.replace(was, becomes).encode()))


def test_the_rules_find_two_entries_of_one_name() -> None:
    twice = calendar_text(replace(CALENDAR, entries=(ENTRY, ENTRY)))
    assert faults(twice.encode()) == [f"UID {ENTRY.uid} stands 2 times"]
