"""The meeting in words: notes kept while they are typed, decisions, and who is shown what.

Every field of notes is kept by itself and against the text that the writer last saw of it (its
`digest`): who types beside somebody else overwrites nothing, and a text that is sent once more,
because the answer was lost, is the same text.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from hashlib import sha256
from typing import Any, TypeVar

from django.db import transaction
from django.db.models import F, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from seasonplan.academy.models import Person, Player
from seasonplan.debrief.access import Seat
from seasonplan.debrief.forms import PLAYER, OwnViewForm, WordsForm
from seasonplan.debrief.models import Debrief, Decision, OwnView
from seasonplan.events.facts import day, plain_day
from seasonplan.plans.carried import limit_in_words
from seasonplan.plans.models import CarriedOver, SeasonPlan
from seasonplan.plans.planner import season_name
from seasonplan.plans.terms import role_word
from seasonplan.science.words import days

Words = TypeVar("Words", Debrief, OwnView)
Kind = CarriedOver.Kind


def digest(text: str) -> str:
    """The same for the same text; what a form says it was typed over."""
    return sha256(text.encode()).hexdigest()[:16]


def one_ending(text: str) -> str:
    """The text with one kind of line ending: a browser sends another than it was given."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


@dataclass(frozen=True)
class Typed:
    """One field as sent: its text, and the digest of the text that it was typed over."""

    text: str
    seen: str


@dataclass(frozen=True)
class Clash:
    """Two texts for one field: what this writer typed, and what stands there meanwhile."""

    field: str
    label: str
    mine: str
    theirs: str
    over: str  # the digest to send along to write over `theirs`


@dataclass(frozen=True)
class WordsState:
    """What a form of notes says beside its fields: when they were kept, and what clashes.

    `seen` is (field, digest of the text that its writer has before them, to be typed over next);
    `newer` names fields that others changed and this writer did not.
    """

    kept: str
    seen: tuple[tuple[str, str], ...]
    newer: tuple[str, ...] = ()
    clashes: tuple[Clash, ...] = ()
    wrong: tuple[str, ...] = ()


def season_of(model: type[Words], plan: SeasonPlan) -> Words | None:
    """The row of the plan's season, if anything was written."""
    row: Words | None = (
        model._default_manager.filter(player_id=plan.player_id, season_start=plan.start)
        .select_related(*(["words_by"] if model is Debrief else []))
        .first()
    )
    return row


@transaction.atomic
def keep_words(
    model: type[Words],
    plan: SeasonPlan,
    typed: Mapping[str, Typed],
    *,
    person: Person,
    now: datetime,
) -> tuple[Words, tuple[Clash, ...]]:
    """Keep each field that was changed over what its writer had seen; return those that clash.

    A field that was not changed by this writer keeps what others wrote. All that do not clash are
    kept, whatever the others do.
    """
    row = _locked(model, plan)
    clashes, changed = [], []
    for name, sent in typed.items():
        text, stands = one_ending(sent.text), getattr(row, name)
        if digest(text) == sent.seen or text == stands:
            continue
        if digest(stands) == sent.seen:
            setattr(row, name, text)
            changed.append(name)
        else:
            label = str(_labels(model)[name])
            clashes.append(Clash(name, label, text, stands, f"{name}:{digest(stands)}"))
    if changed:
        if isinstance(row, Debrief):
            row.words_by, row.words_at = person, now
        else:
            row.written_at = now
        row.save()
    return row, tuple(clashes)


def _locked(model: type[Words], plan: SeasonPlan) -> Words:
    """The season's row, made if need be; another writer waits until this transaction is over."""
    model._default_manager.get_or_create(player_id=plan.player_id, season_start=plan.start)
    return model._default_manager.select_for_update().get(
        player_id=plan.player_id, season_start=plan.start
    )


def _labels(model: type[Debrief] | type[OwnView]) -> dict[str, Any]:
    form = WordsForm if model is Debrief else OwnViewForm
    return {name: field.label for name, field in form.base_fields.items()}


def fresh_state(row: Debrief | OwnView) -> WordsState:
    """Beside fields that show what stands."""
    return WordsState(
        kept=_kept_line(row),
        seen=tuple((name, digest(getattr(row, name))) for name in _labels(type(row))),
    )


def state_after(
    row: Debrief | OwnView,
    typed: Mapping[str, Typed],
    *,
    clashes: Sequence[Clash] = (),
    wrong: Sequence[str] = (),
) -> WordsState:
    """Beside fields that show what was typed: the writer has that text before them, and of a field
    that was not kept still types over what they had seen."""
    open_fields = set(typed) if wrong else {clash.field for clash in clashes}
    texts = {name: one_ending(sent.text) for name, sent in typed.items()}
    return WordsState(
        kept=_kept_line(row),
        seen=tuple(
            (name, sent.seen if name in open_fields else digest(texts[name]))
            for name, sent in typed.items()
        ),
        newer=tuple(
            str(_labels(type(row))[name])
            for name in typed
            if name not in open_fields and texts[name] != getattr(row, name)
        ),
        clashes=tuple(clashes),
        wrong=tuple(wrong),
    )


def _kept_line(row: Debrief | OwnView) -> str:
    at = row.words_at if isinstance(row, Debrief) else row.written_at
    if at is None:
        return _("Nothing written yet. What you type is kept as you go.")
    local = timezone.localtime(at)
    when = {"day": day(local.date()), "time": f"{local:%H:%M}"}
    if isinstance(row, Debrief) and row.words_by:
        return _("Saved: %(person)s, %(day)s, %(time)s") % (when | {"person": row.words_by.name})
    return _("Saved: %(day)s, %(time)s") % when


@transaction.atomic
def share_words(model: type[Words], plan: SeasonPlan, *, shared: bool, now: datetime) -> Words:
    """Show the words to those who may read them once they are shared, or hide them again."""
    row = _locked(model, plan)
    row.shared_at = (row.shared_at or now) if shared else None
    row.save()
    return row


# Decisions ------------------------------------------------------------------------------------


class DecisionChanged(Exception):
    """Somebody changed the decision since it was read."""


@transaction.atomic
def add_decision(plan: SeasonPlan, key: uuid.UUID, values: Mapping[str, Any]) -> Decision:
    """Write a decision down; one form sent twice is one decision."""
    debrief = _locked(Debrief, plan)
    made, _new = Decision.objects.get_or_create(debrief=debrief, key=key, defaults=dict(values))
    return made


def change_decision(decision: Decision, values: Mapping[str, Any], *, revision: int) -> None:
    """Keep the decision as it is said now. Raises DecisionChanged."""
    changed = Decision.objects.filter(pk=decision.pk, revision=revision).update(
        **values, revision=F("revision") + 1
    )
    if not changed:
        raise DecisionChanged
    decision.refresh_from_db()


def take_decision_back(decision: Decision, *, back: bool, now: datetime) -> None:
    """Take a decision back, or let it stand again; it stays on the page either way."""
    Decision.objects.filter(pk=decision.pk).update(
        taken_back_at=now if back else None, revision=F("revision") + 1
    )
    decision.refresh_from_db()


def owners_of(player: Player, seat: Seat) -> list[tuple[str, str]]:
    """Who can see to a decision: the player first, then the team by name."""
    team = ((str(p.pk), p.name) for p in seat.team if p.pk != player.person_id)
    return [(PLAYER, player.name), *team]


# The page -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class DecisionLine:
    """A decision in words. `next_year` says how it stands in the plan of the next season."""

    id: int
    key: str
    text: str
    owner: str
    due: str
    what: str
    next_year: str
    url: str
    back_url: str
    taken_back: bool


@dataclass(frozen=True)
class YearLink:
    name: str
    url: str
    detail: str = ""
    is_here: bool = False


@dataclass(frozen=True)
class OwnPart:
    """The player's own view, for who may read it: (question, answer) of what was answered."""

    answers: tuple[tuple[str, str], ...]
    is_mine: bool
    shared: bool


@dataclass(frozen=True)
class MeetingPage:
    """The words of one debrief, as far as this reader may see them.

    `notes` are (heading, text); None, like `own` and `decisions`, where they are not the reader's
    to see. `scope` says in a sentence who reads and who writes.
    """

    plan: SeasonPlan
    player: Player
    title: str
    when: str
    so_far: bool
    seat: Seat
    scope: str
    shared: bool
    notes: tuple[tuple[str, str], ...] | None
    decisions: tuple[DecisionLine, ...] | None
    own: OwnPart | None
    years: tuple[YearLink, ...]
    all_url: str


def meeting_page(
    plan: SeasonPlan,
    person: Person,
    seat: Seat,
    *,
    debrief: Debrief | None,
    decisions: Sequence[Decision],
    carried: Mapping[str, str],
    plans: Sequence[SeasonPlan],
    today: date,
) -> MeetingPage:
    """The page for this reader; `decisions` are those of the debrief, `carried` says by source how
    each stands in the plan of the next season, `plans` are those of `plans_beside`."""
    shared = bool(debrief and debrief.shared_at)
    reads_decisions = seat.writes or shared
    reads_notes = seat.writes or (shared and seat.reads_notes_once_shared)
    own = OwnView.objects.visible_to(person).filter(
        player_id=plan.player_id, season_start=plan.start
    )
    return MeetingPage(
        plan=plan,
        player=plan.player,
        title=_("Debrief: %(player)s · %(season)s")
        % {"player": plan.player.name, "season": season_name(plan.start, plan.end)},
        when=from_to(plan.start, plan.end),
        so_far=today <= plan.end,
        seat=seat,
        scope=_scope(plan.player, seat, shared=shared),
        shared=shared,
        notes=_notes(debrief) if reads_notes else None,
        decisions=tuple(_line(d, carried) for d in decisions) if reads_decisions else None,
        own=_own(own.first(), plan, person) if seat.writes else None,
        years=_years(plan, plans),
        all_url=reverse("debriefs", args=[plan.player_id]),
    )


def _scope(player: Player, seat: Seat, *, shared: bool) -> str:
    if seat.writes:
        sentence = (
            _(
                "%(player)s and the coaches write here together. Shared: support staff and the "
                "academy’s directors read notes and decisions, guardians the decisions."
            )
            if shared
            else _(
                "%(player)s and the coaches write here together. Only %(player)s and the coaches "
                "see these words until you share them."
            )
        )
    elif not shared:
        sentence = _("%(player)s and the coaches have not shared the words of this debrief so far.")
    elif seat.reads_notes_once_shared:
        sentence = _("%(player)s and the coaches write here; you read what they share.")
    else:
        sentence = _("%(player)s and the coaches write here; guardians read the decisions.")
    return sentence % {"player": player.name}


def _notes(debrief: Debrief | None) -> tuple[tuple[str, str], ...]:
    labels = _labels(Debrief)
    return tuple((str(labels[n]), getattr(debrief, n) if debrief else "") for n in labels)


def _own(row: OwnView | None, plan: SeasonPlan, person: Person) -> OwnPart:
    labels = _labels(OwnView)
    return OwnPart(
        answers=tuple(
            (str(label), getattr(row, name)) for name, label in labels.items() if getattr(row, name)
        )
        if row
        else (),
        is_mine=plan.player.person_id == person.pk,
        shared=bool(row and row.shared_at),
    )


def _line(decision: Decision, carried: Mapping[str, str]) -> DecisionLine:
    return DecisionLine(
        id=decision.pk,
        key=str(decision.key),
        text=decision.text,
        owner=decision.owner_name,
        due=day(decision.due),
        what=what_it_sets(decision),
        next_year=carried.get(source_of(decision), ""),
        url=reverse("decision", args=[decision.pk]),
        back_url=reverse("decision-back", args=[decision.pk]),
        taken_back=decision.taken_back_at is not None,
    )


def source_of(decision: Decision) -> str:
    """The name under which next year's plan knows the decision."""
    return f"decision {decision.pk}"


def what_it_sets(decision: Decision) -> str:
    """What a decision sets in next year's plan, in words; nothing for a plain note."""
    if decision.kind == Kind.NOTE:
        return ""
    if decision.kind == Kind.LIMIT:
        return limit_in_words(decision.subject, decision.value)
    if decision.kind == Kind.LEVEL_WORTH:
        return _("Events of level “%(level)s”: worth %(worth)d") % {
            "level": decision.subject,
            "worth": decision.value,
        }
    words = [role_word("target")] if decision.kind == Kind.TARGET else []
    if decision.value is not None:
        words.append(_("worth %(worth)d") % {"worth": decision.value})
    return pgettext("label and value", "%(label)s: %(value)s") % {
        "label": decision.event.name
        if decision.event
        else _("An event that is gone from the calendar"),
        "value": ", ".join(words),
    }


def from_to(start: date, end: date) -> str:
    """`5 Jan 2026 – 3 Jan 2027`, or with one year where both are the same."""
    if start.year == end.year:
        return days_of_year(start, end)
    return f"{plain_day(start)} – {plain_day(end)}"


def days_of_year(start: date, end: date) -> str:
    """`30 Dec – 5 Jan 2027`: with the year of the last day."""
    return pgettext("days of an event and year", "%(days)s %(year)d") % {
        "days": days(start, end),
        "year": end.year,
    }


def plans_beside(plan_id: int, person: Person) -> list[SeasonPlan]:
    """All plans that the person may see of the player whose plan this is, by their first day; the
    plan itself is one of them, unless it is not for the person."""
    plans = SeasonPlan.objects.visible_to(person).filter(player__plans=plan_id)
    return list(
        plans.exclude(~Q(pk=plan_id), standing=SeasonPlan.Standing.REPLACED)
        .select_related("player__academy", "player__home_base")
        .order_by("start", "standing", "pk")
    )


def _years(plan: SeasonPlan, plans: Sequence[SeasonPlan]) -> tuple[YearLink, ...]:
    """The player's seasons in force, oldest first."""
    return tuple(
        YearLink(
            season_name(other.start, other.end),
            reverse("debrief", args=[other.pk]),
            is_here=other.pk == plan.pk,
        )
        for other in plans
        if other.standing == SeasonPlan.Standing.IN_FORCE
    )


@dataclass(frozen=True)
class SeasonLine:
    """One season in the list of a player's debriefs."""

    name: str
    url: str
    when: str
    standing: str
    words: str
    decisions: tuple[str, ...]


def season_lines(player: Player, person: Person, seat: Seat, *, today: date) -> list[SeasonLine]:
    """The player's seasons, the latest first, in three queries however many there are."""
    plans = SeasonPlan.objects.visible_to(person).filter(
        player=player, standing=SeasonPlan.Standing.IN_FORCE
    )
    debriefs = {
        debrief.season_start: debrief
        for debrief in Debrief.objects.visible_to(person)
        .filter(player=player)
        .prefetch_related("decisions")
    }
    return [
        _season_line(plan, debriefs.get(plan.start), seat, today)
        for plan in plans.order_by("-start")
    ]


def _season_line(plan: SeasonPlan, debrief: Debrief | None, seat: Seat, today: date) -> SeasonLine:
    begun = bool(debrief and (debrief.words_at or debrief.decisions.all()))
    words = _("Nothing written so far") if seat.writes else _("Nothing shared so far")
    if begun and debrief:
        words = (
            pgettext("words of a debrief", "Shared")
            if debrief.shared_at
            else pgettext("words of a debrief", "Begun; not shared yet")
        )
    standing = pgettext("season", "Ended") if plan.end < today else _("The year so far")
    return SeasonLine(
        name=season_name(plan.start, plan.end),
        url=reverse("debrief", args=[plan.pk]),
        when=from_to(plan.start, plan.end),
        standing=pgettext("season", "To come") if plan.start > today else standing,
        words=words,
        decisions=tuple(
            decision.text
            for decision in (debrief.decisions.all() if debrief else ())
            if decision.taken_back_at is None
        ),
    )


def decisions_of(debrief: Debrief | None, person: Person) -> list[Decision]:
    """The decisions that the person may read, by the day on which they are due."""
    if debrief is None:
        return []
    rows = Decision.objects.visible_to(person).filter(debrief=debrief)
    return list(rows.select_related("event").order_by("due", "pk"))
