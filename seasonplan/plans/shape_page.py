"""The page of shapes: three seasons beside the plan as it stands, and the curve they come from.

Works out every label once from an answer of `shapes.py`; the template only prints.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any, Final

from seasonplan.plans.laying_out import Material, id_of, judge_plan
from seasonplan.plans.season_drawings import Curve, CurvePoint, draw_curve
from seasonplan.plans.shapes import NAMES, Answer, Kind, limits_of, signed
from seasonplan.science.layout.problem import Limits
from seasonplan.science.layout.rules import Judgement
from seasonplan.science.layout.shapes import Figures, Point, pays_until
from seasonplan.science.layout.wording import count, listed

NONE_LIGHTER: Final = "No smaller number of events does without more broken rules."
NONE_FULLER: Final = "No larger number of events does without more broken rules."

ROWS: Final[tuple[tuple[str, str, Callable[[Figures], str]], ...]] = (
    ("Events", "", lambda f: str(f.events)),
    ("Event weeks", "Weeks with an event.", lambda f: str(f.event_weeks)),
    (
        "Weeks away from home",
        "With four days or more away.",
        lambda f: str(f.weeks_away),
    ),
    ("Longest run", "Event weeks in a row.", lambda f: count(f.longest_run, "week")),
    ("Flight hours", "An estimate.", lambda f: f"{f.flight_hours:.0f}"),
    (
        "Missing acclimatisation days",
        "Travel and settling in that do not fit before events, in all.",
        lambda f: str(f.missing_days),
    ),
    ("Rest weeks", "Weeks of active rest.", lambda f: str(f.rest_weeks)),
    ("Cost", "Entry fees alone.", lambda f: f"{f.cost:,.0f}"),
    ("Value", "", lambda f: f"{f.value:.1f}"),
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
            "x": "Events in the season",
            "y": "Best value",
            "percent": False,
            "xRange": list(self.curve.x_range),
            "yRange": list(self.curve.y_range),
            "points": [
                {
                    "number": point.label or str(point.events),
                    "x": point.events,
                    "y": point.value,
                    "group": "more rules broken" if point.breaks_more else "no more rules broken",
                    "shape": "triangle" if point.breaks_more else "circle",
                    "tone": "",
                    "target": False,
                    "words": point.words,
                    "late": not point.proven,
                }
                for point in self.drawn
            ],
            "line": [[p.events, p.value] for p in self.drawn if not p.breaks_more],
            "lineName": "best value",
            "band": [],
        }


def shapes_page(material: Material, answer: Answer, *, today: date) -> ShapesPage:
    """The page of an answer about this plan, which is laid out. Makes no query."""
    judged = judge_plan(material, today=today).judgement
    shown: list[tuple[Kind, Point]] = [
        (kind, point) for kind in NAMES if (point := answer.shape(kind)) is not None
    ]
    columns = [_as_it_stands(material)]
    columns += [_column(material, answer, kind, point) for kind, point in shown]
    figures = [_figures(material, judged), *(point.figures for _, point in shown)]
    broken = [judged, *(point.judgement for _, point in shown)]
    balanced = answer.three.balanced
    names = {point.events: kind for kind, point in shown}
    limit = answer.problem.limits.max_events
    return ShapesPage(
        columns=tuple(columns),
        rows=(
            *(Row(label, about, tuple(say(f) for f in figures)) for label, about, say in ROWS),
            Row("Broken rules", "", tuple(_rules(one) for one in broken)),
        ),
        none=tuple(
            sentence
            for kind, sentence in (("lighter", NONE_LIGHTER), ("fuller", NONE_FULLER))
            if kind not in names.values()
        ),
        pays=pays_words(answer),
        lines=tuple(
            PointLine(
                events=point.events,
                value=f"{point.value:.1f}",
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
                words=f"{count(point.events, 'event')}: value {point.value:.1f}; "
                f"{_good(point)}; {_more(point, balanced)}",
            )
            for point in answer.points
        ),
        limit=limit,
    )


def pays_words(answer: Answer) -> str:
    """Where another event stops paying, in a sentence."""
    best = pays_until(answer.points)
    by_number = {point.events: point for point in answer.points}
    most = max(by_number)
    said = f"The season is worth most with {count(best, 'event')} ({by_number[best].value:.1f})."
    if best == most:
        return f"{said} As far as the curve goes, another event still pays."
    following = by_number.get(best + 1)
    if following is None:
        return f"{said} No layout with one event more was found."
    if following.breaks > by_number[best].breaks:
        return f"{said} One more would break more rules: here another event stops paying."
    return (
        f"{said} With one more it is worth {following.value:.1f}: here another event stops paying."
    )


def _as_it_stands(material: Material) -> Column:
    return Column(
        name="As it stands",
        kind="",
        good=f"“{material.plan.name}”",
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
    return Column(
        name=NAMES[kind],
        kind=kind,
        good=_standing(answer, kind, point),
        over=f"over your limit of {answer.problem.limits.max_events}" if point.over_limit else "",
        form=signed(material.plan, kind, answer),
        limits=_limits_words(answer.problem.limits, kind, point.events),
        changes=_changes(material, point),
    )


def _standing(answer: Answer, kind: Kind, point: Point) -> str:
    if answer.is_best_of_all(kind):
        return "proven best within your limits"
    return f"{_good(point)} for its number"


def _good(point: Point) -> str:
    return "proven best" if point.status == "proven" else "best found"


def _rules(judged: Judgement) -> str:
    return str(len(judged.broken)) if judged.broken else "none"


def _more(point: Point, balanced: Point) -> str:
    """How its broken rules compare with those of balanced."""
    if point.breaks > balanced.breaks:
        return f"breaks more ({count(len(point.judgement.broken), 'rule')})"
    if point.breaks < balanced.breaks:
        return "breaks less"
    return "nothing broken" if not point.judgement.broken else "breaks as much"


def _limits_words(limits: Limits, kind: Kind, events: int) -> str:
    """What the copy's limits are, where they differ from the plan's."""
    now = limits_of(limits, kind, events)
    parts = []
    if now.max_events != limits.max_events:
        parts.append(f"at most {now.max_events} events (now {limits.max_events})")
    if now.min_events != limits.min_events:
        parts.append(f"at least {now.min_events} events wanted (now {limits.min_events})")
    return f"Limits in the copy: {listed(parts)}." if parts else ""


def _changes(material: Material, point: Point) -> str:
    """Which events come and go, against the plan as it stands."""
    names = {event.pk: event.name for event in material.events}
    now = [event.pk for event in material.played]
    then = [id_of(code) for code in point.codes]
    leave = [names[pk] for pk in now if pk not in then]
    join = [
        names[event.pk] for event in material.events if event.pk in then and event.pk not in now
    ]
    parts = []
    if leave:
        parts.append(f"leaves out {listed(leave)}")
    if join:
        parts.append(f"takes in {listed(join)}")
    return f"It {' and '.join(parts)}." if parts else "It plays the same events as your plan."
