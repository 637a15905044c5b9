"""Which plan a plan in force took the place of, and who has seen what that changed."""

from itertools import groupby
from typing import Any

import django.db.models.deletion
import django.db.models.functions.datetime
from django.conf import settings
from django.db import migrations, models


def say_what_was_replaced(apps: Any, schema_editor: Any) -> None:
    """Of the plans of a season that were in force, each took the place of the one before."""
    plans = (
        apps.get_model("plans", "SeasonPlan")
        .objects.using(schema_editor.connection.alias)
        .filter(standing__in=["in force", "replaced"], in_force_since__isnull=False)
    )
    ordered = plans.order_by("player_id", "start", "in_force_since", "pk")
    for _, season in groupby(ordered, key=lambda plan: (plan.player_id, plan.start)):
        before = None
        for plan in season:
            if before:
                plan.replaces = before
                plan.save(update_fields=["replaces"])
            before = plan


class Migration(migrations.Migration):
    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ("plans", "0006_win_chances"),
    ]

    operations = [
        migrations.AddField(
            model_name="seasonplan",
            name="replaces",
            field=models.ForeignKey(
                blank=True,
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="replaced_by",
                to="plans.seasonplan",
            ),
        ),
        migrations.CreateModel(
            name="ChangeSeen",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="changes_seen",
                        to="plans.seasonplan",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "changes seen",
                "constraints": [
                    models.UniqueConstraint(
                        fields=("person", "plan"), name="change_seen_once_a_person"
                    )
                ],
            },
        ),
        migrations.RunPython(say_what_was_replaced, migrations.RunPython.noop),
    ]
