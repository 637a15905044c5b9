import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ("plans", "0001_season_plans"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="FeedAddress",
            fields=[
                ("person", models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name="feed_address", serialize=False, to=settings.AUTH_USER_MODEL)),
                ("uid", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("token_hash", models.CharField(blank=True, editable=False, max_length=64, null=True, unique=True)),
                ("made_at", models.DateTimeField(editable=False, null=True)),
                ("content_hash", models.CharField(blank=True, editable=False, max_length=64)),
                ("changes", models.PositiveIntegerField(default=0, editable=False)),
                ("changed_at", models.DateTimeField(editable=False, null=True)),
            ],
            options={
                "verbose_name_plural": "feed addresses",
                "constraints": [models.CheckConstraint(condition=models.Q(("token_hash__isnull", True), ("made_at__isnull", False), _connector="OR"), name="feed_address_was_made_once")],
            },
        ),
    ]
