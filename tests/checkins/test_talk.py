"""Whoever feels low or would like to talk is led to a person, on the pages and without a signal."""

from collections.abc import Callable
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from django.utils import timezone

from seasonplan.academy.models import Contact, Player
from seasonplan.checkins.models import DayLog
from tests.conftest import Cast
from tests.factories import DayLogFactory
from tests.plans.pages import Element, read

As = Callable[..., Client]

EMERGENCY = "In an emergency, call the local emergency number."


@pytest.fixture
def contact(cast: Cast) -> Contact:
    return Contact.objects.create(
        academy=cast.academy,
        name="Wilma Ear",
        what="welfare officer",
        phone="+44 1632 960042",
        email="wilma@academy.test",
        reachable="Every day, 8:00 to 22:00",
        line="Whatever it is.",
    )


def names_wilma(page: Element) -> bool:
    links = page.links()
    named = "Wilma Ear , welfare officer" in page.text
    assert named == (links.get("Call +44 1632 960042") == "tel:+441632960042")
    assert named == (links.get("Write to wilma@academy.test") == "mailto:wilma@academy.test")
    assert not named or (EMERGENCY in page.text and "Every day, 8:00 to 22:00" in page.text)
    return named


@pytest.mark.parametrize("path", ["/phone/log/", "/phone/me/", "/phone/log/day/"])
@pytest.mark.parametrize("consents", [True, False])
def test_the_pages_name_the_academys_contact_whatever_was_said(
    cast: Cast, ines: Player, contact: Contact, as_: As, path: str, consents: bool
) -> None:
    if not consents:
        ines.consents.all().delete()
    assert names_wilma(read(as_(cast.player).get(path)))


def test_the_phones_pages_that_are_kept_for_no_signal_hold_the_contact(
    cast: Cast, ines: Player, contact: Contact, as_: As
) -> None:
    for path in ("/phone/log/", "/phone/me/"):
        answer = as_(cast.player).get(path)
        assert answer["Seasonplan-Kept-For"] == str(cast.player.pk)
        assert "tel:+441632960042" in answer.content.decode()
    page = read(as_(cast.player).get("/phone/log/"))
    section = page.one("section", id="talk")
    hidden = {p.attributes["data-talk"]: "hidden" in p.attributes for p in section.all("p")[:2]}
    assert hidden == {"asks": True, "low": True}
    assert any("talk" in s.attributes.get("src", "") for s in page.all("script"))
    script = (settings.ROOT / "static" / "js" / "phone" / "talk.js").read_text()
    for name in hidden:
        assert name in script


@pytest.mark.parametrize(
    ("said", "led"),
    [
        ({"mood": "1"}, True),
        ({"mood": "2"}, True),
        ({"mood": "3"}, False),
        ({"mood": "5", "wants_to_talk": "on"}, True),
        ({"sleep": "1"}, False),
    ],
)
def test_the_answer_to_a_day_log_leads_to_the_contact(
    cast: Cast, ines: Player, contact: Contact, as_: As, said: dict[str, str], led: bool
) -> None:
    player = as_(cast.player)
    answer = player.post("/phone/log/day/", said, follow=True)
    assert answer.redirect_chain[-1][0] == f"/logs/days/{DayLog.objects.get().pk}/"
    assert names_wilma(read(answer)) == led


def test_without_a_contact_the_players_coaches_are_named(cast: Cast, ines: Player, as_: As) -> None:
    for path in ("/phone/log/", "/phone/me/"):
        page = read(as_(cast.player).get(path))
        assert "Marta Coach , coach" in page.text
        assert page.links()["Write to marta@academy.test"] == "mailto:marta@academy.test"
        assert EMERGENCY in page.text
    ines.team.clear()
    assert "Dora Director , director" in read(as_(cast.player).get("/phone/me/")).text


def test_a_coach_who_reads_that_somebody_wants_to_talk_is_told_what_to_do(
    cast: Cast, ines: Player, contact: Contact, as_: As
) -> None:
    log = DayLogFactory(player=ines, day=timezone.localdate(), wants_to_talk=True)
    page = read(as_(cast.coach).get(f"/logs/days/{log.pk}/"))
    assert "Speak to Ines Varga yourself, soon." in page.text
    assert names_wilma(page)
    assert not names_wilma(read(as_(cast.guardian).get(f"/logs/days/{log.pk}/")))


def test_a_low_mood_is_left_to_the_coach_to_read(
    cast: Cast, ines: Player, contact: Contact, as_: As
) -> None:
    log = DayLogFactory(player=ines, day=timezone.localdate(), mood=1)
    page = read(as_(cast.coach).get(f"/logs/days/{log.pk}/"))
    assert "1 of 5" in page.text
    assert not names_wilma(page)


def test_nothing_of_the_contact_is_said_to_other_academies(
    cast: Cast, contact: Contact, as_: As, **_: Any
) -> None:
    assert "Wilma" not in as_(cast.foreign_director).get("/people/settings/").content.decode()
