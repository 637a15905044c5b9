"""What does altitude do to the ball and to the body.

The trip page asks. The air is that of the standard atmosphere (ISO 2533), not of the day: warm or
moist air is thinner still, by less than what a thousand metres do.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

HIGH_ALTITUDE_BALLS_M: Final = 1219
"""Above this, 4,000 ft, high-altitude ball types may be used (Rules of Tennis, appendix I)."""

ILLNESS_M: Final = 2500
"""Acute altitude illness is uncommon below this (Khodaee et al. 2016, Sports Health)."""

BALL_DIAMETER_M: Final = 0.067
BALL_MASS_KG: Final = 0.058
BALL_DRAG: Final = 0.55
"""Drag coefficient; the three of the ball are from memory and within what the rules allow."""

LOWEST_M, HIGHEST_M = -500, 11_000

_SEA_LEVEL_K: Final = 288.15
_SEA_LEVEL_PA: Final = 101_325
_K_PER_M: Final = 0.0065
_EXPONENT: Final = 5.255880
_GAS: Final = 287.05287
_PA_PER_MMHG: Final = 101_325 / 760
_OXYGEN: Final = 0.2095
_WATER_IN_AIRWAYS_MMHG: Final = 47


@dataclass(frozen=True, slots=True)
class Air:
    """The standard air at a height: kelvin, pascal, kg a cubic metre, and mmHg of oxygen inhaled.

    `ratio` is the density over that at sea level; the drag of a ball scales with it.
    """

    temperature_k: float
    pressure_pa: float
    density: float
    ratio: float
    inspired_oxygen_mmhg: float


def air_at(elevation_m: float) -> Air:
    """The standard air at an elevation in metres: at 2250 m its density is 0.98 kg/m3, 20 % less.

    Raises ValueError outside -500..11000 m.
    """
    if not LOWEST_M <= elevation_m <= HIGHEST_M:
        raise ValueError(f"an elevation lies within {LOWEST_M}..{HIGHEST_M} m; got {elevation_m}")
    temperature = _SEA_LEVEL_K - _K_PER_M * elevation_m
    pressure = _SEA_LEVEL_PA * (temperature / _SEA_LEVEL_K) ** _EXPONENT
    density = pressure / (_GAS * temperature)
    return Air(
        temperature_k=temperature,
        pressure_pa=pressure,
        density=density,
        ratio=density / (_SEA_LEVEL_PA / (_GAS * _SEA_LEVEL_K)),
        inspired_oxygen_mmhg=_OXYGEN * (pressure / _PA_PER_MMHG - _WATER_IN_AIRWAYS_MMHG),
    )


@dataclass(frozen=True, slots=True)
class Flight:
    """A ball after its flight: speed in m/s, and seconds on the way."""

    speed_m_s: float
    seconds: float


def ball_flight(speed_m_s: float, metres: float, density: float) -> Flight:
    """A ball slowed by drag alone, without spin or gravity, in air of so many kg a cubic metre.

    50 m/s become 33.2 after 20 m at sea level, and 36.0 at 2250 m. Raises ValueError for a speed
    that is not above 0.
    """
    if speed_m_s <= 0:
        raise ValueError(f"a ball in flight has a speed above 0; got {speed_m_s}")
    area = math.pi * BALL_DIAMETER_M**2 / 4
    k = density * BALL_DRAG * area / (2 * BALL_MASS_KG)
    if k == 0:
        return Flight(speed_m_s, metres / speed_m_s)
    return Flight(
        speed_m_s=speed_m_s * math.exp(-k * metres),
        seconds=math.expm1(k * metres) / (k * speed_m_s),
    )
