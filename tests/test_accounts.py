"""Signing in: by email and password, by invitation only, closed for a while after wrong ones."""

import re
from datetime import timedelta

import pytest
from axes.models import AccessAttempt
from django.core import mail
from django.core.cache import cache
from django.core.mail.backends.base import BaseEmailBackend
from django.test import Client
from django.utils import timezone

from seasonplan.academy.models import Person
from tests.conftest import Cast
from tests.factories import PASSWORD, PersonFactory, sign_up

LOGIN = "/account/login/"
NEW_PASSWORD = "baseline-drop-shot-31"


@pytest.fixture(autouse=True)
def no_rate_limits_left_over(db: None) -> None:
    cache.clear()


@pytest.fixture
def nora(db: None) -> Person:
    return sign_up(PersonFactory(name="Nora North", email="nora@academy.test"))


def sign_in(client: Client, email: str, password: str, **extra: str):
    return client.post(LOGIN, {"login": email, "password": password, **extra})


def is_signed_in(client: Client) -> bool:
    return "_auth_user_id" in client.session


def test_email_and_password_sign_in_whatever_the_capitals(nora: Person, client: Client) -> None:
    answer = sign_in(client, "Nora@Academy.test", PASSWORD)
    assert (answer.status_code, answer.url) == (302, "/")
    assert is_signed_in(client)


def test_signing_in_leads_back_to_the_page_asked_for(nora: Person, client: Client) -> None:
    assert sign_in(client, nora.email, PASSWORD, next="/me/").url == "/me/"


def test_signing_in_does_not_lead_to_another_server(nora: Person, client: Client) -> None:
    assert sign_in(client, nora.email, PASSWORD, next="https://elsewhere.test/").url == "/"


def test_a_wrong_password_is_said_and_the_address_is_kept(nora: Person, client: Client) -> None:
    answer = sign_in(client, nora.email, "not-the-password")
    assert answer.status_code == 422
    assert "do not belong together" in answer.text
    assert 'value="nora@academy.test"' in answer.text
    assert not is_signed_in(client)


def test_an_unknown_address_gets_the_same_answer_as_a_wrong_password(
    nora: Person, client: Client
) -> None:
    wrong = sign_in(client, nora.email, "not-the-password").text
    unknown = sign_in(client, "nobody@academy.test", "not-the-password").text
    said = re.compile(r'role="alert">(.*?)<')
    assert said.findall(wrong) == said.findall(unknown) != []


def test_eight_wrong_passwords_close_the_door_even_to_the_right_one(
    nora: Person, client: Client
) -> None:
    answers = [sign_in(client, nora.email, f"wrong-{n}").status_code for n in range(8)]
    assert answers == [422, 422, 422, 422, 422, 422, 422, 429]

    answer = sign_in(client, nora.email, PASSWORD)

    assert answer.status_code == 429
    assert "Too many wrong passwords" in answer.text
    assert "nora@academy.test" in answer.text
    assert not is_signed_in(client)


def test_capitals_do_not_start_the_count_anew(nora: Person, client: Client) -> None:
    for spelling in ["nora@academy.test", "NORA@academy.test", "Nora@Academy.Test "] * 3:
        sign_in(client, spelling, "wrong")
    assert sign_in(client, nora.email, PASSWORD).status_code == 429


def test_seven_wrong_passwords_and_the_right_one_sign_in(nora: Person, client: Client) -> None:
    for n in range(7):
        sign_in(client, nora.email, f"wrong-{n}")
    assert sign_in(client, nora.email, PASSWORD).status_code == 302


def test_the_door_closes_to_one_person_not_to_their_neighbour(nora: Person, client: Client) -> None:
    neighbour = sign_up(PersonFactory(email="neil@academy.test"))
    for n in range(8):
        sign_in(client, nora.email, f"wrong-{n}")
    assert sign_in(client, neighbour.email, PASSWORD).status_code == 302


def test_the_door_opens_again_after_a_quarter_of_an_hour(nora: Person, client: Client) -> None:
    for n in range(8):
        sign_in(client, nora.email, f"wrong-{n}")
    AccessAttempt.objects.update(attempt_time=timezone.now() - timedelta(minutes=16))
    assert sign_in(client, nora.email, PASSWORD).status_code == 302


def test_a_new_password_by_mail_opens_the_door_at_once(nora: Person, client: Client) -> None:
    for n in range(8):
        sign_in(client, nora.email, f"wrong-{n}")
    answer = choose_new_password(client, nora)
    assert answer.url == "/account/password/reset/key/done/"
    assert sign_in(client, nora.email, NEW_PASSWORD).status_code == 302


def test_the_mail_for_a_new_password_is_in_the_language_of_its_reader(client: Client) -> None:
    person = PersonFactory(language="")
    asked = {"email": person.email}
    for chosen, subject in (("", "mot de passe"), ("es", "contraseña")):
        person.language = chosen
        person.save()
        client.post("/account/password/reset/", asked, headers={"Accept-Language": "fr"})
        assert subject in mail.outbox[-1].subject


def choose_new_password(client: Client, person: Person):
    client.post("/account/password/reset/", {"email": person.email})
    link = re.search(r"http://testserver(/\S+)", mail.outbox[-1].body)
    assert link is not None
    form = client.get(link[1]).url
    assert client.get(form).status_code == 200
    return client.post(form, {"password1": NEW_PASSWORD, "password2": NEW_PASSWORD})


def test_the_mail_with_the_new_password_link_is_plain_words(nora: Person, client: Client) -> None:
    client.post("/account/password/reset/", {"email": nora.email})
    (sent,) = mail.outbox
    assert (sent.to, sent.subject) == (["nora@academy.test"], "Seasonplan: Choose a new password")
    assert sent.body.startswith("Hello Nora North,")
    assert "<" not in sent.body and "example.com" not in sent.body


def test_a_new_password_link_works_once(nora: Person, client: Client) -> None:
    choose_new_password(client, nora)
    link = re.search(r"http://testserver(/\S+)", mail.outbox[-1].body)
    assert link is not None
    answer = Client().get(link[1])
    assert answer.status_code == 410
    assert "does not work any more" in answer.text


def test_an_unknown_address_learns_by_mail_that_nobody_signs_in_with_it(
    db: None, client: Client
) -> None:
    answer = client.post("/account/password/reset/", {"email": "who@nowhere.test"})
    assert answer.url == "/account/password/reset/done/"
    (sent,) = mail.outbox
    assert "Nobody signs in there with this address" in sent.body
    assert "http://testserver/account/signup/" in sent.body


class DeadMail(BaseEmailBackend):
    def send_messages(self, email_messages):
        raise ConnectionRefusedError


def test_a_dead_mail_server_is_said_and_breaks_nothing(
    nora: Person, client: Client, settings
) -> None:
    settings.EMAIL_BACKEND = "tests.test_accounts.DeadMail"
    answer = client.post("/account/password/reset/", {"email": nora.email}, follow=True)
    assert answer.status_code == 200
    assert "The mail could not be sent" in answer.text


def test_changing_the_password_keeps_this_session_and_ends_the_others(
    nora: Person, client: Client
) -> None:
    elsewhere = Client()
    sign_in(elsewhere, nora.email, PASSWORD)
    sign_in(client, nora.email, PASSWORD)

    answer = client.post(
        "/account/password/change/",
        {"oldpassword": PASSWORD, "password1": NEW_PASSWORD, "password2": NEW_PASSWORD},
    )

    assert (answer.status_code, answer.url) == (302, "/me/")
    assert client.get("/me/").status_code == 200
    assert elsewhere.get("/me/").status_code == 302


def test_changing_the_password_needs_the_old_one(nora: Person, client: Client) -> None:
    sign_in(client, nora.email, PASSWORD)
    answer = client.post(
        "/account/password/change/",
        {"oldpassword": "a-guess", "password1": NEW_PASSWORD, "password2": NEW_PASSWORD},
    )
    assert answer.status_code == 422
    assert "This is not your current password." in answer.text


@pytest.mark.parametrize("weak", ["short", "1234567890", "password12", "nora@academy.test"])
def test_a_weak_password_is_refused(nora: Person, client: Client, weak: str) -> None:
    sign_in(client, nora.email, PASSWORD)
    answer = client.post(
        "/account/password/change/",
        {"oldpassword": PASSWORD, "password1": weak, "password2": weak},
    )
    assert answer.status_code == 422


def test_nobody_signs_up_by_themselves(db: None, client: Client) -> None:
    before = Person.objects.count()
    page = client.get("/account/signup/")
    answer = client.post(
        "/account/signup/", {"email": "new@nowhere.test", "password1": NEW_PASSWORD}
    )
    assert "by invitation" in page.text
    assert (answer.status_code, Person.objects.count()) == (405, before)


def test_the_sign_in_page_offers_no_signing_up(db: None, client: Client) -> None:
    page = client.get(LOGIN).text
    assert "/account/signup/" not in page
    assert "Seasonplan is by invitation: ask your academy" in page
    assert "/account/password/reset/" in page


def test_a_log_in_that_is_switched_off_is_told_so(nora: Person, client: Client) -> None:
    nora.is_active = False
    nora.save()
    answer = sign_in(client, nora.email, PASSWORD)
    assert answer.url == "/account/inactive/"
    assert "switched" in client.get(answer.url).text
    assert not is_signed_in(client)


def test_signing_out_is_a_post_and_leads_to_signing_in(cast: Cast, as_) -> None:
    client = as_(cast.coach)
    assert client.get("/account/logout/").status_code == 200
    assert is_signed_in(client)
    assert client.post("/account/logout/").url == LOGIN
    assert not is_signed_in(client)


def test_too_many_requests_get_a_page_that_says_what_to_do(db: None, client: Client) -> None:
    for n in range(30):
        answer = sign_in(client, f"guess{n}@nowhere.test", "wrong")
        assert answer.status_code == 422
    answer = sign_in(client, "guess30@nowhere.test", "wrong")
    assert answer.status_code == 429
    assert "Wait a minute and try again" in answer.text


@pytest.mark.parametrize(
    "path",
    [
        LOGIN,
        "/account/signup/",
        "/account/inactive/",
        "/account/password/reset/",
        "/account/password/reset/done/",
        "/account/password/reset/key/done/",
        "/account/password/reset/key/1-none/",
    ],
)
def test_every_page_for_signing_in_has_our_frame_and_a_way_on(
    path: str, db: None, client: Client
) -> None:
    page = client.get(path).text
    assert page.count("<h1") == 1
    assert 'class="site-header"' in page
    main = page[page.index("<main") : page.index("</main>")]
    assert 'href="/account/' in main
