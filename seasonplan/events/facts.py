"""What an event's days and figures may be, in plain values; the form, the model and the import ask.

No Django here: reading a file needs the rules, not the database.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Final

from seasonplan.science.words import _, day_month, pgettext, weekday_day

LONGEST_EVENT_DAYS: Final = 28
SMALLEST_DRAW, LARGEST_DRAW = 2, 512
LOWEST_HIGH_C, HIGHEST_HIGH_C = -30, 55
MOST_HUMIDITY: Final = 100
LONGEST_NAME: Final = 120
LONGEST_LEVEL: Final = 40
LARGEST_FEE: Final = 999_999
FIRST_YEAR, LAST_YEAR = 2000, 2100


def day(value: date) -> str:
    """A day as the pages write it: Thu 14 Jan 2027."""
    return pgettext("short weekday, day, short month and year", "%(day)s %(year)d") % {
        "day": weekday_day(value),
        "year": value.year,
    }


def plain_day(value: date) -> str:
    """A day without its weekday: 14 Jan 2027."""
    return pgettext("day, short month and year", "%(day)s %(year)d") % {
        "day": day_month(value),
        "year": value.year,
    }


def date_faults(
    *,
    start: date | None,
    end: date | None,
    entry_deadline: date | None,
    withdrawal_deadline: date | None,
) -> Iterator[tuple[str, str]]:
    """Which of an event's dates cannot be, as (field, sentence with the remedy).

    A date that is None is not judged. Withdrawing may be possible after entries close, and neither
    deadline may lie after the first day.
    """
    if start is None:
        return
    if not FIRST_YEAR <= start.year <= LAST_YEAR:
        yield (
            "start",
            _("The year %(year)d cannot be right; check the first day.") % {"year": start.year},
        )
        return
    if end is not None:
        days = (end - start).days + 1
        if days < 1:
            yield (
                "end",
                _(
                    "The last day (%(last)s) lies before the first day (%(first)s); "
                    "correct one of them."
                )
                % {"last": day(end), "first": day(start)},
            )
        elif days > LONGEST_EVENT_DAYS:
            yield (
                "end",
                _(
                    "%(first)s to %(last)s is %(count)d days; an event lasts at most %(most)d. "
                    "Correct the first or the last day."
                )
                % {
                    "first": day(start),
                    "last": day(end),
                    "count": days,
                    "most": LONGEST_EVENT_DAYS,
                },
            )
    if entry_deadline is not None and entry_deadline > start:
        yield (
            "entry_deadline",
            _(
                "The entry deadline (%(deadline)s) lies after the first day (%(first)s); "
                "correct one of them."
            )
            % {"deadline": day(entry_deadline), "first": day(start)},
        )
    if withdrawal_deadline is not None and withdrawal_deadline > start:
        yield (
            "withdrawal_deadline",
            _(
                "The withdrawal deadline (%(deadline)s) lies after the first day (%(first)s); "
                "correct one of them."
            )
            % {"deadline": day(withdrawal_deadline), "first": day(start)},
        )
