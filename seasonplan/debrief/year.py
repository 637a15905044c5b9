"""One season of a player as it was planned and as it became, gathered for the figures.

What was planned is the first plan of the season that was put in force; what was done are the events
that the player checked in from, whether the plan had them or not. Roles, blocks and peak windows
are those of the plan in force. What a log says about health is here only where the reader may read
it, so that nothing further up can show it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean
from typing import Any, Final

from django.db.models import Count, Q, Sum

from seasonplan.academy.consent import consent_standing
from seasonplan.academy.models import HomeBase
from seasonplan.checkins.models import EventCheckIn, SessionLog
from seasonplan.checkins.sharing import Part, Reading, reading
from seasonplan.debrief.access import Seat
from seasonplan.events.models import Event
from seasonplan.plans.laying_out import Material, code_of, id_of, problem_from, science_blocks
from seasonplan.plans.models import EventRole, PlannedEvent, SeasonPlan
from seasonplan.plans.planner import season_name
from seasonplan.science.draws import Draw
from seasonplan.science.layout.rules import Judgement, judge
from seasonplan.science.layout.trips import Trip
from seasonplan.science.load import session_load
from seasonplan.science.season_matches import HALF
from seasonplan.science.weeks import Week, event_weeks, season_weeks

LOAD_BEFORE_DAYS: Final = 42
"""How far before the season sessions are read: two weeks of load, and four that they follow."""


@dataclass(frozen=True)
class EventOfYear:
    """One event, planned or done or both; None is what nobody said, or what is not for the reader.

    `rounds_won` counts a bye as a round; `had_bye` is read from the matches that were logged.
    `matches` and `minutes` are those logged. `trip` is the way to it in the chain of events done,
    `weeks` are indexes of the season's weeks.
    """

    id: int
    name: str
    place: str
    start: date
    end: date
    surface: str
    level: str
    draw_size: int | None
    role: str
    phase: str
    planned: bool
    in_plan: bool
    done: bool
    withdrawn: bool
    in_peak: bool
    weeks: range
    rounds_won: int | None
    had_bye: bool
    matches: int
    matches_won: int
    minutes: int | None
    energy_before: int | None
    energy_before_late: bool
    energy_after: int | None
    soreness: int | None
    sleep_h: float | None
    trip: Trip | None
    surface_before: str

    @property
    def draw(self) -> Draw | None:
        """The draw, where it is known and holds the result."""
        if self.draw_size is None or self.rounds_won is None:
            return None
        draw = Draw(self.draw_size)
        return draw if self.rounds_won <= draw.rounds else None

    @property
    def share_won(self) -> float | None:
        """Rounds won of those that could be won, 0 to 1; a bye counts as neither."""
        draw, rounds = self.draw, self.rounds_won
        if draw is None or rounds is None:
            return None
        return draw.share_won(rounds, had_bye=self.had_bye)

    def above_expectation(self, chances: Mapping[str, float]) -> float | None:
        """Rounds won beyond the average of the level's win chance, one half where none is set."""
        draw, rounds = self.draw, self.rounds_won
        if draw is None or rounds is None:
            return None
        chance = chances.get(self.level, HALF)
        return draw.above_expectation(rounds, chance, had_bye=self.had_bye)


@dataclass(frozen=True)
class Session:
    day: date
    minutes: int
    load: float


@dataclass(frozen=True)
class EarlierSeason:
    """Another season of the player's, in short: what is known of each event done in it."""

    plan_id: int
    name: str
    start: date
    events: tuple[EventOfYear, ...]


@dataclass(frozen=True)
class Year:
    """All that the figures are made of. The two judgements are None without a home base.

    `as_planned` judges the first plan of the season, `as_done` the events done; `phases` has one
    entry a week. `read` are the logs of which more than the result is in here.
    """

    plan: SeasonPlan
    today: date
    weeks: tuple[Week, ...]
    phases: tuple[str, ...]
    peak_weeks: frozenset[int]
    events: tuple[EventOfYear, ...]
    as_planned: Judgement | None
    as_done: Judgement | None
    sessions: tuple[Session, ...]
    reads_health: bool
    read: tuple[EventCheckIn, ...]
    seasons: tuple[EarlierSeason, ...]

    @property
    def done(self) -> tuple[EventOfYear, ...]:
        """Events done, in order of time."""
        return tuple(event for event in self.events if event.done)


def gather_year(plan: SeasonPlan, seat: Seat, *, today: date) -> Year:
    """Read a plan in force and what became of it, for this seat, in a fixed number of queries.

    One fewer each where the plan's player comes with `academy` and `home_base`.
    """
    player = plan.player
    allowed = reading(
        player,
        consent_standing(player, today=today),
        is_player=seat.plays,
        roles=seat.roles,
    )
    logs = _check_ins(player.pk)
    rows = _planned_rows(player.pk)
    plans = {row.plan_id: row.plan for row in rows} | {plan.pk: plan}
    seasons = sorted(
        (p for p in plans.values() if p.standing == SeasonPlan.Standing.IN_FORCE),
        key=lambda p: p.start,
    )
    own = [log for log in logs if _within(log.event, plan)]
    here = _Season(plan, rows, own, allowed, today)
    blocks = tuple(plan.blocks.all())
    home: HomeBase | None = getattr(player, "home_base", None)
    as_planned = as_done = None
    peaks: frozenset[int] = frozenset()
    if home is not None:
        material = here.material(home, blocks)
        problem = problem_from(material, today=today)
        spans = science_blocks(blocks)
        in_force = judge(problem, here.codes(here.in_plan), spans)
        as_planned = (
            in_force
            if here.planned == here.in_plan
            else judge(problem, here.codes(here.planned), spans)
        )
        as_done = judge(problem, here.codes(here.logs), spans)
        peaks = frozenset(
            (monday - plan.start).days // 7
            for peak in in_force.peaks
            for monday in _mondays(peak.start, peak.end)
        )
    weeks = season_weeks(plan.start, plan.end)
    phases = _phases(blocks, weeks)
    trips = {id_of(trip.code): trip for trip in as_done.trips} if as_done else {}
    return Year(
        plan=plan,
        today=today,
        weeks=weeks,
        phases=phases,
        peak_weeks=peaks,
        events=here.events(trips, phases, peaks, home.surface if home else ""),
        as_planned=as_planned,
        as_done=as_done,
        sessions=_sessions(plan),
        reads_health=any(Part.HEALTH in allowed.of(log) for log in logs)
        if logs
        else Part.HEALTH in allowed.now,
        read=tuple(log for log in logs if Part.HEALTH in allowed.of(log) and _says_more(log)),
        seasons=tuple(
            EarlierSeason(
                other.pk,
                season_name(other.start, other.end),
                other.start,
                _Season(
                    other, rows, [log for log in logs if _within(log.event, other)], allowed, today
                ).events({}, (), frozenset(), ""),
            )
            for other in seasons
        ),
    )


def levels_of(plan: SeasonPlan) -> set[str]:
    """Levels of the events done in the season, as the academy calls them; "" for none."""
    logs = EventCheckIn.objects.filter(
        player_id=plan.player_id, event__start__gte=plan.start, event__end__lte=plan.end
    )
    return set(logs.order_by().values_list("event__level", flat=True))


class _Season:
    """One season's rows, sorted by event."""

    def __init__(
        self,
        plan: SeasonPlan,
        rows: Sequence[PlannedEvent],
        logs: Iterable[Any],
        reading: Reading,
        today: date,
    ) -> None:
        self.plan = plan
        self.reading = reading
        self.today = today
        self.logs = {log.event_id: log for log in logs}
        same = [row for row in rows if row.plan.start == plan.start]
        self.rows = {row.event_id: row for row in same if row.plan_id == plan.pk}
        since = {row.plan_id: row.plan.in_force_since for row in same if row.plan.in_force_since}
        first = min(since, key=lambda pk: since[pk], default=plan.pk)
        self.planned = {row.event_id for row in same if row.plan_id == first and row.played}
        self.in_plan = {row.event_id for row in self.rows.values() if row.played}
        known = {row.event_id: row.event for row in same}
        known |= {log.event_id: log.event for log in self.logs.values()}
        self.all = sorted(
            (event for event in known.values() if _within(event, plan)),
            key=lambda event: (event.start, event.end, event.pk),
        )

    def codes(self, ids: Iterable[int]) -> list[str]:
        inside = {event.pk for event in self.all}
        return [code_of(pk) for pk in ids if pk in inside]

    def material(self, home: HomeBase, blocks: tuple[Any, ...]) -> Material:
        """What the judge needs, of the events of the year alone."""
        return Material(
            plan=self.plan,
            home=home,
            events=tuple(self.all),
            planned=self.rows,
            busy=(),
            blocks=blocks,
            worth_by_level={},
            in_force=None,
        )

    def events(
        self,
        trips: Mapping[int, Trip],
        phases: Sequence[str],
        peaks: frozenset[int],
        home_surface: str,
    ) -> tuple[EventOfYear, ...]:
        surfaces = {code_of(event.pk): event.surface for event in self.all}
        made = []
        for event in self.all:
            log, row = self.logs.get(event.pk), self.rows.get(event.pk)
            weeks = event_weeks(event.start, event.end, self.plan.start)
            first = min(max(weeks.start, 0), len(phases) - 1)
            trip = trips.get(event.pk)
            health = log if log is not None and Part.HEALTH in self.reading.of(log) else None
            made.append(
                EventOfYear(
                    id=event.pk,
                    name=event.name,
                    place=event.place.place_name,
                    start=event.start,
                    end=event.end,
                    surface=event.surface,
                    level=event.level,
                    draw_size=event.draw_size,
                    role=row.role if row else EventRole.OPEN.value,
                    phase=phases[first] if phases else "",
                    planned=event.pk in self.planned,
                    in_plan=event.pk in self.in_plan,
                    done=log is not None,
                    withdrawn=bool(row and row.entry == PlannedEvent.Entry.WITHDRAWN),
                    in_peak=any(week in peaks for week in weeks),
                    weeks=weeks,
                    rounds_won=log.rounds_won if log else None,
                    had_bye=_had_bye(log, event),
                    matches=log.matches_played if log else 0,
                    matches_won=log.matches_won if log else 0,
                    minutes=log.minutes_played if log else None,
                    energy_before=health.energy_before if health else None,
                    energy_before_late=bool(health and health.energy_before_late),
                    energy_after=health.energy_after if health else None,
                    soreness=health.soreness if health else None,
                    sleep_h=_sleep(health) if health else None,
                    trip=trip,
                    surface_before=surfaces.get(trip.origin, home_surface) if trip else "",
                )
            )
        return tuple(made)


def _check_ins(player_id: int) -> list[Any]:
    """All check-ins of the player's, of this season and of others, the first event first."""
    return list(
        EventCheckIn.objects.filter(player_id=player_id)
        .select_related("event__place")
        .annotate(
            matches_played=Count("matches"),
            matches_won=Count("matches", filter=Q(matches__won=True)),
            minutes_played=Sum("matches__minutes"),
        )
        .order_by("event__start", "event__end", "pk")
    )


def _planned_rows(player_id: int) -> list[Any]:
    """What the plans that are or were in force had in them, or had withdrawn from; what did not
    take place is nobody's to miss."""
    standings = (SeasonPlan.Standing.IN_FORCE, SeasonPlan.Standing.REPLACED)
    return list(
        PlannedEvent.objects.filter(
            plan__player_id=player_id, plan__standing__in=standings, event__cancelled=False
        )
        .filter(Q(played=True) | Q(entry=PlannedEvent.Entry.WITHDRAWN))
        .select_related("plan", "event__place")
    )


def _sessions(plan: SeasonPlan) -> tuple[Session, ...]:
    rows = SessionLog.objects.filter(
        player_id=plan.player_id,
        day__gte=plan.start - timedelta(days=LOAD_BEFORE_DAYS),
        day__lte=plan.end,
    ).order_by("day", "pk")
    return tuple(
        Session(day, minutes, session_load(minutes, effort))
        for day, minutes, effort in rows.values_list("day", "minutes", "effort")
    )


def _within(event: Event, plan: SeasonPlan) -> bool:
    return plan.start <= event.start and event.end <= plan.end


def _had_bye(log: Any, event: Event) -> bool:
    """One match fewer was won than rounds, in a draw that has byes."""
    if log is None or not log.rounds_won or not log.matches_played or event.draw_size is None:
        return False
    return Draw(event.draw_size).byes > 0 and log.matches_won == log.rounds_won - 1


def _sleep(log: Any) -> float | None:
    nights = [hours for hours in (log.sleep_last_h, log.sleep_before_h) if hours is not None]
    return fmean(nights) if nights else None


def _says_more(log: Any) -> bool:
    """Whether the figures show more of this log than its result."""
    said = (log.energy_before, log.energy_after, log.soreness, _sleep(log))
    return any(value is not None for value in said)


def _mondays(start: date, end: date) -> list[date]:
    return [start + timedelta(weeks=week) for week in range((end - start).days // 7 + 1)]


def _phases(blocks: Iterable[Any], weeks: Sequence[Week]) -> tuple[str, ...]:
    """The phase of each week, empty where no block holds it."""
    phases = [""] * len(weeks)
    for block in blocks:
        first = (block.start - weeks[0].start).days // 7
        for week in range(max(first, 0), min(first + block.weeks, len(weeks))):
            phases[week] = block.phase
    return tuple(phases)
