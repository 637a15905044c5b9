"""The judge of a week's sessions: which rules does a week break, and what is worth a note?

`judge_week` takes any week: one that `sessions.py` filled, one that a coach moved about by hand,
one that was copied. A broken rule is something that no filled week does; a note compares the week
with its target, and a coach may have good reasons for it. One function a rule, in the order in
which a coach reads them. The numbers below are common practice, no source, where nothing is said.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from seasonplan.science.layout.wording import day_count
from seasonplan.science.session_kinds import SHORTEST_ENDURANCE_MIN, session_name
from seasonplan.science.spreading import spread
from seasonplan.science.training_days import busy_word
from seasonplan.science.week_target import (
    HARD_EFFORT,
    LIGHT_EFFORT,
    LIKELY_MATCH,
    Court,
    PlannedSession,
    SessionKind,
    TrainingDay,
    TrainingRules,
    WeekTarget,
)
from seasonplan.science.words import _, listed, ngettext, number, pgettext, weekday_day
from seasonplan.science.youth import hours_finding, is_young

MOST_SESSIONS_A_DAY: Final = 3

VOLUME_TOLERANCE: Final = 0.1
VOLUME_TOLERANCE_MIN: Final = 20
"""The minutes of a part of the week may differ from the target's by a tenth, or by so many."""

EFFORT_TOLERANCE: Final = 0.5
"""The mean effort of a week may differ so much from the target's (0-10)."""

TAPER_TOLERANCE: Final = 0.15
TAPER_TOLERANCE_MIN: Final = 30
"""The minutes on the taper days of a week may differ so much from what the target leaves them."""

STRENGTH_EFFORT: Final = 6
"""A strength session at this effort or more asks for a rest day or a lighter day after it."""


@dataclass(frozen=True, slots=True)
class WeekFinding:
    """One rule that a week breaks, or one note: its short name, a sentence with the remedy, and the
    days it is about (all seven if it is about the week)."""

    rule: str
    text: str
    days: tuple[date, ...]
    is_note: bool


def judge_week(
    target: WeekTarget,
    sessions: Sequence[PlannedSession],
    *,
    age: int | None = None,
    before: Sequence[PlannedSession] = (),
    after: Sequence[PlannedSession] = (),
    rules: TrainingRules | None = None,
    kinds: Sequence[SessionKind] = (),
) -> tuple[WeekFinding, ...]:
    """What the sessions of a week break or leave out, most telling first.

    `before` and `after` are sessions of the days around the week; `age` is in whole years, None if
    it is not known. With `kinds` the ages below which they are not for a player are looked at too.
    Raises ValueError for a session of another week.
    """
    wrong = [session.day for session in sessions if session.day not in _days_of(target)]
    if wrong:
        raise ValueError(f"{wrong[0]} does not lie in the week of {target.monday}")
    week = _Week(target, sessions, age, before, after, rules or TrainingRules(), kinds)
    return tuple(finding for rule in _RULES for finding in rule(week))


def days_off_wanted(target: WeekTarget, rules: TrainingRules) -> int:
    """How many days off this week can be asked for: as many as are set, but no more than days on
    which no match is likely."""
    return min(rules.days_off, sum(can_be_off(day) for day in target.days))


def can_be_off(day: TrainingDay) -> bool:
    return day.kind != "match" or day.expected_matches < LIKELY_MATCH


def most_minutes(day: TrainingDay) -> int:
    """The most minutes that a filler plans on the day."""
    if not day.takes_training:
        return 0
    if day.kind == "match":
        return min(day.available_min, day.match_day_min)
    return day.available_min


def is_always_light(day: TrainingDay) -> bool:
    """Whether training is light on the day, however hard the week."""
    return day.is_light or day.kind == "match"


def most_effort(day: TrainingDay) -> int:
    """The most effort of a session on the day, whatever lies on the days beside it."""
    if is_always_light(day):
        return LIGHT_EFFORT
    return HARD_EFFORT - 1 if day.is_before_match or day.is_after_match else 10


class _Week:
    """A week, looked at from the sides that the rules need."""

    def __init__(
        self,
        target: WeekTarget,
        sessions: Sequence[PlannedSession],
        age: int | None,
        before: Sequence[PlannedSession],
        after: Sequence[PlannedSession],
        rules: TrainingRules,
        kinds: Sequence[SessionKind],
    ) -> None:
        self.target = target
        self.sessions = tuple(sorted(sessions, key=lambda each: (each.day, each.order)))
        self.age = age
        self.before = before
        self.after = after
        self.rules = rules
        self.youngest = {kind.code: kind.youngest for kind in kinds if kind.youngest is not None}
        self.by_day: Mapping[date, list[PlannedSession]] = {
            day: [each for each in self.sessions if each.day == day] for day in _days_of(target)
        }

    def minutes_on(self, day: date) -> int:
        return sum(session.minutes for session in self.by_day[day])

    def load_on(self, day: date) -> float:
        around = self.by_day.get(day, [each for each in self.after if each.day == day])
        return sum(session.load for session in around)


def _days_of(target: WeekTarget) -> tuple[date, ...]:
    return tuple(day.day for day in target.days)


# Rules that no filled week breaks -----------------------------------------------------------------


def _hard_days(week: _Week) -> Iterator[WeekFinding]:
    hard = {each.day for each in (*week.before, *week.sessions, *week.after) if each.is_hard}
    for day in sorted(hard):
        following = day + timedelta(days=1)
        if following in hard and (day in week.by_day or following in week.by_day):
            yield WeekFinding(
                "hard days",
                _(
                    "%(day)s and %(following)s are both hard (effort %(effort)d or more). Put an "
                    "easier day between them, or lower the effort of one of them."
                )
                % {
                    "day": weekday_day(day),
                    "following": weekday_day(following),
                    "effort": HARD_EFFORT,
                },
                tuple(each for each in (day, following) if each in week.by_day),
                False,
            )


def _light_days(week: _Week) -> Iterator[WeekFinding]:
    for day in week.target.days:
        if not day.is_light:
            continue
        above = _names(each for each in week.by_day[day.day] if each.effort_0_10 > LIGHT_EFFORT)
        if above:
            yield WeekFinding(
                "light day",
                _(
                    "%(day)s is a light day (%(why)s), and %(sessions)s goes above effort "
                    "%(effort)d. Move it, or make it easier."
                )
                % {
                    "day": weekday_day(day.day),
                    "why": _why(day),
                    "sessions": above,
                    "effort": LIGHT_EFFORT,
                },
                (day.day,),
                False,
            )


def _match_days(week: _Week) -> Iterator[WeekFinding]:
    for day in week.target.days:
        if day.kind != "match":
            continue
        above = _names(each for each in week.by_day[day.day] if each.effort_0_10 > LIGHT_EFFORT)
        minutes = week.minutes_on(day.day)
        most = day.match_day_min
        if above or minutes > most:
            text = (
                _(
                    "A match may be played on %(day)s: %(sessions)s goes above effort %(effort)d "
                    "is too much. Keep to a warm-up and a little recovery, %(most)d minutes at "
                    "effort %(effort)d at most."
                )
                if above
                else _(
                    "A match may be played on %(day)s: %(minutes)d minutes is too much. Keep to a "
                    "warm-up and a little recovery, %(most)d minutes at effort %(effort)d at most."
                )
            )
            yield WeekFinding(
                "match day",
                text
                % {
                    "day": weekday_day(day.day),
                    "sessions": above,
                    "minutes": minutes,
                    "most": most,
                    "effort": LIGHT_EFFORT,
                },
                (day.day,),
                False,
            )


def _before_matches(week: _Week) -> Iterator[WeekFinding]:
    for day in week.target.days:
        if not day.is_before_match or day.kind == "match":
            continue
        hard = _names(each for each in week.by_day[day.day] if each.is_hard)
        strong = _names(
            each
            for each in week.by_day[day.day]
            if each.emphasis == "strength" and LIGHT_EFFORT < each.effort_0_10 < HARD_EFFORT
        )
        if hard:
            yield WeekFinding(
                "before a match",
                _(
                    "%(day)s is the day before a match, and %(sessions)s is hard. Move it to an "
                    "earlier day, or bring it below effort %(effort)d."
                )
                % {"day": weekday_day(day.day), "sessions": hard, "effort": HARD_EFFORT},
                (day.day,),
                False,
            )
        if strong:
            yield WeekFinding(
                "before a match",
                _(
                    "%(day)s is the day before a match, and %(sessions)s tires the muscles. Move "
                    "it to an earlier day, or bring it to effort %(effort)d or less."
                )
                % {"day": weekday_day(day.day), "sessions": strong, "effort": LIGHT_EFFORT},
                (day.day,),
                False,
            )


def _days_off(week: _Week) -> Iterator[WeekFinding]:
    wanted = days_off_wanted(week.target, week.rules)
    off = sum(can_be_off(day) and not week.by_day[day.day] for day in week.target.days)
    if off < wanted:
        text = (
            ngettext(
                "The week has only %(off)d day without training; %(wanted)d should be. Move the "
                "sessions of the lightest day to others, or take them out.",
                "The week has only %(off)d days without training; %(wanted)d should be. Move the "
                "sessions of the lightest day to others, or take them out.",
                off,
            )
            if off
            else _(
                "The week has no day without training; %(wanted)d should be. Move the sessions of "
                "the lightest day to others, or take them out."
            )
        )
        yield WeekFinding(
            "day off",
            text % {"off": off, "wanted": wanted},
            _days_of(week.target),
            False,
        )


def _racket(week: _Week) -> Iterator[WeekFinding]:
    on_court = [each for each in week.sessions if each.court == "on court"]
    if week.target.no_racket and on_court:
        yield WeekFinding(
            "racket",
            _(
                "This week is away from the racket, and %(sessions)s is on court. Take it out, or "
                "put another sport in its place."
            )
            % {"sessions": _names(on_court)},
            tuple(sorted({each.day for each in on_court})),
            False,
        )


def _time(week: _Week) -> Iterator[WeekFinding]:
    for day in week.target.days:
        minutes = week.minutes_on(day.day)
        room = 0 if day.kind == "busy" else day.available_min
        if minutes <= room or day.kind == "off":
            continue
        if day.kind == "match" and minutes > day.match_day_min:
            continue  # `_match_days` says it.
        text = (
            _(
                "%(day)s has %(room)d minutes for training%(why)s, and %(minutes)d are planned. "
                "Shorten a session, or move one."
            )
            if room
            else _(
                "%(day)s has no time for training%(why)s, and %(minutes)d are planned. Shorten a "
                "session, or move one."
            )
        )
        yield WeekFinding(
            "time",
            text
            % {
                "day": weekday_day(day.day),
                "room": room,
                "why": f" ({_why(day)})" if day.why else "",
                "minutes": minutes,
            },
            (day.day,),
            False,
        )


def _too_many(week: _Week) -> Iterator[WeekFinding]:
    for day, sessions in week.by_day.items():
        if len(sessions) > MOST_SESSIONS_A_DAY:
            yield WeekFinding(
                "too many",
                _(
                    "%(day)s has %(sessions)d sessions; %(most)d are the most. Join two of them, "
                    "or move one."
                )
                % {
                    "day": weekday_day(day),
                    "sessions": len(sessions),
                    "most": MOST_SESSIONS_A_DAY,
                },
                (day,),
                False,
            )


def _ages(week: _Week) -> Iterator[WeekFinding]:
    for session in week.sessions:
        youngest = week.youngest.get(session.kind)
        if week.age is not None and youngest is not None and week.age < youngest:
            yield WeekFinding(
                "age",
                _(
                    "%(session)s is not for players below %(youngest)d, and the player is %(age)d. "
                    "Choose another kind of session."
                )
                % {"session": _name(session), "youngest": youngest, "age": week.age},
                (session.day,),
                False,
            )


# Notes: the week beside its target ----------------------------------------------------------------


def _days_meant_to_be_off(week: _Week) -> Iterator[WeekFinding]:
    for day in week.target.days:
        if day.kind == "off" and week.by_day[day.day]:
            yield WeekFinding(
                "on a day off",
                _(
                    "%(day)s is meant as a day off (%(why)s), and %(sessions)s stands on it. Keep "
                    "another day free for it."
                )
                % {
                    "day": weekday_day(day.day),
                    "why": _why(day),
                    "sessions": _names(week.by_day[day.day]),
                },
                (day.day,),
                True,
            )


def _no_room_for_a_day_off(week: _Week) -> Iterator[WeekFinding]:
    if days_off_wanted(week.target, week.rules) < week.rules.days_off:
        yield WeekFinding(
            "day off",
            _(
                "The event leaves no room for %(days)s off in this week. Take it as soon as the "
                "event is over."
            )
            % {"days": day_count(week.rules.days_off)},
            _days_of(week.target),
            True,
        )


def _strength(week: _Week) -> Iterator[WeekFinding]:
    for session in week.sessions:
        if session.emphasis != "strength" or session.effort_0_10 < STRENGTH_EFFORT:
            continue
        following = session.day + timedelta(days=1)
        if week.load_on(following) > week.load_on(session.day):
            yield WeekFinding(
                "strength",
                _(
                    "%(session)s on %(day)s is followed by a day of more load. Put it before a day "
                    "off or a lighter day."
                )
                % {"session": _name(session), "day": weekday_day(session.day)},
                (session.day,),
                True,
            )


def _endurance(week: _Week) -> Iterator[WeekFinding]:
    for session in week.sessions:
        if session.emphasis == "endurance" and session.minutes < SHORTEST_ENDURANCE_MIN:
            yield WeekFinding(
                "endurance",
                _(
                    "%(session)s on %(day)s has %(minutes)d minutes. Endurance asks for %(least)d "
                    "or more at a time (Roetert for the USTA 2003)."
                )
                % {
                    "session": _name(session),
                    "day": weekday_day(session.day),
                    "minutes": session.minutes,
                    "least": SHORTEST_ENDURANCE_MIN,
                },
                (session.day,),
                True,
            )


def _volume(week: _Week) -> Iterator[WeekFinding]:
    """More or less than the target; in a week with taper days `_taper` speaks of that instead."""
    if _tapers(week.target):
        return
    parts: tuple[tuple[Court, int], ...] = (
        ("on court", week.target.on_court_min),
        ("off court", week.target.off_court_min),
    )
    for court, wanted in parts:
        has = sum(each.minutes for each in week.sessions if each.court == court)
        if abs(has - wanted) <= volume_tolerance_min(wanted):
            continue
        yield WeekFinding(
            "volume",
            _volume_text(court, more=has > wanted)
            % {"has": _hours(has), "change": _hours(abs(has - wanted)), "wanted": _hours(wanted)},
            _days_of(week.target),
            True,
        )


def _volume_text(court: Court, *, more: bool) -> str:
    if court == "on court":
        if more:
            return _(
                "%(has)s on court are planned, %(change)s more than the target of %(wanted)s. "
                "Shorten or take out a session if that is not meant."
            )
        return _(
            "%(has)s on court are planned, %(change)s less than the target of %(wanted)s. Lengthen "
            "or add a session if that is not meant."
        )
    if more:
        return _(
            "%(has)s off court are planned, %(change)s more than the target of %(wanted)s. Shorten "
            "or take out a session if that is not meant."
        )
    return _(
        "%(has)s off court are planned, %(change)s less than the target of %(wanted)s. Lengthen or "
        "add a session if that is not meant."
    )


def _effort(week: _Week) -> Iterator[WeekFinding]:
    """Where most of the minutes lie on days that have to be light, the mean says nothing."""
    mean = usual_effort(week.target, week.sessions)
    free = {day.day for day in week.target.days if not is_always_light(day)}
    on_free_days = sum(each.minutes for each in week.sessions if each.day in free)
    if mean is None or 2 * on_free_days < sum(each.minutes for each in week.sessions):
        return
    if week.target.minutes and abs(mean - week.target.effort_0_10) > EFFORT_TOLERANCE:
        text = (
            _(
                "The mean effort is %(mean)s, the target %(target)s (days with a match are not "
                "counted). Choose easier forms of some sessions if that is not meant."
            )
            if mean > week.target.effort_0_10
            else _(
                "The mean effort is %(mean)s, the target %(target)s (days with a match are not "
                "counted). Choose harder forms of some sessions if that is not meant."
            )
        )
        yield WeekFinding(
            "effort",
            text % {"mean": number(mean, 1), "target": number(week.target.effort_0_10, 1)},
            _days_of(week.target),
            True,
        )


def _taper(week: _Week) -> Iterator[WeekFinding]:
    """The minutes on taper days beside what the target leaves them: their aims, or without aims
    their part if the week goes over the days that have sessions."""
    days = _tapers(week.target)
    if not days or not week.sessions:
        return
    wanted = float(sum(day.aim_min for day in days))
    if not wanted:
        used = [day for day in week.target.days if week.by_day[day.day]]
        shares = spread(
            week.target.minutes, [day.taper for day in used], [most_minutes(day) for day in used]
        )
        wanted = sum(share for day, share in zip(used, shares, strict=True) if day in days)
    has = sum(week.minutes_on(day.day) for day in days)
    if abs(has - wanted) > max(TAPER_TOLERANCE_MIN, TAPER_TOLERANCE * wanted):
        text = (
            _(
                "The taper leaves %(wanted)s for its days of this week, and %(has)s are planned. "
                "Shorten sessions rather than taking them out: effort and number of sessions stay "
                "(Bosquet et al. 2007)."
            )
            if has > wanted
            else _(
                "The taper leaves %(wanted)s for its days of this week, and %(has)s are planned. "
                "Lengthen sessions rather than adding some: effort and number of sessions stay "
                "(Bosquet et al. 2007)."
            )
        )
        yield WeekFinding(
            "taper",
            text % {"wanted": _hours(round(wanted)), "has": _hours(has)},
            tuple(day.day for day in days),
            True,
        )


def _hours_and_age(week: _Week) -> Iterator[WeekFinding]:
    if week.age is None or not is_young(week.age):
        return
    hours = round(sum(each.minutes for each in week.sessions) / 60, 1)
    finding = hours_finding(hours, week.age)
    if finding:
        yield WeekFinding(
            "hours and age", f"{finding.text} ({finding.source})", _days_of(week.target), True
        )


_RULES: Final[tuple[Callable[[_Week], Iterator[WeekFinding]], ...]] = (
    _hard_days,
    _light_days,
    _match_days,
    _before_matches,
    _days_off,
    _racket,
    _time,
    _too_many,
    _ages,
    _days_meant_to_be_off,
    _no_room_for_a_day_off,
    _strength,
    _endurance,
    _volume,
    _effort,
    _taper,
    _hours_and_age,
)


# Measures -----------------------------------------------------------------------------------------


def mean_effort(sessions: Sequence[PlannedSession]) -> float | None:
    """Mean effort by minutes (0-10), None without a session: 60 minutes at 6 and 30 at 3 are 5."""
    minutes = sum(session.minutes for session in sessions)
    return sum(session.load for session in sessions) / minutes if minutes else None


def usual_effort(target: WeekTarget, sessions: Sequence[PlannedSession]) -> float | None:
    """Mean effort (0-10) of the sessions beside those on days with a match, which only warm up or
    recover. None without such a session."""
    of_matches = {day.day for day in target.days if day.kind == "match"}
    return mean_effort([session for session in sessions if session.day not in of_matches])


def volume_tolerance_min(wanted_min: float) -> float:
    """By how many minutes a part of the week may differ from its target."""
    return max(VOLUME_TOLERANCE_MIN, VOLUME_TOLERANCE * wanted_min)


def _tapers(target: WeekTarget) -> list[TrainingDay]:
    """The days that a taper shortens and on which usual training may stand."""
    return [day for day in target.days if day.taper < 1 and day.kind == "training"]


# Words --------------------------------------------------------------------------------------------


def _names(sessions: Iterator[PlannedSession] | Sequence[PlannedSession]) -> str:
    return listed(list(dict.fromkeys(_name(session) for session in sessions)))


def _name(session: PlannedSession) -> str:
    return session_name(session.name, session.kind)


def _why(day: TrainingDay) -> str:
    """What makes the day what it is: `travel to Perth`, or `travel` where nobody said."""
    if day.why:
        return busy_word(day.why)
    return {
        "training": pgettext("what a day is", "training"),
        "off": pgettext("what a day is", "day off"),
        "busy": pgettext("what a day is", "busy"),
        "travel": pgettext("what a day is", "travel"),
        "arrival": pgettext("what a day is", "arrival"),
        "acclimatisation": pgettext("what a day is", "acclimatisation"),
        "match": pgettext("what a day is", "match"),
    }[day.kind]


def _hours(minutes: int) -> str:
    """`45 min`, `2 h`, `2 h 30`."""
    hours, rest = divmod(minutes, 60)
    if not hours:
        return _("%(minutes)d min") % {"minutes": rest}
    return f"{hours} h {rest:02d}" if rest else f"{hours} h"
