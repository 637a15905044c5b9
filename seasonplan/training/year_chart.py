"""The year's load as drawings: marks with their places, which the templates print as SVG.

Made on the server, so that they are there without JavaScript and on paper. What was planned is wide
and hollow, what was done narrow and full: shape and fill say it, and colour says nothing. A table
beside each holds the same numbers. Lengths are in the units of the drawing's viewBox.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from seasonplan.plans.season_drawings import Plot, Tick, nice_steps
from seasonplan.science.words import figure

WIDTH: Final = 1000
YEAR_HEIGHT: Final = 340
CURVE_HEIGHT: Final = 280
TOP: Final = 28
"""Above the plot there is room for the strip of phases."""

LEFT: Final = 78
"""Left of it there is room for loads of five digits beside the axis's name."""

STRIP_TOP, STRIP_HEIGHT = 5, 18
LETTER_WIDTH: Final = 7.5
"""A phase whose word finds no room in the strip goes without it."""

PLANNED_SHARE, DONE_SHARE = 0.8, 0.4
"""Widths of the bars, as shares of a week's room."""

SMALL_WIDTH, SMALL_HEIGHT = 24, 28


@dataclass(frozen=True)
class ChartWeek:
    """What is drawn of one week; loads are None where nobody knows them.

    Where days of the week are unknown, `done` is what is known, and the bar says that it is less
    than all.
    """

    planned: float | None
    done: float | None
    is_complete: bool
    words: str
    month: str


@dataclass(frozen=True)
class ChartPhase:
    """A block: its phase, the word for it, the index of its first week, and its weeks."""

    phase: str
    word: str
    first: int
    weeks: int


@dataclass(frozen=True)
class Bar:
    x: float
    y: float
    width: float
    height: float
    is_complete: bool


@dataclass(frozen=True)
class Slot:
    """The room of one week, over the whole height: it says its words when pointed at."""

    x: float
    width: float
    words: str


@dataclass(frozen=True)
class Stripe:
    """One block in the strip; `word` is empty where it finds no room."""

    x: float
    width: float
    phase: str
    word: str

    @property
    def middle(self) -> float:
        return round(self.x + self.width / 2, 1)

    @property
    def word_width(self) -> float:
        """Room for the word, by the width of a letter."""
        return len(self.word) * LETTER_WIDTH + 6

    @property
    def word_x(self) -> float:
        return round(self.middle - self.word_width / 2, 1)


@dataclass(frozen=True)
class YearChart:
    plot: Plot
    planned: tuple[Bar, ...]
    done: tuple[Bar, ...]
    slots: tuple[Slot, ...]
    stripes: tuple[Stripe, ...]
    today: float | None
    strip_top: int = STRIP_TOP
    strip_height: int = STRIP_HEIGHT

    @property
    def strip_words(self) -> int:
        """The line that the strip's words stand on."""
        return self.strip_top + 13


def draw_year(
    weeks: Sequence[ChartWeek], phases: Sequence[ChartPhase], *, today: float | None
) -> YearChart:
    """Lay out one week or more; `today` is how many weeks into the season it is, or None."""
    loads = [load for week in weeks for load in (week.planned, week.done) if load is not None]
    steps = nice_steps(0, max(loads, default=0) or 1)
    plot = _plot(
        YEAR_HEIGHT,
        steps,
        [(n, week.month) for n, week in enumerate(weeks) if week.month],
        len(weeks),
        offset=0.5,
    )

    def bar(at: int, load: float, share: float, is_complete: bool = True) -> Bar:
        room = _across(plot, 1, len(weeks)) - plot.left
        y = _up(plot, load, steps)
        return Bar(
            x=round(_across(plot, at + (1 - share) / 2, len(weeks)), 1),
            y=y,
            width=round(room * share, 1),
            height=round(plot.bottom - y, 1),
            is_complete=is_complete,
        )

    def stripe(phase: ChartPhase) -> Stripe:
        x = round(_across(plot, phase.first, len(weeks)), 1)
        width = round(_across(plot, phase.first + phase.weeks, len(weeks)) - x, 1)
        made = Stripe(x, width, phase.phase, phase.word)
        return made if made.word_width <= width else replace(made, word="")

    return YearChart(
        plot=plot,
        planned=tuple(
            bar(at, week.planned, PLANNED_SHARE)
            for at, week in enumerate(weeks)
            if week.planned is not None
        ),
        done=tuple(
            bar(at, week.done, DONE_SHARE, week.is_complete)
            for at, week in enumerate(weeks)
            if week.done is not None
        ),
        slots=tuple(
            Slot(
                x=(x := round(_across(plot, at, len(weeks)), 1)),
                width=round(_across(plot, at + 1, len(weeks)) - x, 1),
                words=week.words,
            )
            for at, week in enumerate(weeks)
        ),
        stripes=tuple(stripe(phase) for phase in phases),
        today=None if today is None else round(_across(plot, today, len(weeks)), 1),
    )


@dataclass(frozen=True)
class CurveLine:
    """One set of constants: its name, and its values as the points of a polyline."""

    name: str
    points: str


@dataclass(frozen=True)
class ResponseChart:
    plot: Plot
    lines: tuple[CurveLine, ...]
    zero: float


def draw_response(
    lines: Sequence[tuple[str, Sequence[float]]], months: Sequence[tuple[int, str]]
) -> ResponseChart:
    """Lay out lines of as many days; `months` are the days on which one begins, with its name."""
    values = [value for _, line in lines for value in line]
    steps = nice_steps(min(0.0, *values), max(0.0, *values))
    days = max(len(line) for _, line in lines)
    plot = _plot(CURVE_HEIGHT, steps, months, days)
    return ResponseChart(
        plot=plot,
        lines=tuple(
            CurveLine(
                name,
                " ".join(
                    f"{round(_across(plot, day, days), 1)},{_up(plot, value, steps)}"
                    for day, value in enumerate(line)
                ),
            )
            for name, line in lines
        ),
        zero=_up(plot, 0, steps),
    )


@dataclass(frozen=True)
class SmallBars:
    """Planned and done of one week as two bars beside one another, in a cell of a table."""

    planned: float
    done: float
    is_complete: bool
    width: int = SMALL_WIDTH
    height: int = SMALL_HEIGHT

    @property
    def planned_y(self) -> float:
        return round(self.height - self.planned - 1, 1)

    @property
    def done_y(self) -> float:
        return round(self.height - self.done - 1, 1)


def small_bars(
    planned: float | None, done: float | None, *, is_complete: bool, most: float
) -> SmallBars:
    """`most` is the largest load of all the weeks that stand together, which may be 0."""

    def height(load: float | None) -> float:
        return round((load or 0) / most * (SMALL_HEIGHT - 2), 1) if most else 0

    return SmallBars(height(planned), height(done), is_complete)


# What they share ----------------------------------------------------------------------------------


def _plot(
    height: int,
    steps: Sequence[float],
    x_ticks: Sequence[tuple[float, str]],
    of: int,
    *,
    offset: float = 0,
) -> Plot:
    frame = Plot(
        height=height,
        x_ticks=(),
        y_ticks=(),
        width=WIDTH,
        left=LEFT,
        right=WIDTH - 20,
        top=TOP,
    )
    return replace(
        frame,
        x_ticks=tuple(
            Tick(round(_across(frame, at + offset, of), 1), word) for at, word in x_ticks
        ),
        y_ticks=tuple(Tick(_up(frame, step, steps), _on_axis(step)) for step in steps),
    )


def _on_axis(step: float) -> str:
    """`1,200` or `−0.5`: as many digits as the step has."""
    _units, _point, part = f"{step:g}".partition(".")
    return figure(step, len(part)).replace("-", "−")


def _across(plot: Plot, at: float, of: int) -> float:
    return plot.left + at / of * plot.plot_width


def _up(plot: Plot, value: float, steps: Sequence[float]) -> float:
    low, high = steps[0], steps[-1]
    return round(plot.bottom - (value - low) / (high - low) * plot.plot_height, 1)
