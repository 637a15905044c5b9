"""What should each week of a season train? `training/targets.py` asks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from seasonplan.science.layout.problem import Block, Phase
from seasonplan.science.phases import PhaseShape
from seasonplan.science.week_target import TrainingRules


@dataclass(frozen=True)
class YearEvent:
    """A planned event as the training sees it.

    `leave` and `arrive` are the days of the way out and `back` the day of the way home (equal to
    `arrive`, and to `end`, for an event near home or when the next event follows directly).
    `matches_by_day` is the mean number of matches expected on each day from `start` to `end`.
    """

    name: str
    start: date
    end: date
    leave: date
    arrive: date
    back: date
    is_target: bool
    matches_by_day: Mapping[date, float]


@dataclass(frozen=True)
class TrainingYear:
    """All that the training of a season follows from.

    `start` is a Monday, `end` a Sunday; `blocks` cover the season's weeks. `free_min` are the
    minutes the player has for training on Monday to Sunday; `busy` days (with their reason) have
    none. `born` is the birth date or None.
    """

    start: date
    end: date
    blocks: tuple[Block, ...]
    events: tuple[YearEvent, ...]
    shapes: Mapping[Phase, PhaseShape]
    rules: TrainingRules
    free_min: tuple[int, int, int, int, int, int, int]
    busy: Mapping[date, str]
    born: date | None
