"""How the trip pages say hours, days, times of day, temperatures and money."""

from __future__ import annotations

from decimal import Decimal


def money(amount: Decimal) -> str:
    """`1,240.50`."""
    return f"{amount:,.2f}"


def degrees(celsius: float) -> str:
    """`31 °C`, with a true minus sign."""
    return f"{round(celsius)} °C".replace("-", "−")


def about_days(number: float) -> str:
    """`about 4.5 days`, to half a day."""
    rounded = round(number * 2) / 2
    return f"about {rounded:g} {'day' if rounded == 1 else 'days'}"


def hours(minutes: int) -> str:
    """`6 hours`, `1 hour`, `5¾ hours`; to a quarter of an hour."""
    quarters = round(abs(minutes) / 15)
    if quarters < 4:
        return f"{quarters * 15} minutes"
    whole, part = divmod(quarters, 4)
    return f"{whole}{('', '¼', '½', '¾')[part]} {'hour' if quarters == 4 else 'hours'}"


def to_quarter(minutes: int) -> int:
    """Minutes after midnight, to a quarter of an hour."""
    return round(minutes / 15) * 15 % (24 * 60)


def span_words(span: tuple[int, int]) -> str:
    """`07:00 to 10:00`, from minutes after midnight."""
    start, end = (to_quarter(minutes) for minutes in span)
    return f"{clock_time(start)} to {clock_time(end)}"


def clock_time(minutes: int) -> str:
    """`07:05`, from minutes after midnight."""
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
