"""Decisions: who, by when, what they set; changed, taken back, and never twice."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from seasonplan.debrief.models import Debrief, Decision
from tests.conftest import Cast
from tests.debrief.conftest import START, Year, a_decision
from tests.factories import DebriefFactory, DecisionFactory, SeasonPlanFactory


def test_a_decision_has_an_owner_a_date_and_a_text(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    sent = a_decision(owner=str(cast.staff.pk))
    answer = as_(cast.player).post(year.url("decision-new"), sent)

    assert answer["Location"] == year.url("debrief") + "#decisions"
    made = Decision.objects.get()
    assert (made.text, made.owner, str(made.due)) == (sent["text"], cast.staff, "2027-03-01")
    page = as_(cast.coach).get(year.url("debrief")).content.decode()
    assert "Sten Staff, by Mon 1 Mar 2027" in page


def test_only_the_player_and_the_team_can_be_owners(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    client = as_(cast.coach)
    for owner in (cast.colleague, cast.director, cast.other_player, cast.foreign_coach):
        sent = a_decision(owner=str(owner.pk))
        assert client.post(year.url("decision-new"), sent).status_code == 422, owner
    client.post(year.url("decision-new"), a_decision())
    assert (Decision.objects.get().owner, Decision.objects.get().owner_name) == (None, "Ines Varga")


def test_a_form_that_is_sent_twice_is_one_decision(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    for _ in range(2):
        as_(cast.coach).post(year.url("decision-new"), a_decision())
    assert Decision.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ({"kind": "limit", "limit": "max_run", "limit_value": "2"}, ("max_run", None, 2)),
        ({"kind": "limit", "limit": "max_run", "limit_value": "2 weeks"}, ("max_run", None, 2)),
        (
            {"kind": "limit", "limit": "preparation_weeks", "limit_value": "5 to 9"},
            ("preparation_weeks", None, [5, 9]),
        ),
        (
            {"kind": "limit", "limit": "preparation_weeks", "limit_value": "5–9 weeks"},
            ("preparation_weeks", None, [5, 9]),
        ),
        ({"kind": "limit", "limit": "budget", "limit_value": ""}, ("budget", None, None)),
        (
            {"kind": "limit", "limit": "travel_weight", "limit_value": "0.5"},
            ("travel_weight", None, 0.5),
        ),
        ({"kind": "target", "event": "cup"}, ("", "cup", None)),
        ({"kind": "target", "event": "cup", "worth": "95"}, ("", "cup", 95)),
        ({"kind": "event worth", "event": "lantern", "worth": "40"}, ("", "lantern", 40)),
        ({"kind": "level worth", "level": "national", "worth": "60"}, ("national", None, 60)),
        # What was typed for another kind is not kept.
        ({"kind": "note", "limit": "max_run", "limit_value": "2", "worth": "9"}, ("", None, None)),
    ],
)
def test_a_decision_sets_what_its_kind_says(
    typed: dict[str, str],
    kept: tuple[str, str | None, Any],
    cast: Cast,
    year: Year,
    as_: Callable[..., Client],
) -> None:
    if event := typed.get("event"):
        typed = typed | {"event": str(getattr(year, event).pk)}
    answer = as_(cast.coach).post(year.url("decision-new"), a_decision(**typed))

    assert answer.status_code == 302, answer.context["decision_form"].errors
    made = Decision.objects.get()
    event_there = getattr(year, kept[1]) if kept[1] else None
    assert (made.subject, made.event, made.value) == (kept[0], event_there, kept[2])


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"text": ""}, "text", "required"),
        ({"due": "2027-02-30"}, "due", "valid date"),
        ({"due": "0027-02-03"}, "due", "Give a year from 2000 to 2100."),
        ({"owner": ""}, "owner", "required"),
        ({"kind": "limit"}, "limit", "Choose the limit."),
        ({"kind": "limit", "limit": "max_run"}, "limit_value", "Say its new value."),
        ({"kind": "limit", "limit": "max_run", "limit_value": "0"}, "limit_value", "between 1 and"),
        (
            {"kind": "limit", "limit": "max_run", "limit_value": "-2"},
            "limit_value",
            "between 1 and",
        ),
        ({"kind": "limit", "limit": "max_run", "limit_value": "two"}, "limit_value", "a number"),
        (
            {"kind": "limit", "limit": "preparation_weeks", "limit_value": "9 to 5"},
            "limit_value",
            "The smallest, 9, is greater than the largest, 5",
        ),
        (
            {"kind": "limit", "limit": "preparation_weeks", "limit_value": "5"},
            "limit_value",
            "two whole numbers",
        ),
        ({"kind": "limit", "limit": "first_phase", "limit_value": "x"}, "limit", "valid choice"),
        ({"kind": "target"}, "event", "Choose the event"),
        ({"kind": "event worth", "event": "lantern"}, "worth", "from 0 to 100"),
        ({"kind": "level worth", "worth": "101"}, "worth", "from 0 to 100"),
    ],
)
def test_what_cannot_be_is_said_beside_its_field_and_nothing_typed_is_lost(
    typed: dict[str, str],
    field: str,
    sentence: str,
    cast: Cast,
    year: Year,
    as_: Callable[..., Client],
) -> None:
    if event := typed.get("event"):
        typed = typed | {"event": str(getattr(year, event).pk)}
    sent = a_decision(text="An owl at noon") | typed
    answer = as_(cast.coach).post(year.url("decision-new"), sent)

    assert answer.status_code == 422
    assert any(sentence in e for e in answer.context["decision_form"].errors[field])
    assert sent["text"] in answer.content.decode()
    assert not Decision.objects.exists()


def test_a_change_against_an_older_text_shows_both(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    as_(cast.coach).post(year.url("decision-new"), a_decision())
    made = Decision.objects.get()
    address = reverse("decision", args=[made.pk])
    form = a_decision(revision="1")
    assert as_(cast.player).post(address, form | {"text": "Three at most"}).status_code == 302

    stale = as_(cast.coach).post(address, form | {"text": "Two, and rest"})
    assert stale.status_code == 409
    assert "Three at most" in stale.content.decode()
    assert "Two, and rest" in stale.content.decode()
    again = form | {"text": "Two, and rest", "revision": "2"}
    assert as_(cast.coach).post(address, again).status_code == 302
    made.refresh_from_db()
    assert made.text == "Two, and rest"


def test_a_decision_taken_back_stays_and_says_so(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    as_(cast.coach).post(year.url("decision-new"), a_decision())
    back = reverse("decision-back", args=[Decision.objects.get().pk])
    as_(cast.coach).post(back, {"do": "back"})
    page = as_(cast.player).get(year.url("debrief")).content.decode()
    assert "<s>At most two events in a row</s>" in page
    as_(cast.coach).post(back, {"do": "again"})
    page = as_(cast.player).get(year.url("debrief")).content.decode()
    assert "<s>" not in page


def test_an_owner_who_left_the_team_stays_named(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    as_(cast.coach).post(year.url("decision-new"), a_decision(owner=str(cast.staff.pk)))
    made = Decision.objects.get()
    cast.ines.team.remove(*cast.staff.memberships.all())
    form = a_decision(owner=str(cast.staff.pk), revision="1", text="Stretch daily")
    assert as_(cast.coach).post(reverse("decision", args=[made.pk]), form).status_code == 302
    made.refresh_from_db()
    assert (made.text, made.owner) == ("Stretch daily", cast.staff)


# Several years --------------------------------------------------------------------------------


def test_the_list_of_years_leads_through_them(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    earlier = SeasonPlanFactory(
        player=cast.ines, start="2025-01-06", end="2026-01-04", standing="in force"
    )
    DecisionFactory(debrief__player=cast.ines, debrief__season_start=earlier.start, text="Sleep")
    page = as_(cast.coach).get(reverse("debriefs", args=[cast.ines.pk])).content.decode()
    assert page.index("Season 2026") < page.index("Season 2025") < page.index("Sleep")
    page = as_(cast.coach).get(year.url("debrief")).content.decode()
    assert f'href="/plans/{earlier.pk}/debrief/">2025</a>' in page


def test_no_season_in_force_is_said_in_words(cast: Cast, as_: Callable[..., Client]) -> None:
    page = as_(cast.coach).get(reverse("debriefs", args=[cast.ines.pk])).content.decode()
    assert "No season to look back on yet" in page


def test_a_running_season_is_the_year_so_far(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    running = SeasonPlanFactory(
        player=cast.ines, start="2027-01-04", end="2028-01-02", standing="in force"
    )
    page = as_(cast.coach).get(reverse("debrief", args=[running.pk])).content.decode()
    assert "The year so far" in page


def queries(client: Client, address: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert client.get(address).status_code == 200
    return len(captured)


@pytest.mark.parametrize("role", ["coach", "player", "guardian"])
def test_fifty_decisions_ask_as_many_queries_as_five(
    role: str, cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    debrief: Debrief = DebriefFactory(
        player=cast.ines, season_start=START, shared_at="2027-01-12T09:00Z"
    )
    client, counted = as_(cast.people()[role]), []
    addresses = [year.url("debrief"), reverse("debriefs", args=[cast.ines.pk])]
    for more in (5, 45):
        DecisionFactory.create_batch(more, debrief=debrief, event=year.cup, kind="target")
        counted.append([queries(client, address) for address in addresses])
    assert counted[0] == counted[1]
    assert max(counted[1]) <= 20


def test_fifty_years_ask_as_many_queries_as_five(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    client, address, counted = as_(cast.coach), reverse("debriefs", args=[cast.ines.pk]), []
    for first, more in ((1, 5), (6, 45)):
        for number in range(first, first + more):
            start = date(2026, 1, 5) - timedelta(weeks=number)
            SeasonPlanFactory(
                player=cast.ines, start=start, end=start + timedelta(days=6), standing="in force"
            )
            DebriefFactory(player=cast.ines, season_start=start)
        counted.append([queries(client, address), queries(client, year.url("debrief"))])
    assert counted[0] == counted[1]
