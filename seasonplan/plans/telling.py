"""How the history of a plan is told: its steps, what each changed, and where two changes clash."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from seasonplan.events.models import Event
from seasonplan.plans.blocks import week_and_day
from seasonplan.plans.carried import kept_limit
from seasonplan.plans.history import Clash, Reach
from seasonplan.plans.models import EventRole, PlannedEvent, SeasonPlan, Step
from seasonplan.plans.terms import entry_word, phase_word, role_word, standing_word
from seasonplan.science.layout.limits import LIMITS
from seasonplan.science.words import number

SHOWN_CHANGES = 60
"""As many lines as a step opens to; to lay out a season changes hundreds of things."""

_LIMITS = {limit.name: limit for limit in LIMITS}


@dataclass(frozen=True)
class ChangeLine:
    """One thing that a step changed, before and after in words."""

    thing: str
    before: str
    after: str


@dataclass(frozen=True)
class StepLine:
    """One step of the history; `state` says where it does not count any more."""

    number: int
    title: str
    who: str
    at: datetime
    state: str
    is_here: bool
    changes: tuple[ChangeLine, ...]
    more: int


@dataclass(frozen=True)
class ClashLine:
    """One thing that two people changed, in words, with who was first and when."""

    thing: str
    then: str
    theirs: str
    mine: str
    who: str
    at: datetime


@dataclass(frozen=True)
class HistoryPage:
    plan: SeasonPlan
    season_url: str
    steps: tuple[StepLine, ...]
    older_url: str
    reach: Reach


def history_page(
    plan: SeasonPlan, reach: Reach, *, before: int | None = None, at_most: int = 50
) -> HistoryPage:
    """The newest steps first, those with numbers below `before`; asks a fixed number of queries."""
    rows = plan.steps.select_related("who", "of").order_by("-number")
    found = list(rows.filter(number__lt=before) if before else rows)[: at_most + 1]
    steps, more = found[:at_most], len(found) > at_most
    names = event_names(thing for step in steps for thing in _shown(step))
    counting = _counting(plan)
    return HistoryPage(
        plan=plan,
        season_url=reverse("season", args=[plan.pk]),
        steps=tuple(_step_line(plan, step, names, counting) for step in steps),
        older_url=f"{reverse('plan-history', args=[plan.pk])}?before={steps[-1].number}"
        if more
        else "",
        reach=reach,
    )


def _counting(plan: SeasonPlan) -> set[int]:
    """Ids of the changes that count now: the head and what led to it."""
    parents = dict(plan.steps.values_list("pk", "parent_id"))
    counting: set[int] = set()
    at = plan.head_id
    while at is not None:
        counting.add(at)
        at = parents.get(at)
    return counting


def _shown(step: Step) -> list[str]:
    return list(step.changes)[:SHOWN_CHANGES] if step.kind != Step.Kind.BEGIN else []


def _step_line(
    plan: SeasonPlan, step: Step, names: Mapping[int, str], counting: set[int]
) -> StepLine:
    shown = _shown(step)
    undone = step.kind == Step.Kind.EDIT and step.pk not in counting
    return StepLine(
        number=step.number,
        title=step.title,
        who=step.who.name if step.who else "",
        at=step.at,
        state=pgettext("a step", "taken back") if undone else "",
        is_here=step.pk == plan.head_id,
        changes=tuple(
            ChangeLine(
                thing_in_words(thing, names),
                value_in_words(thing, step.changes[thing][0]),
                value_in_words(thing, step.changes[thing][1]),
            )
            for thing in shown
        ),
        more=len(step.changes) - len(shown) if step.kind != Step.Kind.BEGIN else 0,
    )


def clash_lines(clashes: Iterable[Clash]) -> tuple[ClashLine, ...]:
    """Both versions of each thing in words."""
    clashes = list(clashes)
    names = event_names(clash.thing for clash in clashes)
    return tuple(
        ClashLine(
            thing=thing_in_words(clash.thing, names),
            then=value_in_words(clash.thing, clash.then),
            theirs=value_in_words(clash.thing, clash.theirs),
            mine=value_in_words(clash.thing, clash.mine),
            who=clash.who,
            at=clash.at,
        )
        for clash in clashes
    )


def event_names(things: Iterable[str]) -> dict[int, str]:
    """The names of the events among these things, in one query."""
    ids = {int(t.removeprefix("event:")) for t in things if t.startswith("event:")}
    return dict(Event.objects.filter(pk__in=ids).values_list("pk", "name")) if ids else {}


def thing_in_words(thing: str, names: Mapping[int, str]) -> str:
    """`Harbour Open`, `Week 9, 1 Mar`, `Event weeks in a row, at most`."""
    kind, _colon, key = thing.partition(":")
    if kind == "event":
        return names.get(int(key)) or _("An event that is gone")
    if kind == "from":
        return week_and_day(date.fromisoformat(key))
    if kind == "limit":
        return _(_LIMITS[key].label) if key in _LIMITS else key
    if kind == "level":
        return _("Worth of level “%(level)s”") % {"level": key}
    if kind == "name":
        return pgettext("of a plan", "Name")
    return _("Layout") if kind == "layout" else _("A decision carried over")


def value_in_words(thing: str, value: Any) -> str:
    """What a thing is or was, in words that stand alone."""
    kind, _colon, key = thing.partition(":")
    if kind == "event":
        return _event_in_words(value)
    if kind == "from":
        return _beginning_in_words(value)
    if value is None:
        return _nothing_in_words(kind)
    if kind == "limit":
        return kept_limit(key, value)
    if kind == "layout":
        best = number(value["layout_value"], 1)
        if value["layout_status"] == "proven":
            return _("proven, value %(value)s") % {"value": best}
        return _("best found, value %(value)s") % {"value": best}
    if kind == "decision" and value["taken_back"]:
        return _("%(decision)s (taken back)") % {"decision": value["text"]}
    return str(value["text"] if kind == "decision" else value)


def _beginning_in_words(phase: str | None) -> str:
    if phase is None:
        return _("the phase goes on")
    if not phase:
        return _("no phase from here")
    return _("%(phase)s begins") % {"phase": phase_word(phase)}


def _nothing_in_words(kind: str) -> str:
    if kind == "limit":
        return _("the default")
    return _("the usual one") if kind == "level" else pgettext("value before or after", "none")


def _event_in_words(value: Mapping[str, Any] | None) -> str:
    if value is None:
        return _("not in the plan")
    words = [_("in the plan") if value["played"] else _("not in the plan")]
    if value["role"] != EventRole.OPEN:
        words.append(role_word(value["role"]))
    if value["worth"] is not None:
        words.append(_("worth %(worth)d") % {"worth": value["worth"]})
    if value["standing"] != PlannedEvent.Standing.FREE:
        words.append(standing_word(value["standing"]))
    if value["entry"] != PlannedEvent.Entry.NOT_ENTERED:
        words.append(entry_word(value["entry"]))
    return ", ".join(words)
