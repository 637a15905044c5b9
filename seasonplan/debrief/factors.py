"""What is known of each event beside its result, for the question of what went with what.

Every factor is worked out the same way for all events done, and is None where nobody knows. The
days since arrival, the missing days and the zones are those of the judge's trips through the events
done: when the player really landed is not logged.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from seasonplan.debrief.year import EventOfYear, Session, Year
from seasonplan.science.association import Factor
from seasonplan.science.words import N_

LOAD_DAYS: Final = 14
USUAL_DAYS: Final = 28
"""Load of two weeks is held against the four weeks before them; the two do not overlap."""

WEEKS_BACK: Final = 4
MATCH_DAYS: Final = 14


@dataclass(frozen=True)
class Asked:
    """One factor in English: its name, alone and within a sentence, what more of it is called, and
    what it is and how it was found. Who says it translates it.

    `but` is what else explains it, for a factor that the result itself may have made.
    """

    name: str
    within: str
    more: str
    meaning: str
    of: Callable[[Year, int], float | None]
    health: bool = False
    groups: bool = False
    but: str = ""

    def factor(self, year: Year) -> Factor:
        """Its values for all events done, in order of time."""
        return Factor(
            self.name,
            tuple(self.of(year, at) for at in range(len(year.done))),
            groups=self.groups,
        )


def factors(year: Year) -> tuple[Factor, ...]:
    """All factors that this reader may see, in the order of `ASKED`."""
    return tuple(asked.factor(year) for asked in ASKED if year.reads_health or not asked.health)


def _energy(year: Year, at: int) -> float | None:
    return year.done[at].energy_before


def _soreness(year: Year, at: int) -> float | None:
    return year.done[at].soreness


def _sleep(year: Year, at: int) -> float | None:
    return year.done[at].sleep_h


def days_since_arrival(year: Year, at: int) -> float | None:
    trip = year.done[at].trip
    return (year.done[at].start - trip.arrive).days if trip else None


def missing_days(year: Year, at: int) -> float | None:
    trip = year.done[at].trip
    return trip.missing_days if trip else None


def week_of_run(year: Year, at: int) -> float:
    """1 for an event after a week without one, 2 for the second event week in a row, and on."""
    busy = _event_weeks(year.done)
    week = year.done[at].weeks.start
    run = 1
    while week - run in busy:
        run += 1
    return run


def weeks_of_last_four(year: Year, at: int) -> float:
    busy = _event_weeks(year.done)
    week = year.done[at].weeks.start
    return sum(week - back in busy for back in range(1, WEEKS_BACK + 1))


def load_against_usual(year: Year, at: int) -> float | None:
    """Load a day of the 14 days before the event, over that of the 28 days before those.

    None where the sessions logged do not reach back so far, or where those 28 days have no load.
    """
    start = year.done[at].start
    turn, first = start - timedelta(days=LOAD_DAYS), start - timedelta(days=LOAD_DAYS + USUAL_DAYS)
    if not year.sessions or year.sessions[0].day > first:
        return None
    usual = _load(year.sessions, first, turn) / USUAL_DAYS
    return _load(year.sessions, turn, start) / LOAD_DAYS / usual if usual else None


def surface_changed(year: Year, at: int) -> float | None:
    event = year.done[at]
    return float(event.surface != event.surface_before) if event.surface_before else None


def zones_crossed(year: Year, at: int) -> float | None:
    trip = year.done[at].trip
    return abs(trip.zones_minutes) / 60 if trip else None


def matches_before(year: Year, at: int) -> float:
    """Matches of events that ended in the 14 days before; where none were logged, by the result.

    A result of 3 rounds won stands for 4 matches, a title for as many as rounds.
    """
    start = year.done[at].start
    return sum(
        _matches(event)
        for event in year.done
        if start - timedelta(days=MATCH_DAYS) <= event.end < start
    )


def _in_peak(year: Year, at: int) -> float | None:
    return float(year.done[at].in_peak) if year.as_planned else None


ASKED: Final[tuple[Asked, ...]] = (
    Asked(
        N_("Energy before"),
        N_("energy before"),
        N_("more energy"),
        N_("0 to 10, said before the first match; some say it late, when the result is known."),
        _energy,
        health=True,
    ),
    Asked(
        N_("Soreness"),
        N_("soreness"),
        N_("more soreness"),
        N_("0 to 10, asked after the event, so that the result colours it."),
        _soreness,
        health=True,
        but=N_("asked afterwards, and who wins more plays more"),
    ),
    Asked(
        N_("Sleep"),
        N_("sleep"),
        N_("more sleep"),
        N_(
            "Hours a night, mean of the last two nights before the event, as far as they were said."
        ),
        _sleep,
        health=True,
    ),
    Asked(
        N_("Days since arrival"),
        N_("days since arrival"),
        N_("more days on site"),
        N_("Days from the planned arrival to the first day of the event."),
        days_since_arrival,
    ),
    Asked(
        N_("Missing days to settle in"),
        N_("missing days to settle in"),
        N_("more days missing"),
        N_("Days that travel, clock, heat, altitude and surface needed beyond those there were."),
        missing_days,
    ),
    Asked(
        N_("Week of the run"),
        N_("week of the run"),
        N_("a later week of a run"),
        N_("1 after a week without an event, 2 in the second event week in a row, and so on."),
        week_of_run,
    ),
    Asked(
        N_("Event weeks in the last four"),
        N_("event weeks in the last four"),
        N_("more event weeks before it"),
        N_("How many of the four weeks before the event were event weeks."),
        weeks_of_last_four,
    ),
    Asked(
        N_("Training load before"),
        N_("training load before"),
        N_("more load than usual"),
        N_(
            "Load a day of the sessions logged in the 14 days before, over that of the 28 days "
            "before those; 1 is as usual. A change in load, no measure of risk."
        ),
        load_against_usual,
    ),
    Asked(
        N_("Surface changed"),
        N_("surface changed"),
        N_("a change of surface"),
        N_("Whether the event before, or home, had another surface."),
        surface_changed,
        groups=True,
    ),
    Asked(
        N_("Time zones crossed"),
        N_("time zones crossed"),
        N_("more time zones"),
        N_("Hours of the clock between this event and the place the player came from."),
        zones_crossed,
    ),
    Asked(
        N_("Matches in the last 14 days"),
        N_("matches in the last 14 days"),
        N_("more matches before it"),
        N_(
            "Matches of events that ended in the 14 days before; by the result where none were "
            "logged."
        ),
        matches_before,
    ),
    Asked(
        N_("In a planned peak window"),
        N_("in a planned peak window"),
        N_("a planned peak window"),
        N_("Whether one of the event’s weeks lies in a peak window of the plan."),
        _in_peak,
        groups=True,
    ),
)
"""All that is looked at beside the results; the correction for looking at many counts them."""


def _event_weeks(done: Sequence[EventOfYear]) -> frozenset[int]:
    return frozenset(week for event in done for week in event.weeks)


def _load(sessions: Sequence[Session], first: date, before: date) -> float:
    return sum(session.load for session in sessions if first <= session.day < before)


def _matches(event: EventOfYear) -> int:
    if event.matches:
        return event.matches
    if event.rounds_won is None:
        return 0
    draw = event.draw
    won_all = draw is not None and event.rounds_won == draw.rounds
    return event.rounds_won + (0 if won_all else 1)
