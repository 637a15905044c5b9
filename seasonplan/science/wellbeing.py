"""Is today unlike this player's usual.

A player's answers are compared with that player's own earlier answers, never with a fixed limit or
with another player. "Unlike" is a reason to talk, no more: a player who feels bad every day has a
low usual and is not flagged, nor is one with few entries, so no flag is not good news. Nothing here
diagnoses or predicts anything. Check-ins and the academy page ask here.

Sources: five steps that are added up, McLean et al. 2010, Int J Sports Physiol Perform 5:367-383;
four items of seven steps, Hooper & Mackinnon 1995, Sports Med 20:321-327 (from memory), both with
other wording than ours; overuse problems, Clarsen et al. 2013, Br J Sports Med 47:495, and
2014, 48:754, in the form of 2020, 54:390-396 (values of the answers from memory); typical
error, Hopkins 2004, Sportscience 8:1-7. Window, fewest entries, smallest spread and levels of a
flag are common practice (from memory), with no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, isfinite, sqrt
from statistics import mean, stdev
from typing import Final, Literal

from seasonplan.science.words import N_, _, pgettext

WINDOW_DAYS: Final = 28
"""How far back a usual reaches (practice, 14 to 28 days): the caller picks the entries."""

FEWEST_ENTRIES: Final = 7
"""With fewer earlier entries nobody knows what is usual (practice, 7 to 10)."""

SMALLEST_SD: Final = 0.5
"""Half a step of a scale in whole steps (practice): a smaller spread counts as this much, so that
the same answer every day does not make every other answer unlike it without measure."""

TALK_Z: Final = 1.5
TALK_TODAY_Z: Final = 2.0
"""Distances from the usual, in standard deviations, at which to talk (practice)."""

CAUTION: Final = N_(
    "Compared with this player's own last four weeks, by a rule of thumb. "
    "Single answers are unlike the usual by chance on many days: all five together say more. "
    "A reason to talk, not a diagnosis."
)

HIGHEST_STEP: Final = 5

Direction = Literal["lower", "higher"]
Level = Literal["talk", "talk today"]
Item = Literal["sleep", "freshness", "muscles", "calm", "mood", "total"]

_ITEMS: Final[tuple[Item, ...]] = ("total", "sleep", "freshness", "muscles", "calm", "mood")

_LEAST_BELOW: Final = TALK_Z * SMALLEST_SD
"""A value less than this below the mean has no flag, whatever the spread: most are, and lists of
hundreds of players are spared their statistics."""

_ADVICE: Final[dict[Level, str]] = {
    "talk": N_("Worth talking about."),
    "talk today": N_("Worth talking about today."),
}


def item_word(item: Item) -> str:
    """What was asked for, in the reader's language: `Sleep`."""
    return {
        "total": pgettext("day log", "All five together"),
        "sleep": pgettext("day log", "Sleep"),
        "freshness": pgettext("day log", "Freshness"),
        "muscles": pgettext("day log", "Muscles"),
        "calm": pgettext("day log", "Calm"),
        "mood": pgettext("day log", "Mood"),
    }[item]


@dataclass(frozen=True, slots=True)
class Baseline:
    """A player's usual: number of entries, their mean and sample standard deviation (n - 1)."""

    n: int
    mean: float
    sd: float

    def z(self, value: float) -> float:
        """How far `value` lies from the mean, in standard deviations; below it is negative.

        An SD under half a step counts as half a step. Value 11 against a mean of 15.214286 and an
        SD of 0.892582 is -4.721453. On five coarse steps z is crude: show the value beside it.
        """
        return (value - self.mean) / max(self.sd, SMALLEST_SD)


@dataclass(frozen=True, slots=True)
class Unlike:
    """A value unlike the usual, with the numbers it comes from."""

    value: float
    baseline: Baseline
    z: float
    direction: Direction
    level: Level


def baseline(earlier: Sequence[float]) -> Baseline | None:
    """The usual of the earlier entries, in their own unit; None for fewer than 7 of them.

    The caller gives the entries of the last 28 days, today's not among them; their order does not
    matter. Raises ValueError for an entry that is not finite. 15, 16, 14, 15, 17, 15, 16, 14, 15,
    16, 15, 14, 16, 15 have mean 15.214286 and SD 0.892582.
    """
    for entry in earlier:
        _refuse_unless_finite(entry)
    if len(earlier) < FEWEST_ENTRIES:
        return None
    return Baseline(len(earlier), float(mean(earlier)), float(stdev(earlier)))


def unlike_usual(value: float, earlier: Sequence[float]) -> Unlike | None:
    """How `value` differs from the earlier entries; None if it does not, or if nobody knows.

    From 1.5 standard deviations on it is worth a talk, from 2 on a talk today, in either
    direction; which one is good depends on the scale. Nobody knows with fewer than 7 earlier
    entries: `baseline` tells the two cases apart. Raises ValueError for a number that is not
    finite. 1 after seven answers of 4 has z = -6: lower, talk today.
    """
    _refuse_unless_finite(value)
    usual = baseline(earlier)
    if usual is None:
        return None
    z = usual.z(value)
    # Rounded, so that a value exactly at a level is not lost to the last binary digit of z.
    distance = round(abs(z), 9)
    if distance < TALK_Z:
        return None
    level: Level = "talk today" if distance >= TALK_TODAY_Z else "talk"
    return Unlike(value, usual, z, "lower" if z < 0 else "higher", level)


@dataclass(frozen=True, slots=True)
class DayFeeling:
    """How a player feels today: five answers in whole steps from 1 to 5, where 5 is best in all.

    None is a question that was not answered. Raises ValueError for a step outside 1 to 5.
    """

    sleep: int | None
    freshness: int | None
    muscles: int | None
    calm: int | None
    mood: int | None

    def __post_init__(self) -> None:
        sum_of_steps([step for step in self.steps if step is not None], HIGHEST_STEP)

    @property
    def steps(self) -> tuple[int | None, ...]:
        """The five answers: sleep, freshness, muscles, calm, mood."""
        return (self.sleep, self.freshness, self.muscles, self.calm, self.mood)

    @property
    def total(self) -> int | None:
        """Sum of the five answers, 5 to 25, where 25 is best; None unless all are given.

        4, 3, 4, 3 and 5 make 19 (sum of five steps after McLean et al. 2010).
        """
        given = [step for step in self.steps if step is not None]
        return sum_of_steps(given, HIGHEST_STEP) if len(given) == len(self.steps) else None


@dataclass(frozen=True, slots=True)
class Flag:
    """One answer, or the total, that is worse than usual, and a sentence that says so."""

    item: Item
    unlike: Unlike
    sentence: str


def flags(today: DayFeeling, earlier: Sequence[DayFeeling]) -> tuple[Flag, ...]:
    """What is worse today than usual: the total of the five answers first, then each of them.

    `earlier` are the days with entries in the last 28, today not among them; a question left open
    counts neither today nor earlier. A better day than usual asks for no talk and has no flag.
    Chance alone flags often: of random days with nothing changed (five independent answers, 28
    earlier days) some four in ten had a flag, one in twelve in the total. So the
    total stands first, and the single answers beside it.
    Sleep 1 after a month around 4: "Sleep 1 of 5; usually about 4. Worth talking about today."
    """
    found = []
    days = [(day.total, *day.steps) for day in earlier]
    for index, item in enumerate(_ITEMS):
        value = (today.total, *today.steps)[index]
        if value is None:
            continue
        before = [step for day in days if (step := day[index]) is not None]
        if sum(before) - value * len(before) < _LEAST_BELOW * len(before):
            continue
        unlike = unlike_usual(value, before)
        if unlike is None or unlike.direction == "higher":
            continue
        sentence = _("%(item)s %(value)d of %(most)d; usually about %(usual)d. %(advice)s") % {
            "item": item_word(item),
            "value": value,
            "most": HIGHEST_STEP * (5 if item == "total" else 1),
            "usual": floor(unlike.baseline.mean + 0.5),
            "advice": _(_ADVICE[unlike.level]),
        }
        found.append(Flag(item, unlike, sentence))
    return tuple(found)


def sum_of_steps(steps: Sequence[int], highest: int) -> int:
    """Sum of answers in whole steps from 1 to `highest`.

    Raises ValueError, naming the step, for one outside. Four items of 7 steps answered 3, 2, 4 and
    3 make 12 (Hooper & Mackinnon 1995; there a high sum is bad, in `DayFeeling` it is good).
    """
    for step in steps:
        if not 1 <= step <= highest or step != int(step):
            raise ValueError(f"an answer is a whole step from 1 to {highest}, not {step}")
    return sum(steps)


OVERUSE_ANSWERS: Final = (0, 8, 17, 25)
"""Values of the four answers, from no problem to the worst (form of 2020, from memory)."""

_NO_PROBLEM, _MINOR, _MODERATE, _WORST = OVERUSE_ANSWERS


@dataclass(frozen=True, slots=True)
class OveruseWeek:
    """One week's four answers about one body part, each 0, 8, 17 or 25, where 0 is no problem.

    The first question, on taking part, is the gate: at 0 (fully, no problem) and at 25 (not at
    all) the other three are not asked and are None; in between all three are answered. Raises
    ValueError for any other value or combination.
    """

    participation: int
    volume: int | None
    performance: int | None
    symptoms: int | None

    def __post_init__(self) -> None:
        rest = (self.volume, self.performance, self.symptoms)
        for answer in (self.participation, *rest):
            if answer is not None and answer not in OVERUSE_ANSWERS:
                raise ValueError(f"an answer counts 0, 8, 17 or 25, not {answer}")
        if self._ends_at_the_gate:
            if rest != (None, None, None):
                raise ValueError(
                    f"the first answer ({self.participation}) ends the questions; "
                    "leave the other three open or change it"
                )
        elif None in rest:
            raise ValueError("all four questions need an answer when the first is 8 or 17")

    @property
    def severity(self) -> int:
        """Sum of the answers, 0 to 100; a player who cannot take part has 100.

        8, 17, 8 and 8 make 41. It describes the week; it is no diagnosis.
        """
        if self._ends_at_the_gate:
            return 100 if self.participation == _WORST else 0
        asked = (self.participation, self.volume, self.performance, self.symptoms)
        return sum(answer for answer in asked if answer is not None)

    @property
    def substantial(self) -> bool:
        """Whether training or performance is cut moderately or more, or nothing is possible.

        After Clarsen et al. 2013: symptoms alone, however strong, do not count.
        """
        cut = (self.volume or 0, self.performance or 0)
        return self.participation == _WORST or max(cut) >= _MODERATE

    @property
    def _ends_at_the_gate(self) -> bool:
        return self.participation in (_NO_PROBLEM, _WORST)


def typical_error(first: Sequence[float], second: Sequence[float]) -> float:
    """Noise of a measure taken twice in the same people, in its own unit, 0 or more.

    Sample SD of the paired differences over the square root of 2 (Hopkins 2004). Raises ValueError
    unless both trials have the same number of values, 2 or more, all finite. 15, 16, 14, 15, 17
    and then 16, 15, 15, 14, 18 give 0.774597.
    """
    if len(first) != len(second) or len(first) < 2:
        raise ValueError(
            f"two trials need the same number of values, 2 or more, not {len(first)} and "
            f"{len(second)}"
        )
    for value in (*first, *second):
        _refuse_unless_finite(value)
    differences = [after - before for before, after in zip(first, second, strict=True)]
    return float(stdev(differences)) / sqrt(2)


def _refuse_unless_finite(value: float) -> None:
    if not isfinite(value):
        raise ValueError(f"an entry is a finite number, not {value}")
