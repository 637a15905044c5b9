"""The academy's settings: who reads and changes them, and what they accept."""

from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.core.mail import EmailMessage
from django.db import IntegrityError, transaction
from django.test import Client

from seasonplan.academy.models import Contact, Person, Readers, RequiredSharing
from seasonplan.academy.requiring import requirements_of
from tests.conftest import Cast
from tests.plans.pages import read

As = Callable[..., Client]

PATH = "/people/settings/"
CONTACT = {
    "name": "Wilma Ear",
    "what": "welfare officer",
    "phone": "+44 1632 960042",
    "email": "wilma@academy.test",
    "reachable": "Every day",
    "line": "Whatever it is.",
}
USUAL = {"language": "en-gb", "consent_age": "16", "health": "0", "notes": "0"}


def test_a_director_sets_everything_and_finds_it_again(cast: Cast, as_: As) -> None:
    director = as_(cast.director)
    asked = {"language": "es", "consent_age": "15", "health": "1", "notes": "2", **CONTACT}
    answer = director.post(PATH, asked)
    assert (answer.status_code, answer["Location"]) == (302, f"{PATH}?academy={cast.academy.pk}")
    cast.academy.refresh_from_db()
    assert (cast.academy.language, cast.academy.consent_age) == ("es", 15)
    page = read(director.get(PATH))
    for name, typed in asked.items():
        assert page.typed(name) == typed
    change = RequiredSharing.objects.get()
    assert (change.health, change.notes, change.set_by) == (
        Readers.COACHES,
        Readers.TEAM,
        cast.director,
    )
    assert "Dora Director" in page.one("section", aria_labelledby="changes").text
    director.post(PATH, asked)
    assert RequiredSharing.objects.count() == 1  # the same again is no change


def test_emptying_the_contact_takes_it_away_and_the_people_page_says_it_is_missing(
    cast: Cast, as_: As
) -> None:
    director = as_(cast.director)
    missing = "Nobody is named yet for a player who wants to talk"
    page = read(director.get("/people/"))
    assert missing in page.text
    assert page.links()["Settings"] == f"{PATH}?academy={cast.academy.pk}"
    director.post(PATH, {**USUAL, **CONTACT})
    assert missing not in read(director.get("/people/")).text
    assert "No contact is set" not in read(director.get(PATH)).text
    director.post(PATH, USUAL)
    assert Contact.objects.count() == 0
    assert "No contact is set" in read(director.get(PATH)).text


def test_a_coach_reads_the_contact_and_changes_nothing(cast: Cast, as_: As) -> None:
    as_(cast.director).post(PATH, {**USUAL, "health": "1", **CONTACT})
    page = read(as_(cast.coach).get(PATH)).one("main")
    assert page.links()["Call +44 1632 960042"] == "tel:+441632960042"
    assert "Required: health The player’s coaches read it" in page.text
    assert page.all("form") == []
    assert as_(cast.coach).post(PATH, {**USUAL, "consent_age": "13"}).status_code == 403
    assert "Nobody is named yet" not in read(as_(cast.coach).get("/people/")).text


def test_invitations_and_who_joins_by_one_speak_the_language_of_the_academy(
    cast: Cast, as_: As, client: Client, mailoutbox: list[EmailMessage]
) -> None:
    director = as_(cast.director)
    assert director.post(PATH, {**USUAL, "language": "de"}).status_code == 422
    director.post(PATH, {**USUAL, "language": "fr"})
    director.post("/people/invite/", {"email": "neu@academy.test", "role": "coach"})
    mail = mailoutbox[-1]
    assert mail.subject == f"Seasonplan : invitation à {cast.academy}"
    assert "vous invite à rejoindre" in mail.body
    link = next(line for line in mail.body.splitlines() if "/invitations/" in line)
    client.post(urlsplit(link).path, {"name": "Noé Neuf", "password": "un-mot-de-passe-27"})
    assert Person.objects.get(email="neu@academy.test").language == "fr"


@pytest.mark.parametrize(
    ("wrong", "field", "reason"),
    [
        ({"consent_age": "12"}, "consent_age", "Give an age from 13 to 21."),
        ({"consent_age": "22"}, "consent_age", "less than or equal to 21"),
        ({"consent_age": ""}, "consent_age", "This field is required."),
        ({"name": ""}, "name", "Give the name of the person."),
        ({"phone": "", "email": ""}, "phone", "Give a telephone number or an email address."),
        ({"phone": "call me"}, "phone", "Give a telephone number"),
        ({"email": "wilma"}, "email", "valid email address"),
        ({"health": "3"}, "health", "Choose one of the answers offered."),
        ({"notes": ""}, "notes", "This field is required."),
    ],
)
def test_what_makes_no_sense_is_refused_and_stays_in_the_form(
    cast: Cast, as_: As, wrong: dict[str, str], field: str, reason: str
) -> None:
    page = read(as_(cast.director).post(PATH, {**USUAL, **CONTACT, **wrong}), 422)
    assert reason in page.wrong(field)
    assert page.typed("line") == "Whatever it is."
    assert Contact.objects.count() == 0
    assert requirements_of(cast.academy).now.health == Readers.PLAYER


def test_the_database_keeps_no_contact_that_cannot_be_reached(cast: Cast) -> None:
    for facts in ({"name": "Wilma"}, {"name": "", "phone": "12345"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Contact.objects.create(academy=cast.academy, **facts)


def test_a_director_of_two_academies_changes_the_one_named(cast: Cast, as_: As) -> None:
    cast.foreign_academy.memberships.create(person=cast.director, role="director")
    as_(cast.director).post(f"{PATH}?academy={cast.foreign_academy.pk}", {**USUAL, **CONTACT})
    assert Contact.objects.get().academy == cast.foreign_academy


def test_the_page_asks_as_often_for_many_changes_as_for_few(
    cast: Cast, as_: As, django_assert_max_num_queries: Any
) -> None:
    director = as_(cast.director)

    def queries(number: int) -> int:
        for n in range(number):
            director.post(PATH, {**USUAL, "health": str(n % 3)})
        with django_assert_max_num_queries(20) as asked:
            director.get(PATH)
        return len(asked)

    assert queries(4) == queries(20)
