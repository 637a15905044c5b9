"""How does this player train: shapes of phases, rules for all weeks, and free time on each weekday?

The training of a season follows from these (`training/targets.py`), and the page that changes them
(`shape_pages.py`) shows them. A row of `PlayerTraining` keeps only what differs from the usual
values, which depend on the player's age; without a row everything is as usual. The form and what
was stored are read by the same functions, so that they accept and refuse the same values in the
same words.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from datetime import date, timedelta
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final, Literal

from seasonplan.science.layout.limits import PRACTICE
from seasonplan.science.layout.problem import PHASES, Phase
from seasonplan.science.phases import SHAPES, PhaseShape
from seasonplan.science.taper import mean_cut, taper_ok
from seasonplan.science.week_target import EMPHASES, Emphasis, TrainingRules
from seasonplan.science.words import N_, _, ngettext, pgettext, short_number, weekday
from seasonplan.science.words import number as decimal
from seasonplan.science.youth import is_young

if TYPE_CHECKING:
    from seasonplan.training.models import PlayerTraining

FreeMinutes = tuple[int, int, int, int, int, int, int]
"""Minutes a day that a player has for training, Monday first."""


@dataclass(frozen=True, slots=True)
class Setting:
    """One number that a coach may set: `meaning` is a sentence, `unit` goes behind the number.

    A value lies within `smallest..largest`; `kind` says whether it is whole. `source` says who
    published the usual value or the range, or that it is common practice. All four are said with
    `_`, a value with its unit by `with_unit`.
    """

    name: str
    label: str
    meaning: str
    unit: str
    smallest: float
    largest: float
    kind: Literal["int", "float"] = "int"
    source: str = PRACTICE


_ORDER: Final = N_(
    "the order of the phases, Roetert 2003 for the USTA; the number, common practice"
)

SHAPE_SETTINGS: Final[tuple[Setting, ...]] = (
    Setting(
        "on_court_hours",
        N_("Hours on court"),
        N_("Training with the racket in a usual week; matches are not counted."),
        N_("hours a week"),
        0,
        40,
        "float",
        _ORDER,
    ),
    Setting(
        "off_court_hours",
        N_("Hours off court"),
        N_("All other training in a usual week: strength, endurance, movement, recovery."),
        N_("hours a week"),
        0,
        40,
        "float",
        _ORDER,
    ),
    Setting(
        "on_court_sessions",
        N_("Sessions on court"),
        N_("How many sessions the hours on court are spread over."),
        N_("a week"),
        0,
        14,
    ),
    Setting(
        "off_court_sessions",
        N_("Sessions off court"),
        N_("How many sessions the hours off court are spread over."),
        N_("a week"),
        0,
        14,
    ),
    Setting(
        "effort_first",
        N_("Effort in the first week"),
        N_(
            "Mean effort of the sessions when the block begins; it goes in a straight line to the"
            " last week's."
        ),
        N_("of 10"),
        0,
        10,
        "float",
        _ORDER,
    ),
    Setting(
        "effort_last",
        N_("Effort in the last week"),
        N_("Mean effort of the sessions when the block ends."),
        N_("of 10"),
        0,
        10,
        "float",
        _ORDER,
    ),
    Setting(
        "rise_percent",
        N_("Change from week to week"),
        N_(
            "How much the hours rise from each week of a block to the next, before lighter weeks"
            " are cut; below 0 they fall."
        ),
        N_("% a week"),
        -20,
        20,
        "float",
    ),
)
"""The numbers of a phase's shape; its shares by emphasis (whole percent, 0 to 100) come beside."""

RULE_SETTINGS: Final[tuple[Setting, ...]] = (
    Setting(
        "days_off",
        N_("Days off a week"),
        N_("Full days of every week without any organised training."),
        N_("days"),
        1,
        4,
        source=N_("at least one day a week for the young: Brenner 2007, Pediatrics 119:1242"),
    ),
    Setting(
        "lighter_every",
        N_("A lighter week every"),
        N_("How often a week of a block is lighter: 4 makes every fourth one lighter, 0 none."),
        N_("weeks"),
        0,
        8,
        source=N_("common practice: every third or fourth"),
    ),
    Setting(
        "lighter_share",
        N_("What a lighter week keeps"),
        N_("The share of the hours that a lighter week has: 0.7 keeps seven tenths."),
        N_("of the hours"),
        0.3,
        1,
        "float",
    ),
    Setting(
        "taper_days",
        N_("Taper before a target"),
        N_(
            "For how many days before a target event the hours fall, while effort and the number of"
            " sessions stay."
        ),
        N_("days"),
        8,
        14,
        source=N_(
            "8 to 14 days: Bosquet et al. 2007, from sports that are measured, with little from"
            " tennis"
        ),
    ),
    Setting(
        "taper_tau_days",
        N_("How slowly the taper falls"),
        N_(
            "After this many days of the taper about a third of the usual hours is left. A greater"
            " number falls more slowly."
        ),
        N_("days"),
        2,
        20,
        "float",
        N_(
            "hours cut by 41 to 60 % on average: Bosquet et al. 2007; how they fall day by day:"
            " common practice"
        ),
    ),
    Setting(
        "short_taper_days",
        N_("Taper before other events"),
        N_("For how many days before an event that is no target the hours fall; 0 for none."),
        N_("days"),
        0,
        7,
        source=N_("common practice: 3 to 7 days"),
    ),
    Setting(
        "weeks_off_racket",
        N_("Weeks away from the racket"),
        N_("How many weeks at the end of the season have no training with the racket."),
        N_("weeks"),
        0,
        12,
        source=N_("active rest closes the year: Roetert 2003; two full weeks: common practice"),
    ),
    Setting(
        "months_off",
        N_("Months off tennis a year"),
        N_(
            "How many months a year away from tennis are looked for in players under 18. Where"
            " there are fewer, the page says so; no week is changed."
        ),
        N_("months"),
        2,
        3,
        source=N_(
            "2 to 3 months: Brenner 2007, Pediatrics 119:1242; at least 3: Brenner et al. 2016,"
            " Pediatrics 138(3):e20162148"
        ),
    ),
    Setting(
        "jump_percent",
        N_("A jump is worth a note from"),
        N_("How far a week may lie above the mean of the four before until a note says so."),
        N_("%"),
        1,
        100,
        source=N_("common practice, with weak evidence, from running"),
    ),
)

WEEKDAYS: Final[tuple[str, ...]] = (
    "monday",
    "tuesday",
    "wednesday",
    "thursday",
    "friday",
    "saturday",
    "sunday",
)


def weekday_word(name: str) -> str:
    """`Monday` for `monday`, in the reader's language, as a label: with a capital everywhere."""
    a_monday = date(2024, 1, 1)
    word = weekday(a_monday + timedelta(days=WEEKDAYS.index(name)))
    return f"{word[:1].upper()}{word[1:]}"


def label_within(setting: Setting) -> str:
    """The label of a shape's setting within a sentence: `hours on court`."""
    return {
        "on_court_hours": pgettext("setting within a sentence", "hours on court"),
        "off_court_hours": pgettext("setting within a sentence", "hours off court"),
        "on_court_sessions": pgettext("setting within a sentence", "sessions on court"),
        "off_court_sessions": pgettext("setting within a sentence", "sessions off court"),
        "effort_first": pgettext("setting within a sentence", "effort in the first week"),
        "effort_last": pgettext("setting within a sentence", "effort in the last week"),
        "rise_percent": pgettext("setting within a sentence", "change from week to week"),
    }[setting.name]


def with_unit(unit: str, said: str, *, many: bool) -> str:
    """A number with its unit: `9 hours a week`, `1 day`."""
    n = 2 if many else 1
    form = {
        "hours a week": ngettext("%(number)s hour a week", "%(number)s hours a week", n),
        "a week": _("%(number)s a week"),
        "of 10": _("%(number)s of 10"),
        "% a week": _("%(number)s %% a week"),
        "days": ngettext("%(number)s day", "%(number)s days", n),
        "weeks": ngettext("%(number)s week", "%(number)s weeks", n),
        "months": ngettext("%(number)s month", "%(number)s months", n),
        "%": _("%(number)s %%"),
        "minutes": ngettext("%(number)s minute", "%(number)s minutes", n),
    }[unit]
    return form % {"number": said}


MOST_FREE_MIN: Final = 12 * 60
"""No day has more room for training than this (common practice, no source)."""

ON_COURT_ONLY: Final[tuple[Emphasis, ...]] = ("technique", "tactics and match play")
"""What cannot be trained off court."""

SHORTEST_MIN: Final = 15
"""A usual session of a shape is no shorter than this; no longer than `LONGEST_MIN`."""
LONGEST_MIN: Final = 300


class ShapingError(ValueError):
    """Settings that cannot be used: `errors` has one sentence for each that is wrong."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        self.errors: dict[str, str] = dict(errors)
        super().__init__("; ".join(f"{name}: {error}" for name, error in self.errors.items()))


# What is usual ------------------------------------------------------------------------------------

_MINOR_SHARE_OF_AGE: Final = 0.8
_MINOR_RISE_PERCENT: Final = 2.0
_MINOR_ON_COURT_SESSIONS: Final = 5
_YOUNGEST: Final = 4
_MINOR_SESSION_MIN: Final = 45
_MINOR_FREE: Final[FreeMinutes] = (150, 150, 150, 150, 150, 240, 240)
_ADULT_FREE: Final[FreeMinutes] = (360, 360, 360, 360, 360, 360, 360)


@cache
def usual_shapes(age: int | None) -> Mapping[Phase, PhaseShape]:
    """The shapes to start from at this age in whole years; an unknown age counts as an adult's.

    Under 18 the hours are fewer: no more hours a week than years of age (Jayanthi et al. 2015,
    Am J Sports Med: more hours than years went with more serious overuse in 7- to 18-year-olds),
    in any week of a block of up to twelve weeks, and on court at most five times a week (Brenner
    2007, Pediatrics 119:1242: at most five days a week in one sport). That the fullest phase
    begins at eight tenths of the age, that the other phases keep their proportion to it, and how
    hours are split, is common practice, no source.

    At 15: 11.5 hours a week in preparation, 9.5 in pre-competition, 7 in competition.
    """
    if age is None or not is_young(age):
        return SHAPES
    fullest = max(shape.on_court_hours + shape.off_court_hours for shape in SHAPES.values())
    share = _MINOR_SHARE_OF_AGE * max(age, _YOUNGEST) / fullest
    return MappingProxyType({phase: _for_a_minor(SHAPES[phase], share) for phase in PHASES})


def _for_a_minor(shape: PhaseShape, share: float) -> PhaseShape:
    on_court = math.floor(2 * shape.on_court_hours * share) / 2
    off_court = math.floor(2 * shape.off_court_hours * share) / 2
    return replace(
        shape,
        on_court_hours=on_court,
        off_court_hours=off_court,
        on_court_sessions=min(
            shape.on_court_sessions, _MINOR_ON_COURT_SESSIONS, _sessions_in(on_court)
        ),
        off_court_sessions=min(shape.off_court_sessions, _sessions_in(off_court)),
        rise_percent=min(shape.rise_percent, _MINOR_RISE_PERCENT),
    )


def _sessions_in(hours: float) -> int:
    """How many sessions of a good length these hours hold; one for what is shorter than that."""
    return max(1, int(hours * 60 // _MINOR_SESSION_MIN)) if hours else 0


def usual_free_minutes(age: int | None) -> FreeMinutes:
    """Free time on Monday to Sunday: after school for the young (common practice, no source)."""
    return _MINOR_FREE if is_young(age) else _ADULT_FREE


# What holds for a player --------------------------------------------------------------------------


def shapes_of(training: PlayerTraining | None, age: int | None) -> Mapping[Phase, PhaseShape]:
    """The shape of every phase for a player of this age, in the order of the phases.

    Raises ShapingError for stored values that make no sense.
    """
    return shapes_from({} if training is None else training.shapes, age)


def rules_of(training: PlayerTraining | None) -> TrainingRules:
    """The rules for all weeks of a player. Raises ShapingError like `shapes_of`."""
    return rules_from({} if training is None else training.rules)


def free_minutes_of(training: PlayerTraining | None, age: int | None) -> FreeMinutes:
    """Minutes for training on Monday to Sunday. Raises ShapingError like `shapes_of`."""
    return free_minutes_from({} if training is None else training.free_time, age)


def shapes_from(
    changes: Mapping[str, Mapping[str, object]], age: int | None
) -> Mapping[Phase, PhaseShape]:
    """The usual shapes with these changes, by phase and name of the setting.

    Shares come whole, as `shares`: a mapping from emphasis to percent. Raises ShapingError.
    """
    shapes = dict(usual_shapes(age))
    errors: dict[str, str] = {}
    for phase, changed in changes.items():
        if phase not in shapes:
            errors[phase] = _("there is no such phase")
            continue
        try:
            shapes[phase] = shape_from(changed, shapes[phase])
        except ShapingError as wrong:
            errors |= {f"{phase}, {name}": error for name, error in wrong.errors.items()}
    if errors:
        raise ShapingError(errors)
    return MappingProxyType(shapes)


def shape_from(changes: Mapping[str, object], usual: PhaseShape) -> PhaseShape:
    """The usual shape of a phase with these changes.

    Raises ShapingError with a sentence for each setting that is wrong, for an emphasis by its own
    name, and under `shares` when they do not add up.
    """
    changes = dict(changes)
    shares = changes.pop("shares", None)
    values, errors = _read(SHAPE_SETTINGS, changes)
    if shares is not None:
        try:
            values["shares"] = _shares_from(shares)
        except ShapingError as wrong:
            errors |= wrong.errors
    shape = replace(usual, **values)
    for name, error in _misfits(shape).items():
        errors.setdefault(name, error)
    if errors:
        raise ShapingError(errors)
    return shape


def rules_from(changes: Mapping[str, object]) -> TrainingRules:
    """The usual rules with these changes, by name. Raises ShapingError."""
    values, errors = _read(RULE_SETTINGS, changes)
    if values.get("lighter_every") == 1:
        errors["lighter_every"] = _("must be 0 for none, or at least 2")
    if not errors:
        rules = TrainingRules(**values)
        if error := _wrong_taper(rules):
            errors["taper_tau_days"] = error
    if errors:
        raise ShapingError(errors)
    return rules


def free_minutes_from(changes: Mapping[str, object], age: int | None) -> FreeMinutes:
    """The usual free time with these changes, by weekday in small letters. Raises ShapingError."""
    values, errors = _read(_DAY_SETTINGS, changes)
    if errors:
        raise ShapingError(errors)
    usual = dict(zip(WEEKDAYS, usual_free_minutes(age), strict=True))
    return tuple((usual | values).values())


def shapes_as_changes(
    shapes: Mapping[Phase, PhaseShape], age: int | None
) -> dict[str, dict[str, object]]:
    """What differs from the usual shapes at this age, as `shapes_from` reads it; it makes sense at
    any other age, too."""
    usual = usual_shapes(age)
    changes = {phase: _shape_changes(shapes[phase], usual[phase]) for phase in PHASES}
    return {phase: changed for phase, changed in changes.items() if changed}


def _shape_changes(shape: PhaseShape, usual: PhaseShape) -> dict[str, object]:
    changed = {
        field.name: getattr(shape, field.name)
        for field in fields(shape)
        if getattr(shape, field.name) != getattr(usual, field.name)
    }
    if "shares" in changed:
        changed["shares"] = dict(shape.shares)
    # Kept as a pair, so that they go together at any age, whatever is usual then.
    for court in ("on_court", "off_court"):
        pair = (f"{court}_hours", f"{court}_sessions")
        if not changed.keys().isdisjoint(pair):
            changed |= {name: getattr(shape, name) for name in pair}
    return changed


def rules_as_changes(rules: TrainingRules) -> dict[str, object]:
    """What differs from the usual rules, as `rules_from` reads it."""
    usual = TrainingRules()
    return {
        field.name: getattr(rules, field.name)
        for field in fields(rules)
        if getattr(rules, field.name) != getattr(usual, field.name)
    }


def free_minutes_as_changes(free: FreeMinutes, age: int | None) -> dict[str, object]:
    """What differs from the usual free time at this age, as `free_minutes_from` reads it."""
    days = zip(WEEKDAYS, free, usual_free_minutes(age), strict=True)
    return {day: minutes for day, minutes, usual in days if minutes != usual}


# What makes sense ---------------------------------------------------------------------------------

_DAY_SETTINGS: Final = tuple(Setting(day, "", "", "minutes", 0, MOST_FREE_MIN) for day in WEEKDAYS)


def _read(
    settings: tuple[Setting, ...], changes: Mapping[str, object]
) -> tuple[dict[str, Any], dict[str, str]]:
    """The values that can be used, and a sentence for each that cannot."""
    by_name = {setting.name: setting for setting in settings}
    values: dict[str, Any] = {}
    errors: dict[str, str] = {}
    for name, value in changes.items():
        setting = by_name.get(name)
        if setting is None:
            errors[name] = _("there is no such setting")
            continue
        try:
            values[name] = _number(setting, value)
        except ValueError as error:
            errors[name] = str(error)
    return values, errors


def _number(setting: Setting, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(_("must be a number"))
    if not setting.smallest <= value <= setting.largest:  # refuses what is not a number, too
        raise ValueError(
            _("must lie between %(smallest)s and %(largest)s")
            % {
                "smallest": short_number(setting.smallest),
                "largest": short_number(setting.largest),
            }
        )
    if setting.kind == "int":
        if value != math.floor(value):
            raise ValueError(_("must be a whole number"))
        return int(value)
    if value != round(value, 2):
        raise ValueError(_("must have at most two decimal places"))
    return float(value)


def _shares_from(shares: object) -> Mapping[Emphasis, int]:
    if not isinstance(shares, Mapping):
        raise ShapingError({"shares": _("must give a percentage by emphasis")})
    settings = tuple(Setting(name, name, "", "%", 0, 100) for name in EMPHASES)
    values, errors = _read(settings, shares)
    if errors:
        raise ShapingError(errors)
    if (total := sum(values.values())) != 100:
        said = (
            _("must add up to 100, and are %(total)d: %(far)d missing")
            if total < 100
            else _("must add up to 100, and are %(total)d: %(far)d too many")
        )
        raise ShapingError({"shares": said % {"total": total, "far": abs(100 - total)}})
    return MappingProxyType({name: values[name] for name in EMPHASES if values.get(name)})


def _misfits(shape: PhaseShape) -> dict[str, str]:
    """What does not go together within a shape, under the setting to change."""
    wrong: dict[str, str] = {}
    for court in ("on_court", "off_court"):
        hours: float = getattr(shape, f"{court}_hours")
        sessions: int = getattr(shape, f"{court}_sessions")
        if sessions and not hours:
            wrong[f"{court}_sessions"] = (
                _("must be 0, because there are no hours on court")
                if court == "on_court"
                else _("must be 0, because there are no hours off court")
            )
        elif hours and not sessions:
            wrong[f"{court}_sessions"] = (
                _("must be at least 1, because there are hours on court")
                if court == "on_court"
                else _("must be at least 1, because there are hours off court")
            )
        elif sessions and not SHORTEST_MIN <= (minutes := hours * 60 / sessions) <= LONGEST_MIN:
            wrong[f"{court}_sessions"] = _(
                "must make sessions of %(shortest)d to %(longest)d minutes, and make them"
                " %(minutes)s minutes long"
            ) % {"shortest": SHORTEST_MIN, "longest": LONGEST_MIN, "minutes": f"{minutes:.0f}"}
    if not shape.on_court_hours:
        for emphasis in ON_COURT_ONLY:
            if shape.shares.get(emphasis):
                wrong[emphasis] = _("must be 0, because there are no hours on court")
    return wrong


def _wrong_taper(rules: TrainingRules) -> str:
    """Why the two settings of the taper do not go together, or nothing."""
    days = rules.taper_days
    cut = mean_cut(days, rules.taper_tau_days)
    if taper_ok(days, cut):
        return ""
    tenths = (n / 10 for n in range(20, 201))
    fitting = [tau_days for tau_days in tenths if taper_ok(days, mean_cut(days, tau_days))]
    return _(
        "must lie between %(shortest)s and %(longest)s for a taper of %(days)d days: as it is the"
        " hours fall by %(cut)s%% on average, and 41 to 60 %% is what was found best"
    ) % {
        "shortest": short_number(fitting[0]),
        "longest": short_number(fitting[-1]),
        "days": days,
        "cut": decimal(100 * cut, 1),
    }
