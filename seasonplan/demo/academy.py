"""An invented academy to look around in: people, an event calendar, and plans laid out on loading.

Every person and event is made up; cities, airports and climates are real. `manage.py demo` loads it
once (`loading.py`), and production never does. The years before, with their logs, are in `past.py`.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field, replace
from datetime import date, timedelta
from typing import Final

from django.conf import settings
from django.utils import timezone

from seasonplan.academy.models import Academy, Contact, HomeBase, Membership, Person, Player, Role
from seasonplan.events.importing import import_file
from seasonplan.events.models import Event
from seasonplan.plans.editing import set_limits
from seasonplan.plans.laying_out import lay_out_plan
from seasonplan.plans.models import (
    BusyTime,
    EventRole,
    LevelWorth,
    PlannedEvent,
    SeasonPlan,
    TripCost,
)
from seasonplan.plans.standing import copy_plan, put_in_force, start_plan
from seasonplan.science.layout.limits import PRESETS, limits_as_mapping, limits_from
from seasonplan.science.layout.problem import DEFAULT_WORTH

PASSWORD: Final = "open-court-27"  # noqa: S105 (public: it opens nothing in production)
COACH: Final = "coach@demo.example"
DIRECTOR: Final = "director@demo.example"
CALENDAR: Final = settings.ROOT / "fixtures" / "demo-calendar.csv"
SEASON_START: Final = date(2027, 1, 4)
SEASON_END: Final = date(2028, 1, 2)
SECONDS: Final = 30.0


@dataclass(frozen=True)
class Somebody:
    name: str
    email: str
    role: Role
    what: str = ""


PEOPLE: Final = (
    Somebody("Marta Quiles", COACH, Role.COACH, "coach: plans the season of four players"),
    Somebody("Henrik Solberg", "henrik@demo.example", Role.COACH),
    Somebody("Davina Lukic", "davina@demo.example", Role.COACH),
    Somebody(
        "Rosa Ferrandis", DIRECTOR, Role.DIRECTOR, "director: sees every player, invites people"
    ),
    Somebody(
        "Elsa Norrby", "staff@demo.example", Role.STAFF, "support staff: strength and conditioning"
    ),
    Somebody(
        "Anna Varga", "guardian@demo.example", Role.GUARDIAN, "guardian of Ines, who is a minor"
    ),
    Somebody("Carme Solbes", "carme@demo.example", Role.GUARDIAN),
    Somebody("Ines Varga", "player@demo.example", Role.PLAYER, "player: sees her plan in force"),
    Somebody("Amara Detti", "amara@demo.example", Role.PLAYER),
)
LOG_INS: Final = tuple((person.email, person.what) for person in PEOPLE if person.what)


@dataclass(frozen=True)
class Base:
    """A home base; the twelve usual daily highs in °C are rounded climate figures from memory."""

    place_name: str
    country: str
    lat: float
    lon: float
    timezone: str
    elevation_m: int
    surface: str
    monthly_high_c: tuple[int, ...]


VALENCIA: Final = Base(
    "Valencia", "ES", 39.47, -0.38, "Europe/Madrid", 15, "clay",
    (16, 17, 19, 21, 24, 28, 30, 30, 28, 24, 20, 17),
)  # fmt: skip
VERONA: Final = Base(
    "Verona", "IT", 45.44, 10.99, "Europe/Rome", 59, "clay",
    (7, 10, 15, 18, 24, 28, 30, 30, 25, 19, 12, 7),
)  # fmt: skip
GOTHENBURG: Final = Base(
    "Gothenburg", "SE", 57.71, 11.97, "Europe/Stockholm", 12, "hard",
    (3, 3, 6, 12, 17, 20, 22, 22, 18, 12, 7, 4),
)  # fmt: skip


@dataclass(frozen=True)
class Trainee:
    """A player and the emails of their team; `email` is their own log-in, if they have one."""

    name: str
    born: date
    team: tuple[str, ...]
    base: Base | None
    email: str = ""


INES: Final = Trainee(
    "Ines Varga",
    date(2011, 5, 17),
    (COACH, "staff@demo.example", "guardian@demo.example"),
    VALENCIA,
    "player@demo.example",
)
AMARA: Final = Trainee(
    "Amara Detti",
    date(2004, 11, 2),
    (COACH, "davina@demo.example", "staff@demo.example"),
    VERONA,
    "amara@demo.example",
)
TRAINEES: Final = (
    INES,
    AMARA,
    Trainee("Kofi Arendal", date(2010, 2, 8), (COACH, "staff@demo.example"), VALENCIA),
    Trainee(
        "Mireia Solbes",
        date(2012, 9, 30),
        (COACH, "henrik@demo.example", "carme@demo.example"),
        VALENCIA,
    ),
    Trainee(
        "Jonas Wik", date(2008, 3, 21), ("henrik@demo.example", "davina@demo.example"), GOTHENBURG
    ),
    Trainee("Pau Solbes", date(2013, 12, 5), ("henrik@demo.example", "carme@demo.example"), None),
)


@dataclass(frozen=True)
class Season:
    """A plan to make: what the coach says, before the season is laid out."""

    trainee: Trainee
    name: str
    preset: str
    targets: tuple[str, ...]
    build_up: tuple[str, ...]
    worth_by_level: dict[str, int]
    busy: tuple[tuple[date, date, str], ...] = ()
    limits: dict[str, object] = field(default_factory=dict)
    trip_costs: tuple[tuple[str, int, int], ...] = ()
    """Of an event by its name: the travel, and a night there."""


# A home-loving clay season with a spring, a summer and an autumn peak, around a week of exams.
INES_2027: Final = Season(
    INES,
    "Season 2027",
    "developing",
    targets=("Terracotta Open", "Blue Shutter Trophy", "Sundial Trophy"),
    build_up=("Olive Press Open", "Gondola Trophy", "Fig Tree Open"),
    worth_by_level={"international": 16, "national": 20, "regional": 12, "major": 5},
    busy=((date(2027, 6, 7), date(2027, 6, 13), "School exams"),),
    trip_costs=(
        ("Terracotta Open", 90, 65),
        ("Blue Shutter Trophy", 260, 80),
        ("Sundial Trophy", 120, 70),
    ),
)
# A year on the road for an adult who has trained since autumn.
AMARA_2027: Final = Season(
    AMARA,
    "Season 2027",
    "touring",
    targets=(
        "Southern Lantern Championships",
        "Brickyard Championships",
        "Greensward Championships",
        "Steel Pier Championships",
    ),
    build_up=(),
    worth_by_level={"international": 30, "national": 10, "regional": 3},
    limits={"first_phase": "pre-competition", "weeks_already_done": 4},
)


def make_academy() -> Academy:
    """Everything but the years before."""
    academy = Academy.objects.create(name="Lemon Court Tennis Academy")
    Contact.objects.create(
        academy=academy,
        name="Pilar Sanchis",
        what="Welfare officer",
        email="pilar@demo.example",
        reachable="Monday to Friday, 9:00 to 18:00",
        line="You may write about anything. I am not a coach, and I tell them nothing of it.",
    )
    memberships = _people(academy)
    import_file(
        academy=academy,
        person=memberships[DIRECTOR].person,
        file_name=CALENDAR.name,
        content=CALENDAR.read_bytes(),
    )
    players = {trainee: _player(academy, trainee, memberships) for trainee in TRAINEES}
    first = _plan(INES_2027, players[INES])
    _plan(AMARA_2027, players[AMARA])
    _what_if(first)
    return academy


def _people(academy: Academy) -> dict[str, Membership]:
    memberships = {}
    for somebody in PEOPLE:
        person = Person.objects.create_user(somebody.email, somebody.name, PASSWORD)
        memberships[somebody.email] = Membership.objects.create(
            academy=academy, person=person, role=somebody.role
        )
    return memberships


def _player(academy: Academy, trainee: Trainee, memberships: dict[str, Membership]) -> Player:
    player = Player(academy=academy, name=trainee.name, birth_date=trainee.born)
    if trainee.email:
        player.person = memberships[trainee.email].person
    player.full_clean()
    player.save()
    player.team.set([memberships[email] for email in trainee.team])
    if trainee.base:
        base = HomeBase(player=player, **asdict(trainee.base))
        base.monthly_high_c = list(trainee.base.monthly_high_c)
        base.full_clean()
        base.save()
    return player


def _plan(season: Season, player: Player) -> SeasonPlan:
    """Write down what the coach says, lay the season out, and put the plan in force."""
    for start, end, why in season.busy:
        BusyTime.objects.create(player=player, start=start, end=end, why=why)
    plan = start_plan(
        player=player,
        name=season.name,
        start=SEASON_START,
        end=SEASON_END,
        limits=limits_from(limits_as_mapping(PRESETS[season.preset].limits) | season.limits),
    )
    LevelWorth.objects.bulk_create(
        LevelWorth(plan=plan, level=level, worth=worth)
        for level, worth in season.worth_by_level.items()
    )
    chosen = [(name, EventRole.TARGET, DEFAULT_WORTH["target"]) for name in season.targets]
    chosen += [(name, EventRole.BUILD_UP, DEFAULT_WORTH["build-up"]) for name in season.build_up]
    for name, role, worth in chosen:
        event = Event.objects.get(academy_id=player.academy_id, name=name)
        PlannedEvent.objects.create(plan=plan, event=event, role=role, worth=worth)
    TripCost.objects.bulk_create(
        TripCost(
            player=player,
            event=Event.objects.get(academy_id=player.academy_id, name=name),
            travel=travel,
            night=night,
        )
        for name, travel, night in season.trip_costs
    )
    _lay_out(plan)
    put_in_force(plan, now=timezone.now())
    return plan


def _what_if(plan: SeasonPlan) -> None:
    """A working copy in which the coach tries a year with more rest."""
    copy = copy_plan(plan, name="What if: ten weeks of rest")
    set_limits(copy, replace(plan.parsed_limits, min_rest_weeks=10), revision=copy.revision)
    _lay_out(copy)


def _lay_out(plan: SeasonPlan) -> None:
    # As on the day before the season, whenever the demo is loaded, so that nothing of it is past.
    eve = SEASON_START - timedelta(days=1)
    lay_out_plan(plan, today=eve, now=timezone.now(), seconds=SECONDS)
