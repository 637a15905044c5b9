"""On the phone, with no signal: a day log that says it leads to a person at once."""

from __future__ import annotations

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from seasonplan.academy.models import Academy, Contact
from tests.browser.browsing import NARROW, Browsing
from tests.browser.looking import axe, sticks_out, too_small
from tests.browser.stage import Stage
from tests.browser.test_phone_outbox import DAY, NOW, choose, form_of, open_log

pytestmark = pytest.mark.browser


@pytest.mark.parametrize(
    ("answers", "asks", "words"),
    [
        ((("Mood", "1, very low"),), False, "A low day is easier with somebody."),
        ((), True, "Your coaches see that you would like to talk"),
        ((("Mood", "4"),), False, ""),
    ],
)
def test_a_log_that_is_saved_without_a_signal_leads_to_the_contact(
    stage: Stage,
    browsing: Browsing,
    monkeypatch: pytest.MonkeyPatch,
    answers: tuple[tuple[str, str], ...],
    asks: bool,
    words: str,
) -> None:
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    Academy.objects.update(consent_age=13)
    Contact.objects.update_or_create(
        academy=stage.cast.academy,
        defaults={"name": "Wilma Ear", "phone": "+44 1632 960042", "email": "wilma@academy.test"},
    )
    page = open_log(browsing.open(stage.cast.player, width=NARROW[0], touch=True))
    page.context.set_offline(True)
    form = form_of(page, DAY)
    form.locator("summary").first.tap()
    for question, answer in answers:
        choose(form, question, answer)
    if asks:
        for _ in range(2):
            form.get_by_role("button", name="More").tap()
        form.get_by_label("I would like to talk to somebody").tap()
    form.get_by_role("button", name="Save").tap()
    expect(form.locator("[data-state]")).to_have_text("On this phone")

    talk = page.locator("#talk")
    expect(talk.get_by_role("link", name="Call +44 1632 960042")).to_have_attribute(
        "href", "tel:+441632960042"
    )
    shown = [p for p in talk.locator("[data-talk]").all() if p.is_visible()]
    assert [p.inner_text().startswith(words) for p in shown] == ([True] if words else [])
    heading = talk.get_by_role("heading", name="Somebody to talk to")
    if words:
        expect(heading).to_be_focused()
        assert page.evaluate("document.querySelector('#day + #talk') !== null")
        assert axe(page) == []
        assert sticks_out(page) == []
        assert too_small(page, touch=True) == []
    else:
        expect(heading).not_to_be_focused()
