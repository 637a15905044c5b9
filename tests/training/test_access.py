"""Who sees the weeks of a player, and who changes which part of them."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from seasonplan.academy.models import Person
from seasonplan.training.access import parts_changed_by, parts_of, seen_with_parts, trained_by
from seasonplan.training.models import PlayerTraining, SessionKind, TrainingWeek
from tests.conftest import Cast
from tests.factories import MembershipFactory, PersonFactory, TrainingWeekFactory

ON, OFF = "on court", "off court"
AROUND = {"coach", "director", "staff", "guardian", "player"}


def give_over(cast: Cast, *, to_staff: bool = True) -> None:
    PlayerTraining.objects.update_or_create(
        player=cast.ines, defaults={"off_court_by_staff": to_staff}
    )


def staff_of_ravi(cast: Cast) -> Person:
    """Support staff of the academy who work with another player than Ines."""
    link = MembershipFactory(academy=cast.academy, person=PersonFactory(), role="staff")
    cast.ravi.team.add(link)
    return link.person


def parts(cast: Cast) -> dict[str, set[str]]:
    """Who of the cast changes which parts of the weeks of Ines; who changes none is left out."""
    changed = {
        name: set(parts_changed_by(person, cast.ines)) for name, person in cast.people().items()
    }
    return {name: found for name, found in changed.items() if found}


# Seeing -------------------------------------------------------------------------------------------


def test_who_is_around_a_player_sees_the_weeks_and_how_they_train(cast: Cast) -> None:
    TrainingWeekFactory(player=cast.ines)
    PlayerTraining.objects.create(player=cast.ines)
    for rows in (TrainingWeek.objects, PlayerTraining.objects):
        seeing = {name for name, p in cast.people().items() if rows.visible_to(p).exists()}
        assert seeing == AROUND


def test_the_weeks_of_another_player_are_not_seen(cast: Cast) -> None:
    mine, other, elsewhere = (
        TrainingWeekFactory(player=player) for player in (cast.ines, cast.ravi, cast.foreign)
    )
    seen = {
        "coach": {mine},
        "colleague": {other},
        "director": {mine, other},
        "player": {mine},
        "other_player": {other},
        "foreign_coach": {elsewhere},
        "stranger": set(),
    }
    for name, weeks in seen.items():
        person = cast.people()[name]
        assert set(TrainingWeek.objects.visible_to(person)) == weeks, name
    assert set(TrainingWeek.objects.visible_to(staff_of_ravi(cast))) == {other}


# Changing -----------------------------------------------------------------------------------------


def test_a_coach_of_the_player_changes_both_parts_and_nobody_else_changes_any(cast: Cast) -> None:
    assert parts(cast) == {"coach": {ON, OFF}}
    give_over(cast, to_staff=False)  # a row that gives nothing over changes nothing
    assert parts(cast) == {"coach": {ON, OFF}}


def test_once_given_over_the_part_off_court_is_the_staffs_alone_until_taken_back(
    cast: Cast,
) -> None:
    give_over(cast)
    assert parts(cast) == {"coach": {ON}, "staff": {OFF}}
    give_over(cast, to_staff=False)
    assert parts(cast) == {"coach": {ON, OFF}}


def test_who_is_coach_and_staff_of_a_player_changes_both_parts(cast: Cast) -> None:
    both = MembershipFactory(academy=cast.academy, person=cast.coach, role="staff")
    cast.ines.team.add(both)
    give_over(cast)
    assert parts_changed_by(cast.coach, cast.ines) == {ON, OFF}


def test_given_over_at_one_player_is_not_given_over_at_another(cast: Cast) -> None:
    give_over(cast)
    assert parts_changed_by(cast.colleague, cast.ravi) == {ON, OFF}
    assert parts_changed_by(cast.staff, cast.ravi) == frozenset()
    cast.ravi.team.add(cast.staff.memberships.get())
    assert parts_changed_by(cast.staff, cast.ravi) == frozenset()


@pytest.mark.parametrize("given", [True, False])
def test_staff_of_another_player_change_nothing(given: bool, cast: Cast) -> None:
    give_over(cast, to_staff=given)
    other = staff_of_ravi(cast)
    assert parts_changed_by(other, cast.ines) == frozenset()
    assert cast.ines not in seen_with_parts(other)
    assert cast.ines not in trained_by(other)


@pytest.mark.parametrize("role", ["coach", "staff", "director"])
def test_another_academy_changes_nothing_even_with_the_same_role(role: str, cast: Cast) -> None:
    give_over(cast)
    person = MembershipFactory(
        academy=cast.foreign_academy, person=PersonFactory(), role=role
    ).person
    assert parts_changed_by(person, cast.ines) == frozenset()
    assert cast.ines not in seen_with_parts(person)
    assert cast.ines not in trained_by(person)


def test_who_left_the_team_changes_nothing_any_more(cast: Cast) -> None:
    give_over(cast)
    cast.ines.team.remove(cast.coach.memberships.get(), cast.staff.memberships.get())
    assert parts(cast) == {}


def test_the_players_whom_a_person_trains_are_those_with_a_part_to_change(cast: Cast) -> None:
    for given in (False, True):
        give_over(cast, to_staff=given)
        for person in [*cast.people().values(), staff_of_ravi(cast)]:
            trained = set(trained_by(person))
            for player in (cast.ines, cast.ravi, cast.foreign):
                assert (player in trained) == bool(parts_changed_by(person, player))


def test_a_player_read_with_their_parts_needs_no_other_query(cast: Cast) -> None:
    for given in (False, True):
        give_over(cast, to_staff=given)
        with CaptureQueriesContext(connection) as asked:
            ines = seen_with_parts(cast.coach).get(pk=cast.ines.pk)
            found = parts_of(ines)
        assert len(asked) == 1
        assert found == ({ON} if given else {ON, OFF})


# The library of session kinds ---------------------------------------------------------------------


def test_the_library_is_read_by_the_academy_and_changed_by_its_coaches_and_directors(
    cast: Cast,
) -> None:
    SessionKind.objects.create(
        academy=cast.academy,
        code="rally-build-up",
        name="Rally build-up",
        court=ON,
        emphasis="technique",
        purpose="Longer rallies",
        minutes=90,
        shortest_min=60,
        longest_min=120,
        effort=6,
    )
    people = cast.people().items()
    reading = {name for name, p in people if SessionKind.objects.visible_to(p).exists()}
    changing = {name for name, p in people if SessionKind.objects.editable_by(p).exists()}
    assert reading == AROUND | {"colleague", "other_player"}
    assert changing == {"coach", "colleague", "director"}
