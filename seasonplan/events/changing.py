"""Change events of the calendar, and remember what is different for the plans that hold them.

Every change of an event that exists goes through here: by hand, by an import, and by its undo.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from django.db import transaction
from django.utils import timezone

from seasonplan.academy.models import Academy, Person
from seasonplan.events.models import Event, EventChange

What = EventChange.What

YES: Final = "yes"
NO: Final = "no"


@transaction.atomic
def change_events(events: Sequence[Event], *, fields: Sequence[str], by: Person | None) -> None:
    """Save these fields of events of one academy, and what of it plans rest on as `EventChange`.

    Compares with the rows as they are in the database at that moment.
    """
    if not events:
        return
    # Changes are told in the order of their moments, so of two at once one waits here.
    Academy.objects.select_for_update().get(pk=events[0].academy_id)
    rows = Event.objects.filter(pk__in=[event.pk for event in events]).select_related("place")
    before = {row.pk: row for row in rows}
    now = timezone.now()
    changes: list[EventChange] = []
    for event in events:
        was = before[event.pk]
        found = [
            EventChange(event=event, at=now, who=by, what=what, before=old, after=new)
            for what, old, new in _differences(was, event)
        ]
        event.changed_at = now if found else was.changed_at
        changes += found
    Event.objects.bulk_update(events, [*fields, "changed_at"])
    EventChange.objects.bulk_create(changes)


def _differences(was: Event, event: Event) -> Iterator[tuple[What, str, str]]:
    for what, old, new in (
        (What.DATES, _span(was), _span(event)),
        (What.PLACE, str(was.place), str(event.place)),
        (What.SURFACE, was.surface, event.surface),
        (What.CANCELLED, _yes_or_no(was.cancelled), _yes_or_no(event.cancelled)),
    ):
        if old != new:
            yield what, old, new


def _span(event: Event) -> str:
    return f"{event.start.isoformat()}/{event.end.isoformat()}"


def _yes_or_no(value: bool) -> str:
    return YES if value else NO
