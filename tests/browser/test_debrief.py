"""The debrief, from the player's own view on a phone to next year's plan, laid out by it."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from seasonplan.debrief.models import Debrief, Decision, OwnView
from seasonplan.events.models import Event
from seasonplan.plans.models import SeasonPlan
from tests.browser.browsing import NARROW, Browsing
from tests.browser.looking import axe, repeated_ids, sticks_out, too_small
from tests.browser.stage import Stage
from tests.browser.test_paper import sheets

pytestmark = pytest.mark.browser


@pytest.fixture(autouse=True)
def _the_year_is_over(monkeypatch: pytest.MonkeyPatch) -> None:
    """A Tuesday in January 2028; the season of the stage ended on 2 January."""
    monkeypatch.setattr(timezone, "now", lambda: datetime(2028, 1, 11, 9, 30, tzinfo=UTC))


def look(page: Page, *, touch: bool = False) -> None:
    assert axe(page) == []
    assert repeated_ids(page) == []
    assert sticks_out(page) == []
    assert too_small(page, touch=touch) == []


def decide(page: Page, text: str, kind: str, **fields: str) -> None:
    form = page.locator(".decision-form")
    if not form.is_visible():
        page.get_by_text("Add a decision").click()
    form.get_by_label("What do you decide?").fill(text)
    form.get_by_label("Who sees to it").select_option(label="Ines Varga")
    form.get_by_label("By when").fill("2028-02-01")
    form.get_by_label(kind).check()
    for label, value in fields.items():
        field = form.get_by_label(label.replace("_", " "))
        if field.evaluate("e => e.tagName") == "SELECT":
            option = field.locator("option").filter(has_text=re.compile(f"^{value}"))
            field.select_option(value=option.get_attribute("value"))
        else:
            field.fill(value)
    page.get_by_role("button", name="Add the decision").click()
    expect(page.locator(".decisions")).to_contain_text(text)


def test_from_the_players_view_to_next_years_plan(stage: Stage, browsing: Browsing) -> None:
    plan, cast = stage.in_force, stage.cast

    # The player, on a phone, before the meeting.
    phone = browsing.open(cast.player, width=NARROW[0], touch=True)
    phone.goto(reverse("season", args=[plan.pk]))
    phone.get_by_role("link", name="Look back on this season").tap()
    phone.get_by_role("link", name="Write your view").tap()
    phone.get_by_label("What are you glad about?").fill("I slept well at the long events.")
    expect(phone.get_by_text("Saved: Tue 11 Jan 2028, 09:30")).to_be_visible()
    look(phone, touch=True)

    # The coach does not see it, until the player says so.
    laptop = browsing.open(cast.coach)
    laptop.goto(reverse("debrief", args=[plan.pk]))
    expect(laptop.get_by_text("Nothing shared so far.")).to_be_visible()
    expect(laptop.get_by_text("I slept well")).to_have_count(0)
    phone.get_by_role("button", name="Share it with my coaches").tap()
    expect(phone.get_by_text("Your coaches see this")).to_be_visible()
    laptop.reload()
    expect(laptop.get_by_text("I slept well at the long events.")).to_be_visible()

    # Notes are kept as they are typed; the laptop may be closed at any moment.
    laptop.get_by_label("What went well").fill("Quiet weeks before the grass.")
    expect(laptop.get_by_text("Saved: Marta Coach, Tue 11 Jan 2028, 09:30")).to_be_visible()
    context = laptop.context
    laptop.get_by_label("What to improve").fill("Three in a row were one too many.")
    laptop.close()
    laptop = context.new_page()
    laptop.goto(reverse("debrief", args=[plan.pk]))
    expect(laptop.get_by_label("What to improve")).to_have_value(
        "Three in a row were one too many."
    )
    expect(laptop.get_by_text("Saved: Marta Coach, Tue 11 Jan 2028, 09:30")).to_be_visible()
    assert Debrief.objects.get().to_improve == "Three in a row were one too many."

    # Decisions. One that is half typed outlives the page, too.
    laptop.get_by_label("What do you decide?").fill("At most two ev")
    laptop.reload()
    expect(laptop.get_by_label("What do you decide?")).to_have_value("At most two ev")
    decide(
        laptop,
        "At most two events in a row",
        "A limit",
        Which_limit="Event weeks in a row, at most",
        Its_new_value="2",
    )
    expect(laptop.get_by_label("What do you decide?")).to_have_value("")
    decide(
        laptop,
        "The Vineyard once more",
        "A target event",
        Which_event="Vineyard Lane Cup",
        Its_worth="95",
    )
    look(laptop)
    pdf = laptop.pdf(prefer_css_page_size=True)
    for size in sheets(pdf):
        assert size == pytest.approx((595, 842), abs=1)
    assert 1 <= len(sheets(pdf)) <= 4

    # Events come again, and next year's plan starts with what was decided.
    laptop.get_by_role("link", name="Events that come again").click()
    look(laptop)
    laptop.get_by_role("button", name="Add the chosen events to the calendar").click()
    expect(laptop.get_by_text("13 events added to the calendar")).to_be_visible()
    laptop.get_by_role("link", name="Back to the debrief").click()
    laptop.get_by_role("button", name="Start next year’s plan from these decisions").click()
    expect(laptop.get_by_role("heading", name="Ines Varga · 2028")).to_be_visible()
    carried = laptop.locator("#carried")
    expect(carried).to_contain_text("From the debrief of 2027: At most two events in a row")
    expect(carried).to_contain_text("Vineyard Lane Cup")
    look(laptop)
    laptop.get_by_role("button", name="Lay out the season").click()
    expect(laptop.locator("[data-event]").first).to_be_visible(timeout=60_000)
    target = laptop.locator("[data-event]").filter(has_text="Vineyard Lane Cup")
    expect(target.first).to_have_attribute("data-role", "Target")
    longest = laptop.locator("#side-figures + dl div").filter(has_text="Longest run")
    assert int(longest.locator("dd").inner_text().split()[0]) <= 2
    made = SeasonPlan.objects.get(player=cast.ines, start__year=2028)
    assert made.parsed_limits.max_run == 2
    assert Event.objects.filter(dates_unconfirmed=True).count() == 13

    # And back to why.
    carried.get_by_role("link", name="why it was decided: At most two events in a row").click()
    expect(laptop.locator(f"#decision-{Decision.objects.order_by('pk')[0].pk}")).to_be_in_viewport()


def test_two_who_type_in_one_field_both_keep_their_text(stage: Stage, browsing: Browsing) -> None:
    browsing.may_refuse(409)
    address = reverse("debrief", args=[stage.in_force.pk])
    coach, player = browsing.open(stage.cast.coach), browsing.open(stage.cast.player)
    for page in (coach, player):
        page.goto(address)
    coach.get_by_label("What went well").fill("The serve")
    expect(coach.get_by_text(re.compile("^Saved: Marta Coach"))).to_be_visible()
    player.get_by_label("What went well").fill("The volleys")

    clash = player.locator(".clash")
    expect(clash).to_contain_text("The serve")
    expect(clash).to_contain_text("The volleys")
    expect(player.get_by_label("What went well")).to_have_value("The volleys")
    assert Debrief.objects.get().went_well == "The serve"
    look(player)

    player.get_by_label("What went well").fill("The serve and the volleys")
    player.get_by_role("button", name="Write the field over theirs").click()
    expect(player.get_by_text("The notes are saved.")).to_be_visible()
    assert Debrief.objects.get().went_well == "The serve and the volleys"


def test_without_a_connection_the_words_stay_on_the_device(
    stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.player, width=NARROW[0], touch=True)
    page.goto(reverse("own-view", args=[stage.in_force.pk]))
    page.route("**/debrief/mine/", lambda route: route.abort())
    page.get_by_label("What was hard?").fill("The flights in May.")
    expect(page.get_by_text("Not saved on the server yet.")).to_be_visible()
    assert not OwnView.objects.exists()

    # Whoever signs out with it is asked first.
    page.get_by_role("button", name="Sign out").tap()
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("Something you wrote in a debrief is not saved yet")
    dialog.get_by_role("button", name="Stay signed in").tap()

    page.unroute("**/debrief/mine/")
    page.reload()
    expect(page.get_by_label("What was hard?")).to_have_value("The flights in May.")
    expect(page.get_by_text("Saved: Tue 11 Jan 2028, 09:30")).to_be_visible()
    assert OwnView.objects.get().hard == "The flights in May."
    assert page.evaluate("() => Object.keys(localStorage)") == []
    # What htmx says on the console of a request that did not arrive belongs to the test.
    browsing.troubles = [t for t in browsing.troubles if not t.startswith("console error: htmx:")]


def test_by_keyboard_alone_a_decision_is_written_down(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(reverse("debrief", args=[stage.in_force.pk]))
    page.get_by_label("What do you decide?").focus()
    keys = page.keyboard
    keys.type("Stretch daily")
    keys.press("Tab")
    keys.type("Sten")
    keys.press("Tab")
    keys.type("02012028")
    expect(page.get_by_label("By when")).to_have_value("2028-02-01")
    while not page.get_by_label("Nothing: it stands there as a note").evaluate(
        "e => e === document.activeElement"
    ):
        keys.press("Tab")
    keys.press("ArrowDown")
    expect(page.get_by_label("Which limit")).to_be_visible()
    keys.press("ArrowUp")
    expect(page.get_by_label("Which limit")).to_be_hidden()
    keys.press("Enter")
    expect(page.locator(".decisions")).to_contain_text("Stretch daily")
    assert Decision.objects.get().owner == stage.cast.staff


def test_without_javascript_everything_is_said_by_forms(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach, javascript=False)
    page.goto(reverse("debrief", args=[stage.in_force.pk]))
    page.get_by_label("What went well").fill("The serve")
    page.get_by_role("button", name="Save the notes").click()
    expect(page.get_by_text("The notes are saved.")).to_be_visible()
    decide(page, "Stretch daily", "Nothing: it stands there as a note")
    page.get_by_role("button", name="Share notes and decisions with the team").click()
    expect(page.get_by_text("Shared with the team.")).to_be_visible()
    assert Debrief.objects.get().shared_at
    expect(page.get_by_role("button", name="Print")).to_be_hidden()
