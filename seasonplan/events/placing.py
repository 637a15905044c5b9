"""Which place do they mean: one of the academy's own, or one that the airport table knows?

The import asks for every row, the event form for what was typed, and the place search for the
choices. The academy's own places go first: somebody may have corrected them.
"""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from seasonplan.academy.models import Academy
from seasonplan.events.cells import folded
from seasonplan.events.facts import LONGEST_NAME
from seasonplan.events.models import Place
from seasonplan.science.airports import Airport, airport_by_code, find_airports, place_for_city
from seasonplan.science.countries import country_code, country_name
from seasonplan.science.places import distance_km

SAME_PLACE_KM = 100
"""An airport further than this from a place of the same name serves another town of that name."""

MOST_CHOICES = 8


class PlaceUnclear(Exception):
    """No place, or more than one, is meant. `field` is city, country or airport."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field
        self.sentence = sentence


@dataclass(frozen=True, slots=True)
class Choice:
    """One place to choose: `value` is place:<id> or airport:<code>."""

    value: str
    name: str
    detail: str


class Places:
    """The places of one academy, loaded once, and those about to join them (without a pk)."""

    def __init__(self, academy: Academy) -> None:
        self.academy = academy
        self._by_name: dict[str, list[Place]] = {}
        for place in Place.objects.filter(academy=academy).order_by("pk"):
            self._by_name.setdefault(folded(place.place_name), []).append(place)

    def find(self, *, city: str, country: str, airport: str) -> Place:
        """The one place meant by a city, a two-letter country and an airport code, of which some
        may be empty. It has no pk if it is new. Raises PlaceUnclear."""
        if airport:
            return self._at_airport(city, country, airport)
        # One that is about to join counts only where the country is the same in both rows.
        namesakes = [place for place in self._by_name.get(folded(city), []) if place.pk or country]
        own = [place for place in namesakes if not country or place.country == country]
        own = own or [place for place in namesakes if not place.country]
        if len(own) == 1:
            return own[0]
        if own:
            raise PlaceUnclear(
                "city",
                _("“%(city)s” may be %(places)s. Add the country.")
                % {"city": city, "places": _either(str(place) for place in own)},
            )
        found = place_for_city(city, country or None)
        if found is None:
            raise PlaceUnclear("city", self._not_one(city, country))
        name = city.rpartition(",")[0] if "," in city and not country else city
        return self._near(name.strip() or city, found)

    def chosen(self, value: str) -> Place | None:
        """The place behind the `value` of a Choice, or None if there is none of that value."""
        kind, _, key = value.partition(":")
        if kind == "place":
            own = (place for places in self._by_name.values() for place in places)
            return next((place for place in own if str(place.pk) == key), None)
        airport = airport_by_code(key) if kind == "airport" else None
        return self._near(airport.city or airport.name, airport) if airport else None

    def meant(self, text: str) -> Place | None:
        """The one place that a typed text means ("Valencia, ES", "VLC"), or None if it may be
        none or several."""
        before, _, after = text.rpartition(",")
        country = country_code(after) if before.strip() else None
        city = before.strip() if country else text.strip()
        found: list[Place] = []
        for where, code in ((city, ""), ("", text.strip())):
            # A code in small letters may be the beginning of a town: better to ask.
            if where or (len(code) in (3, 4) and code.isupper()):
                with suppress(PlaceUnclear):
                    found.append(self.find(city=where, country=country or "", airport=code))
        # A town of four letters may share them with some airfield's code: the town is meant.
        if len(found) == 2 and (found[0] is found[1] or len(text.strip()) == 4):
            found.pop()
        return found[0] if len(found) == 1 else None

    def choices(self, text: str) -> list[Choice]:
        """What a typed text may mean: the academy's places first, then airports."""
        letters = folded(text)
        if not letters:
            return []
        own = [
            place
            for _, places in sorted(self._by_name.items())
            for place in places
            if place.pk and f" {letters}" in f" {folded(str(place))}"
        ]
        choices = [Choice(f"place:{place.pk}", str(place), _("in your calendar")) for place in own]
        choices += [
            Choice(
                f"airport:{airport.iata}",
                f"{airport.city or airport.name}, {country_name(airport.country)}",
                f"{airport.iata}, {airport.name}",
            )
            for airport in find_airports(text, MOST_CHOICES)
            if not any(
                folded(place.place_name) == folded(airport.city) and _is_near(place, airport)
                for place in own
            )
        ]
        return choices[:MOST_CHOICES]

    def _at_airport(self, city: str, country: str, code: str) -> Place:
        airport = airport_by_code(code)
        if airport is None:
            raise PlaceUnclear(
                "airport",
                _(
                    "“%(code)s” is not the code of an airport that is known. Correct it, or leave "
                    "it out and give city and country."
                )
                % {"code": code},
            )
        if country and country != airport.country:
            raise PlaceUnclear(
                "airport",
                _(
                    "%(code)s is %(airport)s in %(country)s, but the row says %(said)s. Correct "
                    "one of them."
                )
                % {
                    "code": airport.iata,
                    "airport": airport.name,
                    "country": country_name(airport.country),
                    "said": country_name(country),
                },
            )
        return self._near(city or airport.city or airport.name, airport)

    def _near(self, name: str, airport: Airport) -> Place:
        """The academy's place of that name near the airport, else a new one.

        Two towns of one name in one country are told apart by the airport's code in the name.
        """
        if name.islower() and folded(name) == folded(airport.city):
            name = airport.city
        name = name[: LONGEST_NAME - 6]
        namesakes = self._of_country(name, airport.country)
        for place in namesakes:
            if _is_near(place, airport):
                return place
        if namesakes:
            name = f"{name} ({airport.iata})"
            if told_apart := self._of_country(name, airport.country):
                return told_apart[0]
        new = Place(
            academy=self.academy,
            place_name=name,
            country=airport.country,
            lat=airport.lat,
            lon=airport.lon,
            timezone=airport.timezone,
            elevation_m=airport.elevation_m,
        )
        self._by_name.setdefault(folded(name), []).append(new)
        return new

    def _of_country(self, name: str, country: str) -> list[Place]:
        """Places of that name in the country, and those that say no country."""
        namesakes = self._by_name.get(folded(name), [])
        return [place for place in namesakes if place.country in (country, "")]

    @staticmethod
    def _not_one(city: str, country: str) -> str:
        letters = folded(city)
        said = {"city": city, "country": country_name(country) if country else ""}
        namesakes = [
            airport
            for airport in find_airports(city, 50)
            if folded(airport.city) == letters and country in (airport.country, "")
        ]
        if len({airport.country for airport in namesakes}) > 1:
            countries = sorted({country_name(airport.country) for airport in namesakes})
            return _(
                "“%(city)s” may be in %(countries)s. Add the country, or the code of the nearest "
                "airport."
            ) % {"city": city, "countries": _either(countries)}
        if namesakes:
            sentence = (
                _(
                    "“%(city)s” in %(country)s may be near %(airports)s. Add the code of the "
                    "airport."
                )
                if country
                else _("“%(city)s” may be near %(airports)s. Add the code of the airport.")
            )
            codes = [f"{airport.iata} ({airport.name})" for airport in namesakes]
            return sentence % (said | {"airports": _either(codes)})
        sentence = (
            _(
                "No place “%(city)s” in %(country)s is known. Check the spelling, add the code of "
                "the nearest airport, or add an event there by hand first."
            )
            if country
            else _(
                "No place “%(city)s” is known. Check the spelling, add the code of the nearest "
                "airport, or add an event there by hand first."
            )
        )
        return sentence % said


def _is_near(place: Place, airport: Airport) -> bool:
    return distance_km(place.lat, place.lon, airport.lat, airport.lon) <= SAME_PLACE_KM


def _either(names: Iterable[str]) -> str:
    *others, last = names
    if not others:
        return last
    return pgettext("end of a list of which one is meant", "%(before)s or %(last)s") % {
        "before": ", ".join(others),
        "last": last,
    }
