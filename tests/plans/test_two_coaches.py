"""Two coaches change one working copy at once: what does not clash goes through, and nothing that
either of them typed is lost."""

from __future__ import annotations

import threading
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.db import connection, connections

from seasonplan.academy.models import Person
from seasonplan.plans.editing import edit_by_hand, set_limits
from seasonplan.plans.history import Conflict, Stale, read_state, replay
from seasonplan.plans.laying_out import lay_out_plan
from seasonplan.plans.models import Block, SeasonPlan
from seasonplan.science.layout.limits import limits_from
from tests.conftest import Cast
from tests.factories import BlockFactory, EventFactory, PlannedEventFactory, SeasonPlanFactory
from tests.plans.conftest import START, TenWeeks
from tests.plans.pages import Element, read
from tests.plans.test_history import monday

EVE = date(2039, 12, 31)
NOW = datetime(2039, 12, 31, 9, tzinfo=UTC)
SWAP = {"HX-Request": "true"}


@pytest.fixture
def plan(ten_weeks: TenWeeks, cast: Cast) -> SeasonPlan:
    """Laid out, revision 2; a colleague coaches the player, too."""
    lay_out_plan(ten_weeks.plan, today=EVE, now=NOW)
    cast.ines.team.add(cast.colleague.memberships.get())
    return ten_weeks.plan


def post(client: Any, plan: SeasonPlan, do: str, revision: int, **headers: Any) -> Any:
    sent = {"do": do, "revision": str(revision)}
    return client.post(f"/plans/{plan.pk}/edit/", sent, **headers)


def played(plan: SeasonPlan) -> list[str]:
    rows = plan.planned_events.filter(played=True)
    return list(rows.values_list("event__name", flat=True))


def roots(piece: Element) -> list[str]:
    return [c.attributes.get("id", c.tag) for c in piece.children if isinstance(c, Element)]


def test_a_later_change_of_something_else_goes_on_top_of_the_newer_plan(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    post(as_(cast.colleague), plan, f"take-out {ten_weeks.lantern.pk}", 2, headers=SWAP)
    answer = post(as_(cast.coach), plan, f"take-out {ten_weeks.harbour.pk}", 2, headers=SWAP)
    pieces = read(answer)
    assert played(plan) == ["Orchard Cup"]
    plan.refresh_from_db()
    assert plan.revision == 4
    # The coach's page learns of the colleague's change, too.
    assert {"week-2040-W08", "week-2040-W09"} <= set(roots(pieces))


def test_a_later_change_of_the_same_is_refused_with_both_versions(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    lantern = ten_weeks.lantern.pk
    post(as_(cast.colleague), plan, f"worth {lantern} 70", 2)
    answer = post(as_(cast.coach), plan, f"take-out {lantern}", 2, headers=SWAP)
    panel = read(answer, 409).one(id="panel")
    said = [" ".join(line.text.split()) for line in panel.one("dl", "clash").all("div")]
    assert said[:2] == ["What Lantern Open", "Before in the plan"]
    assert said[2].startswith("Theirs in the plan, worth 70 Colin Colleague, ")
    assert said[3] == "Yours not in the plan"
    assert played(plan) == ["Orchard Cup", "Lantern Open", "Harbour Trophy"]

    form = panel.one("form")
    again = {name: form.typed(name) for name in ("do", "revision")}
    assert again == {"do": f"take-out {lantern}", "revision": "3"}
    as_(cast.coach).post(form.attributes["action"], again)
    assert played(plan) == ["Orchard Cup", "Harbour Trophy"]
    assert plan.steps.count() == 4


def test_without_htmx_a_clash_is_a_page(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    post(as_(cast.colleague), plan, f"worth {ten_weeks.lantern.pk} 70", 2)
    page = read(post(as_(cast.coach), plan, f"take-out {ten_weeks.lantern.pk}", 2), 409)
    assert page.one("h1").text == "Ines Varga, Spring 2040"
    assert "Apply mine anyway" in page.buttons()
    assert page.links()["Keep theirs"] == f"/plans/{plan.pk}/"


def test_both_wanting_the_same_is_no_clash(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    do = f"take-out {ten_weeks.lantern.pk}"
    assert post(as_(cast.colleague), plan, do, 2, headers=SWAP).status_code == 200
    assert post(as_(cast.coach), plan, do, 2, headers=SWAP).status_code == 200
    plan.refresh_from_db()
    assert plan.revision == 3


def test_a_change_that_was_taken_back_meanwhile_is_no_clash(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast
) -> None:
    for do in (f"worth {ten_weeks.lantern.pk} 70", "undo 3"):
        plan.refresh_from_db()
        edit_by_hand(cast.colleague, plan.pk, do, revision=plan.revision)
    edit_by_hand(cast.coach, plan.pk, f"take-out {ten_weeks.lantern.pk}", revision=2)
    assert played(plan) == ["Orchard Cup", "Harbour Trophy"]


def test_two_edges_that_would_cross_clash(plan: SeasonPlan, cast: Cast) -> None:
    # Preparation from week 1, pre-competition 6, competition 7, rest 10.
    edit_by_hand(cast.colleague, plan.pk, f"edge {monday(10)} -2", revision=2)
    with pytest.raises(Conflict):
        edit_by_hand(cast.coach, plan.pk, f"edge {monday(7)} 2", revision=2)
    edit_by_hand(cast.coach, plan.pk, f"edge {monday(6)} -1", revision=2)
    assert [b.weeks for b in Block.objects.filter(plan=plan)] == [4, 2, 1, 3]


def test_limits_that_differ_are_merged_and_the_same_limit_clashes(
    plan: SeasonPlan, cast: Cast
) -> None:
    first = limits_from(plan.limits | {"max_run": 2})
    other = limits_from(plan.limits | {"min_cycles": 3})
    same = limits_from(plan.limits | {"max_run": 4})
    set_limits(plan, first, revision=2, by=cast.colleague)
    set_limits(plan, other, revision=2, by=cast.coach)
    plan.refresh_from_db()
    assert (plan.limits["max_run"], plan.limits["min_cycles"]) == (2, 3)
    with pytest.raises(Conflict) as refused:
        set_limits(plan, same, revision=2, by=cast.coach)
    [clash] = refused.value.clashes
    assert (clash.thing, clash.then, clash.theirs, clash.mine) == ("limit:max_run", None, 2, 4)
    assert clash.who == cast.colleague.name


def test_the_table_of_events_keeps_what_each_chose(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    path, coach = f"/plans/{plan.pk}/events/", as_(cast.coach)
    lantern, harbour = f"e{ten_weeks.lantern.pk}", f"e{ten_weeks.harbour.pk}"
    names = [
        f"e{e.pk}-{field}"
        for e in (ten_weeks.cup, ten_weeks.lantern, ten_weeks.harbour)
        for field in ("role", "worth", "standing")
    ]
    page = read(coach.get(path))
    sent = {name: page.typed(name) or "" for name in names} | {"revision": "2"}
    as_(cast.colleague).post(path, sent | {f"{lantern}-worth": "70"})
    # The coach's page still shows no worth of Lantern Open, which says nothing about it.
    assert coach.post(path, sent | {f"{harbour}-worth": "30"}).status_code == 302
    rows = dict(plan.planned_events.values_list("event__name", "worth"))
    assert (rows["Lantern Open"], rows["Harbour Trophy"]) == (70, 30)

    refused = read(coach.post(path, sent | {f"{lantern}-worth": "5"}), 409)
    assert refused.typed(f"{lantern}-worth") == "5"
    assert refused.typed(f"{harbour}-worth") == "30"
    assert "Theirs in the plan, worth 70 Colin Colleague" in refused.one("dl", "clash").text
    again = {name: refused.typed(name) or "" for name in [*names, "revision"]}
    assert coach.post(path, again).status_code == 302
    rows = dict(plan.planned_events.values_list("event__name", "worth"))
    assert (rows["Lantern Open"], rows["Harbour Trophy"]) == (5, 30)


def test_the_panel_keeps_what_was_typed_beside_both_versions(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    path = f"/plans/{plan.pk}/events/{ten_weeks.lantern.pk}/"
    sent = {"role": "open", "standing": "free", "entry": "not entered", "revision": "2"}
    as_(cast.colleague).post(path, sent | {"worth": "70"})
    panel = read(as_(cast.coach).post(path, sent | {"worth": "9"}, headers=SWAP), 409).one(
        id="panel"
    )
    assert (panel.typed("worth"), panel.typed("revision")) == ("9", "3")
    assert "Yours in the plan, worth 9" in panel.one("dl", "clash").text


def test_undoing_what_somebody_else_followed_up_is_refused(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    post(as_(cast.coach), plan, f"take-out {ten_weeks.lantern.pk}", 2)
    post(as_(cast.colleague), plan, f"take-out {ten_weeks.harbour.pk}", 3)
    answer = read(post(as_(cast.coach), plan, "undo 3", 3, headers=SWAP), 409)
    assert "Somebody changed this plan meanwhile" in answer.one(id="messages").text
    assert "Undo: Took out Harbour Trophy" in answer.one(id="steps").buttons()
    assert played(plan) == ["Orchard Cup"]


def test_a_plan_in_force_is_not_edited_by_hand(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    SeasonPlan.objects.filter(pk=plan.pk).update(standing="in force")
    answer = post(as_(cast.coach), plan, f"take-out {ten_weeks.lantern.pk}", 2)
    assert answer.status_code == 403
    assert played(plan) == ["Orchard Cup", "Lantern Open", "Harbour Trophy"]


@pytest.mark.skipif(
    connection.vendor == "sqlite", reason="threads cannot share SQLite's database in memory"
)
@pytest.mark.django_db(transaction=True)
def test_edits_at_the_same_time_are_all_kept_or_refused(cast: Cast) -> None:
    cast.ines.team.add(cast.colleague.memberships.get())
    plan = SeasonPlanFactory(player=cast.ines, start=START, end=date(2040, 12, 30))
    BlockFactory(plan=plan, start=START, weeks=52)
    events = [EventFactory(academy=cast.academy, start=monday(n)) for n in range(2, 12)]
    for event in events:
        PlannedEventFactory(plan=plan, event=event, played=True)
    start = threading.Barrier(2)
    refused: list[str] = []

    def edit(person: Person, own: list[Any]) -> None:
        start.wait()
        try:
            for event in own:
                try:
                    edit_by_hand(person, plan.pk, f"take-out {event.pk}", revision=1)
                except Stale:
                    refused.append(event.name)
        finally:
            connections.close_all()

    threads = [
        threading.Thread(target=edit, args=(cast.coach, events[:6])),
        threading.Thread(target=edit, args=(cast.colleague, events[4:])),
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert refused == []  # taking out the same event twice is no clash
    assert not plan.planned_events.filter(played=True).exists()
    assert plan.steps.count() == 1 + len(events)
    assert replay(plan) == read_state(plan)
