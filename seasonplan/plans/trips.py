"""One event in a plan: what it is, how the player gets there, and what the days before are for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from seasonplan.events.models import Event
from seasonplan.plans.laying_out import Material, code_of, id_of, judge_plan
from seasonplan.plans.terms import surface_with_roof
from seasonplan.science.countries import country_name
from seasonplan.science.layout.problem import Limits
from seasonplan.science.layout.trips import Trip
from seasonplan.science.words import days, figure, number, short_number, weekday_day, whole


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
        surface_label=surface_with_roof(event.surface, indoor=event.indoor),
        facts=_facts(event),
        in_plan=trip is not None,
        trip=_trip_words(trip, event, names) if trip else (),
        settling=_settling(trip, limits) if trip else (),
        settling_total=_settling_total(trip) if trip else "",
        cautions=_cautions(trip, event) if trip else (),
        findings=tuple(f.text for f in judgement.broken if code in f.events) if judgement else (),
        revision=plan.revision,
        worth_now=_("Counts as %(worth)d now.") % {"worth": material.worth(event)},
        may_change=may_change,
        said=said,
    )


def _facts(event: Event) -> tuple[tuple[str, str], ...]:
    facts = [(_("Dates"), days(event.start, event.end))]
    if event.level:
        facts.append((_("Level"), event.level))
    if event.draw_size:
        facts.append((pgettext("of an event", "Draw"), str(event.draw_size)))
    if event.entry_deadline:
        facts.append((_("Entries close"), weekday_day(event.entry_deadline)))
    if event.withdrawal_deadline:
        facts.append((_("Withdraw by"), weekday_day(event.withdrawal_deadline)))
    if event.entry_fee:
        facts.append((_("Entry fee"), figure(event.entry_fee, 2)))
    if event.high_c is not None:
        facts.append((_("Expected high"), f"{number(event.high_c)} °C"))
    if event.humidity_percent is not None:
        facts.append((_("Expected humidity"), f"{event.humidity_percent} %"))
    if event.place.elevation_m >= 500:
        facts.append((_("Elevation"), f"{event.place.elevation_m} m"))
    return tuple(facts)


def _trip_words(trip: Trip, event: Event, names: dict[int, str]) -> tuple[str, ...]:
    words = [_way(trip, names)]
    if trip.missing_days:
        words.append(
            ngettext(
                "%(count)d day too few before the first day, %(day)s.",
                "%(count)d days too few before the first day, %(day)s.",
                trip.missing_days,
            )
            % {"count": trip.missing_days, "day": weekday_day(event.start)}
        )
    words.append(_afterwards(trip))
    return tuple(words)


def _way(trip: Trip, names: dict[int, str]) -> str:
    home = trip.origin == "home"
    filled = {
        "place": "" if home else names[id_of(trip.origin)],
        "distance": whole(trip.distance_km) if trip.travel_days else str(trip.distance_km),
        "leave": weekday_day(trip.leave),
        "arrive": weekday_day(trip.arrive),
        "hours": number(trip.flight_hours, 1),
        "count": trip.travel_days,
    }
    if not trip.travel_days:
        near = (
            _("From home: %(distance)s km, no travel day. Be there by %(arrive)s.")
            if home
            else _("From %(place)s: %(distance)s km, no travel day. Be there by %(arrive)s.")
        )
        return near % filled
    far = (
        ngettext(
            "From home: leave %(leave)s, arrive %(arrive)s. %(distance)s km, about %(hours)s "
            "hours of flight (an estimate), %(count)d travel day.",
            "From home: leave %(leave)s, arrive %(arrive)s. %(distance)s km, about %(hours)s "
            "hours of flight (an estimate), %(count)d travel days.",
            trip.travel_days,
        )
        if home
        else ngettext(
            "From %(place)s: leave %(leave)s, arrive %(arrive)s. %(distance)s km, about %(hours)s "
            "hours of flight (an estimate), %(count)d travel day.",
            "From %(place)s: leave %(leave)s, arrive %(arrive)s. %(distance)s km, about %(hours)s "
            "hours of flight (an estimate), %(count)d travel days.",
            trip.travel_days,
        )
    )
    return far % filled


def _afterwards(trip: Trip) -> str:
    if not trip.goes_home:
        return _("Afterwards straight on to the next event.")
    if not trip.home_travel_days:
        return _("Afterwards home.")
    return ngettext(
        "Afterwards home, %(count)d travel day, about %(hours)s hours of flight.",
        "Afterwards home, %(count)d travel days, about %(hours)s hours of flight.",
        trip.home_travel_days,
    ) % {"count": trip.home_travel_days, "hours": number(trip.home_flight_hours, 1)}


def _settling(trip: Trip, limits: Limits) -> tuple[tuple[str, str], ...]:
    parts = trip.acclimatisation
    lines = []
    if parts.clock:
        label = ngettext("Clock %(count)d day", "Clock %(count)d days", parts.clock)
        lines.append((label % {"count": parts.clock}, _clock_words(trip, limits)))
    if parts.heat:
        label = ngettext("Heat %(count)d day", "Heat %(count)d days", parts.heat)
        lines.append((label % {"count": parts.heat}, _("much hotter than the place left")))
    if parts.altitude:
        label = ngettext("Altitude %(count)d day", "Altitude %(count)d days", parts.altitude)
        lines.append((label % {"count": parts.altitude}, _("much higher; common practice")))
    if parts.surface:
        label = ngettext("Surface %(count)d day", "Surface %(count)d days", parts.surface)
        lines.append((label % {"count": parts.surface}, _("a new surface; common practice")))
    return tuple(lines)


def _clock_words(trip: Trip, limits: Limits) -> str:
    east = trip.zones_minutes > 0
    way = (
        _("%(hours)s hours east, at %(minutes)s minutes a day")
        if east
        else _("%(hours)s hours west, at %(minutes)s minutes a day")
    )
    rate = limits.east_min_per_day if east else limits.west_min_per_day
    return way % {
        "hours": short_number(abs(trip.zones_minutes) / 60),
        "minutes": short_number(rate),
    }


def _settling_total(trip: Trip) -> str:
    total = trip.acclimatisation.days
    if not total:
        return _("No days needed to settle in.")
    return ngettext(
        "%(count)d day to settle in: these run side by side, so the longest counts.",
        "%(count)d days to settle in: these run side by side, so the longest counts.",
        total,
    ) % {"count": total}


def _cautions(trip: Trip, event: Event) -> tuple[str, ...]:
    parts = trip.acclimatisation
    cautions = []
    if parts.clock:
        cautions.append(
            _(
                "Clock days are averages; people differ widely. For sleep aids or any medicine, "
                "and for a minor always, ask a doctor and check anti-doping rules."
            )
        )
    if parts.heat or (event.high_c is not None and event.high_c >= 32):
        cautions.append(
            _(
                "Climate averages cannot tell match-day heat. Confusion, collapse or vomiting in "
                "the heat is an emergency: cool first, call help."
            )
        )
    if event.place.elevation_m >= 2500:
        cautions.append(_("Headache with nausea at altitude: stop, descend, see a doctor."))
    return tuple(cautions)
