"""Days needed before an event: each of the four causes at its edges, and the largest of them."""

from dataclasses import replace
from datetime import date

import pytest

from seasonplan.science.arrival import (
    Acclimatisation,
    Conditions,
    Rates,
    acclimatisation,
    altitude_days,
    clock_days,
    heat_days,
)
from seasonplan.science.places import Zones

MADRID = Conditions("Europe/Madrid", "clay", 650, 10)
MELBOURNE = Conditions("Australia/Melbourne", "hard", 30, 27)


def test_madrid_to_melbourne_in_january_takes_ten_days_of_clock_and_three_of_surface() -> None:
    needed = acclimatisation(MADRID, MELBOURNE, date(2026, 1, 10))
    assert needed == Acclimatisation(clock=10, surface=3, altitude=0, heat=0)
    assert needed.days == 10


def test_the_same_way_in_july_crosses_two_zones_fewer() -> None:
    assert acclimatisation(MADRID, MELBOURNE, date(2026, 7, 10)).clock == 8


def test_a_venue_like_the_place_left_needs_no_days() -> None:
    assert acclimatisation(MADRID, MADRID, date(2026, 1, 10)) == Acclimatisation(0, 0, 0, 0)


# ceil(60 h / 60) going east and ceil(60 h / 90) going west: the published rounding of one zone a
# day, and one and a half.
@pytest.mark.parametrize(
    ("hours", "days"),
    [
        (0, 0),
        (2.75, 0),
        (3, 3),
        (3.5, 4),
        (6, 6),
        (9, 9),
        (11.5, 12),
        (-2.75, 0),
        (-3, 2),
        (-4, 3),
        (-4.5, 3),
        (-5, 4),
        (-6, 4),
        (-8, 6),
        (-9.5, 7),
        (-12, 8),
    ],
)
def test_the_clock_follows_one_zone_a_day_east_and_one_and_a_half_west(
    hours: float, days: int
) -> None:
    assert clock_days(Zones(round(hours * 60)), Rates()) == days


# ceil(60 n / 57) east and ceil(60 n / 92) west, with Aschoff's rates (from memory), computed.
def test_whole_zones_with_the_unrounded_rates_give_the_tabulated_days() -> None:
    rates = Rates(clock_threshold_h=1, east_min_per_day=57, west_min_per_day=92)
    east = [clock_days(Zones(60 * zones), rates) for zones in range(1, 12)]
    west = [clock_days(Zones(-60 * zones), rates) for zones in range(1, 13)]
    assert east == [2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]
    assert west == [1, 2, 2, 3, 4, 4, 5, 6, 6, 7, 8, 8]


def test_the_threshold_of_the_clock_may_be_a_part_of_an_hour() -> None:
    rates = Rates(clock_threshold_h=2.75)
    assert clock_days(Zones(164), rates) == 0
    assert clock_days(Zones(165), rates) == 3


# Common practice, no source: bands by the venue's elevation, for a climb of 500 m or more.
@pytest.mark.parametrize(
    ("left", "venue", "days"),
    [
        (0, 499, 0),
        (0, 999, 0),
        (0, 1000, 2),
        (501, 1000, 0),
        (500, 1000, 2),
        (0, 1999, 2),
        (0, 1999.9, 2),
        (0, 2000, 5),
        (1501, 2000, 0),
        (1500, 2000, 5),
        (0, 2999, 5),
        (0, 3000, 10),
        (2500, 3000, 10),
        (2500.1, 3000, 0),
        (3000, 0, 0),
        (-20, 480, 0),
    ],
)
def test_altitude_counts_by_the_venue_when_it_lies_500_m_higher(
    left: float, venue: float, days: int
) -> None:
    assert altitude_days(left, venue) == days


# 28 C and a step of 8 C (common practice); 7 days after Racinais et al. 2015 (one to two weeks).
@pytest.mark.parametrize(
    ("left", "venue", "days"),
    [
        (20, 28, 7),
        (20.1, 28, 0),
        (19, 27.9, 0),
        (20, 27.99, 0),
        (24.3, 32.3, 7),  # as binary fractions the difference is 7.9999999999999964
        (24.4, 32.3, 0),
        (34, 28, 0),
        (None, 40, 0),
        (10, None, 0),
        (None, None, 0),
    ],
)
def test_heat_counts_from_28_degrees_when_it_is_8_degrees_hotter(
    left: float | None, venue: float | None, days: int
) -> None:
    assert heat_days(left, venue, Rates()) == days


def test_the_surface_counts_only_when_it_changes() -> None:
    on = date(2026, 5, 1)
    other = replace(MADRID, surface="grass")
    assert acclimatisation(MADRID, other, on, Rates(surface_days=4)).surface == 4
    assert acclimatisation(MADRID, MADRID, on, Rates(surface_days=4)).surface == 0


def test_the_days_are_the_largest_of_the_four_not_their_sum() -> None:
    assert Acclimatisation(clock=2, surface=3, altitude=5, heat=4).days == 5
