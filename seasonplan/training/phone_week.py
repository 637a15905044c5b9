"""The player's phone: what is this week's training, and what of it is done?

`phone_views.py` asks, with the week as the plan in force has it (`checkins/phone.py`), the planned
sessions, and what was logged. Without a script each session is two plain forms; the phone's script
(`static/js/phone/planned.js`) sends the same through the outbox.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext, pgettext_lazy

from seasonplan.checkins.models import SessionLog
from seasonplan.checkins.phone import WeekPage
from seasonplan.checkins.phone_log import PhoneForm, planned_form
from seasonplan.science.session_kinds import said as said_kind
from seasonplan.science.session_kinds import session_name
from seasonplan.science.week_target import SessionKind, emphasis_word
from seasonplan.science.words import listed, short_weekday, weekday_day
from seasonplan.training.models import TrainingSession

EFFORT_WORDS: Final = (
    pgettext_lazy("effort", "rest"),
    pgettext_lazy("effort", "very easy"),
    pgettext_lazy("effort", "easy"),
    pgettext_lazy("effort", "moderate"),
    pgettext_lazy("effort", "a bit hard"),
    pgettext_lazy("effort", "hard"),
    pgettext_lazy("effort", "hard"),
    pgettext_lazy("effort", "very hard"),
    pgettext_lazy("effort", "very hard"),
    pgettext_lazy("effort", "nearly all you have"),
    pgettext_lazy("effort", "all you have"),
)
"""How hard each effort from 0 to 10 is: our own words for the scale of Foster et al. 2001
(J Strength Cond Res 15:109-115), whose steps 6, 8 and 9 have none."""

RATE_IT: Final = gettext_lazy(
    "Effort is for the whole session, about half an hour after its end: 0 is rest, 10 as hard as "
    "can be."
)
"""When to ask: Foster et al. 2021, Int J Sports Physiol Perform (25 years of session ratings)."""


@dataclass(frozen=True)
class Told:
    """What the player said of a planned session, and when (an ISO moment)."""

    words: str
    written: str


@dataclass(frozen=True)
class PlannedLine:
    """One planned session: what it asks, what it is for, and what became of it.

    `is_open` once its day has come; `form` is the session log, filled in.
    """

    key: str
    name: str
    day: str
    minutes: int
    effort: int
    facts: str
    what_for: str
    note: str
    cautions: str
    told: Told | None
    is_open: bool
    form: PhoneForm


@dataclass(frozen=True)
class WeekDay:
    """One day: what the plan says of it, its sessions, and what was trained beside them."""

    iso: str
    label: str
    entries: tuple[str, ...]
    sessions: tuple[PlannedLine, ...]
    also: tuple[str, ...]


@dataclass(frozen=True)
class PhoneWeek:
    """`week` as the plan in force has it; `today` is empty where nothing is planned all week, and
    `today_key` the first session of today, if there is one."""

    week: WeekPage
    days: tuple[WeekDay, ...]
    today: str
    today_key: str
    planned: int
    done: int
    rate_it: object = RATE_IT


def effort_words(effort_0_10: int) -> str:
    """`effort 6 of 10, hard`. Raises IndexError outside of 0 to 10."""
    return _("effort %(effort)d of 10, %(word)s") % {
        "effort": effort_0_10,
        "word": EFFORT_WORDS[effort_0_10],
    }


def phone_week(
    week: WeekPage,
    planned: Sequence[TrainingSession],
    logs: Sequence[SessionLog],
    kinds: Sequence[SessionKind],
    *,
    today: date,
) -> PhoneWeek:
    """The week of `today`, Monday first. `logs` are the player's own of this week and before."""
    monday = today - timedelta(days=today.weekday())
    by_key = {log.planned_key: log for log in logs if log.planned_key}
    by_code = {kind.code: kind for kind in kinds}
    lines = [
        (session.day, _line(session, by_key.get(session.key), by_code.get(session.kind), today))
        for session in planned
    ]
    known = {session.key for session in planned}
    said = {day.iso: day.entries for day in week.days}
    days = tuple(
        WeekDay(
            iso=day.isoformat(),
            label=pgettext("short weekday and day", "%(weekday)s %(day)d")
            % {"weekday": short_weekday(day), "day": day.day},
            entries=said.get(day.isoformat(), ()),
            sessions=tuple(line for on, line in lines if on == day),
            also=tuple(
                _also(log) for log in logs if log.day == day and log.planned_key not in known
            ),
        )
        for day in (monday + timedelta(days=n) for n in range(7))
    )
    return PhoneWeek(
        week=week,
        days=days if week.days or planned or any(day.also for day in days) else (),
        today=_today(planned, today) if planned else "",
        today_key=next((str(session.key) for session in planned if session.day == today), ""),
        planned=len(planned),
        done=sum(line.told is not None for _, line in lines),
    )


def _line(
    session: TrainingSession, log: SessionLog | None, kind: SessionKind | None, today: date
) -> PlannedLine:
    key, name = str(session.key), session_name(session.name, session.kind)
    read = said_kind(kind) if kind else None
    return PlannedLine(
        key=key,
        name=name,
        day=session.day.isoformat(),
        minutes=session.minutes,
        effort=session.effort,
        facts=_("%(minutes)d min, %(effort)s")
        % {"minutes": session.minutes, "effort": effort_words(session.effort)},
        what_for=read.purpose
        if read
        else _("Trains %(emphasis)s.") % {"emphasis": emphasis_word(session.emphasis)},
        note=session.note,
        cautions=read.cautions if read else "",
        told=_told(log, session) if log else None,
        is_open=session.day <= today,
        form=planned_form(
            key,
            log,
            what=name,
            minutes=session.minutes,
            effort=session.effort,
            day=session.day,
        ),
    )


def _told(log: SessionLog, session: TrainingSession) -> Told:
    if log.day == session.day:
        words = (
            _("Done as planned: %(minutes)d min, effort %(effort)d of 10")
            if log.as_planned
            else _("Done differently: %(minutes)d min, effort %(effort)d of 10")
        )
    else:
        words = (
            _("Done as planned: %(minutes)d min, effort %(effort)d of 10, on %(day)s")
            if log.as_planned
            else _("Done differently: %(minutes)d min, effort %(effort)d of 10, on %(day)s")
        )
    said = words % {"minutes": log.minutes, "effort": log.effort, "day": weekday_day(log.day)}
    return Told(said, log.last_written_at.isoformat())


def _also(log: SessionLog) -> str:
    return _("Also %(what)s: %(minutes)d min, effort %(effort)d of 10") % {
        "what": log.what,
        "minutes": log.minutes,
        "effort": log.effort,
    }


def _today(planned: Sequence[TrainingSession], today: date) -> str:
    """What the day asks for, in a sentence."""
    sessions = [session for session in planned if session.day == today]
    if not sessions:
        return _("No session is planned for today.")
    minutes = sum(session.minutes for session in sessions)
    names = [session_name(session.name, session.kind) for session in sessions]
    return _("Today: %(sessions)s, %(minutes)d min.") % {
        "sessions": listed(names),
        "minutes": minutes,
    }
