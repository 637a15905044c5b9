"""Says things in the language of whoever reads: the science's own door to translations.

The science knows no Django. Until `speak_with` is called, everything is said in English; the web
hands over its translators when it starts, and they choose the language of the person asking. Write
`_("...")` for a sentence, `ngettext` where a number decides, `pgettext` where a word means several
things, and `N_("...")` for a text that is kept in a table and said later with `_`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal


def N_(text: str) -> str:
    """Mark a text to be translated where it is said, not where it stands."""
    return text


def _plain(text: str) -> str:
    return text


def _plain_plural(one: str, many: str, number: float) -> str:
    return one if number == 1 else many


def _plain_in_context(context: str, text: str) -> str:
    return text


def _plain_plural_in_context(context: str, one: str, many: str, number: float) -> str:
    return _plain_plural(one, many, number)


@dataclass
class _Translators:
    gettext: Callable[[str], str] = _plain
    ngettext: Callable[[str, str, float], str] = _plain_plural
    pgettext: Callable[[str, str], str] = _plain_in_context
    npgettext: Callable[[str, str, str, float], str] = _plain_plural_in_context


_now = _Translators()


def speak_with(
    gettext: Callable[[str], str],
    ngettext: Callable[[str, str, float], str],
    pgettext: Callable[[str, str], str],
    npgettext: Callable[[str, str, str, float], str],
) -> None:
    """Let these say everything from now on, in whatever language they choose each time."""
    _now.gettext, _now.ngettext = gettext, ngettext
    _now.pgettext, _now.npgettext = pgettext, npgettext


def _(text: str) -> str:
    return _now.gettext(text)


gettext = _


def ngettext(one: str, many: str, number: float) -> str:
    return _now.ngettext(one, many, number)


def pgettext(context: str, text: str) -> str:
    return _now.pgettext(context, text)


def npgettext(context: str, one: str, many: str, number: float) -> str:
    return _now.npgettext(context, one, many, number)


def short_weekday(day: date) -> str:
    """`Thu`."""
    return (
        pgettext("short weekday", "Mon"),
        pgettext("short weekday", "Tue"),
        pgettext("short weekday", "Wed"),
        pgettext("short weekday", "Thu"),
        pgettext("short weekday", "Fri"),
        pgettext("short weekday", "Sat"),
        pgettext("short weekday", "Sun"),
    )[day.weekday()]


def short_month(day: date) -> str:
    """`Jan`."""
    return (
        pgettext("short month", "Jan"),
        pgettext("short month", "Feb"),
        pgettext("short month", "Mar"),
        pgettext("short month", "Apr"),
        pgettext("short month", "May"),
        pgettext("short month", "Jun"),
        pgettext("short month", "Jul"),
        pgettext("short month", "Aug"),
        pgettext("short month", "Sep"),
        pgettext("short month", "Oct"),
        pgettext("short month", "Nov"),
        pgettext("short month", "Dec"),
    )[day.month - 1]


def weekday(day: date) -> str:
    """`Thursday`."""
    return (
        pgettext("weekday", "Monday"),
        pgettext("weekday", "Tuesday"),
        pgettext("weekday", "Wednesday"),
        pgettext("weekday", "Thursday"),
        pgettext("weekday", "Friday"),
        pgettext("weekday", "Saturday"),
        pgettext("weekday", "Sunday"),
    )[day.weekday()]


def month(day: date) -> str:
    """`January`."""
    return (
        pgettext("month", "January"),
        pgettext("month", "February"),
        pgettext("month", "March"),
        pgettext("month", "April"),
        pgettext("month", "May"),
        pgettext("month", "June"),
        pgettext("month", "July"),
        pgettext("month", "August"),
        pgettext("month", "September"),
        pgettext("month", "October"),
        pgettext("month", "November"),
        pgettext("month", "December"),
    )[day.month - 1]


def day_month(day: date) -> str:
    """`14 Jan`."""
    said = {"day": day.day, "month": short_month(day)}
    if day.day == 1:
        return pgettext("first day and short month", "%(day)d %(month)s") % said
    return pgettext("day and short month", "%(day)d %(month)s") % said


def weekday_day(day: date) -> str:
    """`Thu 14 Jan`."""
    return pgettext("short weekday, day and short month", "%(weekday)s %(day)s") % {
        "weekday": short_weekday(day),
        "day": day_month(day),
    }


def month_year(day: date) -> str:
    """`January 2027`."""
    return pgettext("month and year", "%(month)s %(year)d") % {
        "month": month(day),
        "year": day.year,
    }


def days(start: date, end: date) -> str:
    """`10–16 May`, `30 May – 6 Jun` or `10 May`, with en dashes."""
    if start == end:
        return day_month(start)
    if (start.year, start.month) == (end.year, end.month):
        return f"{start.day}–{day_month(end)}"
    return f"{day_month(start)} – {day_month(end)}"


def number(value: float, digits: int = 0) -> str:
    """`1.5`: so many digits behind the decimal point, or comma, of the language."""
    return f"{value:.{digits}f}".replace(".", pgettext("decimal point", "."))


def short_number(value: float) -> str:
    """`1.5` or `2`: as many digits as it has, at most six in all."""
    return f"{value:g}".replace(".", pgettext("decimal point", "."))


def whole(value: int) -> str:
    """`1,240`: thousands apart, as the language does it."""
    return f"{value:,}".replace(",", pgettext("between thousands", ","))


def figure(value: float | Decimal, digits: int = 0) -> str:
    """`1,240` or `1,240.50`: thousands apart, and so many digits behind the decimal point."""
    units, _point, part = f"{value:,.{digits}f}".partition(".")
    units = units.replace(",", pgettext("between thousands", ","))
    return f"{units}{pgettext('decimal point', '.')}{part}" if part else units


def amount(hundredths: int) -> str:
    """An amount of money without a currency: `1,240` or `1,240.50`."""
    units, part = divmod(hundredths, 100)
    return f"{whole(units)}{pgettext('decimal point', '.')}{part:02d}" if part else whole(units)


def listed(words: Sequence[str]) -> str:
    """`Rome`, `Rome and Perth`, `Rome, Perth and Osaka`."""
    if len(words) < 2:
        return "".join(words)
    return pgettext("end of a list", "%(before)s and %(last)s") % {
        "before": ", ".join(words[:-1]),
        "last": words[-1],
    }
