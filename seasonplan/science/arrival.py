"""How many days before an event should a player be there, and what is the clock on each of them.

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
from datetime import date, timedelta
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


# The body clock, day by day -------------------------------------------------------------------

EARLIER_NIGHTS: Final = 3
EARLIER_BY_MIN: Final = 60
"""The last nights before leaving and how much each bedtime moves (Eastman et al. 2005)."""

EARLIER_GAIN_MIN: Final = 90
"""What three such nights move the clock of an adult going east: 1.5 hours on average (ibid.)."""

LIGHT_HOURS_UP_TO_MIN: Final = 9 * 60
"""For a larger shift nobody can say which way round the clock will go, and so which light helps.

With 57 and 92 minutes a day, going the long way round is quicker from 9.2 hours east on.
"""

SLEEP_MIN: Final = 8 * 60
LOW_BEFORE_WAKING_MIN: Final = 3 * 60
LIGHT_MIN: Final = 3 * 60
"""Hours of sleep; how long before waking the body's low is; and how long on either side of it
light counts. From memory, after Eastman & Burgess 2009 (Sleep Medicine Clinics 4:241-255)."""

Minutes = int
"""Minutes after midnight, 0..1439."""

_DAY_MIN: Final = 24 * 60


@dataclass(frozen=True, slots=True)
class Light:
    """When to seek and when to avoid bright light, as (from, to) in minutes after midnight, local
    time; None where that time falls in the night."""

    seek: tuple[Minutes, Minutes] | None
    avoid: tuple[Minutes, Minutes] | None


@dataclass(frozen=True, slots=True)
class ClockDay:
    """One day at the venue: how far the body clock is off in signed minutes, as the zones are
    (positive: it lags behind the local one), and what it says at the local bedtime.

    `light` is None once the clock has followed, and for a shift too large to tell.
    """

    day: date
    off_min: int
    body_at_bedtime: Minutes
    light: Light | None


def shift_days(zones: Zones, rates: Rates, *, done_min: float = 0) -> float:
    """Days that the clock takes after arrival, not rounded, whatever the threshold.

    `done_min` are minutes of the shift done before leaving. Six hours east at 57 minutes a day with
    90 done are 4.74 days.
    """
    left = max(0.0, abs(zones.minutes) - done_min)
    return left / _per_day(zones, rates)


def quicker_the_long_way(zones: Zones, rates: Rates) -> bool:
    """Whether, at these rates, delaying the long way round is quicker than advancing."""
    long_way = Zones(zones.minutes - _DAY_MIN)
    return zones.minutes > 0 and shift_days(long_way, rates) < shift_days(zones, rates)


def bedtimes_before(
    zones: Zones, leave: date, bedtime: Minutes, nights: int
) -> tuple[tuple[date, Minutes], ...]:
    """Bedtimes of the last nights before leaving: an hour earlier each for a journey east, an hour
    later each for one west, at most three.

    Six hours east from 23:00: 22:00, 21:00, 20:00. `nights` are those that the player spends where
    the journey begins. Later bedtimes are the mirror image, with no figure of what they gain.
    """
    used = max(0, min(nights, EARLIER_NIGHTS, abs(zones.minutes) // EARLIER_BY_MIN))
    step = -EARLIER_BY_MIN if zones.minutes > 0 else EARLIER_BY_MIN
    return tuple(
        (leave - timedelta(days=used - night), (bedtime + step * (night + 1)) % _DAY_MIN)
        for night in range(used)
    )


def clock_days_there(
    zones: Zones, arrive: date, until: date, bedtime: Minutes, rates: Rates
) -> tuple[ClockDay, ...]:
    """Each day from `arrive` to `until`, both included, going to bed at `bedtime` by the local
    clock, with nothing done before leaving.

    From Madrid to Shanghai, 6 hours east, the body says 17:00 at 23:00 on the first day.
    """
    days = []
    towards = 1 if zones.minutes > 0 else -1
    for number in range((until - arrive).days + 1):
        left = max(0.0, abs(zones.minutes) - number * _per_day(zones, rates))
        off = towards * round(left)
        days.append(
            ClockDay(
                day=arrive + timedelta(days=number),
                off_min=off,
                body_at_bedtime=(bedtime - off) % _DAY_MIN,
                light=_light(off, bedtime)
                if off and abs(zones.minutes) <= LIGHT_HOURS_UP_TO_MIN
                else None,
            )
        )
    return tuple(days)


def _light(off_min: int, bedtime: Minutes) -> Light:
    """Light after the body's low moves the clock forward, light before it moves it back.

    The body's low lies three hours before usual waking by its own clock. Times are counted from the
    local bedtime of the evening before, so that the waking day is one piece.
    """
    waking, night = SLEEP_MIN, _DAY_MIN
    low = SLEEP_MIN - LOW_BEFORE_WAKING_MIN + off_min
    if off_min < 0:
        # A clock that is ahead has its low in the evening or in the night that follows.
        low += _DAY_MIN
        end = min(low, night)
        seek = (end - LIGHT_MIN, end)
        avoid = (low, min(low + LIGHT_MIN, night))
    else:
        start = max(low, waking)
        seek = (start, start + LIGHT_MIN)
        avoid = (max(low - LIGHT_MIN, waking), low)
    return Light(*(_local(span, bedtime) for span in (seek, avoid)))


def _local(span: tuple[int, int], bedtime: Minutes) -> tuple[Minutes, Minutes] | None:
    """The span by the local clock; None if it is empty."""
    start, end = span
    if start >= end:
        return None
    return (bedtime + start) % _DAY_MIN, (bedtime + end) % _DAY_MIN


def _per_day(zones: Zones, rates: Rates) -> float:
    return rates.east_min_per_day if zones.minutes > 0 else rates.west_min_per_day
