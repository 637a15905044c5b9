"""Invitations: sent by those who may, used once, in time, by the person they are for."""

import re
import threading
from datetime import timedelta
from io import StringIO

import pytest
from django.core import mail
from django.core.cache import cache
from django.core.mail.backends.base import BaseEmailBackend
from django.core.management import CommandError, call_command
from django.db import connection, connections
from django.test import Client
from django.utils import timezone

from seasonplan.academy import inviting
from seasonplan.academy.models import Academy, Invitation, Membership, Person, Player, hashed
from tests.conftest import Cast
from tests.factories import (
    PASSWORD,
    AcademyFactory,
    MembershipFactory,
    PersonFactory,
    PlayerFactory,
    sign_up,
)

NEWCOMER = {"name": "Gordon Gray", "password": "moonball-tie-break-9"}


@pytest.fixture(autouse=True)
def no_rate_limits_left_over(db: None) -> None:
    cache.clear()


def an_invitation(cast: Cast, role: str = "guardian", **given) -> tuple[Invitation, str]:
    wanted = {"email": "gordon@nowhere.test", "player": cast.ines, "invited_by": cast.coach}
    return inviting.invite(academy=cast.academy, role=role, **{**wanted, **given})


def path_of(token: str) -> str:
    return f"/invitations/{token}/"


def send(client: Client, **given: object):
    data = {"email": "gordon@nowhere.test", "role": "guardian", **given}
    return client.post("/people/invite/", data)


# Sending -------------------------------------------------------------------------------------


def test_the_link_is_mailed_and_shown_once(cast: Cast, as_) -> None:
    client = as_(cast.director)
    answer = send(client, player=cast.ines.pk)
    assert answer.status_code == 302

    shown = re.search(r'value="http://testserver(/invitations/\S+/)"', client.get(answer.url).text)
    again = client.get(answer.url).text

    (sent,) = mail.outbox
    assert sent.to == ["gordon@nowhere.test"]
    assert shown is not None and f"http://testserver{shown[1]}" in sent.body
    assert "/invitations/" not in again.replace("/people/invitations/", "")
    assert "A link is shown once" in again
    assert Client().get(shown[1]).status_code == 200


def test_the_database_holds_no_secret_that_would_let_anybody_join(cast: Cast, as_) -> None:
    client = as_(cast.director)
    send(client, player=cast.ines.pk)
    token = re.search(r"/invitations/([^/]+)/", mail.outbox[0].body)
    assert token is not None
    with connection.cursor() as cursor:
        for table in ("academy_invitation", "django_session"):
            cursor.execute(f"SELECT * FROM {table}")  # noqa: S608
            assert token[1] not in repr(cursor.fetchall())
    assert token[1] not in repr(dict(client.session))


class DeadMail(BaseEmailBackend):
    def send_messages(self, email_messages):
        raise ConnectionRefusedError


def test_the_link_is_shown_also_when_the_mail_fails(cast: Cast, as_, settings) -> None:
    settings.EMAIL_BACKEND = "tests.academy.test_inviting.DeadMail"
    client = as_(cast.director)
    page = client.get(send(client, player=cast.ines.pk).url).text
    assert "The mail could not be sent" in page
    assert 'value="http://testserver/invitations/' in page


def test_a_coach_invites_around_their_own_players(cast: Cast, as_) -> None:
    client = as_(cast.coach)
    for n, role in enumerate(["guardian", "staff"]):
        answer = send(client, email=f"g{n}@nowhere.test", role=role, player=cast.ines.pk)
        assert answer.status_code == 302


@pytest.mark.parametrize("role", ["coach", "director"])
def test_a_coach_makes_no_coach_and_no_director(cast: Cast, as_, role: str) -> None:
    answer = send(as_(cast.coach), role=role, player=cast.ines.pk)
    assert answer.status_code == 422
    assert not Invitation.objects.exists()


def test_a_coach_invites_nobody_around_a_colleagues_player(cast: Cast, as_) -> None:
    answer = send(as_(cast.coach), player=cast.ravi.pk)
    assert answer.status_code == 422
    assert not Invitation.objects.exists()


def test_a_coach_invites_staff_for_a_player_only(cast: Cast, as_) -> None:
    answer = send(as_(cast.coach), role="staff")
    assert answer.status_code == 422
    assert "Choose the player." in answer.text


@pytest.mark.parametrize("role", ["guardian", "player"])
def test_a_guardian_or_players_log_in_needs_the_player(cast: Cast, as_, role: str) -> None:
    answer = send(as_(cast.director), role=role)
    assert answer.status_code == 422
    assert "Choose the player." in answer.text
    assert 'value="gordon@nowhere.test"' in answer.text


def test_a_player_with_a_log_in_gets_no_second_one(cast: Cast, as_) -> None:
    answer = send(as_(cast.director), role="player", player=cast.ines.pk)
    assert answer.status_code == 422
    assert "Ines Varga has a log-in already." in answer.text


def test_somebody_with_the_role_already_is_not_invited_again(cast: Cast, as_) -> None:
    answer = send(
        as_(cast.director), email="GITA@academy.test", role="guardian", player=cast.ines.pk
    )
    assert answer.status_code == 422
    assert "works with Ines Varga in that role already" in answer.text


def test_a_guardian_of_one_player_can_be_invited_for_another(cast: Cast, as_) -> None:
    answer = send(
        as_(cast.director), email=cast.guardian.email, role="guardian", player=cast.ravi.pk
    )
    assert answer.status_code == 302


def test_a_second_invitation_of_the_same_person_replaces_the_first(cast: Cast) -> None:
    _, first = an_invitation(cast)
    _, second = an_invitation(cast)
    assert Invitation.objects.count() == 1
    assert inviting.find_invitation(first) is None
    assert inviting.find_invitation(second) is not None


def test_a_new_link_ends_the_old_one_and_begins_a_new_term(cast: Cast, as_) -> None:
    invitation, old = an_invitation(cast)
    Invitation.objects.update(
        created_at=timezone.now() - timedelta(days=9),
        expires_at=timezone.now() - timedelta(days=2),
    )
    client = as_(cast.coach)
    page = client.get(client.post(f"/people/invitations/{invitation.pk}/new-link/").url).text

    new = re.search(r"/invitations/([\w-]{20,})/", page)
    assert new is not None
    assert Client().get(path_of(old)).status_code == 404
    assert Client().get(path_of(new[1])).status_code == 200


def test_a_withdrawn_link_is_unknown(cast: Cast, as_) -> None:
    invitation, token = an_invitation(cast)
    as_(cast.coach).post(f"/people/invitations/{invitation.pk}/withdraw/")
    answer = Client().get(path_of(token))
    assert answer.status_code == 404
    assert "This invitation is not known" in answer.text


def test_a_used_invitation_can_be_neither_renewed_nor_withdrawn(cast: Cast, as_) -> None:
    invitation, token = an_invitation(cast)
    Client().post(path_of(token), NEWCOMER)
    client = as_(cast.director)
    for job in ("new-link", "withdraw"):
        answer = client.post(f"/people/invitations/{invitation.pk}/{job}/")
        assert answer.status_code == 404
    assert Invitation.objects.filter(pk=invitation.pk).exists()


def test_a_new_link_for_somebody_who_joins_at_that_moment_is_not_made(cast: Cast, as_) -> None:
    invitation, token = an_invitation(cast)
    waiting = [lambda: Client().post(path_of(token), NEWCOMER)]

    def overtake(execute, sql, params, many, context):
        if waiting and sql.startswith('UPDATE "academy_invitation"'):
            waiting.pop()()
        return execute(sql, params, many, context)

    coach = as_(cast.coach)
    with connection.execute_wrapper(overtake):
        answer = coach.post(f"/people/invitations/{invitation.pk}/new-link/")
    assert "gordon@nowhere.test has joined meanwhile" in coach.get(answer.url).text
    assert mail.outbox == []


# Joining -------------------------------------------------------------------------------------


def test_the_page_says_who_invites_to_what(cast: Cast) -> None:
    _, token = an_invitation(cast)
    page = Client().get(path_of(token)).text
    for words in ("Marta Coach", "Tarn Valley Tennis", "Ines Varga", "gordon@nowhere.test"):
        assert words in page


def test_a_new_guardian_joins_is_signed_in_and_sees_their_child(cast: Cast, client) -> None:
    _, token = an_invitation(cast)
    answer = client.post(path_of(token), NEWCOMER)

    gordon = Person.objects.get(email="gordon@nowhere.test")
    assert (answer.status_code, answer.url) == (302, "/")
    assert client.session["_auth_user_id"] == str(gordon.pk)
    assert gordon.name == "Gordon Gray" and gordon.check_password(NEWCOMER["password"])
    assert list(Player.objects.visible_to(gordon)) == [cast.ines]
    assert cast.ines.team.get(person=gordon).role == "guardian"


def test_a_players_log_in_belongs_to_the_player(cast: Cast, client) -> None:
    pia = PlayerFactory(academy=cast.academy, name="Pia Without")
    _, token = an_invitation(cast, "player", email="pia@nowhere.test", player=pia)
    client.post(path_of(token), NEWCOMER)
    pia.refresh_from_db()
    assert pia.person == Person.objects.get(email="pia@nowhere.test")
    assert pia.person.memberships.get().role == "player"
    assert not pia.team.exists()


def test_staff_invited_without_a_player_joins_no_team(cast: Cast, client) -> None:
    _, token = an_invitation(cast, "staff", player=None)
    client.post(path_of(token), NEWCOMER)
    assert Membership.objects.get(person__email="gordon@nowhere.test").players.count() == 0


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({"name": "Gordon Gray", "password": "short"}, "at least 10 characters"),
        ({"name": "", "password": NEWCOMER["password"]}, "This field is required."),
        ({"name": "Gordon Gray", "password": "gordon@nowhere.test"}, "too similar"),
    ],
)
def test_what_is_wrong_stands_beside_its_field(cast: Cast, data: dict[str, str], said: str) -> None:
    _, token = an_invitation(cast)
    answer = Client().post(path_of(token), data)
    assert answer.status_code == 422
    assert said in answer.text
    assert not Person.objects.filter(email="gordon@nowhere.test").exists()
    assert Client().post(path_of(token), NEWCOMER).status_code == 302


def test_a_link_works_once(cast: Cast) -> None:
    _, token = an_invitation(cast)
    Client().post(path_of(token), NEWCOMER)
    before = Person.objects.count()
    for answer in (Client().get(path_of(token)), Client().post(path_of(token), NEWCOMER)):
        assert answer.status_code == 410
        assert "This invitation was used" in answer.text
    assert Person.objects.count() == before


def test_a_link_expires(cast: Cast) -> None:
    _, token = an_invitation(cast)
    Invitation.objects.update(
        created_at=timezone.now() - timedelta(days=7),
        expires_at=timezone.now() - timedelta(seconds=1),
    )
    for answer in (Client().get(path_of(token)), Client().post(path_of(token), NEWCOMER)):
        assert answer.status_code == 410
        assert "This invitation has expired" in answer.text
    assert not Person.objects.filter(email="gordon@nowhere.test").exists()


def test_a_link_works_for_seven_days(cast: Cast) -> None:
    invitation, _ = an_invitation(cast)
    term = invitation.expires_at - timezone.now()
    assert timedelta(days=6, hours=23) < term <= timedelta(days=7)


def test_an_unknown_link_is_not_found(db: None, client: Client) -> None:
    assert client.get(path_of("no-such-token")).status_code == 404


def test_expiry_counts_at_the_moment_of_joining(cast: Cast) -> None:
    invitation, _ = an_invitation(cast)
    with pytest.raises(inviting.InvitationSpent):
        inviting.accept_as_new(
            invitation, name="Late", password=PASSWORD, now=invitation.expires_at
        )
    assert not Person.objects.filter(email="gordon@nowhere.test").exists()


def test_somebody_who_signs_in_already_has_to_do_so_first(cast: Cast) -> None:
    sign_up(cast.stranger)
    _, token = an_invitation(cast, email=cast.stranger.email)
    client = Client()
    page = client.get(path_of(token))
    refused = client.post(path_of(token), NEWCOMER)
    assert f"/account/login/?next={path_of(token)}" in page.text
    assert refused.status_code == 409
    assert not cast.stranger.memberships.exists()

    client.post("/account/login/", {"login": cast.stranger.email, "password": PASSWORD})
    answer = client.post(path_of(token))

    assert answer.status_code == 302
    assert cast.stranger.memberships.get().academy == cast.academy
    assert cast.stranger.check_password(PASSWORD)


def test_somebody_else_who_is_signed_in_cannot_join(cast: Cast, as_) -> None:
    invitation, token = an_invitation(cast)
    client = as_(cast.stranger)
    page = client.get(path_of(token))
    answer = client.post(path_of(token), NEWCOMER)
    invitation.refresh_from_db()
    assert "You are signed in as stella@nowhere.test" in page.text
    assert answer.status_code == 403
    assert invitation.used_at is None
    assert not cast.stranger.memberships.exists()


def test_capitals_in_the_address_make_nobody_another_person(cast: Cast, as_) -> None:
    _, token = an_invitation(cast, email="Stella@Nowhere.test")
    assert as_(cast.stranger).post(path_of(token)).status_code == 302


def test_a_player_who_got_a_log_in_meanwhile_gets_no_second(cast: Cast) -> None:
    pia = PlayerFactory(academy=cast.academy, name="Pia Without")
    invitation, token = an_invitation(cast, "player", email="pia@nowhere.test", player=pia)
    Player.objects.filter(pk=pia.pk).update(person=cast.stranger)

    answer = Client().post(path_of(token), NEWCOMER)

    invitation.refresh_from_db()
    assert answer.status_code == 409
    assert "Somebody signs in for Pia Without already." in answer.text
    assert invitation.used_at is None
    assert not Person.objects.filter(email="pia@nowhere.test").exists()


def test_one_person_does_not_sign_in_for_two_players_of_an_academy(cast: Cast, as_) -> None:
    pia = PlayerFactory(academy=cast.academy, name="Pia Without")
    _, token = an_invitation(cast, "player", email=cast.player.email, player=pia)
    answer = as_(cast.player).post(path_of(token))
    pia.refresh_from_db()
    assert answer.status_code == 409
    assert pia.person is None


def test_of_two_who_both_found_the_link_unused_one_joins(cast: Cast) -> None:
    _, token = an_invitation(cast)
    one, other = inviting.find_invitation(token), inviting.find_invitation(token)
    assert one is not None and other is not None
    inviting.accept_as_new(one, name="One", password=PASSWORD, now=timezone.now())
    with pytest.raises(inviting.InvitationSpent):
        inviting.accept_as_new(other, name="Other", password=PASSWORD, now=timezone.now())
    assert Person.objects.get(email="gordon@nowhere.test").name == "One"


@pytest.mark.skipif(
    connection.vendor == "sqlite", reason="threads cannot share SQLite's database in memory"
)
@pytest.mark.django_db(transaction=True)
def test_of_two_who_use_a_link_at_the_same_time_one_joins() -> None:
    academy = AcademyFactory()
    invitation, _ = inviting.invite(
        academy=academy, email="twin@nowhere.test", role="coach", player=None, invited_by=None
    )
    start = threading.Barrier(2)
    outcomes: list[str] = []

    def join(name: str) -> None:
        start.wait()
        try:
            inviting.accept_as_new(invitation, name=name, password=PASSWORD, now=timezone.now())
            outcomes.append("joined")
        except inviting.InvitationSpent:
            outcomes.append("spent")
        finally:
            connections.close_all()

    threads = [threading.Thread(target=join, args=[name]) for name in ("One", "Other")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert sorted(outcomes) == ["joined", "spent"]
    assert Person.objects.filter(email="twin@nowhere.test").count() == 1
    assert academy.memberships.count() == 1


# The first academy ---------------------------------------------------------------------------


def test_found_academy_prints_a_link_that_makes_its_director(db: None, client: Client) -> None:
    out = StringIO()
    call_command(
        "found_academy",
        "Fell Tennis",
        "Dana@nowhere.test",
        "--address=https://plan.example.org/",
        stdout=out,
    )
    link = re.search(r"^https://plan\.example\.org(/invitations/\S+/)$", out.getvalue(), re.M)
    assert link is not None

    client.post(link[1], NEWCOMER)

    dana = Person.objects.get(email="dana@nowhere.test")
    assert dana.memberships.get().role == "director"
    assert Academy.objects.editable_by(dana).get().name == "Fell Tennis"


def test_found_academy_takes_the_address_from_the_hosts(db: None, settings) -> None:
    settings.ALLOWED_HOSTS = ["plan.example.org"]
    settings.HTTPS = True
    out = StringIO()
    call_command("found_academy", "Fell Tennis", "dana@nowhere.test", stdout=out)
    assert "\nhttps://plan.example.org/invitations/" in out.getvalue()


@pytest.mark.parametrize(
    ("hosts", "email", "said"),
    [
        (["*"], "dana@nowhere.test", "--address"),
        (["plan.example.org"], "not-an-address", "valid email"),
    ],
)
def test_found_academy_says_what_is_missing_and_founds_nothing(
    db: None, settings, hosts: list[str], email: str, said: str
) -> None:
    settings.ALLOWED_HOSTS = hosts
    with pytest.raises(CommandError, match=said):
        call_command("found_academy", "Fell Tennis", email)
    assert not Academy.objects.exists()


def test_the_hash_is_sha_256() -> None:
    # From FIPS 180-2, appendix B.1: the message "abc".
    assert hashed("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_members_of_another_academy_are_invited_like_anybody(cast: Cast, as_) -> None:
    MembershipFactory(academy=cast.foreign_academy, person=cast.stranger, role="coach")
    answer = send(as_(cast.director), email=cast.stranger.email, role="coach")
    assert answer.status_code == 302


def test_a_person_without_academy_is_told_how_to_join_one(cast: Cast, as_) -> None:
    page = as_(PersonFactory(email="lone@nowhere.test")).get("/me/").text
    assert "Ask an academy for an invitation to lone@nowhere.test" in page
