"""Makes rows for tests; every default is sound, so that a test names only what it is about."""

import uuid
from datetime import UTC, date, datetime, timedelta
from typing import Any

import factory
from factory.django import DjangoModelFactory

from seasonplan.academy.models import Academy, Consent, HomeBase, Membership, Person, Player
from seasonplan.checkins.models import DayLog, EventCheckIn, SessionLog
from seasonplan.debrief.models import Debrief, Decision, OwnView
from seasonplan.events.models import Event, Place
from seasonplan.plans.models import (
    Block,
    BusyTime,
    CarriedOver,
    LevelWorth,
    PlannedEvent,
    SeasonPlan,
)
from seasonplan.training.models import SessionKind, TrainingSession, TrainingWeek

PASSWORD = "net-cord-winner-27"


class AcademyFactory(DjangoModelFactory[Academy]):
    class Meta:
        model = Academy

    name = factory.Sequence(lambda n: f"Academy {n}")


class PersonFactory(DjangoModelFactory[Person]):
    class Meta:
        model = Person
        skip_postgeneration_save = True

    name = factory.Sequence(lambda n: f"Person {n}")
    email = factory.Sequence(lambda n: f"person{n}@academy.test")


class MembershipFactory(DjangoModelFactory[Membership]):
    class Meta:
        model = Membership

    academy = factory.SubFactory(AcademyFactory)
    person = factory.SubFactory(PersonFactory)
    role = "coach"


class PlayerFactory(DjangoModelFactory[Player]):
    class Meta:
        model = Player

    academy = factory.SubFactory(AcademyFactory)
    name = factory.Sequence(lambda n: f"Player {n}")
    birth_date = date(2011, 5, 17)


class HomeBaseFactory(DjangoModelFactory[HomeBase]):
    class Meta:
        model = HomeBase

    player = factory.SubFactory(PlayerFactory)
    place_name = "Valencia"
    country = "ES"
    lat = 39.47
    lon = -0.38
    timezone = "Europe/Madrid"
    elevation_m = 20
    surface = "clay"
    monthly_high_c = factory.LazyFunction(lambda: [16, 17, 19, 21, 24, 28, 30, 30, 28, 24, 19, 17])


class PlaceFactory(DjangoModelFactory[Place]):
    class Meta:
        model = Place

    academy = factory.SubFactory(AcademyFactory)
    place_name = factory.Sequence(lambda n: f"Town {n}")
    country = "ES"
    lat = 41.4
    lon = 2.2
    timezone = "Europe/Madrid"
    elevation_m = 10


class EventFactory(DjangoModelFactory[Event]):
    class Meta:
        model = Event

    academy = factory.SubFactory(AcademyFactory)
    place = factory.SubFactory(PlaceFactory, academy=factory.SelfAttribute("..academy"))
    name = factory.Sequence(lambda n: f"Lantern Open {n}")
    start = factory.Sequence(lambda n: date(2027, 1, 11) + timedelta(weeks=n % 50))
    end = factory.LazyAttribute(lambda event: event.start + timedelta(days=6))
    surface = "clay"
    draw_size = 32
    level = "regional"


class SeasonPlanFactory(DjangoModelFactory[SeasonPlan]):
    class Meta:
        model = SeasonPlan

    player = factory.SubFactory(PlayerFactory)
    name = "Season 2027"
    start = date(2027, 1, 4)
    end = date(2028, 1, 2)


class PlannedEventFactory(DjangoModelFactory[PlannedEvent]):
    class Meta:
        model = PlannedEvent

    plan = factory.SubFactory(SeasonPlanFactory)
    event = factory.SubFactory(EventFactory, academy=factory.SelfAttribute("..plan.player.academy"))


class BlockFactory(DjangoModelFactory[Block]):
    class Meta:
        model = Block

    plan = factory.SubFactory(SeasonPlanFactory)
    phase = "preparation"
    start = factory.SelfAttribute("plan.start")
    weeks = 4


class LevelWorthFactory(DjangoModelFactory[LevelWorth]):
    class Meta:
        model = LevelWorth

    plan = factory.SubFactory(SeasonPlanFactory)
    level = "regional"
    worth = 35


class BusyTimeFactory(DjangoModelFactory[BusyTime]):
    class Meta:
        model = BusyTime

    player = factory.SubFactory(PlayerFactory)
    start = date(2027, 6, 7)
    end = date(2027, 6, 13)
    why = "Exams"


class ConsentFactory(DjangoModelFactory[Consent]):
    class Meta:
        model = Consent

    player = factory.SubFactory(PlayerFactory)
    given_at = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)


class LogFactory(DjangoModelFactory):
    class Meta:
        abstract = True

    player = factory.SubFactory(PlayerFactory)
    first_written_at = datetime(2027, 1, 18, 18, 0, tzinfo=UTC)
    last_written_at = factory.SelfAttribute("first_written_at")
    last_arrived_at = factory.SelfAttribute("last_written_at")


class EventCheckInFactory(LogFactory):
    class Meta:
        model = EventCheckIn

    event = factory.SubFactory(EventFactory, academy=factory.SelfAttribute("..player.academy"))
    energy_after = 6
    rounds_won = 2


class DayLogFactory(LogFactory):
    class Meta:
        model = DayLog

    day = date(2027, 1, 18)
    sleep = 4
    freshness = 4
    muscles = 4
    calm = 4
    mood = 4


class SessionLogFactory(LogFactory):
    class Meta:
        model = SessionLog

    session = factory.LazyFunction(uuid.uuid4)
    day = date(2027, 1, 18)
    what = "Serve and return"
    minutes = 90
    effort = 6


class DebriefFactory(DjangoModelFactory[Debrief]):
    class Meta:
        model = Debrief

    player = factory.SubFactory(PlayerFactory)
    season_start = date(2040, 1, 2)


class OwnViewFactory(DjangoModelFactory[OwnView]):
    class Meta:
        model = OwnView

    player = factory.SubFactory(PlayerFactory)
    season_start = date(2040, 1, 2)
    glad = "My serve held under the lanterns"


class DecisionFactory(DjangoModelFactory[Decision]):
    class Meta:
        model = Decision

    debrief = factory.SubFactory(DebriefFactory)
    text = factory.Sequence(lambda n: f"Decision number {n}")
    owner_name = "Marta Coach"
    due = date(2040, 3, 1)


class CarriedOverFactory(DjangoModelFactory[CarriedOver]):
    class Meta:
        model = CarriedOver

    plan = factory.SubFactory(SeasonPlanFactory)
    source = factory.Sequence(lambda n: f"decision {n}")
    text = "Call the organisers early"
    kind = "note"
    origin = "the debrief of 2026"
    why_path = "/players/1/debriefs/2026-01-05/#decision-1"


def sign_up(person: Person, **kwargs: Any) -> Person:
    """Give the person a password they can sign in with."""
    person.set_password(PASSWORD)
    person.save()
    return person


class TrainingWeekFactory(DjangoModelFactory[TrainingWeek]):
    class Meta:
        model = TrainingWeek

    player = factory.SubFactory(PlayerFactory)
    monday = date(2026, 2, 16)


class TrainingSessionFactory(DjangoModelFactory[TrainingSession]):
    class Meta:
        model = TrainingSession

    week = factory.SubFactory(TrainingWeekFactory)
    day = factory.SelfAttribute("week.monday")
    name = "Rally build-up"
    court = "on court"
    emphasis = "technique"
    minutes = 90
    effort = 6


class SessionKindFactory(DjangoModelFactory[SessionKind]):
    class Meta:
        model = SessionKind

    academy = factory.SubFactory(AcademyFactory)
    code = factory.Sequence(lambda n: f"own-kind-{n}")
    name = factory.Sequence(lambda n: f"Own kind {n}")
    court = "on court"
    emphasis = "technique"
    purpose = "A drill of our own."
    minutes = 60
    shortest_min = 20
    longest_min = 90
    effort = 5
    phases = ["preparation", "pre-competition"]
