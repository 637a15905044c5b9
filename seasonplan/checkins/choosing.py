"""Who sees what of a player's logs, in words, and the choice of it.

From the academy's age of consent on the player chooses; before that, or while nobody knows the
birth date, a guardian does, and the player sees what was chosen. `sharing.py` says what follows
from a choice; the words here are made from what it says.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from django import forms
from django.db import transaction

from seasonplan.academy.consent import ConsentStanding
from seasonplan.academy.models import Membership, Person, Player, Readers, Role
from seasonplan.academy.requiring import Required, Requirements, requirements_of
from seasonplan.checkins.models import SharingChoice
from seasonplan.checkins.sharing import Choice, Part, Parts, reading, standing_choice
from seasonplan.science.layout.wording import listed

PLANS_SEEN: Final = {
    Role.COACH: "all plans, working copies too",
    Role.DIRECTOR: "all plans, working copies too",
    Role.STAFF: "the plan in force",
    Role.GUARDIAN: "the plan in force",
}

KINDS: Final = (
    (Part.HEALTH, "health"),
    (Part.NOTES, "notes"),
    (Part.THREAD, "replies"),
    (Part.PRIVATE, "private notes"),
)


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
        guardians="Guardians read about health too."
        if now.guardians_read_health
        else "Guardians read nothing about health.",
        required=requirements.now,
        requires=_requires(requirements.now),
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
            role=listed([m.get_role_display().lower() for m in held]),
            plans=seen[0],
            logs=parts_words(read.now),
        )


def parts_words(parts: Parts) -> str:
    """`results, sessions, health and notes`; what is left out of health and notes is said."""
    seen = ["results", "sessions", *(word for part, word in KINDS if part in parts)]
    if Part.TALK in parts and Part.HEALTH not in parts:
        seen.append("the wish to talk")
    left_out = [word for part, word in KINDS[:2] if part not in parts]
    return listed(seen) + (f"; no {' or '.join(left_out)}" if left_out else "")


def readers_words(readers: Readers, player: Player, is_player: bool) -> str:
    """The readers of a kind, in words to the player or about the player."""
    me = "me" if is_player else str(player)
    return {
        Readers.TEAM: f"The coaches and support staff who work with {me}",
        Readers.COACHES: f"Only the coaches who work with {me}",
        Readers.PLAYER: f"Only {me}",
    }[readers]


def _requires(required: Required) -> str:
    who = {Readers.COACHES: "coaches", Readers.TEAM: "coaches and support staff"}
    said = [
        f"{who[readers]} read {kind}"
        for kind, readers in (("about health", required.health), ("notes", required.notes))
        if readers in who
    ]
    return f"requires that {listed(said)}" if said else ""


def _history(rows: list[SharingChoice], player: Player, is_player: bool) -> Iterable[HistoryLine]:
    for row in rows:
        guardians = "guardians read about health" if row.guardians_read_health else ""
        health = readers_words(Readers(row.health), player, is_player)
        notes = readers_words(Readers(row.notes), player, is_player)
        said = [f"health: {_lower(health)}", f"notes: {_lower(notes)}", guardians]
        yield HistoryLine(
            when=f"{row.chosen_at:%-d %B %Y, %H:%M} UTC",
            who=str(row.chosen_by or "Somebody who left")
            + (", as a guardian" if row.by_guardian else ""),
            what="; ".join(part for part in said if part),
        )


def _lower(words: str) -> str:
    return words[0].lower() + words[1:]


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

    def __init__(self, label: str, help_text: str) -> None:
        super().__init__(
            label=label,
            help_text=help_text,
            coerce=lambda value: Readers(int(value)),
            error_messages={
                "required": "Choose one.",
                "invalid_choice": "Choose one of the answers offered.",
            },
        )


class SharingForm(forms.Form):
    """The choice of who reads what, within what the academy requires."""

    health = ReadersField(
        "Health",
        "Energy, soreness, sleep, how a day felt, illness and pain, and what is unlike the usual.",
    )
    notes = ReadersField("Notes", "What went well, what to do differently, and the note of a day.")
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
                (
                    readers.value,
                    readers_words(readers, page.player, page.is_player)
                    + (f" ({page.player.academy} requires more)" if readers < least else ""),
                )
                for readers in sorted(Readers, reverse=True)
            ]
            field.widget.least = least
        mine = "My guardians" if page.is_player else "Guardians"
        self.fields["guardians_read_health"].label = f"{mine} read about health too"

    def _within(self, name: str) -> Readers:
        chosen, least = self.cleaned_data[name], getattr(self.page.required, name)
        if chosen < least:
            who = _lower(readers_words(least, self.page.player, self.page.is_player))
            raise forms.ValidationError(f"{self.page.player.academy} requires at least: {who}.")
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
