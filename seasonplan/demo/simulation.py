"""What an invented player would have logged: a year of events, days and sessions, with luck.

Only the demo academy is filled with it (`past.py` asks). The numbers are invented too: they stand
for no real player and come from no study. They are made so that a look back on the year has
something true to find, and something that it must not claim. The truth of this little world:

- **Energy before an event** starts at 9. It falls by 1.4 for each event week among the four weeks
  before the event, by 0.5 for each hour of clock that was crossed and not settled (at most as many
  hours as days were missing), and by 1.5 in the three weeks after an illness. It rises by 0.6 for
  each week of active rest among the eight weeks before. Luck adds a spread of 0.9.
- **A match** is won with a chance of `strength` at an energy of 6, and 10 points more or less for
  each step of energy, but never below 12 nor above 88 of a hundred. The first loss ends the event.
  So results go with energy, moderately: most of a result is luck.
- **Energy remembered.** Now and then energy before is said only after the event. Then the result
  colours it: one more after two won rounds, one less after a first-round loss.
- **Soreness**, and how the muscles feel, follow the matches of the last 14 days.
- **Sleep** is noise: it goes with no result. The **surface** is not even asked for here.
- **The ill week** has no event and no training; sleep, freshness and mood are low in it.
- **Sessions** follow the phase; some are not written down. In weeks that were planned session by
  session they follow the plan: of those planned, 10 of a hundred are missed, 18 done with other
  minutes or another effort, the others as planned; nine of ten of those done are written down. At
  an event nothing is done that is more than light, whatever was planned for these days; its
  matches are told with the event, and in these weeks not as sessions too. On a day without
  anything, now and then, there is something extra, and never with a racket: so a planned week
  away from it was one.

Nothing reads a clock, and the same seed gives the same year. A year is always lived to its end, so
that a later `before` only adds to what was told by an earlier one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from functools import cached_property
from random import Random
from typing import Final, Literal
from zoneinfo import ZoneInfo

from seasonplan.science.draws import Draw
from seasonplan.science.week_target import LIGHT_EFFORT, PlannedSession
from seasonplan.science.weeks import event_weeks, monday_of

RESTED: Final = 9.0
EACH_EVENT_WEEK: Final = -1.4
EACH_HOUR_UNSETTLED: Final = -0.5
AFTER_ILLNESS: Final = -1.5
EACH_REST_WEEK: Final = 0.6
ENERGY_SPREAD: Final = 0.9
USUAL_ENERGY: Final = 6
CHANCE_EACH_STEP: Final = 0.1
WORST_CHANCE: Final = 0.12
BEST_CHANCE: Final = 0.88
REMEMBERED_LATE: Final = 0.15
MISSED: Final = 0.1
DONE_DIFFERENTLY: Final = 0.18
EXTRA: Final = 0.12

WEEK: Final = timedelta(weeks=1)
DAY: Final = timedelta(days=1)
RECENT_MATCH_DAYS: Final = 14

# A set's games for the loser, and how often it ends so: 6-0 is rare, 6-4 common.
SETS: Final = ((0, 1), (1, 2), (2, 4), (3, 5), (4, 6), (5, 2), (6, 3))

SORE_PLACES: Final = ("shoulder right", "lower back", "front of thigh", "calf", "knee right")
WENT_WELL: Final = (
    "First serve held up under pressure.",
    "Stayed patient in the long rallies.",
    "Came back from a set down.",
    "Good routine between the points.",
    "Moved well to the short ball.",
)
DO_DIFFERENTLY: Final = (
    "Eat earlier before the second match.",
    "Be braver on the return of the second serve.",
    "Ask for a practice court on arrival day.",
    "Start the warm-up sooner.",
    "Play more to the backhand.",
)
HEAVY_LEGS: Final = "Legs were heavy from the first match on: the weeks before were too full."

Phase = Literal["preparation", "pre-competition", "competition", "active rest"]
Planned = tuple[str, int, int]

# What, minutes and effort, from Monday to Sunday.
TRAINING: Final[dict[Phase, tuple[tuple[Planned, ...], ...]]] = {
    "preparation": (
        (("Endurance", 50, 6),),
        (("Tennis", 90, 5), ("Strength", 60, 6)),
        (("Movement", 45, 5),),
        (("Tennis", 90, 6),),
        (("Strength", 60, 7),),
        (("Tennis", 120, 6),),
        (),
    ),
    "pre-competition": (
        (("Explosive work", 45, 7),),
        (("Tennis", 90, 7),),
        (("Match play", 90, 7),),
        (("Explosive work", 40, 7),),
        (("Tennis", 75, 6),),
        (("Match play", 105, 8),),
        (),
    ),
    "competition": (
        (("Recovery", 30, 2),),
        (("Tennis", 75, 5),),
        (("Light strength", 40, 4),),
        (("Tennis", 75, 6),),
        (("Tennis", 60, 5),),
        (("Match play", 75, 6),),
        (),
    ),
    "active rest": (
        (),
        (("Swim", 40, 3),),
        (),
        (("Another sport", 60, 4),),
        (),
        (("Walk", 75, 2),),
        (),
    ),
}
EXTRAS: Final[tuple[Planned, ...]] = (
    ("Walk", 45, 2),
    ("Swim", 30, 3),
    ("Stretching", 20, 1),
    ("Bicycle ride", 40, 3),
)


# What is given ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Outing:
    """An event that the player goes to, and what the journey asks: `zones_h` hours of clock crossed
    either way, and the days that were missing to settle in."""

    code: str
    start: date
    end: date
    draw_size: int
    timezone: str
    zones_h: float
    missing_days: int
    weather: str


@dataclass(frozen=True, slots=True)
class Span:
    """The days of one block, both ends included."""

    phase: Phase
    start: date
    end: date


@dataclass(frozen=True)
class Life:
    """A season as it is lived: from a Monday to a Sunday, with the events in order of start.

    `strength` is the chance to win a match at an energy of 6; the shares say how much of what
    happens is written down. `planned` has the sessions of each week that was planned, by its
    Monday.
    """

    start: date
    end: date
    timezone: str
    spans: tuple[Span, ...]
    outings: tuple[Outing, ...]
    ill_from: date | None = None
    strength: float = 0.48
    days_told: float = 0.4
    sessions_told: float = 0.75
    planned_told: float = 0.9
    planned: Mapping[date, tuple[PlannedSession, ...]] = field(default_factory=dict)

    def phase(self, day: date) -> Phase | None:
        return next((s.phase for s in self.spans if s.start <= day <= s.end), None)

    def is_at_event(self, day: date) -> bool:
        return any(o.start <= day <= o.end for o in self.outings)

    def is_ill(self, day: date) -> bool:
        return self.ill_from is not None and self.ill_from <= day < self.ill_from + WEEK

    @cached_property
    def event_weeks(self) -> frozenset[int]:
        """Indexes of the season's weeks with an event."""
        return frozenset(
            week for o in self.outings for week in event_weeks(o.start, o.end, self.start)
        )

    def event_weeks_before(self, day: date) -> int:
        """Event weeks among the four weeks before the day's own."""
        week = (day - self.start).days // 7
        return len(self.event_weeks & set(range(week - 4, week)))

    def rest_weeks_before(self, day: date) -> int:
        """Weeks of active rest among the eight weeks before the day's own."""
        monday = day - timedelta(days=day.weekday())
        return sum(self.phase(monday - n * WEEK) == "active rest" for n in range(1, 9))


# What is told ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Match:
    day: date
    won: bool
    minutes: int
    score: str
    effort: int


@dataclass(frozen=True, slots=True)
class EventTold:
    """An event: `energy` is how it was, `energy_before` what was said of it, at `arrived_at` or,
    where that is None, only in the check-in at `told_at`."""

    code: str
    energy: float
    energy_before: int
    arrived_at: datetime | None
    told_at: datetime
    energy_after: int
    rounds: int
    rounds_won: int
    matches: tuple[Match, ...]
    soreness: int
    sore_where: tuple[str, ...]
    felt: int
    sleep_last_h: float
    sleep_before_h: float
    weather: str
    went_well: str
    do_differently: str


@dataclass(frozen=True, slots=True)
class DayTold:
    """A day on five steps each, where 5 is best; the four answers about trouble are None where no
    trouble was."""

    day: date
    told_at: datetime
    sleep: int
    freshness: int
    muscles: int
    calm: int
    mood: int
    problem: str = ""
    problem_where: tuple[str, ...] = ()
    trouble: tuple[int | None, int | None, int | None, int | None] | None = None
    note: str = ""
    wants_to_talk: bool = False


@dataclass(frozen=True, slots=True)
class SessionTold:
    """A session; `planned_key` names the planned one that it did, if any."""

    day: date
    told_at: datetime
    what: str
    minutes: int
    effort: int
    planned_key: str = ""
    as_planned: bool = False


@dataclass(frozen=True)
class Year:
    """All that was told, each kind in order of time. Of an event under way nothing but the energy
    before it has been told yet."""

    events: tuple[EventTold, ...] = ()
    under_way: tuple[EventTold, ...] = ()
    days: tuple[DayTold, ...] = ()
    sessions: tuple[SessionTold, ...] = ()

    def before(self, today: date) -> Year:
        """What had been told when `today` began."""

        def told(moment: datetime | None) -> bool:
            return moment is not None and moment.date() < today

        return Year(
            events=tuple(e for e in self.events if told(e.told_at)),
            under_way=tuple(e for e in self.events if told(e.arrived_at) and not told(e.told_at)),
            days=tuple(d for d in self.days if told(d.told_at)),
            sessions=tuple(s for s in self.sessions if told(s.told_at)),
        )


# Living ----------------------------------------------------------------------------------------


def live(life: Life, *, seed: str) -> Year:
    """The whole season with all that is told of it."""
    events = _events(life, _dice(seed, "events"))
    played = [match for event in events for match in event.matches]
    return Year(
        events=events,
        days=_days(life, played, _dice(seed, "days")),
        sessions=_sessions(life, played, _dice(seed, "sessions")),
    )


def few_days(*, before: date, days: int, timezone: str, seed: str, note: str) -> Year:
    """Ordinary day logs of the `days` days before, and a low one on the last of them."""
    dice = _dice(seed, "few days")
    told = []
    for back in range(days, 0, -1):
        day = before - back * DAY
        told.append(
            DayTold(
                day,
                _at(day, 20, dice, timezone),
                sleep=_step(dice, 4.0, 0.4),
                freshness=_step(dice, 4.0, 0.4),
                muscles=_step(dice, 4.0, 0.4),
                calm=_step(dice, 4.0, 0.4),
                mood=_step(dice, 4.1, 0.4),
            )
        )
    told[-1] = replace(told[-1], sleep=2, freshness=1, mood=2, note=note)
    return Year(days=tuple(told))


def energy_of(life: Life, outing: Outing) -> float:
    """Energy before an event without its luck, 0 to 10."""
    energy = RESTED + EACH_EVENT_WEEK * life.event_weeks_before(outing.start)
    energy += EACH_HOUR_UNSETTLED * min(outing.zones_h, outing.missing_days)
    energy += EACH_REST_WEEK * life.rest_weeks_before(outing.start)
    if life.ill_from and life.ill_from < outing.start < life.ill_from + 4 * WEEK:
        energy += AFTER_ILLNESS
    return _between(energy, 0, 10)


def chance_of(energy: float, strength: float) -> float:
    """Chance to win a match, 0.12 to 0.88. At an energy of 8 and a strength of 0.5: 0.7."""
    chance = strength + CHANCE_EACH_STEP * (energy - USUAL_ENERGY)
    return _between(chance, WORST_CHANCE, BEST_CHANCE)


def _dice(seed: str, what: str) -> Random:
    return Random(f"{seed}, {what}")  # noqa: S311 (luck in a made-up year keeps no secret)


def _events(life: Life, dice: Random) -> tuple[EventTold, ...]:
    told: list[EventTold] = []
    played: list[Match] = []
    for outing in life.outings:
        event = _event(life, outing, played, dice)
        played += event.matches
        told.append(event)
    return tuple(told)


def _event(life: Life, outing: Outing, earlier: Sequence[Match], dice: Random) -> EventTold:
    energy = _between(dice.gauss(energy_of(life, outing), ENERGY_SPREAD), 0, 10)
    matches = _matches(outing, chance_of(energy, life.strength), dice)
    won = sum(match.won for match in matches)
    late = dice.random() < REMEMBERED_LATE
    coloured = 0 if not late else 1 if won >= 2 else -1 if won == 0 else 0
    last_day = matches[-1].day
    sore = _whole(dice.gauss(0.5 + 0.5 * len(_recent([*earlier, *matches], last_day)), 0.8), 0, 10)
    return EventTold(
        code=outing.code,
        energy=energy,
        energy_before=_whole(energy + coloured, 0, 10),
        arrived_at=None if late else _at(outing.start, 8, dice, outing.timezone),
        told_at=_at(last_day, 20, dice, outing.timezone),
        energy_after=_whole(energy - 0.6 * len(matches) + dice.gauss(0, 0.8), 0, 10),
        rounds=Draw(outing.draw_size).rounds,
        rounds_won=won,
        matches=matches,
        soreness=sore,
        sore_where=(dice.choice(SORE_PLACES),) if sore >= 3 else (),
        felt=_step(dice, 2.4 + 0.6 * won, 0.6),
        sleep_last_h=_hours(dice, 7.8),
        sleep_before_h=_hours(dice, 8.2),
        weather=outing.weather,
        went_well=dice.choice(WENT_WELL) if dice.random() < 0.7 else "",
        do_differently=HEAVY_LEGS
        if energy < 4.5
        else dice.choice(DO_DIFFERENTLY)
        if dice.random() < 0.6
        else "",
    )


def _matches(outing: Outing, chance: float, dice: Random) -> tuple[Match, ...]:
    """Round after round until the first loss, spread over the days of the event."""
    rounds = Draw(outing.draw_size).rounds
    days = (outing.end - outing.start).days
    played = []
    for number in range(rounds):
        won = dice.random() < chance
        day = outing.start + timedelta(days=number * days // max(rounds - 1, 1))
        score, games = _score(won, dice)
        minutes = max(40, round(4.1 * games + dice.gauss(0, 6)))
        effort = _whole(5 + minutes / 45 + dice.gauss(0, 0.7), 4, 10)
        played.append(Match(day, won, minutes, score, effort))
        if not won:
            break
    return tuple(played)


def _score(won: bool, dice: Random) -> tuple[str, int]:
    """The score of a best of three sets from the player's side, and the games in it."""
    sets = [won, won]
    if dice.random() < 0.38:
        sets.insert(dice.randrange(2), not won)
    words, games = [], 0
    for mine in sets:
        [less] = dice.choices([g for g, _ in SETS], [often for _, often in SETS])
        more = 7 if less >= 5 else 6
        words.append(f"{more}-{less}" if mine else f"{less}-{more}")
        games += more + less
    return " ".join(words), games


def _days(life: Life, played: Sequence[Match], dice: Random) -> tuple[DayTold, ...]:
    told = []
    for day in _each_day(life):
        share, moment = dice.random(), _at(day, 20, dice, life.timezone)
        ill = life.is_ill(day)
        recent = len(_recent(played, day))
        at_event = life.is_at_event(day)
        log = DayTold(
            day,
            moment,
            sleep=_step(dice, 2.6 if ill else 3.8, 0.6),
            freshness=_step(dice, 2.0 if ill else 4.2 - 0.35 * life.event_weeks_before(day), 0.5),
            muscles=_step(dice, 4.6 - 0.22 * recent, 0.5),
            calm=_step(dice, 3.2 if at_event else 3.9, 0.5),
            mood=_step(dice, 2.3 if ill else 4.0, 0.5),
            problem="none",
        )
        hurts = dice.random() < 0.15
        if ill:
            log = _as_ill(log, days_in=(day - (life.ill_from or day)).days)
        elif recent >= 9 and hurts:
            log = replace(
                log, problem="injury", problem_where=("knee right",), trouble=(8, 8, 0, 8)
            )
        if share < (0.85 if ill else life.days_told):
            told.append(log)
    return tuple(told)


def _as_ill(log: DayTold, *, days_in: int) -> DayTold:
    if days_in < 4:
        note = "Fever and a sore throat." if days_in == 0 else ""
        return replace(log, problem="illness", trouble=(25, None, None, None), note=note)
    return replace(log, problem="illness", trouble=(17, 17, 8, 8))


def _sessions(life: Life, played: Sequence[Match], dice: Random) -> tuple[SessionTold, ...]:
    told: list[SessionTold] = []
    for day in _each_day(life):
        planned = life.planned.get(monday_of(day))
        if planned is None:
            told += _as_the_phase_asks(life, played, day, dice)
        else:
            of_the_day = [session for session in planned if session.day == day]
            told += _as_the_plan_asks(life, day, of_the_day, dice)
    return tuple(told)


def _as_the_phase_asks(
    life: Life, played: Sequence[Match], day: date, dice: Random
) -> Iterator[SessionTold]:
    for what, minutes, effort in _done_on(life, played, day):
        share, moment = dice.random(), _at(day, 18, dice, life.timezone)
        if what != "Match":
            minutes = max(20, 5 * round((minutes + dice.gauss(0, 8)) / 5))
            effort = _whole(effort + dice.gauss(0, 0.7), 1, 10)
        if share < life.sessions_told:
            yield SessionTold(day, moment, what, minutes, effort)


def _done_on(life: Life, played: Sequence[Match], day: date) -> list[Planned]:
    """What was done on a day: matches at an event, nothing when ill, else what the phase asks."""
    if life.is_at_event(day):
        return [("Match", m.minutes, m.effort) for m in played if m.day == day]
    phase = life.phase(day)
    if phase is None or life.is_ill(day):
        return []
    return list(TRAINING[phase][day.weekday()])


def _as_the_plan_asks(
    life: Life, day: date, planned: Sequence[PlannedSession], dice: Random
) -> Iterator[SessionTold]:
    if life.is_ill(day):
        return
    moment = _at(day, 18, dice, life.timezone)
    at_event = life.is_at_event(day)
    for session in planned:
        fate, share = dice.random(), dice.random()
        minutes, effort = session.minutes, session.effort_0_10
        is_too_hard = at_event and effort > LIGHT_EFFORT
        as_planned = fate >= MISSED + DONE_DIFFERENTLY
        if not as_planned:
            minutes = max(10, 5 * round((minutes + dice.gauss(-5, 12)) / 5))
            effort = _whole(effort + dice.choice((-1, 1)), 1, 10)
        if fate < MISSED or share >= life.planned_told or is_too_hard:
            continue
        yield SessionTold(day, moment, session.name, minutes, effort, session.key, as_planned)
    if planned or at_event:
        return
    fate, share = dice.random(), dice.random()
    what, minutes, effort = dice.choice(EXTRAS)
    if fate < EXTRA and share < life.planned_told:
        yield SessionTold(day, moment, what, minutes, effort)


# Small things ----------------------------------------------------------------------------------


def _each_day(life: Life) -> list[date]:
    return [life.start + n * DAY for n in range((life.end - life.start).days + 1)]


def _recent(played: Sequence[Match], day: date) -> list[Match]:
    """The matches of the 14 days up to this one."""
    return [m for m in played if day - RECENT_MATCH_DAYS * DAY < m.day <= day]


def _at(day: date, hour: int, dice: Random, timezone: str) -> datetime:
    """A moment in the hour, by the clock of the place."""
    return datetime.combine(day, time(hour, dice.randrange(60)), ZoneInfo(timezone))


def _between(value: float, lowest: float, highest: float) -> float:
    return max(lowest, min(highest, value))


def _whole(value: float, lowest: int, highest: int) -> int:
    return max(lowest, min(highest, round(value)))


def _step(dice: Random, mean: float, spread: float) -> int:
    return _whole(dice.gauss(mean, spread), 1, 5)


def _hours(dice: Random, mean: float) -> float:
    return round(2 * _between(dice.gauss(mean, 0.8), 4, 11)) / 2
