"""What is to be decided: a season, a home, candidate events, and the limits of a good year.

The dataclasses here are the border of the layout: the planner builds a `Problem`, the solver
answers it and the judge (`rules.py`) measures any answer against it. `read_problem` makes one from
the file form and refuses bad input in one line that names the field.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final, Literal, TypeVar, cast
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from seasonplan.science.layout.limits import (
    PHASES,
    Limits,
    LimitsError,
    Phase,
    limits_as_mapping,
    limits_from,
)
from seasonplan.science.weeks import season_weeks

__all__ = [
    "DEFAULT_WORTH",
    "PHASES",
    "ROLES",
    "SURFACES",
    "Block",
    "Busy",
    "Event",
    "Home",
    "InForce",
    "Limits",
    "Phase",
    "Problem",
    "ProblemError",
    "Role",
    "Season",
    "Surface",
    "block_as_json",
    "problem_as_json",
    "read_problem",
]

Surface = Literal["hard", "clay", "grass", "carpet"]
Role = Literal["target", "build-up", "open"]

SURFACES: Final[tuple[Surface, ...]] = ("hard", "clay", "grass", "carpet")
ROLES: Final[tuple[Role, ...]] = ("target", "build-up", "open")
DEFAULT_WORTH: Final[dict[Role, int]] = {"target": 80, "build-up": 40, "open": 20}
"""Worth 0..100 of an event whose coach has not set one; the coach's own number always wins."""


@dataclass(frozen=True, slots=True)
class Season:
    """A season from a Monday to a Sunday, at most 106 whole weeks."""

    start: date
    end: date

    @property
    def weeks(self) -> int:
        """Number of whole weeks."""
        return ((self.end - self.start).days + 1) // 7


@dataclass(frozen=True, slots=True)
class Home:
    """The player's home base; `monthly_high_c` holds twelve daily highs, January first, in C."""

    name: str
    lat: float
    lon: float
    timezone: str
    elevation_m: float
    surface: Surface
    monthly_high_c: tuple[float, ...] | None = None


@dataclass(frozen=True, slots=True)
class Event:
    """A candidate event; it occupies `start..end` inclusive as if the player reached the final."""

    code: str
    name: str
    start: date
    end: date
    lat: float
    lon: float
    timezone: str
    elevation_m: float
    surface: Surface
    high_c: float | None = None
    role: Role = "open"
    worth: float = 20
    cost: float = 0


@dataclass(frozen=True, slots=True)
class Busy:
    """Days, inclusive, on which the player cannot play an event."""

    start: date
    end: date
    why: str = ""


@dataclass(frozen=True, slots=True)
class Block:
    """Whole weeks of one phase, from a Monday to a Sunday."""

    phase: Phase
    start: date
    end: date


@dataclass(frozen=True, slots=True)
class InForce:
    """The plan that a re-planning starts from."""

    events: tuple[str, ...] = ()
    blocks: tuple[Block, ...] = ()


@dataclass(frozen=True, slots=True)
class Problem:
    """One season layout to solve or to judge; the order of the events means nothing.

    The coach has pinned `keep` in and ruled `drop` out; who holds the events has called off
    `cancelled`.
    """

    season: Season
    home: Home
    events: tuple[Event, ...]
    busy: tuple[Busy, ...] = ()
    limits: Limits = field(default_factory=Limits)
    keep: frozenset[str] = frozenset()
    drop: frozenset[str] = frozenset()
    cancelled: frozenset[str] = frozenset()
    today: date | None = None
    in_force: InForce | None = None


class ProblemError(ValueError):
    """What is wrong with a problem, in one line that begins with the name of the field."""

    def __init__(self, where: str, what: str) -> None:
        self.field = where
        super().__init__(f"{where}: {what}" if where else what)


def read_problem(data: object) -> Problem:
    """The problem that the file form says, once its JSON is read into dicts and lists.

    Every field has its own type: a number is never a text or a truth value, a date is written
    YYYY-MM-DD. Of an event, `high_c`, `role` (open), `worth` (by role) and `cost` (0) may be left
    out; of the whole, everything but season, home and events. Raises ProblemError, one line that
    names the field, for anything missing, unknown, doubled, or outside its range.
    """
    top = _Fields(
        data,
        "",
        needed=("season", "home", "events"),
        allowed=("today", "busy", "limits", "keep", "drop", "cancelled", "in_force"),
    )
    season = _read_season(top.value("season"))
    events = tuple(
        _read_event(item, where, season) for item, where in _items(top.value("events"), "events")
    )
    codes: dict[str, int] = {}
    for index, event in enumerate(events):
        if event.code in codes:
            raise ProblemError(
                f"events[{index}].code",
                f"{_shown(event.code)} is already the code of events[{codes[event.code]}]",
            )
        codes[event.code] = index
    keep = _read_codes(top.value("keep", []), "keep", codes)
    drop = _read_codes(top.value("drop", []), "drop", codes)
    cancelled = _read_codes(top.value("cancelled", []), "cancelled", codes)
    for name, out in (("drop", drop), ("cancelled", cancelled)):
        for index, code in enumerate(out):
            if code in keep:
                raise ProblemError(f"{name}[{index}]", f"{_shown(code)} is in keep, too")
    return Problem(
        season=season,
        home=_read_home(top.value("home")),
        events=events,
        busy=tuple(
            _read_busy(item, where) for item, where in _items(top.value("busy", []), "busy")
        ),
        limits=_read_limits(top.value("limits", {})),
        keep=frozenset(keep),
        drop=frozenset(drop),
        cancelled=frozenset(cancelled),
        today=top.optional("today", _day),
        in_force=top.optional(
            "in_force", lambda value, where: _read_in_force(value, where, season, codes)
        ),
    )


def problem_as_json(problem: Problem) -> dict[str, object]:
    """The problem in the file form, ready for `json.dumps`; `read_problem` gives it back equal.

    `cancelled` is there only where an event is.
    """
    home = problem.home
    highs = home.monthly_high_c
    in_force = problem.in_force
    return {
        "season": {
            "start": problem.season.start.isoformat(),
            "end": problem.season.end.isoformat(),
        },
        "today": problem.today.isoformat() if problem.today else None,
        "home": {
            "name": home.name,
            "lat": home.lat,
            "lon": home.lon,
            "timezone": home.timezone,
            "elevation_m": home.elevation_m,
            "surface": home.surface,
            "monthly_high_c": None if highs is None else list(highs),
        },
        "events": [
            {
                "code": event.code,
                "name": event.name,
                "start": event.start.isoformat(),
                "end": event.end.isoformat(),
                "lat": event.lat,
                "lon": event.lon,
                "timezone": event.timezone,
                "elevation_m": event.elevation_m,
                "high_c": event.high_c,
                "surface": event.surface,
                "role": event.role,
                "worth": event.worth,
                "cost": event.cost,
            }
            for event in problem.events
        ],
        "busy": [
            {"start": busy.start.isoformat(), "end": busy.end.isoformat(), "why": busy.why}
            for busy in problem.busy
        ],
        "limits": limits_as_mapping(problem.limits),
        "keep": sorted(problem.keep),
        "drop": sorted(problem.drop),
        **({"cancelled": sorted(problem.cancelled)} if problem.cancelled else {}),
        "in_force": in_force
        and {
            "events": list(in_force.events),
            "blocks": [block_as_json(block) for block in in_force.blocks],
        },
    }


def block_as_json(block: Block) -> dict[str, str]:
    """A block in the file form."""
    return {
        "phase": block.phase,
        "start": block.start.isoformat(),
        "end": block.end.isoformat(),
    }


# The parts of the file form.

_T = TypeVar("_T")
_LONGEST_TEXT: Final = 200
_YEARS: Final = (1970, 2199)


def _read_season(value: object) -> Season:
    fields = _Fields(value, "season", needed=("start", "end"))
    start, end = _day_range(fields)
    try:
        season_weeks(start, end)
    except ValueError as error:
        raise ProblemError(
            "season.end" if start.weekday() == 0 else "season.start", str(error)
        ) from None
    return Season(start, end)


def _read_home(value: object) -> Home:
    fields = _Fields(
        value,
        "home",
        needed=("name", "lat", "lon", "timezone", "elevation_m", "surface"),
        allowed=("monthly_high_c",),
    )
    return Home(
        name=fields.read("name", _text),
        lat=fields.read("lat", _number_in(-90, 90)),
        lon=fields.read("lon", _number_in(-180, 180)),
        timezone=fields.read("timezone", _timezone),
        elevation_m=fields.read("elevation_m", _number_in(-500, 9000)),
        surface=cast(Surface, fields.read("surface", _one_of(SURFACES))),
        monthly_high_c=fields.optional("monthly_high_c", _twelve_highs),
    )


def _read_event(value: object, where: str, season: Season) -> Event:
    fields = _Fields(
        value,
        where,
        needed=(
            "code",
            "name",
            "start",
            "end",
            "lat",
            "lon",
            "timezone",
            "elevation_m",
            "surface",
        ),
        allowed=("high_c", "role", "worth", "cost"),
    )
    code = fields.read("code", _text)
    if code == "home":
        raise ProblemError(
            f"{where}.code", '"home" is the player\'s home base; choose another code'
        )
    start, end = _day_range(fields)
    for name, day in (("start", start), ("end", end)):
        if not season.start <= day <= season.end:
            raise ProblemError(
                f"{where}.{name}",
                f"{day} lies outside the season ({season.start} to {season.end})",
            )
    role = cast(Role, fields.read("role", _one_of(ROLES), "open"))
    return Event(
        code=code,
        name=fields.read("name", _text),
        start=start,
        end=end,
        lat=fields.read("lat", _number_in(-90, 90)),
        lon=fields.read("lon", _number_in(-180, 180)),
        timezone=fields.read("timezone", _timezone),
        elevation_m=fields.read("elevation_m", _number_in(-500, 9000)),
        surface=cast(Surface, fields.read("surface", _one_of(SURFACES))),
        high_c=fields.optional("high_c", _number_in(-90, 70)),
        role=role,
        worth=fields.read("worth", _number_in(0, 100), float(DEFAULT_WORTH[role])),
        cost=fields.read("cost", _number_in(0, 1_000_000_000), 0.0),
    )


def _read_busy(value: object, where: str) -> Busy:
    fields = _Fields(value, where, needed=("start", "end"), allowed=("why",))
    start, end = _day_range(fields)
    return Busy(start, end, fields.read("why", _text_or_none, ""))


def _read_limits(value: object) -> Limits:
    if not isinstance(value, dict):
        raise ProblemError("limits", f"must be an object, not {_shown(value)}")
    try:
        return limits_from(value)
    except LimitsError as errors:
        name, what = next(iter(errors.errors.items()))
        raise ProblemError(f"limits.{_named(name)}", f"{what}; got {_shown(value[name])}") from None


def _read_in_force(value: object, where: str, season: Season, codes: Collection[str]) -> InForce:
    fields = _Fields(value, where, needed=("events",), allowed=("blocks",))
    blocks: list[Block] = []
    for item, at in _items(fields.value("blocks", []), f"{where}.blocks"):
        block = _read_block(item, at, season)
        if blocks and block.start <= blocks[-1].end:
            raise ProblemError(
                f"{at}.start", f"{block.start} lies before the end of the block before it"
            )
        blocks.append(block)
    events = _read_codes(fields.value("events"), f"{where}.events", codes)
    return InForce(tuple(events), tuple(blocks))


def _read_block(value: object, where: str, season: Season) -> Block:
    fields = _Fields(value, where, needed=("phase", "start", "end"))
    phase = cast(Phase, fields.read("phase", _one_of(PHASES)))
    start, end = _day_range(fields)
    if start.weekday() != 0:
        raise ProblemError(f"{where}.start", f"a block starts on a Monday; {start} is none")
    if end.weekday() != 6:
        raise ProblemError(f"{where}.end", f"a block ends on a Sunday; {end} is none")
    for name, day in (("start", start), ("end", end)):
        if not season.start <= day <= season.end:
            raise ProblemError(
                f"{where}.{name}",
                f"{day} lies outside the season ({season.start} to {season.end})",
            )
    return Block(phase, start, end)


def _read_codes(value: object, where: str, codes: Collection[str]) -> list[str]:
    found: list[str] = []
    for item, at in _items(value, where):
        code = _text(item, at)
        if code not in codes:
            raise ProblemError(at, f"no event has the code {_shown(code)}")
        if code in found:
            raise ProblemError(at, f"{_shown(code)} is there twice")
        found.append(code)
    return found


# Fields and single values. Each reader takes the value and the name of its field.

_Reader = Callable[[object, str], _T]
_MISSING: Final = object()


class _Fields:
    """The fields of one JSON object: refuses a missing or an unknown one."""

    def __init__(
        self, value: object, where: str, *, needed: Collection[str], allowed: Collection[str] = ()
    ) -> None:
        if not isinstance(value, dict):
            raise ProblemError(where or "problem", f"must be an object, not {_shown(value)}")
        self._values: Mapping[Any, object] = value
        self._prefix = f"{where}." if where else ""
        for name in value:
            if name not in needed and name not in allowed:
                raise ProblemError(f"{self._prefix}{_named(name)}", "there is no such field")
        for name in needed:
            if name not in value:
                raise ProblemError(f"{self._prefix}{name}", "is missing")

    def value(self, name: str, default: object = None) -> object:
        return self._values.get(name, default)

    def read(self, name: str, reader: _Reader[_T], default: _T | None = None) -> _T:
        """The field, or the default where it is left out."""
        if default is not None and name not in self._values:
            return default
        return reader(self._values[name], f"{self._prefix}{name}")

    def optional(self, name: str, reader: _Reader[_T]) -> _T | None:
        """The field, or None where it is left out or null."""
        value = self._values.get(name)
        return None if value is None else reader(value, f"{self._prefix}{name}")

    def wrong(self, name: str, what: str) -> ProblemError:
        return ProblemError(f"{self._prefix}{name}", what)


def _day_range(fields: _Fields) -> tuple[date, date]:
    start, end = fields.read("start", _day), fields.read("end", _day)
    if end < start:
        raise fields.wrong("end", f"{end} lies before the start, {start}")
    return start, end


def _items(value: object, where: str) -> list[tuple[object, str]]:
    if not isinstance(value, list | tuple):
        raise ProblemError(where, f"must be a list, not {_shown(value)}")
    return [(item, f"{where}[{index}]") for index, item in enumerate(value)]


def _text(value: object, where: str) -> str:
    text = _text_or_none(value, where)
    if not text.strip():
        raise ProblemError(where, "must not be empty")
    return text


def _text_or_none(value: object, where: str) -> str:
    if not isinstance(value, str):
        raise ProblemError(where, f"must be a text, not {_shown(value)}")
    if len(value) > _LONGEST_TEXT:
        raise ProblemError(where, f"must have at most {_LONGEST_TEXT} characters")
    if any(unicodedata.category(character) in ("Cc", "Cs") for character in value):
        raise ProblemError(where, f"must be one line of readable characters, not {_shown(value)}")
    return value


def _day(value: object, where: str) -> date:
    if not isinstance(value, str) or not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
        raise ProblemError(where, f"must be a date written YYYY-MM-DD, not {_shown(value)}")
    try:
        day = date.fromisoformat(value)
    except ValueError:
        raise ProblemError(where, f"there is no day {value}") from None
    if not _YEARS[0] <= day.year <= _YEARS[1]:
        raise ProblemError(where, f"must lie in the years {_YEARS[0]} to {_YEARS[1]}, not {value}")
    return day


def _number_in(smallest: float, largest: float) -> _Reader[float]:
    def read(value: object, where: str) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ProblemError(where, f"must be a number, not {_shown(value)}")
        if not smallest <= value <= largest:  # refuses what is not a number, too
            raise ProblemError(
                where, f"must lie between {smallest} and {largest}, not {_shown(value)}"
            )
        return value

    return read


def _one_of(choices: Collection[str]) -> _Reader[str]:
    def read(value: object, where: str) -> str:
        if not isinstance(value, str) or value not in choices:
            raise ProblemError(where, f"must be one of {', '.join(choices)}, not {_shown(value)}")
        return value

    return read


def _timezone(value: object, where: str) -> str:
    name = _text(value, where)
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise ProblemError(where, f"there is no time zone {_shown(name)}") from None
    return name


def _twelve_highs(value: object, where: str) -> tuple[float, ...]:
    items = _items(value, where)
    if len(items) != 12:
        raise ProblemError(where, f"must be twelve numbers, January first; there are {len(items)}")
    read = _number_in(-90, 70)
    return tuple(read(item, at) for item, at in items)


def _named(name: object) -> str:
    """A field's name as typed, in quotes where it is not a plain word."""
    return name if isinstance(name, str) and re.fullmatch(r"\w{1,60}", name) else _shown(name)


def _shown(value: object) -> str:
    """The value as JSON on one line, cut short."""
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list | tuple):
        return "a list"
    try:
        text = json.dumps(value)
    except (TypeError, ValueError):  # no JSON value, or a number too long to write
        return f"a {type(value).__name__}"
    return text if len(text) <= 60 else f"{text[:57]}..."
