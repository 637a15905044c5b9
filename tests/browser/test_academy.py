"""A director finds who needs attention, keeps a view and a group, and sends a coach on the road."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from seasonplan.academy.models import Membership
from seasonplan.overview.models import CoachTravel, PlayerFacts, PlayerGroup, SavedView
from tests.browser.browsing import NARROW, Browsing
from tests.browser.looking import axe, axe_on_colours, sticks_out, too_small
from tests.browser.stage import Stage
from tests.factories import (
    ConsentFactory,
    DayLogFactory,
    EventCheckInFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
)
from tests.overview.academies import a_calendar, many_players

pytestmark = pytest.mark.browser

TODAY = date(2027, 2, 24)  # as the clock of these tests says


def look(page: Page, *, touch: bool = False) -> None:
    """Light and dark, for axe and for thumbs."""
    page.emulate_media(color_scheme="light")
    assert [*axe(page), *sticks_out(page), *too_small(page, touch=touch)] == []
    page.emulate_media(color_scheme="dark")
    assert axe_on_colours(page) == []
    page.emulate_media(color_scheme="light")


def names(page: Page) -> list[str]:
    return page.locator("#academy-list tbody th a").all_inner_texts()


def test_a_director_looks_narrows_keeps_a_view_and_makes_a_group(
    stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.director)
    page.goto(reverse("home"))
    page.get_by_role("link", name="Academy", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Tarn Valley Tennis")
    ines = page.locator("#academy-list tr", has_text="Ines Varga")
    # What is judged is worked out in a request of its own, and the list comes anew.
    expect(ines.get_by_role("link", name="broken rule")).to_be_visible()
    expect(ines).to_contain_text("days away")
    expect(page.locator("#academy-facts")).to_be_empty()
    assert PlayerFacts.objects.count() == 1
    expect(page.locator("#academy-list tr", has_text="Ravi Player")).to_contain_text(
        "Has no season plan yet."
    )
    look(page)

    page.get_by_label("Name", exact=True).press_sequentially("varg")
    expect(page.locator("#academy-list")).to_contain_text("1 of 2 players")
    assert names(page) == ["Ines Varga"]
    assert "q=varg" in page.url
    page.get_by_label("Name of the view").fill("Ines alone")
    page.get_by_role("button", name="Save this view").click()
    expect(page.get_by_text("The view “Ines alone” is saved.")).to_be_visible()
    page.get_by_role("link", name="Show all").first.click()
    assert sorted(names(page)) == ["Ines Varga", "Ravi Player"]
    page.get_by_role("link", name="Ines alone").click()
    expect(page.locator("#academy-list")).to_contain_text("1 of 2 players")
    assert SavedView.objects.get().query == "q=varg"

    page.get_by_role("link", name="Groups").click()
    page.get_by_label("Name of the group").fill("Under 18")
    page.get_by_label("Ines Varga").check()
    look(page)
    page.get_by_role("button", name="Make the group").click()
    page.get_by_role("link", name="Look at them in Under 18").click()
    expect(page.get_by_label("Group")).to_have_value(str(PlayerGroup.objects.get().pk))
    assert names(page) == ["Ines Varga"]


def test_what_is_typed_wrongly_is_said_beside_the_filter(stage: Stage, browsing: Browsing) -> None:
    browsing.may_refuse(422)
    page = browsing.open(stage.cast.director)
    page.goto(reverse("academy"))
    page.get_by_label("Due within (days)").fill("999")
    page.get_by_label("Due within (days)").press("Enter")
    expect(page.locator("#academy-wrong")).to_contain_text("Give a number of days from 0 to 366.")
    expect(page.get_by_label("Due within (days)")).to_have_value("999")
    look(page)
    page.get_by_label("Due within (days)").fill("300")
    page.get_by_label("Due within (days)").press("Enter")
    expect(page.locator("#academy-wrong")).to_be_empty()


def test_the_coach_is_sent_to_two_places_and_the_weeks_say_so(
    stage: Stage, browsing: Browsing
) -> None:
    cast = stage.cast
    plan = SeasonPlanFactory(player=cast.ravi, standing="in force")
    PlannedEventFactory(plan=plan, event=stage.event("Tide Table Week"), played=True)
    other = stage.event("Almond Tree Week")
    start, end = other.start, other.end
    type(other).objects.filter(name="Tide Table Week").update(
        start=start, end=end, entry_deadline=None, withdrawal_deadline=None
    )
    CoachTravel.objects.create(
        player=cast.ravi,
        event=stage.event("Tide Table Week"),
        coach=Membership.objects.get(person=cast.coach),
    )
    page = browsing.open(cast.director)
    page.goto(reverse("academy"))
    page.get_by_role("link", name="Week by week").click()
    expect(page.get_by_text("None among the travels written down")).to_be_visible()
    row = page.locator(".academy-weeks tr", has_text="Ines Varga")
    row.get_by_role("link", name="nobody along for Ines Varga at Almond Tree Week").click()
    look(page)
    page.get_by_label("Marta Coach").check()
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("Saved who travels with Ines Varga")).to_be_visible()
    clash = page.locator(".academy-clashes li")
    expect(clash).to_contain_text("Marta Coach")
    expect(clash).to_contain_text("Almond Tree Week) with Ines Varga")
    expect(clash).to_contain_text("Tide Table Week) with Ravi Player")
    look(page)


def test_a_coach_reads_flags_on_a_phone(stage: Stage, browsing: Browsing) -> None:
    ines = stage.cast.ines
    ConsentFactory(player=ines)
    for days in range(11):
        day = date.fromordinal(TODAY.toordinal() - days)
        written = datetime(day.year, day.month, day.day, 8, tzinfo=UTC)
        DayLogFactory(player=ines, day=day, first_written_at=written, sleep=4 if days else 1)
    EventCheckInFactory(player=ines, event=stage.event("Almond Tree Week"), energy_after=4)
    page = browsing.open(stage.cast.coach, width=NARROW[0], touch=True)
    page.goto(reverse("academy"))
    row = page.locator("#academy-list tr", has_text="Ines Varga")
    expect(row.get_by_role("link", name="broken rule")).to_be_visible()
    expect(row).to_contain_text("Energy 4 of 10 after")
    row.get_by_text("2 unlike the usual").tap()
    expect(row.locator(".academy-flags li").last).to_contain_text("Sleep 1 of 5; usually about 4.")
    expect(page.get_by_text("A reason to talk, not a diagnosis.")).to_be_visible()
    look(page, touch=True)
    page.get_by_role("link", name="Week by week").tap()
    expect(page.get_by_role("heading", name="week by week")).to_be_visible()
    look(page, touch=True)


def crowd(stage: Stage, number: int) -> None:
    academy = stage.cast.academy
    coaches = [Membership.objects.get(person=stage.cast.colleague)]
    calendar = a_calendar(academy, start=date(2027, 1, 4))
    many_players(academy, number, calendar, today=TODAY, coaches=coaches, logs=False)


def test_the_players_after_the_first_fifty_come_as_one_scrolls(
    stage: Stage, browsing: Browsing
) -> None:
    crowd(stage, 70)
    page = browsing.open(stage.cast.director)
    page.goto(f"{reverse('academy')}?sort=name")
    rows = page.locator("#academy-list tbody th")
    expect(rows).to_have_count(50)
    page.locator("#academy-more").scroll_into_view_if_needed()
    expect(rows).to_have_count(72)
    expect(page.locator("#academy-more")).to_have_count(0)
    everybody = names(page)
    assert everybody == sorted(everybody)
    # The rest of the facts follows in answers of its own; the list that was scrolled stays.
    expect(
        page.get_by_text("All broken rules, days away and costs are worked out.")
    ).to_be_visible()
    expect(rows).to_have_count(72)
    look(page)


def test_without_javascript_all_of_it_is_links_and_buttons(
    stage: Stage, browsing: Browsing
) -> None:
    crowd(stage, 60)
    page = browsing.open(stage.cast.director, javascript=False)
    page.goto(f"{reverse('academy')}?sort=name")
    page.get_by_role("link", name="Show the players after number 50").click()
    assert len(names(page)) == 12
    page.get_by_role("link", name="The players before").click()
    assert len(names(page)) == 50
    page.get_by_role("button", name="Work out 40 of them").click()
    expect(page.get_by_text("Worked out anew: 40 players.")).to_be_visible()
    page.get_by_role("button", name="Work out now").click()
    expect(page.get_by_text("Worked out anew: 21 players.")).to_be_visible()
    page.get_by_label("Name", exact=True).fill("varga")
    page.get_by_role("button", name="Show", exact=True).click()
    assert names(page) == ["Ines Varga"]
