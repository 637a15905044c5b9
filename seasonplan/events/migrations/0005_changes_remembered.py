"""An event can be cancelled, and what changes for the plans that hold it is remembered."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("events", "0004_surface_where_a_file_says_none"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="event",
            name="cancelled",
            field=models.BooleanField(
                default=False,
                help_text="It stays in the calendar and says so. No season is laid out with it any "
                "more.",
            ),
        ),
        migrations.AddField(
            model_name="event",
            name="changed_at",
            field=models.DateTimeField(blank=True, editable=False, null=True),
        ),
        migrations.CreateModel(
            name="EventChange",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                (
                    "what",
                    models.CharField(
                        choices=[
                            ("dates", "Dates"),
                            ("place", "Place"),
                            ("surface", "Surface"),
                            ("cancelled", "Cancelled"),
                        ],
                        max_length=9,
                    ),
                ),
                ("before", models.CharField(max_length=200)),
                ("after", models.CharField(max_length=200)),
                (
                    "event",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="changes",
                        to="events.event",
                    ),
                ),
                (
                    "who",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["at", "pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("what__in", ["dates", "place", "surface", "cancelled"])
                        ),
                        name="event_change_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("before", models.F("after")), _negated=True),
                        name="event_change_changes_something",
                    ),
                ],
            },
        ),
    ]
