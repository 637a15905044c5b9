"""What a coach does to a plan by hand, from the words of a button to an `Edit` with its name.

`take-out 7` takes the event with that id out; `edge 2027-03-01 -1` lets the block that begins on
that Monday begin a week earlier. The screen's buttons, its keys and a drag all send such words.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from seasonplan.plans.history import (
    EVENT_FIELDS,
    PLAIN,
    Edit,
    beginnings,
    event_thing,
    week_thing,
)
from seasonplan.plans.laying_out import Material
from seasonplan.plans.models import Block, EventRole, PlannedEvent
from seasonplan.plans.terms import phase_word
from seasonplan.science.weeks import iso_label

Standing = PlannedEvent.Standing
PHASES: Final = dict(Block.Phase.choices)


class NotUnderstood(Exception):
    """The words ask for nothing that can be done to this plan."""


class NotPossible(Exception):
    """Why this cannot be done, and what to do instead, in one sentence."""


def operation(material: Material, words: str) -> Edit:
    """The edit that these words ask for. Raises NotUnderstood and NotPossible."""
    verb, _space, rest = words.partition(" ")
    first, _space, second = rest.partition(" ")
    if verb in _EVENTS:
        return _EVENTS[verb](material, _event_id(material, first), second)
    if verb in _BLOCKS:
        return _BLOCKS[verb](material, _monday(material, first), second)
    raise NotUnderstood


def _event_id(material: Material, text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise NotUnderstood
    if all(event.pk != int(text) for event in material.events):
        raise NotUnderstood
    return int(text)


def _monday(material: Material, text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise NotUnderstood from None
    if day.weekday() or not material.plan.start <= day <= material.plan.end:
        raise NotUnderstood
    return day


def week_number(day: date) -> int:
    return int(iso_label(day).split("W")[1])


# Events ------------------------------------------------------------------------------------------


def _name(material: Material, event_id: int) -> str:
    return next(event.name for event in material.events if event.pk == event_id)


def _now(material: Material, event_id: int) -> dict[str, Any]:
    row = material.planned.get(event_id)
    return {name: getattr(row, name) for name in EVENT_FIELDS} if row else dict(PLAIN)


def _set(material: Material, event_id: int, title: str, **new: Any) -> Edit:
    value: dict[str, Any] | None = _now(material, event_id) | new
    return Edit(title, {event_thing(event_id): None if value == PLAIN else value})


def _refuse_if_cancelled(material: Material, event_id: int) -> None:
    event = next(event for event in material.events if event.pk == event_id)
    if event.cancelled:
        raise NotPossible(
            _("%(event)s is cancelled. Put in another event of that week.") % {"event": event.name}
        )


def _put_in(material: Material, event_id: int, _text: str) -> Edit:
    _refuse_if_cancelled(material, event_id)
    standing = _now(material, event_id)["standing"]
    return _set(
        material,
        event_id,
        _("Put in %(event)s") % {"event": _name(material, event_id)},
        played=True,
        standing=Standing.FREE.value if standing == Standing.RULED_OUT else standing,
    )


def _take_out(material: Material, event_id: int, _text: str) -> Edit:
    standing = _now(material, event_id)["standing"]
    return _set(
        material,
        event_id,
        _("Took out %(event)s") % {"event": _name(material, event_id)},
        played=False,
        standing=Standing.FREE.value if standing == Standing.PINNED else standing,
    )


def _pin(material: Material, event_id: int, _text: str) -> Edit:
    _refuse_if_cancelled(material, event_id)
    title = _("Pinned %(event)s") % {"event": _name(material, event_id)}
    return _set(material, event_id, title, played=True, standing=Standing.PINNED.value)


def _free(material: Material, event_id: int, _text: str) -> Edit:
    was_out = _now(material, event_id)["standing"] == Standing.RULED_OUT
    done = _("Let in again: %(event)s") if was_out else _("Unpinned: %(event)s")
    title = done % {"event": _name(material, event_id)}
    return _set(material, event_id, title, standing=Standing.FREE.value)


def _rule_out(material: Material, event_id: int, _text: str) -> Edit:
    title = _("Ruled out %(event)s") % {"event": _name(material, event_id)}
    return _set(material, event_id, title, played=False, standing=Standing.RULED_OUT.value)


def _role(material: Material, event_id: int, text: str) -> Edit:
    if text not in EventRole.values:
        raise NotUnderstood
    now = {
        EventRole.TARGET: _("%(event)s is target now"),
        EventRole.BUILD_UP: _("%(event)s is build-up now"),
        EventRole.OPEN: _("%(event)s is open now"),
    }[EventRole(text)]
    title = now % {"event": _name(material, event_id)}
    return _set(material, event_id, title, role=text)


def _worth(material: Material, event_id: int, text: str) -> Edit:
    name = _name(material, event_id)
    if text == "usual":
        title = _("%(event)s has its usual worth") % {"event": name}
        return _set(material, event_id, title, worth=None)
    if not (text.isascii() and text.isdigit() and len(text) < 4 and int(text) <= 100):
        raise NotPossible(
            _("%(event)s keeps its worth: give a whole number from 0 to 100.") % {"event": name}
        )
    title = _("%(event)s is worth %(worth)d") % {"event": name, "worth": int(text)}
    return _set(material, event_id, title, worth=int(text))


_EVENTS: Final[Mapping[str, Callable[[Material, int, str], Edit]]] = {
    "put-in": _put_in,
    "take-out": _take_out,
    "pin": _pin,
    "free": _free,
    "rule-out": _rule_out,
    "role": _role,
    "worth": _worth,
}


# Blocks ------------------------------------------------------------------------------------------


def _starts(material: Material) -> list[tuple[date, str]]:
    """Where phases begin, in order, with the phase."""
    found = beginnings(material.plan, material.blocks)
    return sorted((date.fromisoformat(t.removeprefix("from:")), p) for t, p in found.items())


def _at(material: Material, monday: date) -> int:
    """Which of the beginnings is in this week."""
    found = [i for i, (start, _) in enumerate(_starts(material)) if start == monday]
    if not found:
        raise NotPossible(
            _("No block begins in week %(week)d any more.") % {"week": week_number(monday)}
        )
    return found[0]


def _phase_name(phase: str) -> str:
    return str(PHASES[phase]) if phase else pgettext("phase", "Time without a phase")


def _edge(material: Material, monday: date, text: str) -> Edit:
    """Let a block begin some weeks later, or earlier; as far as the blocks beside it allow."""
    if text.removeprefix("-") not in {str(n) for n in range(1, 107)}:
        raise NotUnderstood
    index, starts = _at(material, monday), _starts(material)
    if index == 0:
        raise NotPossible(_("The first block begins with the season: that does not move."))
    phase = starts[index][1]
    first = starts[index - 1][0] + timedelta(weeks=1)
    last = starts[index + 1][0] if len(starts) > index + 1 else _after(material)
    new = min(max(monday + timedelta(weeks=int(text)), first), last - timedelta(weeks=1))
    if new == monday:
        short = starts[index][1] if int(text) > 0 else starts[index - 1][1]
        raise NotPossible(
            _(
                "%(phase)s has one week left. To be rid of it, open it and join it with "
                "the block before."
            )
            % {"phase": _phase_name(short)}
        )
    weeks = (new - monday).days // 7
    moved = (
        ngettext(
            "%(phase)s begins in week %(week)d, %(count)d week later",
            "%(phase)s begins in week %(week)d, %(count)d weeks later",
            abs(weeks),
        )
        if weeks > 0
        else ngettext(
            "%(phase)s begins in week %(week)d, %(count)d week earlier",
            "%(phase)s begins in week %(week)d, %(count)d weeks earlier",
            abs(weeks),
        )
    )
    title = moved % {
        "phase": _phase_name(phase),
        "week": week_number(new),
        "count": abs(weeks),
    }
    between = range(min(weeks, 0), max(weeks, 0) + 1)
    return Edit(
        title,
        {week_thing(monday): None, week_thing(new): phase},
        reads=frozenset(week_thing(monday + timedelta(weeks=n)) for n in between),
    )


def _after(material: Material) -> date:
    return material.plan.end + timedelta(days=1)


def _phase(material: Material, monday: date, text: str) -> Edit:
    if text not in PHASES:
        raise NotUnderstood
    was = _starts(material)[_at(material, monday)][1]
    title = _("From week %(week)d: %(phase)s, not %(before)s") % {
        "week": week_number(monday),
        "phase": _said(text),
        "before": _said(was),
    }
    return Edit(title, {week_thing(monday): text})


def _said(phase: str) -> str:
    """The phase within a sentence."""
    return phase_word(phase) if phase else pgettext("within a sentence", "time without a phase")


def _begin(material: Material, monday: date, text: str) -> Edit:
    """Begin another block in a week: what was one block becomes two."""
    if text not in PHASES:
        raise NotUnderstood
    title = _("Added %(phase)s from week %(week)d") % {
        "phase": _said(text),
        "week": week_number(monday),
    }
    before = [start for start, _ in _starts(material) if start < monday]
    reads = frozenset(week_thing(start) for start in before[-1:])
    return Edit(title, {week_thing(monday): text}, reads=reads)


def _join(material: Material, monday: date, _text: str) -> Edit:
    """Take a block away: its weeks go to the block before, the first one's to the block after."""
    index, starts = _at(material, monday), _starts(material)
    if len(starts) == 1:
        raise NotPossible(_("This is the only block. Change its phase, or begin another in it."))
    title = _("Removed %(phase)s from week %(week)d") % {
        "phase": _said(starts[index][1]),
        "week": week_number(monday),
    }
    if index:
        reads = frozenset({week_thing(starts[index - 1][0])})
        return Edit(title, {week_thing(monday): None}, reads=reads)
    later, phase = starts[1]
    return Edit(title, {week_thing(monday): phase, week_thing(later): None})


_BLOCKS: Final[Mapping[str, Callable[[Material, date, str], Edit]]] = {
    "edge": _edge,
    "phase": _phase,
    "begin": _begin,
    "join": _join,
}
