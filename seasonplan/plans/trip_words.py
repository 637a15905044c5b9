"""How the trip pages say hours, days, times of day, temperatures and money."""

from __future__ import annotations

from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from seasonplan.science.words import figure, short_number


def money(amount: Decimal) -> str:
    """`1,240.50`."""
    return figure(amount, 2)


def degrees(celsius: float) -> str:
    """`31 °C`, with a true minus sign."""
    return f"{round(celsius)} °C".replace("-", "−")


def about_days(number: float) -> str:
    """`about 4.5 days`, to half a day."""
    rounded = round(number * 2) / 2
    return ngettext("about %(days)s day", "about %(days)s days", 1 if rounded == 1 else 2) % {
        "days": short_number(rounded)
    }


def hours(minutes: int) -> str:
    """`6 hours`, `1 hour`, `5¾ hours`; to a quarter of an hour."""
    quarters = round(abs(minutes) / 15)
    if quarters < 4:
        return _("%(minutes)d minutes") % {"minutes": quarters * 15}
    whole, part = divmod(quarters, 4)
    return ngettext("%(hours)s hour", "%(hours)s hours", 1 if quarters == 4 else 2) % {
        "hours": f"{whole}{('', '¼', '½', '¾')[part]}"
    }


def to_quarter(minutes: int) -> int:
    """Minutes after midnight, to a quarter of an hour."""
    return round(minutes / 15) * 15 % (24 * 60)


def span_words(span: tuple[int, int]) -> str:
    """`07:00 to 10:00`, from minutes after midnight."""
    start, end = (to_quarter(minutes) for minutes in span)
    return _("%(start)s to %(end)s") % {"start": clock_time(start), "end": clock_time(end)}


def clock_time(minutes: int) -> str:
    """`07:05`, from minutes after midnight."""
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
