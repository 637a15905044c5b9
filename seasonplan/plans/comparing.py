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

from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from seasonplan.events.models import Event
from seasonplan.plans.differences import phase_of, shape_of
from seasonplan.plans.laying_out import Material, gather_all, judge_plan
from seasonplan.plans.models import EventRole, PlannedEvent, SeasonPlan
from seasonplan.plans.operations import week_number
from seasonplan.plans.planner import CardView, FindingView, season_page
from seasonplan.plans.terms import entry_word, phase_word, role_word
from seasonplan.science.weeks import Week, event_weeks, season_weeks
from seasonplan.science.words import N_, days, figure

ABOUT_BREAKS: Final = N_("What is broken, each unit by the weight of its rule. Less is better.")
ABOUT_FLIGHTS: Final = N_(
    "An estimate: half an hour, and an hour for each 850 km of the shortest way. Common practice, "
    "no source."
)
ABOUT_VALUE: Final = N_("To be compared where the breaks are the same. More is better.")


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
        many, of_all = len(self.differing), len(self.weeks)
        if not many:
            return _("None of %(count)d weeks differs.") % {"count": of_all}
        return ngettext(
            "%(many)d of %(count)d weeks differs.", "%(many)d of %(count)d weeks differ.", many
        ) % {"many": many, "count": of_all}

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
        plan = self.left if in_left else self.right
        return _("%(what)s only in %(plan)s") % {"what": what, "plan": plan}

    def instead(self, what: str, left: str, right: str) -> str:
        return _("%(what)s: %(one)s in %(left)s, %(other)s in %(right)s") % {
            "what": what,
            "one": left,
            "left": self.left,
            "other": right,
            "right": self.right,
        }

    def mark(self, *, in_left: bool) -> str:
        return _("only here")


@dataclass(frozen=True)
class Since:
    """A plan and the one that took its place."""

    @property
    def left(self) -> str:
        return pgettext("a plan that was replaced", "Before")

    @property
    def right(self) -> str:
        return pgettext("the plan that took its place", "Now")

    def only(self, what: str, *, in_left: bool) -> str:
        said = _("No longer: %(what)s") if in_left else _("New: %(what)s")
        return said % {"what": what}

    def instead(self, what: str, left: str, right: str) -> str:
        said = _("%(what)s: %(now)s instead of %(before)s")
        return said % {"what": what, "now": right, "before": left}

    def mark(self, *, in_left: bool) -> str:
        return pgettext("mark", "no longer") if in_left else pgettext("mark", "new")


def beside(left: SeasonPlan, right: SeasonPlan) -> Beside:
    """The voice for these two; where both have one name, with a number."""
    one, two = (" (1)", " (2)") if left.name == right.name else ("", "")
    return Beside(
        _("“%(name)s”") % {"name": left.name} + one, _("“%(name)s”") % {"name": right.name} + two
    )


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
        self.shape = shape_of(material)
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
            over = ((_("Phase"), _("season over")), (_("Peak"), _yes_or_no(is_so=False)))
            return {"phase": _Said(Line("phase", _("The season is over")), over)}
        phase = view.phase_label or _("No phase")
        facts = (
            (_("Phase"), phase_word(phase_of(self.shape, week))),
            (_("Peak"), _yes_or_no(is_so=view.in_peak)),
        )
        label = _("%(phase)s, peak") % {"phase": phase} if view.in_peak else phase
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
            name = _("%(event)s goes on") % {"event": event.name}
            return _Said(Line("event", name, surface=card.surface))
        marks = card.plain_marks if self.plain else card.marks
        is_open = self.material.planned[event.pk].role == EventRole.OPEN
        role = "" if is_open else card.role
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
        yield role_word(row.role)
        yield entry_word(row.entry)
        yield card.arrive or _("arrival as it begins")
        yield card.origin or _("no flight")
        if not self.plain:
            is_pinned = row.standing == PlannedEvent.Standing.PINNED
            yield _("pinned") if is_pinned else _("not pinned")
            yield _("worth %(worth)d") % {"worth": self.material.worth(event)}


def _yes_or_no(*, is_so: bool) -> str:
    if is_so:
        return pgettext("whether a week is in a peak", "yes")
    return pgettext("whether a week is in a peak", "no")


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
                    for (what, here), (_what, there) in zip(one.facts, other.facts, strict=True)
                    if here != there
                ]
                words += different
                if different:
                    mine[name] = _marked(one, pgettext("mark", "different"))
                    theirs[name] = _marked(other, pgettext("mark", "different"))
            elif one:
                words.append(voice.only(one.line.text, in_left=True))
                mine[name] = _marked(one, voice.mark(in_left=True))
            elif other:
                words.append(voice.only(other.line.text, in_left=False))
                theirs[name] = _marked(other, voice.mark(in_left=False))
        yield WeekPair(
            iso=week.iso,
            title=_("Week %(week)d") % {"week": week_number(week.start)},
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
        return (_total(_("Events"), *counts),)
    planning = (
        _total(_("Findings"), len(one.broken), len(other.broken)),
        _total(_("Breaks"), one.breaks, other.breaks, counted=False, about=_(ABOUT_BREAKS)),
        _total(_("Value"), one.value, other.value, places=1, counted=False, about=_(ABOUT_VALUE)),
    )
    hours = (one.flight_hours, other.flight_hours)
    shared = (
        _total(_("Events"), len(one.trips), len(other.trips)),
        _total(_("Event weeks"), one.event_weeks, other.event_weeks),
        _total(_("Longest run of event weeks"), one.longest_run, other.longest_run),
        _total(_("Weeks away"), one.weeks_away, other.weeks_away),
        _total(_("Active rest weeks"), one.rest_weeks, other.rest_weeks),
        _total(_("Flight hours"), *hours, places=1, counted=False, about=_(ABOUT_FLIGHTS)),
        _total(_("Days short of settling in"), one.missing_days, other.missing_days),
        _total(_("Entry fees"), one.cost, other.cost, counted=False),
    )
    return shared if left.plain else (*shared, *planning)


def _total(
    label: str,
    left: float,
    right: float,
    *,
    places: int = 0,
    counted: bool = True,
    about: str = "",
) -> Total:
    more = round(right, places) - round(left, places)
    if not more:
        said = _("the same")
    elif more > 0:
        said = _("%(number)s more")
    else:
        said = _("%(number)s fewer") if counted else _("%(number)s less")
    words = said % {"number": figure(abs(more), places)} if more else said
    return Total(label, figure(left, places), figure(right, places), words, about)
