"""What is to be true of every filled season: the demo's years and random ones are held to it.

Each check takes a whole season of targets with the sessions that fill it, looks at every week of
it, and fails with the week that is wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from itertools import pairwise
from math import floor, fsum
from typing import Final

from seasonplan.science.session_kinds import LIBRARY
from seasonplan.science.session_rules import (
    EFFORT_TOLERANCE,
    MOST_SESSIONS_A_DAY,
    judge_week,
    mean_effort,
    most_effort,
)
from seasonplan.science.sessions import fill_week
from seasonplan.science.training_days import frames_of
from seasonplan.science.training_year import Taper, TrainingYear, tapers_of, training_targets
from seasonplan.science.week_target import (
    LIGHT_EFFORT,
    LIKELY_MATCH,
    PlannedSession,
    TrainingDay,
    WeekTarget,
)

DAY: Final = timedelta(days=1)
RACKET: Final = {"technique", "tactics and match play"}

# Bosquet et al. 2007 and Mujika and Padilla 2003, as in the check values, section 3.
SMALLEST_CUT, LARGEST_CUT = 0.41, 0.60
FREQUENCY_KEPT: Final = 0.8

SHORT_MIN: Final = 30
"""So many minutes of a day take one session."""


@dataclass(frozen=True)
class FilledYear:
    """A season from its targets to its sessions."""

    year: TrainingYear
    sessions: tuple[PlannedSession, ...]

    @cached_property
    def targets(self) -> tuple[WeekTarget, ...]:
        return training_targets(self.year)

    @cached_property
    def tapers(self) -> tuple[Taper, ...]:
        return tapers_of(self.year)

    @cached_property
    def days(self) -> dict[date, TrainingDay]:
        return {day.day: day for target in self.targets for day in target.days}

    @cached_property
    def _by_day(self) -> dict[date, list[PlannedSession]]:
        found: dict[date, list[PlannedSession]] = {}
        for session in self.sessions:
            found.setdefault(session.day, []).append(session)
        return found

    def on(self, day: date) -> list[PlannedSession]:
        return self._by_day.get(day, [])

    def between(self, first: date, last: date) -> list[PlannedSession]:
        return [each for each in self.sessions if first <= each.day <= last]

    def week(self, target: WeekTarget) -> list[PlannedSession]:
        return self.between(target.monday, target.monday + 6 * DAY)

    def minutes(self, target: WeekTarget) -> int:
        return sum(each.minutes for each in self.week(target))

    def effort(self, target: WeekTarget) -> float:
        effort = mean_effort(self.week(target))
        assert effort is not None, target.monday
        return effort

    def age_on(self, day: date) -> int | None:
        born = self.year.born
        if born is None:
            return None
        return day.year - born.year - ((day.month, day.day) < (born.month, born.day))

    def blocks(self) -> Iterable[list[WeekTarget]]:
        """The weeks of each block, in order."""
        block: list[WeekTarget] = []
        for target in self.targets:
            if target.in_block == 1 and block:
                yield block
                block = []
            block.append(target)
        yield block


def filled(year: TrainingYear) -> FilledYear:
    """The year, filled week by week with the kinds that come with the program."""
    made = FilledYear(year, ())
    sessions: list[PlannedSession] = []
    before: tuple[PlannedSession, ...] = ()
    for target in made.targets:
        before = fill_week(
            target, LIBRARY, rules=year.rules, age=made.age_on(target.monday), before=before
        )
        sessions += before
    return FilledYear(year, tuple(sessions))


def is_plain(target: WeekTarget) -> bool:
    """Whether the week is as its phase has it: nothing in it but training and days off."""
    return (
        all(day.kind in ("training", "off") and day.taper == 1 for day in target.days)
        and not any(day.why not in ("", "day off") for day in target.days)
        and not target.is_lighter
        and (target.phase == "active rest" or not target.no_racket)
    )


def is_at_home(target: WeekTarget) -> bool:
    """Whether nothing is played in the week, and at most one of its days is light: the day of the
    way home, or of the way out."""
    kinds = [day.kind for day in target.days]
    light = sum(day.is_light for day in target.days)
    return "match" not in kinds and light <= 1 and target.minutes > 0 and not target.no_racket


# The checks ---------------------------------------------------------------------------------------


def every_week_is_filled(filled: FilledYear) -> None:
    """A week is empty only where it has nothing to hold."""
    for target in filled.targets:
        if target.minutes:
            assert filled.week(target), target.monday
        else:
            assert not filled.week(target), target.monday
            assert all(day.aim_min == 0 for day in target.days)
    mondays = {target.monday for target in filled.targets}
    assert {each.day - each.day.weekday() * DAY for each in filled.sessions} <= mondays


def preparation_has_the_highest_hours(filled: FilledYear) -> None:
    """Every plain week of preparation has more training than every week of the other phases."""
    plain = [t for t in filled.targets if t.phase == "preparation" and is_plain(t)]
    for other in filled.targets:
        if other.phase != "preparation":
            for target in plain:
                assert filled.minutes(target) > filled.minutes(other), (target.monday, other.monday)


def effort_rises_in_pre_competition(filled: FilledYear) -> None:
    """From the first week at home of a block to its last one; from each to the next one, unless a
    light day lowers what is asked for; and above all weeks of preparation."""
    preparation = [
        filled.effort(t) for t in filled.targets if t.phase == "preparation" and is_at_home(t)
    ]
    for block in filled.blocks():
        at_home = [t for t in block if t.phase == "pre-competition" and is_at_home(t)]
        for earlier, later in pairwise(at_home):
            if later.effort_0_10 > earlier.effort_0_10:
                assert filled.effort(later) > filled.effort(earlier), later.monday
        if len(at_home) > 1:
            assert filled.effort(at_home[-1]) > filled.effort(at_home[0]), at_home[-1].monday
        for target in at_home:
            assert all(filled.effort(target) > effort for effort in preparation), target.monday


def tapers_cut_the_volume_by_41_to_60_percent(filled: FilledYear) -> None:
    """Measured on sessions and expected matches, unless the targets say why it cannot be."""
    for taper in filled.tapers:
        trained = sum(each.minutes for each in filled.between(taper.first, taper.last))
        cut = 1 - (trained + taper.match_min) / taper.normal_min
        assert SMALLEST_CUT <= cut <= LARGEST_CUT or taper.why, (taper.event, cut, taper.cut)


def tapers_keep_the_effort(filled: FilledYear) -> None:
    """In the weeks of a taper, training on days that may be hard is as hard as these weeks should
    be, by the minutes of each, where it is most of what is trained."""
    for taper in filled.tapers:
        load = wanted = minutes = all_minutes = 0.0
        for target in filled.targets:
            if taper.first - 6 * DAY <= target.monday <= taper.last:
                sessions = filled.week(target)
                free = [each for each in sessions if most_effort(filled.days[each.day]) == 10]
                load += fsum(each.load for each in free)
                minutes += sum(each.minutes for each in free)
                wanted += target.effort_0_10 * sum(each.minutes for each in free)
                all_minutes += sum(each.minutes for each in sessions)
        if minutes and 2 * minutes >= all_minutes:
            effort = load / minutes
            assert effort >= wanted / minutes - EFFORT_TOLERANCE, (taper.event, effort)


def days_of_tapers_keep_the_effort(filled: FilledYear) -> None:
    """The same of the days of a taper alone, whatever lies beside them in their weeks."""
    for taper in filled.tapers:
        load = wanted = minutes = 0.0
        for target in filled.targets:
            for day in target.days:
                if taper.first <= day.day <= taper.last and day.kind == "training":
                    there = filled.on(day.day)
                    load += sum(each.load for each in there)
                    wanted += target.effort_0_10 * sum(each.minutes for each in there)
                    minutes += sum(each.minutes for each in there)
        if minutes:
            effort = load / minutes
            assert effort >= wanted / minutes - EFFORT_TOLERANCE, (taper.event, effort)


def tapers_keep_the_sessions(filled: FilledYear) -> None:
    """At most a fifth fewer than usual weeks have on as many days with training, an expected match
    counted as one. Else the week says why, or the days take no more, or the season has only begun.
    """
    frames = {frame.monday: frame for frame in frames_of(filled.year)}
    for taper in filled.tapers:
        wanted = has = 0.0
        takes = 0
        said = taper.first == filled.year.start
        for target in filled.targets:
            frame = frames[target.monday]
            usual = frame.shape.off_court_sessions
            usual += 0 if frame.no_racket else frame.shape.on_court_sessions
            used = [day for day in target.days if filled.on(day.day) or day.expected_matches]
            inside = [day for day in used if taper.first <= day.day <= taper.last]
            if inside:
                wanted += usual * len(inside) / len(used)
                has += fsum(len(filled.on(day.day)) + day.expected_matches for day in inside)
                takes += sum(
                    min(MOST_SESSIONS_A_DAY, day.available_min // SHORT_MIN) for day in inside
                )
                said |= any(r.startswith("The minutes of the taper hold") for r in target.reasons)
        least = min(floor(FREQUENCY_KEPT * wanted), takes)
        assert has >= least or said, (taper.event, has, wanted)


def rest_is_away_from_the_racket(filled: FilledYear) -> None:
    last = filled.year.end + DAY - timedelta(weeks=filled.year.rules.weeks_off_racket)
    for target in filled.targets:
        if target.phase == "active rest" or target.monday >= last:
            assert target.no_racket
            for session in filled.week(target):
                assert session.court == "off court", session
                assert session.emphasis not in RACKET, session


def hard_days_are_apart(filled: FilledYear) -> None:
    """Over the whole year, from Sunday to Monday too. A day on which a match is likely counts as
    hard: what is hard lies neither on it, nor on the day before a match, nor on the day after."""
    hard = sorted({each.day for each in filled.sessions if each.is_hard})
    for earlier, later in pairwise(hard):
        assert later - earlier > DAY, (earlier, later)
    for day in hard:
        assert filled.days[day].kind == "training", day
        assert filled.days[day].days_to_match != 1, day
        yesterday = filled.days.get(day - DAY)
        if yesterday and yesterday.kind == "match":
            assert yesterday.expected_matches < LIKELY_MATCH, day


def light_days_are_light(filled: FilledYear) -> None:
    """Travel, arrival, getting used to a place, and days with matches."""
    for day in filled.days.values():
        if day.is_light or day.kind == "match":
            sessions = filled.on(day.day)
            assert all(each.effort_0_10 <= LIGHT_EFFORT for each in sessions), day.day
            assert sum(each.minutes for each in sessions) <= day.available_min, day.day


def days_off_are_off(filled: FilledYear) -> None:
    """Nothing on them, nothing on busy days, and each week has one unless matches fill it."""
    for target in filled.targets:
        for day in target.days:
            if day.kind in ("off", "busy"):
                assert not filled.on(day.day), day.day
        if sum(day.kind == "match" for day in target.days) + filled.year.rules.days_off <= 7:
            free = sum(not filled.on(day.day) for day in target.days)
            assert free >= filled.year.rules.days_off, target.monday


def no_rule_is_broken(filled: FilledYear) -> None:
    for target in filled.targets:
        findings = judge_week(
            target,
            filled.week(target),
            age=filled.age_on(target.monday),
            before=filled.between(target.monday - 7 * DAY, target.monday - DAY),
            after=filled.on(target.monday + 7 * DAY),
            rules=filled.year.rules,
            kinds=LIBRARY,
        )
        assert [each.text for each in findings if not each.is_note] == []


Check = Callable[[FilledYear], None]

RULES: Final[tuple[Check, ...]] = (
    every_week_is_filled,
    rest_is_away_from_the_racket,
    hard_days_are_apart,
    light_days_are_light,
    days_off_are_off,
    no_rule_is_broken,
)
"""Of any season at all."""

AMOUNTS: Final[tuple[Check, ...]] = (
    preparation_has_the_highest_hours,
    effort_rises_in_pre_competition,
    tapers_cut_the_volume_by_41_to_60_percent,
    tapers_keep_the_effort,
    tapers_keep_the_sessions,
)
"""Of seasons whose days have room for what the phases ask."""

OF_A_USUAL_YEAR: Final = (*RULES, *AMOUNTS, days_of_tapers_keep_the_effort)
"""Of seasons as they are laid out."""
