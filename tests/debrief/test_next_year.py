"""Into next year: the days, the plan that starts with the decisions, and events that come again."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from seasonplan.debrief.models import Debrief, Decision
from seasonplan.debrief.next_year import (
    a_year_on,
    add_proposals,
    carry_into_next_year,
    next_season_days,
    proposals,
)
from seasonplan.events.models import Event
from seasonplan.plans.carrying import Carry, carry_over, set_again, take_back
from seasonplan.plans.history import Stale
from seasonplan.plans.laying_out import gather, lay_out_plan, problem_from
from seasonplan.plans.models import CarriedOver, LevelWorth, PlannedEvent, SeasonPlan
from tests.conftest import Cast
from tests.debrief.conftest import START, TODAY, Year
from tests.factories import (
    CarriedOverFactory,
    DebriefFactory,
    DecisionFactory,
    EventFactory,
    LevelWorthFactory,
    PlaceFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
)

NEXT_START, NEXT_END = date(2027, 1, 4), date(2028, 1, 2)

# Dates ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        # ISO 8601's week dates: 2026 has 53 weeks, 2027 has 52.
        (date(2026, 1, 12), date(2027, 1, 18)),  # week 3, 371 days
        (date(2027, 1, 18), date(2028, 1, 17)),  # week 3, 364 days
        (date(2026, 12, 30), date(2027, 12, 29)),  # week 53 has no counterpart: week 52
        (date(2024, 12, 30), date(2025, 12, 29)),  # week 1 of 2025 to week 1 of 2026
        (date(2027, 1, 2), date(2028, 1, 1)),  # a Saturday in week 53 of 2026
    ],
)
def test_a_year_on_is_the_same_weekday_of_the_same_week(day: date, expected: date) -> None:
    assert a_year_on(day) == expected


@given(st.dates(date(2000, 1, 1), date(2090, 12, 31)))
def test_a_year_on_is_52_or_53_weeks_away(day: date) -> None:
    moved = a_year_on(day)
    assert (moved - day).days in (364, 371)
    if day.isocalendar().week != 53:
        assert moved.isocalendar()[1:] == day.isocalendar()[1:]


@pytest.mark.parametrize(
    ("start", "end", "expected"),
    [
        # From the second week of 2026 to its 53rd and last, then the 52 of 2027.
        (START, date(2027, 1, 3), (NEXT_START, NEXT_END)),
        # 52 weeks of 2026 alone: the week left over begins the next season.
        (date(2025, 12, 29), date(2026, 12, 27), (date(2026, 12, 28), date(2027, 12, 26))),
        (NEXT_START, NEXT_END, (date(2028, 1, 3), date(2028, 12, 31))),
        # A spring of ten weeks comes again in the same weeks.
        (date(2026, 3, 2), date(2026, 5, 10), (date(2027, 3, 8), date(2027, 5, 16))),
        # Two years do not overlap with the two after them.
        (START, date(2028, 1, 2), (date(2028, 1, 3), date(2029, 12, 30))),
    ],
)
def test_the_next_season_follows(start: date, end: date, expected: tuple[date, date]) -> None:
    assert next_season_days(SeasonPlan(start=start, end=end)) == expected


@given(st.dates(date(2005, 1, 3), date(2080, 1, 1)), st.integers(4, 106))
def test_every_next_season_is_whole_weeks_after_this_one(monday: date, weeks: int) -> None:
    start = monday - timedelta(days=monday.weekday())
    plan = SeasonPlan(start=start, end=start + timedelta(weeks=weeks, days=-1))
    first, last = next_season_days(plan)
    assert first > plan.end
    assert (first.weekday(), last.weekday()) == (0, 6)
    later = SeasonPlan(start=first, end=last)
    if 51 <= weeks <= 53:
        assert first == plan.end + timedelta(days=1)
        assert ((last - first).days + 1) // 7 in (52, 53)
    assert next_season_days(later)[0] > last


# Decisions into the plan ----------------------------------------------------------------------


@pytest.fixture
def decided(cast: Cast, year: Year) -> dict[str, Decision]:
    """One decision of each kind."""
    debrief: Debrief = DebriefFactory(player=cast.ines, season_start=START)

    def made(text: str, **kwargs: Any) -> Decision:
        row: Decision = DecisionFactory(debrief=debrief, text=text, **kwargs)
        return row

    LevelWorthFactory(plan=year.plan, level="regional", worth=33)
    return {
        "note": made("Call the organisers early"),
        "limit": made("At most two in a row", kind="limit", subject="max_run", value=2),
        "target": made("The cup once more", kind="target", event=year.cup, value=90),
        "worth": made("The lantern is worth it", kind="event worth", event=year.lantern, value=45),
        "level": made("National counts", kind="level worth", subject="national", value=60),
    }


@pytest.fixture
def calendar(cast: Cast, year: Year) -> dict[str, Event]:
    """Two of the three events a year on, not quite in the same week."""
    return {
        "cup": EventFactory(
            academy=cast.academy, place=year.valencia, name="Orchard Cup", start=date(2027, 5, 31)
        ),
        "lantern": EventFactory(
            academy=cast.academy,
            place=year.valencia,
            name="LANTERN open 2027",
            start=date(2027, 6, 14),
        ),
    }


def start_next(year: Year, cast: Cast) -> SeasonPlan:
    decisions = list(Decision.objects.visible_to(cast.coach).select_related("event"))
    plan, _ = carry_into_next_year(year.plan, decisions, into=None)
    return plan


def contents(plan: SeasonPlan) -> dict[str, Any]:
    plan = SeasonPlan.objects.get(pk=plan.pk)
    return {
        "revision": plan.revision,
        "limits": plan.limits,
        "events": list(plan.planned_events.values_list("event", "role", "worth")),
        "levels": dict(plan.level_worths.values_list("level", "worth")),
        "carried": list(plan.carried_over.values_list("source", "taken_back", "event", "before")),
    }


def test_next_years_plan_starts_with_every_decision(
    cast: Cast, year: Year, decided: dict[str, Decision], calendar: dict[str, Event]
) -> None:
    plan = start_next(year, cast)

    assert (plan.start, plan.end, plan.standing) == (NEXT_START, NEXT_END, "working copy")
    # Last season's own limit stays, the decided one is set.
    assert plan.limits == {"max_events": 18, "max_run": 2}
    assert contents(plan)["events"] == [
        (calendar["cup"].pk, "target", 90),
        (calendar["lantern"].pk, "open", 45),
    ]
    assert contents(plan)["levels"] == {"regional": 33, "national": 60}
    assert set(plan.carried_over.values_list("text", flat=True)) == {
        decision.text for decision in decided.values()
    }


def test_what_said_how_the_season_began_and_its_budget_stay_behind(
    cast: Cast, year: Year, decided: dict[str, Decision]
) -> None:
    SeasonPlan.objects.filter(pk=year.plan.pk).update(
        limits={"first_phase": "competition", "weeks_already_done": 2, "budget": 900, "max_run": 4}
    )
    year.plan.refresh_from_db()
    assert start_next(year, cast).limits == {"max_run": 2}


def test_the_layout_uses_limit_target_and_worth(
    cast: Cast, year: Year, decided: dict[str, Decision], calendar: dict[str, Event]
) -> None:
    plan = start_next(year, cast)
    weeks = [calendar["cup"].start + timedelta(weeks=n) for n in range(-3, 4)]
    for number, start in enumerate(weeks):
        EventFactory(
            academy=cast.academy, place=year.valencia, name=f"Home Week {number}", start=start
        )
    problem = problem_from(gather(plan), today=TODAY)
    assert problem.limits.max_run == 2
    worths = {event.name: (event.role, event.worth) for event in problem.events}
    assert worths["Orchard Cup"] == ("target", 90)
    assert worths["LANTERN open 2027"] == ("open", 45)

    layout = lay_out_plan(plan, today=TODAY, now=timezone.now(), seconds=6)
    assert f"e{calendar['cup'].pk}" in layout.events
    assert layout.judgement.longest_run <= 2
    # The limit is what held it back: without the decision the better season has a longer run.
    take_back(plan, plan.carried_over.get(kind="limit"))
    freer = lay_out_plan(plan, today=TODAY, now=timezone.now(), seconds=6)
    assert freer.judgement.longest_run == 3


def test_carrying_over_twice_changes_nothing(
    cast: Cast, year: Year, decided: dict[str, Decision], calendar: dict[str, Event]
) -> None:
    plan = start_next(year, cast)
    before = contents(plan)
    decisions = list(Decision.objects.select_related("event"))
    _, carried = carry_into_next_year(year.plan, decisions, into=SeasonPlan.objects.get(pk=plan.pk))
    assert carried.changed == 0
    assert contents(plan) == before


def test_a_changed_decision_puts_its_new_value_in_place_of_the_old(
    cast: Cast, year: Year, decided: dict[str, Decision], calendar: dict[str, Event]
) -> None:
    plan = start_next(year, cast)
    decided["limit"].value = 1
    decided["target"].event = year.lantern
    decided["target"].value = None
    for name in ("limit", "target"):
        decided[name].save()
    decisions = list(Decision.objects.exclude(pk=decided["worth"].pk).select_related("event"))
    again = SeasonPlan.objects.get(pk=plan.pk)
    carry_into_next_year(year.plan, decisions, into=again)

    assert again.limits["max_run"] == 1
    events = {event: (role, worth) for event, role, worth in contents(plan)["events"]}
    assert events[calendar["cup"].pk] == ("open", None)
    assert events[calendar["lantern"].pk] == ("target", 45)


def test_taking_a_decision_back_puts_back_what_stood_before_and_says_so(
    cast: Cast,
    year: Year,
    decided: dict[str, Decision],
    calendar: dict[str, Event],
    as_: Callable[..., Client],
) -> None:
    plan = start_next(year, cast)
    Decision.objects.update(taken_back_at="2027-01-12T09:00Z")
    client = as_(cast.coach)
    answer = client.post(year.url("next-year"), {"into": str(plan.pk)}, follow=True)

    assert "5 decisions taken back in it" in answer.content.decode()
    now = contents(plan)
    assert now["limits"] == {"max_events": 18}  # 3 is the default: as the season had it
    assert {(role, worth) for _, role, worth in now["events"]} == {("open", None)}
    assert now["levels"] == {"regional": 33}
    page = client.get(reverse("season", args=[plan.pk])).content.decode()
    assert "<s>At most two in a row</s>" in page
    page = client.get(year.url("debrief")).content.decode()
    assert "taken back in “Season 2027”" in page


def test_what_the_coach_changed_since_is_not_put_back(
    cast: Cast, year: Year, decided: dict[str, Decision], calendar: dict[str, Event]
) -> None:
    plan = start_next(year, cast)
    SeasonPlan.objects.filter(pk=plan.pk).update(limits={"max_run": 5})
    PlannedEvent.objects.filter(plan=plan, event=calendar["cup"]).update(role="build-up")
    LevelWorth.objects.filter(plan=plan, level="national").update(worth=11)
    for row in plan.carried_over.all():
        plan.refresh_from_db()
        take_back(plan, row)

    now = contents(plan)
    assert now["limits"] == {"max_run": 5}
    assert (calendar["cup"].pk, "build-up", 90) in now["events"]
    assert now["levels"]["national"] == 11


def test_a_decision_is_set_again_in_the_plan_and_only_there(
    cast: Cast, year: Year, decided: dict[str, Decision], calendar: dict[str, Event]
) -> None:
    plan = start_next(year, cast)
    row = plan.carried_over.get(kind="limit")
    take_back(plan, row)
    decisions = list(Decision.objects.select_related("event"))
    # What a coach took back in the plan does not come back by carrying over once more.
    carry_into_next_year(year.plan, decisions, into=SeasonPlan.objects.get(pk=plan.pk))
    assert "max_run" not in contents(plan)["limits"]

    plan.refresh_from_db()
    set_again(plan, row)
    assert contents(plan)["limits"]["max_run"] == 2


def test_a_target_waits_until_the_calendar_has_its_event(
    cast: Cast, year: Year, decided: dict[str, Decision], as_: Callable[..., Client]
) -> None:
    plan = start_next(year, cast)
    assert contents(plan)["events"] == []
    page = as_(cast.coach).get(reverse("season", args=[plan.pk])).content.decode()
    assert "Its event is not in this season’s calendar yet" in page

    add_proposals(year.plan, {year.cup.pk, year.lantern.pk})
    answer = as_(cast.coach).post(year.url("next-year"), {"into": str(plan.pk)}, follow=True)
    assert "2 decisions carried into “Season 2027”" in answer.content.decode()
    assert {(role, worth) for _, role, worth in contents(plan)["events"]} == {
        ("target", 90),
        ("open", 45),
    }


def test_a_plan_in_force_is_copied_and_left_as_it_is(
    cast: Cast, year: Year, decided: dict[str, Decision], as_: Callable[..., Client]
) -> None:
    in_force = SeasonPlanFactory(
        player=cast.ines, start=NEXT_START, end=NEXT_END, standing="in force"
    )
    before = contents(in_force)
    client = as_(cast.coach)
    assert client.post(year.url("next-year"), {"into": str(in_force.pk)}).status_code == 404
    assert client.post(year.url("next-year"), {"into": "new"}).status_code == 404
    client.post(year.url("next-year"), {"into": "copy"})

    assert contents(in_force) == before
    copy = SeasonPlan.objects.get(based_on=in_force)
    assert (copy.standing, copy.limits) == ("working copy", {"max_run": 2})


def test_a_copy_of_a_plan_keeps_its_decisions(cast: Cast, as_: Callable[..., Client]) -> None:
    row = CarriedOverFactory(plan__player=cast.ines)
    as_(cast.coach).post(reverse("plan-copy", args=[row.plan_id]))
    copy = SeasonPlan.objects.get(based_on=row.plan)
    assert list(copy.carried_over.values_list("source", "text", "why_path")) == [
        (row.source, row.text, row.why_path)
    ]


def test_the_plan_leads_back_to_why(
    cast: Cast, year: Year, decided: dict[str, Decision], as_: Callable[..., Client]
) -> None:
    client = as_(cast.coach)
    client.post(year.url("next-year"), {"into": "new"})
    plan = SeasonPlan.objects.get(start=NEXT_START)
    page = client.get(reverse("season", args=[plan.pk])).content.decode()
    assert "From the debrief of 2026: <strong>At most two in a row</strong>" in page
    why = f"/players/{cast.ines.pk}/debriefs/2026-01-05/#decision-{decided['limit'].pk}"
    assert f'href="{why}"' in page
    there = client.get(why.partition("#")[0], follow=True).content.decode()
    assert f'id="decision-{decided["limit"].pk}"' in there


def test_buttons_of_the_plan_take_back_and_set_again(
    cast: Cast, year: Year, decided: dict[str, Decision], as_: Callable[..., Client]
) -> None:
    plan = start_next(year, cast)
    row = plan.carried_over.get(kind="limit")
    address = reverse("carried-over", args=[plan.pk, row.pk])
    client = as_(cast.coach)
    client.post(address, {"do": "take back"})
    assert "max_run" not in contents(plan)["limits"]
    client.post(address, {"do": "set again"})
    assert contents(plan)["limits"]["max_run"] == 2
    elsewhere = CarriedOverFactory(plan__player=cast.ravi)
    wrong = reverse("carried-over", args=[plan.pk, elsewhere.pk])
    assert client.post(wrong, {"do": "take back"}).status_code == 404


def test_carrying_into_a_plan_that_was_changed_meanwhile_is_stale(cast: Cast) -> None:
    plan = SeasonPlanFactory(player=cast.ines)
    SeasonPlan.objects.filter(pk=plan.pk).update(revision=9)
    carry = Carry("decision 1", "Two", "limit", "the debrief", "/", subject="max_run", value=2)
    with pytest.raises(Stale):
        carry_over(plan, [carry])
    assert not CarriedOver.objects.exists()


# Events that come again -----------------------------------------------------------------------


def test_events_are_proposed_in_the_same_week_and_place(cast: Cast, year: Year) -> None:
    EventFactory(academy=cast.academy, name="Never Played", start=date(2026, 2, 2))
    found = proposals(year.plan)
    assert [(p.name, p.will_be, p.played, p.there) for p in found] == [
        ("Orchard Cup", "24–30 May 2027", True, ""),
        ("Lantern Open 2027", "14–20 Jun 2027", True, ""),
        ("Harbour Trophy", "20–26 Sep 2027", True, ""),
        ("Never Played", "8–14 Feb 2027", False, ""),
    ]


def test_events_that_the_calendar_has_already_are_recognised(
    year: Year, calendar: dict[str, Event]
) -> None:
    there = {p.name: p.there for p in proposals(year.plan)}
    assert there == {
        "Orchard Cup": "31 May – 6 Jun 2027",
        "Lantern Open 2027": "14–20 Jun 2027",
        "Harbour Trophy": "",
    }


def test_an_event_of_that_name_at_another_time_of_the_year_is_another_event(
    cast: Cast, year: Year
) -> None:
    EventFactory(academy=cast.academy, name="Orchard Cup", start=date(2027, 10, 4))
    PlaceFactory(academy=cast.academy)
    assert next(p for p in proposals(year.plan) if p.name == "Orchard Cup").there == ""


def test_chosen_events_are_added_once_and_marked_as_not_confirmed(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    Event.objects.filter(pk=year.cup.pk).update(
        entry_fee="45.50", high_c=27, entry_deadline=date(2026, 4, 20), indoor=True
    )
    client, chosen = as_(cast.coach), {"event": [year.cup.pk, year.lantern.pk]}
    for _ in range(2):
        assert client.post(year.url("next-year-events"), chosen).status_code == 302

    made = list(Event.objects.filter(start__year=2027))
    assert [(e.name, e.start, e.end) for e in made] == [
        ("Orchard Cup", date(2027, 5, 24), date(2027, 5, 30)),
        ("Lantern Open 2027", date(2027, 6, 14), date(2027, 6, 20)),
    ]
    cup = made[0]
    assert cup.dates_unconfirmed
    assert (cup.place, str(cup.entry_fee), cup.high_c, cup.indoor, cup.level) == (
        year.valencia,
        "45.50",
        27,
        True,
        "national",
    )
    assert cup.entry_deadline is None
    page = client.get(reverse("calendar") + "?year=2027").content.decode()
    assert page.count('<span class="tag">dates not confirmed</span>') == 2


def test_dates_are_confirmed_in_the_events_form(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    [made] = add_proposals(year.plan, {year.cup.pk})
    client, address = as_(cast.coach), reverse("event-edit", args=[made.pk])
    form = client.get(address).context["form"]
    sent = {name: form[name].value() for name in form.fields if form[name].value() is not None}
    assert sent.pop("dates_unconfirmed") is True
    answer: HttpResponse = client.post(address, sent)
    assert answer.status_code == 302
    assert not Event.objects.get(pk=made.pk).dates_unconfirmed


def test_events_of_another_academy_are_neither_proposed_nor_added(cast: Cast, year: Year) -> None:
    foreign = EventFactory(academy=cast.foreign_academy, start=date(2026, 5, 18))
    assert foreign.name not in {p.name for p in proposals(year.plan)}
    assert add_proposals(year.plan, {foreign.pk}) == []


def test_a_decision_of_an_unknown_kind_is_refused() -> None:
    with pytest.raises(ValidationError):
        CarriedOver(source="x", text="x", kind="wish", origin="x", why_path="/").full_clean(
            exclude=["plan"]
        )


def test_the_proposals_ask_as_many_queries_for_fifty_events_as_for_five(
    cast: Cast, year: Year, as_: Callable[..., Client], django_assert_max_num_queries: Any
) -> None:
    client = as_(cast.coach)
    for number in range(50):
        event = EventFactory(academy=cast.academy, start=START + timedelta(weeks=number))
        PlannedEventFactory(plan=year.plan, event=event, played=True)
    with django_assert_max_num_queries(9):
        assert client.get(year.url("next-year-events")).status_code == 200
