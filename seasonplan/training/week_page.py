"""What the week screen prints: labels, numbers and links, worked out once.

`week_page` makes no query: it looks at a `WeekMaterial` as it stands. Load is minutes times effort
in arbitrary units, as `science/load.py` says.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from math import ceil
from typing import Final
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext, pgettext_lazy

from seasonplan.academy.models import Player
from seasonplan.checkins.models import SessionLog
from seasonplan.plans.models import Block
from seasonplan.science.load import day_load, session_load
from seasonplan.science.session_kinds import session_name
from seasonplan.science.session_rules import most_minutes
from seasonplan.science.training_days import busy_word
from seasonplan.science.week_target import (
    Court,
    TrainingDay,
    WeekTarget,
    emphasis_label,
    emphasis_word,
)
from seasonplan.science.weeks import monday_of
from seasonplan.science.words import days, figure, number, weekday_day
from seasonplan.training.models import Court as Courts
from seasonplan.training.models import TrainingSession
from seasonplan.training.weeks import WEEK, WeekMaterial, in_seven_days

BAR_STEP: Final = 250
LEAST_BAR: Final = 1000
"""A day's bar is full at this load, or at the next step above the week's hardest day."""

FEWEST_MATCHES: Final = 0.05
"""Fewer expected matches than that would be shown as none."""

FINDING_WORDS: Final = {
    "hard days": pgettext_lazy("finding of a week", "Hard days"),
    "light day": pgettext_lazy("finding of a week", "Light day"),
    "match day": pgettext_lazy("finding of a week", "Match day"),
    "before a match": pgettext_lazy("finding of a week", "Before a match"),
    "day off": pgettext_lazy("finding of a week", "Day off"),
    "racket": pgettext_lazy("finding of a week", "Racket"),
    "time": pgettext_lazy("finding of a week", "Time"),
    "too many": pgettext_lazy("finding of a week", "Too many"),
    "age": pgettext_lazy("finding of a week", "Age"),
    "on a day off": pgettext_lazy("finding of a week", "On a day off"),
    "strength": pgettext_lazy("finding of a week", "Strength"),
    "endurance": pgettext_lazy("finding of a week", "Endurance"),
    "volume": pgettext_lazy("finding of a week", "Volume"),
    "effort": pgettext_lazy("finding of a week", "Effort"),
    "taper": pgettext_lazy("finding of a week", "Taper"),
    "hours and age": pgettext_lazy("finding of a week", "Hours and age"),
}
_LIGHT_DAYS: Final = {
    "training": pgettext_lazy("what a day is", "Training"),
    "travel": pgettext_lazy("what a day is", "Travel"),
    "arrival": pgettext_lazy("what a day is", "Arrival"),
    "acclimatisation": pgettext_lazy("what a day is", "Acclimatisation"),
}


@dataclass(frozen=True)
class Figures:
    """Minutes, mean effort and load of one session, or of several together."""

    minutes: int
    effort: str
    load: int

    @property
    def time(self) -> str:
        return hours(self.minutes)


@dataclass(frozen=True)
class SessionView:
    """A planned session with what was done of it; one that was not planned has no `planned`.

    `when` says that it was done as planned, or on which other day.
    """

    key: str
    name: str
    about: str
    court: str
    planned: Figures | None
    done: Figures | None
    as_planned: bool
    when: str
    note: str
    fixed: bool
    may_change: bool
    is_missing: bool
    url: str


@dataclass(frozen=True)
class DayFinding:
    id: str
    short: str
    is_note: bool


@dataclass(frozen=True)
class DayView:
    """One day: what it is, its sessions, and what they add up to, planned and done."""

    iso: str
    name: str
    kind: str
    is_today: bool
    is_past: bool
    lines: tuple[str, ...]
    sessions: tuple[SessionView, ...]
    planned: Figures | None
    done: Figures | None
    planned_bar: int
    done_bar: int
    findings: tuple[DayFinding, ...]
    add_url: str


@dataclass(frozen=True)
class TotalRow:
    label: str
    target: str
    planned: str
    done: str


@dataclass(frozen=True)
class FindingLine:
    id: str
    short: str
    where: str
    text: str
    is_note: bool


@dataclass(frozen=True)
class WeekPage:
    player: Player
    monday: str
    title: str
    window_title: str
    dates: str
    is_this_week: bool
    revision: int
    parts: frozenset[Court]
    phase: str
    phase_label: str
    phase_detail: str
    days: tuple[DayView, ...]
    totals: tuple[TotalRow, ...]
    findings: tuple[FindingLine, ...]
    reasons: tuple[str, ...]
    shares: tuple[tuple[str, str], ...]
    note: str
    has_target: bool
    has_sessions: bool
    is_over: bool
    url: str
    edit_url: str
    before_url: str
    next_url: str
    this_url: str

    @property
    def may_change(self) -> bool:
        return bool(self.parts)

    @property
    def part(self) -> str:
        """The one part that the reader may change, in words; empty if it is both or none."""
        return next(iter(self.parts)) if len(self.parts) == 1 else ""

    @property
    def findings_line(self) -> str:
        broken = sum(not finding.is_note for finding in self.findings)
        notes = len(self.findings) - broken
        parts = (
            (broken, ngettext("%(count)d finding", "%(count)d findings", broken)),
            (notes, ngettext("%(count)d note", "%(count)d notes", notes)),
        )
        return ", ".join(said % {"count": many} for many, said in parts if many)


def week_url(player_id: int, monday: date, **asked: str) -> str:
    url = reverse("training-week", args=[player_id, monday.isoformat()])
    return f"{url}?{urlencode(asked)}" if asked else url


def edit_url(player_id: int, monday: date) -> str:
    return reverse("training-week-edit", args=[player_id, monday.isoformat()])


def hours(minutes: int) -> str:
    """`45 min`, `2 h`, `2 h 30`."""
    whole, rest = divmod(minutes, 60)
    if not whole:
        return _("%(minutes)d min") % {"minutes": rest}
    if not rest:
        return _("%(hours)d h") % {"hours": whole}
    return _("%(hours)d h %(minutes)s") % {"hours": whole, "minutes": f"{rest:02d}"}


def week_page(material: WeekMaterial, *, today: date) -> WeekPage:
    """The week as it stands; who may change what is in the material's player."""
    monday, target = material.monday, material.target
    shown = material.findings()
    findings = tuple(
        FindingLine(
            id=f"finding-{place}",
            short=str(FINDING_WORDS[finding.rule]),
            where="" if len(finding.days) == 7 else _days_named(finding.days),
            text=finding.text,
            is_note=finding.is_note,
        )
        for place, finding in enumerate(shown)
    )
    at: dict[date, list[DayFinding]] = {}
    for line, finding in zip(findings, shown, strict=True):
        for day in finding.days if len(finding.days) < 7 else ():
            at.setdefault(day, []).append(DayFinding(line.id, line.short, line.is_note))
    is_now = monday_of(today) == monday
    return WeekPage(
        player=material.player,
        monday=monday.isoformat(),
        title=_("Week %(number)d") % {"number": monday.isocalendar().week},
        window_title=_("%(player)s, week %(number)d, %(dates)s")
        % {
            "player": material.player.name,
            "number": monday.isocalendar().week,
            "dates": (dates := _dates(monday, material.sunday)),
        },
        dates=dates,
        is_this_week=is_now,
        revision=material.revision,
        parts=material.parts,
        phase=target.phase.replace(" ", "-") if target else "",
        phase_label=str(Block.Phase(target.phase).label) if target else "",
        phase_detail=_detail(target) if target else "",
        days=_days(material, today, at),
        totals=_totals(material),
        findings=findings,
        reasons=target.reasons if target else (),
        shares=_shares(material),
        note=material.note,
        has_target=target is not None,
        has_sessions=bool(material.sessions),
        is_over=material.sunday < today,
        url=week_url(material.player.pk, monday),
        edit_url=edit_url(material.player.pk, monday),
        before_url=week_url(material.player.pk, monday - WEEK),
        next_url=week_url(material.player.pk, monday + WEEK),
        this_url="" if is_now else week_url(material.player.pk, monday_of(today)),
    )


def _dates(monday: date, sunday: date) -> str:
    return pgettext("days and year", "%(days)s %(year)d") % {
        "days": days(monday, sunday),
        "year": sunday.year,
    }


def _detail(target: WeekTarget) -> str:
    parts = [
        _("week %(number)d of %(all)d") % {"number": target.in_block, "all": target.block_weeks}
    ]
    if target.is_lighter:
        parts.append(_("a lighter week"))
    if target.no_racket:
        parts.append(_("away from the racket"))
    return ", ".join(parts)


def _days_named(found: tuple[date, ...]) -> str:
    return ", ".join(weekday_day(day) for day in found)


# Days --------------------------------------------------------------------------------------------


def _days(
    material: WeekMaterial, today: date, findings: dict[date, list[DayFinding]]
) -> tuple[DayView, ...]:
    seven = in_seven_days(material.monday)
    planned = {day: [row for row in material.sessions if row.day == day] for day in seven}
    logged = {day: [log for log in material.done if log.day == day] for day in seven}
    most = max(
        [_load(rows) for rows in planned.values()] + [_load(logs) for logs in logged.values()]
    )
    full = max(LEAST_BAR, ceil(most / BAR_STEP) * BAR_STEP)
    is_what = {day.day: day for day in material.target.days} if material.target else {}
    may_add = bool(material.parts)
    views = []
    for day in seven:
        planned_today, done_today = _together(planned[day]), _together(logged[day])
        what = is_what.get(day)
        views.append(
            DayView(
                iso=day.isoformat(),
                name=weekday_day(day),
                kind=what.kind if what else "training",
                is_today=day == today,
                is_past=day < today,
                lines=tuple(_lines(what)) if what else (),
                sessions=_sessions(material, planned[day], logged[day], today),
                planned=planned_today,
                done=done_today,
                planned_bar=round(100 * planned_today.load / full) if planned_today else 0,
                done_bar=round(100 * done_today.load / full) if done_today else 0,
                findings=tuple(findings.get(day, ())),
                add_url=week_url(material.player.pk, material.monday, add=day.isoformat())
                if may_add
                else "",
            )
        )
    return tuple(views)


def _lines(day: TrainingDay) -> Iterable[str]:
    """What the day is, in words; nothing for a plain day of training."""
    if day.kind == "match":
        yield _("Match day: %(what)s") % {"what": day.why} if day.why else _("Match day")
        if day.expected_matches >= FEWEST_MATCHES:
            yield _("%(matches)s matches expected") % {"matches": number(day.expected_matches, 1)}
    elif day.kind == "busy":
        is_plain = day.why in ("", busy_word(""))
        yield _("Busy") if is_plain else _("Busy: %(why)s") % {"why": day.why}
    elif day.kind == "off":
        yield _capital(day.why) or _("Day off")
    elif day.is_light:
        yield _capital(day.why) or str(_LIGHT_DAYS[day.kind])
    elif day.why:
        yield _capital(day.why)
    if day.taper < 1:
        yield _("Taper: %(percent)s %% of a usual day") % {"percent": f"{100 * day.taper:.0f}"}
    if day.is_before_match and day.kind != "match":
        yield _("Day before a match")
    if room := most_minutes(day):
        yield _("Room for %(time)s") % {"time": hours(room)}


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _sessions(
    material: WeekMaterial, rows: list[TrainingSession], logs: list[SessionLog], today: date
) -> tuple[SessionView, ...]:
    planned_keys = {row.key for row in material.sessions}
    views = [_planned_view(material, row, today) for row in rows]
    views += [_extra_view(log) for log in logs if log.planned_key not in planned_keys]
    return tuple(views)


def _planned_view(material: WeekMaterial, row: TrainingSession, today: date) -> SessionView:
    log = material.log_of(row.key)
    return SessionView(
        key=str(row.key),
        name=session_name(row.name, row.kind),
        about=f"{row.get_court_display()} · {emphasis_word(row.emphasis)}",
        court="on" if row.court == Courts.ON else "off",
        planned=_figures(row),
        done=_figures(log) if log else None,
        as_planned=bool(log and log.as_planned),
        when=_when(log, row) if log else "",
        note=row.note,
        fixed=row.fixed,
        may_change=row.court in material.parts,
        is_missing=log is None and row.day < today,
        url=week_url(material.player.pk, material.monday, session=str(row.key)),
    )


def _when(log: SessionLog, row: TrainingSession) -> str:
    """When and how it was done, if that is worth a line."""
    day = weekday_day(log.day)
    if log.day != row.day:
        said = _("Done as planned on %(day)s") if log.as_planned else _("Done on %(day)s")
        return said % {"day": day}
    return _("Done as planned") if log.as_planned else ""


def _extra_view(log: SessionLog) -> SessionView:
    return SessionView(
        key="",
        name=log.what,
        about=_("Planned for another week") if log.planned_key else _("Not planned"),
        court="extra",
        planned=None,
        done=_figures(log),
        as_planned=False,
        when="",
        note="",
        fixed=False,
        may_change=False,
        is_missing=False,
        url="",
    )


def _figures(row: TrainingSession | SessionLog) -> Figures:
    return Figures(row.minutes, str(row.effort), round(session_load(row.minutes, row.effort)))


def _load(rows: Iterable[TrainingSession | SessionLog]) -> float:
    return day_load(session_load(row.minutes, row.effort) for row in rows)


def _together(rows: list[TrainingSession] | list[SessionLog]) -> Figures | None:
    """Several sessions as one, or None if there are none: a day without a log is no rest day."""
    if not rows:
        return None
    minutes, load = sum(row.minutes for row in rows), _load(rows)
    return Figures(minutes, number(load / minutes, 1), round(load))


# The week ----------------------------------------------------------------------------------------


def _totals(material: WeekMaterial) -> tuple[TotalRow, ...]:
    """Target, planned and done, one line a measure; done is not told apart by court."""
    rows, target = list(material.sessions), material.target
    first, last = material.monday, material.sunday
    logs = [log for log in material.done if first <= log.day <= last]
    on = [row for row in rows if row.court == Courts.ON]
    off = [row for row in rows if row.court == Courts.OFF]
    planned, done = _together(rows), _together(logs)
    asked = target if target and target.minutes else None
    return (
        TotalRow(
            str(Courts.ON.label),
            hours(target.on_court_min) if target else "",
            hours(sum(row.minutes for row in on)),
            "",
        ),
        TotalRow(
            str(Courts.OFF.label),
            hours(target.off_court_min) if target else "",
            hours(sum(row.minutes for row in off)),
            "",
        ),
        TotalRow(
            pgettext("both parts of a week", "Together"),
            hours(target.minutes) if target else "",
            hours(planned.minutes if planned else 0),
            hours(done.minutes) if done else "",
        ),
        TotalRow(
            _("Sessions"),
            str(target.on_court_sessions + target.off_court_sessions) if target else "",
            str(len(rows)),
            str(len(logs)) if logs else "",
        ),
        TotalRow(
            _("Mean effort"),
            number(asked.effort_0_10, 1) if asked else "",
            planned.effort if planned else "",
            done.effort if done else "",
        ),
        TotalRow(
            _("Load"),
            figure(target.load) if target else "",
            figure(planned.load if planned else 0),
            figure(done.load) if done else "",
        ),
    )


def _shares(material: WeekMaterial) -> tuple[tuple[str, str], ...]:
    """What the week should train and what is planned of it, in shares of the minutes."""
    if material.target is None or not material.target.shares:
        return ()
    whole = sum(row.minutes for row in material.sessions)
    lines = []
    for emphasis, share in material.target.shares.items():
        planned = sum(row.minutes for row in material.sessions if row.emphasis == emphasis)
        said = (
            _("%(share)d %%, planned %(planned)d %%")
            % {"share": round(100 * share), "planned": round(100 * planned / whole)}
            if whole
            else _("%(share)d %%") % {"share": round(100 * share)}
        )
        lines.append((emphasis_label(emphasis), said))
    return tuple(lines)
