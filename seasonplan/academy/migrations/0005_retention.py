import django.core.validators
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("academy", "0004_contact_and_required_sharing"),
    ]

    operations = [
        migrations.AddField(
            model_name="academy",
            name="health_log_months",
            field=models.PositiveSmallIntegerField(
                blank=True,
                help_text="How long what players log about health is kept; empty: without end.",
                null=True,
                validators=[
                    django.core.validators.MinValueValidator(1),
                    django.core.validators.MaxValueValidator(240),
                ],
            ),
        ),
        migrations.AddConstraint(
            model_name="academy",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("health_log_months__isnull", True),
                    ("health_log_months__gte", 1),
                    _connector="OR",
                ),
                name="health_logs_are_kept_a_month_or_more",
            ),
        ),
    ]
