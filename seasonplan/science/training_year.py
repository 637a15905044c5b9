"""What should each week of a season train? `training/targets.py` asks.

The minutes of a week follow from the shape of its phase, day by day:

- Over a block they rise or fall in a straight line from the shape's hours, by at most a quarter up
  and by half down; every so many weeks one is lighter, but not one with matches in it, nor one in
  which a taper before a target has begun: no week is cut twice.
- A day that is lost to the player, busy or on the way, takes its share of the week's minutes away,
  and the sessions in proportion. On light days there is little room, and the other days of the week
  make up for it, each up to a quarter above a usual full one.
- Matches take the place of minutes on court: so many expected, times the mean minutes of one.
- Before a target the volume falls as `exp(-d / tau)` over the days `d` of the taper. Normal volume
  is what those days would have in usual weeks of their phases: a seventh a day of the shape's
  minutes, without its rise and without lighter weeks, and no more than the player's time in a usual
  week holds. The minutes of training and of expected matches together are to come to the mean share
  of the taper, whatever lies in those days: where some have no room, the others make up for it.
  Effort and sessions stay (sessions at least four fifths, where the minutes hold so many). Other
  events have a short taper, whose days fall in the same way.
- No week is above the player's time, and the weeks that cannot hold what they should say why.

Sources: the taper, Bosquet et al. 2007, Med Sci Sports Exerc 39:1358-1365, and at most a fifth
fewer sessions, Mujika and Padilla 2003, Med Sci Sports Exerc 35:1182-1187; hours against age, see
`youth.py`. All else is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import ceil, fsum
from typing import Final

from seasonplan.science.layout.problem import Block, Phase
from seasonplan.science.phases import PhaseShape
from seasonplan.science.spreading import spread, whole
from seasonplan.science.taper import LARGEST_CUT, SMALLEST_CUT, mean_cut
from seasonplan.science.training_days import (
    MATCH_MIN,
    Frame,
    Span,
    busy_word,
    frames_of,
    spans_of,
    training_days,
    usual_room,
)
from seasonplan.science.week_target import (
    LIGHT_EFFORT,
    Emphasis,
    TrainingDay,
    TrainingRules,
    WeekTarget,
)
from seasonplan.science.words import N_, _, days, listed, ngettext, number, short_number
from seasonplan.science.youth import hours_finding, is_young

MOST_RISE: Final = 1.25
LEAST_FALL: Final = 0.5
"""How far the minutes of a block go from those of its first week."""

FULL_DAY: Final = 1.25
"""A day that makes up for others holds at most so many usual full days."""

SHORTEST_SESSION_MIN: Final = 15
"""No session is planned below this."""

ENDURANCE_MIN: Final = 20
"""The least endurance in a week of preparation: one session (Roetert for the USTA 2003)."""

USUAL_SESSION_MIN: Final = 40
"""Outside of a taper there are no more sessions than make this many minutes each."""

FREQUENCY_KEPT: Final = 0.8
"""The least share of the usual sessions in a taper; an expected match counts as one."""

MORE_EFFORT: Final = 1.0
MOST_MADE_UP_EFFORT: Final = 6.5
"""Days beside light ones are harder by at most so much, up to this, to keep a week's effort."""

MATCH_DAY_LEFT: Final = 0.25
"""The share of a day's training that is left at least on a day with a match."""

SMALLEST_PART_MIN: Final = 10
"""What would be less of a week by its emphasis is left out."""

_STEP_MIN: Final = 5
_DAY: Final = timedelta(days=1)


@dataclass(frozen=True)
class YearEvent:
    """A planned event as the training sees it.

    `leave` and `arrive` are the days of the way out and `back` the day of the way home (equal to
    `arrive`, and to `end`, for an event near home or when the next event follows directly).
    `matches_by_day` is the mean number of matches expected on each day from `start` to `end`;
    where it is empty, a match may be on any of them. `place` is where it is, in words.
    """

    name: str
    start: date
    end: date
    leave: date
    arrive: date
    back: date
    is_target: bool
    matches_by_day: Mapping[date, float]
    place: str = ""

    def may_play(self, day: date) -> bool:
        """Whether a match may be on this day of the event."""
        return self.matches_by_day.get(day, 0) > 0 if any(self.matches_by_day.values()) else True

    @property
    def opening(self) -> date:
        """The first day on which a match may be."""
        return min((day for day, n in self.matches_by_day.items() if n > 0), default=self.start)


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


@dataclass(frozen=True)
class Taper:
    """The days before a target event, from `first` to `last`, as the season's targets have them.

    Minutes are of all these days: `normal_min` those of usual weeks, `training_min` the targets'
    (the aims of the days), `match_min` those of the matches expected. `why` says what keeps the cut
    out of 41 to 60 %, and is empty where it is within.
    """

    event: str
    first: date
    last: date
    normal_min: float
    training_min: int
    match_min: float
    why: str = ""

    @property
    def cut(self) -> float:
        """The share of the normal volume that is left out, on the mean over the days; below 0
        where there is more than usual."""
        return 1 - (self.training_min + self.match_min) / self.normal_min

    @property
    def is_within(self) -> bool:
        return SMALLEST_CUT <= self.cut <= LARGEST_CUT


def training_targets(year: TrainingYear) -> tuple[WeekTarget, ...]:
    """What each week of the season should hold, in order; weeks outside of all blocks have none."""
    return _Year(year).targets


def tapers_of(year: TrainingYear) -> tuple[Taper, ...]:
    """The tapers before the targets of the season, in order; none where a usual week is empty."""
    return tuple(taper for _, taper in _Year(year).tapers)


class _Year:
    """A season on the way from shapes to targets."""

    def __init__(self, year: TrainingYear) -> None:
        self.year = year
        self.rules = year.rules
        self.frames = frames_of(year)
        self.spans = spans_of(year)
        self.days = training_days(year, self.frames, self.spans)
        self.usual_room = usual_room(year)
        self.frame_of = {day: frame for frame in self.frames for day in frame.days}
        self.span_of = {
            day: span for span in self.spans if span.event.is_target for day in span.owned
        }
        self.aims: dict[date, float] = {}
        self.wanted: dict[date, float] = {}
        for frame in self.frames:
            self._aim_week(frame)
        for span in self.spans:
            if span.event.is_target:
                self._aim_taper(span)
        whole_days: dict[date, TrainingDay] = {}
        for frame in self.frames:
            whole_days |= self._whole_week(frame)
        self.days |= whole_days
        self.tapers = list(self._tapers())
        self.targets = tuple(self._target(frame) for frame in self.frames)

    # How many minutes on each day.

    def normal_min(self, frame: Frame) -> float:
        """What a usual week of the phase has, as far as the player's time holds it."""
        return min(frame.minutes, float(sum(self.usual_room)))

    def full_day_min(self, minutes: float) -> float:
        """The most that a day of a week of so many minutes takes."""
        room = self.usual_room
        return FULL_DAY * max(spread(minutes, [1.0] * len(room), room), default=0.0)

    def room(self, day: TrainingDay, most: float) -> float:
        return min(float(day.available_min), most) if day.takes_training else 0.0

    def is_lighter(self, frame: Frame) -> bool:
        every = self.rules.lighter_every
        return (
            every > 0
            and frame.in_block % every == 0
            and frame.phase != "active rest"
            and not any(day in self.span_of for day in frame.days)
            and not any(self.days[day].expected_matches for day in frame.days)
        )

    def rise(self, frame: Frame) -> float:
        percent = frame.shape.rise_percent * (frame.in_block - 1)
        return min(MOST_RISE, max(LEAST_FALL, 1 + percent / 100))

    def kept(self, frame: Frame, week: Sequence[date]) -> float:
        """The share of the days with training that is left to these days of a week, 0 to 1."""
        free = sum(minutes > 0 for minutes in self.year.free_min)
        usual = min(7 - frame.days_off(self.rules), free)
        left = sum(
            self.days[day].kind not in ("off", "busy") and self.year.free_min[day.weekday()] > 0
            for day in week
        )
        return min(1.0, left / (usual * len(week) / 7)) if usual > 0 else 0.0

    def weights(self, some: Sequence[date]) -> list[float]:
        """How the minutes of some days are shared out: by their normal volume and its taper, less
        the matches expected on the day itself."""
        weights = []
        for day in (self.days[each] for each in some):
            normal = self.normal_min(self.frame_of[day.day]) / 7 * day.taper
            matches = MATCH_MIN * day.expected_matches
            weights.append(max(normal * MATCH_DAY_LEFT, normal - matches))
        return weights

    def match_min(self, some: Sequence[date]) -> float:
        return MATCH_MIN * fsum(self.days[day].expected_matches for day in some)

    def _aim_week(self, frame: Frame) -> None:
        """Aims for the days of a week that lie in no taper before a target."""
        mine = [day for day in frame.days if day not in self.span_of]
        if not mine:
            return
        shares = [self.days[day].taper for day in mine]
        factor = self.rise(frame) * (self.rules.lighter_share if self.is_lighter(frame) else 1)
        part = factor * self.kept(frame, mine) * fsum(shares) / 7
        matches = self.match_min(mine)
        total = max(0.0, frame.on_min * part - matches) + frame.off_min * part
        most = self.full_day_min(frame.minutes * factor)
        room = [self.room(self.days[day], most) for day in mine]
        self.wanted[frame.monday] = total
        self.aims |= dict(zip(mine, spread(total, self.weights(mine), room), strict=True))

    def _aim_taper(self, span: Span) -> None:
        """Aims for the days that follow this taper; those of an earlier one have theirs."""
        inside = [day for day in span.days if day in self.frame_of]
        mine = [day for day in inside if day in span.owned]
        left = 1 - mean_cut(span.length, self.rules.taper_tau_days)
        given = fsum(self.aims[day] for day in inside if day not in span.owned)
        total = max(0.0, left * self._normal(inside) - given - self.match_min(inside))
        room = []
        for day in mine:
            most = self.full_day_min(self.normal_min(self.frame_of[day]))
            room.append(self.room(self.days[day], most))
        self.aims |= dict(zip(mine, spread(total, self.weights(mine), room), strict=True))

    def _normal(self, some: Sequence[date]) -> float:
        return fsum(self.normal_min(self.frame_of[day]) / 7 for day in some)

    def _whole_week(self, frame: Frame) -> dict[date, TrainingDay]:
        """The days of the week with aims in whole minutes, in steps of five over the week."""
        week = [self.days[day] for day in frame.days]
        aims = [self.aims[day] for day in frame.days]
        room = [day.available_min if day.takes_training else 0 for day in week]
        total = _STEP_MIN * round(fsum(aims) / _STEP_MIN)
        if total > sum(room):
            total = sum(room) // _STEP_MIN * _STEP_MIN
        if total < SHORTEST_SESSION_MIN:
            total = 0
        # A day that an aim passes by is not filled by rounding.
        room = [space if aim > 0 else 0 for space, aim in zip(room, aims, strict=True)]
        parts = whole(aims, total, room)
        return {day.day: replace(day, aim_min=aim) for day, aim in zip(week, parts, strict=True)}

    # The tapers.

    def _tapers(self) -> Iterator[tuple[Span, Taper]]:
        for span in self.spans:
            inside = [day for day in span.days if day in self.frame_of]
            normal = self._normal(inside)
            if span.event.is_target and normal > 0:
                taper = Taper(
                    event=span.event.name,
                    first=span.first,
                    last=span.last,
                    normal_min=normal,
                    training_min=sum(self.days[day].aim_min for day in inside),
                    match_min=self.match_min(inside),
                )
                why = "" if taper.is_within else self._why(span, taper)
                yield span, replace(taper, why=why)

    def _why(self, span: Span, taper: Taper) -> str:
        """What keeps a taper out of the range."""
        wanted = mean_cut(span.length, self.rules.taper_tau_days)

        def said(because: str) -> str:
            return _(
                "Before %(event)s it is %(change)s, and not the 41 to 60 %% that were found best: "
                "%(because)s."
            ) % {"event": taper.event, "change": _change(-taper.cut), "because": because}

        if not SMALLEST_CUT <= wanted <= LARGEST_CUT:
            return said(
                _("the rules of the taper ask for %(percent)s %%")
                % {"percent": number(100 * wanted)}
            )
        if taper.cut < SMALLEST_CUT:
            return said(_("the matches expected bring so much") if taper.match_min else _(_FEW))
        inside = [self.days[day] for day in span.days if day in self.frame_of]
        causes = []
        if light := sum(day.is_light for day in inside):
            causes.append(
                ngettext(
                    "%(count)d day of travel and settling in",
                    "%(count)d days of travel and settling in",
                    light,
                )
                % {"count": light}
            )
        if busy := sum(day.day in self.year.busy for day in inside):
            causes.append(
                ngettext("%(count)d busy day", "%(count)d busy days", busy) % {"count": busy}
            )
        if taper.match_min > 0:
            causes.append(_("days with matches"))
        if len(span.owned) < len(span.days):
            causes.append(_("the taper before the target ahead of it"))
        if span.days[0] > span.last - timedelta(days=span.length - 1):
            causes.append(_("the beginning of the season"))
        if not causes:
            return said(_(_FEW))
        return said(_("room is short beside %(causes)s") % {"causes": listed(causes)})

    # The targets.

    def _target(self, frame: Frame) -> WeekTarget:
        week = [self.days[day] for day in frame.days]
        minutes = sum(day.aim_min for day in week)
        on, off = self._courts(frame, week, minutes)
        on_sessions, off_sessions = self._sessions(frame, week, on, off)
        effort = self._effort(frame)
        mean = self._mean_effort(effort, week, minutes)
        return WeekTarget(
            monday=frame.monday,
            phase=frame.phase,
            in_block=frame.in_block,
            block_weeks=frame.block_weeks,
            on_court_min=on,
            off_court_min=off,
            on_court_sessions=on_sessions,
            off_court_sessions=off_sessions,
            effort_0_10=round(mean, 2) if minutes else 0.0,
            shares=self._shares(frame, minutes) if minutes else {},
            days=tuple(week),
            is_lighter=self.is_lighter(frame),
            no_racket=frame.no_racket,
            reasons=tuple(
                self._reasons(
                    frame,
                    week,
                    minutes,
                    on_sessions + off_sessions,
                    is_eased=mean < effort - 0.05,
                )
            ),
        )

    def _courts(self, frame: Frame, week: Sequence[TrainingDay], minutes: int) -> tuple[int, int]:
        """The minutes on and off court; matches count as on court. No part is too short to be."""
        if frame.no_racket or not frame.minutes:
            return 0, minutes
        matches = self.match_min(frame.days)
        share = frame.on_min / frame.minutes
        on = _STEP_MIN * round(max(0.0, share * (minutes + matches) - matches) / _STEP_MIN)
        if any(day in self.span_of for day in frame.days):
            # So little is left that a few minutes on the wrong side cost a session.
            steps = (on + n * _STEP_MIN for n in (0, -1, 1, -2, 2))
            on = max((n for n in steps if 0 <= n <= minutes), key=lambda n: _held(n, minutes - n))
        if on < SHORTEST_SESSION_MIN:
            on = 0
        if minutes - on < SHORTEST_SESSION_MIN:
            on = minutes
        return on, minutes - on

    def _sessions(
        self, frame: Frame, week: Sequence[TrainingDay], on: int, off: int
    ) -> tuple[int, int]:
        """How many sessions on and off court the minutes make."""
        shape, rules = frame.shape, self.rules
        tapered = any(day in self.span_of for day in frame.days)
        kept = self.kept(frame, frame.days) * (rules.lighter_share if self.is_lighter(frame) else 1)
        matches = fsum(day.expected_matches for day in week)
        usable = sum(day.aim_min > 0 for day in week)
        both = shape.on_court_sessions + shape.off_court_sessions
        a_day = max(2, ceil(both / max(1, 7 - rules.days_off)))
        most = usable * a_day

        def sessions(usual: int, minutes: int, hours: float, instead: float) -> int:
            if not minutes:
                return 0
            wanted = usual * (1 if tapered else kept) - instead
            length = hours * 60 / usual if usual else SHORTEST_SESSION_MIN
            shortest = min(SHORTEST_SESSION_MIN if tapered else USUAL_SESSION_MIN, length)
            held = int(minutes // shortest) if shortest > 0 else 1
            return max(1, min(ceil(wanted), held))

        on_sessions = sessions(shape.on_court_sessions, on, shape.on_court_hours, matches)
        off_sessions = sessions(shape.off_court_sessions, off, shape.off_court_hours, 0.0)
        while on_sessions + off_sessions > most and max(on_sessions, off_sessions) > 1:
            if on_sessions >= off_sessions:
                on_sessions -= 1
            else:
                off_sessions -= 1
        return on_sessions, off_sessions

    def _effort(self, frame: Frame) -> float:
        """The line from the block's first week to its last; a block of one week has the middle."""
        first, last = frame.shape.effort_first, frame.shape.effort_last
        if frame.block_weeks == 1:
            return (first + last) / 2
        return first + (last - first) * (frame.in_block - 1) / (frame.block_weeks - 1)

    def _mean_effort(self, effort: float, week: Sequence[TrainingDay], minutes: int) -> float:
        """The effort of the week's place in its block, as far as its light days let it be."""
        light = sum(day.aim_min for day in week if day.is_light)
        if effort <= LIGHT_EFFORT or not light:
            return effort
        others = max(effort, min(effort + MORE_EFFORT, MOST_MADE_UP_EFFORT))
        return min(effort, (light * LIGHT_EFFORT + (minutes - light) * others) / minutes)

    def _shares(self, frame: Frame, minutes: int) -> dict[Emphasis, float]:
        """Shares of the minutes by emphasis: the shape's, where matches count as match play."""
        parts: dict[Emphasis, float] = {
            emphasis: float(percent) for emphasis, percent in frame.shape.shares.items() if percent
        }
        racket: tuple[Emphasis, ...] = ("tactics and match play", "technique")
        if frame.no_racket:
            parts = {name: part for name, part in parts.items() if name not in racket}
        else:
            matches = self.match_min(frame.days)
            played = 100 * matches / (minutes + matches)
            for name in racket:
                taken = min(parts.get(name, 0.0), played)
                played -= taken
                if taken:
                    parts[name] -= taken
        shares = _in_sum(parts)
        kept = {
            name: share
            for name, share in shares.items()
            if share * minutes >= SMALLEST_PART_MIN
            or (frame.phase == "preparation" and name == "endurance")
        }
        shares = _in_sum(kept or shares) or {"recovery": 1.0}
        least = min(1.0, ENDURANCE_MIN / minutes)
        if frame.phase == "preparation" and 0 < shares.get("endurance", 0) < least:
            others = 1 - shares["endurance"]
            shares = {name: share * (1 - least) / others for name, share in shares.items()}
            shares["endurance"] = least
        return shares

    # The reasons.

    def _reasons(
        self,
        frame: Frame,
        week: Sequence[TrainingDay],
        minutes: int,
        sessions: int,
        *,
        is_eased: bool,
    ) -> Iterator[str]:
        yield from self._taper_reasons(frame)
        if frame.no_racket:
            yield (
                _("Active rest: away from the racket.")
                if frame.phase == "active rest"
                else _("The last weeks of the season are away from the racket.")
            )
        yield from self._match_reasons(frame, week)
        yield from self._session_reasons(frame, week, sessions)
        if minutes and self.is_lighter(frame):
            yield _("Week %(week)d of the block is lighter: %(percent)s %% of the hours.") % {
                "week": frame.in_block,
                "percent": number(100 * self.rules.lighter_share),
            }
        yield from self._room_reasons(frame, week, minutes)
        if light := [day for day in week if day.is_light]:
            whys = dict.fromkeys(day.why for day in light)
            text = (
                _("Light days: %(days)s. They lower the mean effort.")
                if is_eased
                else _("Light days: %(days)s.")
            )
            yield text % {"days": listed(list(whys))}
        rise = self.rise(frame)
        own_volume = self.wanted.get(frame.monday) and not self.match_min(frame.days)
        if own_volume and round(100 * rise) != 100:
            text = (
                _("Week %(week)d of %(weeks)d: %(percent)s %% more than the first.")
                if rise > 1
                else _("Week %(week)d of %(weeks)d: %(percent)s %% less than the first.")
            )
            yield text % {
                "week": frame.in_block,
                "weeks": frame.block_weeks,
                "percent": number(abs(100 * rise - 100)),
            }
        age = _age_on(self.year.born, frame.monday)
        if age is not None and is_young(age):
            hours = round((minutes + self.match_min(frame.days)) / 60, 1)
            if finding := hours_finding(hours, age):
                yield f"{finding.text} ({finding.source})"

    def _taper_reasons(self, frame: Frame) -> Iterator[str]:
        for span in self.spans:
            mine = [day for day in frame.days if day in span.owned]
            if not mine:
                continue
            name, when = span.event.name, days(mine[0], mine[-1])
            if not span.event.is_target:
                cut = 1 - fsum(self.days[day].taper for day in mine) / len(mine)
                yield _("Short taper before %(event)s, %(days)s: %(percent)s %% less.") % {
                    "event": name,
                    "days": when,
                    "percent": number(100 * cut),
                }
            elif taper := next((t for of, t in self.tapers if of is span), None):
                normal = self._normal(mine)
                held = sum(self.days[day].aim_min for day in mine) + self.match_min(mine)
                yield _(
                    "Taper before %(event)s, %(days)s: %(here)s on these days, %(whole)s over all "
                    "%(count)d, matches counted; effort and sessions stay as far as the minutes "
                    "hold them (Bosquet et al. 2007)."
                ) % {
                    "event": name,
                    "days": when,
                    "here": _change(held / normal - 1),
                    "whole": _change(-taper.cut),
                    "count": len(span.days),
                }
                if taper.why:
                    yield taper.why

    def _match_reasons(self, frame: Frame, week: Sequence[TrainingDay]) -> Iterator[str]:
        expected = fsum(day.expected_matches for day in week)
        if expected > 0:
            names = [
                event.name
                for event in self.year.events
                if any(event.matches_by_day.get(day.day) for day in week)
            ]
            yield _(
                "%(events)s: about %(matches)s matches, %(minutes)s minutes on average, take the "
                "place of training on court."
            ) % {
                "events": listed(names),
                "matches": number(expected, 1),
                "minutes": number(MATCH_MIN * expected),
            }
            if frame.no_racket:
                yield _("Matches lie in a week away from the racket.")
        off = sum(day.kind in ("off", "busy") for day in week)
        if off < frame.days_off(self.rules):
            yield _("Every other day may hold a match: a day off comes with the first loss.")

    def _session_reasons(
        self, frame: Frame, week: Sequence[TrainingDay], sessions: int
    ) -> Iterator[str]:
        """Where a taper has room for fewer sessions than it should keep."""
        if not any(day in self.span_of for day in frame.days):
            return
        on = 0 if frame.no_racket else frame.shape.on_court_sessions
        usual = on + frame.shape.off_court_sessions
        matches = fsum(day.expected_matches for day in week)
        if sessions + matches < FREQUENCY_KEPT * usual:
            text = (
                ngettext(
                    "The minutes of the taper hold %(count)d session and about %(matches)s matches "
                    "instead of %(usual)d sessions.",
                    "The minutes of the taper hold %(count)d sessions and about %(matches)s "
                    "matches instead of %(usual)d sessions.",
                    sessions,
                )
                if matches
                else ngettext(
                    "The minutes of the taper hold %(count)d session instead of %(usual)d "
                    "sessions.",
                    "The minutes of the taper hold %(count)d sessions instead of %(usual)d "
                    "sessions.",
                    sessions,
                )
            )
            yield text % {"count": sessions, "matches": number(matches, 1), "usual": usual}

    def _room_reasons(
        self, frame: Frame, week: Sequence[TrainingDay], minutes: int
    ) -> Iterator[str]:
        busy = [day for day in week if day.day in self.year.busy]
        if busy:
            whys = dict.fromkeys(busy_word(self.year.busy[day.day]) for day in busy)
            yield ngettext(
                "%(count)d busy day (%(why)s): the hours of the week are fewer.",
                "%(count)d busy days (%(why)s): the hours of the week are fewer.",
                len(busy),
            ) % {"count": len(busy), "why": listed(list(whys))}
        wanted = self.wanted.get(frame.monday)
        if wanted is None:
            return
        held = sum(day.aim_min for day in week if day.day not in self.span_of)
        if held < wanted - 2 * _STEP_MIN:
            light = any(day.is_light for day in week)
            match = any(day.kind == "match" for day in week)
            if light:
                text = _("The light days leave room for %(held)s of %(wanted)s hours.")
            elif match:
                text = _("The days with matches leave room for %(held)s of %(wanted)s hours.")
            else:
                text = _("The player's free time leaves room for %(held)s of %(wanted)s hours.")
            yield text % {"held": _hours(held), "wanted": _hours(wanted)}


def _held(*minutes: int) -> int:
    """How many of the shortest sessions these minutes hold, each by itself."""
    return sum(each // SHORTEST_SESSION_MIN for each in minutes)


_FEW: Final = N_("the minutes are so few that whole sessions show")


def _change(part: float) -> str:
    """`55 % less`, `12 % more`."""
    text = _("%(percent)s %% more") if part > 0 else _("%(percent)s %% less")
    return text % {"percent": number(abs(100 * part))}


def _in_sum(parts: Mapping[Emphasis, float]) -> dict[Emphasis, float]:
    """The parts as shares of their sum."""
    total = fsum(parts.values())
    return {name: part / total for name, part in parts.items() if part > 0}


def _hours(minutes: float) -> str:
    return short_number(round(minutes / 60, 1))


def _age_on(born: date | None, day: date) -> int | None:
    if born is None:
        return None
    return day.year - born.year - ((day.month, day.day) < (born.month, born.day))
