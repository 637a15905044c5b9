"""Notes of the meeting: kept while typed, nothing lost when two write at once."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.http import HttpResponse
from django.test import Client

from seasonplan.debrief.meeting import digest
from seasonplan.debrief.models import LONGEST_WORDS, Debrief
from tests.conftest import Cast
from tests.debrief.conftest import START, Year
from tests.factories import SeasonPlanFactory

Write = Callable[..., HttpResponse]


def kept(year: Year) -> tuple[str, str]:
    row = Debrief.objects.get(player=year.plan.player, season_start=START)
    return row.went_well, row.to_improve


def test_coach_and_player_write_together(cast: Cast, year: Year, write: Write) -> None:
    assert write(cast.coach, went_well="The serve").status_code == 302
    written = write(
        cast.player, to_improve="Rest", went_well="The serve", over={"went_well": "The serve"}
    )

    assert written.status_code == 302
    assert kept(year) == ("The serve", "Rest")
    assert Debrief.objects.get().words_by == cast.player


def test_a_field_that_was_not_touched_leaves_what_others_wrote_in_it(
    cast: Cast, year: Year, write: Write
) -> None:
    write(cast.coach, went_well="The serve")
    # The player's page is from before that: its first field is still empty.
    answer = write(cast.player, went_well="", to_improve="Rest")

    assert answer.status_code == 302
    assert kept(year) == ("The serve", "Rest")


def test_two_texts_for_one_field_are_both_shown_and_neither_is_lost(
    cast: Cast, year: Year, write: Write
) -> None:
    write(cast.coach, went_well="The serve")
    answer = write(cast.player, went_well="The volleys", to_improve="Rest")

    assert answer.status_code == 409
    page = answer.content.decode()
    assert '<p class="written">The serve</p>' in page
    assert '<p class="written">The volleys</p>' in page
    assert ">\nThe volleys</textarea>" in page
    # What nobody else touched is kept all the same.
    assert kept(year) == ("The serve", "Rest")


def test_a_clash_is_settled_by_writing_over_the_text_that_was_shown(
    cast: Cast, year: Year, as_: Callable[..., Client], write: Write
) -> None:
    write(cast.coach, went_well="The serve")
    over = f"went_well:{digest('The serve')}"
    both = {"went_well": "The serve and the volleys", "went_well_seen": digest(""), "over": over}
    assert as_(cast.player).post(year.url("debrief-words"), both).status_code == 302
    assert kept(year)[0] == "The serve and the volleys"

    # A third text, which was not shown, is not written over.
    write(cast.coach, went_well="A third", over={"went_well": "The serve and the volleys"})
    assert (
        as_(cast.player).post(year.url("debrief-words"), both | {"went_well": "Mine"}).status_code
        == 409
    )
    assert kept(year)[0] == "A third"


def test_a_text_that_is_sent_again_is_the_same_text(cast: Cast, year: Year, write: Write) -> None:
    write(cast.coach, went_well="The serve")
    assert write(cast.coach, went_well="The serve").status_code == 302


def test_lines_that_a_browser_ends_its_own_way_are_no_change(
    cast: Cast, year: Year, write: Write
) -> None:
    write(cast.coach, went_well="One\r\nTwo")
    assert kept(year)[0] == "One\nTwo"
    write(cast.player, went_well="One\nTwo\nThree", over={"went_well": "One\nTwo"})
    # The coach's page still shows two lines, which the browser sends with its own endings.
    assert (
        write(cast.coach, went_well="One\r\nTwo", over={"went_well": "One\nTwo"}).status_code == 302
    )
    assert kept(year)[0] == "One\nTwo\nThree"


def test_typing_gets_the_piece_beside_the_fields(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    headers = {"HX-Request": "true"}
    typed = {"went_well": "The serve", "went_well_seen": digest("")}
    client = as_(cast.coach)
    answer = client.post(year.url("debrief-words"), typed, headers=headers)

    assert answer.status_code == 200
    piece = answer.content.decode()
    assert piece.lstrip().startswith('<div id="words-state"')
    assert f'name="went_well_seen" value="{digest("The serve")}"' in piece
    assert "Saved: Marta Coach, Tue 12 Jan 2027, 09:30" in piece

    as_(cast.player).post(
        year.url("debrief-words"),
        {"went_well": "The return", "went_well_seen": digest("The serve")},
    )
    # The coach's field still shows the old text: typing on from there must clash, not overwrite.
    same = {"went_well": "The serve", "went_well_seen": digest("The serve")}
    piece = client.post(year.url("debrief-words"), same, headers=headers).content.decode()
    assert "Somebody changed “What went well” meanwhile" in piece
    assert f'name="went_well_seen" value="{digest("The serve")}"' in piece
    typed = {"went_well": "The serve!", "went_well_seen": digest("The serve")}
    assert client.post(year.url("debrief-words"), typed, headers=headers).status_code == 409


def test_words_beyond_the_limit_are_refused_and_kept_in_the_form(
    cast: Cast, year: Year, write: Write
) -> None:
    answer = write(cast.coach, went_well="x" * (LONGEST_WORDS + 1))
    assert answer.status_code == 422
    assert "x" * (LONGEST_WORDS + 1) in answer.content.decode()
    assert not Debrief.objects.exists()


def test_the_words_belong_to_the_season_whichever_plan_is_in_force(
    cast: Cast, year: Year, as_: Callable[..., Client], write: Write
) -> None:
    write(cast.coach, went_well="The serve")
    type(year.plan).objects.filter(pk=year.plan.pk).update(standing="replaced")
    newer = SeasonPlanFactory(
        player=cast.ines, start=year.plan.start, end=year.plan.end, standing="in force"
    )
    answer = as_(cast.coach).get(year.url("debrief"), follow=True)

    assert answer.redirect_chain[-1][0] == f"/plans/{newer.pk}/debrief/"
    assert "The serve" in answer.content.decode()
    # For the player the replaced plan does not exist; the season's own address still leads there.
    assert as_(cast.player).get(year.url("debrief")).status_code == 404
    seasons = f"/players/{cast.ines.pk}/debriefs/2026-01-05/"
    assert as_(cast.player).get(seasons)["Location"] == f"/plans/{newer.pk}/debrief/"


@pytest.mark.parametrize("start", ["nonsense", "2026-13-40", "2026-01-12"])
def test_a_season_that_is_none_is_not_found(
    start: str, cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    address = f"/players/{cast.ines.pk}/debriefs/{start}/"
    assert as_(cast.coach).get(address).status_code == 404
