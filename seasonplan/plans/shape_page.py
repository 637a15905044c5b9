"""The page of shapes: three seasons beside the plan as it stands, and the curve they come from.

Works out every label once from an answer of `shapes.py`; the template only prints.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from seasonplan.plans.laying_out import Material, id_of, judge_plan
from seasonplan.plans.season_drawings import Curve, CurvePoint, draw_curve
from seasonplan.plans.shapes import (
    KINDS,
    Answer,
    Kind,
    kind_name,
    kind_word,
    limits_of,
    signed,
)
from seasonplan.science.layout.problem import Limits
from seasonplan.science.layout.rules import Judgement
from seasonplan.science.layout.shapes import Figures, Point, pays_until
from seasonplan.science.words import N_, listed, number, whole

NONE_OF: Final[tuple[tuple[Kind, str], ...]] = (
    ("lighter", N_("No smaller number of events does without more broken rules.")),
    ("fuller", N_("No larger number of events does without more broken rules.")),
)


def _weeks(number_of: int) -> str:
    return ngettext("%(count)d week", "%(count)d weeks", number_of) % {"count": number_of}


ROWS: Final[tuple[tuple[str, str, Callable[[Figures], str]], ...]] = (
    (N_("Events"), "", lambda f: str(f.events)),
    (N_("Event weeks"), N_("Weeks with an event."), lambda f: str(f.event_weeks)),
    (
        N_("Weeks away from home"),
        N_("With four days or more away."),
        lambda f: str(f.weeks_away),
    ),
    (N_("Longest run"), N_("Event weeks in a row."), lambda f: _weeks(f.longest_run)),
    (N_("Flight hours"), N_("An estimate."), lambda f: number(f.flight_hours)),
    (
        N_("Missing acclimatisation days"),
        N_("Travel and settling in that do not fit before events, in all."),
        lambda f: str(f.missing_days),
    ),
    (N_("Rest weeks"), N_("Weeks of active rest."), lambda f: str(f.rest_weeks)),
    (N_("Cost"), N_("Entry fees alone."), lambda f: whole(round(f.cost))),
    (N_("Value"), "", lambda f: number(f.value, 1)),
)


@dataclass(frozen=True)
class Column:
    """One season in the table. `kind` is empty for the plan as it stands; `form` is the signed
    shape, and `limits` what making a copy does to its limits, in words."""

    name: str
    kind: str
    good: str
    over: str
    form: str
    limits: str
    changes: str


@dataclass(frozen=True)
class Row:
    label: str
    about: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class PointLine:
    """One number of events in the table of the curve."""

    events: int
    value: str
    more: str
    good: str
    over: bool
    name: str


@dataclass(frozen=True)
class ShapesPage:
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    none: tuple[str, ...]
    pays: str
    lines: tuple[PointLine, ...]
    drawn: tuple[CurvePoint, ...]
    limit: int

    @cached_property
    def curve(self) -> Curve:
        return draw_curve(self.drawn, limit=self.limit)

    @property
    def some_best_found(self) -> bool:
        return any(not point.proven for point in self.drawn)

    @property
    def some_break_more(self) -> bool:
        return any(point.breaks_more for point in self.drawn)

    @property
    def chart_data(self) -> dict[str, Any]:
        """What the chart for the pointer draws: the same points as the drawing."""
        return {
            "x": _("Events in the season"),
            "y": _("Best value"),
            "percent": False,
            "xRange": list(self.curve.x_range),
            "yRange": list(self.curve.y_range),
            "points": [
                {
                    "number": point.label or str(point.events),
                    "x": point.events,
                    "y": point.value,
                    "group": _("more rules broken")
                    if point.breaks_more
                    else _("no more rules broken"),
                    "shape": "triangle" if point.breaks_more else "circle",
                    "tone": "",
                    "target": False,
                    "words": point.words,
                    "late": not point.proven,
                }
                for point in self.drawn
            ],
            "line": [[p.events, p.value] for p in self.drawn if not p.breaks_more],
            "lineName": _("best value"),
            "band": [],
        }


def shapes_page(material: Material, answer: Answer, *, today: date) -> ShapesPage:
    """The page of an answer about this plan, which is laid out. Makes no query."""
    judged = judge_plan(material, today=today).judgement
    shown: list[tuple[Kind, Point]] = [
        (kind, point) for kind in KINDS if (point := answer.shape(kind)) is not None
    ]
    columns = [_as_it_stands(material)]
    columns += [_column(material, answer, kind, point) for kind, point in shown]
    figures = [_figures(material, judged), *(point.figures for _kind, point in shown)]
    broken = [judged, *(point.judgement for _kind, point in shown)]
    balanced = answer.three.balanced
    kinds = {kind for kind, _point in shown}
    names = {point.events: kind_word(kind) for kind, point in shown}
    limit = answer.problem.limits.max_events
    return ShapesPage(
        columns=tuple(columns),
        rows=(
            *(
                Row(_(label), _(about) if about else "", tuple(say(f) for f in figures))
                for label, about, say in ROWS
            ),
            Row(_("Broken rules"), "", tuple(_rules(one) for one in broken)),
        ),
        none=tuple(_(sentence) for kind, sentence in NONE_OF if kind not in kinds),
        pays=pays_words(answer),
        lines=tuple(
            PointLine(
                events=point.events,
                value=number(point.value, 1),
                more=_more(point, balanced),
                good=_good(point),
                over=point.over_limit,
                name=names.get(point.events, ""),
            )
            for point in answer.points
        ),
        drawn=tuple(
            CurvePoint(
                events=point.events,
                value=point.value,
                proven=point.status == "proven",
                breaks_more=point.breaks > balanced.breaks,
                label=names.get(point.events, ""),
                label_above=point is balanced,
                words=_point_words(point, balanced),
            )
            for point in answer.points
        ),
        limit=limit,
    )


def _point_words(point: Point, balanced: Point) -> str:
    said = ngettext(
        "%(count)d event: value %(value)s; %(good)s; %(rules)s",
        "%(count)d events: value %(value)s; %(good)s; %(rules)s",
        point.events,
    )
    return said % {
        "count": point.events,
        "value": number(point.value, 1),
        "good": _good(point),
        "rules": _more(point, balanced),
    }


def pays_words(answer: Answer) -> str:
    """Where another event stops paying, in a sentence."""
    best = pays_until(answer.points)
    by_number = {point.events: point for point in answer.points}
    most = max(by_number)
    said = ngettext(
        "The season is worth most with %(count)d event (%(value)s).",
        "The season is worth most with %(count)d events (%(value)s).",
        best,
    ) % {"count": best, "value": number(by_number[best].value, 1)}
    return f"{said} {_after(best, most, by_number)}"


def _after(best: int, most: int, by_number: Mapping[int, Point]) -> str:
    """What one event more than the best number would do."""
    following = by_number.get(best + 1)
    if best == most:
        return _("As far as the curve goes, another event still pays.")
    if following is None:
        return _("No layout with one event more was found.")
    if following.breaks > by_number[best].breaks:
        return _("One more would break more rules: here another event stops paying.")
    said = _("With one more it is worth %(value)s: here another event stops paying.")
    return said % {"value": number(following.value, 1)}


def _as_it_stands(material: Material) -> Column:
    return Column(
        name=_("As it stands"),
        kind="",
        good=_("“%(name)s”") % {"name": material.plan.name},
        over="",
        form="",
        limits="",
        changes="",
    )


def _figures(material: Material, judged: Judgement) -> Figures:
    return Figures(
        events=len(material.played),
        event_weeks=judged.event_weeks,
        weeks_away=judged.weeks_away,
        longest_run=judged.longest_run,
        flight_hours=judged.flight_hours,
        missing_days=judged.missing_days,
        rest_weeks=judged.rest_weeks,
        cost=judged.cost,
        value=judged.value,
        breaks=judged.breaks,
    )


def _column(material: Material, answer: Answer, kind: Kind, point: Point) -> Column:
    over = _("over your limit of %(limit)d") % {"limit": answer.problem.limits.max_events}
    return Column(
        name=kind_name(kind),
        kind=kind_word(kind),
        good=_standing(answer, kind, point),
        over=over if point.over_limit else "",
        form=signed(material.plan, kind, answer),
        limits=_limits_words(answer.problem.limits, kind, point.events),
        changes=_changes(material, point),
    )


def _standing(answer: Answer, kind: Kind, point: Point) -> str:
    if answer.is_best_of_all(kind):
        return _("proven best within your limits")
    if point.status == "proven":
        return _("proven best for its number")
    return _("best found for its number")


def _good(point: Point) -> str:
    return _("proven best") if point.status == "proven" else _("best found")


def _rules(judged: Judgement) -> str:
    return str(len(judged.broken)) if judged.broken else pgettext("broken rules", "none")


def _more(point: Point, balanced: Point) -> str:
    """How its broken rules compare with those of balanced."""
    if point.breaks > balanced.breaks:
        rules = len(point.judgement.broken)
        said = ngettext("breaks more (%(count)d rule)", "breaks more (%(count)d rules)", rules)
        return said % {"count": rules}
    if point.breaks < balanced.breaks:
        return _("breaks less")
    return _("nothing broken") if not point.judgement.broken else _("breaks as much")


def _limits_words(limits: Limits, kind: Kind, events: int) -> str:
    """What the copy's limits are, where they differ from the plan's."""
    now = limits_of(limits, kind, events)
    parts = []
    if now.max_events != limits.max_events:
        said = _("at most %(then)d events (now %(now)d)")
        parts.append(said % {"then": now.max_events, "now": limits.max_events})
    if now.min_events != limits.min_events:
        said = _("at least %(then)d events wanted (now %(now)d)")
        parts.append(said % {"then": now.min_events, "now": limits.min_events})
    return _("Limits in the copy: %(limits)s.") % {"limits": listed(parts)} if parts else ""


def _changes(material: Material, point: Point) -> str:
    """Which events come and go, against the plan as it stands."""
    names = {event.pk: event.name for event in material.events}
    now = [event.pk for event in material.played]
    then = [id_of(code) for code in point.codes]
    leave = [names[pk] for pk in now if pk not in then]
    join = [
        names[event.pk] for event in material.events if event.pk in then and event.pk not in now
    ]
    moved = {"leave": listed(leave), "join": listed(join)}
    if leave and join:
        return _("It leaves out %(leave)s and takes in %(join)s.") % moved
    if leave:
        return _("It leaves out %(leave)s.") % moved
    if join:
        return _("It takes in %(join)s.") % moved
    return _("It plays the same events as your plan.")
