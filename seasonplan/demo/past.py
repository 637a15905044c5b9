"""The demo's years before: seasons that were planned, lived and logged, up to a given day.

What was planned is laid out by the solver on calendars of those years; what then happened comes
from `simulation.py`. `loading.py` asks. Every log goes in as messages through the ordinary outbox,
in the writer's name and at the simulated moment.
"""

from __future__ import annotations

import csv
import io
import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import groupby
from random import Random
from typing import Any, Final
from zoneinfo import ZoneInfo

from seasonplan.academy.consent import give_consent
from seasonplan.academy.models import Academy, Person, Player, Role
from seasonplan.checkins.models import DayLog, EventCheckIn, Message, Opened, Reply
from seasonplan.checkins.outbox import MOST_MESSAGES, receive
from seasonplan.checkins.sharing import record_reads
from seasonplan.demo.academy import AMARA, CALENDAR, COACH, INES, SEASON_START, SECONDS, Trainee
from seasonplan.demo.simulation import (
    EventTold,
    Life,
    Outing,
    SessionTold,
    Span,
    Year,
    few_days,
    live,
)
from seasonplan.demo.training import fill_season, planned_weeks
from seasonplan.events.importing import import_file
from seasonplan.events.models import Event
from seasonplan.plans.laying_out import Material, code_of, gather, id_of, lay_out_plan, problem_from
from seasonplan.plans.models import Block, EventRole, LevelWorth, PlannedEvent, SeasonPlan
from seasonplan.plans.standing import put_in_force, start_plan
from seasonplan.science.layout.limits import PRESETS, limits_as_mapping, limits_from
from seasonplan.science.layout.problem import DEFAULT_WORTH
from seasonplan.science.layout.trips import trips

# The calendars of the years before hold what can be reached from home in half a day, and these.
NEAR: Final = frozenset(
    (
        "Austria", "Belgium", "Croatia", "France", "Germany", "Greece", "Italy", "Luxembourg",
        "Morocco", "Netherlands", "Portugal", "Spain", "Switzerland", "Tunisia", "Turkey",
    )
)  # fmt: skip
FAR: Final = frozenset(
    ("Dune Trophy", "Heron Open", "Hickory Trophy", "Persimmon Open", "Sugar Mill Open")
)

READERS: Final = (Role.COACH, Role.STAFF)
UNREAD_DAYS: Final = 4
"""What came in so lately nobody has opened yet."""

LATELY: Final = timedelta(weeks=4)
"""So long ago Amara began to log her sessions."""


@dataclass(frozen=True)
class PastSeason:
    """A season before the one that the demo plans; its calendar is the demo's, so many weeks
    earlier.

    `joined` names events that were played without a plan, where they fit and no rest is planned;
    the planned event number `ill_at` falls to an illness. With `logged` only so many events were
    logged, spread over the year, and neither days nor sessions. With `is_filled` its weeks were
    planned session by session.
    """

    trainee: Trainee
    name: str
    start: date
    end: date
    weeks_before: int
    preset: str
    limits: dict[str, object]
    targets: tuple[str, ...]
    build_up: tuple[str, ...]
    worth_by_level: dict[str, int]
    joined: tuple[str, ...] = ()
    ill_at: int | None = None
    logged: int | None = None
    strength: float = 0.48
    is_filled: bool = False


YEAR_2024: Final = (date(2024, 1, 1), date(2024, 12, 29), 157)
YEAR_2025: Final = (date(2024, 12, 30), date(2025, 12, 28), 105)
YEAR_2026: Final = (date(2025, 12, 29), date(2027, 1, 3), 52)

CONSENTED: Final = datetime(2023, 12, 29, 18, 30, tzinfo=UTC)

PAST_SEASONS: Final = (
    PastSeason(
        INES,
        "Season 2024",
        *YEAR_2024,
        "developing",
        {"max_events": 18, "max_run": 4, "quiet_weeks": 1, "competition_weeks": [2, 10]},
        targets=("Almond Tree Week", "Blue Shutter Trophy", "Iron Gate Trophy"),
        build_up=("Citrus Grove Cup", "Gondola Trophy"),
        worth_by_level={"international": 14, "national": 20, "regional": 18, "major": 2},
        joined=(
            "Saffron Trophy", "Limestone Week", "Fountain Court Trophy", "Alpine Meadow Open",
            "Gorge Weekend",
        ),
        ill_at=7,
        strength=0.48,
    ),
    PastSeason(
        INES,
        "Season 2025",
        *YEAR_2025,
        "standard",
        {"max_events": 22, "max_run": 4, "quiet_weeks": 1},
        targets=("Terracotta Open", "Blue Shutter Trophy", "Sundial Trophy"),
        build_up=("Olive Press Open", "Gondola Trophy"),
        worth_by_level={"international": 16, "national": 20, "regional": 14, "major": 3},
        joined=(
            "Cork Oak Open", "Lavender Road Cup", "Alpine Meadow Open", "Hickory Trophy",
            "Chandelier Cup",
        ),
        ill_at=11,
        strength=0.5,
    ),
    PastSeason(
        INES,
        "Season 2026",
        *YEAR_2026,
        "standard",
        {"max_events": 20, "max_run": 5, "quiet_weeks": 1},
        targets=("Terracotta Open", "Gondola Trophy", "Iron Gate Trophy"),
        build_up=("Lavender Road Cup", "Lemon House Trophy"),
        worth_by_level={"international": 18, "national": 20, "regional": 12, "major": 4},
        joined=(
            "Dune Trophy", "Limestone Week", "Lavender Road Cup", "Alpine Meadow Open",
            "Blue Shutter Trophy", "Stepping Stone Cup",
        ),
        ill_at=9,
        strength=0.52,
        is_filled=True,
    ),
    PastSeason(
        AMARA,
        "Season 2025",
        *YEAR_2025,
        "touring",
        {"max_events": 22},
        targets=("Brickyard Championships", "Lemon House Trophy"),
        build_up=(),
        worth_by_level={"international": 30, "national": 15, "regional": 3},
        logged=5,
    ),
    PastSeason(
        AMARA,
        "Season 2026",
        *YEAR_2026,
        "touring",
        {"max_events": 22},
        targets=("Seven Arches Open", "Iron Gate Trophy"),
        build_up=(),
        worth_by_level={"international": 30, "national": 15, "regional": 3},
        logged=1,
        is_filled=True,
    ),
)  # fmt: skip


def add_past(academy: Academy, *, today: date) -> bool:
    """Add the years before, with what was logged until `today` began, unless it is there.

    Returns whether anything was added. What somebody has planned or logged for these years stays
    as it is, and so does an academy whose players are no longer those of the demo.
    """
    players = {
        player.person.email: player
        for player in Player.objects.filter(
            academy=academy, person__email__in=(INES.email, AMARA.email)
        )
        .filter(home_base__isnull=False)
        .select_related("person", "academy", "home_base")
        if player.person
    }
    earlier = SeasonPlan.objects.filter(player__academy=academy, start__lt=SEASON_START)
    logs = Message.objects.filter(player__academy=academy)
    if len(players) < 2 or earlier.exists() or logs.exists():
        return False
    _import_calendars(academy)
    _consent(players[INES.email])
    for season in PAST_SEASONS:
        player = players[season.trainee.email]
        life = _plan_and_live(season, player, today=today)
        _tell_year(player, life, season, today=today)
    tell_season_under_way(players[INES.email], today=today)
    _recent(academy, players[AMARA.email], today=today)
    for player in Player.objects.filter(academy=academy):
        _read_by_the_team(player, before=today - timedelta(days=UNREAD_DAYS))
    _talk(players[INES.email], before=today - timedelta(days=UNREAD_DAYS))
    return True


# The plans -------------------------------------------------------------------------------------


def _import_calendars(academy: Academy) -> None:
    director = academy.memberships.filter(role=Role.DIRECTOR).select_related("person").first()
    for start, _, weeks_before in (YEAR_2024, YEAR_2025, YEAR_2026):
        import_file(
            academy=academy,
            person=director.person if director else None,
            file_name=f"calendar-{(start + timedelta(days=6)).year}.csv",
            content=past_calendar(CALENDAR.read_text(), weeks_before),
        )


def past_calendar(text: str, weeks_before: int) -> bytes:
    """The rows of the calendar file near home, and a few far ones, so many weeks earlier."""
    rows = csv.DictReader(io.StringIO(text))
    dates = ("Start", "End", "Entry deadline", "Withdrawal deadline")
    written = io.StringIO()
    out = csv.DictWriter(written, rows.fieldnames or (), lineterminator="\n")
    out.writeheader()
    for row in rows:
        if row["Country"] in NEAR or row["Event"] in FAR:
            moved = {
                name: (date.fromisoformat(row[name]) - timedelta(weeks=weeks_before)).isoformat()
                for name in dates
            }
            out.writerow(row | moved)
    return written.getvalue().encode()


def _plan_and_live(season: PastSeason, player: Player, *, today: date) -> Life:
    """Lay the season out as before it began, put it in force, and say what became of it."""
    plan = start_plan(
        player=player,
        name=season.name,
        start=season.start,
        end=season.end,
        limits=limits_from(limits_as_mapping(PRESETS[season.preset].limits) | season.limits),
    )
    LevelWorth.objects.bulk_create(
        LevelWorth(plan=plan, level=level, worth=worth)
        for level, worth in season.worth_by_level.items()
    )
    events = {
        event.name: event
        for event in Event.objects.filter(
            academy=player.academy, start__gte=season.start, end__lte=season.end
        )
    }
    chosen = [(name, EventRole.TARGET, DEFAULT_WORTH["target"]) for name in season.targets]
    chosen += [(name, EventRole.BUILD_UP, DEFAULT_WORTH["build-up"]) for name in season.build_up]
    PlannedEvent.objects.bulk_create(
        PlannedEvent(plan=plan, event=events[name], role=role, worth=worth)
        for name, role, worth in chosen
    )
    eve = datetime.combine(season.start - timedelta(days=1), time(17), UTC)
    lay_out_plan(plan, today=eve.date(), now=eve, seconds=SECONDS)
    put_in_force(plan, now=eve)
    if season.is_filled:
        fill_season(player, plan.start, plan.end)
    return _life(season, plan, today=today)


def _life(season: PastSeason, plan: SeasonPlan, *, today: date) -> Life:
    """What was really played: the plan without what fell to an illness, with what joined it."""
    material = gather(plan)
    planned = material.played
    ill_from = None
    done = list(planned)
    if season.ill_at is not None:
        start = planned[min(season.ill_at, len(planned) - 1)].start
        ill_from = start - timedelta(days=start.weekday())
        over = ill_from + timedelta(days=6)
        resting = {
            block.start + timedelta(days=n)
            for block in material.blocks
            if block.phase == Block.Phase.ACTIVE_REST
            for n in range(7 * block.weeks)
        }
        done = [e for e in planned if e.start > over or e.end < ill_from]
        for event in material.events:
            if (
                event.name in season.joined
                and event not in planned
                and (event.start > over or event.end < ill_from)
                and resting.isdisjoint((event.start, event.end))
                and all(event.start > e.end or event.end < e.start for e in planned)
            ):
                done.append(event)
        done.sort(key=lambda event: event.start)
    _mark_entries(plan, {event.pk for event in done}, today=today)
    return replace(_lived(material, done), ill_from=ill_from, strength=season.strength)


def _mark_entries(plan: SeasonPlan, done: set[int], *, today: date) -> None:
    rows = plan.planned_events.filter(played=True, event__start__lt=today)
    rows.filter(event_id__in=done).update(entry=PlannedEvent.Entry.ACCEPTED)
    rows.exclude(event_id__in=done).update(entry=PlannedEvent.Entry.WITHDRAWN)


def _lived(material: Material, done: Sequence[Event]) -> Life:
    """A plan's blocks with the events that were played, and what each journey asked."""
    plan, home = material.plan, material.home
    assert home is not None
    problem = problem_from(material, today=plan.start)
    by_code = {event.code: event for event in problem.events}
    made = trips(problem, [by_code[code_of(event.pk)] for event in done])
    return Life(
        start=plan.start,
        end=plan.end,
        timezone=home.timezone,
        spans=tuple(
            Span(
                block.phase,  # type: ignore[arg-type]
                block.start,
                block.start + timedelta(weeks=block.weeks, days=-1),
            )
            for block in material.blocks
        ),
        outings=tuple(
            Outing(
                code=trip.code,
                start=event.start,
                end=event.end,
                draw_size=event.draw_size or 32,
                timezone=event.place.timezone,
                zones_h=abs(trip.zones_minutes) / 60,
                missing_days=trip.missing_days,
                weather=_weather(event),
            )
            for event, trip in zip(done, made, strict=True)
        ),
        planned=planned_weeks(plan.player, plan.start, plan.end),
    )


def _weather(event: Event) -> str:
    if event.indoor:
        return "indoors"
    high = event.high_c if event.high_c is not None else 20
    return "hot" if high >= 29 else "warm" if high >= 23 else "mild" if high >= 14 else "cold"


# What was told ---------------------------------------------------------------------------------


def _consent(player: Player) -> None:
    guardian = player.team.filter(role=Role.GUARDIAN).select_related("person").first()
    if guardian and not player.consents.filter(withdrawn_at=None).exists():
        give_consent(player, by=guardian.person, now=CONSENTED)


def _tell_year(player: Player, life: Life, season: PastSeason, *, today: date) -> None:
    if season.logged is not None:
        life = replace(life, days_told=0, sessions_told=0, planned_told=0)
    seed = f"{season.trainee.name}, {season.name}"
    year = live(life, seed=seed)
    if season.logged is not None:
        every = max(1, len(year.events) // season.logged)
        year = replace(year, events=year.events[every // 2 :: every][: season.logged])
    _tell(player, player.person, year.before(today), seed=seed, today=today)


def tell_season_under_way(player: Player, *, today: date) -> None:
    """Log the season that the demo plans, as far as it has been lived: just as it was planned."""
    plan = SeasonPlan.objects.filter(
        player=player, start=SEASON_START, standing=SeasonPlan.Standing.IN_FORCE
    ).first()
    if plan is None or today <= plan.start:
        return
    material = gather(plan)
    seed = f"{INES.name}, {plan.name}"
    year = live(_lived(material, material.played), seed=seed).before(today)
    _tell(player, player.person, year, seed=seed, today=today)


def _recent(academy: Academy, amara: Player, *, today: date) -> None:
    """A few logs of the last weeks, so that there is something new to read: Amara's own, with the
    sessions of four weeks; those of a girl without a phone, by one of her coaches; and a boy's
    session, by the other one."""
    rome, madrid = "Europe/Rome", "Europe/Madrid"
    late_bus = few_days(
        before=today, days=12, timezone=rome, seed="late bus", note="Slept badly after the bus."
    )
    heavy_legs = few_days(
        before=today, days=9, timezone=madrid, seed="heavy legs", note="Says her legs are heavy."
    )
    yesterday = today - timedelta(days=1)
    at = datetime.combine(yesterday, time(19, 20), ZoneInfo(madrid))
    session = Year(sessions=(SessionTold(yesterday, at, "Match play", 90, 7),))
    late_bus = replace(late_bus, sessions=_trained_lately(amara, today=today))
    _tell(amara, amara.person, late_bus, seed="late bus", today=today)
    for name, email, year in (
        ("Mireia Solbes", "henrik@demo.example", heavy_legs),
        ("Kofi Arendal", COACH, session),
    ):
        player = Player.objects.filter(academy=academy, name=name).first()
        coach = Person.objects.filter(email=email).first()
        if player and coach:
            _consent(player)
            _tell(player, coach, year, seed=name, today=today)


def _trained_lately(player: Player, *, today: date) -> tuple[SessionTold, ...]:
    """The last sessions of the season in force, as far as it has been lived: as it was planned."""
    plan = SeasonPlan.objects.filter(
        player=player, standing=SeasonPlan.Standing.IN_FORCE, start__lt=today, end__gte=today
    ).first()
    if plan is None:
        return ()
    material = gather(plan)
    year = live(_lived(material, material.played), seed=f"{player.name}, {plan.name}")
    told = year.before(today).sessions
    return tuple(session for session in told if session.day >= today - LATELY)


def _tell(player: Player, author: Person | None, year: Year, *, seed: str, today: date) -> None:
    """Send all of it as the writer's phone would have done: once a week, in order, and the last of
    it before the morning of today."""
    assert author is not None
    morning = datetime.combine(today, time(6), UTC)
    keys = Random(f"{seed}, keys")  # noqa: S311 (keys of a public demo)
    messages = sorted(_messages(player, year, keys), key=lambda m: (m["written_at"], m["key"]))
    by_week = groupby(messages, key=lambda m: m["written_at"].isocalendar()[:2])
    for week in (list(group) for _, group in by_week):
        for first in range(0, len(week), MOST_MESSAGES):
            batch = week[first : first + MOST_MESSAGES]
            arrived = min(batch[-1]["written_at"] + timedelta(minutes=2), morning)
            sent = [m | {"written_at": m["written_at"].isoformat()} for m in batch]
            refused = [r for r in receive(author, sent, now=arrived) if r.status != "stored"]
            if refused:
                raise RuntimeError(f"the demo's own logs were not kept: {refused[0]}")


def _messages(player: Player, year: Year, keys: Random) -> Iterator[dict[str, Any]]:
    def message(kind: str, at: datetime, body: dict[str, Any], **about: Any) -> dict[str, Any]:
        key = _uuid(keys)
        written = at.astimezone(UTC)
        return {
            "key": key, "kind": kind, "player": player.pk, "written_at": written, "body": body,
        } | about  # fmt: skip

    for event in (*year.events, *year.under_way):
        if event.arrived_at:
            said = {"energy_before": event.energy_before}
            yield message("arrival", event.arrived_at, said, event=id_of(event.code))
    for event in year.events:
        yield message("event", event.told_at, _of_event(event), event=id_of(event.code))
    for day in year.days:
        body: dict[str, Any] = {
            name: getattr(day, name) for name in ("sleep", "freshness", "muscles", "calm", "mood")
        }
        if day.problem:
            body |= {"problem": day.problem, "problem_where": list(day.problem_where)}
        if day.trouble:
            asked = ("took_part", "changed_training", "hurt_performance", "symptoms")
            body |= dict(zip(asked, day.trouble, strict=True))
        if day.note:
            body["note"] = day.note
        yield message("day", day.told_at, body, day=day.day.isoformat())
    for session in year.sessions:
        body = {
            "what": session.what,
            "minutes": session.minutes,
            "effort": session.effort,
            "day": session.day.isoformat(),
        }
        if session.planned_key:
            body |= {"planned_key": session.planned_key, "as_planned": session.as_planned}
        about = session.planned_key or _uuid(keys)
        yield message("session", session.told_at, body, session=about)


def _of_event(event: EventTold) -> dict[str, Any]:
    body: dict[str, Any] = {
        "energy_after": event.energy_after,
        "rounds_won": event.rounds_won,
        "soreness": event.soreness,
        "sore_where": list(event.sore_where),
        "felt": event.felt,
        "sleep_last_h": event.sleep_last_h,
        "sleep_before_h": event.sleep_before_h,
        "weather": event.weather,
        "matches": [{"won": m.won, "minutes": m.minutes, "score": m.score} for m in event.matches],
        "went_well": event.went_well,
        "do_differently": event.do_differently,
    }
    if event.arrived_at is None:
        body["energy_before"] = event.energy_before
    return body


def _uuid(dice: Random) -> str:
    return str(uuid.UUID(int=dice.getrandbits(128), version=4))


# What the team did with it ---------------------------------------------------------------------


def _read_by_the_team(player: Player, *, before: date) -> None:
    """Coaches and staff of the player have opened what came in before that day, on the morning
    after; each reading of health is recorded, as the pages do it."""
    until = datetime.combine(before, time(), UTC)
    logs: list[EventCheckIn | DayLog] = [
        *EventCheckIn.objects.filter(player=player, last_arrived_at__lt=until),
        *DayLog.objects.filter(player=player, last_arrived_at__lt=until),
    ]
    logs.sort(key=lambda log: log.last_arrived_at)
    by_day = [(day, list(same)) for day, same in groupby(logs, _morning_after)]
    for number, reader in enumerate(player.team.filter(role__in=READERS).select_related("person")):
        opened = []
        for day, same in by_day:
            at = datetime.combine(day, time(7, 10 + 17 * number), UTC)
            record_reads(reader.person, player, same, now=at)
            for log in same:
                about = {"check_in" if isinstance(log, EventCheckIn) else "day_log": log}
                opened.append(Opened(person=reader.person, opened_at=at, **about))
        Opened.objects.bulk_create(opened)


def _morning_after(log: EventCheckIn | DayLog) -> date:
    return log.last_arrived_at.date() + timedelta(days=1)


def _talk(player: Player, *, before: date) -> None:
    """A short thread under the last check-in that was read."""
    rows = EventCheckIn.objects.filter(player=player, last_arrived_at__date__lt=before)
    check_in = rows.order_by("-last_arrived_at").first()
    coach = player.team.filter(role=Role.COACH).select_related("person").first()
    if check_in is None or coach is None:
        return
    asked = check_in.last_arrived_at + timedelta(hours=14)
    Reply.objects.bulk_create(
        (
            Reply(
                check_in=check_in,
                author=coach.person,
                text="Well fought. How were your legs in the last set?",
                written_at=asked,
            ),
            Reply(
                check_in=check_in,
                author=player.person,
                text="Fine until the third game, then heavy. I slept well, though.",
                written_at=asked + timedelta(hours=7),
            ),
        )
    )
