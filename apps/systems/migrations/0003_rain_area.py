"""How much of a loop lies open to rain."""

from django.db import migrations, models


class Migration(migrations.Migration):
    """Empty for all that are there: nobody has looked."""

    dependencies = [
        ('systems', '0002_scoop'),
    ]

    operations = [
        migrations.AddField(
            model_name='loop',
            name='rain_area_m2',
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddConstraint(
            model_name='loop',
            constraint=models.CheckConstraint(condition=models.Q(('rain_area_m2__gte', 0), ('rain_area_m2__isnull', True), _connector='OR'), name='loop_rain_area', violation_error_message='rain_area_m2 must not be negative'),
        ),
    ]
