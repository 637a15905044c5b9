"""The whole trip to an event: each day until the first match, what to expect there, the costs."""

from __future__ import annotations

from datetime import date, time, timedelta
from decimal import Decimal
from typing import Any

import pytest

from seasonplan.events.models import Event
from seasonplan.plans.costs import season_costs
from seasonplan.plans.due import trips_of
from seasonplan.plans.laying_out import gather
from seasonplan.plans.models import SeasonPlan, TripCost
from seasonplan.plans.settling import Part
from seasonplan.plans.standing import put_in_force
from seasonplan.plans.trip_page import TripPage, trip_page
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    EventFactory,
    PlaceFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
)
from tests.plans.pages import Element, read

START = date(2040, 1, 2)
TOKYO = {"country": "JP", "lat": 35.55, "lon": 139.78, "timezone": "Asia/Tokyo"}
AUCKLAND = {"country": "NZ", "lat": -37.0, "lon": 174.79, "timezone": "Pacific/Auckland"}
BOGOTA = {"country": "CO", "lat": 4.7, "lon": -74.1, "timezone": "America/Bogota"}
DOHA = {"country": "QA", "lat": 25.27, "lon": 51.6, "timezone": "Asia/Qatar"}
MUSCAT = {"country": "OM", "lat": 23.6, "lon": 58.3, "timezone": "Asia/Muscat"}
BARCELONA = {"lat": 41.4, "lon": 2.2}


@pytest.fixture
def plan(cast: Cast) -> SeasonPlan:
    """A season of half a year; the player lives in Valencia, on clay, 20 m above the sea."""
    plan = SeasonPlanFactory(
        player=cast.ines, start=START, end=START + timedelta(weeks=26, days=-1)
    )
    BlockFactory(plan=plan, phase="competition", start=START, weeks=26)
    return plan


def planned(plan: SeasonPlan, name: str, where: dict[str, Any], week: int, **facts: Any) -> Event:
    """An event from Monday to Saturday of a week of the season, played."""
    first = START + timedelta(weeks=week - 1)
    elevation_m = facts.pop("elevation_m", 10)
    place = PlaceFactory(
        academy=plan.player.academy, place_name=name, elevation_m=elevation_m, **where
    )
    event = EventFactory(
        academy=plan.player.academy,
        place=place,
        name=f"{name} Cup",
        start=first,
        end=first + timedelta(days=5),
        **facts,
    )
    PlannedEventFactory(plan=plan, event=event, played=True)
    return event


def whole(plan: SeasonPlan, event: Event, **said: Any) -> TripPage:
    page = trip_page(gather(plan), event, **({"costs": None} | said))
    assert page is not None
    return page


def lines(page: TripPage, iso: str) -> dict[str, str]:
    [day] = [day for day in page.days if day.iso == iso]
    return dict(day.lines)


def part(page: TripPage, name: str) -> Part:
    [found] = [part for part in page.parts if part.id == name]
    return found


def test_a_short_trip_at_home_is_two_days_and_asks_nothing_of_the_body(plan: SeasonPlan) -> None:
    page = whole(plan, planned(plan, "Barcelona", BARCELONA, 3, high_c=15, humidity_percent=60))
    assert [(day.label, day.countdown) for day in page.days] == [
        ("Sun 15 Jan", "1 day to go"),
        ("Mon 16 Jan", "first match possible"),
    ]
    leave = lines(page, "2040-01-15")["Leave"]
    assert leave == "From home for Barcelona: 306 km, about 0.9 hours of flight (an estimate)."
    assert lines(page, "2040-01-16") == {
        "Arrive": "The first whole day in Barcelona.",
        "Event": "Barcelona Cup begins.",
    }
    assert not page.asks_bedtime
    assert [part.caution for part in page.parts] == [""] * 4
    assert part(page, "clock").words == ("The clock is as at home.",)
    assert part(page, "surface").words == ("Clay, as at home.",)
    assert "no hotter than the thermometer" in part(page, "heat").words[1]


def test_eight_zones_east_are_followed_an_hour_a_day(plan: SeasonPlan) -> None:
    # Spain is an hour ahead of UTC in winter and Japan nine.
    page = whole(plan, planned(plan, "Tokyo", TOKYO, 10))
    assert [day.label for day in page.days][:6] == [
        "Tue 21 Feb", "Wed 22 Feb", "Thu 23 Feb", "Fri 24 Feb", "Sat 25 Feb", "Sun 26 Feb",
    ]  # fmt: skip
    beds = [lines(page, f"2040-02-{day}")["Bed"][:8] for day in (21, 22, 23)]
    assert beds == ["At 22:00", "At 21:00", "At 20:00"]
    first = lines(page, "2040-02-26")
    assert first["Clock"] == "Your body clock is about 8 hours behind the local one."
    assert first["Bed"] == "At 23:00 by the local clock; for your body it is about 15:00."
    # Four in the morning at home is noon here.
    assert first["Light"] == (
        "Bright from 12:00 to 15:00: outdoors if you can. Dim from 09:00 to 12:00: indoors, or "
        "dark glasses."
    )
    eve = lines(page, "2040-03-04")
    assert eve["Clock"] == "Your body clock is about 1 hour behind the local one."
    assert eve["Light"] == "Bright from 07:00 to 10:00: outdoors if you can."
    last = page.days[-1]
    assert (last.label, dict(last.lines)["Clock"]) == (
        "Mon 5 Mar",
        "By the average, your body clock has followed.",
    )
    clock = part(page, "clock")
    assert "about 60 minutes a day, about 8 days from landing" in clock.words[0]
    # 8 hours less the 1.5 that three earlier nights do, at 60 minutes a day.
    assert "about 6.5 days then" in clock.words[1]
    assert "Light at the wrong hours can make it worse" in clock.caution
    assert "ask a doctor" in clock.caution


def test_the_clock_is_counted_from_the_players_own_bedtime(plan: SeasonPlan) -> None:
    event = planned(plan, "Tokyo", TOKYO, 10)
    page = whole(plan, event, bedtime=time(21, 30))
    assert lines(page, "2040-02-23")["Bed"].startswith("At 18:30")
    there = lines(page, "2040-02-26")
    assert there["Bed"] == "At 21:30 by the local clock; for your body it is about 13:30."
    assert there["Light"].startswith("Bright from 10:30 to 13:30")


def test_a_minor_is_told_to_talk_with_a_parent_and_a_doctor(plan: SeasonPlan) -> None:
    event = planned(plan, "Tokyo", TOKYO, 10)
    player = plan.player
    for born, minor in ((date(2022, 3, 6), True), (date(2022, 3, 5), False), (None, True)):
        player.birth_date = born
        player.save()
        fresh = SeasonPlan.objects.get(pk=plan.pk)
        caution = part(whole(fresh, event), "clock").caution
        assert ("For a minor, talk with a parent and a doctor" in caution) is minor


def test_twelve_hours_count_as_west_and_name_no_hours_of_light(plan: SeasonPlan) -> None:
    # On 18 March Spain is still in winter time and New Zealand in summer time: 12 hours.
    page = whole(plan, planned(plan, "Auckland", AUCKLAND, 12))
    clock = part(page, "clock")
    assert clock.short == "12 hours west"
    assert any(words.startswith("Twelve hours are as far one way") for words in clock.words)
    assert any(words.startswith("No hours of light are named") for words in clock.words)
    assert not any("Light" in dict(day.lines) for day in page.days)
    assert lines(page, page.days[0].iso)["Bed"].startswith("At 00:00, an hour later")


def test_nobody_is_told_a_dose(plan: SeasonPlan) -> None:
    for place, week in ((TOKYO, 10), (AUCKLAND, 18)):
        page = whole(plan, planned(plan, f"Far {week}", place, week, high_c=33))
        everything = " ".join(
            [*(words for day in page.days for _, words in day.lines)]
            + [text for part in page.parts for text in (*part.words, *part.basis, part.caution)]
        )
        assert "melatonin" not in everything.lower()
        assert " mg" not in everything


def test_few_zones_need_no_days_and_a_word_about_tiredness(plan: SeasonPlan) -> None:
    page = whole(plan, planned(plan, "Doha", DOHA, 5))
    assert part(page, "clock").words == (
        "2 hours east: too little for the body clock to need days. Who is tired from the journey "
        "is usually over it in one to three days.",
    )
    assert not page.asks_bedtime


def test_a_high_place_says_what_the_ball_and_the_body_do(plan: SeasonPlan) -> None:
    page = whole(plan, planned(plan, "Bogotá", BOGOTA, 20, elevation_m=2550, high_c=19))
    altitude = part(page, "altitude")
    assert altitude.short == "2,550 m"
    said = " ".join(altitude.words)
    # ISO 2533 at 2500 m: density 0.7811 of the sea's, inspired oxygen 107.5 of 149.4 mmHg (-28 %).
    assert "The air is 22 % thinner than where you come from" in said
    assert "Each breath brings about 29 % less oxygen than at the sea" in said
    assert "Above 1,219 m the rules know high-altitude balls" in said
    assert "5 days there before the first match" in said
    assert altitude.caution.endswith("Headache with nausea: stop, descend, see a doctor.")
    assert "Only easy hitting" in lines(page, "2040-05-09")["Altitude"]
    assert lines(page, "2040-05-13")["Altitude"].startswith("Day 5 of 5. Find your length")


def test_from_three_thousand_metres_on_medical_advice_comes_first(plan: SeasonPlan) -> None:
    page = whole(plan, planned(plan, "Summit", BOGOTA, 20, elevation_m=3000))
    assert part(page, "altitude").caution.endswith("Take medical advice before you go.")


def test_a_hot_place_says_how_hot_it_feels_and_never_whether_to_play(plan: SeasonPlan) -> None:
    # 90 F at 70 % feel like 105.9 F, 41.1 C (US National Weather Service).
    event = planned(plan, "Doha", DOHA, 20, high_c=32.2, humidity_percent=70)
    page = whole(plan, event)
    heat = part(page, "heat")
    said = " ".join(heat.words)
    assert "A daily high of 32 °C is usual, 8 °C hotter than home." in said
    assert "At 70 % humidity that feels like 41 °C in the shade (heat index)." in said
    assert "7 days of getting used to it" in said
    assert "nothing here says whether to play" in heat.caution
    assert "is an emergency: cool first, call help" in heat.caution
    assert any("no adequate approximation" in words for words in heat.basis)
    assert lines(page, "2040-05-07")["Heat"].startswith("Day 1 of 7. Start short and easy")
    assert "Heat" not in lines(page, "2040-05-14")


def test_heat_that_nobody_knows_is_said_to_be_unknown(plan: SeasonPlan) -> None:
    neither = part(whole(plan, planned(plan, "Porto", BARCELONA, 5)), "heat")
    assert (neither.short, neither.is_open) == ("Not known", True)
    assert neither.words == ("Nobody has written down the expected daily high of this event.",)
    dry = part(whole(plan, planned(plan, "Doha", DOHA, 20, high_c=35)), "heat")
    assert dry.is_open
    assert any("so neither is how hot it feels" in words for words in dry.words)
    assert "feels like" not in " ".join(dry.words)


def test_straight_on_from_a_hot_place_counts_from_there(plan: SeasonPlan) -> None:
    planned(plan, "Doha", DOHA, 20, high_c=36, surface="hard")
    page = whole(plan, planned(plan, "Muscat", MUSCAT, 21, high_c=36, surface="hard"))
    assert page.origin == "Doha"
    assert lines(page, "2040-05-20")["Leave"].startswith("From Doha for Muscat: 704 km")
    heat = part(page, "heat")
    assert heat.words[0] == "A daily high of 36 °C is usual, as in Doha."
    # One day between the two, at 2.5 % a day.
    assert any("After 1 day between the two, about 98 %" in words for words in heat.words)
    assert part(page, "surface").words == ("Hard, as in Doha.",)


def test_what_is_left_of_a_habituation_is_read_off_the_days_between(plan: SeasonPlan) -> None:
    planned(plan, "Doha", DOHA, 10, high_c=36)
    page = whole(plan, planned(plan, "Muscat", MUSCAT, 14, high_c=36))
    # From the end on 10 March to the arrival on 26 March: 15 days at 2.5 %.
    assert any(
        "Doha before it was hot, too. After 15 days between the two, about 62 %" in words
        for words in part(page, "heat").words
    )
    # Two months later nothing is left, and nothing is said.
    late = part(whole(plan, planned(plan, "Salalah", MUSCAT, 25, high_c=36)), "heat")
    assert "before it was hot" not in " ".join(late.words)


def test_a_clock_that_had_not_settled_before_is_a_rough_guide(plan: SeasonPlan) -> None:
    planned(plan, "Tokyo", TOKYO, 1)
    page = whole(plan, planned(plan, "Bogotá", BOGOTA, 2))
    assert page.origin == "Tokyo"
    assert any(
        words.startswith("Counted as if the clock had settled in Tokyo. It was there 6 days")
        for words in part(page, "clock").words
    )
    assert any(words.startswith("No free night lies") for words in part(page, "clock").words)


def test_costs_are_counted_as_if_the_player_reached_the_final(plan: SeasonPlan) -> None:
    event = planned(plan, "Doha", DOHA, 20, high_c=36, entry_fee=Decimal(60))
    bare = whole(plan, event)
    # Two travel days and seven in the heat: arrive on Monday 7 May, in bed there from the 6th on.
    assert (bare.cost_total, bare.cost_gaps) == (
        "60.00",
        "Not counted yet: the travel and 14 nights there.",
    )
    costs = TripCost(player=plan.player, event=event, travel=Decimal(640), night=Decimal("95.50"))
    page = whole(plan, event, costs=costs)
    assert [(line.label, line.amount) for line in page.costs] == [
        ("Entry fee", "60.00"),
        ("Travel", "640.00"),
        ("Stay", "1,337.00"),
    ]
    assert page.costs[2].detail == (
        "14 nights at 95.50, Sun 6 May to Sat 19 May, as if reaching the final"
    )
    assert (page.cost_total, page.cost_gaps) == ("2,037.00", "")


def test_between_two_events_no_night_is_counted_twice(plan: SeasonPlan) -> None:
    first = planned(plan, "Doha", DOHA, 20)
    second = planned(plan, "Muscat", MUSCAT, 21)
    costs = TripCost(player=plan.player, event=first, travel=Decimal(1), night=Decimal(1))
    stays = [whole(plan, event, costs=costs).costs[2].detail for event in (first, second)]
    assert "to Sat 19 May" in stays[0]
    assert "Sun 20 May to Sat 26 May" in stays[1]


def test_the_seasons_costs_are_those_of_its_trips_and_say_what_nobody_knows(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    near = planned(plan, "Next Door", {"lat": 39.5, "lon": -0.4}, 3, entry_fee=Decimal(20))
    known = planned(plan, "Doha", DOHA, 20, entry_fee=Decimal(60))
    part = planned(plan, "Muscat", MUSCAT, 21, entry_fee=Decimal(50))
    unknown = planned(plan, "Barcelona", BARCELONA, 25, entry_fee=Decimal(30))
    TripCost.objects.create(player=plan.player, event=known, travel=Decimal(640), night=Decimal(95))
    TripCost.objects.create(player=plan.player, event=part, night=Decimal(80))
    # Those of somebody else are not counted.
    TripCost.objects.create(player=cast.ravi, event=unknown, travel=Decimal(999))
    kept = gather(plan).trip_costs
    pages = [whole(plan, event, costs=kept.get(event.pk)) for event in (near, known, part, unknown)]
    total = sum(Decimal(page.cost_total.replace(",", "")) for page in pages)
    assert [bool(page.cost_gaps) for page in pages] == [False, False, True, True]
    client = as_(cast.coach)
    page = read(client.get(f"/plans/{plan.pk}/"))
    figures = season_figures(page)
    assert figures["Costs known so far"] == f"{total:,.0f}"
    assert figures["Trips without costs"] == "1 of 4"
    about = page.one(id="figures").text
    assert "Of 1 more event one of the two is missing." in about

    # The same from what an edit reads, and without what is taken out.
    sent = {"do": f"take-out {unknown.pk}", "revision": str(plan.revision)}
    swap = {"HX-Request": "true", "HX-Target": "planner"}
    after = season_figures(read(client.post(f"/plans/{plan.pk}/edit/", sent, headers=swap)))
    assert after["Costs known so far"] == f"{total - 30:,.0f}"
    assert after["Trips without costs"] == "0 of 3"
    plan.refresh_from_db()
    assert after == season_figures(read(client.get(f"/plans/{plan.pk}/")))


def season_figures(page: Element) -> dict[str, str]:
    """Label and value of the season's figures; a label may fold out."""
    found = {}
    for line in page.one(id="figures").all("dl")[0].all("div"):
        summary = line.all("summary")
        found[(summary or line.all("dt"))[0].text] = line.one("dd").text
    return found


def test_a_cancelled_event_costs_nothing_and_is_gone_from_the_way(plan: SeasonPlan) -> None:
    first = planned(plan, "Doha", DOHA, 20, entry_fee=Decimal(60))
    second = planned(plan, "Muscat", MUSCAT, 21, entry_fee=Decimal(50))
    assert whole(plan, second).origin == "Doha"
    Event.objects.filter(pk=first.pk).update(cancelled=True)
    page = whole(plan, second)
    assert page.origin == "home"
    material = gather(plan)
    costs = season_costs(material, trips_of(material))
    assert costs is not None
    assert (costs.total, costs.events, costs.unknown) == (Decimal(50), 1, 1)


def test_an_event_at_home_costs_no_bed(plan: SeasonPlan) -> None:
    page = whole(plan, planned(plan, "Next Door", {"lat": 39.5, "lon": -0.4}, 5))
    assert page.cost_gaps == ""


def test_an_event_outside_the_plan_is_compared_with_home(plan: SeasonPlan) -> None:
    event = planned(plan, "Tokyo", TOKYO, 10)
    plan.planned_events.update(played=False)
    page = whole(plan, event)
    assert (page.days, page.origin) == ((), "home")
    assert part(page, "clock").words == ("The clock is 8 hours east of that at home.",)


# The pages -----------------------------------------------------------------------------------


def at(plan: SeasonPlan, event: Event) -> str:
    return f"/plans/{plan.pk}/events/{event.pk}/"


@pytest.mark.parametrize("role", ["coach", "player", "guardian", "staff", "director"])
def test_everybody_around_the_player_reads_the_trip_of_the_plan_in_force(
    plan: SeasonPlan, cast: Cast, as_: Any, role: str
) -> None:
    event = planned(plan, "Tokyo", TOKYO, 10)
    put_in_force(plan, now=plan.created_at)
    page = read(as_(cast.people()[role]).get(at(plan, event)))
    assert page.one("h1").text.startswith("Tokyo Cup in")
    assert len(page.one("ol", "trip-days").all("li")) == 14
    link = f"/plans/{plan.pk}/events/{event.pk}/costs/"
    shown = [a.attributes["href"] for a in page.all("a")]
    assert (link in shown) is (role == "coach")
    assert (f"/events/{event.pk}/edit/" in shown) is (role in ("coach", "director"))


def test_the_whole_trip_is_not_sent_with_the_panel_alone(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    event = planned(plan, "Tokyo", TOKYO, 10)
    swap = {"HX-Request": "true", "HX-Target": "panel"}
    panel = read(as_(cast.coach).get(at(plan, event), headers=swap))
    assert panel.all("ol", "trip-days") == []
    assert panel.one("a", "panel-whole").attributes["href"] == at(plan, event)


def test_a_bedtime_is_asked_for_and_one_that_is_none_is_explained(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    event = planned(plan, "Tokyo", TOKYO, 10)
    coach = as_(cast.coach)
    page = read(coach.get(at(plan, event), {"bed": "21:30"}))
    assert page.typed("bed") == "21:30"
    assert "for your body it is about 13:30" in page.one("ol", "trip-days").text
    wrong = read(coach.get(at(plan, event), {"bed": "late"}))
    assert wrong.wrong("bed") == "Write a time such as 22:30."
    assert wrong.typed("bed") == "late"
    assert "for your body it is about 15:00" in wrong.one("ol", "trip-days").text


def test_without_a_home_base_no_trip_is_made_up(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    event = planned(plan, "Tokyo", TOKYO, 10)
    cast.ines.home_base.delete()
    page = read(as_(cast.coach).get(at(plan, event)))
    assert "has no home base yet" in page.one(id="trip").text


def test_costs_are_kept_for_the_player_and_shown_in_every_plan(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    event = planned(plan, "Doha", DOHA, 20)
    coach = as_(cast.coach)
    costs = f"{at(plan, event)}costs/"
    saved = coach.post(costs, {"travel": "640", "night": ""}, follow=True)
    assert saved.redirect_chain == [(at(plan, event), 302)]
    page = read(saved)
    assert page.one(id="messages").text == "Costs of the trip to Doha saved."
    assert "640.00" in page.one(id="trip").text
    other = SeasonPlanFactory(player=cast.ines, start=plan.start, end=plan.end)
    assert "640.00" in read(coach.get(at(other, event))).one(id="trip").text
    assert read(coach.get(costs)).typed("travel") == "640.00"
    coach.post(costs, {"travel": "", "night": ""})
    assert not TripCost.objects.exists()


def test_a_cost_that_is_none_is_refused_and_kept(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    event = planned(plan, "Doha", DOHA, 20)
    answer = as_(cast.coach).post(f"{at(plan, event)}costs/", {"travel": "-5", "night": "80"})
    page = read(answer, 422)
    assert "greater than or equal to 0" in page.wrong("travel")
    assert (page.typed("travel"), page.typed("night")) == ("-5", "80")
    assert not TripCost.objects.exists()


def test_costs_of_an_event_of_another_academy_do_not_exist(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    event = EventFactory(academy=cast.foreign_academy, start=START)
    assert as_(cast.coach).get(f"{at(plan, event)}costs/").status_code == 404


def test_the_page_asks_as_many_queries_in_a_full_season_as_in_an_empty_one(
    plan: SeasonPlan, cast: Cast, as_: Any, django_assert_max_num_queries: Any
) -> None:
    event = planned(plan, "Tokyo", TOKYO, 10)
    coach = as_(cast.coach)
    for week in (1, 3, 5, 14, 16, 18, 20, 22):
        planned(plan, f"Town {week}", BARCELONA, week)
    with django_assert_max_num_queries(20):
        assert coach.get(at(plan, event)).status_code == 200


def test_the_buttons_of_the_panel_work_on_the_whole_page_too(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    event = planned(plan, "Tokyo", TOKYO, 10)
    page = read(as_(cast.coach).get(at(plan, event)))
    assert page.one("button", id="panel-place").attributes["form"] == "edit"
    assert page.one("form", id="edit").attributes["action"] == f"/plans/{plan.pk}/edit/"
