import django.db.models.deletion
import django.db.models.functions.datetime
from django.conf import settings
from django.db import migrations, models

KINDS = ["role", "team", "player", "consent", "setting", "plan", "training", "erasure"]


class Migration(migrations.Migration):
    dependencies = [
        ("academy", "0005_retention"),
    ]

    operations = [
        migrations.CreateModel(
            name="Change",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "at",
                    models.DateTimeField(db_default=django.db.models.functions.datetime.Now()),
                ),
                (
                    "what",
                    models.CharField(
                        choices=[(kind, kind.capitalize()) for kind in KINDS], max_length=8
                    ),
                ),
                ("subject", models.CharField(blank=True, max_length=120)),
                ("before", models.CharField(blank=True, max_length=200)),
                ("after", models.CharField(blank=True, max_length=200)),
                (
                    "path",
                    models.CharField(
                        blank=True, help_text="A page that says more.", max_length=200
                    ),
                ),
                (
                    "academy",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="record",
                        to="academy.academy",
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "player",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to="academy.player",
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
                "ordering": ["-at", "-pk"],
                "indexes": [
                    models.Index(fields=["academy", "-at"], name="change_by_academy_and_moment")
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("what__in", KINDS)), name="change_is_known"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("before", models.F("after")), _negated=True),
                        name="change_changes_something",
                    ),
                ],
            },
        ),
    ]
