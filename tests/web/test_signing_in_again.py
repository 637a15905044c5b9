"""Who was signed out meanwhile, in another window or by time, is led back to where they were."""

from collections.abc import Callable

import pytest
from django.test import Client

from tests.conftest import Cast
from tests.factories import SeasonPlanFactory

HERE = "http://testserver/plans/7/?paper=a4"


def test_a_form_sent_after_signing_out_leads_back_to_its_page(db: None) -> None:
    answer = Client().post("/plans/7/in-force/", headers={"Referer": HERE})
    assert answer.status_code == 302
    assert answer.url == "/account/login/?next=/plans/7/%3Fpaper%3Da4"


def test_a_form_from_nowhere_leads_to_the_start(db: None) -> None:
    assert Client().post("/plans/7/in-force/").url == "/account/login/?next=/"


@pytest.mark.parametrize("method", ["get", "post"])
def test_htmx_leaves_the_page_instead_of_putting_the_log_in_into_it(db: None, method: str) -> None:
    asked = {"HX-Request": "true", "HX-Current-URL": HERE}
    answer = getattr(Client(), method)("/plans/7/lay-out/", headers=asked)
    assert answer.status_code == 200
    assert answer["HX-Redirect"] == "/account/login/?next=/plans/7/%3Fpaper%3Da4"


def test_a_foreign_page_is_never_led_to(db: None) -> None:
    answer = Client().post("/me/", headers={"Referer": "https://elsewhere.test/plans/7/"})
    assert answer.url == "/account/login/?next=/plans/7/"


def test_a_redirect_takes_htmx_to_the_page_as_a_whole(
    cast: Cast, as_: Callable[..., Client]
) -> None:
    plan = SeasonPlanFactory(player=cast.ines)
    answer = as_(cast.coach).post(f"/plans/{plan.pk}/copy/", headers={"HX-Request": "true"})
    assert answer.status_code == 200
    assert answer["HX-Redirect"].startswith("/plans/")


def test_a_form_from_before_a_new_log_in_is_explained(cast: Cast, as_) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.cookies = as_(cast.coach).cookies
    answer = strict.post("/me/", {"name": "Marta"})
    assert answer.status_code == 403
    page = answer.content.decode().split("<main")[1]
    assert "Nothing was changed" in page
    assert "CSRF" not in page and "cookie" not in page.lower()
