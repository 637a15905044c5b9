"""Who sees and changes which people, invitations and players."""

from collections.abc import Callable

from seasonplan.academy.inviting import invite
from seasonplan.academy.models import Academy, Invitation, Membership, Person, Player
from tests.conftest import Cast
from tests.factories import MembershipFactory, PlayerFactory


def who(cast: Cast, sees: Callable[[Person], bool]) -> set[str]:
    return {role for role, person in cast.people().items() if sees(person)}


def test_a_player_is_seen_by_themselves_their_team_and_their_director(cast: Cast) -> None:
    seen = who(cast, lambda p: cast.ines in Player.objects.visible_to(p))
    assert seen == {"coach", "staff", "guardian", "player", "director"}


def test_a_player_is_changed_by_their_coach_and_their_director(cast: Cast) -> None:
    assert who(cast, lambda p: cast.ines in Player.objects.editable_by(p)) == {
        "coach",
        "director",
    }


def test_a_season_is_planned_by_the_coach_of_the_player_alone(cast: Cast) -> None:
    assert who(cast, lambda p: cast.ines in Player.objects.planned_by(p)) == {"coach"}


def test_the_calendar_is_looked_after_by_coaches_and_the_director(cast: Cast) -> None:
    assert who(cast, lambda p: cast.academy in Academy.objects.planned_by(p)) == {
        "coach",
        "colleague",
        "director",
    }


def test_a_coach_sees_colleagues_and_the_people_around_their_own_players(cast: Cast) -> None:
    seen = Membership.objects.visible_to(cast.coach).filter(academy=cast.academy)
    assert {m.person.name for m in seen} == {
        "Marta Coach",
        "Colin Colleague",
        "Dora Director",
        "Sten Staff",
        "Gita Guardian",
        "Ines Player",
    }


def test_a_coach_sees_no_guardian_of_other_players(cast: Cast) -> None:
    seen = Membership.objects.visible_to(cast.colleague).filter(role="guardian")
    assert list(seen) == []


def test_a_director_sees_everybody_of_the_academy_and_nobody_else(cast: Cast) -> None:
    seen = Membership.objects.visible_to(cast.director)
    assert {m.academy for m in seen} == {cast.academy}
    assert len(seen) == 7


def test_a_guardian_sees_their_own_membership_alone(cast: Cast) -> None:
    (seen,) = Membership.objects.visible_to(cast.guardian)
    assert seen.person == cast.guardian


def test_a_coach_of_one_academy_who_plays_in_another_sees_nobody_there(cast: Cast) -> None:
    MembershipFactory(academy=cast.foreign_academy, person=cast.coach, role="player")
    seen = Membership.objects.visible_to(cast.coach).filter(academy=cast.foreign_academy)
    assert [m.person for m in seen] == [cast.coach]


def test_the_player_of_ones_player_is_seen_in_that_academy_alone(cast: Cast) -> None:
    elsewhere = MembershipFactory(academy=cast.foreign_academy, person=cast.player, role="player")
    PlayerFactory(academy=cast.foreign_academy, person=cast.player)
    assert elsewhere not in Membership.objects.visible_to(cast.coach)


def test_an_invitation_around_a_player_is_seen_by_their_coach_and_the_director(
    cast: Cast,
) -> None:
    invitation, _ = invite(
        academy=cast.academy,
        email="g@nowhere.test",
        role="guardian",
        player=cast.ines,
        invited_by=cast.director,
    )
    assert who(cast, lambda p: invitation in Invitation.objects.visible_to(p)) == {
        "coach",
        "director",
    }


def test_an_invitation_of_a_coach_is_the_directors_alone(cast: Cast) -> None:
    invitation, _ = invite(
        academy=cast.academy,
        email="c@nowhere.test",
        role="coach",
        player=cast.ines,
        invited_by=cast.director,
    )
    assert who(cast, lambda p: invitation in Invitation.objects.visible_to(p)) == {"director"}


def test_a_coach_off_the_team_sees_the_player_no_more(cast: Cast) -> None:
    cast.ines.team.remove(cast.academy.memberships.get(person=cast.coach))
    assert cast.ines not in Player.objects.visible_to(cast.coach)
