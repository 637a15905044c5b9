"""Decimal numbers as whole hundredths."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.exact import hundredths


@pytest.mark.parametrize(
    ("number", "expected"),
    [(0, 0), (0.5, 50), (0.29, 29), (1.005, 101), (-1.005, -101), (33.333, 3333), (100, 10000)],
)
def test_a_number_is_taken_as_it_is_written(number: float, expected: int) -> None:
    assert hundredths(number) == expected


@settings(deadline=None)
@given(st.integers(-(10**9), 10**9))
def test_two_decimals_survive_the_way_through_a_float(number: int) -> None:
    assert hundredths(number / 100) == number
