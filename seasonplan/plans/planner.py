"""The season screen's page model: every label, date and link, worked out once.

`season_page` turns a plan's `Material` into rows of weeks. It asks the judge for trips, peaks and
findings and makes no query of its own; the templates only print.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext, pgettext, pgettext_lazy

from seasonplan.events.models import Event
from seasonplan.plans.calendar_news import is_marked
from seasonplan.plans.costs import season_costs
from seasonplan.plans.due import trips_of
from seasonplan.plans.laying_out import Material, code_of, id_of, judge_plan
from seasonplan.plans.limit_words import limit_line
from seasonplan.plans.models import PlannedEvent, SeasonPlan
from seasonplan.plans.operations import week_number
from seasonplan.plans.terms import (
    entry_word,
    plan_standing_word,
    standing_word,
    surface_with_roof,
    surface_word,
)
from seasonplan.science.layout.limits import LIMITS, limits_from
from seasonplan.science.layout.problem import Limits
from seasonplan.science.layout.rules import Finding, Judgement, Peak
from seasonplan.science.layout.trips import Trip
from seasonplan.science.weeks import Week, event_weeks, season_weeks
from seasonplan.science.words import (
    day_month,
    days,
    listed,
    number,
    short_weekday,
    weekday_day,
    whole,
)

ROW_WEEKS = 13
SHORTEST_LAST_ROW = 4
"""A last row with fewer weeks joins the row before: the 53rd week of a year stands with its end."""

_SHORT_WORDS = {
    "cover": gettext_lazy("No phase"),
    "phase order": gettext_lazy("Phase order"),
    "overlap": gettext_lazy("Two at once"),
    "busy": gettext_lazy("On busy days"),
    "keep": gettext_lazy("Pinned event missing"),
    "drop": gettext_lazy("Ruled out"),
    "cancelled": gettext_lazy("Cancelled"),
    "past": gettext_lazy("Past changed"),
    "target": gettext_lazy("Target left out"),
    "phase": gettext_lazy("Wrong phase"),
    "peak": gettext_lazy("Outside a peak"),
    "arrival": gettext_lazy("Arrives late"),
    "run": gettext_lazy("Long run"),
    "quiet": gettext_lazy("Not quiet"),
    "length": gettext_lazy("Block length"),
    "cycles": gettext_lazy("Too few blocks"),
    "rest": gettext_lazy("Too little rest"),
    "count": gettext_lazy("Too many events"),
    "budget": gettext_lazy("Over budget"),
}

RULES_OF_EVENTS = {"overlap", "keep", "drop", "cancelled", "past", "target"}
"""Rules whose findings name events and no weeks."""

WEEKS_IN_LINE = 6
"""As many weeks as the line above the planner names."""

_NARROW_WORDS = {
    "preparation": pgettext_lazy("phase in one week", "Prep."),
    "pre-competition": pgettext_lazy("phase in one week", "Pre-comp."),
    "competition": pgettext_lazy("phase in one week", "Comp."),
    "active rest": pgettext_lazy("phase in one week", "Rest"),
}


def short_word(rule: str) -> str:
    """What a rule of the season says where there is room for two words: `Arrives late`."""
    return str(_SHORT_WORDS[rule])


def narrow_word(phase: str) -> str:
    """The phase in a band of a single week: `Pre-comp.`"""
    return str(_NARROW_WORDS[phase])


@dataclass(frozen=True)
class FindingView:
    """A broken rule: a word or two for the week, and the sentence with the remedy."""

    id: str
    short: str
    text: str
    never: bool
    weeks: tuple[str, ...]
    where: str


@dataclass(frozen=True)
class BandView:
    """A stretch of one phase, or of one peak, within a row of the planner.

    A block has its page at `url` and begins on `monday`. `moves` where its beginning can be
    moved and stands in this row.
    """

    column: int
    span: int
    phase: str
    label: str
    detail: str
    url: str = ""
    monday: str = ""
    weeks: str = ""
    begins_here: bool = False
    moves: bool = False


@dataclass(frozen=True)
class CardView:
    """An event of the plan in one row; one that crosses rows has a card in each and says so.

    `plain_marks` are the marks without the coach's own word that it is pinned.
    """

    event_id: int
    url: str
    place: str
    place_length: str
    name_length: str
    name: str
    surface: str
    surface_label: str
    dates: str
    column: int
    span: int
    lane: int
    is_target: bool
    is_cancelled: bool
    role: str
    marks: tuple[str, ...]
    plain_marks: tuple[str, ...]
    arrive: str
    origin: str
    from_week: str
    into_week: str


@dataclass(frozen=True)
class WeekView:
    """One week: a column on a wide screen, a row on the phone."""

    iso: str
    number: int
    monday: str
    title: str
    column: int
    is_now: bool
    is_past: bool
    phase: str
    phase_label: str
    in_peak: bool
    band: BandView | None
    peak: BandView | None
    cards: tuple[CardView, ...]
    notes: tuple[str, ...]
    busy: tuple[str, ...]
    findings: tuple[FindingView, ...]


@dataclass(frozen=True)
class RowView:
    id: str
    label: str
    columns: int
    weeks: tuple[WeekView, ...]
    findings: tuple[FindingView, ...]


@dataclass(frozen=True)
class Figure:
    """One number of the season, with how it came about where a coach may doubt it."""

    label: str
    value: str
    about: str = ""


@dataclass(frozen=True)
class EventLine:
    """An event in a list beside the planner."""

    event_id: int
    url: str
    title: str
    detail: str


@dataclass(frozen=True)
class Candidate(EventLine):
    """An event that the plan may hold; `weeks` are the ISO labels of its weeks."""

    name: str
    weeks: str
    week_words: str
    in_plan: bool
    ruled_out: bool
    cancelled: bool


@dataclass(frozen=True)
class PlanLink:
    name: str
    url: str
    standing: str
    is_here: bool
    compare_url: str


@dataclass(frozen=True)
class SeasonPage:
    plan: SeasonPlan
    title: str
    may_change: bool
    may_plan: bool
    has_home: bool
    has_events: bool
    is_laid_out: bool
    rows: tuple[RowView, ...]
    figures: tuple[Figure, ...]
    value_parts: tuple[Figure, ...]
    layout_line: str
    findings: tuple[FindingView, ...]
    findings_line: str
    targets: tuple[EventLine, ...]
    busy: tuple[str, ...]
    candidates: tuple[Candidate, ...]
    changed_limits: tuple[str, ...]
    plans: tuple[PlanLink, ...]
    said: str = field(default="")

    @property
    def outside(self) -> tuple[Candidate, ...]:
        """The events that are not in the plan."""
        return tuple(line for line in self.candidates if not line.in_plan)


def season_page(
    material: Material,
    *,
    today: date,
    may_change: bool,
    may_plan: bool,
    others: Sequence[SeasonPlan] = (),
    said: str = "",
) -> SeasonPage:
    """The whole season screen. `others` are the plans of the season that the reader may see."""
    plan = material.plan
    verdict = judge_plan(material, today=today) if material.home and material.blocks else None
    judgement = verdict.judgement if verdict else None
    findings = _findings(material, judgement.broken) if judgement else ()
    return SeasonPage(
        plan=plan,
        title=f"{plan.player.name} · {season_name(plan.start, plan.end)}",
        may_change=may_change,
        may_plan=may_plan,
        has_home=material.home is not None,
        has_events=bool(material.events),
        is_laid_out=bool(material.blocks),
        rows=_rows(material, judgement, findings, today),
        figures=_figures(material, judgement) if judgement else (),
        value_parts=_value_parts(judgement) if judgement else (),
        layout_line=layout_line(plan, verdict.as_laid_out, today) if verdict else "",
        findings=findings,
        findings_line=findings_line(findings),
        targets=tuple(
            _line(material, event, _target_detail(event, judgement))
            for event in material.events
            if material.role(event) == "target"
        ),
        busy=tuple(
            pgettext("label and value", "%(label)s: %(value)s")
            % {"label": days(b.start, b.end), "value": b.why or _("busy")}
            for b in material.busy
        ),
        candidates=_candidates(material),
        changed_limits=changed_limits(plan.parsed_limits),
        plans=plan_links(plan, others),
        said=said,
    )


def plan_links(plan: SeasonPlan, others: Sequence[SeasonPlan]) -> tuple[PlanLink, ...]:
    """The plans of a season beside one another."""
    return tuple(
        PlanLink(
            other.name,
            reverse("season", args=[other.pk]),
            plan_standing_word(other.standing),
            is_here=other.pk == plan.pk,
            compare_url=reverse("plan-compare", args=[plan.pk, other.pk]),
        )
        for other in others
    )


def season_name(start: date, end: date) -> str:
    """`2027` for a season that lies in one year but for two weeks, else `2026/27`."""
    edge = timedelta(days=14)
    first, last = (start + edge).year, max(start + edge, end - edge).year
    return str(first) if first == last else f"{first}/{last % 100:02d}"


def layout_line(plan: SeasonPlan, as_laid_out: bool, today: date) -> str:
    """How good the layout is known to be, or that something it rests on was changed since."""
    if not plan.layout_status:
        return _("Set by hand")
    if not as_laid_out:
        return _("Changed since it was laid out")
    day = ""
    if plan.laid_out_at and today > plan.start:
        day = day_month(plan.laid_out_at.date())
    if plan.layout_status == "proven":
        if day:
            return _("Proven best for these events and limits, as of %(day)s") % {"day": day}
        return _("Proven best for these events and limits")
    gap = number((plan.layout_bound or 0) - (plan.layout_value or 0), 1)
    if day:
        return _(
            "Best found in the time given, as of %(day)s; at most %(gap)s short of the best"
        ) % {"day": day, "gap": gap}
    return _("Best found in the time given; at most %(gap)s short of the best") % {"gap": gap}


def changed_limits(limits: Limits) -> tuple[str, ...]:
    """The limits that differ from the defaults, one phrase each."""
    standard = limits_from({})
    return tuple(
        limit_line(limit, getattr(limits, limit.name))
        for limit in LIMITS
        if getattr(limits, limit.name) != getattr(standard, limit.name)
    )


def row_lengths(weeks: int) -> list[int]:
    """How many weeks each row of the planner holds: thirteens, and a short rest joins the last."""
    lengths = [ROW_WEEKS] * (weeks // ROW_WEEKS)
    rest = weeks % ROW_WEEKS
    if rest and (rest >= SHORTEST_LAST_ROW or not lengths):
        lengths.append(rest)
    elif rest:
        lengths[-1] += rest
    return lengths


def findings_line(findings: Sequence[FindingView]) -> str:
    """How many rules are broken and where: `2 broken rules, in weeks 4 and 45`."""
    if not findings:
        return ""
    isos = sorted({iso for finding in findings for iso in finding.weeks})
    broken = broken_rules(len(findings))
    if not isos:
        return broken
    numbers = [str(int(iso.split("W")[1])) for iso in isos]
    if len(numbers) > WEEKS_IN_LINE:
        more = len(numbers) - WEEKS_IN_LINE + 1
        said = pgettext("more weeks at the end of a list", "%(count)d more") % {"count": more}
        numbers = [*numbers[: WEEKS_IN_LINE - 1], said]
    return ngettext(
        "%(broken)s, in week %(weeks)s", "%(broken)s, in weeks %(weeks)s", len(isos)
    ) % {"broken": broken, "weeks": listed(numbers)}


def broken_rules(count: int) -> str:
    """`2 broken rules`."""
    return ngettext("%(count)d broken rule", "%(count)d broken rules", count) % {"count": count}


def in_weeks(count: int) -> str:
    """`3 weeks`."""
    return ngettext("%(count)d week", "%(count)d weeks", count) % {"count": count}


def _findings(material: Material, broken: Sequence[Finding]) -> tuple[FindingView, ...]:
    views = []
    ids: set[str] = set()
    for finding in broken:
        weeks = finding.weeks or _weeks_of_events(material, finding)
        # The same finding keeps its id, so that a week with a link to it stays as it is.
        key = "-".join((finding.rule.replace(" ", "-"), *weeks[:1], *finding.events[:1]))
        while f"finding-{key}" in ids:
            key += "-too"
        ids.add(f"finding-{key}")
        views.append(
            FindingView(
                id=f"finding-{key}",
                short=short_word(finding.rule),
                text=finding.text,
                never=finding.weight is None,
                weeks=weeks,
                where=_where(weeks),
            )
        )
    return tuple(views)


def _weeks_of_events(material: Material, finding: Finding) -> tuple[str, ...]:
    """Where a finding about events, and not about weeks, is shown: where the last one begins."""
    if finding.rule not in RULES_OF_EVENTS:
        return ()
    codes = set(finding.events)
    starts = [event.start for event in material.events if code_of(event.pk) in codes]
    if not starts:
        return ()
    last = max(starts)
    weeks = season_weeks(material.plan.start, material.plan.end)
    return tuple(week.iso for week in weeks if week.start <= last <= week.end)


def _where(isos: Sequence[str]) -> str:
    numbers = [str(int(iso.split("W")[1])) for iso in isos]
    if not numbers:
        return _("Whole season")
    return ngettext("Week %(weeks)s", "Weeks %(weeks)s", len(numbers)) % {"weeks": listed(numbers)}


def _rows(
    material: Material,
    judgement: Judgement | None,
    findings: Sequence[FindingView],
    today: date,
) -> tuple[RowView, ...]:
    plan = material.plan
    weeks = season_weeks(plan.start, plan.end)
    trips = _trips(material, judgement) if judgement else {}
    phases = _phase_stretches(material, plan.start)
    peaks = _peak_stretches(judgement.peaks if judgement else (), plan.start)
    notes = _notes(material, trips, weeks)
    places = {event.pk: event.place.place_name for event in material.events}
    rows: list[RowView] = []
    first = 0
    for length in row_lengths(len(weeks)):
        shown = range(first, first + length)
        cards = _cards(material, trips, shown, weeks, places)
        bands = {s.first_in(shown): s.band(shown) for s in phases if s.meets(shown)}
        crests = {s.first_in(shown): s.band(shown) for s in peaks if s.meets(shown)}
        views = tuple(
            _week(
                week,
                column=week.index - first + 1,
                today=today,
                stretch=next((s for s in phases if week.index in s.weeks), None),
                in_peak=any(week.index in s.weeks for s in peaks),
                band=bands.get(week.index),
                peak=crests.get(week.index),
                cards=tuple(cards.get(week.index, ())),
                notes=tuple(notes.get(week.index, ())),
                busy=tuple(
                    b.why or _("Busy")
                    for b in material.busy
                    if b.start <= week.end and b.end >= week.start
                ),
                findings=tuple(f for f in findings if week.iso in f.weeks),
            )
            for week in weeks[first : first + length]
        )
        isos = {view.iso for view in views}
        rows.append(
            RowView(
                id=f"row-{len(rows) + 1}",
                label=_("Weeks %(first)d to %(last)d")
                % {"first": views[0].number, "last": views[-1].number},
                columns=length,
                weeks=views,
                findings=tuple(
                    sorted(
                        (f for f in findings if isos.intersection(f.weeks)),
                        key=lambda finding: min(isos.intersection(finding.weeks)),
                    )
                ),
            )
        )
        first += length
    return tuple(rows)


def _trips(material: Material, judgement: Judgement) -> dict[int, Trip]:
    """The trips by event: the judge's, who would also travel to what is cancelled."""
    if len(material.going) < len(material.played):
        return trips_of(material)
    return {id_of(trip.code): trip for trip in judgement.trips}


@dataclass(frozen=True)
class _Stretch:
    """Weeks of one block or one peak, as indexes of the season's weeks."""

    weeks: range
    phase: str
    label: str
    detail: str
    url: str = ""
    monday: str = ""
    words: str = ""

    def meets(self, shown: range) -> bool:
        return self.weeks.start < shown.stop and self.weeks.stop > shown.start

    def first_in(self, shown: range) -> int:
        return max(self.weeks.start, shown.start)

    def band(self, shown: range) -> BandView:
        """The stretch within a row, with as many words as a band of its width holds."""
        start, stop = self.first_in(shown), min(self.weeks.stop, shown.stop)
        span = stop - start
        goes_on = self.weeks.start < shown.start
        detail = pgettext("block or peak", "goes on") if goes_on else self.detail
        narrow = span == 1 and self.phase in _NARROW_WORDS
        return BandView(
            column=start - shown.start + 1,
            span=span,
            phase=self.phase.replace(" ", "-"),
            label=narrow_word(self.phase) if narrow else self.label,
            detail=detail if span > 2 or (span == 2 and len(self.label) < 9) else "",
            url=self.url,
            monday=self.monday,
            weeks=self.words,
            begins_here=self.weeks.start >= shown.start,
            moves=self.weeks.start >= shown.start and self.weeks.start > 0,
        )


def _phase_stretches(material: Material, start: date) -> list[_Stretch]:
    stretches = []
    for block in material.blocks:
        first = (block.start - start).days // 7
        last = block.start + timedelta(weeks=block.weeks - 1)
        stretches.append(
            _Stretch(
                range(first, first + block.weeks),
                block.phase,
                block.get_phase_display(),
                in_weeks(block.weeks),
                url=block_url(material.plan, block.start),
                monday=block.start.isoformat(),
                words=_("weeks %(first)d to %(last)d")
                % {"first": week_number(block.start), "last": week_number(last)},
            )
        )
    return stretches


def block_url(plan: SeasonPlan, monday: date) -> str:
    """The page of the block that begins on this Monday."""
    return reverse("plan-block", args=[plan.pk, monday.isoformat()])


def _peak_stretches(peaks: Sequence[Peak], start: date) -> list[_Stretch]:
    stretches = []
    for peak in peaks:
        first = (peak.start - start).days // 7
        last = (peak.end - start).days // 7
        stretches.append(
            _Stretch(
                range(first, last + 1), "peak", pgettext("band", "Peak"), in_weeks(last - first + 1)
            )
        )
    return stretches


def _week(
    week: Week,
    *,
    column: int,
    today: date,
    stretch: _Stretch | None,
    in_peak: bool,
    band: BandView | None,
    peak: BandView | None,
    cards: tuple[CardView, ...],
    notes: tuple[str, ...],
    busy: tuple[str, ...],
    findings: tuple[FindingView, ...],
) -> WeekView:
    iso_number = _number(week)
    return WeekView(
        iso=week.iso,
        number=iso_number,
        monday=day_month(week.start),
        title=_("Week %(number)d, %(days)s")
        % {"number": iso_number, "days": days(week.start, week.end)},
        column=column,
        is_now=week.start <= today <= week.end,
        is_past=week.end < today,
        phase=stretch.phase.replace(" ", "-") if stretch else "",
        phase_label=stretch.label if stretch else "",
        in_peak=in_peak,
        band=band,
        peak=peak,
        cards=cards,
        notes=notes,
        busy=busy,
        findings=findings,
    )


def _cards(
    material: Material,
    trips: dict[int, Trip],
    shown: range,
    weeks: Sequence[Week],
    places: dict[int, str],
) -> dict[int, list[CardView]]:
    """Cards of one row by the week in which they begin there, each in the first free lane."""
    plan = material.plan
    lanes_end: list[int] = []
    cards: dict[int, list[CardView]] = {}
    for event in material.played:
        spans = event_weeks(event.start, event.end, plan.start)
        if spans.start >= shown.stop or spans.stop <= shown.start:
            continue
        start, stop = max(spans.start, shown.start), min(spans.stop, shown.stop)
        lane = next((i for i, end in enumerate(lanes_end) if end <= start), len(lanes_end))
        if lane == len(lanes_end):
            lanes_end.append(stop)
        else:
            lanes_end[lane] = stop
        row = material.planned[event.pk]
        trip = None if event.cancelled else trips.get(event.pk)
        cards.setdefault(start, []).append(
            CardView(
                event_id=event.pk,
                url=_event_url(plan.pk, event.pk),
                place=event.place.place_name,
                place_length=_length(event.place.place_name, 7),
                name_length=_length(event.name, 8),
                name=event.name,
                surface=event.surface,
                surface_label=surface_with_roof(event.surface, indoor=event.indoor),
                dates=days(event.start, event.end),
                column=start - shown.start + 1,
                span=stop - start,
                lane=lane + 1,
                is_target=row.role == "target",
                is_cancelled=event.cancelled,
                role=row.get_role_display(),
                marks=_marks(plan, event, row),
                plain_marks=_marks(plan, event, row, with_pinned=False),
                arrive=_arrive(trip, event) if trip else "",
                origin=_origin(trip, places) if trip else "",
                from_week=_("from week %(week)d") % {"week": _number(weeks[spans.start])}
                if spans.start < shown.start
                else "",
                into_week=_("on to week %(week)d") % {"week": _number(weeks[spans.stop - 1])}
                if spans.stop > shown.stop
                else "",
            )
        )
    return cards


def _length(text: str, letters: int) -> str:
    """How far the type must shrink for the longest word to fit a column of one week.

    `letters` fit the narrowest column.
    """
    longer = max((len(word) for word in text.split()), default=0) - letters
    if longer <= 0:
        return ""
    return "is-wide" if longer == 1 else "is-long" if longer <= 3 else "is-longest"


def _number(week: Week) -> int:
    return int(week.iso.split("W")[1])


def _marks(
    plan: SeasonPlan, event: Event, row: PlannedEvent, *, with_pinned: bool = True
) -> tuple[str, ...]:
    marks = []
    if event.cancelled:
        marks.append(pgettext("mark of an event", "cancelled"))
    elif is_marked(plan, event):
        marks.append(pgettext("mark of an event", "changed"))
    if with_pinned and row.standing == PlannedEvent.Standing.PINNED:
        marks.append(pgettext("mark of an event", "pinned"))
    if row.entry != PlannedEvent.Entry.NOT_ENTERED:
        marks.append(entry_word(row.entry))
    return tuple(marks)


def _arrive(trip: Trip, event: Event) -> str:
    words = []
    if trip.arrive < event.start:
        words.append(_("arrive %(day)s") % {"day": _near(trip.arrive, event.start)})
    if trip.missing_days:
        words.append(
            ngettext("%(count)d day short", "%(count)d days short", trip.missing_days)
            % {"count": trip.missing_days}
        )
    return ", ".join(words)


def _origin(trip: Trip, places: dict[int, str]) -> str:
    if not trip.flight_tenths:
        return ""
    hours = number(trip.flight_hours, 1) + "\N{NO-BREAK SPACE}h"
    if trip.origin == "home":
        return _("%(hours)s flight from home") % {"hours": hours}
    return _("%(hours)s flight from %(place)s") % {
        "hours": hours,
        "place": places[id_of(trip.origin)],
    }


def _near(day: date, other: date) -> str:
    """A day beside one whose month is said: `Thu 14`, or `Thu 28 Jan` in another month."""
    return weekday_day(day) if day.month != other.month else _weekday_number(day)


def _weekday_number(day: date) -> str:
    """`Thu 14`."""
    return pgettext("short weekday and day", "%(weekday)s %(day)d") % {
        "weekday": short_weekday(day),
        "day": day.day,
    }


def _notes(
    material: Material, trips: dict[int, Trip], weeks: Sequence[Week]
) -> dict[int, list[str]]:
    """What else happens in a week: leaving for a later week's event, entries that close."""
    notes: dict[int, list[tuple[date, str]]] = {}
    first_day = material.plan.start

    def note(day: date, text: str, place: str) -> None:
        index = (day - first_day).days // 7
        if 0 <= index < len(weeks):
            said = text % {"day": _weekday_number(day), "place": place}
            notes.setdefault(index, []).append((day, said))

    for event in material.going:
        trip = trips.get(event.pk)
        begins = event_weeks(event.start, event.end, first_day).start
        place = event.place.place_name
        if trip and trip.flight_tenths and (trip.leave - first_day).days // 7 != begins:
            note(trip.leave, _("%(day)s leave for %(place)s"), place)
        row = material.planned[event.pk]
        if event.entry_deadline and row.entry == PlannedEvent.Entry.NOT_ENTERED:
            note(event.entry_deadline, _("%(day)s enter %(place)s"), place)
    return {index: [text for _day, text in sorted(found)] for index, found in notes.items()}


def _figures(material: Material, judgement: Judgement) -> tuple[Figure, ...]:
    return (
        Figure(_("Events"), str(len(judgement.trips))),
        Figure(_("Event weeks"), str(judgement.event_weeks)),
        Figure(_("Longest run"), in_weeks(judgement.longest_run)),
        Figure(
            _("Weeks away"),
            str(judgement.weeks_away),
            _("Weeks with four days or more from home."),
        ),
        Figure(pgettext("phase", "Active rest"), in_weeks(judgement.rest_weeks)),
        Figure(
            _("Flight hours"),
            number(judgement.flight_hours),
            _(
                "An estimate: half an hour, and an hour for each 850 km of the shortest way. "
                "Common practice, no source."
            ),
        ),
        Figure(
            _("Days short of settling in"),
            str(judgement.missing_days),
            _("Travel and acclimatisation days that do not fit before an event, in all."),
        ),
        Figure(_("Entry fees"), whole(round(judgement.cost))),
        *_cost_figures(material, judgement),
    )


def _cost_figures(material: Material, judgement: Judgement) -> Iterator[Figure]:
    costs = season_costs(material, _trips(material, judgement))
    if costs is None or not costs.events:
        return
    about = _(
        "Entry fees, and travel and nights where somebody wrote them down on the page of the trip, "
        "as if every final were reached."
    )
    if costs.in_part:
        in_part = ngettext(
            "Of %(count)d more event one of the two is missing.",
            "Of %(count)d more events one of the two is missing.",
            costs.in_part,
        ) % {"count": costs.in_part}
        about = f"{about} {in_part}"
    yield Figure(_("Costs known so far"), whole(round(costs.total)), about)
    yield Figure(
        _("Trips without costs"),
        _("%(part)d of %(all)d") % {"part": costs.unknown, "all": costs.events},
        _("Events away from home of which neither the travel nor a night is written down."),
    )


def _value_parts(judgement: Judgement) -> tuple[Figure, ...]:
    parts = judgement.value_parts
    lines = (
        (_("Worth of the events"), parts.worth),
        (_("Preparation weeks"), parts.preparation),
        (_("Pre-competition weeks"), parts.pre_competition),
        (_("Active rest weeks"), parts.active_rest),
        (_("Flight hours"), parts.travel),
        (_("Days short of settling in"), parts.missing),
        (_("Events fewer than wanted"), parts.short),
        (_("Changes against the plan in force"), parts.change),
    )
    shown = [Figure(label, _signed(value)) for label, value in lines if value]
    return (*shown, Figure(_("Value"), number(judgement.value, 1)))


def _signed(value: float) -> str:
    return ("" if value < 0 else "+") + number(value, 1)


def _line(material: Material, event: Event, detail: str) -> EventLine:
    return EventLine(
        event_id=event.pk,
        url=_event_url(material.plan.pk, event.pk),
        title=f"{event.place.place_name}, {days(event.start, event.end)}",
        detail=f"{event.name}. {detail}" if detail else event.name,
    )


def _target_detail(event: Event, judgement: Judgement | None) -> str:
    if event.cancelled:
        return _("Cancelled.")
    if judgement is None:
        return ""
    code = code_of(event.pk)
    peak = next((p for p in judgement.peaks if code in p.targets), None)
    if peak:
        return _("In the peak of %(days)s.") % {"days": days(peak.start, peak.end)}
    if any(trip.code == code for trip in judgement.trips):
        return _("Played, but outside a peak.")
    return _("Not in the plan.")


def _candidates(material: Material) -> tuple[Candidate, ...]:
    plan = material.plan
    lines = []
    for event in material.events:
        row = material.planned.get(event.pk)
        line = _line(material, event, _outside_detail(material, event))
        isos, numbers = _when(event.start, event.end, plan.start, plan.end)
        lines.append(
            Candidate(
                event_id=line.event_id,
                url=line.url,
                title=line.title,
                detail=line.detail,
                name=event.name,
                weeks=isos,
                week_words=ngettext("week %(weeks)s", "weeks %(weeks)s", len(numbers))
                % {"weeks": listed(numbers)},
                in_plan=bool(row and row.played),
                ruled_out=bool(row and row.standing == PlannedEvent.Standing.RULED_OUT),
                cancelled=event.cancelled,
            )
        )
    return tuple(lines)


@lru_cache(maxsize=4096)
def _when(start: date, end: date, first: date, last: date) -> tuple[str, tuple[str, ...]]:
    """The ISO labels of an event's weeks in a season, and their numbers."""
    weeks = season_weeks(first, last)
    covered = [weeks[index] for index in event_weeks(start, end, first)]
    return " ".join(week.iso for week in covered), tuple(str(_number(week)) for week in covered)


@lru_cache(maxsize=4096)
def _event_url(plan_id: int, event_id: int) -> str:
    """Kept, because a season has hundreds and each edit makes two pages of them."""
    return reverse("planned-event", args=[plan_id, event_id])


def _outside_detail(material: Material, event: Event) -> str:
    row = material.planned.get(event.pk)
    words = [
        surface_word(event.surface),
        _("worth %(worth)d") % {"worth": material.worth(event)},
    ]
    if row and row.standing != PlannedEvent.Standing.FREE:
        words.append(standing_word(row.standing))
    if event.cancelled:
        words.append(pgettext("mark of an event", "cancelled"))
    return ", ".join(words)
