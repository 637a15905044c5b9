"""Distances, flights and time zones against published and independently computed numbers."""

from datetime import date
from zoneinfo import ZoneInfoNotFoundError

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.places import (
    Zones,
    distance_km,
    flight_hours,
    travel_days,
    utc_offset_minutes,
    zones_crossed,
)


# WGS84 geodesics in metres, here to the whole kilometre. The second is an example that Karney
# published (J Geodesy 2013, 87:43-55); the others were computed with a geodesic library.
@pytest.mark.parametrize(
    ("lat1", "lon1", "lat2", "lon2", "metres"),
    [
        (40.6, -73.8, 51.6, -0.5, 5551759.400),
        (-41.32, 174.81, 40.96, -5.50, 19959679.267),  # published; nearly antipodal
        (0, 0, 0, 1, 111319.491),
        (0, 0, 1, 0, 110574.389),
        (0, 179.5, 0, -179.5, 111319.491),  # across the antimeridian
        (90, 0, -90, 0, 20003931.459),  # pole to pole
        (0, 0, 0.5, 179.7, 19944127.421),  # Vincenty's iteration fails here
        (51.4706, -0.46194, 40.639928, -73.778692, 5554517.456),
        (-37.6733, 144.843, 51.4706, -0.46194, 16903780.642),
        (33.942501, -118.407997, -33.946098, 151.177002, 12050712.828),
        # Flinders Peak to Buninyong, as printed for GRS80 in the Australian manual (from memory);
        # WGS84 differs by less than a millimetre.
        (-37.9510334166667, 144.424867888889, -37.6528211388889, 143.926495527778, 54972.271),
    ],
)
def test_a_distance_is_the_geodesic_in_whole_kilometres(
    lat1: float, lon1: float, lat2: float, lon2: float, metres: float
) -> None:
    assert distance_km(lat1, lon1, lat2, lon2) == round(metres / 1000)


def test_the_end_of_a_geodesic_of_5500_km_measures_back_to_5500_km() -> None:
    # Karney's direct problem from 40.6, -73.8 at azimuth 51 degrees, computed. (His published one,
    # 20000 km from Perth, is no shortest way and cannot be measured back.)
    assert distance_km(40.6, -73.8, 51.88456451, -1.14117286) == 5500


def test_a_place_is_no_distance_from_itself() -> None:
    assert distance_km(41.4, 2.2, 41.4, 2.2) == 0


def test_a_latitude_beyond_the_pole_is_refused() -> None:
    with pytest.raises(ValueError, match="latitude"):
        distance_km(90.1, 0, 0, 0)


@settings(deadline=None)
@given(
    lat1=st.floats(-90, 90), lon1=st.floats(-180, 180), lat2=st.floats(-90, 90),
    lon2=st.floats(-180, 180),
)  # fmt: skip
def test_a_way_is_as_long_back_and_never_longer_than_half_the_earth(
    lat1: float, lon1: float, lat2: float, lon2: float
) -> None:
    there = distance_km(lat1, lon1, lat2, lon2)
    assert abs(there - distance_km(lat2, lon2, lat1, lon1)) <= 1
    assert 0 <= there <= 20004


# 0.5 h + km / 850 (common practice, no source), to a tenth.
@pytest.mark.parametrize(
    ("km", "hours"),
    [
        (0, 0.0),
        (99, 0.0),
        (100, 0.6),  # 0.618
        (500, 1.1),  # 1.088
        (1000, 1.7),  # 1.676
        (2000, 2.9),  # 2.853
        (3000, 4.0),  # 4.029
        (5000, 6.4),  # 6.382
        (8000, 9.9),  # 9.912
        (10000, 12.3),  # 12.265
        (12000, 14.6),  # 14.618
        (127, 0.6),  # 0.6494
        (128, 0.7),  # 0.6506
    ],
)
def test_flight_hours_are_half_an_hour_and_850_km_an_hour(km: int, hours: float) -> None:
    assert flight_hours(km) == hours


@pytest.mark.parametrize(
    ("km", "days"), [(0, 0), (99, 0), (100, 1), (5000, 1), (5001, 2), (20000, 2)]
)
def test_a_journey_takes_no_day_one_or_two(km: int, days: int) -> None:
    assert travel_days(km, 5000) == days


# IANA zones at noon UTC of the day; hours east positive.
@pytest.mark.parametrize(
    ("left", "venue", "on", "hours", "direction"),
    [
        ("Europe/London", "America/New_York", "2026-01-15", -5, "west"),
        ("Europe/London", "America/New_York", "2026-03-15", -4, "west"),  # only one has summer time
        ("Europe/Madrid", "Australia/Melbourne", "2026-01-10", 10, "east"),
        ("Europe/Madrid", "Australia/Melbourne", "2026-07-10", 8, "east"),
        ("America/New_York", "Australia/Melbourne", "2026-01-10", -8, "west"),
        ("America/Los_Angeles", "Asia/Tokyo", "2026-09-15", -8, "west"),
        ("America/Los_Angeles", "Australia/Sydney", "2026-01-10", -5, "west"),
        ("Europe/Paris", "Asia/Shanghai", "2026-10-05", 6, "east"),
        ("Asia/Kolkata", "America/New_York", "2026-08-20", -9.5, "west"),
        ("Asia/Kolkata", "America/Los_Angeles", "2026-08-20", 11.5, "east"),
        ("Pacific/Auckland", "America/New_York", "2026-08-25", 8, "east"),
        ("Asia/Bangkok", "America/Lima", "2026-07-05", -12, "west"),  # exactly 12 h counts as west
        ("America/Lima", "Asia/Bangkok", "2026-07-05", -12, "west"),
        ("Pacific/Apia", "Pacific/Pago_Pago", "2026-08-25", 0, "none"),  # the date line
        ("Pacific/Kiritimati", "Pacific/Honolulu", "2026-08-25", 0, "none"),
        ("Asia/Kathmandu", "Asia/Kolkata", "2026-08-25", -0.25, "west"),
        ("America/Phoenix", "America/Denver", "2026-07-01", 1, "east"),
    ],
)
def test_zones_are_crossed_the_shorter_way_round_the_clock(
    left: str, venue: str, on: str, hours: float, direction: str
) -> None:
    zones = zones_crossed(left, venue, date.fromisoformat(on))
    assert (zones.hours, zones.direction) == (hours, direction)


@pytest.mark.parametrize(
    ("on", "minutes"),
    # The clocks of London go forward at 1:00 UTC of 29 March 2026 and back on 25 October.
    [("2026-03-28", 0), ("2026-03-29", 60), ("2026-10-24", 60), ("2026-10-25", 0)],
)
def test_an_offset_is_that_of_noon_utc_on_the_days_the_clocks_change(on: str, minutes: int) -> None:
    assert utc_offset_minutes("Europe/London", date.fromisoformat(on)) == minutes


def test_an_unknown_zone_is_refused() -> None:
    with pytest.raises(ZoneInfoNotFoundError):
        zones_crossed("Europe/London", "Europe/Atlantis", date(2026, 1, 1))


def test_zones_keep_quarters_of_an_hour() -> None:
    assert Zones(-15).hours == -0.25
