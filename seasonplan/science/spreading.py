"""How are minutes spread over days that have only so much room? `training_year.py` asks.

Arithmetic; no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import floor, fsum


def spread(total: float, weights: Sequence[float], room: Sequence[float]) -> list[float]:
    """`total` in proportion to the weights, no day above its room: what does not fit goes to the
    others, and what fits nowhere is left out.

    Weights and room are 0 or more, one of each for a day; a day of weight 0 gets nothing. 100 over
    weights 1, 1, 2 with room 10, 100, 100 is 10, 30, 60.
    """
    given = [0.0] * len(weights)
    open_days = [at for at, weight in enumerate(weights) if weight > 0 and room[at] > 0]
    left = total
    while open_days and left > 0:
        each = left / fsum(weights[at] for at in open_days)
        full = [at for at in open_days if weights[at] * each >= room[at]]
        if not full:
            for at in open_days:
                given[at] = weights[at] * each
            break
        for at in full:
            given[at] = room[at]
        left = total - fsum(given)
        open_days = [at for at in open_days if at not in full]
    return given


def whole(parts: Sequence[float], total: int, room: Sequence[int]) -> list[int]:
    """The parts as whole numbers that add up to `total`, or to all the room where that is less.

    Each part lies within its room. The parts that lose most by being cut down are rounded up.
    """
    sum_of_parts = fsum(parts)
    scale = total / sum_of_parts if sum_of_parts > 0 else 0.0
    exact = [min(part * scale, space) for part, space in zip(parts, room, strict=True)]
    found = [floor(part) for part in exact]
    left = min(total, sum(room)) - sum(found)
    by_loss = sorted(range(len(parts)), key=lambda at: (found[at] - exact[at], at))
    while left > 0:
        for at in by_loss:
            if left > 0 and found[at] < room[at]:
                found[at] += 1
                left -= 1
    return found
