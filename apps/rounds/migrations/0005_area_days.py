"""Weekdays on which a technician is in an area, and what that is worth."""

from decimal import Decimal
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('rounds', '0004_offers_hold_still'),
    ]

    operations = [
        migrations.AddField(
            model_name='planningsettings',
            name='area_day',
            field=models.DecimalField(decimal_places=2, default=Decimal('5.00'), max_digits=8),
        ),
        migrations.AddField(
            model_name='workinghours',
            name='area',
            field=models.CharField(blank=True, max_length=60),
        ),
        migrations.AddConstraint(
            model_name='planningsettings',
            constraint=models.CheckConstraint(condition=models.Q(('area_day__gte', 0), ('area_day__isnull', True), _connector='OR'), name='planning_area_day', violation_error_message='area_day must not be negative'),
        ),
    ]
