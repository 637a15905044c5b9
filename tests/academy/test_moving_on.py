"""Players handed over, roles changed, and academies left."""

import pytest

from seasonplan.academy import belonging
from seasonplan.academy.models import Membership, Person, Role
from seasonplan.plans.models import SeasonPlan
from tests.conftest import Cast
from tests.factories import MembershipFactory, SeasonPlanFactory


def membership_of(cast: Cast, person: Person) -> Membership:
    return cast.academy.memberships.get(person=person)


def address(cast: Cast, person: Person, what: str) -> str:
    return f"/people/members/{membership_of(cast, person).pk}/{what}/"


# Handing over ------------------------------------------------------------------------------------


def test_players_go_to_another_coach_with_plans_and_history(cast: Cast, as_) -> None:
    plan = SeasonPlanFactory(player=cast.ines, standing="working copy")
    to = membership_of(cast, cast.colleague)
    form = {"players": [cast.ines.pk], "to": to.pk}
    answer = as_(cast.director).post(address(cast, cast.coach, "hand-over"), form)
    assert answer.status_code == 302
    assert SeasonPlan.objects.editable_by(cast.colleague).get() == plan
    assert not SeasonPlan.objects.visible_to(cast.coach).exists()
    assert as_(cast.coach).get(f"/players/{cast.ines.pk}/").status_code == 404


def test_only_the_players_chosen_go(cast: Cast, as_) -> None:
    source = membership_of(cast, cast.coach)
    source.players.add(cast.ravi)
    form = {"players": [cast.ravi.pk], "to": membership_of(cast, cast.colleague).pk}
    as_(cast.director).post(address(cast, cast.coach, "hand-over"), form)
    assert list(source.players.all()) == [cast.ines]


@pytest.mark.parametrize("missing", ["players", "to"])
def test_what_is_missing_is_said_beside_its_field(cast: Cast, as_, missing: str) -> None:
    form = {"players": [cast.ines.pk], "to": membership_of(cast, cast.colleague).pk}
    del form[missing]
    answer = as_(cast.director).post(address(cast, cast.coach, "hand-over"), form)
    assert answer.status_code == 422
    assert list(membership_of(cast, cast.coach).players.all()) == [cast.ines]


def test_players_of_somebody_else_or_to_another_role_are_refused(cast: Cast, as_) -> None:
    staff, colleague = (membership_of(cast, p).pk for p in (cast.staff, cast.colleague))
    for form in (
        {"players": [cast.ravi.pk], "to": colleague},
        {"players": [cast.ines.pk], "to": staff},
        {"players": [cast.foreign.pk], "to": colleague},
    ):
        answer = as_(cast.director).post(address(cast, cast.coach, "hand-over"), form)
        assert answer.status_code == 422, form
    foreign = cast.foreign_academy.memberships.get(role="coach")
    with pytest.raises(ValueError, match="same academy"):
        belonging.hand_over(membership_of(cast, cast.coach), foreign, [cast.ines])


def test_a_director_has_no_players_to_hand_over(cast: Cast, as_) -> None:
    assert as_(cast.director).get(address(cast, cast.director, "hand-over")).status_code == 404


# Changing a role ---------------------------------------------------------------------------------


def test_a_coach_who_becomes_director_leaves_the_teams(cast: Cast, as_) -> None:
    form = {"role": "director"}
    assert as_(cast.director).post(address(cast, cast.coach, "role"), form).status_code == 302
    changed = membership_of(cast, cast.coach)
    assert (changed.role, list(changed.players.all())) == (Role.DIRECTOR, [])


def test_staff_who_become_coach_keep_their_players_and_plan_them(cast: Cast, as_) -> None:
    as_(cast.director).post(address(cast, cast.staff, "role"), {"role": "coach"})
    plan = SeasonPlanFactory(player=cast.ines, standing="working copy")
    assert SeasonPlan.objects.editable_by(cast.staff).get() == plan


def test_the_last_director_stays_one(cast: Cast, as_) -> None:
    answer = as_(cast.director).post(address(cast, cast.director, "role"), {"role": "coach"})
    assert answer.status_code == 409
    assert "last director" in answer.text
    assert membership_of(cast, cast.director).role == Role.DIRECTOR


def test_a_director_who_becomes_staff_is_led_to_the_first_page(cast: Cast, as_) -> None:
    MembershipFactory(academy=cast.academy, role="director")
    answer = as_(cast.director).post(address(cast, cast.director, "role"), {"role": "staff"})
    assert (answer.status_code, answer.url) == (302, "/")


def test_a_role_held_already_is_not_held_twice(cast: Cast, as_) -> None:
    first = MembershipFactory(academy=cast.academy, person=cast.coach, role="director")
    answer = as_(cast.director).post(f"/people/members/{first.pk}/role/", {"role": "coach"})
    assert answer.status_code == 422
    assert "that already" in answer.text


@pytest.mark.parametrize("role", ["guardian", "player", "owner", ""])
def test_nobody_becomes_guardian_or_player_in_this_way(cast: Cast, as_, role: str) -> None:
    answer = as_(cast.director).post(address(cast, cast.coach, "role"), {"role": role})
    assert answer.status_code == 422
    assert membership_of(cast, cast.coach).role == Role.COACH


def test_guardians_and_players_do_not_change_into_something_else(cast: Cast, as_) -> None:
    for person in (cast.guardian, cast.player):
        assert as_(cast.director).get(address(cast, person, "role")).status_code == 404


# Leaving -----------------------------------------------------------------------------------------


def test_a_coach_leaves_and_sees_nothing_any_more(cast: Cast, as_) -> None:
    client = as_(cast.coach)
    mine = membership_of(cast, cast.coach)
    assert "Leave" in client.get(f"/me/leave/{mine.pk}/").text
    assert client.post(f"/me/leave/{mine.pk}/").url == "/me/"
    assert client.get(f"/players/{cast.ines.pk}/").status_code == 404


def test_the_last_director_cannot_leave(cast: Cast, as_) -> None:
    mine = membership_of(cast, cast.director)
    answer = as_(cast.director).post(f"/me/leave/{mine.pk}/")
    assert answer.status_code == 409
    assert cast.academy.memberships.filter(role="director").exists()


def test_nobody_leaves_for_another(cast: Cast, as_) -> None:
    theirs = membership_of(cast, cast.coach)
    assert as_(cast.director).post(f"/me/leave/{theirs.pk}/").status_code == 404
    assert Membership.objects.filter(pk=theirs.pk).exists()
