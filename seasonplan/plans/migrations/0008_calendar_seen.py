"""Up to which moment the changes of the calendar are known to who plans."""

import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("plans", "0007_seen_changes"),
    ]

    operations = [
        migrations.AddField(
            model_name="seasonplan",
            name="calendar_seen_at",
            field=models.DateTimeField(default=django.utils.timezone.now, editable=False),
        ),
    ]
