"""The phone's page of logs: what is due today, and each form as a few short steps.

`phone_views.py` asks. What is asked, and in which words, is said once, by the forms in `forms.py`;
here they are put in steps and shapes for a thumb. A form is plain HTML that posts to the address of
its log; the phone's script sends the same fields through the outbox.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from django import forms
from django.urls import reverse
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from seasonplan.checkins.forms import LogForm, MatchesField, ScaleWidget, log_form
from seasonplan.checkins.models import DayLog, EventCheckIn, Kind, SessionLog
from seasonplan.events.models import Event
from seasonplan.plans.due import trips_of
from seasonplan.plans.laying_out import Material
from seasonplan.science.draws import Draw
from seasonplan.science.words import N_, days, weekday_day

ASK_DAYS: Final = 14
"""So long after its last day an event is still asked about, and so far back logs are listed."""

IDEAS: Final = {
    "preparation": (N_("Endurance"), N_("Strength"), N_("Movement"), N_("Tennis")),
    "pre-competition": (N_("Tennis"), N_("Match play"), N_("Explosive work"), N_("Strength")),
    "competition": (N_("Tennis"), N_("Match"), N_("Light strength"), N_("Recovery")),
    "active rest": (N_("Walk"), N_("Swim"), N_("Another sport"), N_("Mobility")),
}
"""What the phase calls for is offered first."""

OTHER_IDEAS: Final = (N_("Tennis"), N_("Strength"), N_("Endurance"), N_("Movement"))
MINUTES: Final = (30, 45, 60, 75, 90, 120)
STEPS: Final[dict[str, tuple[tuple[str, tuple[str, ...]], ...]]] = {
    Kind.ARRIVAL: ((N_("Before your first match"), ("energy_before",)),),
    Kind.EVENT: (
        (N_("How it ended"), ("energy_after", "rounds_won")),
        (N_("How it was"), ("felt", "soreness", "sore_where", "energy_before")),
        (
            N_("If you like"),
            ("sleep_last_h", "sleep_before_h", "weather", "matches", "went_well",
             "do_differently", "private_note"),
        ),
    ),
    Kind.DAY: (
        (N_("How you feel"), ("sleep", "freshness", "muscles", "calm", "mood")),
        (
            N_("Ill or hurt"),
            ("problem", "problem_where", "took_part", "changed_training", "hurt_performance",
             "symptoms"),
        ),
        (N_("If you like"), ("wants_to_talk", "note", "private_note")),
    ),
    Kind.SESSION: ((N_("What you trained"), ("what", "minutes", "effort", "day")),),
}  # fmt: skip
"""The questions of each kind, step by step; one that is named nowhere comes last."""

ONLY_IF: Final = {
    "sore_where": "soreness:1 2 3 4 5 6 7 8 9 10",
    "problem_where": "problem:injury",
    "took_part": "problem:illness injury",
    "changed_training": "took_part:8 17",
    "hurt_performance": "took_part:8 17",
    "symptoms": "took_part:8 17",
}
"""Questions that only some answers to another one lead to."""


@dataclass(frozen=True)
class Option:
    value: str
    label: str
    chosen: bool = False


@dataclass(frozen=True)
class MatchRow:
    number: int
    prefix: str
    result: tuple[Option, ...]
    minutes: str
    score: str


@dataclass(frozen=True)
class Question:
    """One question: the shape it has on the phone, and what it gives in a message."""

    name: str
    label: str
    help: str
    shape: str
    gives: str
    needed: bool
    options: tuple[Option, ...] = ()
    low: str = ""
    high: str = ""
    value: str = ""
    ideas: tuple[str, ...] = ()
    matches: tuple[MatchRow, ...] = ()
    only_if: str = ""
    longest: int = 0


@dataclass(frozen=True)
class Step:
    title: str
    questions: tuple[Question, ...]


@dataclass(frozen=True)
class PhoneForm:
    """One log to write: its line in the list, and its steps."""

    kind: str
    id: str
    title: str
    detail: str
    action: str
    is_due: bool
    is_done: bool
    steps: tuple[Step, ...]
    event: int | None = None
    day: str = ""
    session: str = ""
    planned: str = ""
    """The key of the planned session that the log is of."""


@dataclass(frozen=True)
class Logged:
    """What came in, in a line."""

    title: str
    detail: str


@dataclass(frozen=True)
class LogPage:
    """Without `asks_health` a guardian has not consented yet to a log of health."""

    due: tuple[PhoneForm, ...]
    others: tuple[PhoneForm, ...]
    logged: tuple[Logged, ...]
    asks_health: bool


@dataclass(frozen=True)
class Written:
    """What a player has logged lately, with the events and matches read along."""

    check_ins: Sequence[EventCheckIn]
    days: Sequence[DayLog]
    sessions: Sequence[SessionLog]


def log_page(
    material: Material | None, written: Written, *, today: date, asks_health: bool
) -> LogPage:
    """Everything that can be logged on the day, what is due first."""
    found: list[PhoneForm] = []
    if material is not None:
        found += _event_forms(material, written, today, asks_health)
    if asks_health:
        found.append(_day_form(written, today))
    found.append(_session_form(material, today))
    return LogPage(
        due=tuple(form for form in found if form.is_due),
        others=tuple(form for form in found if not form.is_due),
        logged=tuple(_logged(written)),
        asks_health=asks_health,
    )


# The forms -----------------------------------------------------------------------------------


def _event_forms(
    material: Material, written: Written, today: date, asks_health: bool
) -> Iterator[PhoneForm]:
    by_event = {check_in.event_id: check_in for check_in in written.check_ins}
    arrivals = {event_id: trip.arrive for event_id, trip in trips_of(material).items()}
    for event in material.going:
        check_in = by_event.get(event.pk)
        is_told = check_in is not None and check_in.rounds_won is not None
        eve = event.start - timedelta(days=1)
        if min(arrivals.get(event.pk, eve), eve) <= today <= event.start and not is_told:
            yield _arrival_form(event, check_in)
        if event.start <= today <= event.end + timedelta(days=ASK_DAYS):
            yield _event_form(event, check_in, today, asks_health)


def _arrival_form(event: Event, check_in: EventCheckIn | None) -> PhoneForm:
    is_done = check_in is not None and check_in.energy_before is not None
    form = log_form(
        Kind.ARRIVAL, initial=_said(check_in), event=event, on_behalf=False, health=True
    )
    return PhoneForm(
        kind=Kind.ARRIVAL,
        id=f"arrival-{event.pk}",
        title=_("Before %(event)s") % {"event": event.name},
        detail=_("%(place)s, from %(day)s")
        % {"place": event.place.place_name, "day": weekday_day(event.start)},
        action=reverse("log-arrival", args=[event.pk]),
        is_due=not is_done,
        is_done=is_done,
        steps=_steps(Kind.ARRIVAL, form),
        event=event.pk,
    )


def _event_form(
    event: Event, check_in: EventCheckIn | None, today: date, asks_health: bool
) -> PhoneForm:
    is_done = check_in is not None and check_in.rounds_won is not None
    told_before = check_in is not None and check_in.energy_before is not None
    form = log_form(
        Kind.EVENT,
        initial=_said(check_in),
        event=event,
        on_behalf=False,
        health=asks_health,
        without=("energy_before",) if told_before else (),
    )
    rounds = Draw(event.draw_size).rounds if event.draw_size else 7
    return PhoneForm(
        kind=Kind.EVENT,
        id=f"event-{event.pk}",
        title=_("After %(event)s") % {"event": event.name},
        detail=f"{event.place.place_name}, {days(event.start, event.end)}",
        action=reverse("log-event", args=[event.pk]),
        is_due=not is_done and today >= event.end,
        is_done=is_done,
        steps=_steps(Kind.EVENT, form, most_matches=rounds),
        event=event.pk,
    )


def _day_form(written: Written, today: date) -> PhoneForm:
    log = next((log for log in written.days if log.day == today), None)
    form = log_form(Kind.DAY, initial=_said(log), event=None, on_behalf=False, health=True)
    return PhoneForm(
        kind=Kind.DAY,
        id="day",
        title=_("How you feel today"),
        detail=weekday_day(today),
        action=reverse("log-day"),
        is_due=log is None,
        is_done=log is not None,
        steps=_steps(Kind.DAY, form),
        day=today.isoformat(),
    )


def _session_form(material: Material | None, today: date) -> PhoneForm:
    blocks = material.blocks if material else ()
    block = next((b for b in blocks if b.start <= today < b.start + timedelta(weeks=b.weeks)), None)
    ideas = tuple(_(idea) for idea in (IDEAS[block.phase] if block else OTHER_IDEAS))
    form = log_form(Kind.SESSION, initial={"day": today}, event=None, on_behalf=False, health=True)
    return PhoneForm(
        kind=Kind.SESSION,
        id="session",
        title=_("A session"),
        detail=_("%(phase)s: what you trained") % {"phase": block.get_phase_display()}
        if block
        else _("What you trained"),
        action=reverse("log-session"),
        is_due=False,
        is_done=False,
        steps=_steps(
            Kind.SESSION, form, ideas={"what": ideas, "minutes": tuple(map(str, MINUTES))}
        ),
        session=str(uuid.uuid4()),
    )


def planned_form(key: str, log: SessionLog | None, **planned: Any) -> PhoneForm:
    """The form of a session that is filled in as it was planned, or as it was logged.

    `planned` gives what, minutes, effort and day; `key` is the planned session's.
    """
    form = log_form(
        Kind.SESSION,
        initial=_said(log) or planned,
        event=None,
        on_behalf=False,
        health=True,
    )
    return PhoneForm(
        kind=Kind.SESSION,
        id=f"planned-{key}",
        title=planned["what"],
        detail="",
        action=reverse("log-session"),
        is_due=False,
        is_done=log is not None,
        steps=_steps(Kind.SESSION, form),
        session=key,
        planned=key,
    )


def _said(log: Any) -> dict[str, Any]:
    """What a log says already, as the initial values of its form."""
    if log is None:
        return {}
    said = {field.attname: getattr(log, field.attname) for field in log._meta.concrete_fields}
    if isinstance(log, EventCheckIn):
        said["matches"] = [
            {"won": m.won, "minutes": m.minutes, "score": m.score} for m in log.matches.all()
        ]
    return said


# From a form to steps ------------------------------------------------------------------------


def _steps(
    kind: str,
    form: LogForm,
    *,
    most_matches: int = 0,
    ideas: dict[str, tuple[str, ...]] | None = None,
) -> tuple[Step, ...]:
    left = dict.fromkeys(bound.name for bound in form.visible_fields())
    steps: list[tuple[str, list[str]]] = []
    for title, names in STEPS[kind]:
        asked = [name for name in names if name in left]
        for name in asked:
            del left[name]
        steps.append((title, asked))
    steps[-1][1].extend(left)
    return tuple(
        Step(
            _(title),
            tuple(
                _question(form[name], most_matches, (ideas or {}).get(name, ())) for name in asked
            ),
        )
        for title, asked in steps
        if asked
    )


def _question(bound: forms.BoundField, most_matches: int, ideas: tuple[str, ...]) -> Question:
    field, value = bound.field, bound.value()
    shape, gives = _shape(field)
    low, high = field.widget.ends if isinstance(field.widget, ScaleWidget) else ("", "")
    options = () if shape in TYPED else tuple(_options(field, value))
    return Question(
        name=bound.name,
        label=str(bound.label),
        help=str(bound.help_text),
        shape=shape,
        gives=gives,
        needed=field.required,
        options=options,
        low=str(low),
        high=str(high),
        value=_typed(value) if shape in TYPED else "",
        ideas=ideas,
        matches=tuple(_match_rows(bound.name, value, most_matches)) if shape == "matches" else (),
        only_if=ONLY_IF.get(bound.name, ""),
        longest=getattr(field, "max_length", None) or 0,
    )


TYPED: Final = {"area", "line", "number", "decimal", "date", "check", "matches"}


def _shape(field: forms.Field) -> tuple[str, str]:
    """How a field looks under a thumb, and the JSON type that its message carries."""
    if isinstance(field, MatchesField):
        return "matches", "matches"
    if isinstance(field, forms.MultipleChoiceField):
        return "many", "list"
    if isinstance(field, forms.ChoiceField):
        gives = "number" if isinstance(field, forms.TypedChoiceField) else "text"
        if isinstance(field.widget, ScaleWidget):
            return ("eleven" if len(_real(field)) > 6 else "five"), gives
        return "words", gives
    if isinstance(field, forms.BooleanField):
        return "check", "flag"
    if isinstance(field, forms.FloatField):
        return "decimal", "number"
    if isinstance(field, forms.IntegerField):
        return "number", "number"
    if isinstance(field, forms.DateField):
        return "date", "text"
    return ("area" if isinstance(field.widget, forms.Textarea) else "line"), "text"


def _real(field: Any) -> list[tuple[str, str]]:
    """The answers without the one that says nothing: on the phone that is not to answer."""
    return [(str(value), str(label)) for value, label in field.choices if str(value)]


def _options(field: Any, value: Any) -> Iterable[Option]:
    chosen = {str(v) for v in value} if isinstance(value, list) else {str(value)}
    return (Option(v, label, v in chosen) for v, label in _real(field))


def _typed(value: Any) -> str:
    if value is None or value is False:
        return ""
    if isinstance(value, float):
        return f"{value:g}"
    return value.isoformat() if isinstance(value, date) else str(value)


def _match_rows(name: str, played: Any, most: int) -> Iterable[MatchRow]:
    told = played or []
    for number in range(max(most, len(told))):
        match = told[number] if number < len(told) else {}
        won = match.get("won")
        yield MatchRow(
            number=number + 1,
            prefix=f"{name}-{number}",
            result=(
                Option("won", pgettext("match, alone", "Won"), won is True),
                Option("lost", pgettext("match, alone", "Lost"), won is False),
            ),
            minutes=_typed(match.get("minutes")),
            score=match.get("score") or "",
        )


def _logged(written: Written) -> Iterable[Logged]:
    """The latest first."""
    lines: list[tuple[date, Logged]] = []
    for check_in in written.check_ins:
        said = []
        if check_in.energy_before is not None:
            said.append(_("energy before %(value)d") % {"value": check_in.energy_before})
        if check_in.energy_after is not None:
            said.append(_("energy after %(value)d") % {"value": check_in.energy_after})
        if check_in.rounds_won is not None:
            said.append(
                ngettext("%(count)d round won", "%(count)d rounds won", check_in.rounds_won)
                % {"count": check_in.rounds_won}
            )
        line = Logged(check_in.event.name, capfirst(", ".join(said)))
        lines.append((check_in.event.start, line))
    lines += [(log.day, Logged(weekday_day(log.day), _("How you felt"))) for log in written.days]
    for session in written.sessions:
        words = (
            _("%(day)s, %(minutes)d min, effort %(effort)d, as planned")
            if session.as_planned
            else _("%(day)s, %(minutes)d min, effort %(effort)d")
        )
        detail = words % {
            "day": weekday_day(session.day),
            "minutes": session.minutes,
            "effort": session.effort,
        }
        lines.append((session.day, Logged(session.what, detail)))
    return [line for _, line in sorted(lines, key=lambda pair: pair[0], reverse=True)]
