"""What a season's load says beside the player's own past, what is worth a question, and the curve.

`year_load.py` asks. Where too little is known, what is missing is said in place of a number.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import takewhile
from statistics import median
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from seasonplan.academy.models import Player
from seasonplan.science import youth
from seasonplan.science.load_change import LONG_DAYS, load_change
from seasonplan.science.response import CAUTION, SHORTER, TEXTBOOK, response_with_today
from seasonplan.science.week_target import TrainingRules
from seasonplan.science.words import days, short_month, weekday_day
from seasonplan.training.year_chart import ResponseChart, draw_response
from seasonplan.training.year_days import LoadWeek, YearDay
from seasonplan.training.year_words import (
    change_words,
    load_words,
    monotony_words,
    signed_words,
    week_words,
)

FEWEST_WEEKS: Final = 4
"""With fewer whole weeks nobody knows what is usual for the player (common practice, no source)."""

WEEKS_A_YEAR: Final = 52


@dataclass(frozen=True)
class PastLine:
    """One number of the last whole week beside those of the whole weeks before it."""

    label: str
    last: str
    lowest: str
    middle: str
    highest: str


@dataclass(frozen=True)
class Past:
    """`silent` says why there are no lines."""

    title: str
    weeks_before: int
    lines: tuple[PastLine, ...]
    silent: str


@dataclass(frozen=True)
class Changes:
    """The change against the last four weeks, weighed in three ways; `silent` says why not."""

    title: str
    lines: tuple[tuple[str, str], ...]
    silent: str


@dataclass(frozen=True)
class Question:
    """What in a young player's plan is worth a talk, in which weeks, and who raised it."""

    text: str
    where: str
    source: str


@dataclass(frozen=True)
class Curve:
    """The illustration: its drawing, and its values on the Sunday of each week."""

    chart: ResponseChart
    names: tuple[str, ...]
    weeks: tuple[tuple[str, tuple[str, ...]], ...]
    caution: str
    about: str


def past_of(weeks: Sequence[LoadWeek]) -> Past:
    """Load, monotony and strain of the last whole week of the season beside its earlier ones."""
    whole = [week for week in weeks if week.done.is_complete]
    if len(whole) <= FEWEST_WEEKS:
        return Past("", 0, (), _too_few(len(whole)))
    last, before = whole[-1].done, [week.done for week in whole[:-1]]
    lines = (
        _past_line(_("Load"), last.load, [week.load for week in before], load_words),
        _past_line(
            _("Monotony"), last.monotony, [week.monotony for week in before], monotony_words
        ),
        _past_line(_("Strain"), last.strain, [week.strain for week in before], load_words),
    )
    return Past(week_words(whole[-1].week), len(before), lines, "")


def _too_few(whole: int) -> str:
    if not whole:
        return _(
            "Shown from the %(first)dth whole week of the season on; so far there are none. A week "
            "is whole when every day has a session logged, or rest that was planned."
        ) % {"first": FEWEST_WEEKS + 1}
    return ngettext(
        "Shown from the %(first)dth whole week of the season on; so far there is %(count)d. A week "
        "is whole when every day has a session logged, or rest that was planned.",
        "Shown from the %(first)dth whole week of the season on; so far there are %(count)d. A "
        "week is whole when every day has a session logged, or rest that was planned.",
        whole,
    ) % {"first": FEWEST_WEEKS + 1, "count": whole}


def _past_line(
    label: str,
    last: float | None,
    before: Sequence[float | None],
    words: Callable[[float | None], str],
) -> PastLine:
    known = [value for value in before if value is not None]
    low, middle, high = (min(known), median(known), max(known)) if known else (None, None, None)
    return PastLine(label, words(last), words(low), words(middle), words(high))


def changes_of(all_days: Sequence[YearDay], *, today: date) -> Changes:
    """How the seven days before today compare; `all_days` reach back before the season."""
    over = [day for day in all_days if day.day < today]
    if not over:
        silent = _("Shown once the season has begun and four weeks of it are known.")
        return Changes("", (), silent)
    title = _("The seven days up to %(day)s") % {"day": weekday_day(over[-1].day)}
    change = load_change([day.done for day in over])
    if change is not None:
        alone = None if change.uncoupled is None else (change.uncoupled - 1) * 100
        lines = (
            (_("against the last four weeks, these seven days among them (coupled)"),
             change_words((change.coupled - 1) * 100)),
            (_("against the three weeks before these seven days (uncoupled)"), change_words(alone)),
            (_("late days weighing more: running means over 7 and 28 days"),
             change_words((change.smoothed - 1) * 100)),
        )  # fmt: skip
        return Changes(title, lines, "")
    row = sum(1 for _ in takewhile(lambda day: day.done is not None, reversed(over)))
    if row >= LONG_DAYS:
        silent = _("Nothing was trained in the last four weeks: there is nothing to compare with.")
    else:
        silent = ngettext(
            "Shown once %(wanted)d days in a row are known; so far %(count)d day. A day without a "
            "log is not taken for a day of rest, unless the rest was planned.",
            "Shown once %(wanted)d days in a row are known; so far %(count)d days. A day without a "
            "log is not taken for a day of rest, unless the rest was planned.",
            row,
        ) % {"wanted": LONG_DAYS, "count": row}
    return Changes(title, (), silent)


def questions_about(
    player: Player, weeks: Sequence[LoadWeek], rules: TrainingRules, *, today: date
) -> Iterator[Question]:
    """What the planned weeks of a player under 18 ask; nothing about anybody else."""
    planned = [week for week in weeks if week.planned is not None]
    if not youth.is_young(player.age_on(today)):
        return
    hours = [
        (week, finding)
        for week in planned
        if (age := player.age_on(week.week.start)) is not None
        and (finding := youth.hours_finding(round(week.planned_min / 60, 1), age))
    ]
    if hours:
        most, finding = max(hours, key=lambda pair: pair[0].planned_min)
        where = ngettext(
            "%(count)d planned week, most in %(week)s",
            "%(count)d planned weeks, most in %(week)s",
            len(hours),
        ) % {"count": len(hours), "week": week_words(most.week)}
        yield Question(finding.text, where, finding.source)
    full = [week for week in planned if all(day.planned_min for day in week.days)]
    if full and (no_day_off := youth.days_off_finding(0)):
        where = ngettext(
            "%(count)d planned week, first in %(week)s",
            "%(count)d planned weeks, first in %(week)s",
            len(full),
        ) % {"count": len(full), "week": week_words(full[0].week)}
        yield Question(no_day_off.text, where, no_day_off.source)
    if len(planned) == len(weeks) >= WEEKS_A_YEAR:
        free = sum(not any(day.racket_min or day.is_event for day in w.days) for w in weeks)
        months = round(min(free, WEEKS_A_YEAR) * 12 / WEEKS_A_YEAR, 1)
        away = youth.months_off_finding(months, 2 if rules.months_off == 2 else 3)
        if away:
            where = ngettext(
                "%(count)d week without court or event in the plan",
                "%(count)d weeks without court or event in the plan",
                free,
            ) % {"count": free}
            yield Question(away.text, where, away.source)


def curve_of(weeks: Sequence[LoadWeek]) -> Curve | None:
    """What two sets of textbook constants make of the planned load, from the first planned week to
    the first that is not; None where nothing is planned."""
    from_first = list(_from_first_planned(weeks))
    if not from_first:
        return None
    loads = [day.planned or 0.0 for week in from_first for day in week.days]
    lines = [
        (_(each.name), [day.value for day in response_with_today(loads, each)])
        for each in (TEXTBOOK, SHORTER)
    ]
    start = from_first[0].week.start
    months = [
        (at, short_month(day))
        for at in range(len(loads))
        if (day := start + timedelta(days=at)).day == 1
    ]
    return Curve(
        chart=draw_response(lines, months),
        names=tuple(name for name, _ in lines),
        weeks=tuple(
            (week_words(week.week), tuple(signed_words(values[7 * at + 6]) for _, values in lines))
            for at, week in enumerate(from_first)
        ),
        caution=_(CAUTION),
        about=_(
            "Drawn from what is planned for %(days)s, as if nothing had been trained before. A "
            "day’s own training counts on its day."
        )
        % {"days": days(start, from_first[-1].week.end)},
    )


def _from_first_planned(weeks: Sequence[LoadWeek]) -> Iterator[LoadWeek]:
    first = next((at for at, week in enumerate(weeks) if week.planned is not None), len(weeks))
    return takewhile(lambda week: week.planned is not None, weeks[first:])
