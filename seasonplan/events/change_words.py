"""How changes of an event are said: where and when it was, where and when it is now, since when."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from itertools import groupby

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from seasonplan.academy.models import Surface
from seasonplan.events.changing import YES
from seasonplan.events.facts import plain_day
from seasonplan.events.models import EventChange
from seasonplan.science.words import day_month, days

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
        on = day_month(timezone.localdate(last.at))
        found.append(
            _("%(change)s on %(day)s by %(name)s")
            % {"change": said, "day": on, "name": last.who.name}
            if with_names and last.who
            else _("%(change)s on %(day)s") % {"change": said, "day": on}
        )
    return tuple(found)


def _said(what: What, before: str, after: str) -> str:
    if what == What.CANCELLED:
        if after == YES:
            return _("was cancelled")
        return _("was cancelled and is on again") if before == after else _("is on again")
    if before == after:
        return _got_back(what)
    if what == What.DATES:
        return _moved(list(_dates(before)), list(_dates(after)))
    if what == What.PLACE:
        return pgettext("places", "moved from %(before)s to %(after)s") % {
            "before": before,
            "after": after,
        }
    return pgettext("surfaces", "changed from %(before)s to %(after)s") % {
        "before": _surface(before),
        "after": _surface(after),
    }


def _got_back(what: What) -> str:
    if what == What.DATES:
        return _("got back its former dates")
    return (
        _("got back its former place") if what == What.PLACE else _("got back its former surface")
    )


def _surface(code: str) -> str:
    return {
        Surface.HARD: pgettext("surface within a sentence", "hard"),
        Surface.CLAY: pgettext("surface within a sentence", "clay"),
        Surface.GRASS: pgettext("surface within a sentence", "grass"),
        Surface.CARPET: pgettext("surface within a sentence", "carpet"),
    }[Surface(code)]


def _dates(span: str) -> Iterator[date]:
    yield from (date.fromisoformat(day) for day in span.split("/"))


def _moved(before: list[date], after: list[date]) -> str:
    """First days alone where the event is as long as it was."""
    if after[1] - after[0] == before[1] - before[0]:
        return pgettext("first days", "moved from %(before)s to %(after)s") % {
            "before": _day(before[0], after[0]),
            "after": _day(after[0], before[0]),
        }
    return pgettext("days of an event", "moved from %(before)s to %(after)s") % {
        "before": days(before[0], before[1]),
        "after": days(after[0], after[1]),
    }


def _day(day: date, other: date) -> str:
    if day.year == other.year:
        return day_month(day)
    return plain_day(day)
