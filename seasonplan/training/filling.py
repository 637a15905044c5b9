"""Fill weeks of a player with sessions: the press of a button, and the demo's whole season.

What was put or changed by hand stays, and so do days before today, what was done already, and the
part that somebody else plans. A session that comes out of the filler as it was keeps its key, so
that a log of it on a phone still finds it.
"""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from django.db import transaction

from seasonplan.academy.models import Player
from seasonplan.checkins.models import SessionLog
from seasonplan.science.sessions import fill_week
from seasonplan.science.week_target import Court, PlannedSession, SessionKind, WeekTarget
from seasonplan.science.weeks import monday_of
from seasonplan.training.library import kinds_of
from seasonplan.training.models import TrainingSession, TrainingWeek
from seasonplan.training.shaping import rules_of
from seasonplan.training.targets import targets_for
from seasonplan.training.weeks import LOOK_BACK, WEEK, Change, as_planned, store

BOTH: frozenset[Court] = frozenset({"on court", "off court"})


def lock_player(players: Any, player_id: int) -> Player | None:
    """The player of this queryset, held until the transaction is over: one hand at a time writes
    in the weeks of a player, also where a week has no row yet. Logs may arrive meanwhile."""
    rows = players.filter(pk=player_id)
    found: Player | None = rows.select_for_update(of=("self",), no_key=True).first()
    return found


def fill_weeks(
    player: Player, mondays: Sequence[date], *, today: date, parts: frozenset[Court] = BOTH
) -> list[TrainingWeek]:
    """Fill these weeks, each after the one before it, and return their rows.

    One transaction with a fixed number of queries; only the inserts of many weeks go in as many
    statements as the database asks for. Weeks that no season in force holds are left as they are.
    """
    with transaction.atomic():
        locked = lock_player(Player.objects.select_related("academy", "training"), player.pk)
        if locked is None:
            return []
        targets = targets_of(locked, mondays)
        if not targets:
            return []
        first, last = min(targets), max(targets)
        rows = TrainingSession.objects.filter(
            week__player=locked, day__gte=first - LOOK_BACK, day__lte=last + WEEK
        ).select_related("week")
        change = filled(
            locked,
            targets,
            rows,
            kinds_of(locked.academy),
            done=done_keys(locked, first, last + WEEK),
            today=today,
            parts=parts,
        )
        weeks = store(
            locked,
            change,
            touched=targets,
            known={monday_of(row.day): row.week for row in rows if row.day >= first},
        )
    return [weeks[monday] for monday in sorted(weeks)]


def targets_of(player: Player, mondays: Iterable[date]) -> dict[date, WeekTarget]:
    """The targets of these weeks, asking once for every season that they lie in."""
    found: dict[date, WeekTarget] = {}
    wanted = sorted(set(mondays))
    seen: set[date] = set()
    for monday in wanted:
        if monday in seen:
            continue
        season = {target.monday: target for target in targets_for(player, monday)}
        seen |= set(season) | {monday}
        found |= {day: season[day] for day in wanted if day in season}
    return found


def done_keys(player: Player, since: date, before: date) -> set[uuid.UUID]:
    """The keys of planned sessions that a log of these days says were done."""
    logs = SessionLog.objects.filter(player=player, day__gte=since, day__lt=before)
    return {key for key in logs.values_list("planned_key", flat=True) if key}


def filled(
    player: Player,
    targets: Mapping[date, WeekTarget],
    rows: Iterable[TrainingSession],
    kinds: Sequence[SessionKind],
    *,
    done: Collection[uuid.UUID],
    today: date,
    parts: frozenset[Court],
) -> Change:
    """What filling the weeks of these targets writes.

    `rows` are the sessions of the weeks and of the days around; `done` the keys of those that were
    done. Nothing is written here.
    """
    rules, own = rules_of(getattr(player, "training", None)), _own(kinds, parts)
    standing: dict[date, list[PlannedSession]] = {}
    replaced: list[TrainingSession] = []
    for row in rows:
        is_of_a_week = monday_of(row.day) in targets
        if is_of_a_week and may_be_replaced(row, done=done, today=today, parts=parts):
            replaced.append(row)
        else:
            standing.setdefault(monday_of(row.day), []).append(as_planned(row))
    keys = {_likeness(row): row.key for row in replaced}
    added: list[TrainingSession] = []
    for monday in sorted(targets):
        kept = standing.get(monday, [])
        answer = fill_week(
            from_today(targets[monday], kept, today),
            own,
            rules=rules,
            age=player.age_on(monday),
            kept=kept,
            before=standing.get(monday - WEEK, []),
            after=[] if monday + WEEK in targets else standing.get(monday + WEEK, []),
        )
        new = [session for session in answer if not session.key]
        standing[monday] = [*kept, *new]
        added += [_row(session, keys) for session in new]
    return Change(said="", added=tuple(added), removed=tuple(replaced))


def may_be_replaced(
    row: TrainingSession, *, done: Collection[uuid.UUID], today: date, parts: frozenset[Court]
) -> bool:
    """Whether a filler, or emptying, may take this session away."""
    return not row.fixed and row.court in parts and row.day >= today and row.key not in done


def from_today(target: WeekTarget, kept: Sequence[PlannedSession], today: date) -> WeekTarget:
    """The target of a week that has begun: nothing new before today, and not more on the days left
    than they would have had in the whole week. What stands on the days before counts as it is."""
    if target.monday >= today:
        return target
    whole = sum(day.aim_min for day in target.days)
    left = sum(day.aim_min for day in target.days if day.day >= today)
    share = left / whole if whole else 0.0
    over = [session for session in kept if session.day < today]
    on = [session for session in over if session.court == "on court"]
    off = [session for session in over if session.court == "off court"]
    return replace(
        target,
        on_court_min=sum(s.minutes for s in on) + round(share * target.on_court_min),
        off_court_min=sum(s.minutes for s in off) + round(share * target.off_court_min),
        on_court_sessions=len(on) + round(share * target.on_court_sessions),
        off_court_sessions=len(off) + round(share * target.off_court_sessions),
        days=tuple(
            replace(day, available_min=0, aim_min=0) if day.day < today else day
            for day in target.days
        ),
    )


def _own(kinds: Sequence[SessionKind], parts: frozenset[Court]) -> list[SessionKind]:
    return [kind for kind in kinds if kind.court in parts]


def _likeness(row: TrainingSession | PlannedSession) -> tuple[date, str, str]:
    """What makes a session the same one after filling again."""
    return row.day, row.kind, row.name


def _row(session: PlannedSession, keys: dict[tuple[date, str, str], uuid.UUID]) -> TrainingSession:
    return TrainingSession(
        key=keys.pop(_likeness(session), None) or uuid.uuid4(),
        day=session.day,
        order=session.order,
        kind=session.kind,
        name=session.name,
        court=session.court,
        emphasis=session.emphasis,
        minutes=session.minutes,
        effort=session.effort_0_10,
        fixed=False,
    )
