from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("checkins", "0003_reads_by_day"),
    ]

    operations = [
        migrations.AlterField("healthread", "day", models.DateField()),
        migrations.AlterField("healthread", "last_read_at", models.DateTimeField()),
        migrations.AlterField(
            "healthread",
            "read_at",
            models.DateTimeField(help_text="The first time on the day."),
        ),
        migrations.AlterModelOptions(
            name="healthread",
            options={"ordering": ["-day", "-last_read_at", "-pk"]},
        ),
        migrations.AddIndex(
            model_name="healthread",
            index=models.Index(fields=["player", "day"], name="health_read_by_player_and_day"),
        ),
        migrations.AddConstraint(
            model_name="healthread",
            constraint=models.UniqueConstraint(
                fields=("reader", "check_in", "day"), name="check_in_read_once_a_day"
            ),
        ),
        migrations.AddConstraint(
            model_name="healthread",
            constraint=models.UniqueConstraint(
                fields=("reader", "day_log", "day"), name="day_log_read_once_a_day"
            ),
        ),
        migrations.AddConstraint(
            model_name="healthread",
            constraint=models.CheckConstraint(
                condition=models.Q(("last_read_at__gte", models.F("read_at")), ("times__gte", 1)),
                name="health_read_ends_after_it_began",
            ),
        ),
    ]
