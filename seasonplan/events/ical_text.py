"""Which events does the text of an iCalendar file hold (RFC 5545)? `opening.py` asks.

Title, place and days come from SUMMARY, LOCATION, DTSTART and DTEND or DURATION. Of the CATEGORIES
those that name a surface or a roof become the surface, and all others the level. Of the STATUS is
read whether the event was called off, and what else it says is not. An event that repeats, or whose
time leaves the day open, is a fault of its line.

A day is the day where the event takes place: a time with a zone, or without any, already says it. A
time in UTC does not, unless the calendar says in which zone it is meant.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from icalendar import vDDDTypes, vDuration
from icalendar.parser import Contentline, split_on_unescaped_comma, unescape_backslash

from seasonplan.events.cells import folded, read_surface
from seasonplan.events.tables import MOST_ROWS, Fault, FileUnreadable, Row, Table, cell_text
from seasonplan.science.words import N_, _, whole

HEADER: Final = ("Title", "Location", "Starts", "Ends", "Surface")
IF_SAID: Final = ("Level", "Cancelled")
"""Further columns, each there if an event of the file says anything for it."""

LONGEST_LINE: Final = 2_000
MOST_CATEGORIES: Final = 50
_TITLE, _LOCATION, _STARTS, _ENDS = range(4)

_NAME: Final = re.compile(r"([A-Za-z0-9-]+)[:;]")
_READ: Final = frozenset(
    {"SUMMARY", "LOCATION", "CATEGORIES", "DTSTART", "DTEND", "DURATION", "STATUS"}
)
_ROOFS: Final = frozenset({"indoor", "indoors", "outdoor", "outdoors"})
_REPEATS: Final = frozenset({"RRULE", "RDATE", "RECURRENCE-ID"})


_BROKEN: Final = N_("The line cannot be read, or is too long. Correct it, or write it anew.")
_REPEATED: Final = N_(
    "It repeats, and an event of the calendar stands alone. Make each of its dates an event of its "
    "own."
)


@dataclass
class _Event:
    """The properties of one event that are read, each with its value as it stands."""

    line: int
    said: dict[str, str] = field(default_factory=dict)
    categories: list[str] = field(default_factory=list)
    broken: str = ""
    repeats: bool = False


@dataclass
class _Calendar:
    events: list[_Event] = field(default_factory=list)
    zone: ZoneInfo | None = None


def read_ical(text: str) -> Table:
    """The events of an iCalendar file, one a row under the number of its first line, or
    FileUnreadable."""
    calendar = _parsed(text)
    if not calendar.events:
        raise FileUnreadable(
            _(
                "The calendar has no events in it. Export it again with its events, and choose "
                "that file."
            )
        )
    if len(calendar.events) > MOST_ROWS:
        raise FileUnreadable(
            _(
                "The calendar has %(count)s events; at most %(most)s can be imported at a time. "
                "Export a shorter time, such as one year."
            )
            % {"count": whole(len(calendar.events)), "most": whole(MOST_ROWS)}
        )
    rows: list[Row] = []
    faults: list[Fault] = []
    for event in calendar.events:
        surface, level = _sorted(event.categories)
        first, last = _days(event, calendar.zone, faults)
        title, location = _text(event, "SUMMARY"), _text(event, "LOCATION")
        cells = (title, location, first, last, surface, level, _cancelled(event))
        rows.append(Row(event.line, cells))
    header = (*HEADER, *IF_SAID)
    said = [
        column
        for column, _ in enumerate(header)
        if column < len(HEADER) or any(row.cells[column] for row in rows)
    ]
    return Table(
        tuple(header[column] for column in said),
        tuple(Row(row.number, tuple(row.cells[column] for column in said)) for row in rows),
        faults=tuple(faults),
        in_lines=True,
    )


# --- lines ------------------------------------------------------------------------------------


def _unfolded(text: str) -> Iterator[tuple[int, str]]:
    """Every line with its number; one that begins with a space goes on from the line before."""
    number, pieces = 0, [""]
    for here, line in enumerate(re.split(r"\r\n|\r|\n", text), 1):
        if line[:1] in (" ", "\t") and number:
            pieces.append(line[1:])
            continue
        yield number, "".join(pieces)
        number, pieces = here, [line]
    yield number, "".join(pieces)


def _parsed(text: str) -> _Calendar:
    calendar = _Calendar()
    event: _Event | None = None
    inside = 0  # how deep in a part of the event, such as an alarm, that is not read
    for number, line in _unfolded(text):
        found = _NAME.match(line)
        name = found[1].upper() if found else ""
        what = line.partition(":")[2].strip().upper() if name in ("BEGIN", "END") else ""
        if event is None:
            if what == "VEVENT" and name == "BEGIN":
                event, inside = _Event(number), 0
                calendar.events.append(event)
            elif name == "X-WR-TIMEZONE":
                calendar.zone = calendar.zone or _zone(line.partition(":")[2])
        elif name == "BEGIN":
            inside += 1
        elif name == "END" and inside:
            inside -= 1
        elif name == "END":
            event = None
        elif not inside:
            _take(event, name, line)
    if event is not None:
        raise FileUnreadable(
            _(
                "The file breaks off within the event of line %(line)d. Export the calendar "
                "again, and choose that file."
            )
            % {"line": event.line}
        )
    return calendar


def _zone(name: str) -> ZoneInfo | None:
    try:
        return ZoneInfo(name.strip())
    except (ValueError, OSError, ZoneInfoNotFoundError):
        return None


def _take(event: _Event, name: str, line: str) -> None:
    if name in _REPEATS:
        event.repeats = True
    if name not in _READ or name in event.said or event.broken:
        return
    if len(line) > LONGEST_LINE:
        event.broken = name
        return
    try:
        _, _, value = Contentline(line).raw_parts()
    except ValueError:
        event.broken = name
        return
    if name == "CATEGORIES":
        event.categories += [
            text for part in split_on_unescaped_comma(value) if (text := cell_text(part))
        ]
        if len(event.categories) > MOST_CATEGORIES:
            event.broken = name
    else:
        event.said[name] = value


# --- what an event says -----------------------------------------------------------------------


def _text(event: _Event, name: str) -> str:
    return cell_text(unescape_backslash(event.said.get(name, "")).replace("\n", ", "))


def _cancelled(event: _Event) -> str:
    return "yes" if event.said.get("STATUS", "").strip().upper() == "CANCELLED" else ""


def _sorted(categories: list[str]) -> tuple[str, str]:
    """Surface with roof, and level."""
    court: list[str] = []
    others: list[str] = []
    for category in categories:
        (court if _is_of_court(category) else others).append(category)
    return ", ".join(court), ", ".join(others)


def _is_of_court(category: str) -> bool:
    if folded(category) in _ROOFS:
        return True
    try:
        read_surface(category)
    except ValueError:
        return False
    return True


def _days(event: _Event, zone: ZoneInfo | None, faults: list[Fault]) -> tuple[str, str]:
    """First and last day as text; what is wrong joins the faults."""
    if event.broken:
        faults.append(Fault(event.line, None, _(_BROKEN), event.broken))
        faults += [Fault(event.line, column, "") for column in range(len(HEADER) + len(IF_SAID))]
        return "", ""
    unknown = Fault(event.line, _ENDS, "")
    if event.repeats:
        faults += [Fault(event.line, _STARTS, _(_REPEATED)), unknown]
        return "", ""
    start = _moment(event, "DTSTART", _STARTS, zone, faults)
    if start is None:
        faults.append(unknown)
        return "", ""
    if "DTEND" in event.said:
        end = _moment(event, "DTEND", _ENDS, zone, faults)
    else:
        end = _after(event, start, faults)
    return _day(start).isoformat(), _last(start, end).isoformat() if end else ""


def _moment(
    event: _Event, name: str, column: int, zone: ZoneInfo | None, faults: list[Fault]
) -> date | datetime | None:
    """A day, or a time without its zone on the day it is where the event takes place."""
    value = event.said.get(name, "").strip()
    if not value:
        return None
    try:
        at = vDDDTypes.from_ical(value)
    except ValueError:
        at = None
    if not isinstance(at, date):
        sentence = _("“%(text)s” is not a date. Write it like 20270114.")
    elif not isinstance(at, datetime) or at.tzinfo is None:
        return at
    elif zone is None:
        sentence = _(
            "“%(text)s” is a time in UTC, which may be another day where the event is. Make it an "
            "event of whole days, or give its time zone."
        )
    else:
        try:
            return at.replace(tzinfo=UTC).astimezone(zone).replace(tzinfo=None)
        except OverflowError:
            sentence = _("“%(text)s” is out of range. Check the year.")
    faults.append(Fault(event.line, column, sentence % {"text": value[:40]}))
    return None


def _after(event: _Event, start: date | datetime, faults: list[Fault]) -> date | datetime | None:
    """The end by DURATION; without one the event lasts its first day (RFC 5545, 3.6.1)."""
    value = event.said.get("DURATION", "").strip()
    if not value:
        return start
    try:
        length: timedelta = vDuration.from_ical(value)
        return start + length
    except (ValueError, OverflowError):
        sentence = _("“%(text)s” is not a length. Write it like P7D.") % {"text": value[:40]}
        faults.append(Fault(event.line, _ENDS, sentence))
        return None


def _day(at: date | datetime) -> date:
    return at.date() if isinstance(at, datetime) else at


def _last(start: date | datetime, end: date | datetime) -> date:
    """The last day of an event: its end, as a day or as midnight, no longer belongs to it."""
    last = _day(end)
    whole_days = not isinstance(end, datetime) or end.time() == time.min
    if whole_days and last != _day(start) and last > date.min:
        last -= timedelta(days=1)
    return last
