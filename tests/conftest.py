"""The cast: one academy with everybody in it, a second academy, and a stranger."""

from dataclasses import dataclass, fields
from datetime import date

import pytest
from django.conf import settings
from django.test import Client
from django.utils import translation

from seasonplan.academy.models import Academy, Membership, Person, Player
from tests.factories import (
    AcademyFactory,
    HomeBaseFactory,
    MembershipFactory,
    PersonFactory,
    PlayerFactory,
)


@pytest.fixture(autouse=True)
def _in_english() -> None:
    """A request leaves its language behind for whatever comes next in the same thread."""
    translation.activate(settings.LANGUAGE_CODE)


@dataclass(frozen=True)
class Cast:
    """Who is who. `ines` is the player everybody works with; `ravi` is another player there."""

    academy: Academy
    coach: Person
    colleague: Person
    director: Person
    staff: Person
    guardian: Person
    player: Person
    other_player: Person
    foreign_academy: Academy
    foreign_coach: Person
    foreign_director: Person
    stranger: Person
    ines: Player
    ravi: Player
    foreign: Player

    def people(self) -> dict[str, Person]:
        return {
            f.name: getattr(self, f.name)
            for f in fields(self)
            if isinstance(getattr(self, f.name), Person)
        }


def _member(academy: Academy, role: str, name: str) -> Membership:
    person = PersonFactory(name=name, email=f"{name.split()[0].lower()}@academy.test")
    return MembershipFactory(academy=academy, person=person, role=role)


@pytest.fixture
def cast(db: None) -> Cast:
    academy = AcademyFactory(name="Tarn Valley Tennis")
    coach = _member(academy, "coach", "Marta Coach")
    colleague = _member(academy, "coach", "Colin Colleague")
    director = _member(academy, "director", "Dora Director")
    staff = _member(academy, "staff", "Sten Staff")
    guardian = _member(academy, "guardian", "Gita Guardian")
    player = _member(academy, "player", "Ines Player")
    other = _member(academy, "player", "Ravi Player")
    ines = PlayerFactory(
        academy=academy, person=player.person, name="Ines Varga", birth_date=date(2011, 5, 17)
    )
    ines.team.set([coach, staff, guardian])
    ravi = PlayerFactory(academy=academy, person=other.person, name="Ravi Player")
    ravi.team.set([colleague])
    HomeBaseFactory(player=ines)
    HomeBaseFactory(player=ravi)

    elsewhere = AcademyFactory(name="Saltmarsh Tennis School")
    foreign_coach = _member(elsewhere, "coach", "Fay Foreign")
    foreign_director = _member(elsewhere, "director", "Finn Foreign")
    foreign = PlayerFactory(academy=elsewhere, name="Far Player")
    foreign.team.set([foreign_coach])

    return Cast(
        academy=academy,
        coach=coach.person,
        colleague=colleague.person,
        director=director.person,
        staff=staff.person,
        guardian=guardian.person,
        player=player.person,
        other_player=other.person,
        foreign_academy=elsewhere,
        foreign_coach=foreign_coach.person,
        foreign_director=foreign_director.person,
        stranger=PersonFactory(name="Stella Stranger", email="stella@nowhere.test"),
        ines=ines,
        ravi=ravi,
        foreign=foreign,
    )


@pytest.fixture
def as_(client: Client):
    """`as_(person)` gives a client signed in as that person."""

    def sign_in(person: Person) -> Client:
        signed_in = Client()
        signed_in.force_login(person, backend="allauth.account.auth_backends.AuthenticationBackend")
        return signed_in

    return sign_in
