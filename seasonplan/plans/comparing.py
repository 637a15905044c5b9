"""Two plans of one season side by side: week by week, in totals and in findings.

`comparison` makes the page model from two plans' `Material`. It serves the page that compares any
two plans and the page that says what became different when one was put in force; the two speak
differently of it (`Voice`). It makes no query of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final, Protocol

from seasonplan.events.models import Event
from seasonplan.plans.laying_out import Material, gather_all, judge_plan
from seasonplan.plans.models import EventRole, PlannedEvent, SeasonPlan
from seasonplan.plans.operations import week_number
from seasonplan.plans.planner import CardView, FindingView, season_page
from seasonplan.science.layout.wording import count, days
from seasonplan.science.weeks import Week, event_weeks, season_weeks

ABOUT_BREAKS: Final = "What is broken, each unit by the weight of its rule. Less is better."
ABOUT_FLIGHTS: Final = (
    "An estimate: half an hour, and an hour for each 850 km of the shortest way. Common practice, "
    "no source."
)
ABOUT_VALUE: Final = "To be compared where the breaks are the same. More is better."


@dataclass(frozen=True)
class Line:
    """One thing that a plan has in a week; `mark` says in a word that the other has it not, or
    otherwise. `kind` is `phase`, `event` or `note`."""

    kind: str
    text: str
    detail: str = ""
    url: str = ""
    surface: str = ""
    mark: str = ""


@dataclass(frozen=True)
class WeekPair:
    """A week in both plans; `words` are the differences as sentences without a full stop."""

    iso: str
    title: str
    dates: str
    left: tuple[Line, ...]
    right: tuple[Line, ...]
    words: tuple[str, ...]

    @property
    def differs(self) -> bool:
        return bool(self.words)


@dataclass(frozen=True)
class Total:
    """One figure of both plans, and what the right one has more or less of it."""

    label: str
    left: str
    right: str
    difference: str
    about: str = ""

    @property
    def differs(self) -> bool:
        return self.left != self.right


@dataclass(frozen=True)
class Comparison:
    """Two plans of one season; the labels are what the columns are called."""

    left: SeasonPlan
    right: SeasonPlan
    left_label: str
    right_label: str
    weeks: tuple[WeekPair, ...]
    totals: tuple[Total, ...]
    findings_left: tuple[FindingView, ...]
    findings_right: tuple[FindingView, ...]
    findings_both: tuple[FindingView, ...]

    @property
    def differing(self) -> tuple[WeekPair, ...]:
        return tuple(week for week in self.weeks if week.differs)

    @property
    def weeks_line(self) -> str:
        """How many weeks differ."""
        many = len(self.differing)
        of_all = f"of {count(len(self.weeks), 'week')}"
        if not many:
            return f"None {of_all} differs."
        return f"{many} {of_all} {'differs' if many == 1 else 'differ'}."

    @property
    def findings_apart(self) -> tuple[tuple[str, tuple[FindingView, ...]], ...]:
        """The findings that one of the two has alone, under its label."""
        return (
            (self.left_label, self.findings_left),
            (self.right_label, self.findings_right),
        )


class Voice(Protocol):
    """How the two plans are called, and how a difference is said."""

    @property
    def left(self) -> str: ...

    @property
    def right(self) -> str: ...

    def only(self, what: str, *, in_left: bool) -> str: ...

    def instead(self, what: str, left: str, right: str) -> str: ...

    def mark(self, *, in_left: bool) -> str: ...


@dataclass(frozen=True)
class Beside:
    """Two plans by their names, neither before the other."""

    left: str
    right: str

    def only(self, what: str, *, in_left: bool) -> str:
        return f"{what} only in {self.left if in_left else self.right}"

    def instead(self, what: str, left: str, right: str) -> str:
        return f"{what}: {left} in {self.left}, {right} in {self.right}"

    def mark(self, *, in_left: bool) -> str:
        return "only here"


@dataclass(frozen=True)
class Since:
    """A plan and the one that took its place."""

    left: str = "Before"
    right: str = "Now"

    def only(self, what: str, *, in_left: bool) -> str:
        return f"{'No longer' if in_left else 'New'}: {what}"

    def instead(self, what: str, left: str, right: str) -> str:
        return f"{what}: {right} instead of {left}"

    def mark(self, *, in_left: bool) -> str:
        return "no longer" if in_left else "new"


def beside(left: SeasonPlan, right: SeasonPlan) -> Beside:
    """The voice for these two; where both have one name, with a number."""
    one, two = (" (1)", " (2)") if left.name == right.name else ("", "")
    return Beside(f"“{left.name}”{one}", f"“{right.name}”{two}")


def likeliest_other(plan: SeasonPlan, season: Sequence[SeasonPlan]) -> SeasonPlan | None:
    """With which plan of the season to compare this one, unless somebody chooses: the one in
    force, else the one that it is a copy of, else the newest."""
    others = [other for other in season if other.pk != plan.pk]

    def likelihood(other: SeasonPlan) -> tuple[bool, bool, int]:
        in_force = other.standing == SeasonPlan.Standing.IN_FORCE
        return in_force, other.pk == plan.based_on_id, other.pk

    return max(others, key=likelihood, default=None)


def gather_pair(left: SeasonPlan, right: SeasonPlan) -> tuple[Material, Material]:
    """Two plans of one season with the plan in force, in a fixed number of queries."""
    first, second = gather_all([left, right])
    in_force = (
        SeasonPlan.objects.filter(
            player_id=left.player_id, start=left.start, standing=SeasonPlan.Standing.IN_FORCE
        )
        .prefetch_related("planned_events", "blocks")
        .first()
    )
    return _beside_in_force(first, in_force), _beside_in_force(second, in_force)


def _beside_in_force(material: Material, in_force: SeasonPlan | None) -> Material:
    is_it = material.plan.standing == SeasonPlan.Standing.IN_FORCE
    return material if is_it else replace(material, in_force=in_force)


def comparison(
    left: Material, right: Material, *, today: date, voice: Voice, plain: bool = False
) -> Comparison:
    """What two plans of one season have, and where they differ.

    `plain` is for who only sees the right one: without pins, worth and value, and without links to
    the pages of the left one.
    """
    first = _Plan(left, today, plain=plain, linked=not plain)
    second = _Plan(right, today, plain=plain, linked=True)
    found_left = {f.text: f for f in first.page.findings}
    found_right = {f.text: f for f in second.page.findings}
    return Comparison(
        left=left.plan,
        right=right.plan,
        left_label=voice.left,
        right_label=voice.right,
        weeks=tuple(_weeks(first, second, voice)),
        totals=_totals(first, second),
        findings_left=tuple(f for text, f in found_left.items() if text not in found_right),
        findings_right=tuple(f for text, f in found_right.items() if text not in found_left),
        findings_both=tuple(f for text, f in found_left.items() if text in found_right),
    )


@dataclass(frozen=True)
class _Said:
    """A line of one plan in one week, with what may be otherwise in the other: of what, and how."""

    line: Line
    facts: tuple[tuple[str, str], ...] = ()


class _Plan:
    """One of the two, read week by week; its events are `linked` where their pages are open."""

    def __init__(self, material: Material, today: date, *, plain: bool, linked: bool) -> None:
        self.material, self.plain, self.linked = material, plain, linked
        self.page = season_page(material, today=today, may_change=False, may_plan=False)
        laid_out = material.home is not None and bool(material.blocks)
        self.judgement = judge_plan(material, today=today).judgement if laid_out else None
        self.weeks = {week.iso: week for row in self.page.rows for week in row.weeks}
        self.cards: dict[int, CardView] = {}
        for week in self.weeks.values():
            for card in week.cards:
                self.cards.setdefault(card.event_id, card)

    def week(self, week: Week) -> dict[str, _Said]:
        """What the plan has in a week, by a name that is the same in both plans."""
        view = self.weeks.get(week.iso)
        if view is None:
            over = (("Phase", "season over"), ("Peak", "no"))
            return {"phase": _Said(Line("phase", "The season is over"), over)}
        phase = view.phase_label or "No phase"
        facts = (("Phase", phase.lower()), ("Peak", "yes" if view.in_peak else "no"))
        label = f"{phase}, peak" if view.in_peak else phase
        said = {"phase": _Said(Line("phase", label), facts)}
        for event in self.material.played:
            taken = event_weeks(event.start, event.end, self.material.plan.start)
            if week.index in taken:
                said[f"event {event.pk}"] = self._event(event, goes_on=week.index > taken.start)
        for note in view.notes:
            said[f"note {note}"] = _Said(Line("note", note))
        return said

    def _event(self, event: Event, *, goes_on: bool) -> _Said:
        card = self.cards[event.pk]
        if goes_on:
            line = Line("event", f"{event.name} goes on", surface=card.surface)
            return _Said(line)
        marks = [mark for mark in card.marks if not (self.plain and mark == "pinned")]
        role = "" if card.role == EventRole.OPEN.label else card.role
        detail = (card.place, card.dates, role, card.arrive, card.origin, *marks)
        line = Line(
            "event",
            event.name,
            detail=" · ".join(part for part in detail if part),
            url=card.url if self.linked else "",
            surface=card.surface,
        )
        return _Said(line, tuple((event.name, fact) for fact in self._facts(event, card)))

    def _facts(self, event: Event, card: CardView) -> Iterator[str]:
        """As many for every event."""
        row = self.material.planned[event.pk]
        yield card.role.lower()
        yield row.get_entry_display().lower()
        yield card.arrive or "arrival as it begins"
        yield card.origin or "no flight"
        if not self.plain:
            yield "pinned" if row.standing == PlannedEvent.Standing.PINNED else "not pinned"
            yield f"worth {self.material.worth(event)}"


def _weeks(left: _Plan, right: _Plan, voice: Voice) -> Iterator[WeekPair]:
    """The weeks of the longer one of the two seasons."""
    plan = left.material.plan
    for week in season_weeks(plan.start, max(plan.end, right.material.plan.end)):
        mine, theirs = left.week(week), right.week(week)
        words = []
        for name in sorted(mine.keys() | theirs.keys(), key=_order(mine, theirs)):
            one, other = mine.get(name), theirs.get(name)
            if one and other:
                different = [
                    voice.instead(what, here, there)
                    for (what, here), (_, there) in zip(one.facts, other.facts, strict=True)
                    if here != there
                ]
                words += different
                if different:
                    mine[name] = _marked(one, "different")
                    theirs[name] = _marked(other, "different")
            elif one:
                words.append(voice.only(one.line.text, in_left=True))
                mine[name] = _marked(one, voice.mark(in_left=True))
            elif other:
                words.append(voice.only(other.line.text, in_left=False))
                theirs[name] = _marked(other, voice.mark(in_left=False))
        yield WeekPair(
            iso=week.iso,
            title=f"Week {week_number(week.start)}",
            dates=days(week.start, week.end),
            left=tuple(said.line for said in mine.values()),
            right=tuple(said.line for said in theirs.values()),
            words=tuple(words),
        )


def _order(*sides: Mapping[str, _Said]) -> Callable[[str], int]:
    """The order in which a reader of both columns comes upon the lines."""
    names = list(dict.fromkeys(name for side in sides for name in side))
    kinds = ("phase", "event", "note")
    ranks = {name: (kinds.index(name.split()[0]), at) for at, name in enumerate(names)}
    ordered = sorted(names, key=lambda name: ranks[name])
    return ordered.index


def _marked(said: _Said, mark: str) -> _Said:
    return replace(said, line=replace(said.line, mark=mark))


# Totals ------------------------------------------------------------------------------------------


def _totals(left: _Plan, right: _Plan) -> tuple[Total, ...]:
    """Figures of both; those of the judge only where both are laid out."""
    one, other = left.judgement, right.judgement
    if one is None or other is None:
        counts = (len(left.material.played), len(right.material.played))
        return (_total("Events", *counts),)
    planning = (
        _total("Findings", len(one.broken), len(other.broken)),
        _total("Breaks", one.breaks, other.breaks, less="less", about=ABOUT_BREAKS),
        _total("Value", one.value, other.value, places=1, less="less", about=ABOUT_VALUE),
    )
    hours = (one.flight_hours, other.flight_hours)
    shared = (
        _total("Events", len(one.trips), len(other.trips)),
        _total("Event weeks", one.event_weeks, other.event_weeks),
        _total("Longest run of event weeks", one.longest_run, other.longest_run),
        _total("Weeks away", one.weeks_away, other.weeks_away),
        _total("Active rest weeks", one.rest_weeks, other.rest_weeks),
        _total("Flight hours", *hours, places=1, less="less", about=ABOUT_FLIGHTS),
        _total("Days short of settling in", one.missing_days, other.missing_days),
        _total("Entry fees", one.cost, other.cost, less="less"),
    )
    return shared if left.plain else (*shared, *planning)


def _total(
    label: str,
    left: float,
    right: float,
    *,
    places: int = 0,
    less: str = "fewer",
    about: str = "",
) -> Total:
    more = round(right, places) - round(left, places)
    words = f"{abs(more):,.{places}f} {'more' if more > 0 else less}" if more else "the same"
    return Total(label, f"{left:,.{places}f}", f"{right:,.{places}f}", words, about)
