"""The whole trip to one event: day by day until the first match, what to expect, what it costs.

`trip_page` makes the page model from a plan's material; the panel of the season screen says the
same trip in short (`trips.py`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from seasonplan.events.models import Event
from seasonplan.plans.journey import Journey
from seasonplan.plans.laying_out import Material
from seasonplan.plans.models import TripCost
from seasonplan.plans.settling import Part, parts_of
from seasonplan.plans.terms import surface_word
from seasonplan.plans.trip_words import clock_time, hours, money, span_words, to_quarter
from seasonplan.science.altitude import ILLNESS_M
from seasonplan.science.arrival import ClockDay
from seasonplan.science.layout.trips import Trip
from seasonplan.science.words import listed, number, weekday_day, whole

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
    if not days_left:
        return _("first match possible")
    return ngettext("%(count)d day to go", "%(count)d days to go", days_left) % {"count": days_left}


def _lines(journey: Journey, trip: Trip, day: date) -> Iterator[tuple[str, str]]:
    doing = [*_moving(journey, trip, day), *_adapting(journey, trip, day)]
    if doing:
        yield from doing
    else:
        yield _("Where"), _where(journey, is_there=day > trip.leave)


def _where(journey: Journey, *, is_there: bool) -> str:
    if not is_there and journey.left is None:
        return _("At home.")
    place = journey.event.place.place_name if is_there else journey.origin
    return _("In %(place)s.") % {"place": place}


def _adapting(journey: Journey, trip: Trip, day: date) -> Iterator[tuple[str, str]]:
    if (evening := journey.evenings.get(day)) is not None:
        said = _("At %(time)s, an hour later than the night before.")
        if journey.zones.minutes > 0:
            said = _("At %(time)s, an hour earlier than the night before.")
        yield _("Bed"), said % {"time": clock_time(evening)}
    if clock := journey.clock_days.get(day):
        yield from _clock_lines(journey, clock)
    if day >= trip.arrive:
        yield from _settling_lines(journey, trip, (day - trip.arrive).days + 1)


def _moving(journey: Journey, trip: Trip, day: date) -> Iterator[tuple[str, str]]:
    """Leaving, being on the way, arriving, and the beginning; nothing on the days between."""
    place = journey.event.place.place_name
    if day == trip.leave and trip.travel_days:
        yield _("Leave"), _leaving(journey, trip)
    elif trip.leave < day < trip.arrive:
        yield _("Travel"), _("On the way to %(place)s.") % {"place": place}
    elif day == trip.arrive and trip.travel_days:
        yield _("Arrive"), _("The first whole day in %(place)s.") % {"place": place}
    if day == journey.event.start:
        yield _("Event"), _("%(event)s begins.") % {"event": journey.event.name}


def _leaving(journey: Journey, trip: Trip) -> str:
    way = _("From %(origin)s for %(place)s") if journey.left else _("From home for %(place)s")
    said = _("%(way)s: %(km)s km.")
    if trip.flight_tenths:
        said = _("%(way)s: %(km)s km, about %(hours)s hours of flight (an estimate).")
    return said % {
        "way": way % {"origin": journey.origin, "place": journey.event.place.place_name},
        "km": whole(trip.distance_km),
        "hours": number(trip.flight_hours, 1),
    }


def _clock_lines(journey: Journey, clock: ClockDay) -> Iterator[tuple[str, str]]:
    if not clock.off_min:
        yield _("Clock"), _("By the average, your body clock has followed.")
        return
    said = _("Your body clock is about %(hours)s ahead of the local one.")
    if clock.off_min > 0:
        said = _("Your body clock is about %(hours)s behind the local one.")
    yield _("Clock"), said % {"hours": hours(clock.off_min)}
    yield (
        _("Bed"),
        _("At %(time)s by the local clock; for your body it is about %(body)s.")
        % {
            "time": clock_time(journey.bedtime_min),
            "body": clock_time(to_quarter(clock.body_at_bedtime)),
        },
    )
    if clock.light is None:
        return
    words = []
    if clock.light.seek:
        said = _("Bright from %(times)s: outdoors if you can.")
        words.append(said % {"times": span_words(clock.light.seek)})
    if clock.light.avoid:
        said = _("Dim from %(times)s: indoors, or dark glasses.")
        words.append(said % {"times": span_words(clock.light.avoid)})
    yield _("Light"), " ".join(words)


def _settling_lines(journey: Journey, trip: Trip, day: int) -> Iterator[tuple[str, str]]:
    needs, which = trip.acclimatisation, _("Day %(day)d of %(days)d.")
    if 0 < day <= needs.heat:
        effort = (
            _("Start short and easy, in the cooler hours.")
            if day <= 2
            else _("A little longer in the heat each day; shade and water at hand.")
        )
        yield _("Heat"), f"{which % {'day': day, 'days': needs.heat}} {effort}"
    if 0 < day <= needs.altitude:
        high = journey.event.place.elevation_m >= ILLNESS_M
        effort = (
            _("Only easy hitting; tell somebody of a headache at once.")
            if high and day <= 2
            else _("Find your length: the ball flies further.")
        )
        yield _("Altitude"), f"{which % {'day': day, 'days': needs.altitude}} {effort}"
    if 0 < day <= needs.surface:
        effort = (
            _("Movement first, at low effort.") if day == 1 else _("Points on the new surface.")
        )
        which = _("Day %(day)d of %(days)d on %(surface)s.") % {
            "day": day,
            "days": needs.surface,
            "surface": surface_word(journey.event.surface),
        }
        yield _("Court"), f"{which} {effort}"


# Costs ---------------------------------------------------------------------------------------


def _costs(journey: Journey, costs: TripCost | None) -> tuple[tuple[CostLine, ...], str, str]:
    """The lines, their sum, and what is missing from it."""
    event = journey.event
    lines = [CostLine(_("Entry fee"), "", money(event.entry_fee))]
    total, gaps = event.entry_fee, []
    travel = costs.travel if costs else None
    night = costs.night if costs else None
    if travel is not None:
        goes_home = journey.trip is None or journey.trip.goes_home
        ways = _("there and home") if goes_home else _("there")
        lines.append(CostLine(_("Travel"), ways, money(travel)))
        total += travel
    elif journey.trip.travel_days if journey.trip else not journey.is_near_home:
        gaps.append(_("the travel"))
    evenings = journey.nights()
    if evenings:
        first, last = evenings
        nights = (last - first).days + 1
        if night is None:
            text = ngettext("%(count)d night there", "%(count)d nights there", nights)
            gaps.append(text % {"count": nights})
        else:
            detail = ngettext(
                "%(count)d night at %(price)s, %(first)s to %(last)s, as if reaching the final",
                "%(count)d nights at %(price)s, %(first)s to %(last)s, as if reaching the final",
                nights,
            ) % {
                "count": nights,
                "price": money(night),
                "first": weekday_day(first),
                "last": weekday_day(last),
            }
            lines.append(CostLine(_("Stay"), detail, money(nights * night)))
            total += nights * night
    missing = _("Not counted yet: %(gaps)s.") % {"gaps": listed(gaps)} if gaps else ""
    return tuple(lines), money(total), missing
