"""The rules of RFC 5545 and RFC 7986 for a calendar of whole days, line by line.

Written from the RFCs and knowing nothing of the program: `faults(text)` lists what a calendar
breaks, `components(text)` reads it.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from datetime import date, datetime

NAME = r"[A-Za-z0-9-]+"
PARAMETER = rf';{NAME}=(?:"[^"\x00-\x08\x0a-\x1f\x7f]*"|[^";:,\x00-\x08\x0a-\x1f\x7f]*)'
# 3.1: name, parameters, a colon, and a value without control characters but the tab.
CONTENT_LINE = re.compile(rf"({NAME})((?:{PARAMETER})*):([^\x00-\x08\x0a-\x1f\x7f]*)", re.DOTALL)
DURATION = re.compile(r"[+-]?P(\d+W|\d+D(T(\d+H)?(\d+M)?(\d+S)?)?|T(\d+H)?(\d+M)?(\d+S)?)")
UTC_MOMENT = re.compile(r"\d{8}T\d{6}Z")
TEXTS = {"SUMMARY", "DESCRIPTION", "LOCATION", "NAME", "X-WR-CALNAME", "CATEGORIES"}
# Backslash, semicolon and comma stand nowhere without a backslash before them.
ESCAPED = re.compile(r"(?:[^\\;,]|\\[\\;,nN])*")

REQUIRED = {
    "VCALENDAR": {"VERSION", "PRODID"},
    "VEVENT": {"UID", "DTSTAMP", "DTSTART"},
    "VALARM": {"ACTION", "TRIGGER", "DESCRIPTION"},
    "VTIMEZONE": {"TZID"},
    "STANDARD": {"DTSTART", "TZOFFSETFROM", "TZOFFSETTO"},
}
AT_MOST_ONCE = {
    "VCALENDAR": {
        "CALSCALE", "METHOD", "UID", "LAST-MODIFIED", "URL", "REFRESH-INTERVAL", "SOURCE", "COLOR"
    },
    "VEVENT": {
        "CLASS", "CREATED", "DESCRIPTION", "GEO", "LAST-MODIFIED", "LOCATION", "ORGANIZER",
        "PRIORITY", "SEQUENCE", "STATUS", "SUMMARY", "TRANSP", "URL", "RECURRENCE-ID", "DTEND",
        "DURATION",
    },
    "VALARM": {"DURATION", "REPEAT"},
    "VTIMEZONE": {"LAST-MODIFIED", "TZURL"},
    "STANDARD": set(),
}  # fmt: skip
WITHIN = {
    None: {"VCALENDAR"},
    "VCALENDAR": {"VEVENT", "VTIMEZONE"},
    "VEVENT": {"VALARM"},
    "VTIMEZONE": {"STANDARD"},
}


@dataclass
class Line:
    name: str
    parameters: str
    value: str


@dataclass
class Component:
    name: str
    lines: list[Line] = field(default_factory=list)
    inside: list[Component] = field(default_factory=list)

    def all(self, name: str) -> list[Line]:
        return [line for line in self.lines if line.name == name]

    def value(self, name: str) -> str:
        [line] = self.all(name)
        return line.value


def unfold(text: str) -> str:
    return text.replace("\r\n ", "").replace("\r\n\t", "")


def unescape(text: str) -> str:
    return re.sub(r"\\(.)", lambda m: "\n" if m[1] in "nN" else m[1], text, flags=re.DOTALL)


def components(text: bytes) -> Component:
    """The calendar as a tree; raises ValueError with the first fault of its form."""
    if not text.endswith(b"\r\n"):
        raise ValueError("the last line does not end with CR LF")
    for number, octets in enumerate(text.removesuffix(b"\r\n").split(b"\r\n"), 1):
        if len(octets) > 75:
            raise ValueError(f"line {number} has {len(octets)} octets")
        if b"\r" in octets or b"\n" in octets:
            raise ValueError(f"line {number} holds half a line break")
        octets.decode()
    open_ones: list[Component] = []
    root = None
    for number, content in enumerate(unfold(text.decode()).removesuffix("\r\n").split("\r\n"), 1):
        match = CONTENT_LINE.fullmatch(content)
        if match is None:
            raise ValueError(f"content line {number} is none: {content!r}")
        line = Line(match[1].upper(), match[2], match[3])
        if line.name == "BEGIN":
            outer = open_ones[-1] if open_ones else None
            if line.value not in WITHIN.get(outer.name if outer else None, set()):
                raise ValueError(f"{line.value} stands in the wrong place")
            if outer is None and root is not None:
                raise ValueError("more than one calendar")
            made = Component(line.value)
            if outer:
                outer.inside.append(made)
            else:
                root = made
            open_ones.append(made)
        elif not open_ones:
            raise ValueError(f"{line.name} stands outside of everything")
        elif line.name == "END":
            if open_ones.pop().name != line.value:
                raise ValueError(f"{line.value} ends and was not open")
        else:
            open_ones[-1].lines.append(line)
    if open_ones or root is None:
        raise ValueError("a component does not end")
    return root


def faults(text: bytes) -> list[str]:
    """Everything that the calendar breaks; none for a sound one."""
    try:
        calendar = components(text)
    except ValueError as fault:
        return [str(fault)]
    found = [*_component(calendar)]
    if not calendar.inside:
        found.append("a calendar has at least one component")
    if [line.value for line in calendar.all("VERSION")] != ["2.0"]:
        found.append("VERSION is not 2.0")
    found += [
        "REFRESH-INTERVAL needs VALUE=DURATION and a duration"
        for line in calendar.all("REFRESH-INTERVAL")
        if line.parameters.upper() != ";VALUE=DURATION" or not DURATION.fullmatch(line.value)
    ]
    uids = Counter(line.value for inner in calendar.inside for line in inner.all("UID"))
    found += [f"UID {uid} stands {times} times" for uid, times in uids.items() if times > 1]
    return found


def _component(component: Component) -> list[str]:
    name = component.name
    times = Counter(line.name for line in component.lines)
    found = [f"{name} needs {n} once" for n in REQUIRED[name] if times[n] != 1]
    found += [f"{name} has {n} {times[n]} times" for n in AT_MOST_ONCE[name] if times[n] > 1]
    for line in component.lines:
        if line.name in TEXTS and not ESCAPED.fullmatch(line.value):
            found.append(f"{line.name} is not escaped: {line.value!r}")
        if line.name in ("DTSTAMP", "LAST-MODIFIED") and not UTC_MOMENT.fullmatch(line.value):
            found.append(f"{line.name} is not in UTC: {line.value}")
        if line.name == "SEQUENCE" and not re.fullmatch(r"\d{1,10}", line.value):
            found.append("SEQUENCE is no whole number")
        if line.name == "TRANSP" and line.value not in ("OPAQUE", "TRANSPARENT"):
            found.append(f"TRANSP is {line.value}")
        if line.name == "TRIGGER" and not DURATION.fullmatch(line.value):
            found.append(f"TRIGGER is no duration: {line.value}")
        if line.name == "ACTION" and line.value != "DISPLAY":
            found.append(f"ACTION is {line.value}")
        if line.name == "URL" and not re.fullmatch(r"[a-z]+:[!-~]+", line.value):
            found.append(f"URL is no address: {line.value}")
    if name == "VEVENT" and not found:
        found += _days(component)
    return found + [fault for inner in component.inside for fault in _component(inner)]


def _days(event: Component) -> list[str]:
    if event.all("DURATION") and event.all("DTEND"):
        return ["DTEND and DURATION stand together"]
    for name in ("DTSTART", "DTEND"):
        for line in event.all(name):
            if line.parameters != ";VALUE=DATE" or not re.fullmatch(r"\d{8}", line.value):
                return [f"{name} is not a whole day: {line.parameters}:{line.value}"]
    if event.all("DTEND") and day(event.value("DTEND")) <= day(event.value("DTSTART")):
        return ["DTEND is not after DTSTART"]
    day(event.value("DTSTART"))
    return []


def day(value: str) -> date:
    return datetime.strptime(value, "%Y%m%d").date()  # noqa: DTZ007
