"""How the numbers of a year's load are said, wherever its pages say them."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from seasonplan.science.weeks import Week
from seasonplan.science.words import days, figure, number
from seasonplan.training.year_days import LoadWeek

UNKNOWN = "–"


def week_number(week: Week) -> int:
    return int(week.iso.split("W")[1])


def week_words(week: Week) -> str:
    """`week 9 (1–7 Mar)`."""
    return _("week %(number)d (%(days)s)") % {
        "number": week_number(week),
        "days": days(week.start, week.end),
    }


def load_words(load: float | None) -> str:
    """`2,400`."""
    return UNKNOWN if load is None else figure(load)


def monotony_words(monotony: float | None) -> str:
    """`1.27`."""
    return UNKNOWN if monotony is None else number(monotony, 2)


def hours_words(minutes: int) -> str:
    """`10.5`."""
    return figure(minutes / 60, 1)


def signed_words(value: float) -> str:
    """`−1,204` or `310`, with a true minus sign."""
    return f"{'−' if round(value) < 0 else ''}{figure(abs(value))}"


def change_words(percent: float | None) -> str:
    """`+24 %`, `−8 %` or `0 %`, the sign kept with its number."""
    if percent is None:
        return UNKNOWN
    text = f"{abs(percent):.0f}"
    sign = "" if text == "0" else "+" if percent > 0 else "−"
    return f"{sign}{text}\N{NO-BREAK SPACE}%"


def known_words(week: LoadWeek) -> str:
    """Of how many days it is known what was done, and why not of the others."""
    if week.done.is_complete:
        return _("%(known)d of 7") % {"known": 7}
    unlogged = sum(day.known == "not logged" for day in week.days)
    events = sum(day.known == "event" for day in week.days)
    coming = sum(day.known == "to come" for day in week.days)
    if coming == 7:
        return _("to come")
    why = (
        (unlogged, ngettext("%(count)d not logged", "%(count)d not logged", unlogged)),
        (events, ngettext("%(count)d event day", "%(count)d event days", events)),
        (coming, ngettext("%(count)d to come", "%(count)d to come", coming)),
    )
    return _("%(known)d of 7: %(why)s") % {
        "known": week.done.known_days,
        "why": ", ".join(said % {"count": many} for many, said in why if many),
    }
