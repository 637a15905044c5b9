import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

READERS = [
    (0, "Only the player"),
    (1, "The player’s coaches"),
    (2, "The player’s coaches and support staff"),
]


class Migration(migrations.Migration):
    dependencies = [
        ("academy", "0004_contact_and_required_sharing"),
        ("checkins", "0001_logs"),
    ]

    operations = [
        migrations.CreateModel(
            name="SharingChoice",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("health", models.PositiveSmallIntegerField(choices=READERS)),
                ("notes", models.PositiveSmallIntegerField(choices=READERS)),
                ("guardians_read_health", models.BooleanField(default=False)),
                ("by_guardian", models.BooleanField()),
                ("chosen_at", models.DateTimeField()),
                (
                    "chosen_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "player",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="sharing_choices",
                        to="academy.player",
                    ),
                ),
            ],
            options={
                "ordering": ["-chosen_at", "-pk"],
                "indexes": [
                    models.Index(fields=["player", "chosen_at"], name="sharing_choice_by_player")
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("health__in", [0, 1, 2]), ("notes__in", [0, 1, 2])),
                        name="chosen_readers_are_known",
                    )
                ],
            },
        ),
    ]
