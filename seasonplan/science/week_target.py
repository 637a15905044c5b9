"""What a week of training should come to: the words that phases, sessions and pages share.

`training_year.py` makes the targets of a season, `sessions.py` fills a week towards one,
`session_rules.py` judges any week against one, and the week screen shows it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final, Literal, get_args

from seasonplan.science.layout.problem import Phase
from seasonplan.science.words import pgettext

Emphasis = Literal[
    "endurance",
    "strength",
    "power",
    "speed and agility",
    "coordination and balance",
    "technique",
    "tactics and match play",
    "recovery",
    "other sport",
]
EMPHASES: Final[tuple[Emphasis, ...]] = get_args(Emphasis)

Court = Literal["on court", "off court"]

DayKind = Literal["training", "off", "busy", "travel", "arrival", "acclimatisation", "match"]
"""What a day is before any session is put on it. `off` is a day off all organised training; on
`travel` and `arrival` days, on the way out or back, and while acclimatising, training is light;
`match` is any day of an event on which the player may play; on a `busy` day there is no time."""

LIKELY_MATCH: Final = 0.5
"""From so many matches expected on a day on, a match is likely (common practice, no source)."""

MATCH_DAY_MIN: Final = 60
UNLIKELY_MATCH_DAY_MIN: Final = 90
"""The most minutes of training on a day with a match, for a warm-up and a little recovery; a little
more where a match is not likely (common practice, no source)."""

LIGHT_EFFORT: Final = 4
"""The most effort of a session on a light day (0-10; common practice, no source)."""

HARD_EFFORT: Final = 7
"""A session at this effort or more is hard (0-10; "very hard" on Foster's scale)."""


@dataclass(frozen=True)
class TrainingRules:
    """What a coach may set for all weeks of a player; the defaults are common practice, no source,
    where nothing else is said.

    `days_off` full days a week have no organised training (at least 1; Brenner 2007, Pediatrics
    119:1242, for the young). Every `lighter_every`-th week of a block is lighter (0 for none), with
    `lighter_share` of the volume. A taper before a target takes `taper_days` (8 to 14) and falls as
    `exp(-d / taper_tau_days)`; Bosquet et al. 2007, MSSE 39:1358-1365. Other events get
    `short_taper_days` (0 to 7). `weeks_off_racket` weeks at the season's end are away from it.
    `months_off` a year away from the sport are looked for in the young (2 after AAP 2007, 3 after
    AAP 2016). A week more than `jump_percent` above the mean of the four before is noted.
    """

    days_off: int = 1
    lighter_every: int = 4
    lighter_share: float = 0.7
    taper_days: int = 14
    taper_tau_days: float = 8.0
    short_taper_days: int = 3
    weeks_off_racket: int = 2
    months_off: int = 3
    jump_percent: int = 10


@dataclass(frozen=True)
class TrainingDay:
    """One day of a week: what it is, and how much room it has for training.

    `available_min` are the minutes that the player has for training after school and travel;
    `taper` is the share of a normal day's volume that a taper leaves (1 outside of one);
    `expected_matches` is the mean number of matches on that day (0 to 1 for most players);
    `days_to_match` counts the days until the next day on which a match may be played, 0 on such a
    day, or None if there is none within the next fourteen; `is_after_match` says that a match is
    likely on the day before. `why` says in words what makes the day what it is, such as "travel to
    Perth". `aim_min` is what the day would take of the week's minutes, were they spread as evenly
    as the days allow: the aims of a week add up to its minutes, and those before a target to its
    taper. They are a help for whoever fills the week, no rule.
    """

    day: date
    kind: DayKind
    available_min: int
    taper: float = 1.0
    expected_matches: float = 0.0
    days_to_match: int | None = None
    why: str = ""
    aim_min: int = 0
    is_after_match: bool = False

    @property
    def is_light(self) -> bool:
        """Whether nothing hard belongs here: on the way, just arrived, or used to a new place."""
        return self.kind in ("travel", "arrival", "acclimatisation")

    @property
    def takes_training(self) -> bool:
        return self.kind not in ("off", "busy") and self.available_min > 0

    @property
    def is_before_match(self) -> bool:
        return self.days_to_match == 1

    @property
    def match_day_min(self) -> int:
        """The most minutes of training, were this a day with a match."""
        likely = self.expected_matches >= LIKELY_MATCH
        return MATCH_DAY_MIN if likely else UNLIKELY_MATCH_DAY_MIN


@dataclass(frozen=True)
class WeekTarget:
    """What one week of a player should hold.

    Minutes are of training, matches not counted; `effort_0_10` is the mean of the sessions by
    minutes. `shares` are shares of the minutes by emphasis and add up to 1 (or are empty in a week
    without training). `no_racket` keeps the week away from the racket. `in_block` of `block_weeks`
    says where in its block the week lies, from 1. `reasons` say in words how the numbers came
    about, most telling first.
    """

    monday: date
    phase: Phase
    in_block: int
    block_weeks: int
    on_court_min: int
    off_court_min: int
    on_court_sessions: int
    off_court_sessions: int
    effort_0_10: float
    shares: Mapping[Emphasis, float]
    days: tuple[TrainingDay, ...]
    is_lighter: bool = False
    no_racket: bool = False
    reasons: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.monday.weekday() != 0:
            raise ValueError(f"a week begins on a Monday, not on {self.monday:%A}")
        wanted = [self.monday + timedelta(days=n) for n in range(7)]
        if [day.day for day in self.days] != wanted:
            raise ValueError(f"the days of a week are its seven days in order, from {self.monday}")

    @property
    def minutes(self) -> int:
        return self.on_court_min + self.off_court_min

    @property
    def load(self) -> float:
        """Planned load in arbitrary units: minutes times effort."""
        return self.minutes * self.effort_0_10


@dataclass(frozen=True)
class SessionKind:
    """One kind of session that an academy trains.

    `code` is its lasting short name; `minutes` its usual length between `shortest_min` and
    `longest_min`; `phases` are those it belongs to; `equipment` what it needs, in words;
    `easier` and `harder` say how to make it so; `cautions` what to watch. `youngest` is an age in
    whole years below which it is not for a player, or None.
    """

    code: str
    name: str
    court: Court
    emphasis: Emphasis
    purpose: str
    minutes: int
    shortest_min: int
    longest_min: int
    effort_0_10: int
    phases: tuple[Phase, ...]
    equipment: str = ""
    easier: str = ""
    harder: str = ""
    cautions: str = ""
    youngest: int | None = None

    @property
    def is_hard(self) -> bool:
        return self.effort_0_10 >= HARD_EFFORT


@dataclass(frozen=True)
class PlannedSession:
    """One session on one day; `key` is its lasting name, empty until it is stored.

    `fixed` sessions were put there by hand and a filler leaves them as they are. `order` counts
    the sessions of a day from 0.
    """

    day: date
    order: int
    name: str
    court: Court
    emphasis: Emphasis
    minutes: int
    effort_0_10: int
    kind: str = ""
    key: str = ""
    fixed: bool = False

    @property
    def load(self) -> float:
        return float(self.minutes * self.effort_0_10)

    @property
    def is_hard(self) -> bool:
        return self.effort_0_10 >= HARD_EFFORT


def emphasis_word(emphasis: str) -> str:
    """What a session trains, in the reader's language, within a sentence: `strength`."""
    return {
        "endurance": pgettext("emphasis", "endurance"),
        "strength": pgettext("emphasis", "strength"),
        "power": pgettext("emphasis", "power"),
        "speed and agility": pgettext("emphasis", "speed and agility"),
        "coordination and balance": pgettext("emphasis", "coordination and balance"),
        "technique": pgettext("emphasis", "technique"),
        "tactics and match play": pgettext("emphasis", "tactics and match play"),
        "recovery": pgettext("emphasis", "recovery"),
        "other sport": pgettext("emphasis", "other sport"),
    }[emphasis]


def emphasis_label(emphasis: str) -> str:
    """The same by itself, as a heading or in a list: `Strength`."""
    return {
        "endurance": pgettext("emphasis", "Endurance"),
        "strength": pgettext("emphasis", "Strength"),
        "power": pgettext("emphasis", "Power"),
        "speed and agility": pgettext("emphasis", "Speed and agility"),
        "coordination and balance": pgettext("emphasis", "Coordination and balance"),
        "technique": pgettext("emphasis", "Technique"),
        "tactics and match play": pgettext("emphasis", "Tactics and match play"),
        "recovery": pgettext("emphasis", "Recovery"),
        "other sport": pgettext("emphasis", "Other sport"),
    }[emphasis]


def court_word(court: Court) -> str:
    """`on court` or `off court`, in the reader's language."""
    return pgettext("court", "on court") if court == "on court" else pgettext("court", "off court")
