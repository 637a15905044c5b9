"""What lies behind the trip to one event: where from, what changes, when the clock follows.

The day-by-day list (`trip_page.py`) and the four things to get used to (`settling.py`) both read
it. It asks nothing of the database: the trips are the judge's, of the plan's material.
"""

from __future__ import annotations

from datetime import date, time, timedelta
from functools import cached_property
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from seasonplan.events.models import Event
from seasonplan.plans.costs import beds, is_near
from seasonplan.plans.due import trips_of
from seasonplan.plans.laying_out import Material
from seasonplan.science.arrival import (
    EARLIER_NIGHTS,
    HOT_C,
    ClockDay,
    Rates,
    bedtimes_before,
    clock_days_there,
)
from seasonplan.science.layout.trips import Trip
from seasonplan.science.places import Zones, zones_crossed

ADULT_YEARS: Final = 18

KEEP_HOME_TIME_DAYS: Final = 2
"""Who stays no longer may keep the clock of home (CDC Yellow Book 2024)."""


class Journey:
    """The trip to one event of a plan, with what lies before and after it."""

    def __init__(self, material: Material, event: Event, bedtime: time) -> None:
        assert material.home is not None
        self.material, self.event, self.home = material, event, material.home
        self.bedtime_min = bedtime.hour * 60 + bedtime.minute
        limits = material.plan.parsed_limits
        self.rates = Rates(
            clock_threshold_h=limits.clock_threshold_h,
            east_min_per_day=limits.east_min_per_day,
            west_min_per_day=limits.west_min_per_day,
        )
        self.trips = trips_of(material)
        self.trip: Trip | None = self.trips.get(event.pk)
        played = material.going
        at = next((i for i, other in enumerate(played) if other.pk == event.pk), None)
        self.before = played[at - 1] if at else None
        self.after = played[at + 1] if at is not None and at + 1 < len(played) else None
        from_home = self.trip is None or self.trip.origin == "home"
        self.left: Event | None = None if from_home else self.before

    @property
    def origin(self) -> str:
        """`home`, or the place of the event before."""
        return self.left.place.place_name if self.left else pgettext("where a trip begins", "home")

    @property
    def at_origin(self) -> str:
        if self.left:
            return _("in %(place)s") % {"place": self.origin}
        return _("at home")

    @property
    def than_origin(self) -> str:
        """The origin behind `hotter than`, where some languages say `in` as well."""
        if self.left:
            return pgettext("behind “hotter than”", "%(place)s") % {"place": self.origin}
        return pgettext("behind “hotter than”", "home")

    @cached_property
    def zones(self) -> Zones:
        timezone = self.left.place.timezone if self.left else self.home.timezone
        return zones_crossed(timezone, self.event.place.timezone, self.event.start)

    @property
    def left_elevation_m(self) -> int:
        return self.left.place.elevation_m if self.left else self.home.elevation_m

    @property
    def left_high_c(self) -> float | None:
        if self.left:
            return self.left.high_c
        highs = self.home.monthly_high_c
        return float(highs[self.event.start.month - 1]) if highs else None

    @property
    def left_surface(self) -> str:
        return self.left.surface if self.left else self.home.surface

    @property
    def is_hot(self) -> bool:
        return self.event.high_c is not None and self.event.high_c >= HOT_C

    @cached_property
    def clock(self) -> bool:
        """Whether the zones are so many that the body clock needs days."""
        return self.trip is not None and self.trip.acclimatisation.clock > 0

    @property
    def stays_days(self) -> int:
        return (self.event.end - self.trip.arrive).days + 1 if self.trip else 0

    @cached_property
    def free_nights(self) -> int:
        """Nights between the event before and leaving, where bedtimes may move."""
        assert self.trip is not None
        if self.before is None:
            return EARLIER_NIGHTS
        free_from = self.before.end + timedelta(days=1)
        if self.left is None:
            free_from += timedelta(days=self.trips[self.before.pk].home_travel_days)
        return (self.trip.leave - free_from).days

    @cached_property
    def evenings(self) -> dict[date, int]:
        """The bedtimes before leaving, in minutes after midnight, by day."""
        if self.trip is None or not self.clock or self.keeps_home_time:
            return {}
        nights = bedtimes_before(self.zones, self.trip.leave, self.bedtime_min, self.free_nights)
        return dict(nights)

    @property
    def keeps_home_time(self) -> bool:
        """So short a stay that the clock of home may stay."""
        return self.stays_days <= KEEP_HOME_TIME_DAYS

    @cached_property
    def clock_days(self) -> dict[date, ClockDay]:
        if self.trip is None or not self.clock:
            return {}
        there = clock_days_there(
            self.zones, self.trip.arrive, self.event.start, self.bedtime_min, self.rates
        )
        return {day.day: day for day in there}

    @cached_property
    def age(self) -> int | None:
        return self.material.plan.player.age_on(self.event.start)

    @property
    def may_be_minor(self) -> bool:
        return self.age is None or self.age < ADULT_YEARS

    @property
    def is_near_home(self) -> bool:
        return is_near(self.home, self.event)

    def nights(self) -> tuple[date, date] | None:
        """First and last evening on which a bed is needed there; None for an event near home."""
        if self.trip is None or self.is_near_home:
            return None
        after = self.trips[self.after.pk] if self.after else None
        return beds(self.event, self.trip, left=self.left, after=after)
