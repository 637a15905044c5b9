"""Minutes over days with so much room: arithmetic, and what always holds."""

from __future__ import annotations

from math import fsum

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.spreading import spread, whole

DAYS = st.lists(
    st.tuples(st.floats(0, 2, allow_subnormal=False), st.integers(0, 300)), min_size=1, max_size=14
)


def test_minutes_go_by_weight_and_what_does_not_fit_goes_to_the_others() -> None:
    assert spread(100, [1, 1, 2], [10, 100, 100]) == pytest.approx([10, 30, 60])


def test_what_fits_nowhere_is_left_out() -> None:
    assert spread(500, [1, 1], [100, 150]) == [100, 150]
    assert spread(500, [0, 1], [100, 150]) == [0, 150]
    assert spread(0, [1, 1], [100, 150]) == [0, 0]


@given(days=DAYS, total=st.floats(0, 3000))
@settings(max_examples=150, deadline=None)
def test_all_is_spread_as_long_as_there_is_room(
    days: list[tuple[float, int]], total: float
) -> None:
    weights, room = [weight for weight, _ in days], [space for _, space in days]
    given_out = spread(total, weights, room)
    usable = sum(space for weight, space in days if weight > 0)
    assert fsum(given_out) == pytest.approx(min(total, usable), abs=1e-6)
    assert all(0 <= part <= space + 1e-9 for part, space in zip(given_out, room, strict=True))


def test_whole_parts_add_up_to_the_total_and_the_ones_cut_most_go_up() -> None:
    assert whole([33.4, 33.3, 33.3], 100, [100, 100, 100]) == [34, 33, 33]
    assert whole([10.0, 20.0], 60, [15, 30]) == [15, 30]
    assert whole([0.0, 0.0], 0, [15, 30]) == [0, 0]


@given(days=DAYS, total=st.integers(0, 3000))
@settings(max_examples=150, deadline=None)
def test_whole_parts_stay_within_their_room(days: list[tuple[float, int]], total: int) -> None:
    room = [space for _, space in days]
    parts = whole([min(100 * weight, space) for weight, space in days], total, room)
    assert sum(parts) == min(total, sum(room))
    assert all(0 <= part <= space for part, space in zip(parts, room, strict=True))
