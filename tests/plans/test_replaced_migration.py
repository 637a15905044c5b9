"""Plans that were in force before they named what they replaced: the migration finds it, and the
way back stands open."""

from datetime import UTC, date, datetime

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from seasonplan.plans.models import SeasonPlan
from tests.factories import PlayerFactory, SeasonPlanFactory

BEFORE = [("plans", "0006_win_chances")]


@pytest.mark.django_db(transaction=True)
def test_each_plan_that_was_in_force_replaces_the_one_before_it() -> None:
    ines, ravi = PlayerFactory(), PlayerFactory()
    seasons = {2027: date(2027, 1, 4), 2028: date(2028, 1, 3)}
    for player, name, season, standing, since in (
        (ines, "third", 2027, "in force", 9),
        (ines, "first", 2027, "replaced", 2),
        (ines, "second", 2027, "replaced", 5),
        (ines, "a try", 2027, "working copy", None),
        (ines, "next year", 2028, "in force", 10),
        (ravi, "another player's", 2027, "in force", 11),
    ):
        SeasonPlanFactory(
            player=player,
            name=name,
            start=seasons[season],
            end=date(season, 12, 26) if season == 2027 else date(season, 12, 31),
            standing=standing,
            in_force_since=since and datetime(2027, 1, since, tzinfo=UTC),
        )
    latest = MigrationExecutor(connection).loader.graph.leaf_nodes()
    try:
        MigrationExecutor(connection).migrate(BEFORE)
    finally:
        MigrationExecutor(connection).migrate(latest)
    found = dict(SeasonPlan.objects.values_list("name", "replaces__name"))
    assert found == {
        "first": None,
        "second": "first",
        "third": "second",
        "a try": None,
        "next year": None,
        "another player's": None,
    }
