"""Which weeks has a season, which ISO week is this, and which weeks are an event's weeks.

Weeks run from Monday to Sunday (ISO 8601: week 1 of a year is the one that holds 4 January).
Everything that counts weeks, the layout first of all, counts them here.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import Final

MAX_SEASON_WEEKS: Final = 106
"""Two years of 53 weeks: the longest season."""

EVENT_WEEK_DAYS: Final = 3
"""A week in which an event has at least this many days is a week of that event."""


@dataclass(frozen=True, slots=True)
class Week:
    """One week of a season: its index from 0, its Monday and Sunday, and its ISO label."""

    index: int
    start: date
    end: date
    iso: str


def monday_of(day: date) -> date:
    """The Monday of the week that holds `day`."""
    return day - timedelta(days=day.weekday())


@lru_cache(maxsize=4096)
def iso_label(day: date) -> str:
    """ISO 8601 label of the week that holds `day`: 1 January 2027 lies in `2026-W53`."""
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"


def season_weeks(start: date, end: date) -> tuple[Week, ...]:
    """The whole weeks from `start` to `end`, both included.

    Raises ValueError, naming what is wrong, unless the season runs from a Monday to a Sunday and
    has at most 106 weeks.
    """
    if start.weekday() != 0:
        raise ValueError(f"a season starts on a Monday; {start} is a {start:%A}")
    if end.weekday() != 6:
        raise ValueError(f"a season ends on a Sunday; {end} is a {end:%A}")
    if end < start:
        raise ValueError(f"the season ends on {end}, before it starts on {start}")
    count = ((end - start).days + 1) // 7
    if count > MAX_SEASON_WEEKS:
        raise ValueError(f"a season has at most {MAX_SEASON_WEEKS} weeks; this one has {count}")
    mondays = (start + timedelta(weeks=index) for index in range(count))
    return tuple(
        Week(index, monday, monday + timedelta(days=6), iso_label(monday))
        for index, monday in enumerate(mondays)
    )


def event_weeks(start: date, end: date, season_start: date) -> range:
    """Indexes of the season's weeks that are weeks of an event on the days `start..end` inclusive.

    A week is one if the event has at least three of its days in it, or if it holds most of the
    event's days (the earlier one on a tie). Such weeks always follow one another. An event from
    Saturday to Tuesday has two days in each of its weeks: only the earlier one is an event week.
    Raises ValueError if the event ends before it starts.
    """
    if end < start:
        raise ValueError(f"the event ends on {end}, before it starts on {start}")
    first, first_weekday = divmod((start - season_start).days, 7)
    last, last_weekday = divmod((end - season_start).days, 7)
    if first == last:
        return range(first, first + 1)
    days_in_first, days_in_last = 7 - first_weekday, last_weekday + 1
    begin = first if days_in_first >= EVENT_WEEK_DAYS else first + 1
    stop = last + 1 if days_in_last >= EVENT_WEEK_DAYS else last
    if begin == stop:  # two weeks, one or two days in each
        begin = first if days_in_first >= days_in_last else last
        stop = begin + 1
    return range(begin, stop)
