"""The season screen's own edits: one button, one request, and only what is different comes back."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.test import Client

from seasonplan.plans.editing import edit_by_hand
from seasonplan.plans.laying_out import gather, judge_plan, lay_out_plan
from seasonplan.plans.models import Block, SeasonPlan
from seasonplan.plans.operations import NotPossible, NotUnderstood
from seasonplan.plans.pieces import changed_pieces
from seasonplan.plans.planner import season_page
from seasonplan.plans.standing import put_in_force
from tests.conftest import Cast
from tests.factories import BlockFactory, EventFactory, PlannedEventFactory, SeasonPlanFactory
from tests.plans.conftest import TenWeeks, week
from tests.plans.pages import Element, read
from tests.plans.test_history import by_hand, monday

EVE = date(2039, 12, 31)
NOW = datetime(2039, 12, 31, 9, tzinfo=UTC)
SWAP = {"HX-Request": "true"}


@pytest.fixture
def plan(ten_weeks: TenWeeks) -> SeasonPlan:
    """Preparation 5 weeks, pre-competition 1, competition 3 with all three events, rest 1."""
    lay_out_plan(ten_weeks.plan, today=EVE, now=NOW)
    return ten_weeks.plan


def said_of(plan: SeasonPlan, event: Any) -> tuple[Any, ...]:
    row = plan.planned_events.get(event=event)
    return (row.role, row.worth, row.standing, row.played)


def blocks(plan: SeasonPlan) -> list[tuple[str, int]]:
    return list(Block.objects.filter(plan=plan).values_list("phase", "weeks"))


def roots(piece: Element) -> list[str]:
    return [c.attributes.get("id", c.tag) for c in piece.children if isinstance(c, Element)]


def post(client: Client, plan: SeasonPlan, do: str, *, open: str = "") -> Any:  # noqa: A002
    plan.refresh_from_db()
    sent = {"do": do, "revision": str(plan.revision), "open": open}
    return client.post(f"/plans/{plan.pk}/edit/", sent, headers=SWAP)


# What each operation does --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("dos", "becomes"),
    [
        (["take-out"], ("open", None, "free", False)),
        (["pin"], ("open", None, "pinned", True)),
        (["pin", "free"], ("open", None, "free", True)),
        (["pin", "take-out"], ("open", None, "free", False)),
        (["rule-out"], ("open", None, "ruled out", False)),
        (["rule-out", "put-in"], ("open", None, "free", True)),
        (["rule-out", "free"], ("open", None, "free", False)),
        (["rule-out", "pin"], ("open", None, "pinned", True)),
        (["role {} target"], ("target", None, "free", True)),
        (["worth {} 0"], ("open", 0, "free", True)),
        (["worth {} 55", "worth {} usual"], ("open", None, "free", True)),
    ],
)
def test_an_event_is_put_in_taken_out_pinned_ruled_out_and_judged(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, dos: list[str], becomes: tuple[Any, ...]
) -> None:
    lantern = ten_weeks.lantern
    for do in dos:
        words = do.format(lantern.pk) if "{}" in do else f"{do} {lantern.pk}"
        by_hand(cast, plan, words)
    assert said_of(plan, lantern) == becomes


@pytest.mark.parametrize(
    ("do", "becomes"),
    [
        (f"edge {monday(6)} -2", [3, 3, 3, 1]),
        (f"edge {monday(7)} 2", [5, 3, 1, 1]),
        # As far as the block beside it allows.
        (f"edge {monday(7)} 50", [5, 3, 1, 1]),
        (f"edge {monday(6)} -50", [1, 5, 3, 1]),
        (f"begin {monday(3)} competition", [2, 3, 1, 3, 1]),
        (f"join {monday(7)}", [5, 4, 1]),
        (f"join {monday(1)}", [6, 3, 1]),
        (f"phase {monday(10)} preparation", [5, 1, 3, 1]),
    ],
)
def test_blocks_move_begin_join_and_change_and_still_fill_the_season(
    plan: SeasonPlan, cast: Cast, do: str, becomes: list[int]
) -> None:
    by_hand(cast, plan, do)
    assert [weeks for _, weeks in blocks(plan)] == becomes
    assert sum(becomes) == 10


def test_a_joined_block_takes_the_phase_of_the_one_before_and_the_first_of_the_one_after(
    plan: SeasonPlan, cast: Cast
) -> None:
    by_hand(cast, plan, f"join {monday(7)}")
    assert blocks(plan)[1] == ("pre-competition", 4)
    by_hand(cast, plan, f"join {monday(1)}")
    assert blocks(plan)[0] == ("pre-competition", 9)


@pytest.mark.parametrize(
    ("do", "said"),
    [
        (f"edge {monday(1)} 1", "The first block begins with the season: that does not move."),
        (f"edge {monday(7)} -1", "Pre-competition has one week left."),
        (f"edge {monday(4)} 1", "No block begins in week 4 any more."),
        ("worth {} 101", "give a whole number from 0 to 100."),
    ],
)
def test_what_is_not_possible_says_why(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any, do: str, said: str
) -> None:
    before = blocks(plan)
    do = do.format(ten_weeks.lantern.pk)
    with pytest.raises(NotPossible, match=said.split(":")[0]):
        by_hand(cast, plan, do)
    answer = post(as_(cast.coach), plan, do)
    assert said in read(answer, 422).one(id="messages").one(role="alert").text
    assert blocks(plan) == before


@pytest.mark.parametrize(
    "do",
    [
        "",
        "dance 1",
        "take-out",
        "take-out x",
        "take-out ٣",
        "take-out 999999",
        "role {} captain",
        "edge 2040-01-03 1",
        "edge 2041-01-07 1",
        f"edge {monday(6)} 0",
        f"edge {monday(6)} 1e9",
        f"edge {monday(6)} {'9' * 60}",
        f"begin {monday(6)} holiday",
        f"phase {monday(6)}",
        "undo x",
    ],
)
def test_words_that_ask_for_nothing_change_nothing(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any, do: str
) -> None:
    answer = post(as_(cast.coach), plan, do.format(ten_weeks.lantern.pk))
    assert answer.status_code == 422
    plan.refresh_from_db()
    assert plan.revision == 2


def test_an_event_of_another_academy_cannot_be_put_in(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    event = EventFactory(academy=cast.foreign_academy, **week(5))
    with pytest.raises(NotUnderstood):
        by_hand(cast, plan, f"put-in {event.pk}")


# What comes back -----------------------------------------------------------------------------


def test_taking_an_event_out_answers_with_the_weeks_the_totals_and_the_findings_that_changed(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    by_hand(cast, plan, f"role {ten_weeks.lantern.pk} target")
    pieces = read(post(as_(cast.coach), plan, f"take-out {ten_weeks.lantern.pk}"))
    assert roots(pieces) == [
        "week-2040-W07",  # its journey no longer begins on the Sunday
        "week-2040-W08",
        "week-2040-W09",
        "row-1-findings",
        "findings",
        "figures",
        "targets",
        f"candidate-{ten_weeks.lantern.pk}",
        "candidate-count",
        "head",
        "revision",
        "steps",
        "messages",
    ]
    roots_found = [c for c in pieces.children if isinstance(c, Element)]
    assert {e.attributes.get("hx-swap-oob") for e in roots_found} == {"true"}
    assert pieces.one(id="findings").one("ul", "findings").text.startswith("Target left out")
    assert pieces.one(id="steps").attributes["data-announce"] == (
        "Took out Lantern Open. 1 broken rule, in week 8."
    )
    assert "Undo: Took out Lantern Open" in pieces.one(id="steps").buttons()
    assert pieces.one(id="revision").attributes["value"] == "4"
    assert "hidden" not in pieces.one(id=f"candidate-{ten_weeks.lantern.pk}").attributes


def test_the_pieces_make_the_page_what_a_fresh_page_is(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    """Whatever is not in the answer is the same before and after."""
    coach = as_(cast.coach)
    for do in (
        f"take-out {ten_weeks.lantern.pk}",
        f"edge {monday(6)} -2",
        f"role {ten_weeks.harbour.pk} target",
        f"begin {monday(3)} active rest",
        f"rule-out {ten_weeks.cup.pk}",
    ):
        before = {e.attributes["id"]: e.text for e in read(coach.get(f"/plans/{plan.pk}/"))
                  if "id" in e.attributes}  # fmt: skip
        pieces = read(post(coach, plan, do))
        after = {e.attributes["id"]: e.text for e in read(coach.get(f"/plans/{plan.pk}/"))
                 if "id" in e.attributes}  # fmt: skip
        swapped = {e.attributes["id"]: e.text for e in pieces if "id" in e.attributes}
        around = {"main", "planner", "side", "candidates", "announcer"}
        for key in (before.keys() | after.keys()) - around:
            if before.get(key) != after.get(key):
                assert swapped.get(key) == after.get(key), (do, key)


def test_the_open_panel_comes_along_as_it_is_now(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach, lantern = as_(cast.coach), ten_weeks.lantern.pk
    panel = read(post(coach, plan, f"pin {lantern}", open=f"event {lantern}")).one(id="panel")
    assert {"Take out", "Unpin", "Rule out"} <= set(panel.buttons())
    assert panel.typed("standing") == "pinned"
    moved = read(post(coach, plan, f"edge {monday(6)} -1", open=f"block {monday(6)}"))
    assert moved.one(id="panel").one("h2").text == "Pre-competition, weeks 5 to 6"
    gone = read(post(coach, plan, f"join {monday(5)}", open=f"block {monday(5)}"))
    assert gone.one(id="panel").attributes["class"] == "panel"


def test_without_htmx_an_edit_leads_back_to_the_season(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    sent = {"do": f"take-out {ten_weeks.lantern.pk}", "revision": "2"}
    answer = as_(cast.coach).post(f"/plans/{plan.pk}/edit/", sent, follow=True)
    assert answer.redirect_chain == [(f"/plans/{plan.pk}/", 302)]
    page = read(answer)
    assert page.one(id="messages").text == "Took out Lantern Open."
    form = page.one("form", id="edit")
    assert form.attributes["action"] == f"/plans/{plan.pk}/edit/"
    assert {b.attributes["form"] for b in page.all("button", name="do")} == {"edit"}


def test_a_block_has_a_page_with_a_button_for_all_that_can_be_done_to_it(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    path = f"/plans/{plan.pk}/blocks/{monday(7)}/"
    page = read(as_(cast.coach).get(path))
    dos = {b.attributes["value"] for b in page.all("button", name="do")}
    assert {
        f"edge {monday(7)} 1",
        f"edge {monday(10)} -1",
        f"phase {monday(7)} preparation",
        f"begin {monday(8)} active rest",
        f"join {monday(7)}",
    } <= dos
    # Pre-competition and the rest at the end have one week each: there is nothing to take.
    assert not {f"edge {monday(7)} -1", f"edge {monday(10)} 1"} & dos
    for do in dos:
        plan.refresh_from_db()
        edit_by_hand(cast.coach, plan.pk, do, revision=plan.revision)
        by_hand(cast, plan, f"undo {SeasonPlan.objects.get(pk=plan.pk).revision}")
    for wrong in ("2040-01-16", "soon"):
        assert as_(cast.coach).get(f"/plans/{plan.pk}/blocks/{wrong}/").status_code == 404


def test_the_findings_are_the_judges_of_the_whole_plan(
    plan: SeasonPlan, ten_weeks: TenWeeks, cast: Cast, as_: Any
) -> None:
    coach = as_(cast.coach)
    for do in (f"edge {monday(7)} 2", f"take-out {ten_weeks.cup.pk}", f"join {monday(10)}"):
        pieces = read(post(coach, plan, do))
        plan.refresh_from_db()
        broken = judge_plan(gather(plan), today=EVE).judgement.broken
        shown = pieces.one(id="findings").one("ul", "findings").all("li")
        assert len(shown) == len(broken) > 0
        assert all(finding.text in line.text for finding, line in zip(broken, shown, strict=True))


def test_blocks_of_a_plan_that_has_none_begin_by_hand(ten_weeks: TenWeeks, cast: Cast) -> None:
    by_hand(cast, ten_weeks.plan, f"begin {monday(1)} preparation")
    assert blocks(ten_weeks.plan) == [("preparation", 10)]


# How much it costs ---------------------------------------------------------------------------


def _busy_season(cast: Cast) -> SeasonPlan:
    """A year with 120 events in the calendar and 20 in the plan, beside a plan in force."""
    start = date(2026, 1, 5)
    made = [
        SeasonPlanFactory(player=cast.ines, start=start, end=date(2027, 1, 3), standing=standing)
        for standing in ("in force", "working copy")
    ]
    events = [
        EventFactory(academy=cast.academy, start=start + timedelta(weeks=n % 50))
        for n in range(120)
    ]
    phases = ["preparation", "pre-competition", "competition", "active rest"]
    for plan in made:
        for number in range(13):
            BlockFactory(
                plan=plan,
                phase=phases[number % 4],
                start=start + timedelta(weeks=4 * number),
                weeks=4,
            )
        for event in events[2:42:2]:
            PlannedEventFactory(plan=plan, event=event, played=True)
    return made[1]


@pytest.mark.django_db(transaction=True)
def test_an_edit_takes_at_most_12_queries_and_30_kb(
    cast: Cast, as_: Any, django_assert_max_num_queries: Any
) -> None:
    """In the middle of a season that has a plan in force, where most has to be read."""
    plan = _busy_season(cast)
    coach = as_(cast.coach)
    inside = plan.planned_events.filter(played=True).values_list("event_id", flat=True)
    first = plan.blocks.all()[3].start
    post(coach, plan, f"worth {inside[0]} 33")  # the first step also writes down the beginning
    for do in (
        f"take-out {inside[3]}",
        f"put-in {inside[3]}",
        f"pin {inside[5]}",
        f"edge {first} 1",
        f"edge {first + timedelta(weeks=1)} -1",
        f"begin {first + timedelta(weeks=2)} competition",
        "undo",
        "redo",
    ):
        plan.refresh_from_db()
        sent = {
            "do": f"{do} {plan.revision - (do == 'redo')}" if do in ("undo", "redo") else do,
            "revision": str(plan.revision),
        }
        # BEGIN and COMMIT are among them. What to redo next is one more thing to look up, and a
        # block that goes and one that grows are two statements.
        with django_assert_max_num_queries(13 if do in ("undo", "redo") else 12):
            answer = coach.post(f"/plans/{plan.pk}/edit/", sent, headers=SWAP)
        assert answer.status_code == 200, do
    assert len(answer.content) <= 30_000, (do, len(answer.content))


def test_pages_that_are_the_same_have_no_pieces(plan: SeasonPlan, cast: Cast) -> None:
    page = season_page(gather(plan), today=EVE, may_change=True, may_plan=True)
    assert changed_pieces(page, page) == []


# Names ---------------------------------------------------------------------------------------


def test_a_working_copy_is_named_when_it_is_made_and_renamed_on_a_page(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    coach = as_(cast.coach)
    page = read(coach.get(f"/plans/{plan.pk}/copy/"))
    assert page.typed("name") == "Spring 2040 (copy)"
    coach.post(f"/plans/{plan.pk}/copy/", {"name": "More clay"})
    copy = SeasonPlan.objects.get(name="More clay")
    page = read(coach.get(f"/plans/{copy.pk}/name/"))
    assert page.typed("name") == "More clay"
    sent = {"name": "Less clay", "revision": page.typed("revision")}
    answer = coach.post(f"/plans/{copy.pk}/name/", sent, follow=True)
    assert "This working copy is called “Less clay” now." in read(answer).one(id="messages").text
    copy.refresh_from_db()
    assert copy.name == "Less clay"


@pytest.mark.parametrize("page", ["name", "copy"])
def test_a_plan_without_a_name_is_refused(
    plan: SeasonPlan, cast: Cast, as_: Any, page: str
) -> None:
    for typed in ("", "x" * 81):
        answer = as_(cast.coach).post(f"/plans/{plan.pk}/{page}/", {"name": typed, "revision": "2"})
        found = read(answer, 422)
        assert found.typed("name") == typed
        assert found.wrong("name")
    plan.refresh_from_db()
    assert (plan.name, SeasonPlan.objects.count()) == ("Spring 2040", 1)


def test_two_names_given_at_once_are_shown_beside_each_other(
    plan: SeasonPlan, cast: Cast, as_: Any
) -> None:
    coach, path = as_(cast.coach), f"/plans/{plan.pk}/name/"
    coach.post(path, {"name": "First", "revision": "2"})
    page = read(coach.post(path, {"name": "Second", "revision": "2"}), 409)
    assert "Theirs First" in page.one("dl", "clash").text
    assert "Yours Second" in page.one("dl", "clash").text
    assert page.typed("name") == "Second"


def test_who_may_not_change_sees_no_way_to(plan: SeasonPlan, cast: Cast, as_: Any) -> None:
    put_in_force(plan, now=NOW)
    for person in (cast.coach, cast.director, cast.player):
        page = read(as_(person).get(f"/plans/{plan.pk}/"))
        assert page.all(id="edit") == page.all("button", name="do") == []
        assert page.all("a", "band-link") == []
