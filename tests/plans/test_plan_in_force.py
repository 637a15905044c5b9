"""Every address of a plan in force, or of a replaced one, against everybody.

A working copy's addresses stand in the table of all addresses; once it is in force, more people see
it and nobody changes it.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.db import transaction
from django.urls import reverse

from tests.conftest import Cast
from tests.factories import BlockFactory, EventFactory, PlannedEventFactory, SeasonPlanFactory

PAGES = ["season", "season-file", "limits", "choose-events", "planned-event"]
CHANGES = [
    "lay-out",
    "limits",
    "choose-events",
    "level-worths",
    "planned-event",
    "plan-in-force",
    "plan-delete",
]
NOBODY_ELSE = dict.fromkeys(
    ["colleague", "other_player", "foreign_coach", "foreign_director", "stranger"], 404
)


def answers(
    name: str, method: str, standing: str, cast: Cast, as_: Any, send: dict[str, Any] | None = None
) -> dict[str, int]:
    plan = SeasonPlanFactory(
        player=cast.ines, start=date(2040, 1, 2), end=date(2040, 1, 29), standing=standing
    )
    BlockFactory(plan=plan)
    event = EventFactory(academy=cast.academy, start=date(2040, 1, 9))
    PlannedEventFactory(plan=plan, event=event, played=True)
    arguments = [plan.pk, event.pk] if name == "planned-event" else [plan.pk]
    path, found = reverse(name, args=arguments), {}
    for role, person in cast.people().items():
        client = as_(person)
        before = transaction.savepoint()
        found[role] = getattr(client, method)(path, send or {}).status_code
        transaction.savepoint_rollback(before)
    return found


@pytest.mark.parametrize("name", PAGES)
def test_a_plan_in_force_is_seen_by_everybody_around_the_player_and_nobody_else(
    name: str, cast: Cast, as_: Any
) -> None:
    assert answers(name, "get", "in force", cast, as_) == {
        "coach": 200,
        "director": 200,
        "staff": 200,
        "guardian": 200,
        "player": 200,
        **NOBODY_ELSE,
    }


@pytest.mark.parametrize("name", CHANGES)
def test_a_plan_in_force_is_changed_by_nobody(name: str, cast: Cast, as_: Any) -> None:
    sound = {"revision": 1, "role": "open", "standing": "free", "entry": "entered"}
    assert answers(name, "post", "in force", cast, as_, sound) == {
        "coach": 403,
        "director": 403,
        "staff": 403,
        "guardian": 403,
        "player": 403,
        **NOBODY_ELSE,
    }


@pytest.mark.parametrize("name", ["plan-delete", "plan-in-force"])
def test_no_question_is_asked_about_a_plan_that_is_in_force(
    name: str, cast: Cast, as_: Any
) -> None:
    found = answers(name, "get", "in force", cast, as_)
    assert set(found.values()) == {403, 404}


@pytest.mark.parametrize("standing", ["in force", "replaced"])
def test_only_the_players_coach_makes_a_working_copy_of_it(
    standing: str, cast: Cast, as_: Any
) -> None:
    looks = 403 if standing == "in force" else 404
    assert answers("plan-copy", "post", standing, cast, as_) == {
        "coach": 302,
        "director": 403,
        "staff": looks,
        "guardian": looks,
        "player": looks,
        **NOBODY_ELSE,
    }


@pytest.mark.parametrize("name", PAGES)
def test_a_plan_that_was_replaced_is_seen_by_coach_and_director_alone(
    name: str, cast: Cast, as_: Any
) -> None:
    assert answers(name, "get", "replaced", cast, as_) == {
        "coach": 200,
        "director": 200,
        "staff": 404,
        "guardian": 404,
        "player": 404,
        **NOBODY_ELSE,
    }
