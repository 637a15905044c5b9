"""The page of an academy's people, one member's players, and leaving an academy."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from seasonplan.academy import belonging
from seasonplan.academy.inviting import find_invitation, invite
from seasonplan.academy.models import Academy, Membership, Person, Player
from tests.conftest import Cast
from tests.factories import AcademyFactory, MembershipFactory, PersonFactory, PlayerFactory


def membership_of(cast: Cast, person: Person) -> Membership:
    return cast.academy.memberships.get(person=person)


def main_of(page: str) -> str:
    return page[page.index("<main") : page.index("</main>")]


def test_a_director_sees_everybody_and_whom_they_work_with(cast: Cast, as_) -> None:
    page = main_of(as_(cast.director).get("/people/").text)
    for name in ("Marta Coach", "Colin Colleague", "Sten Staff", "Gita Guardian", "Ines Varga"):
        assert name in page
    assert "ines@academy.test" in page and "gita@academy.test" in page
    assert "Choose players" in page


def test_a_coach_reads_and_changes_no_role(cast: Cast, as_) -> None:
    page = main_of(as_(cast.coach).get("/people/").text)
    assert "Colin Colleague" in page and "Gita Guardian" in page
    assert "Choose players" not in page and "/remove/" not in page


def test_a_coach_reads_nothing_of_a_colleagues_player(cast: Cast, as_) -> None:
    page = main_of(as_(cast.colleague).get("/people/").text)
    assert "Ravi Player" in page
    for private in ("Ines", "Gita", "gita@academy.test"):
        assert private not in page


def test_people_of_another_academy_are_nowhere_on_the_page(cast: Cast, as_) -> None:
    page = as_(cast.director).get("/people/").text
    assert "Fay Foreign" not in page and "Far Player" not in page


def test_invitations_wait_on_the_page_with_their_term(cast: Cast, as_) -> None:
    invitation, _ = invite(
        academy=cast.academy,
        email="wanda@nowhere.test",
        role="staff",
        player=cast.ines,
        invited_by=cast.director,
    )
    page = main_of(as_(cast.director).get("/people/").text)
    assert "wanda@nowhere.test" in page
    assert f"{invitation.expires_at:%H:%M} UTC" in page
    assert "wanda@nowhere.test" not in as_(cast.colleague).get("/people/").text


def test_an_empty_academy_offers_the_next_steps(db: None, as_) -> None:
    director = MembershipFactory(role="director").person
    page = main_of(as_(director).get("/people/").text)
    assert "No players yet" in page
    assert "/players/new/" in page and "/people/invite/" in page


def test_the_academy_is_chosen_by_the_address_and_only_among_ones_own(cast: Cast, as_) -> None:
    MembershipFactory(academy=cast.foreign_academy, person=cast.director, role="director")
    elsewhere = AcademyFactory()
    client = as_(cast.director)
    assert "People of Saltmarsh Tennis School" in client.get("/people/").text
    chosen = client.get(f"/people/?academy={cast.academy.pk}")
    assert "People of Tarn Valley Tennis" in chosen.text
    for wrong in (elsewhere.pk, "all", 10**30, "-1", "²"):
        assert client.get(f"/people/?academy={wrong}").status_code == 404


def queries_of(client, path: str) -> int:
    with CaptureQueriesContext(connection) as queries:
        assert client.get(path).status_code == 200
    return len(queries)


def fill(academy: Academy, count: int) -> None:
    for n in range(count):
        coach = MembershipFactory(academy=academy, role="coach")
        guardian = MembershipFactory(academy=academy, role="guardian")
        log_in = MembershipFactory(academy=academy, role="player")
        player = PlayerFactory(academy=academy, person=log_in.person)
        player.team.set([coach, guardian])
        invite(
            academy=academy,
            email=f"guest{coach.pk}-{n}@nowhere.test",
            role="staff",
            player=player,
            invited_by=coach.person,
        )


@pytest.mark.parametrize("role", ["director", "coach"])
def test_the_page_asks_the_database_as_often_for_fifty_as_for_five(
    cast: Cast, as_, role: str
) -> None:
    person: Person = getattr(cast, role)
    client = as_(person)
    fill(cast.academy, 5)
    if role == "coach":
        membership_of(cast, person).players.set(cast.academy.players.all())
    five = queries_of(client, "/people/")

    fill(cast.academy, 45)
    if role == "coach":
        membership_of(cast, person).players.set(cast.academy.players.all())
    fifty = queries_of(client, "/people/")

    assert fifty == five <= 14


def test_the_me_page_asks_the_database_as_often_for_fifty_players_as_for_five(
    cast: Cast, as_
) -> None:
    client = as_(cast.guardian)
    for _ in range(5):
        PlayerFactory(academy=cast.academy).team.set(cast.ines.team.all())
    five = queries_of(client, "/me/")
    for _ in range(45):
        PlayerFactory(academy=cast.academy).team.set(cast.ines.team.all())
    assert queries_of(client, "/me/") == five <= 14


# One member ----------------------------------------------------------------------------------


def test_a_director_says_which_players_a_coach_works_with(cast: Cast, as_) -> None:
    colleague = membership_of(cast, cast.colleague)
    answer = as_(cast.director).post(
        f"/people/members/{colleague.pk}/", {"players": [cast.ines.pk]}
    )
    assert answer.url == f"/people/?academy={cast.academy.pk}"
    assert list(Player.objects.planned_by(cast.colleague)) == [cast.ines]


def test_a_player_of_another_academy_cannot_be_chosen(cast: Cast, as_) -> None:
    coach = membership_of(cast, cast.coach)
    answer = as_(cast.director).post(f"/people/members/{coach.pk}/", {"players": [cast.foreign.pk]})
    assert answer.status_code == 422
    assert list(coach.players.all()) == [cast.ines]


def test_a_director_works_with_no_players_in_that_role(cast: Cast, as_) -> None:
    own = membership_of(cast, cast.director)
    answer = as_(cast.director).post(f"/people/members/{own.pk}/", {"players": [cast.ines.pk]})
    assert answer.status_code == 403
    assert not own.players.exists()


# Leaving -------------------------------------------------------------------------------------


def test_removing_is_asked_first(cast: Cast, as_) -> None:
    coach = membership_of(cast, cast.coach)
    page = as_(cast.director).get(f"/people/members/{coach.pk}/remove/").text
    assert "Remove Marta Coach?" in page
    assert Membership.objects.filter(pk=coach.pk).exists()


def test_a_removed_coach_sees_nothing_of_the_academy_and_keeps_the_log_in(cast: Cast, as_) -> None:
    as_(cast.director).post(f"/people/members/{membership_of(cast, cast.coach).pk}/remove/")
    assert not Academy.objects.visible_to(cast.coach).exists()
    assert not Player.objects.visible_to(cast.coach).exists()
    assert Person.objects.get(pk=cast.coach.pk).is_active


def test_a_removed_player_is_parted_from_their_season_which_stays(cast: Cast, as_) -> None:
    as_(cast.director).post(f"/people/members/{membership_of(cast, cast.player).pk}/remove/")
    cast.ines.refresh_from_db()
    assert cast.ines.person is None
    assert not Player.objects.visible_to(cast.player).exists()


def test_invitations_of_a_removed_coach_are_withdrawn(cast: Cast) -> None:
    sent = {"academy": cast.academy, "role": "guardian", "player": cast.ines}
    _, theirs = invite(email="a@nowhere.test", invited_by=cast.coach, **sent)
    _, others = invite(email="b@nowhere.test", invited_by=cast.director, **sent)
    belonging.remove_member(membership_of(cast, cast.coach))
    assert find_invitation(theirs) is None
    assert find_invitation(others) is not None


def test_the_last_director_stays(cast: Cast, as_) -> None:
    own = membership_of(cast, cast.director)
    answer = as_(cast.director).post(f"/people/members/{own.pk}/remove/")
    assert answer.status_code == 409
    assert "is the last director" in answer.text
    assert Membership.objects.filter(pk=own.pk).exists()


def test_a_director_may_leave_when_there_is_another(cast: Cast, as_) -> None:
    MembershipFactory(academy=cast.academy, role="director")
    own = membership_of(cast, cast.director)
    answer = as_(cast.director).post(f"/people/members/{own.pk}/remove/")
    assert answer.url == "/"
    assert not Academy.objects.editable_by(cast.director).exists()


def test_the_director_of_another_academy_does_not_count(cast: Cast) -> None:
    MembershipFactory(academy=cast.foreign_academy, role="director")
    with pytest.raises(belonging.LastDirector):
        belonging.remove_member(membership_of(cast, cast.director))


# Oneself -------------------------------------------------------------------------------------


def test_one_changes_ones_own_name(cast: Cast, as_) -> None:
    answer = as_(cast.player).post("/me/", {"name": "Ines V."})
    cast.player.refresh_from_db()
    assert (answer.url, cast.player.name) == ("/me/", "Ines V.")


def test_an_empty_name_is_refused_and_the_header_keeps_the_old_one(cast: Cast, as_) -> None:
    answer = as_(cast.player).post("/me/", {"name": "  "})
    assert answer.status_code == 422
    assert ">Ines Player</a>" in answer.text


def test_a_guardian_reads_who_sees_the_season_of_their_child(cast: Cast, as_) -> None:
    page = main_of(as_(cast.guardian).get("/me/").text)
    section = page[page.index("Who sees the season of Ines Varga") :]
    for name in ("Marta Coach", "Sten Staff", "Gita Guardian", "Dora Director", "Ines Player"):
        assert name in section
    assert "Colin Colleague" not in section


def test_a_coach_reads_their_roles_and_players(cast: Cast, as_) -> None:
    page = main_of(as_(cast.coach).get("/me/").text)
    assert "Coach at Tarn Valley Tennis" in page
    assert f'href="/players/{cast.ines.pk}/"' in page
    assert "Who sees the season" not in page


# The header ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("role", "links"),
    [
        ("coach", ["Players", "Academy", "Event calendar", "Sessions", "People"]),
        ("director", ["Players", "Academy", "Event calendar", "Sessions", "People"]),
        ("player", ["Phone", "My season", "Event calendar", "Sessions"]),
        ("guardian", ["Players", "Event calendar", "Sessions"]),
        ("staff", ["Players", "Academy", "Event calendar", "Sessions"]),
        ("stranger", ["Players"]),
    ],
)
def test_the_header_leads_where_the_role_may_go(
    cast: Cast, as_, role: str, links: list[str]
) -> None:
    page = as_(getattr(cast, role)).get("/me/").text
    nav = page[page.index('aria-label="Main"') : page.index("</nav>")]
    texts = [part.split("<")[0] for part in nav.split(">") if "</a" in part]
    assert texts == links


def test_who_belongs_to_two_academies_can_switch_where_a_page_shows_one(cast: Cast, as_) -> None:
    MembershipFactory(academy=cast.foreign_academy, person=cast.coach, role="coach")
    client = as_(cast.coach)
    page = client.get(f"/people/?academy={cast.academy.pk}").text
    assert f'href="?academy={cast.foreign_academy.pk}"' in page
    assert f'href="?academy={cast.academy.pk}" aria-current="true"' in page
    assert 'aria-label="Academy"' not in client.get("/me/").text


def test_who_belongs_to_one_academy_is_offered_no_switch(cast: Cast, as_) -> None:
    assert 'aria-label="Academy"' not in as_(cast.coach).get("/people/").text


def test_the_header_costs_one_query(cast: Cast, as_) -> None:
    client = as_(cast.coach)
    with CaptureQueriesContext(connection) as queries:
        client.get("/account/logout/")
    # The session, the person, the memberships.
    assert len(queries) == 3


def test_a_person_of_two_roles_has_two_memberships_of_one_person(cast: Cast, as_) -> None:
    MembershipFactory(academy=cast.academy, person=cast.coach, role="director")
    page = main_of(as_(cast.coach).get("/me/").text)
    assert "Coach at Tarn Valley Tennis" in page and "Director at Tarn Valley Tennis" in page


def test_people_in_the_list_are_in_order_of_name(cast: Cast, as_) -> None:
    for name in ("Zoe Last", "Abe First"):
        MembershipFactory(academy=cast.academy, role="coach", person=PersonFactory(name=name))
    page = main_of(as_(cast.director).get("/people/").text)
    coaches = page[page.index("group-coach") :]
    names = ["Abe First", "Colin Colleague", "Marta Coach", "Zoe Last"]
    positions = [coaches.index(name) for name in names]
    assert positions == sorted(positions)
