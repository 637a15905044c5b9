"""What events and limits cost, and who stands in: the pages say the difference of two solves.

The ten weeks of `conftest`, with a weaker event in the week of the Lantern Open (Meadow Open, at
home, worth 10: the Lantern is worth 20 and its way there and back 0.9) and one on busy days.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.conf import LazySettings
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone, translation

from seasonplan.academy.models import HomeBase
from seasonplan.events.importing import import_file
from seasonplan.events.models import Event
from seasonplan.plans.laying_out import code_of, gather, lay_out_plan, problem_from
from seasonplan.plans.models import PlannedEvent, SeasonPlan, Step
from seasonplan.plans.pricing import base_of, loosenings
from seasonplan.plans.standing import put_in_force
from seasonplan.science.layout.prices import limit_value, looser_limits
from seasonplan.science.layout.problem import Problem
from seasonplan.science.layout.solver import Impossible, Layout, lay_out
from seasonplan.settings import ROOT
from tests.conftest import Cast
from tests.factories import (
    BusyTimeFactory,
    EventFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
)
from tests.plans.conftest import TenWeeks, week
from tests.plans.pages import Element, read

EVE = date(2039, 12, 31)
NOW = datetime(2039, 12, 31, 9, tzinfo=UTC)
SWAP = {"HX-Request": "true"}
PARTS = ("candidates", "played", "limits")


@pytest.fixture(autouse=True)
def _the_eve(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: NOW)


@pytest.fixture
def plan(ten_weeks: TenWeeks, cast: Cast) -> SeasonPlan:
    """Laid out with the cup, the Lantern Open and the Harbour Trophy."""
    plan, place = ten_weeks.plan, ten_weeks.valencia
    meadow = EventFactory(academy=cast.academy, place=place, name="Meadow Open", **week(8))
    PlannedEventFactory(plan=plan, event=meadow, worth=10)
    EventFactory(academy=cast.academy, place=place, name="Chalk Cup", **week(3))
    BusyTimeFactory(player=cast.ines, why="School exams", **week(3))
    lay_out_plan(plan, today=EVE, now=NOW)
    plan.refresh_from_db()
    return plan


def event(name: str) -> Event:
    return Event.objects.get(name=name)


def prices_of(plan: SeasonPlan, part: str = "") -> str:
    return f"/plans/{plan.pk}/prices/" + (f"?part={part}" if part else "")


def streamed(client: Client, plan: SeasonPlan, part: str) -> Element:
    """The whole page, once it has arrived."""
    answer: Any = client.get(prices_of(plan, part))
    assert answer.streaming, "the rows wait for one another"
    return read(HttpResponse(b"".join(answer.streaming_content), status=answer.status_code))


def rows_of(page: Element) -> dict[str, list[str]]:
    """Of the rows in order: title to value, broken rules, words, how sure."""
    found = page.one("div", "prices-found").one("tbody").all("tr")
    return {title_of(row): [cell.text for cell in row.all("td")] for row in found}


def title_of(row: Element) -> str:
    head = row.one("th")
    return head.all("a")[0].text if head.all("a") else head.text


def other_solve(problem: Problem, event: Event, *, played: bool) -> Layout | None:
    """The solver asked directly, with the event pinned in or ruled out."""
    code = {code_of(event.pk)}
    other = (
        replace(problem, keep=problem.keep | code, drop=problem.drop - code)
        if played
        else replace(problem, keep=problem.keep - code, drop=problem.drop | code)
    )
    try:
        return lay_out(other)
    except Impossible:
        return None


def figures(before: Layout, after: Layout) -> list[str]:
    """What the columns must show for this difference."""
    value, breaks = before.value - after.value, round(after.breaks - before.breaks)
    return [f"{value:.2f}".replace("-", "−"), f"{breaks}"]


# What the page says -------------------------------------------------------------------------------


def test_the_page_opens_without_a_price(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    page = read(as_(cast.coach).get(prices_of(plan)))
    assert page.all("table") == []
    path = f"{prices_of(plan, 'candidates')}#candidates"
    assert page.one("a", "button", href=path).text == "Price all 2 events"
    assert "Price all 3 events" in page.one(id="played").text
    assert "Takes some seconds, 60 at most." in page.one(id="limits").text
    asks = [link.text for link in page.one(id="candidates").all("a", "button-small")]
    assert asks == ["What would it cost? Chalk Cup", "What would it cost? Meadow Open"]


@pytest.mark.parametrize("part", ["candidates", "played"])
def test_an_events_price_is_the_difference_of_two_solves(
    plan: SeasonPlan, cast: Cast, as_: Any, part: str
) -> None:
    problem = problem_from(gather(plan), today=EVE)
    best = lay_out(problem)
    rows = rows_of(streamed(as_(cast.coach), plan, part))
    assert len(rows) == {"candidates": 2, "played": 3}[part]
    for name, cells in rows.items():
        other = other_solve(problem, event(name), played=part == "candidates")
        expected = figures(best, other) if other else ["–", "–"]
        assert cells[:2] == expected, name
        assert cells[3] == ("proven best" if other else "not possible")


def test_a_price_worked_out_by_hand(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    # 20 of the Lantern less its flights, 0.9, against 10 of the Meadow Open at home.
    rows = rows_of(streamed(as_(cast.coach), plan, "candidates"))
    assert rows["Meadow Open"] == [
        "9.10",
        "0",
        "Playing Meadow Open would cost 9.1 points of value: Lantern Open would leave. Put in"
        " Meadow Open Pin Meadow Open",
        "proven best",
    ]


def test_the_cheapest_stands_first_and_what_is_not_possible_last_with_its_reason(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    coach = as_(cast.coach)
    rows = rows_of(streamed(coach, plan, "candidates"))
    assert list(rows) == ["Meadow Open", "Chalk Cup"]
    reason = "Chalk Cup cannot be played: it falls on days on which the player is busy."
    assert rows["Chalk Cup"] == ["–", "–", reason, "not possible"]
    played = list(rows_of(streamed(coach, plan, "played")).values())
    assert [row[1] for row in played] == ["0", "0", "300"]  # the target costs a broken rule
    assert float(played[0][0]) < float(played[1][0])


def test_a_limits_price_is_the_difference_of_two_solves(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    # With two events in a row allowed at most, one more lets the third in without a broken rule.
    plan.limits |= {"max_run": 2}
    plan.save()
    lay_out_plan(plan, today=EVE, now=NOW)
    problem = problem_from(gather(plan), today=EVE)
    best = lay_out(problem)
    page = streamed(as_(cast.coach), plan, "limits")
    cells = [row.all("td") for row in page.one("div", "prices-found").one("tbody").all("tr")]
    titles = [row.one("th").text for row in page.one("div", "prices-found").one("tbody").all("tr")]
    shown = dict(zip(titles, [[cell.text for cell in row] for row in cells], strict=True))
    wanted = loosenings(problem.limits)
    assert len(shown) == len(wanted)
    gained = []
    for one in wanted.values():
        looser = looser_limits(problem.limits, one)
        assert looser is not None
        other = lay_out(replace(problem, limits=looser))
        ends = f"{limit_value(looser, one)}", f"instead of {limit_value(problem.limits, one)}"
        value, breaks = other.value - best.value, round(best.breaks - other.breaks)
        expected = [f"{value:.2f}".replace("-", "−"), f"{breaks}", "proven best"]
        matching = [
            row
            for title, row in shown.items()
            if all(end in title for end in ends) and [row[0], row[1], row[3]] == expected
        ]
        assert matching, (one, expected)
        gained.append(value)
    assert max(gained) > 0
    assert titles[0] == "Event weeks in a row, at most: 3 weeks instead of 2"


def test_some_prices_of_the_demo_calendar_are_differences_of_two_solves(
    cast: Cast, as_: Any
) -> None:
    calendar = ROOT / "fixtures" / "demo-calendar.csv"
    import_file(
        academy=cast.academy,
        person=cast.coach,
        file_name=calendar.name,
        content=calendar.read_bytes(),
    )
    plan = SeasonPlanFactory(player=cast.ines)
    for target in ("Vineyard Lane Cup", "Greensward Championships", "Tide Table Week"):
        PlannedEventFactory(plan=plan, event=event(target), role="target")
    best = lay_out_plan(plan, today=EVE.replace(year=2026), now=NOW.replace(year=2026))
    plan.refresh_from_db()
    problem = problem_from(gather(plan), today=date(2026, 12, 31))
    for part in ("candidates", "played"):
        rows = rows_of_plan_of_2027(as_(cast.coach), plan, part)
        assert len(rows) > 10
        names = list(rows)
        for name in (names[0], names[len(names) // 2], names[-1]):
            other = other_solve(problem, event(name), played=part == "candidates")
            assert rows[name][:2] == (figures(best, other) if other else ["–", "–"]), name


def rows_of_plan_of_2027(client: Client, plan: SeasonPlan, part: str) -> dict[str, list[str]]:
    with pytest.MonkeyPatch.context() as days:
        days.setattr(timezone, "now", lambda: NOW.replace(year=2026))
        return rows_of(streamed(client, plan, part))


# As they arrive -----------------------------------------------------------------------------------


def chunks(client: Client, plan: SeasonPlan, part: str) -> Iterator[str]:
    answer: Any = client.get(prices_of(plan, part))
    assert answer["X-Accel-Buffering"] == "no"
    for chunk in answer.streaming_content:
        yield chunk.decode()


def test_rows_are_written_one_by_one_as_they_are_found(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    parts = list(chunks(as_(cast.coach), plan, "played"))
    first, rows, rest = parts[0], parts[1:4], "".join(parts[4:])
    assert "Working out: each row is shown as soon as it is found, in at most 60 seconds" in first
    assert "points of value" not in first
    assert all(row.startswith("<tr>") and row.rstrip().endswith("</tr>") for row in rows)
    assert "3 of 3 prices: 3 proven best. They are of revision 2 of the plan." in rest


def test_a_streamed_page_is_in_one_language_from_head_to_foot(
    plan: SeasonPlan, cast: Cast, as_: Any, settings: LazySettings
) -> None:
    """The rows and what they rest on are said after the view has returned."""
    cast.coach.language = "es"
    cast.coach.save()
    try:
        page = streamed(as_(cast.coach), plan, "candidates").text
    finally:
        translation.activate(settings.LANGUAGE_CODE)
    for spanish in ("Precios según se encuentran", "óptimo demostrado", "Volver a calcular"):
        assert spanish in page
    for english in ("as they are found", "proven best", "Work out again", "would cost"):
        assert english not in page


def test_when_time_is_up_the_rest_can_be_asked_alone(
    plan: SeasonPlan, cast: Cast, as_: Any, settings: LazySettings
) -> None:
    settings.LAYOUT_SECONDS = 0.001
    found = streamed(as_(cast.coach), plan, "limits").one("div", "prices-found")
    assert len(found.one("tbody").all("tr")) == 1
    left = found.all("a", "button-small")
    assert len(left) == len(loosenings(plan.parsed_limits)) - 1
    assert "Not found in 0.001 seconds" in found.text
    assert f"1 of {len(left) + 1} prices" in found.text


def test_what_changed_meanwhile_is_said(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    arriving = chunks(as_(cast.coach), plan, "played")
    next(arriving)
    SeasonPlan.objects.filter(pk=plan.pk).update(revision=9)
    rest = "".join(arriving)
    assert "this is of its revision 2, and it is at 9 now" in rest


def test_a_plan_that_is_deleted_meanwhile_is_said(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    arriving = chunks(as_(cast.coach), plan, "played")
    next(arriving)
    plan.delete()
    assert "This plan has been deleted meanwhile." in "".join(arriving)


@pytest.mark.parametrize("part", PARTS)
def test_asking_writes_nothing(plan: SeasonPlan, cast: Cast, as_: Any, part: str) -> None:
    coach = as_(cast.coach)
    before = list(PlannedEvent.objects.values()), list(SeasonPlan.objects.values())
    with CaptureQueriesContext(connection) as asked:
        streamed(coach, plan, part)
    written = [q["sql"] for q in asked if q["sql"].split()[0] in ("INSERT", "UPDATE", "DELETE")]
    assert written == []
    assert before == (list(PlannedEvent.objects.values()), list(SeasonPlan.objects.values()))
    assert Step.objects.filter(plan=plan).count() == 2  # the beginning, and the layout


@pytest.mark.parametrize("part", ["", *PARTS])
def test_fifty_events_ask_no_more_queries_than_five(
    plan: SeasonPlan, cast: Cast, as_: Any, part: str
) -> None:
    coach = as_(cast.coach)

    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            answer: Any = coach.get(prices_of(plan, part))
            b"".join(answer)
        return len(asked)

    few = queries()
    EventFactory.create_batch(
        45, academy=cast.academy, place=Event.objects.all()[0].place, **week(2)
    )
    assert queries() == few <= 20


# Plans that are not as they were laid out ---------------------------------------------------------


def test_what_is_not_laid_out_says_what_to_do(ten_weeks: TenWeeks, cast: Cast, as_: Any) -> None:
    plan, coach = ten_weeks.plan, as_(cast.coach)
    for path in (
        prices_of(plan),
        prices_of(plan, "played"),
        f"/plans/{plan.pk}/events/{ten_weeks.cup.pk}/price/",
    ):
        page = read(coach.get(path))
        assert page.one("div", "empty").one("h2").text == "Not laid out yet"
        assert page.links()["Go to the season"] == f"/plans/{plan.pk}/"


def test_without_a_home_base_the_page_says_so(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    HomeBase.objects.filter(player=cast.ines).delete()
    page = read(as_(cast.coach).get(prices_of(plan, "limits")))
    assert page.one("div", "empty").one("h2").text == "No home base yet"


def test_prices_of_a_plan_changed_by_hand_count_from_the_best_season(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    coach, lantern = as_(cast.coach), event("Lantern Open")
    problem = problem_from(gather(plan), today=EVE)
    coach.post(f"/plans/{plan.pk}/edit/", {"do": f"take-out {lantern.pk}", "revision": 2})
    page = streamed(coach, plan, "candidates")
    assert "Counted from the best season that your pins, limits and calendar allow" in page.text
    assert "19.1 points of value more than the plan as it stands." in page.text
    row = rows_of(page)["Lantern Open"]
    other = other_solve(problem, lantern, played=False)
    assert other is not None
    assert row[:2] == figures(lay_out(problem), other)
    assert "It is out of this plan; the best season would play it." in row[2]
    assert "Put in Lantern Open" in row[2]


def test_a_plan_as_it_was_laid_out_is_itself_what_prices_count_from(plan: SeasonPlan) -> None:
    base = base_of(gather(plan), today=EVE, seconds=60)
    best = lay_out(base.problem)
    assert base.is_the_plan
    assert base.layout.status == "proven"
    assert (base.layout.breaks, base.layout.value) == (best.breaks, best.value)
    assert set(base.layout.events) == set(best.events)


def test_a_season_that_pins_contradict_has_no_prices(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    for name in ("Meadow Open", "Lantern Open"):
        PlannedEvent.objects.update_or_create(
            plan=plan, event=event(name), defaults={"standing": "pinned"}
        )
    page = streamed(as_(cast.coach), plan, "played")
    assert "This season cannot be laid out" in page.one("p", role="alert").text
    assert page.one("div", "prices-found").all("table") == []
    alone = read(as_(cast.coach).get(f"/plans/{plan.pk}/events/{event('Orchard Cup').pk}/price/"))
    assert "This season cannot be laid out" in alone.one("p", "notice-error").text


def test_what_has_begun_has_no_price(
    plan: SeasonPlan, cast: Cast, as_: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(timezone, "now", lambda: datetime(2040, 2, 15, 9, tzinfo=UTC))
    coach = as_(cast.coach)  # a Wednesday: the cup has begun on Monday
    page = read(coach.get(prices_of(plan)))
    assert "Price all 2 events" in page.one(id="played").text
    assert "Price all 1 event" in page.one(id="candidates").text
    cup = event("Orchard Cup")
    assert coach.get(f"/plans/{plan.pk}/events/{cup.pk}/price/").status_code == 404
    panel = read(coach.get(f"/plans/{plan.pk}/events/{cup.pk}/")).one(id="panel")
    assert "Ask about this event" not in panel.text


def test_prices_of_a_season_under_way_keep_what_is_past(
    plan: SeasonPlan, cast: Cast, as_: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_in_force(plan, now=NOW)
    today = date(2040, 2, 15)
    monkeypatch.setattr(timezone, "now", lambda: datetime(2040, 2, 15, 9, tzinfo=UTC))
    problem = problem_from(gather(plan), today=today)
    assert problem.today == today
    rows = rows_of(streamed(as_(cast.coach), plan, "played"))
    best = lay_out(problem)
    for name, cells in rows.items():
        other = other_solve(problem, event(name), played=False)
        assert other is not None
        assert cells[:2] == figures(best, other), name


# One price ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("headers", [{}, SWAP], ids=["page", "swap"])
def test_one_event_is_priced_alone(
    plan: SeasonPlan, cast: Cast, as_: Any, headers: dict[str, str]
) -> None:
    meadow = event("Meadow Open")
    path = f"/plans/{plan.pk}/events/{meadow.pk}/price/"
    page = read(as_(cast.coach).get(path, headers=headers))
    piece = page.one("div", id=f"price-e{meadow.pk}")
    assert "Playing Meadow Open would cost 9.1 points of value" in piece.text
    assert "Proven best; of revision 2 of the plan." in piece.text
    assert ("data-announce" in piece.attributes) == bool(headers)
    assert bool(page.all("form", id="edit")) != bool(headers)  # the panel has its own


def test_one_limit_is_priced_alone(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    coach = as_(cast.coach)
    page = read(coach.get(f"/plans/{plan.pk}/prices/limits/competition_weeks-most/"))
    assert "Competition block, at most: 7 weeks instead of 6 would change nothing" in page.text
    for wrong in ("budget", "travel_weight", "no-limit"):
        assert coach.get(f"/plans/{plan.pk}/prices/limits/{wrong}/").status_code == 404


def test_the_panel_asks_and_says_which_way(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    coach = as_(cast.coach)
    for name, label in (
        ("Meadow Open", "What would it cost? Meadow Open"),
        ("Lantern Open", "What would leaving it out cost? Lantern Open"),
    ):
        it = event(name)
        panel = read(coach.get(f"/plans/{plan.pk}/events/{it.pk}/", headers=SWAP)).one(id="panel")
        link = panel.one("a", id=f"ask-e{it.pk}")
        assert link.text == label
        assert link.attributes["href"] == link.attributes["hx-get"]
        assert link.attributes["hx-target"] == f"#price-e{it.pk}"
        panel.one("div", "price", id=f"price-e{it.pk}")


def test_a_row_puts_the_event_in(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    coach, meadow = as_(cast.coach), event("Meadow Open")
    page = streamed(coach, plan, "candidates")
    form = page.one("form", id="edit")
    button = page.one("button", value=f"put-in {meadow.pk}")
    assert button.attributes["form"] == "edit"
    sent = {"do": button.attributes["value"], "revision": form.typed("revision")}
    answer = coach.post(form.attributes["action"], sent, follow=True)
    assert read(answer).one(id="messages").text == "Put in Meadow Open."


# If the player does not get in --------------------------------------------------------------------


def test_events_that_are_not_sure_are_listed(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    for name, entry in (("Lantern Open", "waiting"), ("Harbour Trophy", "accepted")):
        PlannedEvent.objects.filter(plan=plan, event=event(name)).update(entry=entry)
    section = read(as_(cast.coach).get(prices_of(plan))).one(id="stand-ins")
    lines = [item.text for item in section.one("ul").all("li")]
    assert len(lines) == 2
    assert "Orchard Cup" in lines[0]
    assert "Not entered" in lines[0]
    assert "On the waiting list" in lines[1]
    PlannedEvent.objects.filter(plan=plan).update(entry="accepted")
    section = read(as_(cast.coach).get(prices_of(plan))).one(id="stand-ins")
    assert "Accepted for every event of the plan that is still to come." in section.text


@pytest.mark.parametrize("headers", [{}, SWAP], ids=["page", "swap"])
def test_the_stand_in_is_the_best_of_the_same_week(
    plan: SeasonPlan, cast: Cast, as_: Any, headers: dict[str, str]
) -> None:
    weaker = EventFactory(
        academy=cast.academy,
        place=event("Meadow Open").place,
        name="Rope Walk Open",
        entry_deadline=date(2039, 12, 1),
        **week(8),
    )
    PlannedEventFactory(plan=plan, event=weaker, worth=4)
    lantern = event("Lantern Open")
    path = f"/plans/{plan.pk}/events/{lantern.pk}/stand-ins/"
    page = read(as_(cast.coach).get(path, headers=headers))
    lines = [line.text for line in page.one("ol").all("li")]
    problem = problem_from(gather(plan), today=EVE)
    best = lay_out(problem)
    without = replace(problem, drop=problem.drop | {code_of(lantern.pk)})
    for line, name in zip(lines, ("Meadow Open", "Rope Walk Open"), strict=True):
        other = other_solve(without, event(name), played=True)
        assert other is not None
        points = f"{best.value - other.value:.3f}".rstrip("0").rstrip(".")
        assert f"Playing {name} instead of Lantern Open would cost {points} points" in line
    assert "entries closed Thu 1 Dec" in lines[1]
    assert (
        page.one("button", value=f"put-in {event('Meadow Open').pk}").text == "Put in Meadow Open"
    )


def test_without_another_event_in_its_week_there_is_no_stand_in(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    path = f"/plans/{plan.pk}/events/{event('Harbour Trophy').pk}/stand-ins/"
    assert "No other event of that week can be played." in read(as_(cast.coach).get(path)).text


def test_an_event_put_in_by_hand_has_a_stand_in(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    coach, meadow, lantern = as_(cast.coach), event("Meadow Open"), event("Lantern Open")
    for words, revision in ((f"take-out {lantern.pk}", 2), (f"put-in {meadow.pk}", 3)):
        coach.post(f"/plans/{plan.pk}/edit/", {"do": words, "revision": revision})
    page = read(coach.get(f"/plans/{plan.pk}/events/{meadow.pk}/stand-ins/"))
    assert "Playing Lantern Open instead of Meadow Open would gain 9.1 points" in page.text


def test_an_event_that_is_cancelled_has_a_stand_in_and_no_price(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    lantern = event("Lantern Open")
    PlannedEvent.objects.filter(plan=plan, event=lantern).update(entry="accepted")
    Event.objects.filter(pk=lantern.pk).update(cancelled=True)
    coach, base = as_(cast.coach), f"/plans/{plan.pk}/events/{lantern.pk}"
    assert coach.get(f"{base}/price/").status_code == 404
    assert "Meadow Open" in read(coach.get(f"{base}/stand-ins/")).one("ol").text


def test_an_event_that_is_sure_has_no_stand_in(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    lantern = event("Lantern Open")
    PlannedEvent.objects.filter(plan=plan, event=lantern).update(entry="accepted")
    coach = as_(cast.coach)
    assert coach.get(f"/plans/{plan.pk}/events/{lantern.pk}/stand-ins/").status_code == 404
    panel = read(coach.get(f"/plans/{plan.pk}/events/{lantern.pk}/")).one(id="panel")
    assert "If you do not get in" not in panel.text


# Who may ask --------------------------------------------------------------------------------------


def test_the_coach_asks_of_a_plan_in_force_and_changes_nothing_there(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    put_in_force(plan, now=NOW)
    coach = as_(cast.coach)
    page = streamed(coach, plan, "played")
    assert page.all("form", id="edit") == []
    assert page.one("div", "prices-found").buttons() == []
    panel = read(coach.get(f"/plans/{plan.pk}/events/{event('Lantern Open').pk}/")).one(id="panel")
    assert "What would leaving it out cost?" in panel.text


@pytest.mark.parametrize("role", ["player", "guardian", "staff", "director"])
def test_who_does_not_plan_may_not_ask_and_is_not_offered_to(
    plan: SeasonPlan, cast: Cast, as_: Any, role: str
) -> None:
    put_in_force(plan, now=NOW)
    reader, lantern = as_(cast.people()[role]), event("Lantern Open")
    for path in (
        prices_of(plan),
        prices_of(plan, "candidates"),
        f"/plans/{plan.pk}/events/{lantern.pk}/price/",
        f"/plans/{plan.pk}/events/{lantern.pk}/stand-ins/",
        f"/plans/{plan.pk}/prices/limits/max_run/",
    ):
        assert reader.get(path).status_code == 403
    panel = read(reader.get(f"/plans/{plan.pk}/events/{lantern.pk}/")).one(id="panel")
    assert "Ask about this event" not in panel.text
    assert "prices" not in " ".join(read(reader.get(f"/plans/{plan.pk}/")).links().values())
