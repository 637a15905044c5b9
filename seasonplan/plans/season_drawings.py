"""Two drawings as lists of marks with their places, which the templates print as SVG.

The curve of shapes and the spread of matches. Made on the server, so that they are there without
JavaScript; shape and fill say what a mark is, colour only repeats it, and a table beside each holds
the same numbers. Lengths are in the units of the drawing's viewBox.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10
from typing import Final

from django.utils.translation import ngettext

from seasonplan.science.words import number as said_number
from seasonplan.science.words import short_number

WIDTH: Final = 720
LEFT, RIGHT, TOP, BOTTOM = 64, 20, 20, 52
"""Margins around the plot, for the words on its axes."""

CURVE_HEIGHT: Final = 400
BARS_HEIGHT: Final = 300

_TRIANGLE: Final = ((0, -7), (6.6, 5), (-6.6, 5))


@dataclass(frozen=True)
class Tick:
    """One step of an axis: where it stands and what it says."""

    at: float
    label: str


@dataclass(frozen=True)
class Plot:
    """The frame that both drawings share, from corner to corner."""

    height: int
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    width: int = WIDTH
    left: float = LEFT
    right: float = WIDTH - RIGHT
    top: float = TOP

    @property
    def bottom(self) -> float:
        return self.height - BOTTOM

    @property
    def plot_width(self) -> float:
        return self.right - self.left

    @property
    def plot_height(self) -> float:
        return self.bottom - self.top

    @property
    def middle_x(self) -> float:
        return (self.left + self.right) / 2

    @property
    def middle_y(self) -> float:
        return (self.top + self.bottom) / 2


# The curve of best value against number of events -------------------------------------------------


@dataclass(frozen=True)
class CurvePoint:
    """What is drawn of one number of events. `label` names a shape to choose, else it is empty; it
    stands above its point or below."""

    events: int
    value: float
    proven: bool
    breaks_more: bool
    label: str
    words: str
    label_above: bool = False


@dataclass(frozen=True)
class CurveMark:
    """A point in its place; `corners` is empty for a circle."""

    x: float
    y: float
    corners: str
    hollow: bool
    label: str
    label_above: bool
    words: str


@dataclass(frozen=True)
class Curve:
    """The marks, the line through those that break no more than balanced, and the limit's line."""

    plot: Plot
    marks: tuple[CurveMark, ...]
    line: str
    limit: float | None
    y_range: tuple[float, float]
    x_range: tuple[float, float]


def draw_curve(points: Sequence[CurvePoint], *, limit: int) -> Curve:
    """Lay out one point or more. `limit` is how many events there may be at most; its line stands
    behind the last number that is allowed, where the curve reaches further."""
    numbers = [point.events for point in points]
    x_range = (min(numbers) - 0.5, max(numbers) + 0.5)
    steps = nice_steps(min(p.value for p in points), max(p.value for p in points))
    y_range = (steps[0], steps[-1])
    plot = Plot(
        height=CURVE_HEIGHT,
        x_ticks=tuple(
            Tick(_across(number, x_range), str(number))
            for number in range(min(numbers), max(numbers) + 1)
        ),
        y_ticks=tuple(
            Tick(_up(value, y_range, CURVE_HEIGHT), short_number(value)) for value in steps
        ),
    )
    marks = tuple(
        CurveMark(
            x=(x := _across(point.events, x_range)),
            y=(y := _up(point.value, y_range, CURVE_HEIGHT)),
            corners=_corners(x, y) if point.breaks_more else "",
            hollow=not point.proven,
            label=point.label,
            label_above=point.label_above,
            words=point.words,
        )
        for point in points
    )
    line = " ".join(
        f"{mark.x},{mark.y}"
        for mark, point in zip(marks, points, strict=True)
        if not point.breaks_more
    )
    beyond = min(numbers) <= limit < max(numbers)
    return Curve(
        plot=plot,
        marks=marks,
        line=line,
        limit=_across(limit + 0.5, x_range) if beyond else None,
        y_range=y_range,
        x_range=x_range,
    )


def _corners(x: float, y: float) -> str:
    return " ".join(f"{round(x + dx, 1)},{round(y + dy, 1)}" for dx, dy in _TRIANGLE)


# The spread of matches ----------------------------------------------------------------------------


@dataclass(frozen=True)
class Bar:
    """How likely one number of matches is; `inside` the band or not."""

    x: float
    y: float
    width: float
    height: float
    inside: bool
    words: str


@dataclass(frozen=True)
class Bars:
    plot: Plot
    bars: tuple[Bar, ...]
    mean: float


def draw_bars(
    chances: Sequence[tuple[int, float]], *, low: float, high: float, mean: float
) -> Bars:
    """Lay out one bar a number of matches: `(41, 0.03)` is a chance of 3 in 100 for 41. From `low`
    to `high` is the band."""
    numbers = [number for number, _chance in chances]
    x_range = (min(numbers) - 0.6, max(numbers) + 0.6)
    steps = nice_steps(0, max(100 * chance for _number, chance in chances))
    y_range = (0.0, steps[-1])
    each = max(1, ceil((max(numbers) - min(numbers)) / 14))
    plot = Plot(
        height=BARS_HEIGHT,
        x_ticks=tuple(
            Tick(_across(number, x_range), str(number)) for number in numbers if number % each == 0
        ),
        y_ticks=tuple(Tick(_up(step, y_range, BARS_HEIGHT), short_number(step)) for step in steps),
    )
    wide = round(0.8 * (_across(1, x_range) - _across(0, x_range)), 1)
    return Bars(
        plot=plot,
        bars=tuple(
            Bar(
                x=round(_across(number, x_range) - wide / 2, 1),
                y=(y := _up(100 * chance, y_range, BARS_HEIGHT)),
                width=wide,
                height=round(plot.bottom - y, 1),
                inside=low <= number <= high,
                words=_bar_words(number, chance),
            )
            for number, chance in chances
        ),
        mean=_across(mean, x_range),
    )


def _bar_words(matches: int, chance: float) -> str:
    said = ngettext(
        "%(count)d match: %(years)s years in a hundred",
        "%(count)d matches: %(years)s years in a hundred",
        matches,
    )
    return said % {"count": matches, "years": said_number(100 * chance, 1)}


# What they share ----------------------------------------------------------------------------------


def nice_steps(low: float, high: float, most: int = 7) -> list[float]:
    """Round numbers at equal distances of 1, 2 or 5 times a power of ten, from at most `low` to at
    least `high`; at most `most` + 1 of them, and two or more."""
    spread = (high - low) or 1.0
    power = 10.0 ** floor(log10(spread / most))
    step = next(
        power * factor
        for factor in (1, 2, 5, 10, 20)
        if ceil(high / (power * factor)) - floor(low / (power * factor)) <= most
    )
    first = floor(low / step)
    last = max(ceil(high / step), first + 1)
    return [round(number * step, 6) for number in range(first, last + 1)]


def _across(value: float, x_range: tuple[float, float]) -> float:
    low, high = x_range
    return round(LEFT + (value - low) / (high - low) * (WIDTH - RIGHT - LEFT), 1)


def _up(value: float, y_range: tuple[float, float], height: int) -> float:
    low, high = y_range
    bottom = height - BOTTOM
    return round(bottom - (value - low) / (high - low) * (bottom - TOP), 1)
