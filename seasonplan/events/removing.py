"""Take events off the calendar, unless something stands on them."""

from __future__ import annotations

from collections.abc import Sequence

from django.db import transaction
from django.db.models import ProtectedError

from seasonplan.events.models import Event


class EventsInUse(Exception):
    """These events stand in a season plan or were logged about, so they stay on the calendar."""

    def __init__(self, events: Sequence[Event]) -> None:
        super().__init__(", ".join(event.name for event in events))
        self.events = events


def remove_events(events: Sequence[Event]) -> None:
    """Delete the events, all or none. Raises EventsInUse.

    The calendar does not know what is built on it: whatever protects an event is found through the
    relation that protects it.
    """
    try:
        with transaction.atomic():
            Event.objects.filter(pk__in=[event.pk for event in events]).delete()
    except ProtectedError as refusal:
        held = {
            getattr(keeper, relation.attname)
            for keeper in refusal.protected_objects
            for relation in keeper._meta.concrete_fields
            if relation.related_model is Event
        }
        raise EventsInUse([event for event in events if event.pk in held]) from refusal
