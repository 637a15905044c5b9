import django.core.validators
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
        ("academy", "0003_person_timezone"),
    ]

    operations = [
        migrations.CreateModel(
            name="Contact",
            fields=[
                (
                    "academy",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        primary_key=True,
                        related_name="contact",
                        serialize=False,
                        to="academy.academy",
                    ),
                ),
                ("name", models.CharField(max_length=120)),
                (
                    "what",
                    models.CharField(blank=True, max_length=80, verbose_name="what they are"),
                ),
                (
                    "phone",
                    models.CharField(
                        blank=True,
                        max_length=30,
                        validators=[
                            django.core.validators.RegexValidator(
                                r"^\+?[0-9][0-9 ()/.-]{4,}$",
                                "Give a telephone number, such as +44 1632 960042.",
                            )
                        ],
                        verbose_name="telephone",
                    ),
                ),
                (
                    "email",
                    models.EmailField(blank=True, max_length=254, verbose_name="email address"),
                ),
                (
                    "reachable",
                    models.CharField(
                        blank=True, max_length=120, verbose_name="when they can be reached"
                    ),
                ),
                (
                    "line",
                    models.CharField(
                        blank=True, max_length=200, verbose_name="a line in your own words"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("name", ""), _negated=True),
                            models.Q(("email", ""), ("phone", ""), _negated=True),
                        ),
                        name="contact_can_be_reached",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ConsentRequest",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("day", models.DateField()),
                (
                    "asked_by",
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
                        related_name="consent_requests",
                        to="academy.player",
                    ),
                ),
            ],
            options={
                "ordering": ["-day"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("player", "day"), name="one_consent_request_a_player_and_day"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="RequiredSharing",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("health", models.PositiveSmallIntegerField(choices=READERS, default=0)),
                ("notes", models.PositiveSmallIntegerField(choices=READERS, default=0)),
                ("set_at", models.DateTimeField()),
                (
                    "academy",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="required_sharing",
                        to="academy.academy",
                    ),
                ),
                (
                    "set_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "required sharing",
                "ordering": ["set_at", "pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("health__in", [0, 1, 2]), ("notes__in", [0, 1, 2])),
                        name="required_readers_are_known",
                    )
                ],
            },
        ),
    ]
