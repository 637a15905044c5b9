"""What an event's days and figures may be, in plain values; the form, the model and the import ask.

No Django here: reading a file needs the rules, not the database.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Final

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
    return f"{value:%a} {value.day} {value:%b} {value.year}"


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
        yield "start", f"The year {start.year} cannot be right; check the first day."
        return
    if end is not None:
        days = (end - start).days + 1
        if days < 1:
            yield (
                "end",
                f"The last day ({day(end)}) lies before the first day ({day(start)}); "
                "correct one of them.",
            )
        elif days > LONGEST_EVENT_DAYS:
            yield (
                "end",
                f"{day(start)} to {day(end)} is {days} days; an event lasts at most "
                f"{LONGEST_EVENT_DAYS}. Correct the first or the last day.",
            )
    if entry_deadline is not None and entry_deadline > start:
        yield (
            "entry_deadline",
            f"The entry deadline ({day(entry_deadline)}) lies after the first day ({day(start)}); "
            "correct one of them.",
        )
    if withdrawal_deadline is not None and withdrawal_deadline > start:
        yield (
            "withdrawal_deadline",
            f"The withdrawal deadline ({day(withdrawal_deadline)}) lies after the first day "
            f"({day(start)}); correct one of them.",
        )
