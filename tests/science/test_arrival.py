"""Days needed before an event: each of the four causes at its edges, and the clock on each day."""

import math
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonplan.science.arrival import (
    EARLIER_GAIN_MIN,
    Acclimatisation,
    Conditions,
    Light,
    Rates,
    acclimatisation,
    altitude_days,
    bedtimes_before,
    clock_days,
    clock_days_there,
    heat_days,
    quicker_the_long_way,
    shift_days,
)
from seasonplan.science.places import Zones, zones_crossed

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


# The body clock, day by day -------------------------------------------------------------------

ASCHOFF = Rates(clock_threshold_h=3, east_min_per_day=57, west_min_per_day=92)


# Zones by IANA time zones at noon UTC; days = |s| / 57 east and |s| / 92 west, after Aschoff,
# Hoffmann, Pohl & Wever 1975, Chronobiologia 2:23-78 (from memory); 60 and 90 minutes a day, one
# day a zone east and two thirds west, as a hospital's health letter prints it; half a day a zone
# west is another published rounding (from memory).
@pytest.mark.parametrize(
    ("left", "venue", "on", "aschoff", "halves", "thirds"),
    [
        ("Europe/London", "America/New_York", "2026-01-15", 3.261, 2.5, 3.333),
        ("Europe/London", "America/New_York", "2026-03-15", 2.609, 2.0, 2.667),
        ("Europe/Madrid", "Australia/Melbourne", "2026-01-10", 10.526, 10, 10),
        ("Europe/Madrid", "Australia/Melbourne", "2026-07-10", 8.421, 8, 8),
        ("America/New_York", "Australia/Melbourne", "2026-01-10", 5.217, 4, 5.333),
        ("America/Los_Angeles", "Asia/Tokyo", "2026-09-15", 5.217, 4, 5.333),
        ("America/Los_Angeles", "Australia/Sydney", "2026-01-10", 3.261, 2.5, 3.333),
        ("Europe/Paris", "Asia/Shanghai", "2026-10-05", 6.316, 6, 6),
        ("Asia/Kolkata", "America/New_York", "2026-08-20", 6.196, 4.75, 6.333),
        ("Asia/Kolkata", "America/Los_Angeles", "2026-08-20", 12.105, 11.5, 11.5),
        ("Pacific/Auckland", "America/New_York", "2026-08-25", 8.421, 8, 8),
        ("Asia/Bangkok", "America/Lima", "2026-07-05", 7.826, 6, 8),
        ("Pacific/Apia", "Pacific/Pago_Pago", "2026-08-25", 0, 0, 0),
        ("Pacific/Kiritimati", "Pacific/Honolulu", "2026-08-25", 0, 0, 0),
        ("Asia/Kathmandu", "Asia/Kolkata", "2026-08-25", 0.163, None, None),
        ("America/Phoenix", "America/Denver", "2026-07-01", 1.053, 1, 1),
    ],
)
def test_the_days_of_a_journey_by_three_published_rates(
    left: str, venue: str, on: str, aschoff: float, halves: float | None, thirds: float | None
) -> None:
    zones = zones_crossed(left, venue, date.fromisoformat(on))
    assert shift_days(zones, ASCHOFF) == pytest.approx(aschoff, abs=5e-4)
    half_days = Rates(east_min_per_day=60, west_min_per_day=120)
    if halves is not None and thirds is not None:
        assert shift_days(zones, half_days) == pytest.approx(halves, abs=5e-4)
        assert shift_days(zones, Rates()) == pytest.approx(thirds, abs=5e-4)


def test_three_earlier_nights_spare_a_day_and_a_half_not_three() -> None:
    # Eastman et al. 2005, Sleep (26 adults, three days): the schedule moves an hour a day, the
    # clock 1.5 hours in all on average. So 4.5 of six hours are left: 4.74 days at 57 minutes.
    six_east = Zones(360)
    evenings = bedtimes_before(six_east, date(2026, 10, 5), 23 * 60, nights=10)
    assert [clock for _, clock in evenings] == [22 * 60, 21 * 60, 20 * 60]
    assert [day.day for day, _ in evenings] == [2, 3, 4]
    left = shift_days(six_east, ASCHOFF, done_min=EARLIER_GAIN_MIN)
    assert left == pytest.approx(4.74, abs=5e-3)
    # Were the clock to follow the schedule in full, three hours would be left: 3.16 days.
    assert shift_days(six_east, ASCHOFF, done_min=180) == pytest.approx(3.16, abs=5e-3)


def test_bedtimes_move_later_before_a_journey_west_and_past_midnight() -> None:
    evenings = bedtimes_before(Zones(-300), date(2026, 10, 5), 22 * 60 + 30, nights=2)
    assert [clock for _, clock in evenings] == [23 * 60 + 30, 30]
    assert [day.day for day, _ in evenings] == [3, 4]


@pytest.mark.parametrize("nights", [0, -2])
def test_without_a_night_to_move_there_is_nothing_to_do(nights: int) -> None:
    assert bedtimes_before(Zones(360), date(2026, 10, 5), 23 * 60, nights=nights) == ()


# The long way round is quicker from s > 24 * 57 / 149 = 9.18 hours east on (computed): 10 hours
# take 10.53 days forward and 9.13 back; 9 hours 9.47 and 9.78.
@pytest.mark.parametrize(
    ("hours", "quicker"), [(9, False), (9.15, False), (9.2, True), (10, True), (-10, False)]
)
def test_from_nine_hours_east_on_the_long_way_is_quicker(hours: float, quicker: bool) -> None:
    assert quicker_the_long_way(Zones(round(hours * 60)), ASCHOFF) is quicker


def test_six_hours_east_day_by_day() -> None:
    days = clock_days_there(Zones(360), date(2026, 10, 5), date(2026, 10, 11), 23 * 60, Rates())
    assert [day.off_min for day in days] == [360, 300, 240, 180, 120, 60, 0]
    assert [day.body_at_bedtime // 60 for day in days] == [17, 18, 19, 20, 21, 22, 23]
    # The body's low at 4:00 of the old clock is 10:00 here: dark before, light after; later on it
    # falls into the night, and light is good from waking at 7:00.
    first, second, *_, last_but_one, last = days
    assert first.light == Light(seek=(600, 780), avoid=(420, 600))
    assert second.light == Light(seek=(540, 720), avoid=(420, 540))
    assert last_but_one.light == Light(seek=(420, 600), avoid=None)
    assert last.light is None


def test_eight_hours_west_day_by_day() -> None:
    days = clock_days_there(Zones(-480), date(2026, 9, 15), date(2026, 9, 21), 23 * 60, Rates())
    assert [day.off_min for day in days] == [-480, -390, -300, -210, -120, -30, 0]
    # The body's low at 4:00 of the old clock is 20:00 here: light before, dark after.
    assert days[0].light == Light(seek=(17 * 60, 20 * 60), avoid=(20 * 60, 23 * 60))
    assert days[1].light == Light(seek=(18 * 60 + 30, 21 * 60 + 30), avoid=(1290, 1380))
    assert days[3].light == Light(seek=(20 * 60, 23 * 60), avoid=None)


@pytest.mark.parametrize("minutes", [541, 720 - 1, -541, -720])
def test_no_hours_of_light_are_named_where_nobody_can_tell_which_way_the_clock_goes(
    minutes: int,
) -> None:
    days = clock_days_there(Zones(minutes), date(2026, 7, 1), date(2026, 7, 14), 1380, Rates())
    assert {day.light for day in days} == {None}


@given(
    st.integers(-720, 719),
    st.integers(0, 24 * 60 - 1),
    st.integers(0, 20),
    st.floats(20, 180),
    st.floats(20, 180),
)
def test_the_clock_only_comes_nearer_and_light_falls_into_waking_hours(
    minutes: int, bedtime: int, days_there: int, east: float, west: float
) -> None:
    zones, arrive = Zones(minutes), date(2026, 3, 1)
    rates = Rates(east_min_per_day=east, west_min_per_day=west)
    there = clock_days_there(zones, arrive, arrive + timedelta(days_there), bedtime, rates)
    offs = [day.off_min for day in there]
    assert offs[0] == minutes
    assert len(offs) == days_there + 1
    assert all(abs(after) <= abs(before) for before, after in pairwise(offs))
    assert all(off * minutes >= 0 for off in offs)
    assert (offs[-1] == 0) == (
        round(max(0.0, abs(minutes) - days_there * _rate(zones, rates))) == 0
    )
    for day in there:
        assert 0 <= day.body_at_bedtime < 24 * 60
        for span in (day.light.seek, day.light.avoid) if day.light else ():
            if span:
                awake_from, awake_to = ((clock - bedtime) % (24 * 60) for clock in span)
                assert 8 * 60 <= awake_from < (awake_to or 24 * 60) <= 24 * 60


@given(st.integers(-720, 719), st.integers(0, 720))
def test_days_on_the_page_are_the_judges_days_rounded_up(minutes: int, done: int) -> None:
    zones, no_threshold = Zones(minutes), Rates(clock_threshold_h=0)
    exact = shift_days(zones, no_threshold)
    assert clock_days(zones, no_threshold) == math.ceil(exact - 1e-9)
    assert 0 <= shift_days(zones, no_threshold, done_min=done) <= exact


@given(st.integers(-720, 719), st.integers(0, 24 * 60 - 1), st.integers(-3, 30))
def test_bedtimes_before_leaving_stop_at_three_hours_and_on_the_eve(
    minutes: int, bedtime: int, nights: int
) -> None:
    leave = date(2026, 3, 1)
    evenings = bedtimes_before(Zones(minutes), leave, bedtime, nights)
    assert len(evenings) <= min(3, max(0, nights), abs(minutes) // 60)
    assert all(leave - timedelta(3) <= day < leave for day, _ in evenings)
    moved = [(clock - bedtime) % (24 * 60) for _, clock in evenings]
    towards = -1 if minutes > 0 else 1
    assert moved == [(towards * 60 * n) % (24 * 60) for n in range(1, len(evenings) + 1)]


def _rate(zones: Zones, rates: Rates) -> float:
    return rates.east_min_per_day if zones.minutes > 0 else rates.west_min_per_day
