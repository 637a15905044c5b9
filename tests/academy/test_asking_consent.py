"""A player under the academy's age asks the guardians by mail."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.core import mail
from django.test import Client
from django.utils import timezone

from seasonplan.academy.consent import give_consent
from seasonplan.academy.models import ConsentRequest, Player
from tests.conftest import Cast
from tests.factories import MembershipFactory
from tests.plans.pages import read

As = Callable[..., Client]


@pytest.fixture
def child(cast: Cast) -> Player:
    cast.ines.birth_date = timezone.localdate() - timedelta(days=12 * 366)
    cast.ines.save()
    return cast.ines


@pytest.mark.parametrize(
    "path", ["/phone/log/", "/phone/me/", "/phone/log/day/", "/players/{}/consent/"]
)
def test_where_consent_is_missing_a_button_asks_for_it(
    cast: Cast, child: Player, as_: As, path: str
) -> None:
    page = read(as_(cast.player).get(path.format(child.pk)))
    assert "Ask Gita Guardian by mail" in page.buttons()
    [form] = [f for f in page.all("form") if f.attributes.get("action", "").endswith("/ask/")]
    assert form.attributes["action"] == f"/players/{child.pk}/consent/ask/"


def test_each_guardian_gets_the_link_and_nothing_about_health(
    cast: Cast, child: Player, as_: As
) -> None:
    second = MembershipFactory(
        academy=cast.academy, role="guardian", person__email="george@academy.test"
    )
    child.team.add(second)
    answer = as_(cast.player).post(f"/players/{child.pk}/consent/ask/", follow=True)
    assert "A mail with the link is on its way to Gita Guardian" in read(answer).text
    assert sorted(m.to for m in mail.outbox) == [["george@academy.test"], ["gita@academy.test"]]
    for message in mail.outbox:
        assert f"http://testserver/players/{child.pk}/consent/" in message.body
        words = f"{message.subject} {message.body}".lower()
        assert not any(w in words for w in ("health", "mood", "sleep", "injury", "pain", "sore"))
    request = ConsentRequest.objects.get()
    assert (request.player, request.asked_by) == (child, cast.player)


def test_the_link_in_the_mail_leads_a_guardian_to_the_decision(
    cast: Cast, child: Player, as_: As
) -> None:
    as_(cast.player).post(f"/players/{child.pk}/consent/ask/")
    link = next(word for word in mail.outbox[0].body.split() if word.startswith("http"))
    page = read(as_(cast.guardian).get(link.removeprefix("http://testserver")))
    assert "I am a guardian of Ines Varga, and I consent" in page.buttons()


def test_a_day_has_one_mail(
    cast: Cast, child: Player, as_: As, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = f"/players/{child.pk}/consent/ask/"
    as_(cast.player).post(path)
    answer = as_(cast.coach).post(path, follow=True)
    assert "got the mail today already" in read(answer).text
    assert len(mail.outbox) == 1
    tomorrow = timezone.now() + timedelta(days=1)
    monkeypatch.setattr(timezone, "now", lambda: tomorrow)
    as_(cast.player).post(path)
    assert len(mail.outbox) == 2


def test_a_mail_that_was_not_sent_does_not_count(
    cast: Cast, child: Player, as_: As, settings
) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 1  # nobody listens there
    answer = as_(cast.player).post(f"/players/{child.pk}/consent/ask/", follow=True)
    assert "The mail could not be sent." in read(answer).text
    assert ConsentRequest.objects.count() == 0


def test_without_a_guardian_it_says_so_and_whom_to_ask(cast: Cast, child: Player, as_: As) -> None:
    child.team.remove(*cast.guardian.memberships.all())
    for path in ("/phone/log/", "/phone/log/day/", f"/players/{child.pk}/consent/"):
        page = read(as_(cast.player).get(path))
        assert "No guardian of Ines Varga has a log-in yet. Ask Dora Director" in page.text
        assert page.links()["dora@academy.test"] == "mailto:dora@academy.test"
        assert not any("by mail" in button for button in page.buttons())
    answer = as_(cast.player).post(f"/players/{child.pk}/consent/ask/", follow=True)
    assert "so nobody was asked" in read(answer).text
    assert mail.outbox == []


def test_nobody_is_asked_what_is_decided(cast: Cast, child: Player, as_: As) -> None:
    give_consent(child, by=cast.guardian, now=timezone.now())
    as_(cast.player).post(f"/players/{child.pk}/consent/ask/")
    assert mail.outbox == []


def test_a_guardian_is_asked_in_their_own_language(cast: Cast, child: Player, as_: As) -> None:
    cast.guardian.language = "fr"
    cast.guardian.save()
    as_(cast.player).post(f"/players/{child.pk}/consent/ask/", headers={"Accept-Language": "es"})
    (message,) = mail.outbox
    assert message.subject == f"Seasonplan : une question au sujet de {child}"
    assert message.body.startswith("Bonjour Gita Guardian,")
