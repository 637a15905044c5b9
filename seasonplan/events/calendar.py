"""What the calendar page shows: the events of a year by month, and the next deadlines."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from itertools import groupby
from typing import Final
from urllib.parse import urlencode

from django.db.models import Q, QuerySet
from django.db.models.functions import ExtractYear
from django.http import QueryDict
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from seasonplan.academy.models import Academy, Surface
from seasonplan.events.facts import plain_day
from seasonplan.events.models import Event
from seasonplan.science.words import (
    day_month,
    days,
    month_year,
    number,
    short_month,
    short_number,
    weekday_day,
)

DEADLINES_AHEAD_DAYS: Final = 28
MOST_DEADLINES: Final = 6
ALL_YEARS: Final = "all"


@dataclass(frozen=True, slots=True)
class EventLine:
    """One event, in the words of the page; what is not known is an empty text. `past`, and whether
    a deadline is closed, are as of the page's day."""

    url: str
    name: str
    start: date
    end: date
    days: str
    place: str
    surface: str
    surface_label: str
    roof: str
    level: str
    draw_size: str
    high: str
    fee: str
    entry: str
    entry_closed: bool
    withdrawal: str
    withdrawal_closed: bool
    past: bool
    unconfirmed: bool
    cancelled: bool


@dataclass(frozen=True, slots=True)
class Month:
    anchor: str
    label: str
    short: str
    lines: tuple[EventLine, ...]


@dataclass(frozen=True, slots=True)
class Deadline:
    """A day on which something closes, in words too, and how far off it is."""

    on: date
    day: str
    what: str
    event: str
    place: str
    url: str
    when: str


@dataclass(frozen=True, slots=True)
class Option:
    value: str
    label: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class CalendarPage:
    academy: Academy
    months: tuple[Month, ...]
    deadlines: tuple[Deadline, ...]
    years: tuple[Option, ...]
    surfaces: tuple[Option, ...]
    levels: tuple[Option, ...]
    text: str
    shown: int
    has_events: bool
    narrowed: bool
    address: str


@dataclass(frozen=True, slots=True)
class Narrowed:
    """Which events were asked for. `events` are those, with their places; `all_events` are all of
    the academy. A year that is None is all of them, and an empty text is no limit."""

    events: QuerySet[Event]
    all_events: QuerySet[Event]
    years: list[int]
    levels: list[str]
    year: int | None
    surface: str
    level: str
    text: str


def narrow(academy: Academy, query: QueryDict, today: date) -> Narrowed:
    """The calendar as narrowed by year, surface, level and text (`query`, as in the address).

    Without a year it is this year's if anything is still to come in it, else the next year that
    has events, else the last. What the address has that the calendar does not know is ignored.
    """
    events = Event.objects.filter(academy=academy)
    years = sorted(events.order_by().values_list(ExtractYear("start"), flat=True).distinct())
    levels = list(
        events.exclude(level="").order_by("level").values_list("level", flat=True).distinct()
    )
    year = _year(events, query.get("year", ""), years, today)
    surface = query.get("surface", "") if query.get("surface") in Surface.values else ""
    level = query.get("level", "") if query.get("level") in levels else ""
    text = " ".join(query.get("q", "").replace("\0", " ").split())[:80]
    chosen = events.select_related("place")
    if year:
        chosen = chosen.filter(start__year=year)
    if surface:
        chosen = chosen.filter(surface=surface)
    if level:
        chosen = chosen.filter(level=level)
    for word in text.split():
        chosen = chosen.filter(
            Q(name__icontains=word)
            | Q(place__place_name__icontains=word)
            | Q(place__country__iexact=word)
        )
    return Narrowed(chosen, events, years, levels, year, surface, level, text)


def _address(academy: Academy, narrowed: Narrowed) -> str:
    """The query of an address that asks for these events, and for all years where it is so."""
    asked = {
        "academy": academy.pk,
        "year": narrowed.year or ALL_YEARS,
        "surface": narrowed.surface,
        "level": narrowed.level,
        "q": narrowed.text,
    }
    return urlencode({name: value for name, value in asked.items() if value})


def calendar_page(academy: Academy, query: QueryDict, today: date) -> CalendarPage:
    """The page with the events that `narrow` finds; its `address` asks for the same again."""
    narrowed = narrow(academy, query, today)
    events, years, year = narrowed.all_events, narrowed.years, narrowed.year
    surface, level, text = narrowed.surface, narrowed.level, narrowed.text
    lines = [line_of(event, today) for event in narrowed.events]
    return CalendarPage(
        academy=academy,
        months=tuple(
            Month(f"{first:%Y-%m}", month_year(first), short_month(first), tuple(same))
            for first, same in groupby(lines, key=lambda line: line.start.replace(day=1))
        ),
        deadlines=_deadlines(events, today),
        years=(
            *(Option(str(each), str(each), each == year) for each in years),
            Option(ALL_YEARS, _("All years"), year is None),
        ),
        surfaces=(
            Option("", _("Every surface"), not surface),
            *(Option(each.value, str(each.label), each == surface) for each in Surface),
        ),
        levels=(
            Option("", _("Every level"), not level),
            *(Option(each, each, each == level) for each in narrowed.levels),
        ),
        text=text,
        shown=len(lines),
        has_events=bool(years),
        narrowed=bool(surface or level or text),
        address=_address(academy, narrowed),
    )


def line_of(event: Event, today: date) -> EventLine:
    """One event as a line; its place is loaded."""
    entry, withdrawal = event.entry_deadline, event.withdrawal_deadline
    return EventLine(
        url=reverse("event", args=[event.pk]),
        name=event.name,
        start=event.start,
        end=event.end,
        days=days(event.start, event.end),
        place=str(event.place),
        surface=event.surface,
        surface_label=str(Surface(event.surface).label),
        roof=pgettext("of one event", "indoors") if event.indoor else "",
        level=event.level,
        draw_size="" if event.draw_size is None else str(event.draw_size),
        high="" if event.high_c is None else f"{short_number(event.high_c)} °C".replace("-", "−"),
        fee=_fee(event.entry_fee) if event.entry_fee else "",
        entry=_deadline(entry, event.start),
        entry_closed=entry is not None and entry < today,
        withdrawal=_deadline(withdrawal, event.start),
        withdrawal_closed=withdrawal is not None and withdrawal < today,
        past=event.end < today,
        unconfirmed=event.dates_unconfirmed,
        cancelled=event.cancelled,
    )


def _fee(amount: Decimal) -> str:
    """`45` or `45.50`."""
    return number(float(amount), 0 if amount == int(amount) else 2)


def _deadline(on: date | None, start: date) -> str:
    """The day, with its year where that is not the event's; empty if there is none."""
    if on is None:
        return ""
    if on.year == start.year:
        return day_month(on)
    return plain_day(on)


def _year(events: QuerySet[Event], wanted: str, years: list[int], today: date) -> int | None:
    """The year to show; None for all of them."""
    if wanted == ALL_YEARS or not years:
        return None
    if wanted.isdecimal() and int(wanted) in years:
        return int(wanted)
    coming = events.filter(end__gte=today).order_by("start").values_list("start", flat=True)
    first = coming.first()
    return first.year if first else years[-1]


def _deadlines(events: QuerySet[Event], today: date) -> tuple[Deadline, ...]:
    last = today + timedelta(days=DEADLINES_AHEAD_DAYS)
    soon = events.filter(
        Q(entry_deadline__range=(today, last)) | Q(withdrawal_deadline__range=(today, last)),
        cancelled=False,
    ).select_related("place")
    found = [
        Deadline(
            on,
            weekday_day(on),
            what,
            event.name,
            str(event.place),
            reverse("event", args=[event.pk]),
            _when(on, today),
        )
        for event in soon
        for on, what in (
            (event.entry_deadline, _("entries close")),
            (event.withdrawal_deadline, _("last day to withdraw")),
        )
        if on is not None and today <= on <= last
    ]
    return tuple(sorted(found, key=lambda deadline: (deadline.on, deadline.event))[:MOST_DEADLINES])


def _when(on: date, today: date) -> str:
    ahead = (on - today).days
    if ahead < 2:
        return _("tomorrow") if ahead else _("today")
    return ngettext("in %(count)d day", "in %(count)d days", ahead) % {"count": ahead}
