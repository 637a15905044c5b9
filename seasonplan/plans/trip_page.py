"""The whole trip to one event: day by day until the first match, what to expect, what it costs.

`trip_page` makes the page model from a plan's material; the panel of the season screen says the
same trip in short (`trips.py`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Final

from seasonplan.events.models import Event
from seasonplan.plans.journey import Journey
from seasonplan.plans.laying_out import Material
from seasonplan.plans.models import TripCost
from seasonplan.plans.settling import Part, parts_of
from seasonplan.plans.trip_words import clock_time, hours, money, span_words, to_quarter
from seasonplan.science.altitude import ILLNESS_M
from seasonplan.science.arrival import ClockDay
from seasonplan.science.layout.trips import Trip
from seasonplan.science.layout.wording import count, weekday_day

USUAL_BEDTIME: Final = time(23)


@dataclass(frozen=True)
class TripDay:
    """One day: where the player is, how far off the first match is, and what the day is for."""

    iso: str
    label: str
    countdown: str
    lines: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class CostLine:
    label: str
    detail: str
    amount: str


@dataclass(frozen=True)
class TripPage:
    """`days` is empty for an event that is not in the plan; then the parts compare with home."""

    place: str
    origin: str
    days: tuple[TripDay, ...]
    parts: tuple[Part, ...]
    asks_bedtime: bool
    costs: tuple[CostLine, ...]
    cost_total: str
    cost_gaps: str


def trip_page(
    material: Material, event: Event, *, costs: TripCost | None, bedtime: time = USUAL_BEDTIME
) -> TripPage | None:
    """The page model, with bedtimes counted from the player's usual one; None without a home."""
    if material.home is None:
        return None
    journey = Journey(material, event, bedtime)
    lines, total, gaps = _costs(journey, costs)
    return TripPage(
        place=event.place.place_name,
        origin=journey.origin,
        days=tuple(_days(journey)),
        parts=parts_of(journey),
        asks_bedtime=bool(journey.clock),
        costs=lines,
        cost_total=total,
        cost_gaps=gaps,
    )


# Day by day ----------------------------------------------------------------------------------


def _days(journey: Journey) -> Iterator[TripDay]:
    trip, event = journey.trip, journey.event
    if trip is None:
        return
    day = min(trip.leave, *journey.evenings) if journey.evenings else trip.leave
    while day <= event.start:
        yield TripDay(
            iso=day.isoformat(),
            label=weekday_day(day),
            countdown=_countdown((event.start - day).days),
            lines=tuple(_lines(journey, trip, day)),
        )
        day += timedelta(days=1)


def _countdown(days_left: int) -> str:
    return f"{count(days_left, 'day')} to go" if days_left else "first match possible"


def _lines(journey: Journey, trip: Trip, day: date) -> Iterator[tuple[str, str]]:
    doing = [*_moving(journey, trip, day), *_adapting(journey, trip, day)]
    if doing:
        yield from doing
    else:
        here = f"in {journey.event.place.place_name}" if day > trip.leave else journey.at_origin
        yield "Where", f"{here[:1].upper()}{here[1:]}."


def _adapting(journey: Journey, trip: Trip, day: date) -> Iterator[tuple[str, str]]:
    if (evening := journey.evenings.get(day)) is not None:
        moved = "earlier" if journey.zones.minutes > 0 else "later"
        yield "Bed", f"At {clock_time(evening)}, an hour {moved} than the night before."
    if clock := journey.clock_days.get(day):
        yield from _clock_lines(journey, clock)
    if day >= trip.arrive:
        yield from _settling_lines(journey, trip, (day - trip.arrive).days + 1)


def _moving(journey: Journey, trip: Trip, day: date) -> Iterator[tuple[str, str]]:
    """Leaving, being on the way, arriving, and the beginning; nothing on the days between."""
    place = journey.event.place.place_name
    if day == trip.leave and trip.travel_days:
        flight = (
            f", about {trip.flight_hours:.1f} hours of flight (an estimate)"
            if trip.flight_tenths
            else ""
        )
        yield "Leave", f"From {journey.origin} for {place}: {trip.distance_km:,} km{flight}."
    elif trip.leave < day < trip.arrive:
        yield "Travel", f"On the way to {place}."
    elif day == trip.arrive and trip.travel_days:
        yield "Arrive", f"The first whole day in {place}."
    if day == journey.event.start:
        yield "Event", f"{journey.event.name} begins."


def _clock_lines(journey: Journey, clock: ClockDay) -> Iterator[tuple[str, str]]:
    if not clock.off_min:
        yield "Clock", "By the average, your body clock has followed."
        return
    lags = "behind" if clock.off_min > 0 else "ahead of"
    yield "Clock", f"Your body clock is about {hours(clock.off_min)} {lags} the local one."
    yield (
        "Bed",
        f"At {clock_time(journey.bedtime_min)} by the local clock; "
        f"for your body it is about {clock_time(to_quarter(clock.body_at_bedtime))}.",
    )
    if clock.light is None:
        return
    words = []
    if clock.light.seek:
        words.append(f"Bright from {span_words(clock.light.seek)}: outdoors if you can.")
    if clock.light.avoid:
        words.append(f"Dim from {span_words(clock.light.avoid)}: indoors, or dark glasses.")
    yield "Light", " ".join(words)


def _settling_lines(journey: Journey, trip: Trip, number: int) -> Iterator[tuple[str, str]]:
    needs = trip.acclimatisation
    if 0 < number <= needs.heat:
        effort = (
            "Start short and easy, in the cooler hours."
            if number <= 2
            else "A little longer in the heat each day; shade and water at hand."
        )
        yield "Heat", f"Day {number} of {needs.heat}. {effort}"
    if 0 < number <= needs.altitude:
        high = journey.event.place.elevation_m >= ILLNESS_M
        effort = (
            "Only easy hitting; tell somebody of a headache at once."
            if high and number <= 2
            else "Find your length: the ball flies further."
        )
        yield "Altitude", f"Day {number} of {needs.altitude}. {effort}"
    if 0 < number <= needs.surface:
        effort = "Movement first, at low effort." if number == 1 else "Points on the new surface."
        yield "Court", f"Day {number} of {needs.surface} on {journey.event.surface}. {effort}"


# Costs ---------------------------------------------------------------------------------------


def _costs(journey: Journey, costs: TripCost | None) -> tuple[tuple[CostLine, ...], str, str]:
    """The lines, their sum, and what is missing from it."""
    event = journey.event
    lines = [CostLine("Entry fee", "", money(event.entry_fee))]
    total, gaps = event.entry_fee, []
    travel = costs.travel if costs else None
    night = costs.night if costs else None
    if travel is not None:
        ways = "there and home" if journey.trip is None or journey.trip.goes_home else "there"
        lines.append(CostLine("Travel", ways, money(travel)))
        total += travel
    elif journey.trip.travel_days if journey.trip else not journey.is_near_home:
        gaps.append("the travel")
    evenings = journey.nights()
    if evenings:
        first, last = evenings
        number = (last - first).days + 1
        if night is None:
            gaps.append(f"{count(number, 'night')} there")
        else:
            detail = (
                f"{count(number, 'night')} at {money(night)}, {weekday_day(first)} to "
                f"{weekday_day(last)}, as if reaching the final"
            )
            lines.append(CostLine("Stay", detail, money(number * night)))
            total += number * night
    missing = f"Not counted yet: {' and '.join(gaps)}." if gaps else ""
    return tuple(lines), money(total), missing
