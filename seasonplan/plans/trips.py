"""One event in a plan: what it is, how the player gets there, and what the days before are for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.urls import reverse

from seasonplan.events.models import Event
from seasonplan.plans.laying_out import Material, code_of, id_of, judge_plan
from seasonplan.science.countries import country_name
from seasonplan.science.layout.problem import Limits
from seasonplan.science.layout.trips import Trip
from seasonplan.science.layout.wording import count, days, weekday_day


@dataclass(frozen=True)
class EventPage:
    """The panel of one event: facts, the trip in words, and cautions where they are due."""

    url: str
    season_url: str
    title: str
    where: str
    surface: str
    surface_label: str
    facts: tuple[tuple[str, str], ...]
    in_plan: bool
    trip: tuple[str, ...]
    settling: tuple[tuple[str, str], ...]
    settling_total: str
    cautions: tuple[str, ...]
    findings: tuple[str, ...]
    revision: int
    worth_now: str
    may_change: bool
    said: str


def event_page(
    material: Material, event: Event, *, today: date, may_change: bool, said: str = ""
) -> EventPage:
    """The panel's page model; the trip is the judge's, from home or the event before."""
    plan = material.plan
    laid_out = material.home and material.blocks
    judgement = judge_plan(material, today=today).judgement if laid_out else None
    code = code_of(event.pk)
    trip = next((t for t in judgement.trips if t.code == code), None) if judgement else None
    names = {e.pk: e.place.place_name for e in material.events}
    limits = plan.parsed_limits
    return EventPage(
        url=reverse("planned-event", args=[plan.pk, event.pk]),
        season_url=reverse("season", args=[plan.pk]),
        title=event.name,
        where=", ".join(
            part for part in (event.place.place_name, country_name(event.place.country)) if part
        ),
        surface=event.surface,
        surface_label=event.surface + (" indoors" if event.indoor else ""),
        facts=_facts(event),
        in_plan=trip is not None,
        trip=_trip_words(trip, event, names) if trip else (),
        settling=_settling(trip, limits) if trip else (),
        settling_total=_settling_total(trip) if trip else "",
        cautions=_cautions(trip, event) if trip else (),
        findings=tuple(f.text for f in judgement.broken if code in f.events) if judgement else (),
        revision=plan.revision,
        worth_now=f"Counts as {material.worth(event)} now.",
        may_change=may_change,
        said=said,
    )


def _facts(event: Event) -> tuple[tuple[str, str], ...]:
    facts = [("Dates", days(event.start, event.end))]
    if event.level:
        facts.append(("Level", event.level))
    if event.draw_size:
        facts.append(("Draw", str(event.draw_size)))
    if event.entry_deadline:
        facts.append(("Entries close", weekday_day(event.entry_deadline)))
    if event.withdrawal_deadline:
        facts.append(("Withdraw by", weekday_day(event.withdrawal_deadline)))
    if event.entry_fee:
        facts.append(("Entry fee", f"{event.entry_fee:,.2f}"))
    if event.high_c is not None:
        facts.append(("Expected high", f"{event.high_c:.0f} °C"))
    if event.humidity_percent is not None:
        facts.append(("Expected humidity", f"{event.humidity_percent} %"))
    if event.place.elevation_m >= 500:
        facts.append(("Elevation", f"{event.place.elevation_m} m"))
    return tuple(facts)


def _trip_words(trip: Trip, event: Event, names: dict[int, str]) -> tuple[str, ...]:
    origin = "home" if trip.origin == "home" else names[id_of(trip.origin)]
    if trip.travel_days:
        way = (
            f"From {origin}: leave {weekday_day(trip.leave)}, arrive {weekday_day(trip.arrive)}. "
            f"{trip.distance_km:,} km, about {trip.flight_hours:.1f} hours of flight "
            f"(an estimate), {count(trip.travel_days, 'travel day')}."
        )
    else:
        way = (
            f"From {origin}: {trip.distance_km} km, no travel day. "
            f"Be there by {weekday_day(trip.arrive)}."
        )
    words = [way]
    if trip.missing_days:
        words.append(
            f"{count(trip.missing_days, 'day')} too few before the first day, "
            f"{weekday_day(event.start)}."
        )
    if trip.goes_home:
        home = (
            f", {count(trip.home_travel_days, 'travel day')}, "
            f"about {trip.home_flight_hours:.1f} hours of flight"
            if trip.home_travel_days
            else ""
        )
        words.append(f"Afterwards home{home}.")
    else:
        words.append("Afterwards straight on to the next event.")
    return tuple(words)


def _settling(trip: Trip, limits: Limits) -> tuple[tuple[str, str], ...]:
    parts = trip.acclimatisation
    zones = abs(trip.zones_minutes) / 60
    way = "east" if trip.zones_minutes > 0 else "west"
    rate = limits.east_min_per_day if trip.zones_minutes > 0 else limits.west_min_per_day
    lines = []
    if parts.clock:
        lines.append(
            (
                f"Clock {count(parts.clock, 'day')}",
                f"{zones:g} hours {way}, at {rate:g} minutes a day",
            )
        )
    if parts.heat:
        lines.append((f"Heat {count(parts.heat, 'day')}", "much hotter than the place left"))
    if parts.altitude:
        lines.append((f"Altitude {count(parts.altitude, 'day')}", "much higher; common practice"))
    if parts.surface:
        lines.append((f"Surface {count(parts.surface, 'day')}", "a new surface; common practice"))
    return tuple(lines)


def _settling_total(trip: Trip) -> str:
    total = trip.acclimatisation.days
    if not total:
        return "No days needed to settle in."
    return f"{count(total, 'day')} to settle in: these run side by side, so the longest counts."


def _cautions(trip: Trip, event: Event) -> tuple[str, ...]:
    parts = trip.acclimatisation
    cautions = []
    if parts.clock:
        cautions.append(
            "Clock days are averages; people differ widely. For sleep aids or any medicine, and "
            "for a minor always, ask a doctor and check anti-doping rules."
        )
    if parts.heat or (event.high_c is not None and event.high_c >= 32):
        cautions.append(
            "Climate averages cannot tell match-day heat. Confusion, collapse or vomiting in the "
            "heat is an emergency: cool first, call help."
        )
    if event.place.elevation_m >= 2500:
        cautions.append("Headache with nausea at altitude: stop, descend, see a doctor.")
    return tuple(cautions)
