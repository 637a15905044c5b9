"""Win chances come down from the debrief, so that a season can be asked about before it is played.

The table is there, under its new name, since `debrief.0003_win_chances_live_with_the_plan`: here
only the model changes rooms.
"""

import django.core.validators
import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('academy', '0004_contact_and_required_sharing'),
        ('debrief', '0003_win_chances_live_with_the_plan'),
        ('plans', '0005_trip_costs'),
    ]

    operations = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.CreateModel(
                    name='WinChance',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('season_start', models.DateField()),
                        ('level', models.CharField(blank=True, max_length=40)),
                        ('percent', models.PositiveSmallIntegerField(validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(99)])),
                        ('player', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='win_chances', to='academy.player')),
                    ],
                    options={
                        'ordering': ['level'],
                        'constraints': [models.UniqueConstraint(fields=('player', 'season_start', 'level'), name='win_chance_once_a_level'), models.CheckConstraint(condition=models.Q(('percent__gte', 1), ('percent__lte', 99)), name='win_chance_is_a_chance')],
                    },
                ),
            ],
        ),
    ]
