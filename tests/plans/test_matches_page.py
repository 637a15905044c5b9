"""What the matches may do to a season: what the science finds, and what that rests on."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from seasonplan.plans.chances import chances_of
from seasonplan.plans.laying_out import gather
from seasonplan.plans.matches import matches_page
from seasonplan.plans.models import SeasonPlan, WinChance
from seasonplan.plans.season_drawings import draw_bars
from seasonplan.science.season_matches import PlayedEvent, season_matches
from tests.conftest import Cast
from tests.factories import EventFactory, PlaceFactory, PlannedEventFactory, SeasonPlanFactory
from tests.plans.pages import Element, read

START = date(2040, 1, 2)
EVE = date(2039, 12, 31)


@pytest.fixture(autouse=True)
def _the_eve(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: datetime(2039, 12, 31, 9, tzinfo=UTC))


@pytest.fixture
def plan(cast: Cast) -> SeasonPlan:
    """A year with an event in every fourth week, national and regional by turns."""
    plan: SeasonPlan = SeasonPlanFactory(
        player=cast.ines, start=START, end=START + timedelta(weeks=52, days=-1)
    )
    place = PlaceFactory(academy=cast.academy)
    for number in range(1, 13):
        played(plan, number * 4, place, level="national" if number % 2 else "regional")
    return plan


def played(plan: SeasonPlan, number: int, place: Any, **facts: Any) -> Any:
    """An event from Monday to Sunday of a week of the season, in the plan."""
    first = START + timedelta(weeks=number)
    event = EventFactory(
        academy=plan.player.academy,
        place=place,
        start=first,
        end=first + timedelta(days=6),
        **{"name": f"Event {number}", "draw_size": 32, **facts},
    )
    PlannedEventFactory(plan=plan, event=event, played=True)
    return event


def url(plan: SeasonPlan) -> str:
    return f"/plans/{plan.pk}/matches/"


def seen(plan: SeasonPlan, cast: Cast, as_: Any) -> Element:
    return read(as_(cast.coach).get(url(plan)))


def by_science(plan: SeasonPlan, **chances: float) -> Any:
    """The same, asked of the science without the page."""
    events = [
        PlayedEvent(
            code=str(row.event_id),
            name=row.event.name,
            start=row.event.start,
            end=row.event.end,
            draw=row.event.draw_size,
            win_chance=chances.get(row.event.level, 0.5),
        )
        for row in plan.planned_events.filter(played=True).select_related("event")
        if row.event.draw_size
    ]
    return season_matches(events, plan.start)


def bands(page: Element) -> list[str]:
    return [band.all("dd")[0].text for band in page.one("dl", "match-bands").all("div")]


def test_the_bands_are_those_of_the_science(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    found = by_science(plan)
    low, high = (round(n, -1) for n in (found.minutes.low, found.minutes.high))
    assert bands(seen(plan, cast, as_)) == [
        f"Between {found.matches.low:.0f} and {found.matches.high:.0f} matches in nine years out of"
        " ten",
        f"Between {low:.0f} and {high:.0f} minutes in nine years out of ten",
        f"Between {found.weeks_with_many.low:.0f} and {found.weeks_with_many.high:.0f} weeks with 3"
        " matches or more in nine years out of ten",
    ]


def test_the_averages_are_those_of_arithmetic(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    # Half the matches are won: 1 + 1/2 + 1/4 + 1/8 + 1/16 = 1.9375 matches in each of 12 draws of
    # 32, of 90 minutes each; three or more come with a chance of 1/4.
    means = [band.all("dd")[1].text for band in seen(plan, cast, as_).all("div") if band.all("dd")]
    assert means[0].startswith("23.2 on average")
    assert "; 35 on average" in means[1]
    assert means[2].startswith("3.0 on average")


def test_the_spread_is_drawn_and_stands_in_a_table(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    page, found = seen(plan, cast, as_), by_science(plan)
    rows = page.one(id="matches-table").one("tbody").all("tr")
    assert len(page.one("svg", "scatter").all("rect", "bar")) == len(rows)
    for row in rows:
        number = int(row.one("th").text)
        chance, up_to, inside = (td.text for td in row.all("td"))
        assert chance == f"{100 * found.match_chances[number]:.1f}"
        assert up_to == f"{100 * sum(found.match_chances[: number + 1]):.1f}"
        assert inside == ("inside" if found.matches.low <= number <= found.matches.high else "–")
    weeks = page.one(id="weeks-table").one("tbody").all("tr")
    assert weeks[0].all("td")[0].text == f"{100 * found.week_chances[0]:.1f}"


def test_a_coach_sets_the_chances_and_the_bands_follow(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    client = as_(cast.coach)
    answer = client.post(url(plan), {"level_0": "70", "level_1": ""})
    assert answer.url == url(plan)
    assert chances_of(plan) == {"national": 0.7}
    page = read(client.get(url(plan)))
    found = by_science(plan, national=0.7)
    assert bands(page)[0].startswith(
        f"Between {found.matches.low:.0f} and {found.matches.high:.0f} matches"
    )
    assert page.typed("level_0") == "70"


@pytest.mark.parametrize("typed", ["0", "100", "half"])
def test_what_is_no_chance_is_refused_and_stays_in_the_field(
    plan: SeasonPlan, cast: Cast, as_: Any, typed: str
) -> None:
    page = read(as_(cast.coach).post(url(plan), {"level_0": typed, "level_1": "40"}), 422)
    assert page.typed("level_0") == typed
    assert page.wrong("level_0")
    assert not WinChance.objects.exists()


def test_chances_hold_for_every_plan_of_the_season(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    as_(cast.coach).post(url(plan), {"level_0": "60", "level_1": ""})
    other = SeasonPlanFactory(player=cast.ines, start=plan.start, end=plan.end)
    next_year = SeasonPlanFactory(
        player=cast.ines, start=plan.end + timedelta(days=1), end=plan.end + timedelta(weeks=52)
    )
    assert (chances_of(other), chances_of(next_year)) == ({"national": 0.6}, {})


def test_a_long_gap_after_an_early_loss_is_named(cast: Cast, as_: Any) -> None:
    plan = SeasonPlanFactory(
        player=cast.ines, start=START, end=START + timedelta(weeks=10, days=-1)
    )
    place = PlaceFactory(academy=cast.academy)
    played(plan, 1, place)
    late = played(plan, 4, place, name="Late Start")
    late.start += timedelta(days=2)
    late.save()
    # Lost on the Monday, 22 days pass before a Wednesday three weeks later; the final is on the
    # Sunday. The first two of five rounds are played by Tuesday, so that 3 in 4 are out by then.
    [said] = seen(plan, cast, as_).one("section", aria_labelledby="uneven").all("li")
    assert said.text == (
        "A first-match loss at Event 1 would leave 22 days without a match before Late Start, a"
        " final 16. So long a gap comes in about 8 years in ten: look for an event, or for practice"
        " matches, in between."
    )


def test_a_season_that_stays_even_says_so(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    # Four weeks apart, every way leaves a gap, and a plan that is so thin needs no warning of it.
    found = by_science(plan)
    assert (found.gaps, found.stacks) == ((), ())
    assert "No early loss makes a gap of 21 days" in seen(plan, cast, as_).text


def test_deep_runs_that_stack_are_named(cast: Cast, as_: Any) -> None:
    plan = SeasonPlanFactory(
        player=cast.ines, start=START, end=START + timedelta(weeks=10, days=-1)
    )
    place = PlaceFactory(academy=cast.academy)
    for number in range(1, 5):
        played(plan, number, place, level="national")
    WinChance.objects.create(
        player=cast.ines, season_start=plan.start, level="national", percent=80
    )
    [stack] = by_science(plan, national=0.8).stacks
    text = seen(plan, cast, as_).one("section", aria_labelledby="uneven").text
    assert f"there may be as many as {stack.most} matches" in text
    assert "Event 1, Event 2, Event 3 and Event 4" in text


def test_events_without_a_draw_do_not_count_and_are_named(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    place = plan.planned_events.first().event.place
    before = bands(seen(plan, cast, as_))
    played(plan, 50, place, name="Mystery Draw", draw_size=None)
    page = seen(plan, cast, as_)
    assert bands(page) == before
    assert "Mystery Draw has no draw size in the calendar and did not count" in page.text


def test_a_plan_without_events_says_so(cast: Cast, as_: Any) -> None:
    page = seen(SeasonPlanFactory(player=cast.ines), cast, as_)
    assert page.one("div", "empty").one("h2").text == "No events in this plan yet"


def test_a_plan_whose_draws_nobody_knows_says_so(cast: Cast, as_: Any) -> None:
    plan = SeasonPlanFactory(player=cast.ines, start=START, end=START + timedelta(weeks=9, days=6))
    played(plan, 3, PlaceFactory(academy=cast.academy), draw_size=None)
    assert seen(plan, cast, as_).one("div", "empty").one("h2").text == "No draw is known"


def test_method_and_cautions_are_said(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    text = seen(plan, cast, as_).text
    for words in (
        "no forecast of results",
        "20,000 seasons played with a fixed seed (27)",
        "true bands are wider",
        "only singles count",
        "rest or a doctor",
    ):
        assert words in text, words


def test_what_is_past_counts_as_if_it_were_to_come_and_says_so(plan: SeasonPlan) -> None:
    before = matches_page(gather(plan), {}, today=EVE)
    during = matches_page(gather(plan), {}, today=START + timedelta(weeks=20))
    assert before is not None
    assert during is not None
    assert (before.under_way, during.under_way) == (False, True)
    assert before.bands == during.bands


@pytest.mark.parametrize("role", ["player", "guardian", "staff", "director"])
def test_only_those_who_plan_see_it(plan: SeasonPlan, cast: Cast, as_: Any, role: str) -> None:
    SeasonPlan.objects.filter(pk=plan.pk).update(standing="in force")
    client = as_(getattr(cast, role))
    assert client.get(url(plan)).status_code == 403
    assert client.post(url(plan), {"level_0": "60"}).status_code == 403
    assert not WinChance.objects.exists()


def test_the_page_asks_as_many_queries_for_many_events(
    plan: SeasonPlan, cast: Cast, as_: Any, django_assert_max_num_queries: Any
) -> None:
    client = as_(cast.coach)
    with django_assert_max_num_queries(20) as few:
        client.get(url(plan))
    for number in range(1, 40):
        if number % 4:
            played(plan, number, plan.planned_events.first().event.place, name=f"More {number}")
    with django_assert_max_num_queries(len(few)):
        client.get(url(plan))


def test_bars_are_drawn_to_scale() -> None:
    drawn = draw_bars([(4, 0.1), (5, 0.2), (6, 0.05)], low=4, high=5, mean=5)
    four, five, six = drawn.bars
    assert five.height == pytest.approx(2 * four.height, abs=0.2)
    assert five.height == pytest.approx(4 * six.height, abs=0.3)
    assert five.x - four.x == pytest.approx(six.x - five.x, abs=0.2)
    assert [bar.inside for bar in drawn.bars] == [True, True, False]
    assert drawn.mean == pytest.approx(five.x + five.width / 2, abs=0.1)
    assert five.words == "5 matches: 20.0 years in a hundred"
