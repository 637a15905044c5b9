"""Taking one's data along, the change record and erasure, in a real browser."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from django.urls import reverse
from django.utils import timezone

from seasonplan.academy.consent import give_consent, withdraw_consent
from seasonplan.academy.models import Player
from seasonplan.upkeep.erasing import ask_to_be_erased
from tests.browser.browsing import NARROW, WIDE, Browsing
from tests.browser.looking import SCHEMES, axe, listed, sticks_out
from tests.browser.stage import Stage
from tests.factories import PASSWORD, sign_up

pytestmark = pytest.mark.browser


def test_axe_finds_nothing_and_nothing_is_wider_than_the_page(
    stage: Stage, browsing: Browsing
) -> None:
    cast, now = stage.cast, timezone.now()
    give_consent(cast.ines, by=cast.guardian, now=now)
    withdraw_consent(cast.ines, by=cast.guardian, now=now)
    ask_to_be_erased(cast.academy, player=cast.ines, person=None, by=cast.guardian, now=now)
    member = cast.academy.memberships.get(person=cast.coach)
    page = browsing.open(cast.director)

    found = {}
    for name, address in {
        "your data": reverse("my-data"),
        "data of a player": reverse("player-data", args=[cast.ines.pk]),
        "erase a player": reverse("player-erase", args=[cast.ines.pk]),
        "erase a member": reverse("member-erase", args=[member.pk]),
        "requests": reverse("erasure-requests"),
        "change record": reverse("change-record"),
    }.items():
        page.goto(address)
        for (width, height), scheme in zip((WIDE, NARROW), SCHEMES, strict=True):
            page.set_viewport_size({"width": width, "height": height})
            page.emulate_media(color_scheme=scheme)
            if wrong := [*axe(page), *sticks_out(page)]:
                found[f"{name}, {width}, {scheme}"] = wrong
    assert not found, listed(found)


@pytest.mark.parametrize("javascript", [True, False])
def test_a_player_takes_their_data_along_on_a_phone(
    stage: Stage, browsing: Browsing, javascript: bool
) -> None:
    sign_up(stage.cast.player)
    page = browsing.open(stage.cast.player, width=NARROW[0], touch=True, javascript=javascript)
    page.goto(reverse("me"))
    page.get_by_role("link", name="Take it along, or ask to be erased").click()
    page.get_by_role("button", name="Give your password").click()
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Go on").click()
    with page.expect_download() as awaited:
        page.get_by_role("button", name="Download your data").click()
    content = Path(awaited.value.path()).read_bytes()
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        assert "Ines" in archive.read("index.html").decode()
    page.get_by_role("heading", name="Your data").wait_for()  # still there, to go on from


def test_a_director_erases_a_player_who_asked(stage: Stage, browsing: Browsing) -> None:
    cast = stage.cast
    sign_up(cast.director)
    ask_to_be_erased(
        cast.academy, player=cast.ines, person=None, by=cast.guardian, now=timezone.now()
    )
    browsing.may_refuse(422)
    page = browsing.open(cast.director)
    page.goto(reverse("people"))
    page.get_by_role("link", name="Erasure").click()
    page.get_by_role("link", name="What would go of Ines Varga").click()
    page.get_by_label("Type the name to confirm").fill("Ines")
    page.get_by_role("button", name="Erase for good").click()
    page.get_by_text("This is another name").wait_for()
    page.get_by_label("Type the name to confirm").fill("Ines Varga")
    page.get_by_role("button", name="Erase for good").click()
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Go on").click()
    page.get_by_text("Erased. The figures of the seasons stay").wait_for()
    assert page.get_by_role("link", name="A former player", exact=True).count() == 1
    assert not Player.objects.filter(name="Ines Varga").exists()
