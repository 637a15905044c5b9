"""Bring a file of events into the calendar: look at it, confirm it as a whole, undo it as a whole.

`keep_file` stores the file; `preview` says what importing it would do to the calendar as it stands
now; `confirm` does exactly that, or nothing; `undo` takes it back, or nothing. `import_file` goes
through all of it for code that has no person looking at a preview.

An event is the same event when the name (whatever its capitals) and the first day are the same.
Columns that the file does not have are left as they are in the calendar, and so are events that the
file does not have.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from itertools import groupby
from typing import Any, Final

from django.db import transaction
from django.db.models.functions import Now
from django.utils.translation import gettext as _

from seasonplan.academy.models import Academy, Person, Surface
from seasonplan.events.cells import Order
from seasonplan.events.changing import change_events
from seasonplan.events.columns import label_of, missing_columns, propose_mapping
from seasonplan.events.facts import day
from seasonplan.events.models import Event, EventImport, ImportedEvent, Place
from seasonplan.events.opening import read_table
from seasonplan.events.placing import Places, PlaceUnclear
from seasonplan.events.reading import (
    DateOrder,
    EventRow,
    Problem,
    Whereabouts,
    order_of_dates,
    problem_at,
    read_rows,
)
from seasonplan.events.removing import EventsInUse, remove_events
from seasonplan.events.tables import Table
from seasonplan.science.words import number, short_number

KEPT: Final = (
    "name",
    "place",
    "start",
    "end",
    "surface",
    "indoor",
    "draw_size",
    "level",
    "high_c",
    "humidity_percent",
    "entry_deadline",
    "withdrawal_deadline",
    "entry_fee",
    "dates_unconfirmed",
    "cancelled",
)
"""The fields that an import writes, compares, and puts back."""

MOVED_DAYS: Final = 21
"""A new event this near to one of the same name may be that one, moved."""


@dataclass(frozen=True, slots=True)
class Change:
    """One field of an event that the file has otherwise, as text."""

    label: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class PlannedRow:
    """What importing one row would do. `event` is as it would be; `before` as it is, if it is."""

    row: int
    event: Event
    before: dict[str, Any] | None
    changes: tuple[Change, ...]
    note: str

    @property
    def first_day(self) -> str:
        return day(self.event.start)

    @property
    def last_day(self) -> str:
        return day(self.event.end)

    @property
    def kind(self) -> str:
        """new, changed or unchanged"""
        if self.before is None:
            return "new"
        return "changed" if self.changes else "unchanged"


@dataclass(frozen=True)
class Preview:
    """What importing a file would do, or why it cannot be done yet."""

    table: Table
    mapping: dict[str, int]
    dates: DateOrder
    missing: tuple[str, ...]
    problems: tuple[Problem, ...]
    rows: tuple[PlannedRow, ...]

    @cached_property
    def new(self) -> tuple[PlannedRow, ...]:
        return tuple(row for row in self.rows if row.kind == "new")

    @cached_property
    def changed(self) -> tuple[PlannedRow, ...]:
        return tuple(row for row in self.rows if row.kind == "changed")

    @cached_property
    def unchanged(self) -> tuple[PlannedRow, ...]:
        return tuple(row for row in self.rows if row.kind == "unchanged")

    @property
    def rows_with_problems(self) -> int:
        return len({problem.row for problem in self.problems})

    @property
    def named_problems(self) -> list[tuple[Problem, str]]:
        """Each problem with the name of its event, as far as the file says one."""
        column = self.mapping.get("name")
        names = {
            row.number: "" if column is None else self.table.cell(row, column)
            for row in self.table.rows
        }
        return [(problem, names.get(problem.row or 0, "")) for problem in self.problems]

    @property
    def undecided(self) -> bool:
        """True while a column or the order of dates has to be chosen before rows can be read."""
        return bool(self.missing) or self.dates.order is None

    @property
    def nothing_to_do(self) -> bool:
        return not (self.undecided or self.problems or self.new or self.changed)

    @property
    def ready(self) -> bool:
        return not (self.undecided or self.problems or self.nothing_to_do)

    @property
    def new_places(self) -> list[Place]:
        """Places that the calendar does not have yet, each once, in the order of the rows."""
        places = {id(row.event.place): row.event.place for row in self.rows}
        return [place for place in places.values() if place.pk is None]

    @cached_property
    def digest(self) -> str:
        """Changes when what would be done changes; whoever confirms sends what they saw."""
        seen = [(row.row, row.kind, _kept(row.event), str(row.event.place)) for row in self.rows]
        return hashlib.sha256(repr(seen).encode()).hexdigest()[:32]


@dataclass(frozen=True, slots=True)
class Outcome:
    """How many events an import made, changed and found as they were."""

    created: int
    changed: int
    unchanged: int


@dataclass(frozen=True, slots=True)
class Undone:
    """How many events an undo took off the calendar and put back."""

    removed: int
    restored: int


class ImportRefused(Exception):
    """Nothing was imported; `problems` has what is wrong in the file, if that is the reason."""

    def __init__(self, sentence: str, problems: tuple[Problem, ...] = ()) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.problems = problems


class UndoRefused(Exception):
    """Nothing was undone; each reason is a sentence that names an event."""

    def __init__(self, reasons: Iterable[str]) -> None:
        self.reasons = tuple(reasons)
        super().__init__(" ".join(self.reasons))


def keep_file(
    *, academy: Academy, person: Person | None, file_name: str, content: bytes
) -> EventImport:
    """Store a file with the columns as they seem to be. Raises FileUnreadable."""
    table = read_table(content)
    return EventImport.objects.create(
        academy=academy,
        person=person,
        file_name=file_name[-200:],
        content=content,
        mapping=propose_mapping(table.header),
    )


def preview(batch: EventImport) -> Preview:
    """What importing the kept file would do to the calendar as it stands now.

    Reads the academy's places and events once each, however many rows there are.
    """
    table = read_table(bytes(batch.content))
    mapping: dict[str, int] = batch.mapping
    chosen: dict[str, Order] = {"dmy": "dmy", "mdy": "mdy"}
    dates = order_of_dates(table, mapping, chosen.get(batch.date_order))
    missing = tuple(missing_columns(mapping, surface=batch.usual_surface))
    if missing or dates.order is None:
        return Preview(table, mapping, dates, missing, problems=(), rows=())
    reading = read_rows(table, mapping, dates.order, surface=batch.usual_surface)
    places = _PlacesOfRows(batch.academy, table, mapping)
    # Rows with the code of an airport first: they settle where a place of the file is for the rest.
    rows_to_place = sorted(reading.places.items(), key=lambda item: not item[1].airport)
    found = {row: places.find(row, where) for row, where in rows_to_place}
    problems = sorted((*reading.problems, *places.problems), key=lambda p: p.row or 0)
    calendar = _Calendar(batch.academy, {_key(row.name, row.start) for row in reading.rows})
    rows = [
        calendar.planned(row, place, reading.told)
        for row in reading.rows
        if (place := found[row.row]) is not None
    ]
    return Preview(table, mapping, dates, missing, tuple(problems), tuple(rows))


@transaction.atomic
def confirm(*, batch: EventImport, seen: str, by: Person | None = None) -> Outcome:
    """Do what the preview with the digest `seen` said, all of it, or raise ImportRefused.

    The file is read again against the calendar of this moment: if that would do anything else than
    what the person saw, nothing is done. `by` confirms; None is who chose the file.
    """
    batch = _locked(batch)
    if batch.status != EventImport.Status.PREVIEW:
        raise ImportRefused(_("This file was dealt with already. Nothing was done twice."))
    plan = preview(batch)
    if plan.undecided:
        raise ImportRefused(_("Decide first what the columns and the dates mean."))
    if plan.problems:
        raise ImportRefused(
            _("The file has problems. Correct them in the file and choose it again."),
            plan.problems,
        )
    if plan.nothing_to_do:
        raise ImportRefused(_("Every event of the file is in the calendar already."))
    if plan.digest != seen:
        raise ImportRefused(
            _(
                "The calendar has changed since you looked. Look at what would be done now, "
                "then confirm again."
            )
        )
    for place in plan.new_places:
        place.came_with = batch
    Place.objects.bulk_create(plan.new_places)
    for row in plan.rows:
        # A place has its number only now; setting it again hands the number to the event.
        row.event.place = row.event.place
    new, changed = [row.event for row in plan.new], [row.event for row in plan.changed]
    Event.objects.bulk_create(new)
    change_events(changed, fields=KEPT, by=by or batch.person)
    ImportedEvent.objects.bulk_create(
        ImportedEvent(
            batch=batch,
            event=row.event,
            created=row.before is None,
            before=row.before,
            after=_kept(row.event),
        )
        for row in (*plan.new, *plan.changed)
    )
    _decide(batch, EventImport.Status.DONE)
    return Outcome(len(new), len(changed), len(plan.unchanged))


@transaction.atomic
def discard(*, batch: EventImport) -> bool:
    """Forget a file that was not imported; False if it was, and then it stays."""
    batch = _locked(batch)
    if batch.status != EventImport.Status.PREVIEW:
        return False
    batch.delete()
    return True


@transaction.atomic
def undo(*, batch: EventImport, by: Person | None = None) -> Undone:
    """Take back a confirmed import as a whole, or raise UndoRefused.

    Events that it made are deleted, events that it changed get their former values back, and
    places that it made go if nothing else is there. It is refused when one of its events was
    changed or deleted since, or when one that it made stands in a season plan or was logged about.
    """
    batch = _locked(batch)
    if batch.status != EventImport.Status.DONE:
        raise UndoRefused([_("Only an import that was done can be undone.")])
    rows = list(batch.rows.select_related("event").order_by("pk"))
    places = set(Place.objects.filter(academy=batch.academy_id).values_list("pk", flat=True))
    reasons = [reason for row in rows if (reason := _why_not_undone(row, places))]
    if reasons:
        raise UndoRefused(reasons)
    made = [row.event for row in rows if row.created and row.event is not None]
    restored = [
        _restored(row.event, row.before)
        for row in rows
        if row.event is not None and row.before is not None
    ]
    change_events(restored, fields=KEPT, by=by)
    try:
        remove_events(made)
    except EventsInUse as refusal:
        raise UndoRefused(
            _(
                "“%(event)s” from %(day)s stands in a season plan, or a player logged about it. "
                "Take it out of the plan first; what was logged keeps its event."
            )
            % {"event": event, "day": day(event.start)}
            for event in refusal.events
        ) from refusal
    batch.places_made.filter(events__isnull=True).delete()
    _decide(batch, EventImport.Status.UNDONE)
    return Undone(len(made), len(restored))


@transaction.atomic
def import_file(
    *, academy: Academy, person: Person | None, file_name: str, content: bytes
) -> Outcome:
    """Import a whole file from code, as if somebody had looked at the preview and confirmed it.

    Raises FileUnreadable if it is no table of events, and ImportRefused, with the problems, if a
    row has one or the order of its dates is open; then nothing is kept. A file whose events are all
    there already leaves no trace.
    """
    batch = keep_file(academy=academy, person=person, file_name=file_name, content=content)
    plan = preview(batch)
    if plan.nothing_to_do:
        batch.delete()
        return Outcome(0, 0, len(plan.unchanged))
    return confirm(batch=batch, seen=plan.digest)


def _locked(batch: EventImport) -> EventImport:
    """The import as it is now; a second confirm or undo in the same academy waits here."""
    Academy.objects.select_for_update().get(pk=batch.academy_id)
    return EventImport.objects.select_related("academy", "person").get(pk=batch.pk)


def _decide(batch: EventImport, status: str) -> None:
    EventImport.objects.filter(pk=batch.pk).update(status=status, decided_at=Now())


class _PlacesOfRows:
    """Looks up each different place of the file once and notes which rows have none."""

    def __init__(self, academy: Academy, table: Table, mapping: dict[str, int]) -> None:
        self.places = Places(academy)
        self.table, self.mapping = table, mapping
        self.problems: list[Problem] = []
        self._known: dict[Whereabouts, Place | PlaceUnclear] = {}

    def find(self, row: int, where: Whereabouts) -> Place | None:
        if where not in self._known:
            try:
                self._known[where] = self.places.find(
                    city=where.city, country=where.country, airport=where.airport
                )
            except PlaceUnclear as unclear:
                self._known[where] = unclear
        answer = self._known[where]
        if isinstance(answer, Place):
            return answer
        self.problems.append(
            problem_at(self.table, self.mapping, row, answer.field, answer.sentence)
        )
        return None


def _key(name: str, start: date) -> tuple[str, date]:
    return name.casefold(), start


class _Calendar:
    """The events that the academy has, to tell what is new, changed and unchanged."""

    def __init__(self, academy: Academy, in_file: set[tuple[str, date]]) -> None:
        self.academy = academy
        events = list(Event.objects.filter(academy=academy).select_related("place"))
        self._by_key = {_key(event.name, event.start): event for event in events}
        others = sorted(
            (event for event in events if _key(event.name, event.start) not in in_file),
            key=lambda event: event.name.casefold(),
        )
        self._not_in_file = {
            name: list(same) for name, same in groupby(others, lambda e: e.name.casefold())
        }

    def planned(self, row: EventRow, place: Place, told: frozenset[str]) -> PlannedRow:
        event = self._by_key.get(_key(row.name, row.start))
        if event is None:
            event = Event(
                academy=self.academy,
                place=place,
                **{name: getattr(row, name) for name in KEPT if name != "place"},
            )
            return PlannedRow(row.row, event, None, (), self._moved(row))
        before = _kept(event)
        changes = []
        for name in KEPT:
            # The calendar's spelling of the name stays.
            if name == "name" or name not in told:
                continue
            if name == "surface" and not row.surface_said:
                continue
            old, new = getattr(event, name), place if name == "place" else getattr(row, name)
            if old != new:
                label = label_of("city" if name == "place" else name)
                changes.append(Change(label, _shown(old), _shown(new)))
                setattr(event, name, new)
        return PlannedRow(row.row, event, before, tuple(changes), "")

    def _moved(self, row: EventRow) -> str:
        for other in self._not_in_file.get(row.name.casefold(), []):
            if abs(other.start - row.start) <= timedelta(days=MOVED_DAYS):
                return _(
                    "The calendar has an event of this name from %(day)s. If it moved, change that "
                    "one by hand instead of importing it a second time."
                ) % {"day": day(other.start)}
        return ""


def _shown(value: object) -> str:
    """A value of a field as the preview writes it."""
    if value is None or value == "":
        return _("nothing")
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, date):
        return day(value)
    if isinstance(value, Decimal):
        return number(float(value), 2)
    if isinstance(value, float):
        return short_number(value)
    return str(Surface(value).label) if value in Surface.values else str(value)


def _kept(event: Event) -> dict[str, Any]:
    """The event's fields in a form that JSON holds and `_restored` reads."""

    def plain(value: object) -> object:
        if isinstance(value, date):
            return value.isoformat()
        return f"{value:.2f}" if isinstance(value, Decimal) else value

    return {
        name: plain(getattr(event, Event._meta.get_field(name).attname))  # type: ignore[union-attr]
        for name in KEPT
    }


def _restored(event: Event, before: dict[str, Any]) -> Event:
    for name, value in before.items():
        field = Event._meta.get_field(name)
        setattr(event, field.attname, field.to_python(value))  # type: ignore[union-attr]
    return event


_AT_FIRST: Final[dict[str, Any]] = dict.fromkeys(KEPT) | {
    "dates_unconfirmed": False,
    "cancelled": False,
}
"""What an event said of fields that it did not have yet."""


def _why_not_undone(row: ImportedEvent, places: set[int]) -> str:
    """Why this event cannot be put back, or an empty string."""
    if row.event is None and row.created:
        return ""
    if row.event is None:
        why = _("“%(event)s” from %(day)s was deleted since, so it cannot be put back.")
    elif _kept(row.event) != _AT_FIRST | row.after:
        why = _("“%(event)s” from %(day)s was changed since. Undoing would lose that change.")
    elif row.before is not None and row.before["place"] not in places:
        why = _(
            "“%(event)s” from %(day)s cannot go back to its former place, which was removed since."
        )
    else:
        return ""
    first = date.fromisoformat(row.after["start"])
    return why % {"event": row.after["name"], "day": day(first)}
