from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('events', '0003_expected_humidity'),
    ]

    operations = [
        migrations.AddField(
            model_name='eventimport',
            name='usual_surface',
            field=models.CharField(blank=True, choices=[('hard', 'Hard'), ('clay', 'Clay'), ('grass', 'Grass'), ('carpet', 'Carpet')], default='', help_text='The surface of events of which the file says none; empty if that is a problem.', max_length=6),
            preserve_default=False,
        ),
    ]
