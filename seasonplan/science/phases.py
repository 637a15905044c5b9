"""How much, how hard and of what does a phase train: the shapes that a coach edits.

`training_year.py` turns shapes into the weeks of a season.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from seasonplan.science.layout.problem import Phase
from seasonplan.science.week_target import Emphasis


@dataclass(frozen=True)
class PhaseShape:
    """What a usual week of a phase holds.

    Hours and sessions are of training, matches not counted. `effort_first` and `effort_last`
    (0-10) are the mean effort in the block's first and last week, in between it goes in a straight
    line. `rise_percent` a week is what the volume rises over a block (negative: it falls), before
    lighter weeks are cut. `shares` by emphasis, in percent, add up to 100.
    """

    on_court_hours: float
    off_court_hours: float
    on_court_sessions: int
    off_court_sessions: int
    effort_first: float
    effort_last: float
    rise_percent: float
    shares: Mapping[Emphasis, int]


SHAPES: Final[Mapping[Phase, PhaseShape]] = MappingProxyType(
    {
        "preparation": PhaseShape(
            on_court_hours=9.0,
            off_court_hours=7.0,
            on_court_sessions=5,
            off_court_sessions=5,
            effort_first=4.0,
            effort_last=5.0,
            rise_percent=5.0,
            shares=MappingProxyType(
                {
                    "endurance": 20,
                    "strength": 20,
                    "coordination and balance": 10,
                    "speed and agility": 5,
                    "technique": 35,
                    "tactics and match play": 5,
                    "recovery": 5,
                }
            ),
        ),
        "pre-competition": PhaseShape(
            on_court_hours=9.0,
            off_court_hours=4.0,
            on_court_sessions=6,
            off_court_sessions=4,
            effort_first=5.5,
            effort_last=6.5,
            rise_percent=-4.0,
            shares=MappingProxyType(
                {
                    "endurance": 5,
                    "strength": 10,
                    "power": 10,
                    "speed and agility": 10,
                    "coordination and balance": 5,
                    "technique": 20,
                    "tactics and match play": 35,
                    "recovery": 5,
                }
            ),
        ),
        "competition": PhaseShape(
            on_court_hours=7.0,
            off_court_hours=3.0,
            on_court_sessions=5,
            off_court_sessions=3,
            effort_first=5.5,
            effort_last=5.5,
            rise_percent=0.0,
            shares=MappingProxyType(
                {
                    "strength": 10,
                    "power": 5,
                    "speed and agility": 10,
                    "coordination and balance": 5,
                    "technique": 25,
                    "tactics and match play": 30,
                    "recovery": 15,
                }
            ),
        ),
        "active rest": PhaseShape(
            on_court_hours=0.0,
            off_court_hours=4.0,
            on_court_sessions=0,
            off_court_sessions=4,
            effort_first=3.0,
            effort_last=3.0,
            rise_percent=0.0,
            shares=MappingProxyType({"other sport": 60, "recovery": 25, "endurance": 15}),
        ),
    }
)
"""The usual shapes. Their order (most hours and least effort in preparation; effort up and volume
down in pre-competition; away from the racket in active rest) follows Roetert for the USTA 2003; the
numbers are common practice, no source."""
