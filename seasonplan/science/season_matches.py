"""How many matches may this season bring, how long on court, and how unevenly spread?

The plan says which events are played; chance says how far the player comes in each. With a chance
to win any match of an event, the number of its matches has an exact distribution: a knock-out draw
of k rounds brings m matches with chance p^(m-1) (1-p), and all k with p^(k-1). That of the season
is their convolution. Time on court depends on how long matches last, too, and is simulated with a
fixed seed; its mean is exact. The season screen asks, and shows bands, never one number.

What is assumed, and is common practice without a source where nothing else is said: a win chance is
the same in all rounds of an event, and matches do not depend on one another (a good day, an injury
or a hard draw makes them depend, so that true bands are wider). Rounds are spread evenly from an
event's first day to its last. Byes go to any player alike where it is not known who has one. Only
singles count, and no consolation matches.

Sources: arithmetic for numbers of matches. A match takes about 90 minutes in best of three sets and
165 in best of five (widely repeated, not from research; ranges 45-180 and 90-300 are practice).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from math import fsum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from seasonplan.science.draws import Draw
from seasonplan.science.weeks import event_weeks

HALF: Final = 0.5
"""The win chance where the coach has set none: as likely to win as to lose."""

MANY_MATCHES: Final = 3
"""From so many matches on, a week counts as one with many (common practice, no source)."""

YEARS: Final = 20_000
"""Seasons that a simulation plays."""

SEED: Final = 27
"""Any number would do; with the same one, the same plan shows the same band each time."""

_SPREAD: Final = 6.0
"""How closely the minutes of matches lie around the usual ones: the two parameters of their beta
distribution add up to this (the customary choice for three-point estimates; practice)."""

Chances = NDArray[np.float64]
"""Chances of 0, 1, 2, ...: they add up to 1."""


@dataclass(frozen=True, slots=True)
class MatchMinutes:
    """How long a match takes: on average, at least and at most, in minutes.

    Raises ValueError unless shortest < usual < longest.
    """

    usual: float
    shortest: float
    longest: float

    def __post_init__(self) -> None:
        if not 0 < self.shortest < self.usual < self.longest:
            raise ValueError(
                f"a match takes {self.usual:g} minutes on average, but from {self.shortest:g} to"
                f" {self.longest:g}"
            )


BEST_OF_THREE: Final = MatchMinutes(90, 45, 180)
BEST_OF_FIVE: Final = MatchMinutes(165, 90, 300)


@dataclass(frozen=True, slots=True)
class PlayedEvent:
    """An event of the plan: its days, its draw of so many players, and the chance to win a match.

    `bye`: whether the player need not play the first round; None if that is not known yet, and
    False counts where the draw has no byes. Raises ValueError for a chance outside 0..1, a draw of
    fewer than two, and an end before the start.
    """

    code: str
    name: str
    start: date
    end: date
    draw: int
    win_chance: float = HALF
    bye: bool | None = None
    minutes: MatchMinutes = BEST_OF_THREE

    def __post_init__(self) -> None:
        if not 0 <= self.win_chance <= 1:
            raise ValueError(f"a win chance lies between 0 and 1, not {self.win_chance:g}")
        if self.end < self.start:
            raise ValueError(f"{self.name} ends on {self.end}, before its start on {self.start}")
        Draw(self.draw)

    def match_days(self, *, bye: bool) -> tuple[date, ...]:
        """The days of the player's matches, if none is lost before the final."""
        rounds, days = Draw(self.draw).rounds, (self.end - self.start).days
        last = max(1, rounds - 1)
        every = [self.start + timedelta(days=days * number // last) for number in range(rounds)]
        return tuple(every[1:] if bye else every)

    def ways(self) -> Iterator[tuple[float, tuple[date, ...]]]:
        """Every course the event can take: its chance, above 0, and the days of its matches."""
        for bye, share in self.byes():
            days, chance = self.match_days(bye=bye), share
            for number in range(1, len(days)):
                if (lost := chance * (1 - self.win_chance)) > 0:
                    yield lost, days[:number]
                chance *= self.win_chance
            if chance > 0:
                yield chance, days

    def byes(self) -> list[tuple[bool, float]]:
        """Without and with a bye, as far as either may be, and how likely."""
        draw = Draw(self.draw)
        if not draw.byes or self.bye is False or draw.rounds == 1:
            return [(False, 1.0)]
        if self.bye:
            return [(True, 1.0)]
        share = draw.byes / draw.size
        return [(False, 1 - share), (True, share)]


@dataclass(frozen=True, slots=True)
class Band:
    """From `low` to `high` in nine seasons out of ten: in at most one of twenty it is lower, in at
    most one of twenty higher. `mean` is the average."""

    low: float
    high: float
    mean: float


@dataclass(frozen=True, slots=True)
class LongGap:
    """Days without a match that a loss in the first match of one event leaves before the next.

    `if_lost_first` and `if_final` count the free days from the last match to the next event's first
    for a loss in the first match and for a final; `likely` is the middle one (lower median);
    `chance` is how likely the gap is at least as long as the limit.
    """

    after: str
    before: str
    if_lost_first: int
    if_final: int
    likely: int
    chance: float


@dataclass(frozen=True, slots=True)
class Stack:
    """Days, inclusive, in which deep runs would bring more matches than the limit: the chance of
    that, the most that there can be, and the events (codes) in them."""

    start: date
    end: date
    chance: float
    most: int
    events: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MatchLimits:
    """From when on gaps and stacks are named: common practice, no source, for a coach to edit.

    A gap of three weeks without a match; more than twelve matches within four weeks, where that
    happens in one season of ten or more.
    """

    gap_days: int = 21
    stack_days: int = 28
    stack_matches: int = 12
    stack_chance: float = 0.1


@dataclass(frozen=True, slots=True)
class SeasonMatches:
    """What the matches may do to a season.

    `matches` and `weeks_with_many` are exact, as are their chances of 0, 1, 2, ...; `minutes` is
    simulated, but for its mean. `gaps` and `stacks` are warnings in order of date.
    """

    matches: Band
    match_chances: tuple[float, ...]
    minutes: Band
    weeks_with_many: Band
    week_chances: tuple[float, ...]
    gaps: tuple[LongGap, ...]
    stacks: tuple[Stack, ...]


@dataclass(frozen=True, slots=True)
class Simulated:
    """The same by playing many seasons: matches, minutes and weeks with many, one of each a
    season."""

    matches: NDArray[np.int64]
    minutes: NDArray[np.float64]
    weeks_with_many: NDArray[np.int64]


def season_matches(
    events: Sequence[PlayedEvent],
    season_start: date,
    limits: MatchLimits = MatchLimits(),
) -> SeasonMatches:
    """Bands and warnings for the events of a season that begins on `season_start`, a Monday."""
    in_order = sorted(events, key=lambda event: (event.start, event.end, event.code))
    matches = season_match_chances(in_order)
    weeks = week_chances(in_order, season_start)
    played = simulate(in_order, season_start)
    low, high = np.quantile(played.minutes, [0.05, 0.95], method="inverted_cdf")
    return SeasonMatches(
        matches=band(matches),
        match_chances=tuple(matches.tolist()),
        minutes=Band(float(low), float(high), mean_minutes(in_order)),
        weeks_with_many=band(weeks),
        week_chances=tuple(weeks.tolist()),
        gaps=tuple(long_gaps(in_order, limits)),
        stacks=tuple(stacks(in_order, limits)),
    )


# Exact.


def match_chances(event: PlayedEvent) -> Chances:
    """Chances of 0, 1, 2, ... matches in one event."""
    chances = np.zeros(Draw(event.draw).rounds + 1)
    for chance, days in event.ways():
        chances[len(days)] += chance
    return chances


def season_match_chances(events: Sequence[PlayedEvent]) -> Chances:
    """Chances of 0, 1, 2, ... matches in all events."""
    return _sum_of([match_chances(event) for event in events])


def mean_minutes(events: Sequence[PlayedEvent]) -> float:
    """Minutes on court on average: matches times the usual minutes of one."""
    return sum(_mean(match_chances(event)) * event.minutes.usual for event in events)


def week_chances(
    events: Sequence[PlayedEvent], season_start: date, many: int = MANY_MATCHES
) -> Chances:
    """Chances of 0, 1, 2, ... weeks with `many` matches or more.

    A match counts for the week in which it is played, if that is an event week of its event, else
    for the nearest one that is. Events that share a week are taken together: what is carried from
    one event to the next is how many weeks have many already, and the matches so far of the weeks
    that a later event shares.
    """
    in_order = sorted(events, key=lambda event: (event.start, event.end, event.code))
    weeks_of = [event_weeks(event.start, event.end, season_start) for event in in_order]
    so_far: dict[tuple[int, tuple[tuple[int, int], ...]], float] = {(0, ()): 1.0}
    for index, event in enumerate(in_order):
        later = {week for weeks in weeks_of[index + 1 :] for week in weeks}
        after: dict[tuple[int, tuple[tuple[int, int], ...]], float] = defaultdict(float)
        ways = _by_week(event, weeks_of[index], season_start)
        for (full, open_weeks), chance in so_far.items():
            for way, its_chance in ways.items():
                counts = dict(open_weeks)
                for week, number in way:
                    counts[week] = counts.get(week, 0) + number
                done = sum(counts[week] >= many for week in counts if week not in later)
                still = tuple(
                    (week, min(number, many))
                    for week, number in sorted(counts.items())
                    if week in later
                )
                after[full + done, still] += chance * its_chance
        so_far = after
    chances = np.zeros(max(full for full, _ in so_far) + 1)
    for (full, _), chance in so_far.items():
        chances[full] += chance
    return chances


def band(chances: Chances) -> Band:
    """The band of nine in ten, from chances of 0, 1, 2, ..."""
    # A chance that is one twentieth in decimals may be a hair less in binary.
    until = chances.cumsum() + 1e-12
    return Band(
        low=float(np.searchsorted(until, 0.05)),
        high=float(np.searchsorted(until, 0.95)),
        mean=_mean(chances),
    )


# Warnings.


def long_gaps(events: Sequence[PlayedEvent], limits: MatchLimits) -> Iterator[LongGap]:
    """Where an early loss makes a gap as long as the limit, which a final would not."""
    for event, following in pairwise(events):
        next_match = min(following.match_days(bye=bye)[0] for bye, _ in following.byes())
        gaps: dict[int, float] = defaultdict(float)
        for chance, days in event.ways():
            gaps[(next_match - days[-1]).days - 1] += chance
        longest, shortest = max(gaps), min(gaps)
        if shortest < limits.gap_days <= longest:
            yield LongGap(
                after=event.code,
                before=following.code,
                if_lost_first=longest,
                if_final=shortest,
                likely=_median(gaps),
                chance=sum(chance for days, chance in gaps.items() if days >= limits.gap_days),
            )


def stacks(events: Sequence[PlayedEvent], limits: MatchLimits) -> list[Stack]:
    """Where deep runs may bring too many matches in too few days; windows do not overlap, and where
    several would, the likeliest stands."""
    starts = sorted({day for event in events for _, days in event.ways() for day in days})
    found = []
    for start in starts:
        end = start + timedelta(days=limits.stack_days - 1)
        inside = [event for event in events if event.start <= end and start <= event.end]
        chances = _sum_of([_chances_within(event, start, end) for event in inside])
        too_many = float(chances[limits.stack_matches + 1 :].sum())
        if too_many >= limits.stack_chance and too_many > 0:
            most = int(np.flatnonzero(chances)[-1])
            found.append(Stack(start, end, too_many, most, tuple(e.code for e in inside)))
    kept: list[Stack] = []
    for stack in sorted(found, key=lambda stack: (-stack.chance, stack.start)):
        if all(stack.end < other.start or other.end < stack.start for other in kept):
            kept.append(stack)
    return sorted(kept, key=lambda stack: stack.start)


# By playing it out.


def simulate(
    events: Sequence[PlayedEvent], season_start: date, *, years: int = YEARS, seed: int = SEED
) -> Simulated:
    """Play the season so many times over."""
    random = np.random.default_rng(seed)
    matches = np.zeros(years, dtype=np.int64)
    minutes = np.zeros(years)
    by_week: dict[int, NDArray[np.int64]] = {}
    for event in events:
        rounds = Draw(event.draw).rounds
        had_bye = random.random(years) < sum(share for bye, share in event.byes() if bye)
        first = had_bye.astype(np.int64)  # the round, from 0, in which the player enters
        won = random.random((years, rounds)) < event.win_chance
        weeks = event_weeks(event.start, event.end, season_start)
        still_in = np.ones(years, dtype=bool)
        for number, day in enumerate(event.match_days(bye=False)):
            plays = still_in & (number >= first)
            matches += plays
            minutes += plays * _match_minutes(event.minutes, random, years)
            week = _week_in(weeks, day, season_start)
            by_week.setdefault(week, np.zeros(years, dtype=np.int64))
            by_week[week] += plays
            still_in &= ~plays | won[:, number]
    many = np.zeros(years, dtype=np.int64)
    for counts in by_week.values():
        many += counts >= MANY_MATCHES
    return Simulated(matches, minutes, many)


def _match_minutes(
    minutes: MatchMinutes, random: np.random.Generator, number: int
) -> NDArray[np.float64]:
    """Minutes of so many matches: beta over the range, with the usual as its mean."""
    width = minutes.longest - minutes.shortest
    share = (minutes.usual - minutes.shortest) / width
    drawn = random.beta(_SPREAD * share, _SPREAD * (1 - share), number)
    return minutes.shortest + width * drawn


# What they share.


def _by_week(
    event: PlayedEvent, weeks: range, season_start: date
) -> Mapping[tuple[tuple[int, int], ...], float]:
    """Chances of the numbers of matches by week."""
    found: dict[tuple[tuple[int, int], ...], float] = defaultdict(float)
    for chance, days in event.ways():
        counts: dict[int, int] = defaultdict(int)
        for day in days:
            counts[_week_in(weeks, day, season_start)] += 1
        found[tuple(sorted(counts.items()))] += chance
    return found


def _week_in(weeks: range, day: date, season_start: date) -> int:
    week = (day - season_start).days // 7
    return min(max(week, weeks[0]), weeks[-1])


def _chances_within(event: PlayedEvent, start: date, end: date) -> Chances:
    """Chances of 0, 1, 2, ... matches of an event on these days."""
    chances = np.zeros(Draw(event.draw).rounds + 1)
    for chance, days in event.ways():
        chances[sum(start <= day <= end for day in days)] += chance
    return chances


def _sum_of(each: Sequence[Chances]) -> Chances:
    total = np.ones(1)
    for chances in each:
        total = np.convolve(total, chances)
    return total


def _mean(chances: Chances) -> float:
    # Summed exactly: how a processor adds up an array differs in the last digit.
    return fsum(number * chance for number, chance in enumerate(chances.tolist()))


def _median(chances: Mapping[int, float]) -> int:
    total = 0.0
    for value in sorted(chances):
        total += chances[value]
        if total >= 0.5 - 1e-12:
            return value
    raise ValueError("chances add up to 1")
