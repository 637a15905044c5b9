"""An invented academy of any size, written straight into the database, for measuring under load.

`make_academy` makes players with three seasons each, the plans of all seasons, day and session logs
of the last months with the messages behind them, and planned weeks around today. Everything follows
from the seed. `sign_everybody_in` makes the sessions that drivers send along.
"""

from __future__ import annotations

import random
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from django.utils import timezone

from seasonplan.academy.models import Academy, HomeBase, Membership, Person, Player
from seasonplan.checkins.models import DayLog, EventCheckIn, Message, SessionLog
from seasonplan.events.importing import import_file
from seasonplan.events.models import Event
from seasonplan.plans.models import Block, PlannedEvent, SeasonPlan
from seasonplan.plans.standing import copy_plan
from seasonplan.training.models import TrainingSession, TrainingWeek
from tests.browser.stage import BLOCKS, CALENDAR, PLAYED, TARGETS

SEASON_WEEKS = 52
DAYS_LOGGED = 120
SESSIONS_LOGGED = 60
WEEKS_PLANNED = 6
PLAYERS_A_COACH = 10
FIRST = ("Ada", "Bo", "Cleo", "Dan", "Eve", "Finn", "Gia", "Hal", "Ida", "Jon")
LAST = ("Ash", "Birch", "Cedar", "Elm", "Fir")
BATCH = 2000


@dataclass(frozen=True)
class Big:
    """What drivers need to know: who is there, and which working copies are edited."""

    academy: Academy
    director: Person
    coaches: list[Person]
    players: list[Player]
    copies: list[SeasonPlan]


def make_academy(*, players: int, today: date, seed: int = 27) -> Big:
    dice = random.Random(seed)
    academy = Academy.objects.create(name="Big Meadow Tennis", consent_age=13)
    director = _people(["director"])[0]
    coaches = _people([f"coach{n}" for n in range(-(-players // PLAYERS_A_COACH))])
    own = _people([f"player{n}" for n in range(players)])
    Membership.objects.create(academy=academy, person=director, role="director")
    Membership.objects.bulk_create(
        Membership(academy=academy, person=person, role="coach") for person in coaches
    )
    Membership.objects.bulk_create(
        Membership(academy=academy, person=person, role="player") for person in own
    )
    made = Player.objects.bulk_create(
        Player(
            academy=academy,
            person=person,
            name=f"{FIRST[n % 10]} {LAST[n // 10 % 5]} {n}",
            birth_date=today - timedelta(days=365 * dice.randint(14, 19) + 40),
        )
        for n, person in enumerate(own)
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
        for player in made
    )
    by_coach = list(academy.memberships.filter(role="coach").order_by("pk"))
    Player.team.through.objects.bulk_create(
        Player.team.through(player=player, membership=by_coach[n // PLAYERS_A_COACH])
        for n, player in enumerate(made)
    )
    events = _calendar(academy, director)
    in_force = _plans(made, events)
    copies = [copy_plan(in_force[n], name="What if") for n in range(0, len(made), PLAYERS_A_COACH)]
    _logs(made, events, today, dice)
    _weeks(made, today, dice)
    return Big(academy, director, coaches, made, copies)


def _people(names: list[str]) -> list[Person]:
    rows = [Person(email=f"{name}@load.example", name=name.capitalize()) for name in names]
    for row in rows:
        row.set_unusable_password()
    return Person.objects.bulk_create(rows)


def _shift(season: int) -> timedelta:
    """From the template's season, the last of three, to this one (0, 1 or 2)."""
    return timedelta(weeks=SEASON_WEEKS * (season - 2))


def _calendar(academy: Academy, by: Person) -> list[dict[str, Event]]:
    """The events of each of the three seasons, by name."""
    content = CALENDAR.read_bytes()
    import_file(academy=academy, person=by, file_name=CALENDAR.name, content=content)
    last = list(Event.objects.filter(academy=academy))
    seasons = []
    for season in range(2):
        rows = []
        for event in last:
            values = {
                field.attname: getattr(event, field.attname)
                for field in Event._meta.concrete_fields
                if not field.primary_key and field.name not in ("source", "imported")
            }
            for name, value in values.items():
                if isinstance(value, date) and not isinstance(value, datetime):
                    values[name] = value + _shift(season)
            rows.append(Event(**values))
        seasons.append(Event.objects.bulk_create(rows))
    return [{event.name: event for event in season} for season in (*seasons, last)]


def _plans(players: list[Player], events: list[dict[str, Event]]) -> list[SeasonPlan]:
    """Three seasons in force for each player; the last of each is returned."""
    plans = [
        SeasonPlan(
            player=player,
            name=f"Season {BLOCKS[0][1].year + season - 2}",
            start=BLOCKS[0][1] + _shift(season),
            end=BLOCKS[0][1] + _shift(season) + timedelta(weeks=SEASON_WEEKS, days=-1),
            standing="in force",
            in_force_since=timezone.now(),
        )
        for player in players
        for season in range(3)
    ]
    plans = SeasonPlan.objects.bulk_create(plans, batch_size=BATCH)
    Block.objects.bulk_create(
        (
            Block(plan=plan, phase=phase, start=start + _shift(n % 3), weeks=weeks)
            for n, plan in enumerate(plans)
            for phase, start, weeks in BLOCKS
        ),
        batch_size=BATCH,
    )
    PlannedEvent.objects.bulk_create(
        (
            PlannedEvent(
                plan=plan,
                event=events[n % 3][name],
                played=True,
                role="target" if name in TARGETS else "open",
            )
            for n, plan in enumerate(plans)
            for name in PLAYED
        ),
        batch_size=BATCH,
    )
    return plans[2::3]


def _evening(day: date) -> datetime:
    return datetime.combine(day, time(19), UTC)


def _logs(
    players: list[Player], events: list[dict[str, Event]], today: date, dice: random.Random
) -> None:
    days, sessions, messages, check_ins = [], [], [], []
    for player in players:
        for back in range(1, DAYS_LOGGED + 1):
            day = today - timedelta(days=back)
            steps = {name: dice.randint(2, 5) for name in ("sleep", "freshness", "mood", "calm")}
            days.append(DayLog(player=player, day=day, **steps, **_written(day)))
            messages.append(_message(player, "day", steps, day, day=day))
        for n in range(SESSIONS_LOGGED):
            day = today - timedelta(days=1 + 2 * n)
            said = {"minutes": dice.randrange(40, 150, 5), "effort": dice.randint(3, 8)}
            key = uuid.UUID(int=dice.getrandbits(128), version=4)
            sessions.append(
                SessionLog(
                    player=player, session=key, day=day, what="Court", **said, **_written(day)
                )
            )
            body = {"day": day.isoformat(), "what": "Court", **said}
            messages.append(_message(player, "session", body, day, session=key))
        check_ins += [
            EventCheckIn(
                player=player,
                event=season[name],
                energy_after=dice.randint(3, 9),
                rounds_won=dice.randint(0, 3),
                **_written(season[name].end),
            )
            for season in events
            for name in PLAYED
            if season[name].end < today
        ]
    DayLog.objects.bulk_create(days, batch_size=BATCH)
    SessionLog.objects.bulk_create(sessions, batch_size=BATCH)
    EventCheckIn.objects.bulk_create(check_ins, batch_size=BATCH)
    Message.objects.bulk_create(messages, batch_size=BATCH)


def _written(day: date) -> dict[str, Any]:
    at = _evening(day)
    return {"first_written_at": at, "last_written_at": at, "last_arrived_at": at}


def _message(player: Player, kind: str, body: dict[str, Any], on: date, **about: Any) -> Message:
    at = _evening(on)
    return Message(
        key=uuid.uuid4(),
        player=player,
        author=player.person,
        kind=kind,
        body=body,
        written_at=at,
        arrived_at=at,
        **about,
    )


def _weeks(players: list[Player], today: date, dice: random.Random) -> None:
    monday = today - timedelta(days=today.weekday())
    weeks = TrainingWeek.objects.bulk_create(
        (
            TrainingWeek(player=player, monday=monday + timedelta(weeks=n))
            for player in players
            for n in range(-WEEKS_PLANNED // 2, WEEKS_PLANNED // 2)
        ),
        batch_size=BATCH,
    )
    TrainingSession.objects.bulk_create(
        (
            TrainingSession(
                week=week,
                day=week.monday + timedelta(days=day),
                name="Rally build-up" if day % 2 else "Strength, whole body",
                court="on court" if day % 2 else "off court",
                emphasis="technique" if day % 2 else "strength",
                minutes=dice.randrange(45, 121, 15),
                effort=dice.randint(3, 7),
            )
            for week in weeks
            for day in range(6)
        ),
        batch_size=BATCH,
    )


def sign_everybody_in(people: list[Person]) -> Iterator[tuple[Person, str]]:
    """A session for each, as if they had just signed in: the person, and the cookie's value."""
    rows = []
    for person in people:
        store = SessionStore()
        store[SESSION_KEY] = str(person.pk)
        store[BACKEND_SESSION_KEY] = "allauth.account.auth_backends.AuthenticationBackend"
        store[HASH_SESSION_KEY] = person.get_session_auth_hash()
        key = store._get_new_session_key()
        until = timezone.now() + timedelta(seconds=settings.SESSION_COOKIE_AGE)
        rows.append(
            Session(session_key=key, session_data=store.encode(dict(store)), expire_date=until)
        )
        yield person, key
    Session.objects.bulk_create(rows)
