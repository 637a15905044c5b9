"""The coach's limits: what each one means, between which values it makes sense, and the presets.

The file form and the web form both turn what was typed into `Limits` with `limits_from`, so that
they accept and refuse the same values in the same words.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from typing import Any, Final, Literal

from seasonplan.science.words import N_, _, ngettext, pgettext

Phase = Literal["preparation", "pre-competition", "competition", "active rest"]

PHASES: Final[tuple[Phase, ...]] = ("preparation", "pre-competition", "competition", "active rest")
"""The cycle, in order; after active rest comes preparation again."""

Kind = Literal["int", "float", "range", "phase"]
Group = Literal["Phases", "Peaks", "Events", "Travel", "Weights"]

PRACTICE: Final = N_("common practice")


@dataclass(frozen=True, slots=True)
class Limits:
    """The coach's limits, with the defaults of the standard preset.

    Units are in the names: days, weeks, hours, km, Celsius steps; weights are value per unit.
    """

    first_phase: Phase = "preparation"
    weeks_already_done: int = 0
    preparation_weeks: tuple[int, int] = (4, 12)
    pre_competition_weeks: tuple[int, int] = (4, 6)
    competition_weeks: tuple[int, int] = (2, 10)
    active_rest_weeks: tuple[int, int] = (1, 4)
    min_cycles: int = 2
    min_rest_weeks: int = 4
    final_rest_weeks: int = 2
    peak_weeks: int = 3
    peak_gap_weeks: int = 3
    tune_up_weeks: int = 1
    max_run: int = 3
    quiet_weeks: int = 2
    max_events: int = 20
    min_events: int = 0
    budget: float | None = None
    home_gap_days: int = 10
    one_day_travel_km: int = 5000
    clock_threshold_h: float = 3
    east_min_per_day: float = 60
    west_min_per_day: float = 90
    surface_days: int = 3
    heat_days: int = 7
    heat_step_c: float = 8
    travel_weight: float = 0.5
    missing_weight: float = 4
    short_weight: float = 3
    change_weight: float = 10

    def block_weeks(self, phase: Phase) -> tuple[int, int]:
        """Smallest and largest length of a block of this phase, in weeks."""
        match phase:
            case "preparation":
                return self.preparation_weeks
            case "pre-competition":
                return self.pre_competition_weeks
            case "competition":
                return self.competition_weeks
            case "active rest":
                return self.active_rest_weeks


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit as a coach reads it: `meaning` is a sentence, `unit` goes behind the number.

    A value lies within `smallest..largest`; a range has both its ends there. `optional` limits may
    be left empty. `source` says who published the default, or that it is common practice. Its words
    are English; what shows them says them with `_`.
    """

    name: str
    label: str
    meaning: str
    unit: str
    smallest: float
    largest: float
    kind: Kind
    group: Group
    source: str = PRACTICE
    optional: bool = False


@dataclass(frozen=True, slots=True)
class Preset:
    """A set of limits to start from; a coach picks one and edits it. Its words are English; what
    shows them says them with `_`."""

    name: str
    label: str
    meaning: str
    limits: Limits


class LimitsError(ValueError):
    """Limits that cannot be used: `errors` has one sentence for each limit that is wrong."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        self.errors: dict[str, str] = dict(errors)
        super().__init__("; ".join(f"{name}: {error}" for name, error in self.errors.items()))


_CLOCK: Final = N_(
    "rounded from 57 min a day going east and 92 going west: Aschoff et al. 1975, from memory"
)
_WEEKS: Final = 106

LIMITS: Final[tuple[Limit, ...]] = (
    Limit(
        "first_phase",
        N_("First phase"),
        N_("The phase in which the season begins."),
        "",
        0,
        0,
        "phase",
        "Phases",
    ),
    Limit(
        "weeks_already_done",
        N_("Weeks already done"),
        N_(
            "Weeks of the first phase that lie behind the player when the season begins; they count"
            " towards the length of the first block."
        ),
        N_("weeks"),
        0,
        _WEEKS,
        "int",
        "Phases",
    ),
    Limit(
        "preparation_weeks",
        N_("Preparation block"),
        N_("How short and how long a block of preparation may be."),
        N_("weeks"),
        1,
        _WEEKS,
        "range",
        "Phases",
        N_(
            "at least 4 weeks: Roetert, United States Tennis Association, 2003; at most 12: common"
            " practice"
        ),
    ),
    Limit(
        "pre_competition_weeks",
        N_("Pre-competition block"),
        N_("How short and how long a block of pre-competition may be."),
        N_("weeks"),
        1,
        _WEEKS,
        "range",
        "Phases",
        N_(
            "ideally at least 4 weeks: Roetert, United States Tennis Association, 2003; at most 6:"
            " common practice"
        ),
    ),
    Limit(
        "competition_weeks",
        N_("Competition block"),
        N_("How short and how long a block of competition may be."),
        N_("weeks"),
        1,
        _WEEKS,
        "range",
        "Phases",
    ),
    Limit(
        "active_rest_weeks",
        N_("Active rest block"),
        N_("How short and how long a block of active rest may be."),
        N_("weeks"),
        1,
        _WEEKS,
        "range",
        "Phases",
    ),
    Limit(
        "min_cycles",
        N_("Competition blocks, at least"),
        N_("How many blocks of competition the season has at least."),
        N_("blocks"),
        0,
        26,
        "int",
        "Phases",
    ),
    Limit(
        "min_rest_weeks",
        N_("Active rest in all, at least"),
        N_("How many weeks of active rest the season has at least."),
        N_("weeks"),
        0,
        _WEEKS,
        "int",
        "Phases",
    ),
    Limit(
        "final_rest_weeks",
        N_("Active rest at the end"),
        N_("How many weeks at the end of the season are active rest."),
        N_("weeks"),
        0,
        _WEEKS,
        "int",
        "Phases",
    ),
    Limit(
        "peak_weeks",
        N_("Length of a peak, at most"),
        N_("For how many weeks in a row a player can hold a peak."),
        N_("weeks"),
        1,
        _WEEKS,
        "int",
        "Peaks",
        N_("approximately three weeks: Roetert, United States Tennis Association, 2003"),
    ),
    Limit(
        "peak_gap_weeks",
        N_("Between two peaks, at least"),
        N_("How many weeks lie at least between two peaks of the same competition block."),
        N_("weeks"),
        0,
        _WEEKS,
        "int",
        "Peaks",
    ),
    Limit(
        "quiet_weeks",
        N_("Event weeks before a target, at most"),
        N_("How many of the four weeks before a target may be event weeks."),
        N_("weeks"),
        0,
        4,
        "int",
        "Peaks",
    ),
    Limit(
        "tune_up_weeks",
        N_("Tune-up weeks, at most"),
        N_("How many event weeks any three weeks in a row may hold in pre-competition."),
        N_("weeks"),
        0,
        3,
        "int",
        "Events",
    ),
    Limit(
        "max_run",
        N_("Event weeks in a row, at most"),
        N_("How many weeks in a row may be event weeks."),
        N_("weeks"),
        1,
        _WEEKS,
        "int",
        "Events",
        N_("common practice: two or three in a row"),
    ),
    Limit(
        "max_events",
        N_("Events, at most"),
        N_("How many events the season has at most."),
        N_("events"),
        0,
        500,
        "int",
        "Events",
        N_(
            "two very different calendars of elite 17-year-olds both had 18 to 20: Reid et al. 2009"
        ),
    ),
    Limit(
        "min_events",
        N_("Events, wanted"),
        N_("How many events the season should have; each one fewer costs some value."),
        N_("events"),
        0,
        500,
        "int",
        "Events",
    ),
    Limit(
        "budget",
        N_("Budget"),
        N_("What the events of the season may cost in all; empty means no budget."),
        "",
        0,
        1_000_000_000,
        "float",
        "Events",
        N_("the coach's own"),
        optional=True,
    ),
    Limit(
        "home_gap_days",
        N_("Go home from a gap of"),
        N_("With at least this many free days between two events the player goes home in between."),
        N_("days"),
        0,
        365,
        "int",
        "Travel",
    ),
    Limit(
        "one_day_travel_km",
        N_("One day of travel up to"),
        N_("A journey up to this long takes one day, a longer one two."),
        N_("km"),
        100,
        25_000,
        "int",
        "Travel",
    ),
    Limit(
        "clock_threshold_h",
        N_("Time zones that matter, from"),
        N_("From how many time zones on the body clock needs days to follow."),
        N_("hours"),
        0,
        12,
        "float",
        "Travel",
        N_("more than three zones: CDC Yellow Book 2024; three or more: Roach & Sargent 2019"),
    ),
    Limit(
        "east_min_per_day",
        N_("Body clock going east"),
        N_("How many minutes a day the body clock moves after a journey to the east."),
        N_("minutes a day"),
        1,
        1440,
        "float",
        "Travel",
        _CLOCK,
    ),
    Limit(
        "west_min_per_day",
        N_("Body clock going west"),
        N_("How many minutes a day the body clock moves after a journey to the west."),
        N_("minutes a day"),
        1,
        1440,
        "float",
        "Travel",
        _CLOCK,
    ),
    Limit(
        "surface_days",
        N_("Days for a new surface"),
        N_("How many days before an event the player is there when the surface changes."),
        N_("days"),
        0,
        60,
        "int",
        "Travel",
    ),
    Limit(
        "heat_days",
        N_("Days for heat"),
        N_("How many days before an event the player is there when it is much hotter."),
        N_("days"),
        0,
        60,
        "int",
        "Travel",
        N_("one to two weeks of exercise in the heat: Racinais et al. 2015"),
    ),
    Limit(
        "heat_step_c",
        N_("Heat that matters, from"),
        N_(
            "How much hotter than the place left a venue of at least 28 °C must be to need those"
            " days."
        ),
        N_("°C"),
        0,
        60,
        "float",
        "Travel",
    ),
    Limit(
        "travel_weight",
        N_("Cost of an hour of flight"),
        N_("How much value an hour of flight costs."),
        N_("value an hour"),
        0,
        1000,
        "float",
        "Weights",
    ),
    Limit(
        "missing_weight",
        N_("Cost of a missing day"),
        N_("How much value it costs to arrive a day too late at an event that is no target."),
        N_("value a day"),
        0,
        1000,
        "float",
        "Weights",
    ),
    Limit(
        "short_weight",
        N_("Cost of an event too few"),
        N_("How much value each event fewer than wanted costs."),
        N_("value an event"),
        0,
        1000,
        "float",
        "Weights",
    ),
    Limit(
        "change_weight",
        N_("Cost of a change"),
        N_("How much value each event costs that is added to or dropped from the plan in force."),
        N_("value a change"),
        0,
        1000,
        "float",
        "Weights",
    ),
)

_BY_NAME: Final[dict[str, Limit]] = {limit.name: limit for limit in LIMITS}

PRESETS: Final[dict[str, Preset]] = {
    preset.name: preset
    for preset in (
        Preset(
            "developing",
            N_("Developing"),
            N_("Fewer events, shorter runs and more rest, for a player who is growing."),
            Limits(
                max_events=14,
                max_run=2,
                competition_weeks=(2, 6),
                min_cycles=3,
                min_rest_weeks=8,
            ),
        ),
        Preset(
            "standard",
            N_("Standard"),
            N_("A full year with two or more peaks."),
            Limits(),
        ),
        Preset(
            "touring",
            N_("Touring"),
            N_("Many events and long blocks of competition, for a player who lives on the road."),
            Limits(
                max_events=28,
                max_run=4,
                preparation_weeks=(3, 10),
                competition_weeks=(2, 16),
                min_rest_weeks=6,
            ),
        ),
    )
}
"""Common practice, no source: `developing`, `standard` (the defaults) and `touring`."""


def unit_of(limit: Limit, value: float) -> str:
    """The limit's unit behind this value, in the reader's language: `week` behind 1."""
    number = int(value) if value == int(value) else 2  # `0.5 hours`
    match limit.unit:
        case "weeks":
            return ngettext("week", "weeks", number)
        case "days":
            return ngettext("day", "days", number)
        case "hours":
            return ngettext("hour", "hours", number)
        case "blocks":
            return ngettext("block", "blocks", number)
        case "events":
            return ngettext("event", "events", number)
    return _(limit.unit) if limit.unit else ""


def group_word(group: Group) -> str:
    """The heading of a group of limits, in the reader's language."""
    return {
        "Phases": pgettext("group of limits", "Phases"),
        "Peaks": pgettext("group of limits", "Peaks"),
        "Events": pgettext("group of limits", "Events"),
        "Travel": pgettext("group of limits", "Travel"),
        "Weights": pgettext("group of limits", "Weights"),
    }[group]


def limits_from(mapping: Mapping[str, object]) -> Limits:
    """Limits with these values, and the defaults for the rest.

    Numbers come as numbers (True is none), a range as two whole numbers in a list or tuple, a
    phase by its name, and no budget as None. Raises LimitsError with a sentence for each name that
    is unknown and each value that is wrong.
    """
    values: dict[str, Any] = {}
    errors: dict[str, str] = {}
    for name, value in mapping.items():
        limit = _BY_NAME.get(name)
        if limit is None:
            errors[name] = _("there is no such limit")
            continue
        try:
            values[name] = _READERS[limit.kind](limit, value)
        except ValueError as error:
            errors[name] = str(error)
    if errors:
        raise LimitsError(errors)
    return Limits(**values)


def limits_as_mapping(limits: Limits) -> dict[str, object]:
    """The limits that differ from the defaults, as `limits_from` reads them; ranges as lists."""
    standard = Limits()
    changed = {
        field.name: getattr(limits, field.name)
        for field in fields(limits)
        if getattr(limits, field.name) != getattr(standard, field.name)
    }
    return {
        name: list(value) if isinstance(value, tuple) else value for name, value in changed.items()
    }


def _number(limit: Limit, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(_("must be a number"))
    if not limit.smallest <= value <= limit.largest:  # refuses what is not a number, too
        raise ValueError(
            _("must lie between %(smallest)s and %(largest)s")
            % {"smallest": f"{limit.smallest:g}", "largest": f"{limit.largest:.0f}"}
        )
    return value


def _read_int(limit: Limit, value: object) -> int:
    number = _number(limit, value)
    if number != math.floor(number):
        raise ValueError(_("must be a whole number"))
    return int(number)


def _read_float(limit: Limit, value: object) -> float | None:
    if value is None and limit.optional:
        return None
    number = _number(limit, value)
    if number != round(number, 2):  # sums are kept in whole hundredths
        raise ValueError(_("must have at most two decimal places"))
    return number


def _read_range(limit: Limit, value: object) -> tuple[int, int]:
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise ValueError(_("must be two whole numbers, the smallest and the largest"))
    low, high = (_read_int(limit, end) for end in value)
    if low > high:
        raise ValueError(
            _("the smallest, %(low)d, is greater than the largest, %(high)d")
            % {"low": low, "high": high}
        )
    return low, high


def _read_phase(limit: Limit, value: object) -> Phase:
    for phase in PHASES:
        if value == phase:
            return phase
    raise ValueError(_("must be one of %(choices)s") % {"choices": ", ".join(PHASES)})


_READERS: Final[dict[Kind, Callable[[Limit, object], object]]] = {
    "int": _read_int,
    "float": _read_float,
    "range": _read_range,
    "phase": _read_phase,
}
