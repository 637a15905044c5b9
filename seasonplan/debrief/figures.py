"""The figures of a debrief: the year in one look, and what went together in it.

The page, the paper and the file of figures show what is worked out here, once. Every number comes
with how many events are behind it; what the numbers do not bear is said in words instead.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from statistics import median
from typing import Any, Final, Literal
from urllib.parse import urlencode

from django.urls import reverse

from seasonplan.academy.models import Person
from seasonplan.checkins.forms import results
from seasonplan.checkins.sharing import record_reads
from seasonplan.debrief.access import Seat
from seasonplan.debrief.charts import (
    Axis,
    EffectBar,
    Point,
    Scatter,
    Squares,
    effect_bar,
    scatter,
    squares,
)
from seasonplan.debrief.factors import ASKED, Asked, factors
from seasonplan.debrief.year import EventOfYear, Year, gather_year
from seasonplan.plans.chances import chances_of
from seasonplan.plans.models import Block, EventRole, SeasonPlan
from seasonplan.science.association import (
    Interval,
    Line,
    Silent,
    Together,
    between_groups,
    pairs,
    rank_correlation,
    robust_line,
    what_went_with_what,
)
from seasonplan.science.layout.problem import PHASES
from seasonplan.science.layout.wording import count, day_month, days, listed
from seasonplan.science.ranks import DRAWN_ORDERS
from seasonplan.science.season_matches import HALF

COLUMNS: Final = 13
FEWEST_DRAWN: Final = 2
"""One event is told in words; a drawing needs two."""

NOT_CAUSE: Final = "Describes your year; does not show cause."

CAUTIONS: Final = (
    "Events of one player follow one another and resemble their neighbours: they tell less than as "
    "many separate ones would.",
    "Level, opponents, surface and time of year change from event to event, and are not taken out.",
    "Where a year had little range, in energy or in results, even a real connection looks weak.",
    "Settle before you look on one or two questions that matter; the rest is for the next season "
    "to confirm.",
)

NOT_SAID: Final = "not said"

Energy = Literal["before", "after"]
Scale = Literal["share", "above"]
By = Literal["surface", "level", "phase", "role"]


@dataclass(frozen=True)
class View:
    """How the figures are looked at: which energy, which scale of results, shapes by what."""

    energy: Energy = "before"
    scale: Scale = "share"
    by: By = "surface"

    @property
    def query(self) -> str:
        """The part of an address that asks for this view; nothing for the first one."""
        usual = View()
        asked = {
            name: getattr(self, name)
            for name in ("energy", "scale", "by")
            if getattr(self, name) != getattr(usual, name)
        }
        return f"?{urlencode(asked)}" if asked else ""


_VIEWS: Final[dict[str, tuple[tuple[str, str], ...]]] = {
    "energy": (("before", "before the event"), ("after", "after the event")),
    "scale": (("share", "share of the rounds"), ("above", "against expectation")),
    "by": (
        ("surface", "surface"),
        ("level", "level"),
        ("phase", "phase"),
        ("role", "role"),
    ),
}
_VIEW_NAMES: Final = {"energy": "Energy", "scale": "Result as", "by": "Shapes by"}


def view_from(query: Mapping[str, str]) -> View:
    """The view that an address asks for; what it does not know stays as usual."""
    known: dict[str, Any] = {
        name: query[name]
        for name, options in _VIEWS.items()
        if name in query and query[name] in dict(options)
    }
    return View(**known)


@dataclass(frozen=True)
class ViewChoice:
    """One question of how to look, with a link an answer; `is_here` marks the present one."""

    name: str
    options: tuple[tuple[str, str, bool], ...]


@dataclass(frozen=True)
class LookEvent:
    """One event in the year at a glance."""

    name: str
    place: str
    dates: str
    surface: str
    is_target: bool
    standing: str
    done: bool
    result: str
    rounds: Squares | None
    marks: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class LookWeek:
    """One week: its number, Monday and phase; events begin in it."""

    number: int
    monday: str
    phase: str
    phase_label: str
    phase_begins: bool
    in_peak: bool
    events: tuple[LookEvent, ...]


@dataclass(frozen=True)
class LookRow:
    label: str
    weeks: tuple[LookWeek, ...]


@dataclass(frozen=True)
class CountLine:
    """Something counted as planned and as done; None where it cannot be counted."""

    label: str
    unit: str
    planned: float | None
    done: float | None
    note: str = ""

    @property
    def cells(self) -> tuple[str, str]:
        return tuple("–" if n is None else f"{n:g}" for n in (self.planned, self.done))  # type: ignore[return-value]


@dataclass(frozen=True)
class LoadLine:
    """What was trained in the weeks of one phase, of those with a session logged."""

    phase: str
    weeks: int
    sessions: int
    hours: float
    load_a_week: float


@dataclass(frozen=True)
class EventLine:
    """One event done, as the tables beside the charts say it."""

    number: int
    name: str
    dates: str
    start: date
    surface: str
    level: str
    phase: str
    role: str
    result: str
    share: float | None
    above: float | None
    energy_before: int | None
    late: bool
    energy_after: int | None
    soreness: int | None
    in_peak: bool

    @property
    def share_words(self) -> str:
        return "–" if self.share is None else percent(self.share)

    @property
    def above_words(self) -> str:
        return "–" if self.above is None else signed(self.above)

    @property
    def energy_words(self) -> str:
        if self.energy_before is None:
            return "–"
        return f"{self.energy_before}, said late" if self.late else str(self.energy_before)


@dataclass(frozen=True)
class EnergyPart:
    """Energy against results: the drawing, what it says in words, and why it says no more."""

    n: int
    which: str
    chart: Scatter | None
    says: tuple[str, ...]
    answer: Together | Silent
    line: Line | Silent
    left_out: str


@dataclass(frozen=True)
class FactorLine:
    """One thing that went with the results, or not: `bar` draws its effect and interval."""

    name: str
    meaning: str
    n: int
    effect: float
    interval: Interval
    kind: str
    p: float | None
    corrected_p: float | None
    notable: bool
    verdict: str
    bar: EffectBar

    @property
    def p_words(self) -> str:
        return "–" if self.corrected_p is None else p_words(self.corrected_p)

    @property
    def effect_words(self) -> str:
        return f"{signed(self.effect)} ({interval_words(self.interval)})"


@dataclass(frozen=True)
class TogetherPart:
    looked_at: int
    headline: str
    lines: tuple[FactorLine, ...]
    silent: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class TargetLine:
    name: str
    dates: str
    where: str
    energy: str
    result: str


@dataclass(frozen=True)
class GroupLine:
    """Events inside or outside of the planned peak windows, with the middle of each number."""

    label: str
    events: int
    result: float | None
    result_words: str
    energy: float | None

    @property
    def energy_words(self) -> str:
        return "–" if self.energy is None else f"{self.energy:g}"


@dataclass(frozen=True)
class TargetPart:
    lines: tuple[TargetLine, ...]
    groups: tuple[GroupLine, ...]
    says: tuple[str, ...]


@dataclass(frozen=True)
class SeasonLine:
    """One season of the player's in short."""

    name: str
    url: str
    is_here: bool
    events: int
    with_result: int
    matches: str
    result: float | None
    energy: float | None

    @property
    def cells(self) -> tuple[str, str]:
        return (
            "–" if self.result is None else percent(self.result),
            "–" if self.energy is None else f"{self.energy:g}",
        )


@dataclass(frozen=True)
class Figures:
    """All figures of one season for one reader, as one way of looking shows them."""

    year: Year
    view: View
    url: str
    choices: tuple[ViewChoice, ...]
    reads_health: bool
    scope: str
    headline: str
    advice: str
    look: tuple[LookRow, ...]
    counts: tuple[CountLine, ...]
    added: tuple[str, ...]
    dropped: tuple[str, ...]
    unlogged: tuple[str, ...]
    load: tuple[LoadLine, ...]
    load_note: str
    events: tuple[EventLine, ...]
    chances: tuple[tuple[str, int], ...]
    energy: EnergyPart | None
    together: TogetherPart | None
    targets: TargetPart | None
    seasons: tuple[SeasonLine, ...]
    scale_label: str
    cautions: tuple[str, ...]

    @property
    def chart_data(self) -> dict[str, Any] | None:
        """What the chart for the pointer draws: the same points as the drawing."""
        part = self.energy
        if part is None or part.chart is None:
            return None
        chart, line = part.chart, part.line
        ends: list[list[float]] = []
        band: list[list[float]] = []
        if isinstance(line, Line):
            ends = [[x, line.at(x)] for x in chart.x_range]
            for x in sorted({*chart.x_range, line.median_x}):
                reach = line.band(x)
                band.append([x, reach.low, reach.high])
        points = [
            {
                "number": mark.number,
                "x": round(x, 3),
                "y": round(y, 4),
                "group": getattr(self.events[mark.number - 1], self.view.by) or NOT_SAID,
                "shape": mark.shape,
                "tone": mark.tone,
                "target": mark.target,
                "words": mark.words,
                "late": mark.late,
            }
            for mark in chart.marks
            for x, y in (chart.values_at(mark),)
        ]
        return {
            "x": chart.x_label,
            "y": chart.y_label,
            "percent": self.view.scale == "share",
            "xRange": list(chart.x_range),
            "yRange": list(chart.y_range),
            "points": points,
            "line": ends,
            "lineName": "robust line",
            "band": band,
        }


def percent(share: float) -> str:
    """`60 %`, the sign kept with its number."""
    return f"{100 * share:.0f}\N{NO-BREAK SPACE}%"


def signed(value: float) -> str:
    """`+0.45`, `−0.45` or `0.00`, with a true minus sign."""
    text = f"{abs(value):.2f}"
    return text if float(text) == 0 else f"{'+' if value > 0 else '−'}{text}"


def _whole(number: int) -> str:
    return "0" if number == 0 else f"{number:+d}".replace("-", "−")


def interval_words(interval: Interval) -> str:
    return f"{signed(interval.low)} to {signed(interval.high)}"


def p_words(p: float) -> str:
    """`0.03`, or `below 0.001`."""
    return "below 0.001" if p < 0.001 else f"{p:.3f}" if p < 0.01 else f"{p:.2f}"


def show_figures(
    plan: SeasonPlan,
    person: Person,
    seat: Seat,
    *,
    today: date,
    now: datetime,
    query: Mapping[str, str],
) -> Figures:
    """The figures for this reader, with the reading of what they say about health written down."""
    figures = figures_page(plan, seat, today=today, view=view_from(query))
    record_reads(person, plan.player, figures.year.read, now=now)
    return figures


def figures_page(plan: SeasonPlan, seat: Seat, *, today: date, view: View | None = None) -> Figures:
    """The figures of a plan in force for who has this seat; `show_figures` also records who."""
    year = gather_year(plan, seat, today=today)
    chances = chances_of(plan)
    view = view or View()
    if not year.reads_health:
        view = replace(view, energy="before")
    events = _event_lines(year, chances)
    return Figures(
        year=year,
        view=view,
        url=reverse("debrief", args=[plan.pk]),
        choices=_choices(view, reverse("debrief", args=[plan.pk]), year),
        reads_health=year.reads_health,
        scope=_scope(year),
        headline=_headline(year, events),
        advice=_advice(year, events),
        look=_look(year),
        counts=_counts(year),
        added=tuple(_named(e) for e in year.done if not e.planned),
        dropped=tuple(
            _named(e)
            for e in year.events
            if e.planned and not e.done and (e.withdrawn or not e.in_plan)
        ),
        unlogged=tuple(
            _named(e)
            for e in year.events
            if e.in_plan and not e.done and not e.withdrawn and e.end < today
        ),
        load=_load(year),
        load_note=_load_note(year),
        events=events,
        chances=tuple(
            (level, round(100 * chances.get(level, HALF)))
            for level in sorted({event.level for event in year.done})
        ),
        energy=_energy_part(year, events, view) if year.reads_health and events else None,
        together=_together_part(year, events, view) if events else None,
        targets=_target_part(year, events, view),
        seasons=_seasons(year),
        scale_label=_scale_label(view.scale),
        cautions=CAUTIONS,
    )


# What the page is about ------------------------------------------------------------------------


def _scope(year: Year) -> str:
    if not year.reads_health:
        return (
            "You see plans, results and sessions. Energy, soreness and sleep are about health; "
            "who reads them is for the player to say."
        )
    return ""


def _headline(year: Year, events: Sequence[EventLine]) -> str:
    if not events:
        return ""
    known = sum(line.share is not None for line in events)
    said = f"{count(len(events), 'event')} done, {known} of them with a result and a known draw."
    if year.reads_health:
        before = [line for line in events if line.energy_before is not None]
        late = sum(line.late for line in before)
        said += f" Energy before was said of {len(before)}"
        said += f", {late} of them late." if late else "."
    return said


def _advice(year: Year, events: Sequence[EventLine]) -> str:
    """What a thin year still tells, and what would make the next one tell more."""
    planned = sum(event.in_plan for event in year.events)
    if not events:
        plan = f"The plan has {count(planned, 'event')}." if planned else "The plan has no events."
        return (
            f"No event of this season was checked in from, so there is nothing to compare. {plan} "
            "The year as planned stands below. Two questions on the phone after each event, energy "
            "and how far, make the next debrief one with figures."
        )
    if len(events) == 1:
        return (
            "One event is a memory, not a pattern: read what was written about it, and talk about "
            "it. From two events on they are drawn, from six on there is a p, and nothing is "
            "called notable before twelve."
        )
    if len(events) < 6:
        return (
            f"{count(len(events), 'event').capitalize()} can be told one by one, and that is the "
            "best use of this page. The drawing shows them; there is no p below six, since even a "
            "perfect order comes up by chance too easily."
        )
    return ""


def _choices(view: View, url: str, year: Year) -> tuple[ViewChoice, ...]:
    asked = [name for name in _VIEWS if year.reads_health or name == "scale"]
    return tuple(
        ViewChoice(
            _VIEW_NAMES[name],
            tuple(
                (
                    label,
                    url + replace(view, **{name: value}).query + "#energy",  # type: ignore[arg-type]
                    getattr(view, name) == value,
                )
                for value, label in _VIEWS[name]
            ),
        )
        for name in asked
    )


def _scale_label(scale: Scale) -> str:
    return (
        "Rounds won of the rounds possible"
        if scale == "share"
        else "Rounds won above or below expectation"
    )


# The year in one look --------------------------------------------------------------------------


def _look(year: Year) -> tuple[LookRow, ...]:
    starts: dict[int, list[LookEvent]] = {}
    for event in year.events:
        if event.in_plan or event.planned or event.done:
            starts.setdefault(event.weeks.start, []).append(_look_event(event, year))
    weeks = []
    for week in year.weeks:
        phase = year.phases[week.index]
        weeks.append(
            LookWeek(
                number=week.start.isocalendar().week,
                monday=day_month(week.start),
                phase=phase.replace(" ", "-"),
                phase_label=_PHASE_LABELS.get(phase, ""),
                phase_begins=bool(phase)
                and (week.index == 0 or year.phases[week.index - 1] != phase),
                in_peak=week.index in year.peak_weeks,
                events=tuple(starts.get(week.index, ())),
            )
        )
    rows = [weeks[at : at + COLUMNS] for at in range(0, len(weeks), COLUMNS)]
    if len(rows) > 1 and len(rows[-1]) == 1:
        rows[-2:] = [rows[-2] + rows[-1]]
    return tuple(LookRow(f"Weeks {row[0].number} to {row[-1].number}", tuple(row)) for row in rows)


_PHASE_LABELS: Final[dict[str, str]] = {value: str(label) for value, label in Block.Phase.choices}


def _look_event(event: EventOfYear, year: Year) -> LookEvent:
    marks = []
    if event.energy_before is not None:
        marks.append(("Energy", f"{event.energy_before}{' (late)' * event.energy_before_late}"))
    elif event.energy_after is not None:
        marks.append(("Energy after", str(event.energy_after)))
    if event.soreness is not None:
        marks.append(("Soreness", str(event.soreness)))
    return LookEvent(
        name=event.name,
        place=event.place,
        dates=days(event.start, event.end),
        surface=event.surface,
        is_target=event.role == EventRole.TARGET,
        standing=_standing(event, year.today),
        done=event.done,
        result=_result(event),
        rounds=squares(event.rounds_won or 0, event.draw.rounds) if event.draw else None,
        marks=tuple(marks),
    )


def _standing(event: EventOfYear, today: date) -> str:
    """How plan and year went apart, in a word; nothing where they did not."""
    if event.done:
        return "" if event.planned else "added"
    if event.withdrawn or not event.in_plan:
        return "dropped"
    return "nothing logged" if event.end < today else "to come"


def _result(event: EventOfYear) -> str:
    if event.rounds_won is None:
        return "No result" if event.done else ""
    words = dict(results(event.draw_size))
    return words.get(event.rounds_won) or count(event.rounds_won, "round") + " won"


def _named(event: EventOfYear) -> str:
    return f"{event.name}, {event.place}, {days(event.start, event.end)}"


# Planned against done --------------------------------------------------------------------------


def _counts(year: Year) -> tuple[CountLine, ...]:
    planned, done = year.as_planned, year.as_done
    rest = [week for week in year.weeks if year.phases[week.index] == "active rest"]
    busy = {week for event in year.done for week in event.weeks}
    taken = sum(week.end < year.today and week.index not in busy for week in rest)
    lines = [
        CountLine(
            "Events",
            "events",
            sum(event.planned for event in year.events),
            len(year.done),
        ),
        CountLine(
            "Weeks of active rest",
            "weeks",
            len(rest),
            taken,
            "Done are those that are over and had no event in them.",
        ),
    ]
    if planned and done:
        lines += [
            CountLine("Event weeks", "weeks", planned.event_weeks, done.event_weeks),
            CountLine("Longest run of event weeks", "weeks", planned.longest_run, done.longest_run),
            CountLine(
                "Weeks with four days or more away",
                "weeks",
                planned.weeks_away,
                done.weeks_away,
                "By the trips that the events need, as the season page has them.",
            ),
            CountLine(
                "Hours of flight",
                "hours",
                planned.flight_hours,
                done.flight_hours,
                "An estimate from distances.",
            ),
            CountLine(
                "Days missing before events", "days", planned.missing_days, done.missing_days
            ),
        ]
    return tuple(lines)


def _load(year: Year) -> tuple[LoadLine, ...]:
    lines = []
    for phase in PHASES:
        weeks = {week.start for week in year.weeks if year.phases[week.index] == phase}
        own = [s for s in year.sessions if _monday(s.day) in weeks]
        logged = len({_monday(session.day) for session in own})
        if logged:
            lines.append(
                LoadLine(
                    phase=_PHASE_LABELS[phase],
                    weeks=logged,
                    sessions=len(own),
                    hours=sum(session.minutes for session in own) / 60,
                    load_a_week=sum(session.load for session in own) / logged,
                )
            )
    return tuple(lines)


def _load_note(year: Year) -> str:
    own = [session for session in year.sessions if session.day >= year.plan.start]
    if not own:
        return "No sessions were logged, so nothing can be said of training load."
    weeks = len({_monday(session.day) for session in own})
    return (
        f"Load is minutes times effort (0 to 10), of {count(len(own), 'session')} in "
        f"{count(weeks, 'week')} that had one logged. Matches are not in it. Compare with your own "
        "other weeks only: no fixed amount is safe or unsafe."
    )


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


# Energy against results ------------------------------------------------------------------------


def _event_lines(year: Year, chances: Mapping[str, float]) -> tuple[EventLine, ...]:
    return tuple(
        EventLine(
            number=number,
            name=event.name,
            dates=days(event.start, event.end),
            start=event.start,
            surface=event.surface,
            level=event.level,
            phase=event.phase,
            role=event.role,
            result=_result(event),
            share=event.share_won,
            above=event.above_expectation(chances),
            energy_before=event.energy_before,
            late=event.energy_before_late,
            energy_after=event.energy_after,
            soreness=event.soreness,
            in_peak=event.in_peak,
        )
        for number, event in enumerate(year.done, start=1)
    )


def _outcome(line: EventLine, view: View) -> float | None:
    return line.share if view.scale == "share" else line.above


def _energy_of(line: EventLine, view: View) -> int | None:
    return line.energy_before if view.energy == "before" else line.energy_after


def _energy_part(year: Year, events: Sequence[EventLine], view: View) -> EnergyPart:
    known = [
        (line, energy, outcome)
        for line in events
        if (energy := _energy_of(line, view)) is not None
        and (outcome := _outcome(line, view)) is not None
    ]
    x, y = [float(energy) for _, energy, _ in known], [outcome for _, _, outcome in known]
    answer, line = rank_correlation(x, y), robust_line(x, y)
    left_out = len(events) - len(known)
    return EnergyPart(
        n=len(known),
        which=f"Energy {view.energy} the event",
        chart=_chart(known, view, line) if len(known) >= FEWEST_DRAWN else None,
        says=tuple(_energy_says(x, y, answer, line, view, known)),
        answer=answer,
        line=line,
        left_out=f"{count(left_out, 'event')} without this energy, a result or a known draw "
        f"{'is' if left_out == 1 else 'are'} not in it."
        if left_out
        else "",
    )


def _chart(
    known: Sequence[tuple[EventLine, int, float]], view: View, line: Line | Silent
) -> Scatter:
    return scatter(
        [
            Point(
                number=event.number,
                x=energy,
                y=outcome,
                group=getattr(event, view.by) or NOT_SAID,
                words=_point_words(event, view),
                target=event.role == EventRole.TARGET,
                late=view.energy == "before" and event.late,
            )
            for event, energy, outcome in known
        ],
        Axis(
            f"Energy {view.energy} the event, 0 empty to 10 full",
            -0.5,
            10.5,
            tuple((step, str(step)) for step in range(11)),
        ),
        _outcome_axis(view.scale, [outcome for _, _, outcome in known]),
        title=f"Energy {view.energy} the event against the result, {count(len(known), 'event')}",
        line=line if isinstance(line, Line) else None,
    )


def _outcome_axis(scale: Scale, outcomes: Sequence[float]) -> Axis:
    label = _scale_label(scale)
    if scale == "share":
        ticks = tuple((step / 5, f"{20 * step} %") for step in range(6))
        return Axis(label, -0.08, 1.08, ticks)
    low, high = min(-1, int(min(outcomes)) - 1), max(1, int(max(outcomes)) + 1)
    steps = range(low, high + 1)
    return Axis(label, low - 0.3, high + 0.3, tuple((n, _whole(n)) for n in steps))


def _point_words(event: EventLine, view: View) -> str:
    energy = _energy_of(event, view)
    late = ", said late" if view.energy == "before" and event.late else ""
    facts = [event.surface, event.level, event.phase, event.role]
    return (
        f"{event.number}. {event.name}, {event.dates}: energy {energy}{late}, "
        f"{event.result.lower()}; {', '.join(fact for fact in facts if fact)}"
    )


def _energy_says(
    x: Sequence[float],
    y: Sequence[float],
    answer: Together | Silent,
    line: Line | Silent,
    view: View,
    known: Sequence[tuple[EventLine, int, float]],
) -> Iterable[str]:
    yield f"n = {count(len(x), 'event')}. {NOT_CAUSE}"
    if view.energy == "after":
        yield (
            "This is energy as it was after the event, when the result was known, which colours "
            "it: a lost match feels emptier."
        )
    elif late := sum(event.late for event, _, _ in known):
        yield (
            f"{late} of {len(x)} said their energy late, when the result was known, which colours "
            "it; their marks are hollow."
            if late > 1
            else "One energy was said late, when the result was known, which colours it; its mark "
            "is hollow."
        )
    if isinstance(answer, Silent):
        yield f"No rank correlation: {answer.reason}."
    else:
        yield _correlation_words(answer)
    if len(x) >= FEWEST_DRAWN:
        found = pairs(x, y)
        decided = found.agree + found.disagree
        if decided:
            yield (
                f"Of {count(decided, 'pair')} of events that differ in both, the one with more "
                f"energy had the better result in {found.agree}."
            )
    if isinstance(line, Line):
        yield _line_words(line, view.scale)


def _correlation_words(answer: Together) -> str:
    words = (
        f"Rank correlation {signed(answer.effect)}, 95 % interval {interval_words(answer.interval)}"
    )
    if answer.p is not None:
        how = (
            "counting every order"
            if answer.counted
            else f"from {DRAWN_ORDERS:,} orders drawn at random, always the same ones"
        )
        words += f"; p {p_words(answer.p)}, {how}"
    else:
        words += "; no p below six events"
    if answer.interval.low <= 0 <= answer.interval.high:
        return f"{words}. The interval holds 0: this year does not tell whether they went together."
    way = "better" if answer.effect > 0 else "worse"
    return f"{words}. More energy went with {way} results."


def _line_words(line: Line, scale: Scale) -> str:
    def said(slope: float) -> str:
        if scale == "share":
            points = 100 * slope
            return f"{'−' if points < -0.05 else ''}{abs(points):.1f}"
        return signed(slope)

    unit = "percentage points of the rounds" if scale == "share" else "rounds"
    return (
        f"The line runs through the middle of both, with the median of the slopes between all "
        f"pairs: a step of energy goes with "
        f"{said(line.slope)} {unit} (95 % interval {said(line.slopes.low)} to "
        f"{said(line.slopes.high)}). The band shows the interval."
    )


# What went with what ---------------------------------------------------------------------------


def _together_part(year: Year, events: Sequence[EventLine], view: View) -> TogetherPart:
    asked = {a.name: a for a in ASKED}
    given = factors(year)
    goings = what_went_with_what([_outcome(line, view) for line in events], given)
    lines, silent = [], []
    for going in goings:
        about = asked[going.factor]
        answer = going.answer
        if isinstance(answer, Silent):
            silent.append((going.factor, answer.reason))
            continue
        lines.append(
            FactorLine(
                name=going.factor,
                meaning=about.meaning,
                n=answer.n,
                effect=answer.effect,
                interval=answer.interval,
                kind=answer.kind,
                p=going.p,
                corrected_p=going.corrected_p,
                notable=going.notable,
                verdict=_verdict(about, answer.effect) if going.notable else "not notable",
                bar=effect_bar(answer.effect, answer.interval),
            )
        )
    return TogetherPart(
        looked_at=len(given),
        headline=_together_headline(lines, len(given)),
        lines=tuple(lines),
        silent=tuple(silent),
    )


def _verdict(about: Asked, effect: float) -> str:
    words = f"{'better' if effect > 0 else 'worse'} results with {about.more}"
    return f"{words}; {about.but}" if about.but else words


def _together_headline(lines: Sequence[FactorLine], looked_at: int) -> str:
    notable = [line for line in lines if line.notable]
    things = f"{looked_at} things"
    if not notable:
        return (
            f"Nothing stands out. {things} were looked at, and in a year of pure chance one would "
            "expect to see as much as this. What is listed are effects that may be nothing."
        )
    names = listed([line.name.lower() for line in notable])
    return (
        f"Of {things} looked at, {'this stands' if len(notable) == 1 else 'these stand'} out: "
        f"{names}. Chance alone would rarely show as much. {NOT_CAUSE}"
    )


# Target events ---------------------------------------------------------------------------------


def _target_part(year: Year, events: Sequence[EventLine], view: View) -> TargetPart | None:
    targets = [event for event in year.events if event.role == EventRole.TARGET]
    if not targets:
        return None
    by_start = {(line.name, line.start): line for line in events}
    lines = [
        TargetLine(
            name=event.name,
            dates=days(event.start, event.end),
            where="" if year.as_planned is None else _where(event),
            energy=line.energy_words if (line := by_start.get((event.name, event.start))) else "–",
            result=_result(event) if event.done else _standing(event, year.today),
        )
        for event in targets
    ]
    groups = [
        _group("Inside a planned peak window", [e for e in events if e.in_peak], view),
        _group("Outside", [e for e in events if not e.in_peak], view),
    ]
    return TargetPart(
        lines=tuple(lines),
        groups=tuple(groups) if events and year.as_planned else (),
        says=tuple(_target_says(year, events, view)),
    )


def _where(event: EventOfYear) -> str:
    return "in a peak window" if event.in_peak else "outside of every peak window"


def _group(label: str, lines: Sequence[EventLine], view: View) -> GroupLine:
    outcomes = [value for line in lines if (value := _outcome(line, view)) is not None]
    energies = [line.energy_before for line in lines if line.energy_before is not None]
    middle = median(outcomes) if outcomes else None
    words = "–"
    if middle is not None:
        words = percent(middle) if view.scale == "share" else signed(middle)
    return GroupLine(
        label=label,
        events=len(lines),
        result=middle,
        result_words=words,
        energy=float(median(energies)) if energies else None,
    )


def _target_says(year: Year, events: Sequence[EventLine], view: View) -> Iterable[str]:
    if not events or year.as_planned is None:
        return
    asked: list[tuple[str, Callable[[EventLine], float | None]]] = [
        ("result", lambda line: _outcome(line, view))
    ]
    if year.reads_health:
        asked.append(("energy before", lambda line: line.energy_before))
    for name, value_of in asked:
        known = [(line.in_peak, v) for line in events if (v := value_of(line)) is not None]
        answer = between_groups([inside for inside, _ in known], [v for _, v in known])
        if isinstance(answer, Silent):
            yield f"No comparison of {name}: {answer.reason}."
            continue
        better = round(100 * (1 + answer.effect) / 2)
        holds = answer.interval.holds(0)
        yield (
            f"{name.capitalize()}: taking one event from inside and one from outside, the one "
            f"inside is higher {better} % of the time (50 % is no difference, a tie counts half); "
            f"effect {signed(answer.effect)}, 95 % interval {interval_words(answer.interval)}, "
            f"n = {count(answer.n, 'event')}."
            + (" The interval holds 0: the year does not tell them apart." if holds else "")
        )


# Several years ---------------------------------------------------------------------------------


def _seasons(year: Year) -> tuple[SeasonLine, ...]:
    lines = []
    for season in year.seasons:
        done = [event for event in season.events if event.done]
        shares = [share for event in done if (share := event.share_won) is not None]
        energies = [event.energy_before for event in done if event.energy_before is not None]
        played, won = sum(e.matches for e in done), sum(e.matches_won for e in done)
        lines.append(
            SeasonLine(
                name=season.name,
                url=reverse("debrief", args=[season.plan_id]),
                is_here=season.plan_id == year.plan.pk,
                events=len(done),
                with_result=len(shares),
                matches=f"{won} won, {played - won} lost" if played else "–",
                result=median(shares) if shares else None,
                energy=median(energies) if energies else None,
            )
        )
    return tuple(lines)
