"""Change a working copy: one transaction and one step of its history a change.

Every change names the revision it was made against. If somebody changed the plan since, it goes on
top of the newer plan where it touches other things; else it is refused (`Conflict`, or `Stale`
where what happened since is not known) and nothing is written.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from seasonplan.academy.models import Person
from seasonplan.events.models import Event
from seasonplan.plans import history
from seasonplan.plans.history import (
    PLAIN,
    Edit,
    Reach,
    Stale,
    State,
    event_thing,
    read_state,
    record,
    with_changes,
)
from seasonplan.plans.laying_out import Material, gather_locked, material_at, state_of
from seasonplan.plans.models import PlannedEvent, SeasonPlan
from seasonplan.plans.operations import NotUnderstood, operation
from seasonplan.plans.terms import entry_word, role_word, standing_word
from seasonplan.science.layout.limits import LIMITS, limits_as_mapping
from seasonplan.science.layout.problem import Limits
from seasonplan.science.words import listed


@dataclass(frozen=True)
class Choice:
    """What the coach says of one event.

    `worth` None takes the usual worth of its role or level; `entry` None leaves it as it is.
    """

    role: str
    worth: int | None
    standing: str
    entry: str | None = None

    def is_plain(self) -> bool:
        """True where it says no more than that the event is a candidate."""
        return (self.role, self.worth, self.standing) == ("open", None, "free") and (
            self.entry in (None, PlannedEvent.Entry.NOT_ENTERED)
        )


def set_limits(
    plan: SeasonPlan, limits: Limits, *, revision: int, by: Person | None = None
) -> None:
    """Keep what differs in these limits from those of the plan at `revision`. Raises Stale."""
    with transaction.atomic():
        history.lock(plan)
        state = read_state(plan)
        asked = limits_as_mapping(limits)
        then = with_changes(state, history.since(plan, state, revision).then)
        after = {
            f"limit:{limit.name}": asked.get(limit.name)
            for limit in LIMITS
            if then.get(f"limit:{limit.name}") != asked.get(limit.name)
        }
        labels = [_(limit.label) for limit in LIMITS if f"limit:{limit.name}" in after]
        title = _("Changed limits")
        if len(labels) == 1:
            title = _("Changed the limit “%(limit)s”") % {"limit": labels[0]}
        record(plan, Edit(title, after), revision=revision, by=by, state=state)


def choose_events(
    plan: SeasonPlan, choices: Mapping[int, Choice], *, revision: int, by: Person | None = None
) -> None:
    """Keep what the coach says of these events, by event id; others stay. Raises Stale."""
    with transaction.atomic():
        history.lock(plan)
        state = read_state(plan)
        after = {
            event_thing(event_id): _chosen(state.get(event_thing(event_id)), choice)
            for event_id, choice in choices.items()
        }
        title = ngettext("Chose %(count)d event", "Chose %(count)d events", len(choices)) % {
            "count": len(choices)
        }
        if len(choices) == 1:
            [(event_id, choice)] = choices.items()
            title = _title(Event.objects.get(pk=event_id).name, choice)
        record(plan, Edit(title, after), revision=revision, by=by, state=state)


def _chosen(now: Mapping[str, Any] | None, choice: Choice) -> dict[str, Any] | None:
    said = {"role": choice.role, "worth": choice.worth, "standing": choice.standing}
    if choice.entry is not None:
        said["entry"] = choice.entry
    value = {**(now or PLAIN), **said}
    return None if value == PLAIN else value


def _title(name: str, choice: Choice) -> str:
    words = [role_word(choice.role)]
    if choice.worth is not None:
        words.append(_("worth %(worth)d") % {"worth": choice.worth})
    if choice.standing != PlannedEvent.Standing.FREE:
        words.append(standing_word(choice.standing))
    if choice.entry is not None and choice.entry != PlannedEvent.Entry.NOT_ENTERED:
        words.append(entry_word(choice.entry))
    return pgettext("label and value", "%(label)s: %(value)s") % {
        "label": name,
        "value": ", ".join(words),
    }


def set_level_worths(
    plan: SeasonPlan,
    worths: Mapping[str, int | None],
    *,
    revision: int,
    by: Person | None = None,
) -> None:
    """Keep what events of these levels are usually worth; None forgets it. Raises Stale."""
    with transaction.atomic():
        history.lock(plan)
        state = read_state(plan)
        then = with_changes(state, history.since(plan, state, revision).then)
        after = {
            f"level:{level}": worth
            for level, worth in worths.items()
            if then.get(f"level:{level}") != worth
        }
        levels = sorted(thing.removeprefix("level:") for thing in after)
        title = _("Changed nothing")
        if levels:
            title = _("Changed the worth of %(levels)s") % {"levels": listed(levels)}
        record(plan, Edit(title, after), revision=revision, by=by, state=state)


def rename_plan(plan: SeasonPlan, name: str, *, revision: int, by: Person | None = None) -> None:
    """Give a working copy another name. Raises Stale."""
    title = _("Renamed to “%(name)s”") % {"name": name}
    record(plan, Edit(title, {"name": name}), revision=revision, by=by)


# By hand, on the season screen -------------------------------------------------------------------


@dataclass(frozen=True)
class Done:
    """An edit that is made.

    `before` is the plan as the page that asked shows it, or None where that is not known; `said`
    names what was done; `reach` is what can be undone and redone now.
    """

    before: Material | None
    after: Material
    said: str
    reach: Reach


def edit_by_hand(
    person: Person, plan_id: int, asked: str | Callable[[Material], Edit], *, revision: int
) -> Done:
    """Do what a button's words ask for: an operation, `undo 12` or `redo 12` (a step's number).

    In place of words, a function that makes the edit from the plan that the coach saw. 404 and 403
    as everywhere. Raises NotUnderstood, NotPossible, Stale and Conflict.
    """
    with transaction.atomic():
        plan = SeasonPlan.objects.locked_for(person, plan_id)
        material = gather_locked(plan)
        state = state_of(material)
        before = _as_shown(material, state, revision)
        verb, _space, number = asked.partition(" ") if isinstance(asked, str) else ("", "", "")
        if verb in ("undo", "redo"):
            return _again(material, state, before, verb, _number(number), by=person)
        if before is None:
            raise Stale
        # Made on the plan that the coach saw: it holds on the newer one where nothing clashes.
        edit = operation(before, asked) if isinstance(asked, str) else asked(before)
        edit = replace(edit, after=_own(before, edit))
        step = record(plan, edit, revision=revision, by=person, state=state)
    return Done(
        before=before,
        after=material_at(material, with_changes(state, edit.after)),
        said=edit.title,
        reach=Reach(step, None) if step else history.reach(plan),
    )


def _own(before: Material, edit: Edit) -> dict[str, Any]:
    """What the edit changes in the plan that it was made on."""
    changes = history.changes_between(state_of(before), edit.after)
    return {thing: value for thing, (_old, value) in changes.items()}


def choice_of(event_id: int, choice: Choice) -> Callable[[Material], Edit]:
    """What makes the edit that keeps a choice of one event. It raises NotUnderstood."""

    def edit(material: Material) -> Edit:
        names = {event.pk: event.name for event in material.events}
        if event_id not in names:
            raise NotUnderstood
        thing = event_thing(event_id)
        row = material.planned.get(event_id)
        value = _chosen(history.said_of_event(row) if row else None, choice)
        return Edit(_title(names[event_id], choice), {thing: value})

    return edit


def _number(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise NotUnderstood
    return int(text)


def as_shown(material: Material, revision: int) -> Material | None:
    """The plan at an earlier revision, or None where what happened since is not known."""
    return _as_shown(material, state_of(material), revision)


def _as_shown(material: Material, state: State, revision: int) -> Material | None:
    try:
        past = history.since(material.plan, state, revision)
    except Stale:
        return None
    return material_at(material, with_changes(state, past.then))


def _again(
    material: Material,
    state: State,
    before: Material | None,
    verb: str,
    number: int,
    *,
    by: Person,
) -> Done:
    undone = verb == "undo"
    again = history.undo if undone else history.redo
    try:
        step, reach = again(material.plan, number, by=by, state=state)
    except history.NothingThere:
        raise Stale from None
    then = {t: (old if undone else new) for t, (old, new) in step.changes.items()}
    return Done(
        before=before,
        after=material_at(material, with_changes(state, then)),
        said=(_("Undone: %(step)s") if undone else _("Done again: %(step)s"))
        % {"step": step.title},
        reach=reach,
    )
