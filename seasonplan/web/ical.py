"""Write a calendar as text that calendar programs subscribe to (RFC 5545, RFC 7986).

Every entry is of whole days, so that no time zone is needed: a day is the reader's own day, and an
alarm counts from its midnight wherever the reader is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Final

CONTENT_TYPE: Final = "text/calendar; charset=utf-8"
PRODID: Final = "-//Seasonplan//Season calendar//EN"

# RFC 5545, 3.1: octets of a line without its line break.
LONGEST_LINE: Final = 75
# RFC 5545, 3.3.11: TEXT holds no control characters but the tab and the escaped line feed.
CONTROLS: Final = re.compile("[\x00-\x08\x0b-\x1f\x7f]")

# RFC 5545, 3.6: a calendar holds at least one component. A time zone is one that nobody sees.
NOTHING_TO_SHOW: Final = (
    "BEGIN:VTIMEZONE",
    "TZID:Etc/UTC",
    "BEGIN:STANDARD",
    "DTSTART:19700101T000000",
    "TZOFFSETFROM:+0000",
    "TZOFFSETTO:+0000",
    "END:STANDARD",
    "END:VTIMEZONE",
)


@dataclass(frozen=True)
class Alarm:
    """A note shown so long after the first midnight of an entry; before it where negative."""

    after: timedelta
    text: str


@dataclass(frozen=True)
class Entry:
    """An entry from its first day to its last, both included.

    `uid` is the same for ever and nowhere else in the world. `takes_time` says whether the days
    count as busy; a cancelled entry is told to be off.
    """

    uid: str
    summary: str
    first: date
    last: date
    category: str
    url: str
    description: str = ""
    location: str = ""
    takes_time: bool = False
    cancelled: bool = False
    alarms: tuple[Alarm, ...] = ()


@dataclass(frozen=True)
class Calendar:
    """A calendar; `changed_at` is when and `sequence` how often what it says has changed."""

    uid: str
    name: str
    description: str
    color: str
    url: str
    refresh: timedelta
    changed_at: datetime
    sequence: int
    entries: tuple[Entry, ...]


def calendar_text(calendar: Calendar) -> str:
    """The calendar, in lines that end with CR LF."""
    return "".join(fold(line) + "\r\n" for line in _calendar(calendar))


def _calendar(calendar: Calendar) -> Iterator[str]:
    yield "BEGIN:VCALENDAR"
    yield "VERSION:2.0"
    yield f"PRODID:{PRODID}"
    yield f"UID:{calendar.uid}"
    yield f"LAST-MODIFIED:{moment(calendar.changed_at)}"
    yield f"NAME:{escape(calendar.name)}"
    yield f"X-WR-CALNAME:{escape(calendar.name)}"
    yield f"DESCRIPTION:{escape(calendar.description)}"
    yield f"COLOR:{calendar.color}"
    yield f"URL:{calendar.url}"
    yield f"REFRESH-INTERVAL;VALUE=DURATION:{duration(calendar.refresh)}"
    yield f"X-PUBLISHED-TTL:{duration(calendar.refresh)}"
    for entry in calendar.entries:
        yield from _entry(entry, calendar)
    if not calendar.entries:
        yield from NOTHING_TO_SHOW
    yield "END:VCALENDAR"


def _entry(entry: Entry, calendar: Calendar) -> Iterator[str]:
    yield "BEGIN:VEVENT"
    yield f"UID:{entry.uid}"
    yield f"DTSTAMP:{moment(calendar.changed_at)}"
    yield f"LAST-MODIFIED:{moment(calendar.changed_at)}"
    yield f"SEQUENCE:{calendar.sequence}"
    yield f"DTSTART;VALUE=DATE:{entry.first:%Y%m%d}"
    # The end is the first day that does not belong to the entry any more.
    yield f"DTEND;VALUE=DATE:{entry.last + timedelta(days=1):%Y%m%d}"
    yield f"SUMMARY:{escape(entry.summary)}"
    if entry.cancelled:
        yield "STATUS:CANCELLED"
    if entry.description:
        yield f"DESCRIPTION:{escape(entry.description)}"
    if entry.location:
        yield f"LOCATION:{escape(entry.location)}"
    yield f"CATEGORIES:{escape(entry.category)}"
    yield f"URL:{entry.url}"
    yield f"TRANSP:{'OPAQUE' if entry.takes_time else 'TRANSPARENT'}"
    for alarm in entry.alarms:
        yield "BEGIN:VALARM"
        yield "ACTION:DISPLAY"
        yield f"DESCRIPTION:{escape(alarm.text)}"
        yield f"TRIGGER:{duration(alarm.after)}"
        yield "END:VALARM"
    yield "END:VEVENT"


def fold(line: str) -> str:
    """Break a line into lines of at most 75 octets, those after the first begun with a space.

    No character is torn apart. RFC 5545, 3.1.
    """
    pieces, piece, room = [], "", LONGEST_LINE
    for character in line:
        size = len(character.encode())
        if size > room:
            pieces.append(piece)
            piece, room = "", LONGEST_LINE - 1
        piece += character
        room -= size
    return "\r\n ".join([*pieces, piece])


def escape(text: str) -> str:
    r"""TEXT with `\`, `;`, `,` and line breaks escaped. RFC 5545, 3.3.11."""
    text = CONTROLS.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))
    text = text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return text.replace("\n", "\\n")


def moment(at: datetime) -> str:
    """A moment in UTC, to the second: `20270104T061500Z`."""
    return f"{at.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def duration(length: timedelta) -> str:
    """A length of whole minutes: `PT12H`, `-P2DT7H`, `PT0S`. RFC 5545, 3.3.6."""
    minutes = abs(length) // timedelta(minutes=1)
    days, rest = divmod(minutes, 24 * 60)
    parts = [f"{days}D"] if days else []
    if rest:
        hours, minutes = divmod(rest, 60)
        parts += ["T", f"{hours}H" if hours else "", f"{minutes}M" if minutes else ""]
    sign = "-" if length < timedelta(0) else ""
    return f"{sign}P{''.join(parts) or 'T0S'}"
