"""How hot does it feel, from temperature and humidity, and how much of a habituation is left.

The trip page asks. These figures compare places while a season is planned. None of them says
whether to play: climate averages do not know the day of the match, and the thresholds that
organisers use need a heat index that is measured on site.
"""

from __future__ import annotations

import math
from typing import Final

HEAT_INDEX_FROM_F: Final = 80
"""Below this, by the simple formula, the heat index says no more than the thermometer."""

LOSS_PER_DAY: Final = 0.025
"""Share of a full habituation that a day without heat takes away (Daanen et al. 2018)."""

FEWEST_DAYS: Final = 5
"""Days in the heat from which one speaks of habituation (Daanen et al. 2018)."""


def heat_index_f(temperature_f: float, humidity_percent: float) -> float:
    """What a temperature in Fahrenheit feels like in the shade and in a light wind, in Fahrenheit.

    The equation of the US National Weather Service (Rothfusz 1990, after Steadman 1979) with both
    of its adjustments: 90 F at 70 % feel like 105.9 F. Where the simple formula stays below 80 F,
    that one holds. Full sun can add some 15 F (from memory). Raises ValueError for a humidity
    outside 0..100.
    """
    t, r = temperature_f, _percent(humidity_percent)
    simple = (0.5 * (t + 61 + (t - 68) * 1.2 + r * 0.094) + t) / 2
    if simple < HEAT_INDEX_FROM_F:
        return simple
    index = (
        -42.379
        + 2.04901523 * t
        + 10.14333127 * r
        - 0.22475541 * t * r
        - 0.00683783 * t**2
        - 0.05481717 * r**2
        + 0.00122874 * t**2 * r
        + 0.00085282 * t * r**2
        - 0.00000199 * t**2 * r**2
    )
    if r < 13 and 80 <= t <= 112:
        index -= (13 - r) / 4 * math.sqrt((17 - abs(t - 95)) / 17)
    if r > 85 and 80 <= t <= 87:
        index += (r - 85) / 10 * ((87 - t) / 5)
    return index


def heat_index_c(temperature_c: float, humidity_percent: float) -> float:
    """`heat_index_f` for Celsius, in Celsius: 32.2 C at 70 % feel like 41.1 C."""
    return (heat_index_f(temperature_c * 1.8 + 32, humidity_percent) - 32) / 1.8


def vapour_pressure_hpa(temperature_c: float, humidity_percent: float) -> float:
    """Water vapour pressure in hPa: 30 C at 50 % is 21.14. Raises ValueError as `heat_index_f`."""
    saturated = 6.105 * math.exp(17.27 * temperature_c / (237.7 + temperature_c))
    return _percent(humidity_percent) / 100 * saturated


def simplified_wbgt_c(temperature_c: float, humidity_percent: float) -> float:
    """A rough wet-bulb globe temperature in Celsius: 30 C at 50 % give 29.3.

    The simplified form of the Australian Bureau of Meteorology. It takes moderately strong sun and
    a light wind for granted; Brimicombe et al. 2023 (GeoHealth) call it no adequate approximation,
    and Lemke & Kjellstrom 2012 (Industrial Health) recommend others. For comparing places only.
    Raises ValueError for a humidity outside 0..100.
    """
    vapour = vapour_pressure_hpa(temperature_c, humidity_percent)
    return 0.567 * temperature_c + 0.393 * vapour + 3.94


def habituation_left(days_without_heat: float) -> float:
    """Share, 0..1, of a full habituation after so many days without heat: 0.5 after 20.

    The linear reading of Daanen, Racinais & Periard 2018 (Sports Medicine 48:409-430): about 2.5 %
    a day. Their data span roughly one to four weeks (from memory). Raises ValueError below 0 days.
    """
    if days_without_heat < 0:
        raise ValueError(f"days without heat are 0 or more; got {days_without_heat}")
    return max(0.0, 1 - LOSS_PER_DAY * days_without_heat)


def _percent(humidity_percent: float) -> float:
    if not 0 <= humidity_percent <= 100:
        raise ValueError(f"a humidity lies within 0..100 %; got {humidity_percent}")
    return humidity_percent
