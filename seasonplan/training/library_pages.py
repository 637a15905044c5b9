"""What the pages of the library show: all kinds by court and emphasis, and one kind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, get_args
from urllib.parse import urlencode

from django.http import QueryDict
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from seasonplan.academy.models import Academy
from seasonplan.plans.models import Block
from seasonplan.science.layout.problem import PHASES, Phase
from seasonplan.science.layout.wording import phase_word
from seasonplan.science.session_kinds import said
from seasonplan.science.sessions import easiest, hardest
from seasonplan.science.week_target import EMPHASES, Court, Emphasis, SessionKind, emphasis_label
from seasonplan.science.words import listed
from seasonplan.training.library import LibraryKind
from seasonplan.training.models import Court as Courts

COURTS: Final[tuple[Court, ...]] = get_args(Court)

GAME: Final[frozenset[Emphasis]] = frozenset(("technique", "tactics and match play"))
"""What one looks for first on court."""


@dataclass(frozen=True, slots=True)
class KindLine:
    """One kind in the list; `tags` are words such as “own kind”."""

    url: str
    name: str
    purpose: str
    minutes: int
    span: str
    effort: int
    is_hard: bool
    phases: str
    youngest: int | None
    tags: tuple[str, ...]
    in_use: bool


@dataclass(frozen=True, slots=True)
class EmphasisGroup:
    label: str
    lines: tuple[KindLine, ...]


@dataclass(frozen=True, slots=True)
class CourtPart:
    anchor: str
    label: str
    groups: tuple[EmphasisGroup, ...]
    count: int


@dataclass(frozen=True, slots=True)
class Option:
    value: str
    label: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class LibraryPage:
    academy: Academy
    parts: tuple[CourtPart, ...]
    courts: tuple[Option, ...]
    emphases: tuple[Option, ...]
    phases: tuple[Option, ...]
    text: str
    shown: int
    narrowed: bool
    may_edit: bool
    new_url: str


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing about a kind; `built_in` is how the program says it where that differs."""

    label: str
    value: str
    note: str = ""
    built_in: str = ""


@dataclass(frozen=True, slots=True)
class KindPage:
    academy: Academy
    name: str
    purpose: str
    facts: tuple[Fact, ...]
    in_use: bool
    is_own: bool
    in_own_words: bool
    state: str
    may_edit: bool
    list_url: str
    edit_url: str
    change_url: str


def library_page(
    academy: Academy, library: Sequence[LibraryKind], query: QueryDict, *, may_edit: bool
) -> LibraryPage:
    """The kinds that fit the query (`court`, `trains`, `phase`, `q`); what it has that nobody knows
    is ignored. Kinds out of use are shown to those who may take them back."""
    court = _known(query.get("court", ""), COURTS)
    emphasis = _known(query.get("trains", ""), EMPHASES)
    phase = _known(query.get("phase", ""), PHASES)
    text = " ".join(query.get("q", "").replace("\0", " ").split())[:80]
    words = text.casefold().split()
    shown = [
        each
        for each in library
        if (each.in_use or may_edit)
        and court in ("", each.kind.court)
        and emphasis in ("", each.kind.emphasis)
        and (not phase or phase in each.kind.phases)
        and all(word in _searched(each.kind) for word in words)
    ]
    return LibraryPage(
        academy=academy,
        parts=tuple(part for each in COURTS if (part := _part(each, academy, shown)) is not None),
        courts=_options(_("On and off court"), Courts.choices, court),
        emphases=_options(
            pgettext("whatever it trains", "Everything"),
            [(each, emphasis_label(each)) for each in EMPHASES],
            emphasis,
        ),
        phases=_options(_("Every phase"), Block.Phase.choices, phase),
        text=text,
        shown=len(shown),
        narrowed=bool(court or emphasis or phase or text),
        may_edit=may_edit,
        new_url=f"{reverse('session-kind-new')}?{_of(academy)}",
    )


def kind_page(academy: Academy, entry: LibraryKind, *, may_edit: bool) -> KindPage:
    code, read = entry.kind.code, said(entry.kind)
    return KindPage(
        academy=academy,
        name=read.name,
        purpose=read.purpose,
        facts=_facts(entry),
        in_use=entry.in_use,
        is_own=entry.built_in is None,
        in_own_words=entry.in_own_words,
        state=entry.state,
        may_edit=may_edit,
        list_url=list_url(academy),
        edit_url=f"{reverse('session-kind-edit', args=[code])}?{_of(academy)}",
        change_url=f"{reverse('session-kind-change', args=[code])}?{_of(academy)}",
    )


def list_url(academy: Academy) -> str:
    return f"{reverse('session-kinds')}?{_of(academy)}"


def kind_url(academy: Academy, code: str) -> str:
    return f"{reverse('session-kind', args=[code])}?{_of(academy)}"


def _of(academy: Academy) -> str:
    return urlencode({"academy": academy.pk})


# The list -----------------------------------------------------------------------------------------


def _part(court: Court, academy: Academy, shown: Sequence[LibraryKind]) -> CourtPart | None:
    here = [each for each in shown if each.kind.court == court]
    if not here:
        return None
    groups = (
        (emphasis, [each for each in here if each.kind.emphasis == emphasis])
        for emphasis in sorted(EMPHASES, key=lambda each: court == "on court" and each not in GAME)
    )
    return CourtPart(
        anchor=court.replace(" ", "-"),
        label=str(Courts(court).label),
        groups=tuple(
            EmphasisGroup(emphasis_label(emphasis), tuple(_line(academy, each) for each in same))
            for emphasis, same in groups
            if same
        ),
        count=len(here),
    )


def _line(academy: Academy, entry: LibraryKind) -> KindLine:
    kind = said(entry.kind)
    tags = []
    if entry.built_in is None:
        tags.append(_("own kind"))
    elif entry.in_own_words:
        tags.append(_("own words"))
    if not entry.in_use:
        tags.append(_("out of use"))
    return KindLine(
        url=kind_url(academy, kind.code),
        name=kind.name,
        purpose=kind.purpose,
        minutes=kind.minutes,
        span=_span(kind),
        effort=kind.effort_0_10,
        is_hard=kind.is_hard,
        phases=_phases(kind.phases),
        youngest=kind.youngest,
        tags=tuple(tags),
        in_use=entry.in_use,
    )


def _options(every: str, choices: Sequence[tuple[Any, Any]], chosen: str) -> tuple[Option, ...]:
    return (
        Option("", every, not chosen),
        *(Option(value, str(label), value == chosen) for value, label in choices),
    )


def _known(wanted: str, values: Sequence[str]) -> str:
    return wanted if wanted in values else ""


def _searched(kind: SessionKind) -> str:
    """What a search looks into: the kind as its reader sees it."""
    read = said(kind)
    words = (read.name, read.purpose, emphasis_label(kind.emphasis), read.equipment)
    return " ".join(words).casefold()


# One kind -----------------------------------------------------------------------------------------


def _facts(entry: LibraryKind) -> tuple[Fact, ...]:
    mine = _told(said(entry.kind))
    built_in = _told(said(entry.built_in)) if entry.built_in else mine
    return tuple(
        Fact(fact.label, fact.value, fact.note, _difference(fact, program))
        for fact, program in zip(mine, built_in, strict=True)
        if fact.value or program.value
    )


def _difference(fact: Fact, program: Fact) -> str:
    return (
        ""
        if fact.value == program.value
        else program.value or pgettext("of a kind of session", "nothing")
    )


def _told(kind: SessionKind) -> tuple[Fact, ...]:
    forms = []
    if easiest(kind) != kind.effort_0_10:
        forms.append(_("%(effort)d in its easier form") % {"effort": easiest(kind)})
    if hardest(kind) != kind.effort_0_10:
        forms.append(_("%(effort)d in its harder form") % {"effort": hardest(kind)})
    return (
        Fact(pgettext("of a session", "Name"), kind.name),
        Fact(_("What for"), kind.purpose),
        Fact(_("Where"), str(Courts(kind.court).label)),
        Fact(pgettext("what a session does", "Trains"), emphasis_label(kind.emphasis)),
        Fact(
            _("Minutes"),
            _("%(usual)d, from %(shortest)d to %(longest)d")
            % {
                "usual": kind.minutes,
                "shortest": kind.shortest_min,
                "longest": kind.longest_min,
            },
        ),
        Fact(_("Effort"), _("%(effort)d of 10") % {"effort": kind.effort_0_10}, listed(forms)),
        Fact(_("Phases"), _phases(kind.phases)),
        Fact(_("Equipment"), kind.equipment),
        Fact(_("Made easier"), kind.easier),
        Fact(_("Made harder"), kind.harder),
        Fact(_("Cautions"), kind.cautions),
        Fact(_("Not below the age of"), str(kind.youngest or "")),
    )


def _phases(phases: Sequence[Phase]) -> str:
    if set(phases) == set(PHASES):
        return _("All phases")
    first, *others = [phase for phase in PHASES if phase in phases]
    return listed([str(Block.Phase(first).label), *map(phase_word, others)])


def _span(kind: SessionKind) -> str:
    return f"{kind.shortest_min}–{kind.longest_min}"
