"""What is planned and done in one week of a player? The week screen and its edits ask.

A week is read as one `WeekMaterial`: the planned sessions, those of the days before, what was
logged, and the target that follows from the plan in force. Everything else is worked out of it
without another query.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, cast

from django.db.models import F, Q

from seasonplan.academy.models import Person, Player
from seasonplan.checkins.models import SessionLog
from seasonplan.science.session_rules import WeekFinding, judge_week
from seasonplan.science.week_target import Court, Emphasis, PlannedSession, WeekTarget
from seasonplan.science.weeks import monday_of
from seasonplan.training.access import parts_of
from seasonplan.training.models import TrainingSession, TrainingWeek
from seasonplan.training.shaping import rules_of
from seasonplan.training.targets import targets_for

if TYPE_CHECKING:
    from uuid import UUID

WEEK = timedelta(weeks=1)
CHANGEABLE = (
    "day",
    "order",
    "kind",
    "name",
    "court",
    "emphasis",
    "minutes",
    "effort",
    "note",
    "fixed",
)
LOOK_BACK = timedelta(days=7)
"""How many days before a week are read with it: what lies close before its Monday counts, too, and
so does the Monday after it."""


@dataclass(frozen=True)
class WeekMaterial:
    """One week of a player as it stands.

    `player` comes from `access.seen_with_parts`. `week` is None until somebody writes in the week.
    `sessions` are those of its seven days in order, `before` those of the seven days before and
    `after` those of the day after; `done` are the logs of its days, and those that name one of its
    sessions. `target` is None where no season in force holds the week.
    """

    player: Player
    monday: date
    week: TrainingWeek | None
    sessions: tuple[TrainingSession, ...]
    before: tuple[TrainingSession, ...]
    after: tuple[TrainingSession, ...]
    done: tuple[SessionLog, ...] = ()
    target: WeekTarget | None = None

    @property
    def sunday(self) -> date:
        return self.monday + timedelta(days=6)

    @property
    def revision(self) -> int:
        """Which state of the week this is; 0 before its first change."""
        return self.week.revision if self.week else 0

    @property
    def note(self) -> str:
        return self.week.note if self.week else ""

    @property
    def parts(self) -> frozenset[Court]:
        """What the person who asked may change."""
        return parts_of(self.player)

    @property
    def age(self) -> int | None:
        return self.player.age_on(self.monday)

    def session(self, key: str) -> TrainingSession | None:
        return next((row for row in self.sessions if str(row.key) == key), None)

    def log_of(self, key: UUID) -> SessionLog | None:
        """What was logged of the planned session with this key."""
        return next((log for log in self.done if log.planned_key == key), None)

    def findings(self) -> tuple[WeekFinding, ...]:
        """What the week breaks, and what is worth a note; none without a target."""
        if self.target is None:
            return ()
        return judge_week(
            self.target,
            [as_planned(row) for row in self.sessions],
            age=self.age,
            before=[as_planned(row) for row in self.before],
            after=[as_planned(row) for row in self.after],
            rules=rules_of(getattr(self.player, "training", None)),
        )


def read_sessions(player: Player, monday: date) -> WeekMaterial:
    """The planned part of a week, in one query, or two while nothing is planned in it."""
    rows = TrainingSession.objects.filter(
        week__player=player, day__gte=monday - LOOK_BACK, day__lte=monday + WEEK
    ).select_related("week")
    sessions = tuple(row for row in rows if monday <= row.day < monday + WEEK)
    week = (
        sessions[0].week
        if sessions
        else TrainingWeek.objects.filter(player=player, monday=monday).first()
    )
    return WeekMaterial(
        player=player,
        monday=monday,
        week=week,
        sessions=sessions,
        before=tuple(row for row in rows if row.day < monday),
        after=tuple(row for row in rows if row.day == monday + WEEK),
    )


def read_done(person: Person, player: Player, monday: date, keys: Sequence[UUID]) -> list[Any]:
    """What was logged on the days of a week, and of sessions with these keys on any day.

    Minutes and effort of a session are for everybody who sees the player (`checkins/sharing.py`).
    """
    of_the_week = Q(day__gte=monday, day__lt=monday + WEEK) | Q(planned_key__in=keys)
    logs = SessionLog.objects.visible_to(person).filter(of_the_week, player=player)
    return list(logs.order_by("day", "last_written_at", "pk"))


def target_of(player: Player, monday: date) -> WeekTarget | None:
    """What the season in force asks of the week."""
    return next((t for t in targets_for(player, monday) if t.monday == monday), None)


def as_planned(row: TrainingSession) -> PlannedSession:
    """A stored session in the words of the science."""
    return PlannedSession(
        day=row.day,
        order=row.order,
        name=row.name,
        court=cast(Court, row.court),
        emphasis=cast(Emphasis, row.emphasis),
        minutes=row.minutes,
        effort_0_10=row.effort,
        kind=row.kind,
        key=str(row.key),
        fixed=row.fixed,
    )


@dataclass(frozen=True)
class Change:
    """What is to be written of a player's sessions, and what was done in words.

    `added` rows have no week yet: their day says it. `note` is the new note of the week at hand.
    `title` says which change was undone, or done again; `is_undone` which of the two.
    """

    said: str
    added: tuple[TrainingSession, ...] = ()
    saved: tuple[TrainingSession, ...] = ()
    removed: tuple[TrainingSession, ...] = ()
    note: str | None = None
    title: str = ""
    is_undone: bool = False

    def mondays(self) -> set[date]:
        rows = (*self.added, *self.saved, *self.removed)
        return {monday_of(row.day) for row in rows}


def store(
    player: Player,
    change: Change,
    *,
    touched: Iterable[date],
    known: Mapping[date, TrainingWeek | None],
) -> dict[date, TrainingWeek]:
    """Write a change and raise the revision of every week that it touches, or make the week.

    `known` are weeks that were read already, None for one that has no row; a `note` is for all
    that are touched. To be called in a transaction that holds the player. Returns the weeks as
    they are now, by their Monday.
    """
    mondays = sorted(set(touched))
    weeks = {day: copy(week) for day in mondays if (week := known.get(day)) is not None}
    unread = [day for day in mondays if day not in known]
    if unread:
        rows = TrainingWeek.objects.filter(player=player, monday__in=unread)
        weeks |= {week.monday: week for week in rows}
    new = [
        TrainingWeek(player=player, monday=day, note=change.note or "")
        for day in mondays
        if day not in weeks
    ]
    said = {} if change.note is None else {"note": change.note}
    if weeks:
        pks = [week.pk for week in weeks.values()]
        TrainingWeek.objects.filter(pk__in=pks).update(revision=F("revision") + 1, **said)
    for week in weeks.values():
        week.revision += 1
        week.note = said.get("note", week.note)
    if new:
        TrainingWeek.objects.bulk_create(new)
        weeks |= {week.monday: week for week in new}
    if change.removed:
        TrainingSession.objects.filter(pk__in=[row.pk for row in change.removed]).delete()
    if change.saved:
        TrainingSession.objects.bulk_update(change.saved, CHANGEABLE)
    for row in change.added:
        row.week = weeks[monday_of(row.day)]
    if change.added:
        TrainingSession.objects.bulk_create(change.added)
    return weeks


def in_seven_days(monday: date) -> list[date]:
    return [monday + timedelta(days=n) for n in range(7)]
