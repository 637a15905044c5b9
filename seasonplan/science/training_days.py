"""What is each day of a season, before any training is put on it?

`training_year.py` asks: which kind of day, how much room it has, which taper it lies in, how many
matches to expect, how far the next match is, and why. The days off are chosen here.

What is light on a day of travel, of arrival and of getting used to a place, in minutes, is common
practice without a source; so is the choice of the day off.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property
from math import floor
from typing import TYPE_CHECKING, Final

from seasonplan.science.layout.problem import Phase
from seasonplan.science.phases import PhaseShape
from seasonplan.science.season_matches import BEST_OF_THREE
from seasonplan.science.taper import taper_share
from seasonplan.science.week_target import LIKELY_MATCH, DayKind, TrainingDay, TrainingRules
from seasonplan.science.words import _, pgettext

if TYPE_CHECKING:
    from seasonplan.science.training_year import TrainingYear, YearEvent

MATCH_MIN: Final = BEST_OF_THREE.usual
"""Minutes of a match on average."""

LIGHT_MIN: Final[Mapping[DayKind, int]] = {"travel": 30, "arrival": 60, "acclimatisation": 90}
"""The most minutes of training on a light day."""

LOOK_AHEAD_DAYS: Final = 14

_ORDER: Final[Mapping[DayKind, int]] = {
    "training": 0,
    "acclimatisation": 1,
    "arrival": 2,
    "travel": 3,
    "busy": 4,
    "match": 5,
}
"""Of two things that a day is, the later one here is its kind."""

_DAY: Final = timedelta(days=1)


@dataclass(frozen=True)
class Frame:
    """A week of the season: its place in its block, and what a usual week of its phase holds.

    `on_min` and `off_min` are the shape's minutes on and off court, without its rise and without
    lighter weeks; on court none in a week away from the racket.
    """

    monday: date
    phase: Phase
    in_block: int
    block_weeks: int
    shape: PhaseShape
    no_racket: bool

    @property
    def on_min(self) -> float:
        return 0.0 if self.no_racket else self.shape.on_court_hours * 60

    @property
    def off_min(self) -> float:
        return self.shape.off_court_hours * 60

    @property
    def minutes(self) -> float:
        return self.on_min + self.off_min

    @cached_property
    def days(self) -> tuple[date, ...]:
        return tuple(self.monday + timedelta(days=n) for n in range(7))

    def days_off(self, rules: TrainingRules) -> int:
        """Days off in this week: active rest has one more than other weeks."""
        return min(7, rules.days_off + (self.phase == "active rest"))


def frames_of(year: TrainingYear) -> list[Frame]:
    """The weeks of the season that lie in a block, in order."""
    off_racket_from = year.end + _DAY - timedelta(weeks=year.rules.weeks_off_racket)
    found: dict[date, Frame] = {}
    for block in sorted(year.blocks, key=lambda block: block.start):
        weeks = ((block.end - block.start).days + 1) // 7
        for number in range(weeks):
            monday = block.start + timedelta(weeks=number)
            if year.start <= monday <= year.end and monday not in found:
                found[monday] = Frame(
                    monday=monday,
                    phase=block.phase,
                    in_block=number + 1,
                    block_weeks=weeks,
                    shape=year.shapes[block.phase],
                    no_racket=block.phase == "active rest" or monday >= off_racket_from,
                )
    return list(found.values())


@dataclass(frozen=True)
class Span:
    """The days of a taper, from `first` to the day before the event's first possible match.

    `length` days by the rules, of which some may lie before the season. `owned` are those of them
    that follow this taper: a day in two tapers follows the one whose match comes first, and that of
    a target before a short one.
    """

    event: YearEvent
    first: date
    last: date
    length: int
    owned: frozenset[date] = frozenset()

    def number(self, day: date) -> int:
        """Which day of the taper it is, from 1 to `length`."""
        return self.length - (self.last - day).days

    @cached_property
    def days(self) -> tuple[date, ...]:
        return tuple(_days(self.first, self.last))


def spans_of(year: TrainingYear) -> list[Span]:
    """The tapers of the season in order of their matches, each with the days that follow it."""
    spans = []
    for event in year.events:
        length = year.rules.taper_days if event.is_target else year.rules.short_taper_days
        last = event.opening - _DAY
        first = max(year.start, last - timedelta(days=length - 1))
        if first <= last:
            spans.append(Span(event, first, last, length))
    owner: dict[date, Span] = {}
    for span in sorted(spans, key=lambda span: (not span.event.is_target, span.last)):
        for day in span.days:
            owner.setdefault(day, span)
    return [
        replace(span, owned=frozenset(day for day in span.days if owner[day] is span))
        for span in sorted(spans, key=lambda span: span.last)
    ]


def training_days(
    year: TrainingYear, frames: Sequence[Frame], spans: Sequence[Span]
) -> dict[date, TrainingDay]:
    """Every day of the season by its date, its aim still 0."""
    tapers = {
        day: taper_share(span.number(day), year.rules.taper_tau_days)
        for span in spans
        for day in span.owned
    }
    plain = _plain_days(year, tapers)
    for frame in frames:
        week = [plain[day] for day in frame.days]
        for off in _off_days(week, frame.days_off(year.rules), frame.minutes, year):
            why = (
                _("day off; %(why)s") % {"why": off.why}
                if off.why
                else pgettext("what a day is", "day off")
            )
            plain[off.day] = replace(off, kind="off", why=why)
    return plain


def busy_word(why: str) -> str:
    """The reason of a busy day, as it was typed; `busy` in the reader's language without one."""
    return pgettext("what a day is", "busy") if why in ("", "busy") else why


def usual_room(year: TrainingYear) -> list[int]:
    """The minutes of the days of a usual week, without its days off: those with least room."""
    return sorted(year.free_min, reverse=True)[: 7 - min(7, year.rules.days_off)]


# What the days are.


def _plain_days(year: TrainingYear, tapers: Mapping[date, float]) -> dict[date, TrainingDay]:
    """The days without days off."""
    kinds = _kinds(year)
    expected: dict[date, float] = {}
    for event in year.events:
        for day, matches in event.matches_by_day.items():
            expected[day] = expected.get(day, 0.0) + matches
    found: dict[date, TrainingDay] = {}
    ahead = LOOK_AHEAD_DAYS + 1
    for day in reversed(list(_days(year.start, year.end))):
        kind, why = kinds.get(day, ("training", ""))
        matches = expected.get(day, 0.0)
        free = 0 if day in year.busy else year.free_min[day.weekday()]
        if kind == "match":
            free = max(0, floor(free - matches * MATCH_MIN))
        ahead = 0 if kind == "match" else ahead + 1
        made = TrainingDay(
            day=day,
            kind=kind,
            available_min=min(free, LIGHT_MIN.get(kind, free)),
            taper=tapers.get(day, 1.0),
            expected_matches=matches,
            days_to_match=ahead if ahead <= LOOK_AHEAD_DAYS else None,
            why=why,
            is_after_match=expected.get(day - _DAY, 0.0) >= LIKELY_MATCH,
        )
        if kind == "match":
            made = replace(made, available_min=min(free, made.match_day_min))
        found[day] = made
    return dict(reversed(found.items()))


def _kinds(year: TrainingYear) -> dict[date, tuple[DayKind, str]]:
    """What the days are that are not for training alone, and why."""
    kinds: dict[date, tuple[DayKind, str]] = {
        day: ("busy", busy_word(why)) for day, why in year.busy.items()
    }
    for event in year.events:
        for day, kind, why in _days_of(event):
            if _ORDER[kind] >= _ORDER[kinds.get(day, ("training", ""))[0]]:
                kinds[day] = (kind, why)
    return kinds


def _days_of(event: YearEvent) -> Iterator[tuple[date, DayKind, str]]:
    """What an event makes of the days of its trip."""
    where = event.place or event.name
    for day in _days(event.leave, event.arrive - _DAY):
        yield day, "travel", _("travel to %(place)s") % {"place": where}
    if event.arrive < event.start:
        came = event.leave < event.arrive
        if came:
            yield event.arrive, "arrival", _("arrival in %(place)s") % {"place": where}
        for day in _days(event.arrive + (_DAY if came else timedelta()), event.start - _DAY):
            yield day, "acclimatisation", _("getting used to %(place)s") % {"place": where}
    for day in _days(event.start, event.end):
        if event.may_play(day):
            yield day, "match", event.name
        else:
            yield day, "training", _("%(event)s, no round on this day") % {"event": event.name}
    for day in _days(event.end + _DAY, event.back):
        yield day, "travel", _("travel home from %(place)s") % {"place": where}


# Days off.


def _off_days(
    week: Sequence[TrainingDay], wanted: int, minutes: float, year: TrainingYear
) -> list[TrainingDay]:
    """The days off of a week: none on which there may be a match, busy days counted already.

    A day without any room goes first, then the day after an event, a day of an event without a
    round, and Sunday where the other days hold the minutes; else the day with least room. The day
    before a match and days of a trip are taken only when there is no other.
    """
    wanted -= sum(day.kind == "busy" for day in week)
    candidates = [day for day in week if day.kind not in ("busy", "match")]
    after_event = {event.back + _DAY for event in year.events}
    chosen: list[TrainingDay] = []
    while len(chosen) < wanted and candidates:
        room = sum(day.available_min for day in week if day.takes_training and day not in chosen)

        def cost(day: TrainingDay, room: int = room) -> tuple[float, int, int]:
            away = min((abs((day.day - other.day).days) for other in chosen), default=7)
            price = _price(
                day, after_event=day.day in after_event, holds=room - day.available_min >= minutes
            )
            return (price + (0.2 if away == 1 else 0), -away, -day.day.weekday())

        best = min(candidates, key=cost)
        candidates.remove(best)
        chosen.append(best)
    return chosen


def _price(day: TrainingDay, *, after_event: bool, holds: bool) -> float:
    """How little a day suits as a day off: `holds` says that the other days hold the week."""
    if day.available_min == 0:
        return 0.0
    if day.is_before_match:
        return 5.0
    if day.is_light:
        return 3.0 if day.kind == "travel" else 4.0
    if after_event:
        return 0.3
    if day.why:
        return 0.5
    if day.day.weekday() == 6 and holds:
        return 0.6
    return 1 + day.available_min / 1440


def _days(first: date, last: date) -> Iterator[date]:
    return (first + timedelta(days=n) for n in range((last - first).days + 1))
