"""The figures of a debrief: the year in one look, and what went together in it.

The page, the paper and the file of figures show what is worked out here, once. Every number comes
with how many events are behind it; what the numbers do not bear is said in words instead.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
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
from seasonplan.plans.terms import phase_word, role_word, surface_word
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
from seasonplan.science.ranks import DRAWN_ORDERS
from seasonplan.science.season_matches import HALF
from seasonplan.science.words import (
    N_,
    _,
    day_month,
    days,
    listed,
    ngettext,
    number,
    pgettext,
    short_number,
    whole,
)

COLUMNS: Final = 13
FEWEST_DRAWN: Final = 2
"""One event is told in words; a drawing needs two."""

NOT_CAUSE: Final = N_("Describes your year; does not show cause.")

CAUTIONS: Final = (
    N_(
        "Events of one player follow one another and resemble their neighbours: they tell less "
        "than as many separate ones would."
    ),
    N_(
        "Level, opponents, surface and time of year change from event to event, and are not taken "
        "out."
    ),
    N_(
        "Where a year had little range, in energy or in results, even a real connection looks weak."
    ),
    N_(
        "Settle before you look on one or two questions that matter; the rest is for the next "
        "season to confirm."
    ),
)

NOT_SAID: Final = N_("not said")

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

    @property
    def by_word(self) -> str:
        """What the shapes tell apart: `surface`."""
        return _view_words(self.by)

    def group_word(self, group: str) -> str:
        """What a group of events is called, such as a surface or a level."""
        if group == NOT_SAID:
            return _(NOT_SAID)
        words = {"surface": surface_word, "phase": phase_word, "role": role_word}
        return words.get(self.by, str)(group)


_VIEWS: Final[dict[str, tuple[str, ...]]] = {
    "energy": ("before", "after"),
    "scale": ("share", "above"),
    "by": ("surface", "level", "phase", "role"),
}


def _view_words(value: str) -> str:
    return {
        "before": pgettext("energy", "before the event"),
        "after": pgettext("energy", "after the event"),
        "share": pgettext("result as", "share of the rounds"),
        "above": pgettext("result as", "against expectation"),
        "surface": pgettext("shapes by", "surface"),
        "level": pgettext("shapes by", "level"),
        "phase": pgettext("shapes by", "phase"),
        "role": pgettext("shapes by", "role"),
    }[value]


def _view_name(name: str) -> str:
    return {"energy": _("Energy"), "scale": _("Result as"), "by": _("Shapes by")}[name]


def view_from(query: Mapping[str, str]) -> View:
    """The view that an address asks for; what it does not know stays as usual."""
    known: dict[str, Any] = {
        name: query[name]
        for name, options in _VIEWS.items()
        if name in query and query[name] in options
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
    surface_word: str
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
    """Something counted as planned and as done; None where it cannot be counted.

    `unit` is for the file of figures, in English.
    """

    label: str
    unit: str
    planned: float | None
    done: float | None
    note: str = ""

    @property
    def cells(self) -> tuple[str, str]:
        planned, done = ("–" if n is None else short_number(n) for n in (self.planned, self.done))
        return planned, done


@dataclass(frozen=True)
class LoadLine:
    """What was trained in the weeks of one phase, of those with a session logged."""

    phase: str
    weeks: int
    sessions: int
    hours: float
    load_a_week: float

    @property
    def load_words(self) -> str:
        """The load a week, half upwards."""
        return whole(int(self.load_a_week + 0.5))


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
    def surface_word(self) -> str:
        return surface_word(self.surface)

    @property
    def phase_word(self) -> str:
        return phase_word(self.phase) if self.phase else "–"

    @property
    def role_word(self) -> str:
        return role_word(self.role)

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
        if self.late:
            return _("%(energy)d, said late") % {"energy": self.energy_before}
        return str(self.energy_before)


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
    within: str
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
    silent_words: str


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
        return "–" if self.energy is None else short_number(self.energy)


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
            "–" if self.energy is None else short_number(self.energy),
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
                "group": self.view.group_word(
                    getattr(self.events[mark.number - 1], self.view.by) or NOT_SAID
                ),
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
            "lineName": _("robust line"),
            "band": band,
        }


def percent(share: float) -> str:
    """`60 %`, the sign kept with its number."""
    return f"{100 * share:.0f}\N{NO-BREAK SPACE}%"


def signed(value: float) -> str:
    """`+0.45`, `−0.45` or `0.00`, with a true minus sign."""
    text = number(abs(value), 2)
    return text if round(value, 2) == 0 else f"{'+' if value > 0 else '−'}{text}"


def _signed_whole(value: int) -> str:
    return "0" if value == 0 else f"{value:+d}".replace("-", "−")


def interval_words(interval: Interval) -> str:
    return pgettext("interval", "%(low)s to %(high)s") % {
        "low": signed(interval.low),
        "high": signed(interval.high),
    }


def p_words(p: float) -> str:
    """`0.03`, or `below 0.001`."""
    if p < 0.001:
        return pgettext("p", "below %(limit)s") % {"limit": number(0.001, 3)}
    return number(p, 3 if p < 0.01 else 2)


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
        cautions=tuple(_(caution) for caution in CAUTIONS),
    )


# What the page is about ------------------------------------------------------------------------


def _scope(year: Year) -> str:
    if not year.reads_health:
        return _(
            "You see plans, results and sessions. Energy, soreness and sleep are about health; who "
            "reads them is for the player to say."
        )
    return ""


def _headline(year: Year, events: Sequence[EventLine]) -> str:
    if not events:
        return ""
    known = sum(line.share is not None for line in events)
    said = ngettext(
        "%(count)d event done, %(known)d of them with a result and a known draw.",
        "%(count)d events done, %(known)d of them with a result and a known draw.",
        len(events),
    ) % {"count": len(events), "known": known}
    if not year.reads_health:
        return said
    before = [line for line in events if line.energy_before is not None]
    late = sum(line.late for line in before)
    energy = (
        _("Energy before was said of %(count)d, %(late)d of them late.")
        if late
        else _("Energy before was said of %(count)d.")
    )
    return f"{said} {energy % {'count': len(before), 'late': late}}"


def _advice(year: Year, events: Sequence[EventLine]) -> str:
    """What a thin year still tells, and what would make the next one tell more."""
    planned = sum(event.in_plan for event in year.events)
    if not events:
        nothing = _("No event of this season was checked in from, so there is nothing to compare.")
        plan = (
            ngettext("The plan has %(count)d event.", "The plan has %(count)d events.", planned)
            % {"count": planned}
            if planned
            else _("The plan has no events.")
        )
        below = _(
            "The year as planned stands below. Two questions on the phone after each event, energy "
            "and how far, make the next debrief one with figures."
        )
        return f"{nothing} {plan} {below}"
    if len(events) == 1:
        return _(
            "One event is a memory, not a pattern: read what was written about it, and talk about "
            "it. From two events on they are drawn, from six on there is a p, and nothing is "
            "called notable before twelve."
        )
    if len(events) < 6:
        return _(
            "%(count)d events can be told one by one, and that is the best use of this page. The "
            "drawing shows them; there is no p below six, since even a perfect order comes up by "
            "chance too easily."
        ) % {"count": len(events)}
    return ""


def _choices(view: View, url: str, year: Year) -> tuple[ViewChoice, ...]:
    asked = [name for name in _VIEWS if year.reads_health or name == "scale"]
    return tuple(
        ViewChoice(
            _view_name(name),
            tuple(
                (
                    _view_words(value),
                    url + replace(view, **{name: value}).query + "#energy",  # type: ignore[arg-type]
                    getattr(view, name) == value,
                )
                for value in _VIEWS[name]
            ),
        )
        for name in asked
    )


def _scale_label(scale: Scale) -> str:
    return (
        _("Rounds won of the rounds possible")
        if scale == "share"
        else _("Rounds won above or below expectation")
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
                phase_label=_phase_label(phase),
                phase_begins=bool(phase)
                and (week.index == 0 or year.phases[week.index - 1] != phase),
                in_peak=week.index in year.peak_weeks,
                events=tuple(starts.get(week.index, ())),
            )
        )
    rows = [weeks[at : at + COLUMNS] for at in range(0, len(weeks), COLUMNS)]
    if len(rows) > 1 and len(rows[-1]) == 1:
        rows[-2:] = [rows[-2] + rows[-1]]
    return tuple(
        LookRow(
            _("Weeks %(first)d to %(last)d") % {"first": row[0].number, "last": row[-1].number},
            tuple(row),
        )
        for row in rows
    )


def _phase_label(phase: str) -> str:
    return str(Block.Phase(phase).label) if phase else ""


def _look_event(event: EventOfYear, year: Year) -> LookEvent:
    marks = []
    if event.energy_before is not None:
        late = event.energy_before_late
        said = pgettext("energy", "%(energy)d (late)") if late else "%(energy)d"
        marks.append((_("Energy"), said % {"energy": event.energy_before}))
    elif event.energy_after is not None:
        marks.append((_("Energy after"), str(event.energy_after)))
    if event.soreness is not None:
        marks.append((_("Soreness"), str(event.soreness)))
    return LookEvent(
        name=event.name,
        place=event.place,
        dates=days(event.start, event.end),
        surface=event.surface,
        surface_word=surface_word(event.surface),
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
        return "" if event.planned else pgettext("event", "added")
    if event.withdrawn or not event.in_plan:
        return pgettext("event", "dropped")
    if event.end < today:
        return pgettext("event", "nothing logged")
    return pgettext("event", "to come")


def _result(event: EventOfYear) -> str:
    if event.rounds_won is None:
        return _("No result") if event.done else ""
    words = dict(results(event.draw_size))
    return words.get(event.rounds_won) or ngettext(
        "%(count)d round won", "%(count)d rounds won", event.rounds_won
    ) % {"count": event.rounds_won}


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
            _("Events"),
            "events",
            sum(event.planned for event in year.events),
            len(year.done),
        ),
        CountLine(
            _("Weeks of active rest"),
            "weeks",
            len(rest),
            taken,
            _("Done are those that are over and had no event in them."),
        ),
    ]
    if planned and done:
        lines += [
            CountLine(_("Event weeks"), "weeks", planned.event_weeks, done.event_weeks),
            CountLine(
                _("Longest run of event weeks"), "weeks", planned.longest_run, done.longest_run
            ),
            CountLine(
                _("Weeks with four days or more away"),
                "weeks",
                planned.weeks_away,
                done.weeks_away,
                _("By the trips that the events need, as the season page has them."),
            ),
            CountLine(
                _("Hours of flight"),
                "hours",
                planned.flight_hours,
                done.flight_hours,
                _("An estimate from distances."),
            ),
            CountLine(
                _("Days missing before events"), "days", planned.missing_days, done.missing_days
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
                    phase=_phase_label(phase),
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
        return _("No sessions were logged, so nothing can be said of training load.")
    weeks = len({_monday(session.day) for session in own})
    return _(
        "Load is minutes times effort (0 to 10), of %(sessions)s in %(weeks)s that had one logged. "
        "Matches are not in it. Compare with your own other weeks only: no fixed amount is safe or "
        "unsafe."
    ) % {
        "sessions": ngettext("%(count)d session", "%(count)d sessions", len(own))
        % {"count": len(own)},
        "weeks": ngettext("%(count)d week", "%(count)d weeks", weeks) % {"count": weeks},
    }


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
        which=_("Energy before the event")
        if view.energy == "before"
        else _("Energy after the event"),
        chart=_chart(known, view, line) if len(known) >= FEWEST_DRAWN else None,
        says=tuple(_energy_says(x, y, answer, line, view, known)),
        answer=answer,
        line=line,
        left_out=ngettext(
            "%(count)d event without this energy, a result or a known draw is not in it.",
            "%(count)d events without this energy, a result or a known draw are not in it.",
            left_out,
        )
        % {"count": left_out}
        if left_out
        else "",
    )


def _chart(
    known: Sequence[tuple[EventLine, int, float]], view: View, line: Line | Silent
) -> Scatter:
    before = view.energy == "before"
    title = (
        ngettext(
            "Energy before the event against the result, %(count)d event",
            "Energy before the event against the result, %(count)d events",
            len(known),
        )
        if before
        else ngettext(
            "Energy after the event against the result, %(count)d event",
            "Energy after the event against the result, %(count)d events",
            len(known),
        )
    )
    return scatter(
        [
            Point(
                number=event.number,
                x=energy,
                y=outcome,
                group=getattr(event, view.by) or NOT_SAID,
                words=_point_words(event, view),
                target=event.role == EventRole.TARGET,
                late=before and event.late,
            )
            for event, energy, outcome in known
        ],
        Axis(
            _("Energy before the event, 0 empty to 10 full")
            if before
            else _("Energy after the event, 0 empty to 10 full"),
            -0.5,
            10.5,
            tuple((step, str(step)) for step in range(11)),
        ),
        _outcome_axis(view.scale, [outcome for _, _, outcome in known]),
        title=title % {"count": len(known)},
        line=line if isinstance(line, Line) else None,
        group_word=view.group_word,
    )


def _outcome_axis(scale: Scale, outcomes: Sequence[float]) -> Axis:
    label = _scale_label(scale)
    if scale == "share":
        ticks = tuple((step / 5, f"{20 * step} %") for step in range(6))
        return Axis(label, -0.08, 1.08, ticks)
    low, high = min(-1, int(min(outcomes)) - 1), max(1, int(max(outcomes)) + 1)
    steps = range(low, high + 1)
    return Axis(label, low - 0.3, high + 0.3, tuple((n, _signed_whole(n)) for n in steps))


def _point_words(event: EventLine, view: View) -> str:
    energy = _energy_of(event, view)
    sentence = (
        _("%(number)d. %(event)s, %(days)s: energy %(energy)d, said late, %(result)s; %(facts)s")
        if view.energy == "before" and event.late
        else _("%(number)d. %(event)s, %(days)s: energy %(energy)d, %(result)s; %(facts)s")
    )
    phase = phase_word(event.phase) if event.phase else ""
    facts = [surface_word(event.surface), event.level, phase, role_word(event.role)]
    return sentence % {
        "number": event.number,
        "event": event.name,
        "days": event.dates,
        "energy": energy,
        "result": event.result[:1].lower() + event.result[1:],
        "facts": ", ".join(fact for fact in facts if fact),
    }


def _energy_says(
    x: Sequence[float],
    y: Sequence[float],
    answer: Together | Silent,
    line: Line | Silent,
    view: View,
    known: Sequence[tuple[EventLine, int, float]],
) -> Iterable[str]:
    n = ngettext("n = %(count)d event.", "n = %(count)d events.", len(x)) % {"count": len(x)}
    yield f"{n} {_(NOT_CAUSE)}"
    if view.energy == "after":
        yield _(
            "This is energy as it was after the event, when the result was known, which colours "
            "it: a lost match feels emptier."
        )
    elif late := sum(event.late for event, _, _ in known):
        yield ngettext(
            "One energy was said late, when the result was known, which colours it; its mark is "
            "hollow.",
            "%(late)d of %(count)d said their energy late, when the result was known, which "
            "colours it; their marks are hollow.",
            late,
        ) % {"late": late, "count": len(x)}
    if isinstance(answer, Silent):
        yield _("No rank correlation: %(reason)s.") % {"reason": answer.reason}
    else:
        yield _correlation_words(answer)
    if len(x) >= FEWEST_DRAWN:
        found = pairs(x, y)
        decided = found.agree + found.disagree
        if decided:
            yield ngettext(
                "Of %(count)d pair of events that differ in both, the one with more energy had the "
                "better result in %(agree)d.",
                "Of %(count)d pairs of events that differ in both, the one with more energy had "
                "the better result in %(agree)d.",
                decided,
            ) % {"count": decided, "agree": found.agree}
    if isinstance(line, Line):
        yield _line_words(line, view.scale)


def _correlation_words(answer: Together) -> str:
    if answer.p is None:
        words = _(
            "Rank correlation %(effect)s, 95 %% interval %(interval)s; no p below six events."
        )
    elif answer.counted:
        words = _(
            "Rank correlation %(effect)s, 95 %% interval %(interval)s; p %(p)s, counting every "
            "order."
        )
    else:
        words = _(
            "Rank correlation %(effect)s, 95 %% interval %(interval)s; p %(p)s, from %(orders)s "
            "orders drawn at random, always the same ones."
        )
    said = words % {
        "effect": signed(answer.effect),
        "interval": interval_words(answer.interval),
        "p": "" if answer.p is None else p_words(answer.p),
        "orders": whole(DRAWN_ORDERS),
    }
    if answer.interval.low <= 0 <= answer.interval.high:
        way = _("The interval holds 0: this year does not tell whether they went together.")
    elif answer.effect > 0:
        way = _("More energy went with better results.")
    else:
        way = _("More energy went with worse results.")
    return f"{said} {way}"


def _line_words(line: Line, scale: Scale) -> str:
    def said(slope: float) -> str:
        if scale == "share":
            points = 100 * slope
            return f"{'−' if points < -0.05 else ''}{number(abs(points), 1)}"
        return signed(slope)

    sentence = (
        _(
            "The line runs through the middle of both, with the median of the slopes between all "
            "pairs: a step of energy goes with %(slope)s percentage points of the rounds (95 %% "
            "interval %(low)s to %(high)s). The band shows the interval."
        )
        if scale == "share"
        else _(
            "The line runs through the middle of both, with the median of the slopes between all "
            "pairs: a step of energy goes with %(slope)s rounds (95 %% interval %(low)s to "
            "%(high)s). The band shows the interval."
        )
    )
    return sentence % {
        "slope": said(line.slope),
        "low": said(line.slopes.low),
        "high": said(line.slopes.high),
    }


# What went with what ---------------------------------------------------------------------------


def _together_part(year: Year, events: Sequence[EventLine], view: View) -> TogetherPart:
    asked = {a.name: a for a in ASKED}
    given = factors(year)
    goings = what_went_with_what([_outcome(line, view) for line in events], given)
    lines, silent, silent_words = [], [], []
    for going in goings:
        about = asked[going.factor]
        answer = going.answer
        if isinstance(answer, Silent):
            silent.append((_(about.name), answer.reason))
            silent_words.append(f"{_(about.within)} ({answer.reason})")
            continue
        lines.append(
            FactorLine(
                name=_(about.name),
                within=_(about.within),
                meaning=_(about.meaning),
                n=answer.n,
                effect=answer.effect,
                interval=answer.interval,
                kind=answer.kind,
                p=going.p,
                corrected_p=going.corrected_p,
                notable=going.notable,
                verdict=_verdict(about, answer.effect) if going.notable else _("not notable"),
                bar=effect_bar(answer.effect, answer.interval),
            )
        )
    return TogetherPart(
        looked_at=len(given),
        headline=_together_headline(lines, len(given)),
        lines=tuple(lines),
        silent=tuple(silent),
        silent_words="; ".join(silent_words),
    )


def _verdict(about: Asked, effect: float) -> str:
    words = _("better results with %(more)s") if effect > 0 else _("worse results with %(more)s")
    said = words % {"more": _(about.more)}
    return f"{said}; {_(about.but)}" if about.but else said


def _together_headline(lines: Sequence[FactorLine], looked_at: int) -> str:
    notable = [line for line in lines if line.notable]
    if not notable:
        return _(
            "Nothing stands out. %(count)d things were looked at, and in a year of pure chance one "
            "would expect to see as much as this. What is listed are effects that may be nothing."
        ) % {"count": looked_at}
    said = ngettext(
        "Of %(count)d things looked at, this stands out: %(names)s. Chance alone would rarely show "
        "as much.",
        "Of %(count)d things looked at, these stand out: %(names)s. Chance alone would rarely show "
        "as much.",
        len(notable),
    ) % {"count": looked_at, "names": listed([line.within for line in notable])}
    return f"{said} {_(NOT_CAUSE)}"


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
        _group(_("Inside a planned peak window"), [e for e in events if e.in_peak], view),
        _group(pgettext("peak windows", "Outside"), [e for e in events if not e.in_peak], view),
    ]
    return TargetPart(
        lines=tuple(lines),
        groups=tuple(groups) if events and year.as_planned else (),
        says=tuple(_target_says(year, events, view)),
    )


def _where(event: EventOfYear) -> str:
    return _("in a peak window") if event.in_peak else _("outside of every peak window")


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
    yield _inside_against_outside(
        [(line.in_peak, v) for line in events if (v := _outcome(line, view)) is not None],
        _(
            "Result: taking one event from inside and one from outside, the one inside is higher "
            "%(better)d %% of the time (50 %% is no difference, a tie counts half); effect "
            "%(effect)s, 95 %% interval %(interval)s, n = %(events)s."
        ),
        silent=_("No comparison of result: %(reason)s."),
    )
    if year.reads_health:
        yield _inside_against_outside(
            [(line.in_peak, v) for line in events if (v := line.energy_before) is not None],
            _(
                "Energy before: taking one event from inside and one from outside, the one inside "
                "is higher %(better)d %% of the time (50 %% is no difference, a tie counts half); "
                "effect %(effect)s, 95 %% interval %(interval)s, n = %(events)s."
            ),
            silent=_("No comparison of energy before: %(reason)s."),
        )


def _inside_against_outside(
    known: Sequence[tuple[bool, float]], sentence: str, *, silent: str
) -> str:
    answer = between_groups([inside for inside, _value in known], [value for _in, value in known])
    if isinstance(answer, Silent):
        return silent % {"reason": answer.reason}
    said = sentence % {
        "better": round(100 * (1 + answer.effect) / 2),
        "effect": signed(answer.effect),
        "interval": interval_words(answer.interval),
        "events": ngettext("%(count)d event", "%(count)d events", answer.n) % {"count": answer.n},
    }
    if not answer.interval.holds(0):
        return said
    apart = _("The interval holds 0: the year does not tell them apart.")
    return f"{said} {apart}"


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
                matches=_("%(won)d won, %(lost)d lost") % {"won": won, "lost": played - won}
                if played
                else "–",
                result=median(shares) if shares else None,
                energy=median(energies) if energies else None,
            )
        )
    return tuple(lines)
