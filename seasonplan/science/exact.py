"""Decimal numbers as whole hundredths, so that sums, limits and ties are exact."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache


@lru_cache(maxsize=16_384)
def hundredths(number: float) -> int:
    """The number, as it is written in decimals, in whole hundredths; a half rounds away from zero.

    1.005 gives 101, though as a binary fraction it lies just below. Raises ArithmeticError or
    ValueError for a number that is not finite.
    """
    return int((Decimal(str(number)) * 100).to_integral_value(ROUND_HALF_UP))
