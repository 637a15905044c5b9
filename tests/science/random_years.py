"""Years of events made up from chance, in which nothing goes with the results, or one thing does.

The mean ingredients of real ones are in: 6 to 40 events, results in a few steps, answers in whole
steps with many ties, energy, soreness and load that drift from event to event, values that are
mostly zero, two-valued ones, and gaps.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, sqrt
from random import Random

from seasonplan.science.association import Factor
from seasonplan.science.draws import Draw

FEWEST, MOST = 6, 40
CARRIED_OVER = 0.6
"""How much of an event's energy is that of the event before."""


@dataclass(frozen=True)
class Year:
    results: tuple[float | None, ...]
    factors: tuple[Factor, ...]


def year_of_chance(seed: str, *, drift: float = 0) -> Year:
    """Results from coin tosses; with a `drift` form goes up and down, but with no factor."""
    random = Random(seed)
    n = random.randint(FEWEST, MOST)
    form = drifting(random, n, CARRIED_OVER)
    results = [result(random, 1 / (1 + exp(-drift * step))) for step in form]
    hole = random.choice((0.0, 0.0, 0.1))
    energy = steps(drifting(random, n, CARRIED_OVER), 0, 10, middle=6, spread=2)
    return Year(
        tuple(None if random.random() < hole else share for share in results),
        (Factor("energy", _with_gaps(random, energy)), *_others(random, n)),
    )


def year_with_energy_in_it(seed: str, n: int, *, pull: float, carried_over: float = 0) -> Year:
    """Results that follow energy: two steps of it move the odds of every match by exp(`pull`)."""
    random = Random(seed)
    energy = steps(drifting(random, n, carried_over), 0, 10, middle=6, spread=2)
    results = tuple(result(random, 1 / (1 + exp(-pull * (step - 6) / 2))) for step in energy)
    return Year(results, (Factor("energy", tuple(energy)), *_others(random, n)))


def drifting(random: Random, n: int, carried_over: float) -> list[float]:
    """`n` numbers around 0 with spread 1, each of which carries over a part of the one before."""
    row = [random.gauss(0, 1)]
    fresh = sqrt(1 - carried_over**2)
    while len(row) < n:
        row.append(carried_over * row[-1] + fresh * random.gauss(0, 1))
    return row


def steps(
    row: list[float], lowest: int, highest: int, *, middle: float, spread: float
) -> list[float]:
    return [float(max(lowest, min(highest, round(middle + spread * x)))) for x in row]


def result(random: Random, win_chance: float) -> float:
    draw, won = Draw(random.choice((16, 32, 64))), 0
    while won < draw.rounds and random.random() < win_chance:
        won += 1
    return draw.share_won(won, had_bye=False)


def _others(random: Random, n: int) -> list[Factor]:
    def each(pick: Callable[[], float]) -> list[float]:
        return [float(pick()) for _ in range(n)]

    return [
        Factor("soreness", _with_gaps(random, steps(
            drifting(random, n, CARRIED_OVER), 0, 10, middle=3, spread=2))),
        Factor("sleep", _with_gaps(random, [
            round(2 * (7.5 + x)) / 2 for x in drifting(random, n, 0.3)])),
        Factor("days since arrival", tuple(each(lambda: random.choice((1, 1, 2, 2, 3, 4, 7))))),
        Factor("missing days", tuple(each(lambda: random.choice((0, 0, 0, 0, 1, 2))))),
        Factor("week of the run", tuple(float(1 + i % 3) for i in range(n))),
        Factor("weeks of the last four", tuple(
            steps(drifting(random, n, 0.8), 0, 4, middle=2, spread=1))),
        Factor("load", _with_gaps(random, [
            1 + 0.3 * x for x in drifting(random, n, CARRIED_OVER)])),
        Factor("zones", tuple(each(lambda: random.choice((0, 0, 0, 1, 2, 6))))),
        Factor("matches", tuple(
            steps(drifting(random, n, CARRIED_OVER), 0, 9, middle=3, spread=2))),
        Factor("surface changed", tuple(each(lambda: random.random() < 0.25)), groups=True),
        Factor("in a peak window", tuple(float(i % 13 < 3) for i in range(n)), groups=True),
    ]  # fmt: skip


def _with_gaps(random: Random, row: list[float]) -> tuple[float | None, ...]:
    gaps = random.choice((0.0, 0.1, 0.4))
    return tuple(None if random.random() < gaps else x for x in row)
