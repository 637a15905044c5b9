"""Reads of a log by the same person on the same day become one row with how often."""

from collections.abc import Iterable
from typing import Any

from django.db import migrations, models
from django.utils import timezone


def merge_reads(apps: Any, schema_editor: Any) -> None:
    reads = apps.get_model("checkins", "HealthRead").objects.using(schema_editor.connection.alias)
    first_of: dict[Any, Any] = {}
    extra: list[int] = []
    for read in reads.order_by("read_at", "pk"):
        day = timezone.localdate(read.read_at)
        # Readers who have left cannot be told apart: their reads stay as they are.
        reader = read.reader_id or f"left {read.pk}"
        key = (reader, read.check_in_id, read.day_log_id, day)
        first = first_of.setdefault(key, read)
        first.day, first.last_read_at = day, read.read_at
        if first is not read:
            first.times += 1
            extra.append(read.pk)
    reads.bulk_update(first_of.values(), ["day", "last_read_at", "times"], batch_size=200)
    for some in _portions(extra):
        reads.filter(pk__in=some).delete()


def _portions(ids: list[int]) -> Iterable[list[int]]:
    return (ids[start : start + 500] for start in range(0, len(ids), 500))


class Migration(migrations.Migration):
    dependencies = [
        ("checkins", "0002_sharing_choice"),
    ]

    operations = [
        migrations.AlterModelOptions(name="healthread", options={}),
        migrations.RemoveIndex(model_name="healthread", name="health_read_by_player"),
        migrations.AddField("healthread", "day", models.DateField(null=True)),
        migrations.AddField("healthread", "last_read_at", models.DateTimeField(null=True)),
        migrations.AddField("healthread", "times", models.PositiveIntegerField(default=1)),
        migrations.RunPython(merge_reads, migrations.RunPython.noop),
    ]
