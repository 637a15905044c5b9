"""Reads that were recorded one by one become a row a day, and the way back stands open."""

from datetime import UTC, datetime

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from seasonplan.checkins.models import DayLog
from tests.factories import DayLogFactory, PersonFactory

BEFORE = [("checkins", "0002_sharing_choice")]


@pytest.mark.django_db(transaction=True)
def test_reads_of_one_day_are_merged_with_how_often() -> None:
    log: DayLog = DayLogFactory()
    coach, staff = PersonFactory(), PersonFactory()
    latest = MigrationExecutor(connection).loader.graph.leaf_nodes()
    try:
        executor = MigrationExecutor(connection)
        executor.migrate(BEFORE)
        reads = executor.loader.project_state(BEFORE).apps.get_model("checkins", "HealthRead")
        for reader, day, hour in (
            (coach, 1, 9), (coach, 1, 20), (coach, 1, 12), (staff, 1, 10), (coach, 2, 8),
            (None, 2, 8), (None, 2, 9),
        ):  # fmt: skip
            reads.objects.create(
                player_id=log.player_id, day_log_id=log.pk, reader_id=reader and reader.pk,
                read_at=datetime(2026, 5, day, hour, tzinfo=UTC),
            )  # fmt: skip
    finally:
        executor = MigrationExecutor(connection)
        executor.migrate(latest)
    found = log.healthread_set.order_by("day", "reader", "read_at").values_list(
        "reader", "day", "read_at__hour", "last_read_at__hour", "times"
    )
    told = sorted((reader or 0, day.day, *rest) for reader, day, *rest in found)
    assert told == [
        (0, 2, 8, 8, 1),
        (0, 2, 9, 9, 1),
        (coach.pk, 1, 9, 20, 3),
        (coach.pk, 2, 8, 8, 1),
        (staff.pk, 1, 10, 10, 1),
    ]
