"""Academies of many players for the tests of the academy page and its bench; all invented."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID

from seasonplan.academy.models import Academy, HomeBase, Membership, Player
from seasonplan.checkins.models import DayLog, EventCheckIn, SessionLog
from seasonplan.events.models import Event
from seasonplan.plans.models import Block, BusyTime, PlannedEvent, SeasonPlan, TripCost
from seasonplan.science.weeks import monday_of
from seasonplan.training.models import TrainingSession, TrainingWeek
from tests.factories import EventFactory, PlaceFactory

PHASES = (("preparation", 6), ("pre-competition", 4), ("competition", 6), ("active rest", 2))
PLACES = (
    ("Lantern Bay", 41.4, 2.2),
    ("Orchard Town", 43.3, -2.0),
    ("Copper Hill", 47.4, 8.5),
    ("Windmill", 52.4, 4.9),
    ("Far Harbour", 38.7, -9.1),
)
SURFACES = ("clay", "hard", "grass")
DAY_LOGS = 29
SESSION_WEEKS = 2


def a_calendar(academy: Academy, *, start: date, events: int = 60) -> list[Event]:
    """So many events in order of start, spread over a year from `start`, a Monday."""
    places = [
        PlaceFactory(academy=academy, place_name=name, lat=lat, lon=lon)
        for name, lat, lon in PLACES
    ]
    return [
        EventFactory(
            academy=academy,
            place=places[n % len(places)],
            name=f"Weathervane Open {n}",
            start=(first := start + timedelta(weeks=n * 52 // events)),
            end=first + timedelta(days=5),
            surface=SURFACES[n % len(SURFACES)],
            level="regional",
            entry_deadline=first - timedelta(days=21),
            withdrawal_deadline=first - timedelta(days=7),
            entry_fee=40 + n,
        )
        for n in range(events)
    ]


def many_players(
    academy: Academy,
    number: int,
    events: list[Event],
    *,
    today: date,
    coaches: list[Membership],
    logs: bool = True,
) -> list[Player]:
    """So many more players, each with a season under way, twelve events, logs and training."""
    taken = Player.objects.filter(academy=academy).count()
    players = Player.objects.bulk_create(
        Player(academy=academy, name=f"Player {n:03} Fern", birth_date=date(2000, 3, n % 28 + 1))
        for n in range(taken, taken + number)
    )
    Player.team.through.objects.bulk_create(
        Player.team.through(player=player, membership=coaches[n % len(coaches)])
        for n, player in enumerate(players)
    )
    HomeBase.objects.bulk_create(
        HomeBase(
            player=player,
            place_name="Valencia",
            country="ES",
            lat=39.47,
            lon=-0.38,
            timezone="Europe/Madrid",
            surface="clay",
        )
        for player in players
    )
    start = events[0].start
    plans = SeasonPlan.objects.bulk_create(
        SeasonPlan(
            player=player,
            name="Season",
            start=start,
            end=start + timedelta(weeks=52, days=-1),
            standing="in force",
            limits={"budget": 900.0} if n % 3 == 0 else {},
        )
        for n, player in enumerate(players)
    )
    Block.objects.bulk_create(_blocks(plans))
    planned = [
        PlannedEvent(
            plan=plan,
            event=event,
            played=True,
            role="target" if i in (4, 9) else "open",
            entry="accepted" if (n + i) % 2 else "not entered",
        )
        for n, plan in enumerate(plans)
        for i, event in enumerate(events[n % 4 :: 4][:12])
    ]
    PlannedEvent.objects.bulk_create(planned)
    TripCost.objects.bulk_create(
        TripCost(player=row.plan.player, event=row.event, travel=120, night=60)
        for row in planned[::2]
    )
    BusyTime.objects.bulk_create(
        BusyTime(player=player, start=today + timedelta(days=60), end=today + timedelta(days=65))
        for player in players[::4]
    )
    if logs:
        _logs(players, planned, today)
    return players


def _blocks(plans: list[SeasonPlan]) -> list[Block]:
    blocks = []
    for plan in plans:
        monday = plan.start
        while monday < plan.end:
            for phase, weeks in PHASES:
                left = (plan.end - monday).days // 7 + 1
                if left > 0:
                    weeks = min(weeks, left)
                    blocks.append(Block(plan=plan, phase=phase, start=monday, weeks=weeks))
                    monday += timedelta(weeks=weeks)
    return blocks


def _logs(players: list[Player], planned: list[PlannedEvent], today: date) -> None:
    DayLog.objects.bulk_create(
        DayLog(
            player=player,
            day=(day := today - timedelta(days=back)),
            **_written(day),
            **_felt(n, back),
        )
        for n, player in enumerate(players)
        for back in range(DAY_LOGS)
    )
    EventCheckIn.objects.bulk_create(
        EventCheckIn(
            player=row.plan.player,
            event=row.event,
            energy_after=n % 11,
            **_written(row.event.end),
        )
        for n, row in enumerate(planned)
        if row.event.end < today - timedelta(days=20)
    )
    mondays = [monday_of(today) - timedelta(weeks=n) for n in range(SESSION_WEEKS)]
    weeks = TrainingWeek.objects.bulk_create(
        TrainingWeek(player=player, monday=monday) for player in players for monday in mondays
    )
    days = [(week, week.monday + timedelta(days=n)) for week in weeks for n in range(6)]
    TrainingSession.objects.bulk_create(
        TrainingSession(
            week=week, day=day, name="Rally build-up", court="on court", emphasis="technique",
            minutes=90, effort=5,
        )
        for week, day in days
    )  # fmt: skip
    SessionLog.objects.bulk_create(
        SessionLog(
            player=week.player, session=_key(n), day=day, what="Rally build-up", minutes=80,
            effort=5, **_written(day),
        )
        for n, (week, day) in enumerate(days)
        if n % 4
    )  # fmt: skip


def _felt(player: int, days_back: int) -> dict[str, int]:
    poor = player % 10 == 0 and days_back == 0
    step = 1 if poor else 4
    return dict.fromkeys(("sleep", "freshness", "muscles", "calm", "mood"), step)


def _written(day: date) -> dict[str, datetime]:
    at = datetime.combine(day, time(18), tzinfo=UTC)
    return {"first_written_at": at, "last_written_at": at, "last_arrived_at": at}


def _key(n: int) -> UUID:
    return UUID(int=n)
