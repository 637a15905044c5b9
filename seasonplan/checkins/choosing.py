"""Who sees what of a player's logs, in words, and the choice of it.

From the academy's age of consent on the player chooses; before that, or while nobody knows the
birth date, a guardian does, and the player sees what was chosen. `sharing.py` says what follows
from a choice; the words here are made from what it says.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final

from django import forms
from django.db import transaction
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext

from seasonplan.academy.consent import ConsentStanding
from seasonplan.academy.models import Membership, Person, Player, Readers, Role
from seasonplan.academy.requiring import Required, Requirements, requirements_of
from seasonplan.checkins.models import SharingChoice
from seasonplan.checkins.sharing import Choice, Part, Parts, reading, standing_choice
from seasonplan.checkins.terms import role_word
from seasonplan.science.words import listed

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

PLANS_SEEN: Final = {
    Role.COACH: gettext_lazy("all plans, working copies too"),
    Role.DIRECTOR: gettext_lazy("all plans, working copies too"),
    Role.STAFF: gettext_lazy("the plan in force"),
    Role.GUARDIAN: gettext_lazy("the plan in force"),
}


@dataclass(frozen=True)
class ReaderLine:
    """One person, and what they see of the logs now."""

    name: str
    role: str
    plans: str
    logs: str


@dataclass(frozen=True)
class HistoryLine:
    when: str
    who: str
    what: str


@dataclass(frozen=True)
class SharingPage:
    """`decides`: this person chooses. `waits`: nobody reads more than results until consent."""

    player: Player
    is_player: bool
    readers: tuple[ReaderLine, ...]
    health: str
    notes: str
    guardians: str
    required: Required
    requires: str
    decides: bool
    by_guardian: bool
    waits: bool
    history: tuple[HistoryLine, ...]
    choice: Choice


def sharing_page(player: Player, person: Person, standing: ConsentStanding) -> SharingPage:
    """The page for the player or a guardian, in a number of queries that does not grow."""
    is_player = player.person_id == person.pk
    rows = list(player.sharing_choices.select_related("chosen_by"))
    requirements = requirements_of(player.academy)
    team = list(player.team.select_related("person").order_by("role", "person__name", "pk"))
    directors = list(
        player.academy.memberships.filter(role=Role.DIRECTOR)
        .select_related("person")
        .order_by("person__name", "pk")
    )
    chosen = standing_choice(rows, standing)
    now = chosen.at_least(requirements, None)
    return SharingPage(
        player=player,
        is_player=is_player,
        readers=tuple(_readers(player, standing, [*team, *directors], rows, requirements)),
        health=readers_words(now.health, player, is_player),
        notes=readers_words(now.notes, player, is_player),
        guardians=_("Guardians read about health too.")
        if now.guardians_read_health
        else _("Guardians read nothing about health."),
        required=requirements.now,
        requires=_requires(player, requirements.now),
        decides=decides(player, person, standing, team),
        by_guardian=standing.needed,
        waits=not standing.allows,
        history=tuple(_history(rows, player, is_player)),
        choice=chosen,
    )


def decides(
    player: Player, person: Person, standing: ConsentStanding, team: Iterable[Membership]
) -> bool:
    """Whether the choice is this person's: a guardian's while consent is needed, then the
    player's."""
    if standing.needed:
        return any(m.role == Role.GUARDIAN and m.person_id == person.pk for m in team)
    return player.person_id == person.pk


def _readers(
    player: Player,
    standing: ConsentStanding,
    memberships: list[Membership],
    rows: list[SharingChoice],
    requirements: Requirements,
) -> Iterable[ReaderLine]:
    """Everybody beside the player who sees something, each person once."""
    roles: dict[Person, list[Membership]] = {}
    for membership in memberships:
        roles.setdefault(membership.person, []).append(membership)
    for person, held in roles.items():
        if person.pk == player.person_id:
            continue
        read = reading(
            player, standing, is_player=False, roles=[m.role for m in held],
            rows=rows, requirements=requirements,
        )  # fmt: skip
        seen = [plans for role, plans in PLANS_SEEN.items() if role in {m.role for m in held}]
        yield ReaderLine(
            name=str(person),
            role=listed([role_word(m.role) for m in held]),
            plans=str(seen[0]),
            logs=parts_words(read.now),
        )


def parts_words(parts: Parts) -> str:
    """`results, sessions, health and notes`; what is left out of health and notes is said."""
    kinds = (
        (Part.HEALTH, pgettext("part of the logs", "health")),
        (Part.NOTES, pgettext("part of the logs", "notes")),
        (Part.THREAD, pgettext("part of the logs", "replies")),
        (Part.PRIVATE, pgettext("part of the logs", "private notes")),
    )
    seen = [pgettext("part of the logs", "results"), pgettext("part of the logs", "sessions")]
    seen += [word for part, word in kinds if part in parts]
    if Part.TALK in parts and Part.HEALTH not in parts:
        seen.append(_("the wish to talk"))
    left_out = {
        (False, False): _("no health or notes"),
        (False, True): _("no health"),
        (True, False): _("no notes"),
    }.get((Part.HEALTH in parts, Part.NOTES in parts))
    if not left_out:
        return listed(seen)
    return _("%(seen)s; %(left_out)s") % {"seen": listed(seen), "left_out": left_out}


def readers_words(readers: Readers, player: Player, is_player: bool) -> str:
    """The readers of a kind, in words to the player or about the player."""
    if is_player:
        return {
            Readers.TEAM: _("The coaches and support staff who work with me"),
            Readers.COACHES: _("Only the coaches who work with me"),
            Readers.PLAYER: _("Only me"),
        }[readers]
    return {
        Readers.TEAM: _("The coaches and support staff who work with %(player)s"),
        Readers.COACHES: _("Only the coaches who work with %(player)s"),
        Readers.PLAYER: pgettext("readers", "Only %(player)s"),
    }[readers] % {"player": player}


def _readers_within(readers: Readers, player: Player, is_player: bool) -> str:
    """The same within a sentence."""
    if is_player:
        return {
            Readers.TEAM: _("the coaches and support staff who work with me"),
            Readers.COACHES: _("only the coaches who work with me"),
            Readers.PLAYER: _("only me"),
        }[readers]
    return {
        Readers.TEAM: _("the coaches and support staff who work with %(player)s"),
        Readers.COACHES: _("only the coaches who work with %(player)s"),
        Readers.PLAYER: pgettext("readers", "only %(player)s"),
    }[readers] % {"player": player}


def _requires(player: Player, required: Required) -> str:
    health = {
        Readers.COACHES: _("coaches read about health"),
        Readers.TEAM: _("coaches and support staff read about health"),
    }.get(required.health)
    notes = {
        Readers.COACHES: _("coaches read notes"),
        Readers.TEAM: _("coaches and support staff read notes"),
    }.get(required.notes)
    if said := [part for part in (health, notes) if part]:
        return _("%(academy)s requires that %(parts)s.") % {
            "academy": player.academy,
            "parts": listed(said),
        }
    return ""


def _history(rows: list[SharingChoice], player: Player, is_player: bool) -> Iterable[HistoryLine]:
    for row in rows:
        health = _readers_within(Readers(row.health), player, is_player)
        notes = _readers_within(Readers(row.notes), player, is_player)
        said = [_("health: %(readers)s") % {"readers": health}]
        said.append(_("notes: %(readers)s") % {"readers": notes})
        if row.guardians_read_health:
            said.append(_("guardians read about health"))
        who = str(row.chosen_by or _("Somebody who left"))
        yield HistoryLine(
            when=_("%(day)s, %(time)s UTC")
            % {
                "day": date_format(row.chosen_at, "DATE_FORMAT"),
                "time": f"{row.chosen_at:%H:%M}",
            },
            who=_("%(person)s, as a guardian") % {"person": who} if row.by_guardian else who,
            what=pgettext("between clauses", "; ").join(said),
        )


# Choosing ------------------------------------------------------------------------------------


class ReadersWidget(forms.RadioSelect):
    """Answers below what the academy requires are there, greyed."""

    least: Readers = Readers.PLAYER

    def create_option(self, name: str, value: Any, *args: Any, **kwargs: Any) -> dict[str, Any]:
        option: dict[str, Any] = super().create_option(name, value, *args, **kwargs)
        if int(value) < self.least:
            option["attrs"]["disabled"] = True
        return option


class ReadersField(forms.TypedChoiceField):
    """Who reads one kind, from the most to the fewest."""

    widget = ReadersWidget

    def __init__(self, label: StrOrPromise, help_text: StrOrPromise) -> None:
        super().__init__(
            label=label,
            help_text=help_text,
            coerce=lambda value: Readers(int(value)),
            error_messages={
                "required": gettext_lazy("Choose one."),
                "invalid_choice": gettext_lazy("Choose one of the answers offered."),
            },
        )


class SharingForm(forms.Form):
    """The choice of who reads what, within what the academy requires."""

    health = ReadersField(
        gettext_lazy("Health"),
        gettext_lazy(
            "Energy, soreness, sleep, how a day felt, illness and pain, and what is unlike the "
            "usual."
        ),
    )
    notes = ReadersField(
        gettext_lazy("Notes"),
        gettext_lazy("What went well, what to do differently, and the note of a day."),
    )
    guardians_read_health = forms.BooleanField(required=False)

    def __init__(self, data: Any, *, page: SharingPage) -> None:
        initial = {
            "health": max(page.choice.health, page.required.health),
            "notes": max(page.choice.notes, page.required.notes),
            "guardians_read_health": page.choice.guardians_read_health,
        }
        super().__init__(data, initial=initial)
        self.page = page
        for name in ("health", "notes"):
            field, least = self.fields[name], getattr(page.required, name)
            field.choices = [  # type: ignore[attr-defined]
                (readers.value, self._answer(readers, offered=readers >= least))
                for readers in sorted(Readers, reverse=True)
            ]
            field.widget.least = least
        self.fields["guardians_read_health"].label = (
            _("My guardians read about health too")
            if page.is_player
            else _("Guardians read about health too")
        )

    def _answer(self, readers: Readers, *, offered: bool) -> str:
        words = readers_words(readers, self.page.player, self.page.is_player)
        if offered:
            return words
        return _("%(readers)s (%(academy)s requires more)") % {
            "readers": words,
            "academy": self.page.player.academy,
        }

    def _within(self, name: str) -> Readers:
        chosen, least = self.cleaned_data[name], getattr(self.page.required, name)
        if chosen < least:
            raise forms.ValidationError(
                _("%(academy)s requires at least: %(readers)s.")
                % {
                    "academy": self.page.player.academy,
                    "readers": _readers_within(least, self.page.player, self.page.is_player),
                }
            )
        readers: Readers = chosen
        return readers

    def clean_health(self) -> Readers:
        return self._within("health")

    def clean_notes(self) -> Readers:
        return self._within("notes")

    @property
    def choice(self) -> Choice:
        given = self.cleaned_data
        return Choice(given["health"], given["notes"], given["guardians_read_health"])


@transaction.atomic
def choose(player: Player, choice: Choice, *, by: Person, by_guardian: bool, now: datetime) -> None:
    """Keep a choice; the same once more, by the same side, is no change."""
    last = player.sharing_choices.first()
    before = last and (last.health, last.notes, last.guardians_read_health, last.by_guardian)
    if before == (choice.health, choice.notes, choice.guardians_read_health, by_guardian):
        return
    SharingChoice.objects.create(
        player=player,
        health=choice.health,
        notes=choice.notes,
        guardians_read_health=choice.guardians_read_health,
        chosen_by=by,
        by_guardian=by_guardian,
        chosen_at=now,
    )
