"""How far is it, how long is the flight, and how many time zones lie between two places.

Distances are geodesics on the WGS84 ellipsoid (Karney 2013, Journal of Geodesy 87:43-55). Flight
hours are an estimate by common practice with no source: wind, routing, stops and hours on the
ground are not in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cache, lru_cache
from typing import Final, Literal
from zoneinfo import ZoneInfo

from geographiclib.geodesic import Geodesic

NEARBY_KM: Final = 100
"""Below this distance a journey takes no flight and no day of its own."""

LONGEST_JOURNEY_DAYS: Final = 2
"""No journey takes more days of travel."""

Direction = Literal["east", "west", "none"]


@dataclass(frozen=True, slots=True)
class Zones:
    """Time zones crossed, in signed minutes of the clock: positive going east, -720..719."""

    minutes: int

    @property
    def hours(self) -> float:
        """Signed hours, quarters kept: Kathmandu to Kolkata is -0.25."""
        return self.minutes / 60

    @property
    def direction(self) -> Direction:
        """The shorter way round the clock."""
        if self.minutes == 0:
            return "none"
        return "east" if self.minutes > 0 else "west"


@lru_cache(maxsize=200_000)
def distance_km(lat1: float, lon1: float, lat2: float, lon2: float) -> int:
    """Geodesic distance in whole kilometres between two points in degrees.

    London (51.4706, -0.46194) to New York (40.639928, -73.778692): 5555 km. Raises ValueError for
    a latitude outside -90..90.
    """
    if not (-90 <= lat1 <= 90 and -90 <= lat2 <= 90):
        raise ValueError(f"a latitude lies within -90..90; got {lat1} and {lat2}")
    if lat1 == lat2 and lon1 == lon2:
        return 0
    metres: float = Geodesic.WGS84.Inverse(lat1, lon1, lat2, lon2, Geodesic.DISTANCE)["s12"]
    return round(metres / 1000)


def flight_tenths(km: int) -> int:
    """Flight time in whole tenths of an hour: `0.5 + km / 850` hours, 0 below 100 km."""
    if km < NEARBY_KM:
        return 0
    return 5 + (2 * km + 85) // 170


def flight_hours(km: int) -> float:
    """Flight time in hours, to a tenth (common practice, an estimate): 1000 km take 1.7 hours."""
    return flight_tenths(km) / 10


def travel_days(km: int, one_day_travel_km: int) -> int:
    """Days a journey takes: 0 below 100 km, 1 up to `one_day_travel_km`, else 2."""
    if km < NEARBY_KM:
        return 0
    return 1 if km <= one_day_travel_km else LONGEST_JOURNEY_DAYS


@lru_cache(maxsize=50_000)
def utc_offset_minutes(timezone: str, on: date) -> int:
    """Minutes that the clock of an IANA zone is ahead of UTC at noon UTC of the day `on`.

    Raises zoneinfo.ZoneInfoNotFoundError (a KeyError) for a zone that nobody knows.
    """
    noon = datetime(on.year, on.month, on.day, 12, tzinfo=UTC)
    offset = noon.astimezone(_zone(timezone)).utcoffset() or timedelta()
    return offset // timedelta(minutes=1)


@cache
def _zone(name: str) -> ZoneInfo:
    """ZoneInfo itself keeps only its last eight zones; a calendar has dozens."""
    return ZoneInfo(name)


def zones_crossed(from_tz: str, to_tz: str, on: date) -> Zones:
    """Zones crossed on the way from one IANA zone to another, by their clocks at noon UTC of `on`.

    The shorter way round the clock; exactly twelve hours count as west, since a later bedtime is
    the easier one. Auckland to New York in August is 8 hours east, not 16 west.
    """
    raw = utc_offset_minutes(to_tz, on) - utc_offset_minutes(from_tz, on)
    return Zones((raw + 720) % 1440 - 720)
