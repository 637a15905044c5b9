"""How hot it feels, against worked values of published equations; what habituation is left."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonplan.science.heat import (
    habituation_left,
    heat_index_c,
    heat_index_f,
    simplified_wbgt_c,
    vapour_pressure_hpa,
)

# US National Weather Service, Weather Prediction Center: the heat index equation, after Rothfusz
# 1990 (SR 90-23) and Steadman 1979; worked from the coefficients on that page, with numpy.
HEAT_INDEX = [
    (70, 50, 69.5250, 20.847),  # the simple formula
    (75, 60, 75.0100, 23.894),
    (80, 40, 79.7900, 26.550),
    (80, 90, 86.3419, 30.190),  # raised for moist air
    (82, 95, 93.9722, 34.429),
    (84, 86, 96.4111, 35.784),
    (86, 90, 105.3944, 40.775),
    (88, 70, 100.2175, 37.899),  # the full equation alone
    (90, 50, 94.5969, 34.776),
    (90, 70, 105.9220, 41.068),
    (95, 10, 89.4496, 31.916),  # lowered for dry air
    (95, 60, 113.0903, 45.050),
    (100, 40, 109.2556, 42.920),
    (100, 50, 118.3158, 47.953),
    (104, 5, 95.9915, 35.551),
    (104, 40, 118.8771, 48.265),
    (110, 40, 135.6570, 57.587),
]


@pytest.mark.parametrize(("temperature_f", "humidity", "index_f", "index_c"), HEAT_INDEX)
def test_the_heat_index_is_that_of_the_weather_service(
    temperature_f: float, humidity: float, index_f: float, index_c: float
) -> None:
    assert heat_index_f(temperature_f, humidity) == pytest.approx(index_f, abs=5e-5)
    celsius = (temperature_f - 32) / 1.8
    assert heat_index_c(celsius, humidity) == pytest.approx(index_c, abs=5e-4)


# The chart that the Weather Service prints for 90 F; it may differ by a degree (secondary pages).
@pytest.mark.parametrize(("humidity", "printed_f"), [(45, 93), (70, 105)])
def test_the_printed_chart_is_met_to_a_degree(humidity: float, printed_f: float) -> None:
    assert abs(heat_index_f(90, humidity) - printed_f) <= 1


def test_both_adjustments_are_made() -> None:
    # Without them, the equation gives 90.1996 and 105.2944 (computed).
    assert heat_index_f(95, 10) == pytest.approx(90.1996 - 0.75, abs=5e-5)
    assert heat_index_f(86, 90) == pytest.approx(105.2944 + 0.1, abs=5e-5)


# Australian Bureau of Meteorology, thermal stress page, as code that quotes it gives the formula;
# worked with numpy.
@pytest.mark.parametrize(
    ("temperature_c", "humidity", "vapour_hpa", "wbgt_c"),
    [
        (20, 50, 11.6613, 19.8629),
        (25, 50, 15.7915, 24.3211),
        (28, 80, 30.1418, 31.6617),
        (30, 40, 16.9149, 27.5975),
        (30, 50, 21.1436, 29.2594),
        (30, 60, 25.3723, 30.9213),
        (30, 70, 29.6010, 32.5832),
        (32, 60, 28.4280, 33.2562),
        (35, 30, 16.8050, 30.3893),
        (35, 50, 28.0083, 34.7922),
        (35, 60, 33.6099, 36.9937),
        (40, 20, 14.6912, 32.3936),
    ],
)
def test_the_simplified_wet_bulb_globe_temperature_is_that_of_the_bureau(
    temperature_c: float, humidity: float, vapour_hpa: float, wbgt_c: float
) -> None:
    assert vapour_pressure_hpa(temperature_c, humidity) == pytest.approx(vapour_hpa, abs=5e-5)
    assert simplified_wbgt_c(temperature_c, humidity) == pytest.approx(wbgt_c, abs=5e-5)


# Daanen, Racinais & Periard 2018, Sports Med 48:409-430: about 2.5 % lost a day, read linearly.
@pytest.mark.parametrize(
    ("days", "left"), [(0, 1), (7, 0.825), (14, 0.65), (20, 0.5), (28, 0.3), (40, 0), (60, 0)]
)
def test_a_habituation_is_lost_by_a_fortieth_a_day(days: int, left: float) -> None:
    assert habituation_left(days) == pytest.approx(left, abs=1e-12)


@given(st.floats(-30, 55), st.floats(0, 99))
def test_moister_air_never_makes_the_rough_temperature_lower(
    temperature_c: float, humidity: float
) -> None:
    drier = simplified_wbgt_c(temperature_c, humidity)
    assert drier <= simplified_wbgt_c(temperature_c, humidity + 1)


@given(st.floats(26.7, 45), st.floats(13, 84))
def test_a_hotter_day_of_the_same_moisture_feels_hotter(
    temperature_c: float, humidity: float
) -> None:
    # Between the two adjustments; where the simple formula hands over, the step is a small one.
    assert heat_index_c(temperature_c + 1, humidity) > heat_index_c(temperature_c, humidity)


@given(st.floats(0, 100), st.floats(0, 100))
def test_what_is_left_never_grows_and_stays_a_share(first: float, more: float) -> None:
    assert 0 <= habituation_left(first + more) <= habituation_left(first) <= 1


@pytest.mark.parametrize("humidity", [-1, 100.5, float("nan")])
@pytest.mark.parametrize("formula", [heat_index_c, heat_index_f, simplified_wbgt_c])
def test_a_humidity_that_is_none_is_refused(formula: object, humidity: float) -> None:
    assert callable(formula)
    with pytest.raises(ValueError, match=r"within 0\.\.100"):
        formula(30, humidity)


def test_days_without_heat_are_not_negative() -> None:
    with pytest.raises(ValueError, match="0 or more"):
        habituation_left(-1)
