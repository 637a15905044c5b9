"""What the trips of a season cost as far as anybody has written it down, and which beds they need.

The trip page asks about one event, the season's figures about all of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from seasonplan.academy.models import HomeBase
from seasonplan.events.models import Event
from seasonplan.plans.laying_out import Material
from seasonplan.science.layout.trips import Trip
from seasonplan.science.places import NEARBY_KM, distance_km


@dataclass(frozen=True)
class SeasonCosts:
    """Entry fees, travel and nights of `events` events; of `unknown` of them neither the travel nor
    a night is written down though one is needed, and of `in_part` one of the two is."""

    total: Decimal
    events: int
    unknown: int
    in_part: int


def is_near(home: HomeBase, event: Event) -> bool:
    """Whether the player sleeps at home during the event."""
    place = event.place
    return distance_km(home.lat, home.lon, place.lat, place.lon) < NEARBY_KM


def beds(event: Event, trip: Trip, *, left: Event | None, after: Trip | None) -> tuple[date, date]:
    """First and last evening on which a bed is needed at an event that is not near home.

    `left` is the event from which the player comes straight, `after` the trip to the next event.
    """
    first, last = trip.arrive - timedelta(days=1), event.end
    if left and not trip.travel_days:
        first = left.end + timedelta(days=1)
    if after and not trip.goes_home and after.travel_days:
        last = after.leave - timedelta(days=1)
    return first, last


def season_costs(material: Material, trips: Mapping[int, Trip]) -> SeasonCosts | None:
    """The costs of the events that take place, by their trips; None without a home base."""
    if material.home is None:
        return None
    going = material.going
    total, unknown, in_part = Decimal(0), 0, 0
    for index, event in enumerate(going):
        trip, written = trips[event.pk], material.trip_costs.get(event.pk)
        travel = written.travel if written else None
        night = written.night if written else None
        left = going[index - 1] if index and trip.origin != "home" else None
        after = trips[going[index + 1].pk] if index + 1 < len(going) else None
        number = 0
        if not is_near(material.home, event):
            first, last = beds(event, trip, left=left, after=after)
            number = (last - first).days + 1
        total += event.entry_fee + (travel or 0) + number * (night or 0)
        missing = (travel is None and trip.travel_days > 0, night is None and number > 0)
        if any(missing):
            nothing = travel is None and night is None
            unknown += nothing
            in_part += not nothing
    return SeasonCosts(total, len(going), unknown, in_part)
