"""A code after the password, spare codes, a password given again, and browsers signed out."""

import re
import time

import pytest
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import format_hotp_value, hotp_value
from django.core.cache import cache
from django.test import Client, override_settings

from seasonplan.academy.models import Membership, Person
from seasonplan.academy.second_step import SecondStepAdapter
from tests.conftest import Cast
from tests.factories import PASSWORD, MembershipFactory, PersonFactory, sign_up

LOGIN = "/account/login/"
CODE = "/account/second-step/code/"
ON = "/account/second-step/on/"
AGAIN = "/account/again/"
SPARE = "/account/second-step/spare-codes/"


@pytest.fixture(autouse=True)
def no_rate_limits_left_over(db: None) -> None:
    cache.clear()


@pytest.fixture
def nora(db: None) -> Person:
    return sign_up(PersonFactory(name="Nora North", email="nora@academy.test"))


def due(secret: str, steps: int = 0) -> str:
    return format_hotp_value(hotp_value(secret, int(time.time()) // 30 + steps))


def signed_in(person: Person, **headers: str) -> Client:
    client = Client(**headers)
    assert client.post(LOGIN, {"login": person.email, "password": PASSWORD}).status_code == 302
    return client


def confirmed(person: Person, **headers: str) -> Client:
    """Signed in, and the password given once more."""
    client = signed_in(person, **headers)
    answer = client.post(AGAIN, {"password": PASSWORD, "next": "/me/"})
    assert (answer.status_code, answer.url) == (302, "/me/")
    return client


def turn_on(client: Client) -> str:
    """Turn the second step on as the page says; the secret."""
    secret = re.search(r"<code[^>]*>(\w+)</code>", client.get(ON).text)[1]
    assert client.post(ON, {"code": due(secret)}).url == SPARE
    return secret


def is_signed_in(client: Client) -> bool:
    return "_auth_user_id" in client.session


@pytest.mark.parametrize(
    ("counter", "code"),
    [(0, "755224"), (1, "287082"), (5, "254676"), (9, "520489")],
)
def test_codes_are_those_of_the_standard(counter: int, code: str) -> None:
    """RFC 4226, appendix D, with its secret "12345678901234567890"."""
    secret = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"
    assert format_hotp_value(hotp_value(secret, counter)) == code


def test_with_the_second_step_on_a_password_alone_opens_nothing(nora: Person) -> None:
    secret = turn_on(confirmed(nora))

    client = Client()
    answer = client.post(LOGIN, {"login": nora.email, "password": PASSWORD, "next": "/me/"})
    assert answer.url.split("?")[0] == CODE
    assert not is_signed_in(client)
    assert client.get("/me/").status_code == 302

    refused = client.post(CODE, {"code": "000000"})
    assert refused.status_code == 422
    assert "not the code that is due" in refused.text
    assert not is_signed_in(client)

    # The code of a phone whose clock is half a minute behind, so that it was not used yet.
    assert client.post(CODE, {"code": due(secret, -1)}).url == "/me/"
    assert is_signed_in(client)


def test_a_code_works_once(nora: Person) -> None:
    secret = turn_on(confirmed(nora))
    code = due(secret, 1)
    for wanted in (302, 422):
        client = Client()
        client.post(LOGIN, {"login": nora.email, "password": PASSWORD})
        assert client.post(CODE, {"code": code}).status_code == wanted


def test_codes_cannot_be_tried_without_end(nora: Person) -> None:
    secret = turn_on(confirmed(nora))
    client = Client()
    client.post(LOGIN, {"login": nora.email, "password": PASSWORD})
    for _ in range(12):
        client.post(CODE, {"code": "000000"})
    answer = client.post(CODE, {"code": due(secret, 1)})
    assert answer.status_code in (422, 429)
    assert not is_signed_in(client)


def test_a_spare_code_replaces_the_phone_once(nora: Person) -> None:
    client = confirmed(nora)
    turn_on(client)
    codes = re.findall(r"<li><code>(\d{8})</code></li>", client.get(SPARE).text)
    assert len(codes) == 10
    assert codes[3] in client.get(SPARE + "file/").text
    for wanted in (302, 422):
        other = Client()
        other.post(LOGIN, {"login": nora.email, "password": PASSWORD})
        assert other.post(CODE, {"code": codes[3]}).status_code == wanted
    assert codes[3] not in client.get(SPARE).text


def test_new_spare_codes_replace_the_old_ones(nora: Person) -> None:
    client = confirmed(nora)
    turn_on(client)
    before = re.findall(r"<code>(\d{8})</code>", client.get(SPARE).text)
    assert client.post(SPARE + "new/").url == SPARE
    after = re.findall(r"<code>(\d{8})</code>", client.get(SPARE).text)
    assert len(after) == 10
    assert not set(before) & set(after)


def test_turning_it_on_and_off_asks_for_the_password_again(nora: Person) -> None:
    fresh = signed_in(nora)
    assert fresh.get(ON).url.split("?")[0] == AGAIN
    client = confirmed(nora)
    turn_on(client)
    off = "/account/second-step/off/"
    assert signed_out_of_nothing_else(nora, off)
    assert client.post(off).url == "/account/second-step/"
    assert not Authenticator.objects.filter(user=nora).exists()


def signed_out_of_nothing_else(person: Person, address: str) -> bool:
    """A browser without a fresh password is asked for one there."""
    client = Client()
    client.force_login(person, backend="allauth.account.auth_backends.AuthenticationBackend")
    return client.post(address).url.split("?")[0] == AGAIN


def test_who_proves_again_who_they_are_gets_a_new_session_key(nora: Person) -> None:
    client = signed_in(nora)
    before = client.session.session_key
    client.post(AGAIN, {"password": "not-the-password", "next": "/me/"})
    assert client.session.session_key == before
    client.post(AGAIN, {"password": PASSWORD, "next": "/me/"})
    assert client.session.session_key != before
    assert "nowhere else" in client.get("/account/signed-in/").text


def test_a_wrong_password_is_no_confirmation(nora: Person) -> None:
    client = signed_in(nora)
    answer = client.post(AGAIN, {"password": "not-the-password", "next": ON})
    assert answer.status_code == 422
    assert client.get(ON).url.split("?")[0] == AGAIN


def test_a_code_confirms_as_well_as_the_password(nora: Person) -> None:
    secret = turn_on(confirmed(nora))
    client = Client()
    client.post(LOGIN, {"login": nora.email, "password": PASSWORD})
    client.post(CODE, {"code": due(secret, -1)})
    answer = client.post("/account/second-step/again/", {"code": due(secret, 1), "next": SPARE})
    assert (answer.status_code, answer.url) == (302, SPARE)
    assert client.get("/account/second-step/off/").status_code == 200


def test_the_secret_is_not_in_the_database_as_it_is(nora: Person) -> None:
    secret = turn_on(confirmed(nora))
    kept = Authenticator.objects.get(user=nora, type="totp").data["secret"]
    assert secret not in kept
    assert SecondStepAdapter().decrypt(kept) == secret


def test_after_a_new_secret_key_no_code_fits_unless_the_old_key_is_kept() -> None:
    kept = SecondStepAdapter().encrypt("JBSWY3DPEHPK3PXP")
    with override_settings(SECRET_KEY="k" * 60):
        assert SecondStepAdapter().decrypt(kept) not in ("", "JBSWY3DPEHPK3PXP")
    from django.conf import settings

    old = settings.SECRET_KEY
    with override_settings(SECRET_KEY="k" * 60, SECRET_KEY_FALLBACKS=[old]):
        assert SecondStepAdapter().decrypt(kept) == "JBSWY3DPEHPK3PXP"


def test_browsers_are_listed_and_the_others_signed_out(nora: Person) -> None:
    phone = signed_in(nora, HTTP_USER_AGENT="Mozilla/5.0 (Android 15) Gecko/1 Firefox/140.0")
    here = signed_in(nora, HTTP_USER_AGENT="Mozilla/5.0 (X11; Linux) Chrome/140 Safari/537")
    page = here.get("/account/signed-in/").text
    assert "Firefox on Android" in page
    assert "Chrome on Linux" in page
    here.post("/account/signed-in/")
    assert phone.get("/me/").status_code == 302
    assert here.get("/me/").status_code == 200
    assert "nowhere else" in here.get("/account/signed-in/").text


def test_nobody_sees_the_browsers_of_another(nora: Person) -> None:
    other = sign_up(PersonFactory(name="Olaf Other", email="olaf@academy.test"))
    theirs = signed_in(other, HTTP_USER_AGENT="Mozilla/5.0 (iPhone) Safari/605")
    client = signed_in(nora)
    assert "iPhone" not in client.get("/account/signed-in/").text
    client.post("/account/signed-in/")
    assert theirs.get("/me/").status_code == 200


# A director lets somebody back in ----------------------------------------------------------------


def director_at(cast: Cast, person: Person) -> tuple[Client, str]:
    """The director with a fresh password, and the address of the person's membership."""
    director = sign_up(cast.director)
    membership = Membership.objects.get(person=person, academy=cast.academy)
    return confirmed(director), f"/people/members/{membership.pk}/let-in/"


def test_a_director_hands_over_a_link_that_works_once(cast: Cast) -> None:
    client, address = director_at(cast, cast.coach)
    link = re.search(r'value="(http[^"]+)"', client.post(address, {"do": "password"}).text)[1]
    theirs = Client()
    form = theirs.get(link.removeprefix("http://testserver"), follow=True)
    new = {"password1": "baseline-drop-shot-31", "password2": "baseline-drop-shot-31"}
    assert theirs.post(form.redirect_chain[-1][0], new).status_code == 302
    signing_in = {"login": cast.coach.email, "password": "baseline-drop-shot-31"}
    assert Client().post(LOGIN, signing_in).status_code == 302
    assert Client().get(link.removeprefix("http://testserver")).status_code == 410


def test_a_director_turns_off_the_second_step_of_a_lost_phone(cast: Cast) -> None:
    turn_on(confirmed(sign_up(cast.coach)))
    client, address = director_at(cast, cast.coach)
    client.post(address, {"do": "second-step"})
    assert is_signed_in(signed_in(cast.coach))


def test_who_belongs_to_another_academy_too_is_not_let_in_by_this_director(cast: Cast) -> None:
    MembershipFactory(academy=cast.foreign_academy, person=cast.coach, role="coach")
    client, address = director_at(cast, cast.coach)
    assert "another academy" in client.get(address).text
    assert client.post(address, {"do": "password"}).status_code == 403


def test_letting_in_asks_for_the_directors_password_again(cast: Cast) -> None:
    _, address = director_at(cast, cast.coach)
    assert signed_out_of_nothing_else(cast.director, address)
