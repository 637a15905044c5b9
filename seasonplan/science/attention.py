"""Who needs attention first, and why, in words. The academy page asks.

The order says what somebody can do something about, and how soon it is too late for it. It is a
rule of thumb, common practice, no source; nothing in it compares players with one another, and
load has no part in it. A reason that the reader may not know is never given in, so two readers can
see two orders.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import IntEnum
from typing import Final, Literal

from seasonplan.science.words import N_, _, ngettext, weekday_day

SOON_DAYS: Final = 3
"""A deadline within so many days goes before a broken plan (practice)."""

IN_SIGHT_DAYS: Final = 14
"""A deadline within so many days is a reason (practice)."""

TOLD_WITHIN_DAYS: Final = 14
"""An event without a check-in is asked about for so long after its end (practice)."""

CLOSED_DAYS: Final = 14
"""A deadline that passed without an entry is a reason for so long (practice)."""


class Matter(IntEnum):
    """What a reason is about, the most urgent first."""

    ASKS_TO_TALK = 1
    UNLIKE_TODAY = 2
    DUE_SOON = 3
    CANNOT_BE_PLAYED = 4
    NO_SEASON = 5
    CLOSED = 6
    UNLIKE = 7
    DUE = 8
    NOT_TOLD = 9
    BROKEN = 10


NextStep = Literal["", "home base", "season", "put in force", "lay out"]

_STEPS: Final[dict[NextStep, str]] = {
    "home base": N_("Has no home base, from which every trip begins."),
    "season": N_("Has no season plan yet."),
    "put in force": N_("Has a working copy, but no plan in force."),
    "lay out": N_("The plan in force is not laid out."),
}


@dataclass(frozen=True, slots=True)
class Deadline:
    """The last day to enter an event (`entry`) or to withdraw from it (`withdrawal`)."""

    kind: Literal["entry", "withdrawal"]
    day: date
    event: str

    @property
    def words(self) -> str:
        """`Enter Harbour Trophy by Thu 4 Mar`."""
        text = (
            _("Enter %(event)s by %(day)s")
            if self.kind == "entry"
            else _("Withdraw from %(event)s by %(day)s")
        )
        return text % {"event": self.event, "day": weekday_day(self.day)}


@dataclass(frozen=True, slots=True)
class Situation:
    """What is known of one player on one day, as far as the reader may know it.

    `asks_to_talk` is the day of an unread log in which the player does; `unlike_usual` are the
    sentences of `wellbeing.flags` about the log of the day `unlike_on`, and `unlike_today` says
    that one of them is worth a talk today. `deadlines` are to come, `closed` have passed while the
    event was not entered. Of `findings` broken rules `impossible` are never to be broken, and
    `worst` is the sentence of the worst. `untold` is an event that is over without a check-in, and
    its last day. `next_step` is what a season lacks.
    """

    name: str
    key: int
    asks_to_talk: date | None = None
    unlike_usual: tuple[str, ...] = ()
    unlike_on: date | None = None
    unlike_today: bool = False
    deadlines: tuple[Deadline, ...] = ()
    closed: tuple[Deadline, ...] = ()
    findings: int = 0
    impossible: int = 0
    worst: str = ""
    untold: tuple[str, date] | None = None
    next_step: NextStep = ""


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason to look at a player; `day` is since when or until when, if that is known."""

    matter: Matter
    day: date | None
    words: str


def reasons(situation: Situation, *, today: date) -> tuple[Reason, ...]:
    """Every reason to look at this player today, the most urgent first; often there is none.

    Within one matter the earlier day comes first, and then what was given first.
    """
    found = sorted(_reasons(situation, today), key=lambda r: (r.matter, r.day or date.max))
    return tuple(found)


def attention_order(
    situation: Situation, found: tuple[Reason, ...]
) -> tuple[int, date, int, str, int]:
    """What to sort players by.

    First what their first reason is about; then its day, so that who has waited longest, or has
    least time left, comes first; then how many reasons there are; then the name and the key. Who
    gives no reason comes last.
    """
    first = found[0] if found else None
    return (
        first.matter if first else len(Matter) + 1,
        (first.day if first else None) or date.max,
        -len(found),
        situation.name.casefold(),
        situation.key,
    )


def in_days(day: date, today: date) -> str:
    """`today`, `tomorrow`, `in 5 days`, `yesterday` or `5 days ago`."""
    left = (day - today).days
    if abs(left) < 2:
        return (_("yesterday"), _("today"), _("tomorrow"))[left + 1]
    if left > 0:
        return ngettext("in %(count)d day", "in %(count)d days", left) % {"count": left}
    return ngettext("%(count)d day ago", "%(count)d days ago", -left) % {"count": -left}


def _reasons(situation: Situation, today: date) -> Iterator[Reason]:
    if situation.asks_to_talk:
        words = _("Asks to talk, in the log of %(day)s.") % {
            "day": weekday_day(situation.asks_to_talk)
        }
        yield Reason(Matter.ASKS_TO_TALK, situation.asks_to_talk, words)
    if situation.unlike_usual:
        matter = Matter.UNLIKE_TODAY if situation.unlike_today else Matter.UNLIKE
        yield Reason(matter, situation.unlike_on, situation.unlike_usual[0])
    yield from _due(situation, today)
    if situation.next_step:
        yield Reason(Matter.NO_SEASON, None, _(_STEPS[situation.next_step]))
    if situation.findings:
        matter = Matter.CANNOT_BE_PLAYED if situation.impossible else Matter.BROKEN
        more = situation.findings - 1
        words = situation.worst
        if more:
            words = ngettext(
                "%(worst)s And %(count)d more broken rule.",
                "%(worst)s And %(count)d more broken rules.",
                more,
            ) % {"worst": situation.worst, "count": more}
        yield Reason(matter, None, words)
    if situation.untold:
        event, end = situation.untold
        if 0 < (today - end).days <= TOLD_WITHIN_DAYS:
            words = _("No check-in after %(event)s, which ended on %(day)s.") % {
                "event": event,
                "day": weekday_day(end),
            }
            yield Reason(Matter.NOT_TOLD, end, words)


def _due(situation: Situation, today: date) -> Iterator[Reason]:
    for deadline in situation.deadlines:
        left = (deadline.day - today).days
        if 0 <= left <= IN_SIGHT_DAYS:
            matter = Matter.DUE_SOON if left <= SOON_DAYS else Matter.DUE
            words = f"{deadline.words}, {in_days(deadline.day, today)}."
            yield Reason(matter, deadline.day, words)
    for deadline in situation.closed:
        if 0 < (today - deadline.day).days <= CLOSED_DAYS:
            words = _(
                "Entries for %(event)s closed on %(day)s, and it is not marked as entered."
            ) % {"event": deadline.event, "day": weekday_day(deadline.day)}
            yield Reason(Matter.CLOSED, deadline.day, words)
