"""The table of win chances gets the name that it has in `plans`, with all its rows.

`plans.0006_win_chances` says the rest: to what model it belongs from now on.
"""

from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('debrief', '0002_win_chance'),
    ]

    operations = [
        migrations.SeparateDatabaseAndState(
            database_operations=[
                migrations.AlterModelTable('winchance', 'plans_winchance'),
            ],
            state_operations=[
                migrations.DeleteModel('WinChance'),
            ],
        ),
    ]
