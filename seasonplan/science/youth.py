"""What in a young player's training is worth a question, by what paediatricians have written.

The pages of a player's training ask. Each finding is a question to talk about with its source,
never a verdict: the guidelines describe groups, and were not written for one child.

Sources: hours and free play, Jayanthi et al. 2015, Am J Sports Med (1,190 players and others of 7
to 18 years, cases and controls; the figures of both questions from second hand); rest, Brenner
2007, Pediatrics 119:1242, and Brenner et al. 2016, Pediatrics 138:e20162148 (numbers from second
hand and from memory). The academy's report was written anew in 2024 (Brenner, Watson et al.,
Pediatrics 153:e2023065129), whose numbers are not in here.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import Final, Literal

from seasonplan.science.words import N_, _, short_number

ADULT_AGE: Final = 18

CAUTION: Final = N_(
    "Under 18, a guardian and the coach agree on the plan together. Growth spurt, pain for more "
    "than two weeks, weight loss, missed periods, low mood: see a doctor. Guidelines describe "
    "groups, not one player."
)

Rule = Literal["hours", "free play", "days off", "months off"]

MonthsOff = Literal[2, 3]
"""Months a year away from the sport: 2 after AAP 2007 (2 to 3), 3 after AAP 2016 (in blocks of a
month)."""

JAYANTHI: Final = "Jayanthi et al. 2015, Am J Sports Med"
AAP_2007: Final = "American Academy of Pediatrics, Brenner 2007, Pediatrics 119:1242"
AAP_2016: Final = "American Academy of Pediatrics, Brenner et al. 2016, Pediatrics 138:e20162148"

_MONTHS_OFF: Final[dict[MonthsOff, str]] = {2: AAP_2007, 3: AAP_2016}


@dataclass(frozen=True, slots=True)
class YouthFinding:
    """Something to talk about: which question, in words, and who raised it."""

    rule: Rule
    text: str
    source: str


def is_young(age: int | None) -> bool:
    """Whether what is written here is about a player of this age in whole years."""
    return age is not None and age < ADULT_AGE


def hours_finding(weekly_hours: float, age: int) -> YouthFinding | None:
    """A question where a week has more hours of organised sport than the player has years.

    12.5 hours at 12 are one, 12 are not. Raises ValueError for hours or an age that cannot be.
    """
    _check("hours a week", weekly_hours)
    _check("age", age)
    if weekly_hours <= age:
        return None
    return YouthFinding(
        "hours",
        _(
            "%(hours)s hours a week at %(age)d: more hours than years. How does the player find "
            "it, and is there time for friends, school and play?"
        )
        % {"hours": short_number(weekly_hours), "age": age},
        JAYANTHI,
    )


def free_play_finding(organised_hours: float, free_hours: float) -> YouthFinding | None:
    """A question where a week has more than twice as many hours of organised sport as of free play.

    9 to 4 are one, 8 to 4 are not; without free play any organised hour is one. Raises ValueError
    for hours that cannot be.
    """
    _check("organised hours", organised_hours)
    _check("hours of free play", free_hours)
    if organised_hours <= 2 * free_hours:
        return None
    return YouthFinding(
        "free play",
        _(
            "%(organised)s hours organised and %(free)s hours of free play a week: more than two "
            "to one. Where could play without a coach find room?"
        )
        % {"organised": short_number(organised_hours), "free": short_number(free_hours)},
        JAYANTHI,
    )


def days_off_finding(days_off: int) -> YouthFinding | None:
    """A question where a week has no day off all organised sport.

    Raises ValueError for other than 0 to 7 days.
    """
    if not 0 <= days_off <= 7:
        raise ValueError(f"a week has 0 to 7 days off, not {days_off}")
    if days_off >= 1:
        return None
    return YouthFinding(
        "days off",
        _("No day off all organised sport this week. Which day could be free?"),
        AAP_2007,
    )


def months_off_finding(months_off: float, wanted: MonthsOff) -> YouthFinding | None:
    """A question where a year has fewer than `wanted` months away from the sport.

    Raises ValueError for other than 0 to 12 months, and for a `wanted` that is not 2 or 3.
    """
    if not 0 <= months_off <= 12:
        raise ValueError(f"a year has 0 to 12 months off, not {months_off}")
    if wanted not in _MONTHS_OFF:
        raise ValueError(f"the sources ask for 2 or for 3 months off, not {wanted}")
    if months_off >= wanted:
        return None
    return YouthFinding(
        "months off",
        _(
            "%(months)s of %(wanted)d months a year away from tennis. When could there be another "
            "sport, or none?"
        )
        % {"months": short_number(months_off), "wanted": wanted},
        _MONTHS_OFF[wanted],
    )


def _check(what: str, value: float) -> None:
    if not isfinite(value) or value < 0:
        raise ValueError(f"{what} are 0 or more, not {value}")
