"""The table of the cache, which counts requests for all server processes together."""

from django.core.management import call_command
from django.db import migrations

TABLE = "shared_cache"


def make(apps, schema_editor):
    call_command("createcachetable", TABLE, database=schema_editor.connection.alias, verbosity=0)


def remove(apps, schema_editor):
    schema_editor.execute(f"DROP TABLE {schema_editor.quote_name(TABLE)}")


class Migration(migrations.Migration):
    dependencies = [
        ("upkeep", "0001_last_runs_and_erasure_requests"),
    ]

    operations = [
        migrations.RunPython(make, remove),
    ]
