"""Charts as lists of marks with their places, which the templates print as SVG.

Made on the server, so that they are there without JavaScript and on paper. Shape and fill say what
a mark belongs to, with the word in the legend; colour only repeats it. Every chart stands beside a
table of the same numbers. Lengths are in the units of the drawing's viewBox.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from seasonplan.science.association import Interval, Line
from seasonplan.science.layout.problem import SURFACES
from seasonplan.science.words import pgettext

WIDTH, HEIGHT = 720, 440
LEFT, RIGHT, TOP, BOTTOM = 64, 20, 16, 52
"""Margins around the plot, for the words on its axes."""

STEP_X, STEP_Y = 25, 16
"""Room for one mark with its number, where several stand at the same place."""

MOST_BESIDE: Final = 2
"""Marks of one place stand side by side up to so many, then in a further row."""

SHAPES: Final = ("circle", "square", "triangle", "diamond", "star", "cross")
"""One a group; from the seventh group on the last one, as "other"."""

_Place = Callable[[float], float]

_POLYGONS: Final[dict[str, tuple[tuple[float, float], ...]]] = {
    "square": ((-5, -5), (5, -5), (5, 5), (-5, 5)),
    "triangle": ((0, -6.5), (6.2, 4.6), (-6.2, 4.6)),
    "diamond": ((0, -7), (6, 0), (0, 7), (-6, 0)),
    "star": (
        (0, -7.5), (1.9, -2.4), (7.1, -2.3), (3, 1), (4.4, 6.1), (0, 3.1), (-4.4, 6.1), (-3, 1),
        (-7.1, -2.3), (-1.9, -2.4),
    ),
    "cross": (
        (-2, -6), (2, -6), (2, -2), (6, -2), (6, 2), (2, 2), (2, 6), (-2, 6), (-2, 2), (-6, 2),
        (-6, -2), (-2, -2),
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Point:
    """What is drawn of one event: its number, its values, its group, and its words."""

    number: int
    x: float
    y: float
    group: str
    words: str
    target: bool = False
    late: bool = False


@dataclass(frozen=True)
class Mark:
    """One event in the drawing; `corners` is empty for a circle.

    `tone` is the surface whose colour the mark has, empty where groups are no surfaces.
    """

    number: int
    x: float
    y: float
    shape: str
    tone: str
    corners: str
    words: str
    target: bool
    late: bool

    @property
    def ring(self) -> str:
        """Corners of a square around the mark, for a target."""
        return _corners(self.x, self.y, ((-9, -9), (9, -9), (9, 9), (-9, 9)))


@dataclass(frozen=True)
class Tick:
    """One step of an axis: where it stands and what it says."""

    at: float
    label: str


@dataclass(frozen=True)
class LegendItem:
    """One group: its shape, its word, and how many events it has."""

    mark: Mark
    label: str
    events: int


@dataclass(frozen=True)
class Axis:
    """From `low` to `high`, with its ticks in values and words, and its name."""

    label: str
    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]


@dataclass(frozen=True)
class Scatter:
    """A drawing of points, with a robust line and its band where there is one."""

    width: int
    height: int
    title: str
    x_label: str
    y_label: str
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    left: float
    right: float
    top: float
    bottom: float
    marks: tuple[Mark, ...]
    legend: tuple[LegendItem, ...]
    line: tuple[float, float, float, float] | None
    band: str
    zero: float | None
    x_range: tuple[float, float]
    y_range: tuple[float, float]

    def values_at(self, mark: Mark) -> tuple[float, float]:
        """The values where a mark is drawn: beside its own where several share a place."""
        (low_x, high_x), (low_y, high_y) = self.x_range, self.y_range
        across = (mark.x - self.left) / self.plot_width
        up = (self.bottom - mark.y) / self.plot_height
        return low_x + across * (high_x - low_x), low_y + up * (high_y - low_y)

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


def scatter(
    points: Sequence[Point],
    x: Axis,
    y: Axis,
    *,
    title: str,
    line: Line | None,
    group_word: Callable[[str], str] = str,
) -> Scatter:
    """Lay the points out; those at the same place stand side by side, around it.

    `group_word` says what the legend calls a group.
    """
    left, right, top, bottom = LEFT, WIDTH - RIGHT, TOP, HEIGHT - BOTTOM

    def across(value: float) -> float:
        return round(left + (value - x.low) / (x.high - x.low) * (right - left), 1)

    def up(value: float) -> float:
        return round(bottom - (value - y.low) / (y.high - y.low) * (bottom - top), 1)

    groups = _groups(points)
    here: dict[tuple[float, float], list[Point]] = defaultdict(list)
    for point in points:
        here[across(point.x), up(point.y)].append(point)
    marks = [
        _mark(point, *place, groups)
        for (at_x, at_y), together in here.items()
        for point, place in zip(together, _around(at_x, at_y, len(together)), strict=True)
    ]
    return Scatter(
        width=WIDTH,
        height=HEIGHT,
        title=title,
        x_label=x.label,
        y_label=y.label,
        x_ticks=tuple(Tick(across(value), label) for value, label in x.ticks),
        y_ticks=tuple(Tick(up(value), label) for value, label in y.ticks),
        left=left,
        right=right,
        top=top,
        bottom=bottom,
        marks=tuple(sorted(marks, key=lambda mark: mark.number)),
        legend=_legend(points, groups, group_word),
        line=(across(x.low), up(line.at(x.low)), across(x.high), up(line.at(x.high)))
        if line
        else None,
        band=_band(line, x, across, up) if line else "",
        zero=up(0) if y.low < 0 < y.high else None,
        x_range=(x.low, x.high),
        y_range=(y.low, y.high),
    )


def _around(x: float, y: float, number: int) -> list[tuple[float, float]]:
    """Places for so many marks around one, row by row."""
    rows = -(-number // MOST_BESIDE)
    places = []
    for row in range(rows):
        beside = min(MOST_BESIDE, number - row * MOST_BESIDE)
        places += [
            (
                round(x + (column - (beside - 1) / 2) * STEP_X, 1),
                round(y + (row - (rows - 1) / 2) * STEP_Y, 1),
            )
            for column in range(beside)
        ]
    return places


def _groups(points: Sequence[Point]) -> dict[str, int]:
    """Which shape a group has: the largest group the first, so that the eye finds it."""
    names = sorted({point.group for point in points})
    sizes = {name: sum(point.group == name for point in points) for name in names}
    by_size = sorted(names, key=lambda name: -sizes[name])
    return {name: min(at, len(SHAPES) - 1) for at, name in enumerate(by_size)}


def _mark(point: Point, x: float, y: float, groups: dict[str, int]) -> Mark:
    shape = SHAPES[groups[point.group]]
    return Mark(
        number=point.number,
        x=x,
        y=y,
        shape=shape,
        tone=point.group if point.group in SURFACES else "",
        corners=_corners(x, y, _POLYGONS[shape]) if shape in _POLYGONS else "",
        words=point.words,
        target=point.target,
        late=point.late,
    )


def _legend(
    points: Sequence[Point], groups: dict[str, int], group_word: Callable[[str], str]
) -> tuple[LegendItem, ...]:
    items = []
    for index in sorted(set(groups.values())):
        names = [name for name, at in groups.items() if at == index]
        others = pgettext("groups of events", "other")
        label = group_word(names[0]) if len(names) == 1 else others
        size = sum(point.group in names for point in points)
        sample = Point(0, 0, 0, names[0], "")
        items.append(LegendItem(_mark(sample, 10, 10, groups), label, size))
    return tuple(items)


def _band(line: Line, x: Axis, across: _Place, up: _Place) -> str:
    places = sorted({x.low, min(max(line.median_x, x.low), x.high), x.high})
    low = [(across(at), up(line.band(at).low)) for at in places]
    high = [(across(at), up(line.band(at).high)) for at in reversed(places)]
    return " ".join(f"{a},{b}" for a, b in (*low, *high))


def _corners(x: float, y: float, shape: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{round(x + dx, 1)},{round(y + dy, 1)}" for dx, dy in shape)


# An effect on the scale from -1 to 1 --------------------------------------------------------------

EFFECT_WIDTH, EFFECT_HEIGHT = 200, 24
_EFFECT_MARGIN: Final = 8


@dataclass(frozen=True)
class EffectBar:
    """An effect with its interval, from opposite (left) to in step (right)."""

    width: int
    height: int
    low: float
    high: float
    at: float
    zero: float
    left: float
    right: float


def effect_bar(effect: float, interval: Interval) -> EffectBar:
    def across(value: float) -> float:
        half = (EFFECT_WIDTH - 2 * _EFFECT_MARGIN) / 2
        return round(_EFFECT_MARGIN + half * (1 + value), 1)

    return EffectBar(
        width=EFFECT_WIDTH,
        height=EFFECT_HEIGHT,
        low=across(interval.low),
        high=across(interval.high),
        at=across(effect),
        zero=across(0),
        left=across(-1),
        right=across(1),
    )


# Small marks within a line of text ----------------------------------------------------------------

SQUARE: Final = 8


@dataclass(frozen=True)
class Squares:
    """So many squares in a row, the first ones filled: rounds won of the rounds of a draw.

    `filled` and `empty` are the outlines of either kind, as the data of a path.
    """

    width: int
    height: int
    filled: str
    empty: str


def squares(filled: int, of: int) -> Squares:
    step = SQUARE + 2

    def outline(places: range) -> str:
        return "".join(f"M{1 + at * step} 1h{SQUARE}v{SQUARE}h-{SQUARE}z" for at in places)

    return Squares(of * step, step, outline(range(filled)), outline(range(filled, of)))
