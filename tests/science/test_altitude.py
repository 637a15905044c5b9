"""The standard atmosphere and the flight of a ball in it, against tabulated values."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonplan.science.altitude import air_at, ball_flight

# ISO 2533 / ICAO standard atmosphere; height, kelvin, pascal, kg/m3, kg/m3 at the geometric height
# (an independent implementation of the standard), density over sea level, mmHg of inspired oxygen.
ATMOSPHERE = [
    (0, 288.150, 101325.0, 1.22500, 1.22500, 1.0000, 149.4),
    (250, 286.525, 98357.5, 1.19587, 1.19587, 0.9762, 144.7),
    (500, 284.900, 95460.8, 1.16727, 1.16727, 0.9529, 140.2),
    (1000, 281.650, 89874.6, 1.11164, 1.11166, 0.9075, 131.4),
    (1219.2, 280.225, 87510.5, 1.08791, 1.08793, 0.8881, 127.7),
    (1500, 278.400, 84556.0, 1.05807, 1.05810, 0.8637, 123.0),
    (2000, 275.150, 79495.2, 1.00649, 1.00655, 0.8216, 115.1),
    (2250, 273.525, 77058.4, 0.98143, 0.98151, 0.8012, 111.2),
    (2500, 271.900, 74682.5, 0.95686, 0.95695, 0.7811, 107.5),
    (3000, 268.650, 70108.5, 0.90912, 0.90925, 0.7421, 100.3),
    (3640, 264.490, 64587.5, 0.85070, 0.85089, 0.6945, 91.6),
]


@pytest.mark.parametrize(
    ("height", "kelvin", "pascal", "density", "geometric", "ratio", "oxygen"), ATMOSPHERE
)
def test_the_air_is_that_of_the_standard_atmosphere(
    height: float,
    kelvin: float,
    pascal: float,
    density: float,
    geometric: float,
    ratio: float,
    oxygen: float,
) -> None:
    air = air_at(height)
    assert air.temperature_k == pytest.approx(kelvin, abs=5e-4)
    assert air.pressure_pa == pytest.approx(pascal, abs=0.06)
    assert air.density == pytest.approx(density, abs=5.5e-6)
    assert air.ratio == pytest.approx(ratio, abs=5.5e-5)
    assert air.inspired_oxygen_mmhg == pytest.approx(oxygen, abs=0.055)
    # A height above the sea is no geopotential one; the gap is small up to 3 km.
    assert air.density == pytest.approx(geometric, rel=1.5e-4 if height <= 3000 else 3e-4)


# Drag alone on 67 mm, 58 g and a coefficient of 0.55 (from memory); computed with scipy.
@pytest.mark.parametrize(
    ("density", "speed", "seconds"),
    [
        (1.225, 33.197, 0.4943),
        (1.11164, 34.480, 0.4845),
        (0.98143, 36.014, 0.4734),
        (0.85070, 37.623, 0.4627),
    ],
)
def test_a_serve_keeps_more_of_its_speed_in_thin_air(
    density: float, speed: float, seconds: float
) -> None:
    flight = ball_flight(50, 20, density)
    assert flight.speed_m_s == pytest.approx(speed, abs=5.5e-4)
    assert flight.seconds == pytest.approx(seconds, abs=5.5e-5)


@given(st.floats(-450, 6000), st.floats(1, 500))
def test_higher_up_there_is_less_of_everything(elevation_m: float, climb_m: float) -> None:
    below, above = air_at(elevation_m), air_at(elevation_m + climb_m)
    assert above.density < below.density
    assert above.pressure_pa < below.pressure_pa
    assert above.inspired_oxygen_mmhg < below.inspired_oxygen_mmhg


@given(st.floats(1, 80), st.floats(0, 40), st.just(0) | st.floats(1e-9, 1.3))
def test_a_ball_is_never_quicker_than_without_air(speed: float, metres: float, rho: float) -> None:
    flight = ball_flight(speed, metres, rho)
    assert 0 < flight.speed_m_s <= speed
    assert flight.seconds >= metres / speed * (1 - 1e-9)


@given(st.floats(10, 80), st.floats(1, 20), st.floats(1, 20))
def test_a_flight_in_two_parts_is_the_whole_flight(speed: float, first: float, then: float) -> None:
    part = ball_flight(speed, first, 1.225)
    rest = ball_flight(part.speed_m_s, then, 1.225)
    whole = ball_flight(speed, first + then, 1.225)
    assert rest.speed_m_s == pytest.approx(whole.speed_m_s)
    assert part.seconds + rest.seconds == pytest.approx(whole.seconds)


def test_without_air_a_ball_keeps_its_speed() -> None:
    assert ball_flight(50, 20, 0).seconds == 0.4


@pytest.mark.parametrize("elevation_m", [-501, 11_001, float("nan")])
def test_a_height_outside_of_the_formula_is_refused(elevation_m: float) -> None:
    with pytest.raises(ValueError, match=r"-500\.\.11000"):
        air_at(elevation_m)


def test_a_ball_that_stands_still_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0"):
        ball_flight(0, 20, 1.2)
