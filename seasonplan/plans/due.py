"""What is due in a season, and on which day: deadlines, travel days, beginnings, check-ins.

The phone, the calendar feed and the reminders all read this one list. It follows from a plan's
`Material` alone; whose clock and which hour is for them to say.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from seasonplan.events.models import Event
from seasonplan.plans.laying_out import Material, code_of, id_of, problem_from
from seasonplan.plans.models import PlannedEvent
from seasonplan.plans.terms import surface_word
from seasonplan.science.layout.trips import Trip, trips
from seasonplan.science.words import days, number, weekday_day


class DueKind(StrEnum):
    ENTRY = "entry"
    WITHDRAWAL = "withdrawal"
    LEAVE = "leave"
    GO_ON = "go-on"
    ARRIVE = "arrive"
    BEGINS = "begins"
    GO_HOME = "go-home"
    CHECK_IN = "check-in"


DEADLINES = frozenset({DueKind.ENTRY, DueKind.WITHDRAWAL})
DEPARTURES = frozenset({DueKind.LEAVE, DueKind.GO_ON, DueKind.GO_HOME})


@dataclass(frozen=True)
class Due:
    """One thing due on one day.

    `key` names it within the player's season for ever, whichever plan is in force and however its
    day moves: `entry-12` for entering the event with the id 12. `url_path` is a page about it; that
    of a check-in opens only for the player and those who log on the player's behalf.
    """

    kind: DueKind
    day: date
    event: Event
    title: str
    detail: str
    url_path: str

    @property
    def key(self) -> str:
        return f"{self.kind}-{self.event.pk}"


def trips_of(material: Material) -> dict[int, Trip]:
    """The trip to each event of the plan that takes place, by its id; empty without a home base."""
    if material.home is None:
        return {}
    played = tuple(material.going)
    # A journey does not depend on the day from which the season is looked at.
    problem = problem_from(replace(material, events=played), today=material.plan.start)
    by_code = {event.code: event for event in problem.events}
    chain = [by_code[code_of(event.pk)] for event in played]
    return {id_of(trip.code): trip for trip in trips(problem, chain)}


def due_of(material: Material) -> tuple[Due, ...]:
    """All that is due for the events that are played, in order of day.

    An event that is cancelled, or from which the player has withdrawn, asks for nothing any more.
    """
    journeys = trips_of(material)
    found = [
        due
        for event in material.going
        if material.planned[event.pk].entry != PlannedEvent.Entry.WITHDRAWN
        for due in (
            *_deadlines(material, event),
            *_travel(material, event, journeys.get(event.pk)),
            *_playing(material, event),
        )
    ]
    return tuple(sorted(found, key=lambda due: due.day))


def _deadlines(material: Material, event: Event) -> Iterator[Due]:
    """The day by which to enter, or to withdraw from what has been entered."""
    what = f"{event.name}, {event.place.place_name}"
    when = _("It is played %(days)s.") % {"days": days(event.start, event.end)}
    if material.planned[event.pk].entry == PlannedEvent.Entry.NOT_ENTERED:
        if day := event.entry_deadline:
            title = _("Enter %(event)s") % {"event": what}
            yield _due(material, DueKind.ENTRY, day, event, title, when)
    elif day := event.withdrawal_deadline:
        title = _("Last day to withdraw from %(event)s") % {"event": what}
        yield _due(material, DueKind.WITHDRAWAL, day, event, title, when)


def _travel(material: Material, event: Event, trip: Trip | None) -> Iterator[Due]:
    """The days of leaving, of arriving and of going home; none where no travel day is needed."""
    if trip is None:
        return
    place = event.place.place_name
    if trip.travel_days:
        kind = DueKind.LEAVE if trip.origin == "home" else DueKind.GO_ON
        title = _("Leave for %(place)s") % {"place": place}
        there = _("Be there by %(day)s.") % {"day": weekday_day(trip.arrive)}
        detail = f"{there} {_flight(trip.flight_hours)}"
        yield _due(material, kind, trip.leave, event, title, detail)
        title = _("Arrive in %(place)s") % {"place": place}
        begins = _("%(event)s begins on %(day)s.") % {
            "event": event.name,
            "day": weekday_day(event.start),
        }
        settle = trip.acclimatisation.days
        if settle:
            settling = ngettext(
                "%(count)d day to settle in.", "%(count)d days to settle in.", settle
            ) % {"count": settle}
            begins = f"{settling} {begins}"
        yield _due(material, DueKind.ARRIVE, trip.arrive, event, title, begins)
    if trip.goes_home and trip.home_travel_days:
        day = event.end + timedelta(days=1)
        title = _("Travel home from %(place)s") % {"place": place}
        detail = _flight(trip.home_flight_hours)
        yield _due(material, DueKind.GO_HOME, day, event, title, detail)


def _flight(hours: float) -> str:
    return _("About %(hours)s hours of flight (an estimate).") % {"hours": number(hours, 1)}


def _playing(material: Material, event: Event) -> Iterator[Due]:
    """The first day of the event, and the day after its last one, when all of it can be told."""
    surface = surface_word(event.surface)
    where = f"{event.place.place_name}, {days(event.start, event.end)}, {surface}"
    title = _("%(event)s begins") % {"event": event.name}
    yield _due(material, DueKind.BEGINS, event.start, event, title, where)
    page = reverse("log-event", args=[event.pk])
    yield Due(
        kind=DueKind.CHECK_IN,
        day=event.end + timedelta(days=1),
        event=event,
        title=_("Check in after %(event)s") % {"event": event.name},
        detail=_("How it went, and how it felt."),
        url_path=f"{page}?{urlencode({'player': material.plan.player_id})}",
    )


def _due(
    material: Material, kind: DueKind, day: date, event: Event, title: str, detail: str
) -> Due:
    page = reverse("planned-event", args=[material.plan.pk, event.pk])
    return Due(kind=kind, day=day, event=event, title=title, detail=detail, url_path=page)
