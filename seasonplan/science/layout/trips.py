"""How the player gets to each event of a season and home again, in whole days and tenths of hours.

The events played, in order of start, make a chain that begins and ends at home. From one event to
the next the player goes straight on, or home in between if the gap is long enough.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from seasonplan.science.arrival import Acclimatisation, Conditions, Rates, acclimatisation
from seasonplan.science.layout.problem import Event, Home, Problem
from seasonplan.science.places import distance_km, flight_tenths, travel_days, zones_crossed


@dataclass(frozen=True, slots=True)
class Trip:
    """The journey to one event, and the way home after it if that is where the player goes.

    `origin` is "home" or the code of the event before. `missing_days` are the days that travel and
    acclimatisation need beyond the `available_days`; the player then arrives so much later, on the
    first day of the event at the latest. `flight_tenths` counts tenths of an hour. The three
    `home_...` fields are 0 when the player goes straight on to the next event.
    """

    code: str
    origin: str
    leave: date
    arrive: date
    travel_days: int
    flight_tenths: int
    distance_km: int
    zones_minutes: int
    acclimatisation: Acclimatisation
    available_days: int
    missing_days: int
    goes_home: bool = False
    home_travel_days: int = 0
    home_flight_tenths: int = 0

    @property
    def flight_hours(self) -> float:
        """Hours of flight on the way there, to a tenth."""
        return self.flight_tenths / 10

    @property
    def home_flight_hours(self) -> float:
        """Hours of flight on the way home afterwards, to a tenth."""
        return self.home_flight_tenths / 10


def trips(problem: Problem, chosen: list[Event]) -> tuple[Trip, ...]:
    """One trip for each of the chosen events, which are in order of start."""
    limits = problem.limits
    rates = Rates(
        clock_threshold_h=limits.clock_threshold_h,
        east_min_per_day=limits.east_min_per_day,
        west_min_per_day=limits.west_min_per_day,
        surface_days=limits.surface_days,
        heat_days=limits.heat_days,
        heat_step_c=limits.heat_step_c,
    )
    home = problem.home
    made: list[Trip] = []
    before: Event | None = None
    for index, event in enumerate(chosen):
        after = chosen[index + 1] if index + 1 < len(chosen) else None
        goes_home = after is None or gap_days(event, after) >= limits.home_gap_days
        origin: Event | Home = home if before is None or made[-1].goes_home else before
        if before is None:
            available = (event.start - problem.season.start).days
        else:
            available = gap_days(before, event) - made[-1].home_travel_days
        km = distance_km(origin.lat, origin.lon, event.lat, event.lon)
        travel = travel_days(km, limits.one_day_travel_km)
        settling = acclimatisation(
            _conditions(origin, event.start), _conditions(event, event.start), event.start, rates
        )
        missing = max(0, travel + settling.days - available)
        arrive = min(event.start, event.start + timedelta(days=missing - settling.days))
        km_home = distance_km(event.lat, event.lon, home.lat, home.lon) if goes_home else 0
        made.append(
            Trip(
                code=event.code,
                origin=origin.code if isinstance(origin, Event) else "home",
                leave=arrive - timedelta(days=travel),
                arrive=arrive,
                travel_days=travel,
                flight_tenths=flight_tenths(km),
                distance_km=km,
                zones_minutes=zones_crossed(origin.timezone, event.timezone, event.start).minutes,
                acclimatisation=settling,
                available_days=available,
                missing_days=missing,
                goes_home=goes_home,
                home_travel_days=travel_days(km_home, limits.one_day_travel_km),
                home_flight_tenths=flight_tenths(km_home),
            )
        )
        before = event
    return tuple(made)


def gap_days(before: Event, after: Event) -> int:
    """Free days between two events; below 0 where they overlap."""
    return (after.start - before.end).days - 1


def _conditions(place: Event | Home, on: date) -> Conditions:
    if isinstance(place, Event):
        high = place.high_c
    else:
        high = place.monthly_high_c[on.month - 1] if place.monthly_high_c else None
    return Conditions(place.timezone, place.surface, place.elevation_m, high)
