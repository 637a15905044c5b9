"""What the season screen says of decisions from the season before, and of looking back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from seasonplan.plans.carrying import set_by, value_now
from seasonplan.plans.laying_out import Material
from seasonplan.plans.limit_words import limit_line, shown_limit
from seasonplan.plans.models import CarriedOver, SeasonPlan
from seasonplan.plans.terms import role_word
from seasonplan.science.layout.limits import LIMITS, Limit
from seasonplan.science.words import days

LAST_WEEKS = timedelta(weeks=4)
"""From four weeks before its end on, a season's page leads to looking back on it."""

Kind = CarriedOver.Kind


@dataclass(frozen=True)
class CarriedLine:
    """One decision: what it sets here in words, how that stands, and the page that says why.

    `url` takes it back or, if `taken_back`, sets it again.
    """

    text: str
    what: str
    state: str
    origin: str
    why_url: str
    url: str
    taken_back: bool


def carried_lines(material: Material) -> tuple[CarriedLine, ...]:
    """The decisions that reached this plan, in the order in which they did. Makes no query."""
    return tuple(
        CarriedLine(
            text=row.text,
            what=_what(material, row),
            state=_state(material, row),
            origin=row.origin,
            why_url=row.why_path,
            url=reverse("carried-over", args=[material.plan.pk, row.pk]),
            taken_back=row.taken_back,
        )
        for row in material.carried
    )


def ends_soon(plan: SeasonPlan, today: date) -> bool:
    """True for a plan in force in its last weeks, and ever after."""
    return plan.standing == SeasonPlan.Standing.IN_FORCE and today > plan.end - LAST_WEEKS


def limit_in_words(name: str, value: Any) -> str:
    """`Event weeks in a row, at most: 2 weeks`."""
    return limit_line(_limit(name), _as_set(value))


def kept_limit(name: str, value: Any) -> str:
    """The same without its label: `2 weeks`."""
    return shown_limit(_limit(name), _as_set(value))


def _limit(name: str) -> Limit:
    return next(limit for limit in LIMITS if limit.name == name)


def _as_set(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


def _what(material: Material, row: CarriedOver) -> str:
    if row.kind == Kind.LIMIT:
        return limit_in_words(row.subject, row.value)
    if row.kind == Kind.LEVEL_WORTH:
        return _("Events of level “%(level)s” are worth %(worth)s") % {
            "level": row.subject,
            "worth": row.value,
        }
    if row.kind == Kind.NOTE:
        return _("A note: it sets nothing")
    event = next((event for event in material.events if event.pk == row.event_id), None)
    if event is None:
        return _("Its event is not in this season’s calendar yet")
    words = [role_word("target")] if row.kind == Kind.TARGET else []
    if row.value is not None:
        words.append(_("worth %(worth)d") % {"worth": row.value})
    return pgettext("label and value", "%(label)s: %(value)s") % {
        "label": f"{event.name}, {days(event.start, event.end)}",
        "value": ", ".join(words),
    }


def _state(material: Material, row: CarriedOver) -> str:
    if row.taken_back:
        return _("taken back")
    if row.kind == Kind.NOTE:
        return ""
    if row.kind in (Kind.TARGET, Kind.EVENT_WORTH) and row.event_id is None:
        return pgettext("a decision", "waits")
    now = value_now(
        row, material.plan.limits, dict(material.planned), dict(material.worth_by_level)
    )
    return "" if now == set_by(row) else _("changed here since")
