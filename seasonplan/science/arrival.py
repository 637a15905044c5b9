"""How many days before an event should a player be there.

Four things need time after a journey, side by side, so that the longest counts: the body clock, the
surface, the altitude and the heat. The rates are editable; these are averages with a large spread
from person to person, no medical advice.

Sources: clock, one zone a day going east and one and a half going west is the common rounding of
57 and 92 minutes a day (Aschoff et al. 1975, from memory), and three zones as the threshold is
after CDC Yellow Book 2024 and Roach & Sargent 2019; heat, one to two weeks after Racinais et al.
2015; surface and altitude, common practice with no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from seasonplan.science.exact import hundredths
from seasonplan.science.places import Zones, zones_crossed

CLIMB_M: Final = 500
"""A venue this much higher than the place left may need days at altitude."""

ALTITUDE_BANDS: Final[tuple[tuple[int, int], ...]] = ((1000, 0), (2000, 2), (3000, 5))
"""(elevation in metres that the venue lies below, days); from 3000 m on `HIGH_ALTITUDE_DAYS`."""

HIGH_ALTITUDE_DAYS: Final = 10

HOT_C: Final = 28
"""Expected daily high, in Celsius, from which a venue counts as hot."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """What a place is like: IANA zone, surface, elevation in metres, expected daily high in Celsius
    (None where nobody knows)."""

    timezone: str
    surface: str
    elevation_m: float
    high_c: float | None = None


@dataclass(frozen=True, slots=True)
class Rates:
    """How fast a player adapts: hours of clock, minutes a day, days, and a step in Celsius."""

    clock_threshold_h: float = 3
    east_min_per_day: float = 60
    west_min_per_day: float = 90
    surface_days: int = 3
    heat_days: int = 7
    heat_step_c: float = 8


@dataclass(frozen=True, slots=True)
class Acclimatisation:
    """Days needed at a venue before an event, one number for each thing to get used to."""

    clock: int
    surface: int
    altitude: int
    heat: int

    @property
    def days(self) -> int:
        """The largest of the four, since they run side by side."""
        return max(self.clock, self.surface, self.altitude, self.heat)


def acclimatisation(
    left: Conditions, venue: Conditions, on: date, rates: Rates | None = None
) -> Acclimatisation:
    """Days needed at `venue` by a player who comes from `left` for an event that starts on `on`.

    From Madrid to Melbourne in January (10 hours east, clay to hard): clock 10, surface 3.
    """
    rates = rates or Rates()
    zones = zones_crossed(left.timezone, venue.timezone, on)
    return Acclimatisation(
        clock=clock_days(zones, rates),
        surface=rates.surface_days if left.surface != venue.surface else 0,
        altitude=altitude_days(left.elevation_m, venue.elevation_m),
        heat=heat_days(left.high_c, venue.high_c, rates),
    )


def clock_days(zones: Zones, rates: Rates) -> int:
    """Whole days until the body clock has followed: 0 below the threshold, else rounded up."""
    shift = abs(zones.minutes) * 100
    if shift < hundredths(rates.clock_threshold_h) * 60:
        return 0
    per_day = rates.east_min_per_day if zones.minutes > 0 else rates.west_min_per_day
    return -(-shift // hundredths(per_day))


def altitude_days(left_m: float, venue_m: float) -> int:
    """Days by the venue's elevation, if it lies 500 m or more above the place left; metres."""
    if hundredths(venue_m) - hundredths(left_m) < CLIMB_M * 100:
        return 0
    for below_m, days in ALTITUDE_BANDS:
        if venue_m < below_m:
            return days
    return HIGH_ALTITUDE_DAYS


def heat_days(left_c: float | None, venue_c: float | None, rates: Rates) -> int:
    """Days for a venue of at least 28 C that is hotter than the place left by the step or more."""
    if left_c is None or venue_c is None or venue_c < HOT_C:
        return 0
    hotter = hundredths(venue_c) - hundredths(left_c)
    return rates.heat_days if hotter >= hundredths(rates.heat_step_c) else 0
