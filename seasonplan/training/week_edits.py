"""Change a week by hand: one transaction and one revision a change.

A button of the week screen says what to do in words: `move <session> <day> <place>`, `earlier` and
`later <session>` by a day, `up` and `down <session>` on its day, `remove <session>`, `repeat
<session> <day>`, `keep` and `free <session>`, `fill`, `fill-block`, `empty`, `undo <token>`. Forms
add what was typed: `put-in`, `own`, `change <session>`, `note`, `copy`.

Every change names the revision of the week that it was made against, and is refused (`Stale`) if
somebody changed the week since. What can be undone is the last change of a single week, while
nothing else has been changed in it: the token is the week as it was before, signed.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Collection, Mapping
from copy import copy
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any, Final

from django.core import signing
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.forms import Form
from django.http import Http404, QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from seasonplan.academy.models import Person
from seasonplan.science.session_kinds import session_name
from seasonplan.science.week_target import WeekTarget
from seasonplan.science.weeks import monday_of
from seasonplan.science.words import days, weekday_day
from seasonplan.training.access import seen_with_parts
from seasonplan.training.filling import (
    done_keys,
    filled,
    lock_player,
    may_be_replaced,
)
from seasonplan.training.library import kinds_of
from seasonplan.training.models import TrainingSession
from seasonplan.training.targets import targets_for
from seasonplan.training.week_forms import (
    ChangeForm,
    CopyForm,
    FromLibraryForm,
    NoteForm,
    OwnWordsForm,
    suited,
)
from seasonplan.training.week_shown import Shown
from seasonplan.training.weeks import (
    CHANGEABLE,
    LOOK_BACK,
    WEEK,
    Change,
    WeekMaterial,
    in_seven_days,
    read_done,
    read_sessions,
    store,
    target_of,
)

UNDO_SALT: Final = "seasonplan.training.week-undone"
UNDO_SECONDS: Final = 24 * 3600
FULL_DAY: Final = 12
"""More sessions on one day are a mistake of typing."""


class NotUnderstood(Exception):
    """The words ask for nothing that can be done to this week."""


class NotPossible(Exception):
    """Why this cannot be done, and what to do instead, in one sentence."""


class Stale(Exception):
    """The week was changed by somebody else since it was read."""


class Mistyped(Exception):
    """What was typed cannot be taken; the bound form says why."""

    def __init__(self, form: Form) -> None:
        super().__init__()
        self.form = form


@dataclass(frozen=True)
class Undo:
    """What the last change can be undone with: a signed token, and the words of its button."""

    token: str
    label: str


@dataclass(frozen=True)
class Done:
    """An edit that is made: the week before and after it, what was done, and what undoes it."""

    before: WeekMaterial
    after: WeekMaterial
    said: str
    undo: Undo | None


@dataclass(frozen=True)
class Asked:
    """What an edit rests on: the week as it is, what was posted, and the day it is."""

    week: WeekMaterial
    rest: str
    typed: QueryDict
    today: date

    def own_session(self, key: str) -> TrainingSession:
        """The session with this key, of a part that the person changes; 403 for the other part."""
        row = self.week.session(key)
        if row is None:
            raise NotPossible(_("That session is not in this week any more."))
        if row.court not in self.week.parts:
            raise PermissionDenied
        return row


def edit_week(
    person: Person,
    player_id: int,
    monday: date,
    words: str,
    typed: QueryDict,
    *,
    revision: int,
    today: date,
    shown: Shown | None = None,
) -> Done:
    """Do what the words ask for, in one transaction; `shown` is the target on the page.

    404 and 403 as everywhere. Raises NotUnderstood, NotPossible, Mistyped and Stale.
    """
    verb, _space, rest = words.partition(" ")
    if verb not in _VERBS:
        raise NotUnderstood
    with transaction.atomic():
        player = lock_player(seen_with_parts(person), player_id)
        if player is None:
            raise Http404
        week = read_sessions(player, monday)
        if not week.parts:
            raise PermissionDenied
        if week.revision != revision:
            raise Stale
        keys = [row.key for row in week.sessions]
        week = replace(
            week,
            done=tuple(read_done(person, player, monday, keys)),
            target=shown.target if shown else target_of(player, monday),
        )
        change = _VERBS[verb](Asked(week=week, rest=rest, typed=typed, today=today))
        touched = change.mondays() or {monday}
        weeks = store(player, change, touched=touched, known={monday: week.week})
    gone = {row.pk for row in change.removed}
    changed = {row.pk: row for row in change.saved}
    rows = [changed.get(row.pk, row) for row in week.sessions if row.pk not in gone]
    rows += [row for row in change.added if monday_of(row.day) == monday]
    after = replace(
        week, week=weeks.get(monday, week.week), sessions=tuple(sorted(rows, key=_place))
    )
    undo = _undo_of(week, after, change) if touched == {monday} else None
    return Done(before=week, after=after, said=change.said, undo=undo)


def _place(row: TrainingSession) -> tuple[date, int, int]:
    return row.day, row.order, row.pk


# One session -------------------------------------------------------------------------------------


def _move(asked: Asked) -> Change:
    """To another day, or to another place on its day; without a place to the day's end."""
    key, _space, where = asked.rest.partition(" ")
    iso, _space, place = where.partition(" ")
    row, day = asked.own_session(key), _day(asked, iso)
    return _moved(asked, row, day, _number(place) if place else FULL_DAY)


def _moved(asked: Asked, row: TrainingSession, day: date, place: int) -> Change:
    others = [other for other in asked.week.sessions if other.day == day and other.pk != row.pk]
    at = min(place, len(others))
    moved = _changed(row, day=day, order=at, fixed=True)
    if (moved.day, moved.order) == (row.day, row.order):
        raise NotPossible(_("%(name)s is there already.") % {"name": _name(row)})
    saved = [moved]
    for n, other in enumerate([*others[:at], moved, *others[at:]]):
        if other is not moved and other.order != n:
            saved.append(_changed(other, order=n))
    said = (
        _("Moved %(name)s to %(day)s") % {"name": _name(row), "day": weekday_day(day)}
        if day != row.day
        else _("Moved %(name)s to place %(place)d of its day")
        % {"name": _name(row), "place": at + 1}
    )
    return Change(said, saved=tuple(saved))


def _by_days(days_on: int) -> Callable[[Asked], Change]:
    """A day back or on from where it is by then: keys are pressed faster than answers come."""

    def step(asked: Asked) -> Change:
        row = asked.own_session(asked.rest)
        day = row.day + timedelta(days=days_on)
        if day not in in_seven_days(asked.week.monday):
            raise NotPossible(
                _("%(name)s stays in this week. Repeat it in another one instead.")
                % {"name": _name(row)}
            )
        return _moved(asked, row, day, FULL_DAY)

    return step


def _by_places(places_on: int) -> Callable[[Asked], Change]:
    def step(asked: Asked) -> Change:
        row = asked.own_session(asked.rest)
        of_its_day = [other for other in asked.week.sessions if other.day == row.day]
        place = of_its_day.index(row) + places_on
        if not 0 <= place < len(of_its_day):
            raise NotPossible(
                _("%(name)s is at the edge of its day already.") % {"name": _name(row)}
            )
        return _moved(asked, row, row.day, place)

    return step


def _remove(asked: Asked) -> Change:
    row = asked.own_session(asked.rest)
    said = _("Removed %(name)s from %(day)s")
    return Change(said % {"name": _name(row), "day": weekday_day(row.day)}, removed=(row,))


def _repeat(asked: Asked) -> Change:
    """The same once more, on another day of this week or of another one."""
    key, _space, iso = asked.rest.partition(" ")
    row, day = asked.own_session(key), _any_day(asked, iso)
    again = _changed(row, pk=None, key=uuid.uuid4(), day=day, fixed=True)
    again.order = _end_of(asked, day)
    said = _("Repeated %(name)s on %(day)s")
    return Change(said % {"name": _name(row), "day": weekday_day(day)}, added=(again,))


def _keep(asked: Asked) -> Change:
    row = asked.own_session(asked.rest)
    said = _("%(name)s stays when the week is filled") % {"name": _name(row)}
    return Change(said, saved=(_changed(row, fixed=True),))


def _free(asked: Asked) -> Change:
    row = asked.own_session(asked.rest)
    said = _("%(name)s may be replaced when the week is filled") % {"name": _name(row)}
    return Change(said, saved=(_changed(row, fixed=False),))


def _change(asked: Asked) -> Change:
    row = asked.own_session(asked.rest)
    form = ChangeForm(asked.typed, monday=asked.week.monday)
    said = _checked(form)
    if said["name"] == _name(row):  # as it was shown, whatever the language
        said = said | {"name": row.name}
    changed = _changed(row, fixed=True, **said)
    if changed.day != row.day:
        changed.order = _end_of(asked, changed.day)
    return Change(_("Changed %(name)s") % {"name": _name(changed)}, saved=(changed,))


def _put_in(asked: Asked) -> Change:
    kinds = suited(kinds_of(asked.week.player.academy), asked.week.age)
    parts = asked.week.parts
    form = FromLibraryForm(asked.typed, monday=asked.week.monday, kinds=kinds, parts=parts)
    said = _checked(form)
    kind, day = said["kind"], said["day"]
    row = TrainingSession(
        day=day,
        order=_end_of(asked, day),
        kind=kind.code,
        name=kind.name,
        court=kind.court,
        emphasis=kind.emphasis,
        minutes=said["minutes"] or kind.minutes,
        effort=kind.effort_0_10,
        fixed=True,
    )
    return _put(row)


def _own(asked: Asked) -> Change:
    form = OwnWordsForm(asked.typed, monday=asked.week.monday, parts=asked.week.parts)
    said = _checked(form)
    row = TrainingSession(**said, order=_end_of(asked, said["day"]), fixed=True)
    return _put(row)


def _put(row: TrainingSession) -> Change:
    said = _("Put in %(name)s on %(day)s")
    return Change(said % {"name": _name(row), "day": weekday_day(row.day)}, added=(row,))


# The week ----------------------------------------------------------------------------------------


def _fill(asked: Asked) -> Change:
    week, target = asked.week, asked.week.target
    if target is None:
        raise NotPossible(NO_SEASON)
    if week.sunday < asked.today:
        raise NotPossible(_("This week is over: put in by hand what was planned."))
    rows = (*week.before, *week.sessions, *week.after)
    change = _filled(asked, {week.monday: target}, rows, _done(week))
    added = len(change.added)
    said = ngettext(
        "Filled the week with %(count)d session", "Filled the week with %(count)d sessions", added
    )
    return replace(change, said=said % {"count": added})


def _fill_block(asked: Asked) -> Change:
    """Every week from now on of the block of the phase that this week lies in."""
    week = asked.week
    season = {target.monday: target for target in targets_for(week.player, week.monday)}
    target = season.get(week.monday)
    if target is None:
        raise NotPossible(NO_SEASON)
    first = week.monday - (target.in_block - 1) * WEEK
    block = {
        day: season[day] for n in range(target.block_weeks) if (day := first + n * WEEK) in season
    }
    to_come = {day: t for day, t in block.items() if day + timedelta(days=6) >= asked.today}
    if not to_come:
        raise NotPossible(_("This block is over. Open a week that is to come, and fill its block."))
    first, after = min(to_come), max(to_come) + WEEK
    rows = TrainingSession.objects.filter(
        week__player=week.player, day__gte=first - LOOK_BACK, day__lte=after
    )
    done = done_keys(week.player, first, after)
    change = _filled(asked, to_come, tuple(rows), done)
    said = ngettext(
        "Filled %(count)d week of the block, %(days)s",
        "Filled %(count)d weeks of the block, %(days)s",
        len(to_come),
    )
    filled_days = days(first, after - timedelta(days=1))
    return replace(change, said=said % {"count": len(to_come), "days": filled_days})


def _filled(
    asked: Asked,
    targets: Mapping[date, WeekTarget],
    rows: tuple[TrainingSession, ...],
    done: Collection[uuid.UUID],
) -> Change:
    player = asked.week.player
    return filled(
        player,
        targets,
        rows,
        kinds_of(player.academy),
        done=done,
        today=asked.today,
        parts=asked.week.parts,
    )


def _done(week: WeekMaterial) -> set[uuid.UUID]:
    return {log.planned_key for log in week.done if log.planned_key}


def _empty(asked: Asked) -> Change:
    """Away with what filling put there, but for what was done and what lies before today."""
    week = asked.week
    done = _done(week)
    removed = tuple(
        row
        for row in week.sessions
        if may_be_replaced(row, done=done, today=asked.today, parts=week.parts)
    )
    if not removed:
        raise NotPossible(
            _("Nothing to take away: what was set by hand, was done or lies before today stays.")
        )
    said = ngettext("Took away %(count)d session", "Took away %(count)d sessions", len(removed))
    return Change(said % {"count": len(removed)}, removed=removed)


def _copy(asked: Asked) -> Change:
    """The same sessions in another week, in place of what filling put there."""
    week = asked.week
    form = CopyForm(asked.typed, monday=week.monday)
    to: date = _checked(form)["to"]
    there = read_sessions(week.player, to)
    done = done_keys(week.player, to, to + WEEK)
    removed = tuple(
        row
        for row in there.sessions
        if may_be_replaced(row, done=done, today=asked.today, parts=week.parts)
    )
    stay = [row for row in there.sessions if row not in removed]
    known = {(row.day, row.name, row.court, row.minutes, row.effort) for row in stay}
    added = []
    for row in week.sessions:
        day = row.day + (to - week.monday)
        same = (day, row.name, row.court, row.minutes, row.effort)
        if row.court in week.parts and day >= asked.today and same not in known:
            added.append(_changed(row, pk=None, key=uuid.uuid4(), day=day, fixed=True))
    if not added:
        raise NotPossible(
            _("Nothing to copy: there are no sessions here that are not there already.")
        )
    said = ngettext(
        "Copied %(count)d session into the week of %(day)s",
        "Copied %(count)d sessions into the week of %(day)s",
        len(added),
    ) % {"count": len(added), "day": weekday_day(to)}
    return Change(said, added=tuple(added), removed=removed)


def _note(asked: Asked) -> Change:
    note = _checked(NoteForm(asked.typed))["note"]
    return Change(_("Kept the note of the week") if note else _("Took the note away"), note=note)


# Undo --------------------------------------------------------------------------------------------


def _undo_of(before: WeekMaterial, after: WeekMaterial, change: Change) -> Undo:
    title = change.title or change.said
    label = _("Do again: %(what)s") if change.is_undone else _("Undo: %(what)s")
    value = {
        "player": before.player.pk,
        "monday": before.monday.isoformat(),
        "revision": after.revision,
        "title": title,
        "undoes": not change.is_undone,
        "note": before.note,
        "sessions": [_value(row) for row in before.sessions],
    }
    return Undo(signing.dumps(value, salt=UNDO_SALT, compress=True), label % {"what": title})


def _value(row: TrainingSession) -> list[Any]:
    values = [getattr(row, name) for name in CHANGEABLE]
    return [str(row.key), *(v.isoformat() if isinstance(v, date) else v for v in values)]


def _undo(asked: Asked) -> Change:
    """The week as the token says it was, while it is as the change left it."""
    week = asked.week
    try:
        was = signing.loads(asked.rest, salt=UNDO_SALT, max_age=UNDO_SECONDS)
    except signing.BadSignature:
        raise NotPossible(_("That is too long ago to be undone.")) from None
    if (was["player"], was["monday"]) != (week.player.pk, week.monday.isoformat()):
        raise NotUnderstood
    if was["revision"] != week.revision:
        raise NotPossible(_("The week was changed since then, so that cannot be undone any more."))
    then = {value[0]: value for value in was["sessions"]}
    now = {str(row.key): row for row in week.sessions}
    added = [_row_of(value) for key, value in then.items() if key not in now]
    removed = [row for key, row in now.items() if key not in then]
    saved = []
    for key, row in now.items():
        if key in then and _value(row) != then[key]:
            old = _row_of(then[key])
            saved.append(_changed(row, **{name: getattr(old, name) for name in CHANGEABLE}))
    moved_along = {row.key for row in saved if _differs_in_order_alone(row, now[str(row.key)])}
    touched = [row for row in (*added, *removed, *saved) if row.key not in moved_along]
    if any(row.court not in week.parts for row in touched):
        raise PermissionDenied
    said = _("Undone: %(what)s") if was["undoes"] else _("Done again: %(what)s")
    return Change(
        said % {"what": was["title"]},
        title=was["title"],
        is_undone=was["undoes"],
        added=tuple(added),
        saved=tuple(saved),
        removed=tuple(removed),
        note=was["note"] if was["note"] != week.note else None,
    )


def _row_of(value: list[Any]) -> TrainingSession:
    said = dict(zip(CHANGEABLE, value[1:], strict=True))
    return TrainingSession(
        key=uuid.UUID(value[0]), **said | {"day": date.fromisoformat(said["day"])}
    )


def _differs_in_order_alone(one: TrainingSession, other: TrainingSession) -> bool:
    return _value(_changed(one, order=other.order)) == _value(other)


# Small words -------------------------------------------------------------------------------------

NO_SEASON: Final = gettext_lazy(
    "No season in force holds this week, so nothing says what it should train. Put a plan in "
    "force, or put sessions in by hand."
)


def _changed(row: TrainingSession, **new: Any) -> TrainingSession:
    """The same row with other values; the one that was read stays as it is."""
    other = copy(row)
    other._state = copy(row._state)
    for name, value in new.items():
        setattr(other, name, value)
    return other


def _checked(form: Form) -> dict[str, Any]:
    if not form.is_valid():
        raise Mistyped(form)
    return form.cleaned_data


def _end_of(asked: Asked, day: date) -> int:
    """The place behind the last session of a day."""
    if monday_of(day) == asked.week.monday:
        there = sum(row.day == day for row in asked.week.sessions)
    else:
        there = TrainingSession.objects.filter(week__player=asked.week.player, day=day).count()
    if there >= FULL_DAY:
        raise NotPossible(
            _("%(day)s has %(count)d sessions. Remove one of them first.")
            % {"day": weekday_day(day), "count": there}
        )
    last = [row.order for row in asked.week.sessions if row.day == day]
    return max(last, default=there - 1) + 1


def _day(asked: Asked, iso: str) -> date:
    day = _any_day(asked, iso)
    if day not in in_seven_days(asked.week.monday):
        raise NotUnderstood
    return day


def _any_day(asked: Asked, iso: str) -> date:
    try:
        day = date.fromisoformat(iso)
    except ValueError:
        raise NotUnderstood from None
    if abs(day - asked.week.monday) > 106 * WEEK:
        raise NotUnderstood
    return day


def _number(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 4):
        raise NotUnderstood
    return int(text)


def _name(row: TrainingSession) -> str:
    return session_name(row.name, row.kind)


_VERBS: Final[Mapping[str, Callable[[Asked], Change]]] = {
    "move": _move,
    "earlier": _by_days(-1),
    "later": _by_days(1),
    "up": _by_places(-1),
    "down": _by_places(1),
    "remove": _remove,
    "repeat": _repeat,
    "keep": _keep,
    "free": _free,
    "change": _change,
    "put-in": _put_in,
    "own": _own,
    "fill": _fill,
    "fill-block": _fill_block,
    "empty": _empty,
    "copy": _copy,
    "note": _note,
    "undo": _undo,
}
