"""Win chances keep their rows when their table changes rooms, there and back."""

from datetime import date

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from seasonplan.plans.models import WinChance
from tests.factories import PlayerFactory

BEFORE = [("debrief", "0002_win_chance"), ("plans", "0005_trip_costs")]
FACTS = ("player_id", "season_start", "level", "percent")


@pytest.mark.django_db(transaction=True)
def test_win_chances_keep_their_rows_forward_and_back() -> None:
    player = PlayerFactory()
    latest = MigrationExecutor(connection).loader.graph.leaf_nodes()
    try:
        executor = MigrationExecutor(connection)
        executor.migrate(BEFORE)
        then = executor.loader.project_state(BEFORE).apps.get_model("debrief", "WinChance")
        then.objects.create(
            player_id=player.pk, season_start=date(2027, 1, 4), level="national", percent=60
        )
        executor = MigrationExecutor(connection)
        executor.migrate(latest)
        [row] = WinChance.objects.values_list(*FACTS)
        assert row == (player.pk, date(2027, 1, 4), "national", 60)
        WinChance.objects.create(
            player_id=player.pk, season_start=date(2027, 1, 4), level="", percent=45
        )

        executor = MigrationExecutor(connection)
        executor.migrate(BEFORE)
        then = executor.loader.project_state(BEFORE).apps.get_model("debrief", "WinChance")
        assert sorted(then.objects.values_list("level", "percent")) == [("", 45), ("national", 60)]
    finally:
        executor = MigrationExecutor(connection)
        executor.migrate(latest)
    assert WinChance.objects.count() == 2
