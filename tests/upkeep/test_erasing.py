"""Whoever is erased is nowhere any more, and the figures of the seasons stay."""

from datetime import date
from typing import Any

import pytest
from django.db import connection

from seasonplan.academy import belonging
from seasonplan.academy.models import Change, Contact, Membership, Person
from seasonplan.checkins.models import DayLog, EventCheckIn, PlayedMatch, Reply
from seasonplan.debrief.models import Decision
from seasonplan.plans.models import Block, PlannedEvent, SeasonPlan
from seasonplan.upkeep.erasing import erase_person, erase_player
from seasonplan.upkeep.registry import all_models
from tests.conftest import Cast
from tests.factories import MembershipFactory, PlayerFactory
from tests.upkeep.everything import ODD, fill_every_table


def found(*words: str) -> dict[str, list[str]]:
    """In which columns of the database any of these words stands, whatever the type."""
    places: dict[str, list[str]] = {}
    with connection.cursor() as cursor:
        for model in all_models():
            cursor.execute(f"SELECT * FROM {model._meta.db_table}")  # noqa: S608
            names = [column[0] for column in cursor.description]
            for row in cursor.fetchall():
                for name, value in zip(names, row, strict=True):
                    text = _text(value).lower()
                    for word in words:
                        if word.lower() in text:
                            places.setdefault(word, []).append(f"{model._meta.label}.{name}")
    return places


def _text(value: Any) -> str:
    if isinstance(value, bytes | memoryview):
        return bytes(value).decode("latin-1")
    return str(value)


def figures() -> dict[str, Any]:
    """What the seasons' figures rest on."""
    return {
        "check-ins": list(
            EventCheckIn.objects.order_by("pk").values_list(
                "event", "energy_before", "energy_before_late", "energy_after", "felt", "rounds_won"
            )
        ),
        "matches": list(PlayedMatch.objects.order_by("pk").values_list("won", "minutes")),
        "plans": list(SeasonPlan.objects.order_by("pk").values_list("start", "end", "standing")),
        "events": list(PlannedEvent.objects.order_by("pk").values_list("event", "role", "worth")),
        "blocks": list(Block.objects.order_by("pk").values_list("phase", "start", "weeks")),
    }


def test_nothing_says_who_an_erased_player_was(cast: Cast) -> None:
    fill_every_table(cast)
    born = date(2012, 2, 29)
    cast.ines.birth_date = born
    cast.ines.save()
    words = ("Ines", "Varga", cast.player.email, born.isoformat(), ODD[-12:], "Secret of", "cried")
    before = figures()
    assert set(found(*words)) == set(words), "the search finds what there is"

    erase_player(cast.ines, by=cast.director)
    assert found(*words) == {}
    assert figures() == before
    cast.ines.refresh_from_db()
    assert (str(cast.ines), cast.ines.birth_date, cast.ines.person) == (
        "A former player", None, None,
    )  # fmt: skip
    assert not cast.ines.team.exists()
    assert not DayLog.objects.exists()
    assert not Person.objects.filter(pk=cast.player.pk).exists()


def test_the_erasure_itself_is_recorded_without_a_name(cast: Cast) -> None:
    erase_player(cast.ines, by=cast.director)
    change = Change.objects.get(what="erasure")
    assert (change.who, change.player, change.after) == (cast.director, cast.ines, "Erased")
    assert str(change.player) == "A former player"


def test_other_players_and_people_keep_everything(cast: Cast) -> None:
    fill_every_table(cast)
    untouched = {"Ravi Player", "ravi@academy.test", "Marta Coach", "Gita Guardian", "Far Player"}
    erase_player(cast.ines, by=cast.director)
    assert set(found(*untouched)) == untouched


def test_nothing_says_who_an_erased_person_was(cast: Cast) -> None:
    fill_every_table(cast)
    Contact.objects.update(name=cast.coach.name, email=cast.coach.email)
    Decision.objects.update(owner=cast.coach, owner_name=cast.coach.name)
    words = ("Marta", cast.coach.email)
    assert set(found(*words)) == set(words)
    replies, before = Reply.objects.count(), figures()

    assert erase_person(cast.coach, cast.academy, by=cast.director)
    assert found(*words) == {}
    assert figures() == before
    # What they wrote to a player belongs to the player.
    assert Reply.objects.count() == replies
    assert not Reply.objects.filter(author=cast.coach.pk).exists()
    assert Decision.objects.get().owner_name == "somebody who left"
    assert str(cast.ines) == "Ines Varga"
    assert cast.ines.team.filter(role="guardian").exists()


def test_a_person_who_is_a_player_there_is_erased_as_both(cast: Cast) -> None:
    fill_every_table(cast)
    MembershipFactory(academy=cast.academy, person=cast.player, role="coach")
    assert erase_person(cast.player, cast.academy, by=cast.director)
    assert found("Ines", cast.player.email) == {}


def test_a_log_in_stays_while_another_academy_needs_it(cast: Cast) -> None:
    elsewhere: Membership = MembershipFactory(
        academy=cast.foreign_academy, person=cast.coach, role="coach"
    )
    assert not erase_person(cast.coach, cast.academy, by=cast.director)
    assert list(cast.coach.memberships.all()) == [elsewhere]
    other = PlayerFactory(academy=cast.foreign_academy, person=cast.player, name="Ines V.")
    erase_player(cast.ines, by=cast.director)
    other.refresh_from_db()
    assert (other.name, other.person) == ("Ines V.", cast.player)


def test_the_last_director_cannot_be_erased(cast: Cast) -> None:
    with pytest.raises(belonging.LastDirector):
        erase_person(cast.director, cast.academy, by=cast.director)
    assert cast.director.memberships.exists()
    assert not Change.objects.filter(what="erasure").exists()


def test_a_director_who_erases_themselves_leaves_no_name_behind(cast: Cast) -> None:
    MembershipFactory(academy=cast.academy, role="director")
    assert erase_person(cast.director, cast.academy, by=cast.director)
    assert found("Dora", cast.director.email) == {}
    assert Change.objects.get(what="erasure").who is None
