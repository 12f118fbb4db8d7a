"""How forecasts fared on a loop's own readings."""

from django.db import migrations, models


class Migration(migrations.Migration):
    """Filled when the next forecast is made."""

    dependencies = [
        ('ahead', '0001_initial'),
    ]

    operations = [
        migrations.AddField(
            model_name='loopforecast',
            name='record',
            field=models.JSONField(blank=True, default=dict),
        ),
    ]
