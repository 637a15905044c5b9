"""The page of a re-planned season: what would join, leave and stay, and why, before it is accepted.

Works out every sentence once from a proposal of `replanning.py`; the template only prints.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Final

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from seasonplan.events.models import Event
from seasonplan.plans.differences import Shape, differences, named, shape_of
from seasonplan.plans.laying_out import Material, code_of, id_of, judge_plan
from seasonplan.plans.models import PlannedEvent, SeasonPlan
from seasonplan.plans.naming import why_impossible
from seasonplan.plans.planner import short_word
from seasonplan.plans.replanning import (
    Asked,
    Proposal,
    as_it_went,
    days_out,
    question,
    season_value,
    signed,
    with_reasons,
)
from seasonplan.science.layout.rules import Finding, Judgement, judge
from seasonplan.science.layout.solver import Impossible
from seasonplan.science.words import N_, day_month, days, number, short_number, weekday_day

STILL_ENTERED: Final = frozenset(
    {PlannedEvent.Entry.ENTERED, PlannedEvent.Entry.ACCEPTED, PlannedEvent.Entry.WAITING}
)

ABOUT_BREAKS: Final = N_("What is broken, each unit by the weight of its rule. Less is better.")
ABOUT_VALUE: Final = N_(
    "What the season is worth by itself, without what changes cost. To be compared where the breaks"
    " are the same. More is better."
)
A_WILD_CARD: Final = N_("A wild card: pinned in, and accepted.")
NOT_ACCEPTED: Final = N_("Not accepted into its draw: ruled out.")


@dataclass(frozen=True)
class EventLine:
    """One event, and why it joins, leaves or is otherwise; `url` is empty where it has no page."""

    text: str
    why: str
    url: str


@dataclass(frozen=True)
class Figure:
    label: str
    before: str
    after: str
    about: str = ""


@dataclass(frozen=True)
class FindingLine:
    short: str
    text: str
    new: bool


@dataclass(frozen=True)
class ReplanPage:
    """`form` is the signed proposal; empty where there is nothing to write. `makes_copy` where it
    goes into a new working copy, and `busy` says which days become busy."""

    title: str
    summary: str
    joins: tuple[EventLine, ...]
    leaves: tuple[EventLine, ...]
    otherwise: tuple[EventLine, ...]
    stays: tuple[str, ...]
    phases: tuple[str, ...]
    figures: tuple[Figure, ...]
    findings: tuple[FindingLine, ...]
    proven: bool
    cost: str
    busy: str
    makes_copy: bool
    form: str


def replan_page(material: Material, proposal: Proposal, *, today: date) -> ReplanPage:
    """The differences between the plan as it stands and the proposal. One query at most."""
    return _Preview(material, proposal, today).page()


class _Preview:
    def __init__(self, material: Material, proposal: Proposal, today: date) -> None:
        self.material, self.proposal, self.asked = material, proposal, proposal.asked
        self.problem = question(material, proposal.asked, today=today)
        self.after = judge(self.problem, proposal.events, proposal.blocks)
        self.before = judge_plan(material, today=today).judgement
        self.began = {e.pk for e in as_it_went(material, today=today).played if e.start < today}
        self.now = {event.pk for event in material.played}
        self.then = {id_of(code) for code in proposal.events}

    def page(self) -> ReplanPage:
        plan, asked, events = self.material.plan, self.asked, self.material.events
        both = differences(
            shape_of(self.material),
            Shape(frozenset(self.then), self.proposal.blocks),
            events=events,
            start=plan.start,
            end=plan.end,
        )
        joins = tuple(self._joins(e) for e in events if e.pk in self.then - self.now)
        leaves = tuple(self._leaves(e) for e in events if e.pk in self.now - self.then)
        leaves += tuple(_outside(self.material))
        otherwise = tuple(self._otherwise())
        out = days_out(self.material, asked)
        anything = bool(joins or leaves or otherwise or both.phases or out)
        return ReplanPage(
            title=_("If you re-plan from %(day)s") % {"day": weekday_day(asked.day)},
            summary=_summary(joins, leaves, both.phases),
            joins=joins,
            leaves=leaves,
            otherwise=otherwise,
            stays=tuple(self._stays(e) for e in events if e.pk in self.now & self.then),
            phases=both.phases,
            figures=self._figures(),
            findings=tuple(self._findings()),
            proven=self.proposal.status == "proven",
            cost=_cost(asked),
            busy=days(out.start, out.end) if out else "",
            makes_copy=plan.standing == SeasonPlan.Standing.IN_FORCE,
            form=signed(plan, self.proposal) if anything else "",
        )

    def _line(self, event: Event, why: str) -> EventLine:
        url = reverse("planned-event", args=[self.material.plan.pk, event.pk])
        return EventLine(named(event), why, url)

    # Why.

    def _joins(self, event: Event) -> EventLine:
        return self._line(event, self._why_it_joins(event))

    def _why_it_joins(self, event: Event) -> str:
        if event.pk == self.asked.wild_card:
            return _(A_WILD_CARD)
        if event.pk in self.began:
            return _("It has begun, and is in the plan in force.")
        code = code_of(event.pk)
        if code in self.problem.keep:
            return _("It is pinned in.")
        without = self._judged(e for e in self.proposal.events if e != code)
        if new := _new(without, self.after):
            why = _("Without it another rule would be broken.")
            return f"{why} {self._said(new[0])}"
        return self._worth(without, _("With it the season is worth %(more)s more."))

    def _leaves(self, event: Event) -> EventLine:
        why = (self._why_it_leaves(event), self._withdraw(event))
        return self._line(event, " ".join(filter(None, why)))

    def _withdraw(self, event: Event) -> str:
        """What is still to be done outside the plan, of which nothing reminds once it has left."""
        row = self.material.planned[event.pk]
        settled = event.cancelled or event.start < self.asked.day
        if settled or event.pk == self.asked.not_accepted or row.entry not in STILL_ENTERED:
            return ""
        if day := event.withdrawal_deadline:
            said = _("%(entry)s: the last day to withdraw is %(day)s.")
            return said % {"entry": row.get_entry_display(), "day": weekday_day(day)}
        return _("%(entry)s: withdraw in time.") % {"entry": row.get_entry_display()}

    def _why_it_leaves(self, event: Event) -> str:
        if event.cancelled:
            return _("It is cancelled.")
        if event.pk == self.asked.not_accepted:
            return _(NOT_ACCEPTED)
        busy = (b for b in self.problem.busy if b.start <= event.end and event.start <= b.end)
        if (found := next(busy, None)) is not None:
            dates = days(found.start, found.end)
            said = _("The player is busy %(days)s.")
            if found.why:
                said = _("The player is busy %(days)s (%(why)s).")
            return said % {"days": dates, "why": found.why}
        if code_of(event.pk) in self.problem.drop:
            return _("It is ruled out.")
        back = self._judged((*self.proposal.events, code_of(event.pk)))
        if new := _new(back, self.after):
            never = new[0].weight is None
            why = _("It does not fit in.") if never else _("With it another rule would be broken.")
            return f"{why} {self._said(new[0])}"
        return self._worth(back, _("Without it the season is worth %(more)s more."))

    def _said(self, finding: Finding) -> str:
        return from_that_day(finding.text, self.asked)

    def _judged(self, events: Iterable[str]) -> Judgement:
        return judge(self.problem, tuple(events), self.proposal.blocks)

    def _worth(self, other: Judgement, said: str) -> str:
        more = season_value(self.after) - season_value(other)
        return said % {"more": number(more, 1)} if more > 0 else ""

    def _otherwise(self) -> Iterable[EventLine]:
        """Events that stay in or out of the plan, of which it says something else."""
        by_id = {event.pk: event for event in self.material.events}
        reasoned = with_reasons(self.material, self.asked).planned
        for event_id, why in (
            (self.asked.wild_card, _(A_WILD_CARD)),
            (self.asked.not_accepted, _(NOT_ACCEPTED)),
        ):
            if event_id is None or (event_id in self.now) != (event_id in self.then):
                continue
            before, after = self.material.planned.get(event_id), reasoned[event_id]
            if before is None or (before.standing, before.entry) != (after.standing, after.entry):
                yield self._line(by_id[event_id], why)

    def _stays(self, event: Event) -> str:
        if event.start < self.asked.day:
            return _("%(event)s (began before)") % {"event": named(event)}
        return named(event)

    # Figures.

    def _figures(self) -> tuple[Figure, ...]:
        one, other = self.before, self.after
        return (
            Figure(_("Events"), str(len(one.trips)), str(len(other.trips))),
            Figure(_("Findings"), str(len(one.broken)), str(len(other.broken))),
            Figure(
                _("Breaks"),
                short_number(one.breaks),
                short_number(other.breaks),
                _(ABOUT_BREAKS),
            ),
            Figure(
                _("Value"),
                number(season_value(one), 1),
                number(season_value(other), 1),
                _(ABOUT_VALUE),
            ),
        )

    def _findings(self) -> Iterable[FindingLine]:
        known = {finding.text for finding in self.before.broken}
        for finding in self.after.broken:
            yield FindingLine(
                short_word(finding.rule), self._said(finding), finding.text not in known
            )


def _new(judged: Judgement, before: Judgement) -> list[Finding]:
    """What is broken here and was not before, where that is worse; what cannot be first."""
    if judged.possible and judged.breaks <= before.breaks:
        return []
    texts = {finding.text for finding in before.broken}
    found = [finding for finding in judged.broken if finding.text not in texts]
    return sorted(found, key=lambda finding: (finding.weight is not None, -(finding.weight or 0)))


def from_that_day(text: str, asked: Asked) -> str:
    """What the science says of today, said of the day from which the season is laid out anew."""
    return text.replace(_("before today"), _("before %(day)s") % {"day": day_month(asked.day)})


def _outside(material: Material) -> Iterable[EventLine]:
    """Events of the plan that a change of the calendar moved out of its season."""
    known = {event.pk for event in material.events}
    gone = [pk for pk, row in material.planned.items() if row.played and pk not in known]
    if gone:
        rows = PlannedEvent.objects.filter(plan=material.plan, event__in=gone)
        for row in rows.select_related("event__place"):
            yield EventLine(named(row.event), _("It no longer lies in this season."), "")


def _summary(
    joins: tuple[EventLine, ...], leaves: tuple[EventLine, ...], phases: tuple[str, ...]
) -> str:
    if not (joins or leaves or phases):
        return _("The events and phases stay as they are.")
    moved = {"joins": len(joins), "leaves": len(leaves)}
    if not phases:
        said = ngettext(
            "%(joins)d event would join, %(leaves)d would leave, and the phases stay.",
            "%(joins)d events would join, %(leaves)d would leave, and the phases stay.",
            len(joins),
        )
        return said % moved
    stretches = ngettext(
        "%(count)d stretch of weeks would have another phase",
        "%(count)d stretches of weeks would have another phase",
        len(phases),
    ) % {"count": len(phases)}
    said = ngettext(
        "%(joins)d event would join, %(leaves)d would leave, and %(stretches)s.",
        "%(joins)d events would join, %(leaves)d would leave, and %(stretches)s.",
        len(joins),
    )
    return said % {**moved, "stretches": stretches}


def _cost(asked: Asked) -> str:
    if not asked.weight:
        return _("Changes cost nothing here: whatever is better is changed.")
    said = _(
        "An event joins or leaves only where that brings %(weight)d of value or more, or leaves "
        "less broken."
    )
    return said % {"weight": asked.weight}


@dataclass(frozen=True)
class Stuck:
    """Why nothing can be laid out, and the events that it is about, each with its page."""

    why: str
    events: tuple[tuple[str, str], ...]


def stuck(material: Material, asked: Asked, reason: Impossible) -> Stuck:
    """What stands in the way, in the words of a page."""
    events = [e for e in material.events if f"({code_of(e.pk)})" in str(reason)]
    return Stuck(
        why=from_that_day(why_impossible(reason, events), asked),
        events=tuple(
            (e.name, reverse("planned-event", args=[material.plan.pk, e.pk])) for e in events
        ),
    )
