"""How changes of an event are said: where and when it was, where and when it is now, since when."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from itertools import groupby

from django.utils import timezone

from seasonplan.events.changing import YES
from seasonplan.events.models import EventChange
from seasonplan.science.layout.wording import day_month, days

What = EventChange.What


def change_words(changes: Iterable[EventChange], *, with_names: bool = False) -> tuple[str, ...]:
    """What became of one event by these changes of it, in their order: `moved from 3 May to 10 May
    on 25 Nov`.

    Several changes of the same thing are one: from what it was first to what it is now.
    `with_names` says who made the last of them; then `who` is loaded.
    """
    order = list(What)
    by_what = sorted(changes, key=lambda change: order.index(What(change.what)))
    found = []
    for what, same in groupby(by_what, key=lambda change: What(change.what)):
        these = list(same)
        said = _said(what, these[0].before, these[-1].after)
        last = these[-1]
        name = f" by {last.who.name}" if with_names and last.who else ""
        found.append(f"{said} on {day_month(timezone.localdate(last.at))}{name}")
    return tuple(found)


def _said(what: What, before: str, after: str) -> str:
    if what == What.CANCELLED:
        again = "was cancelled and is on again" if before == after else "is on again"
        return "was cancelled" if after == YES else again
    if before == after:
        return f"got back its former {_NAMES[what]}"
    if what == What.DATES:
        return _moved(list(_dates(before)), list(_dates(after)))
    if what == What.PLACE:
        return f"moved from {before} to {after}"
    return f"changed from {before} to {after}"


_NAMES = {What.DATES: "dates", What.PLACE: "place", What.SURFACE: "surface"}


def _dates(span: str) -> Iterator[date]:
    yield from (date.fromisoformat(day) for day in span.split("/"))


def _moved(before: list[date], after: list[date]) -> str:
    """First days alone where the event is as long as it was."""
    if after[1] - after[0] == before[1] - before[0]:
        return f"moved from {_day(before[0], after[0])} to {_day(after[0], before[0])}"
    return f"moved from {days(before[0], before[1])} to {days(after[0], after[1])}"


def _day(day: date, other: date) -> str:
    return day_month(day) if day.year == other.year else f"{day_month(day)} {day.year}"
