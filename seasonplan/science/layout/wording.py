"""How findings say days, counts and lists, in English and whatever the machine's language."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Final

_WEEKDAYS: Final = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS: Final = (
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
)  # fmt: skip


def day_month(day: date) -> str:
    """`14 Jan`."""
    return f"{day.day} {_MONTHS[day.month - 1]}"


def weekday_day(day: date) -> str:
    """`Thu 14 Jan`."""
    return f"{_WEEKDAYS[day.weekday()]} {day_month(day)}"


def days(start: date, end: date) -> str:
    """`10-16 May`, `30 May - 6 Jun` or `10 May`, with en dashes."""
    if start == end:
        return day_month(start)
    if (start.year, start.month) == (end.year, end.month):
        return f"{start.day}–{day_month(end)}"
    return f"{day_month(start)} – {day_month(end)}"


def count(number: int, noun: str) -> str:
    """`1 week`, `3 weeks`."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def listed(words: Sequence[str]) -> str:
    """`Rome`, `Rome and Perth`, `Rome, Perth and Osaka`."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def without_codes(text: str, names: Iterable[tuple[str, str]]) -> str:
    """`Rome` where the text says `Rome (e7)`; `names` are the codes and names of events."""
    for code, name in names:
        text = text.replace(f"{name} ({code})", name)
    return text


def amount(hundredths: int) -> str:
    """An amount of money without a currency: `1,240` or `1,240.50`."""
    whole, part = divmod(hundredths, 100)
    return f"{whole:,}.{part:02d}" if part else f"{whole:,}"
