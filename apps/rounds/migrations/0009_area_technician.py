"""What it is worth that an area's own technician comes."""

from decimal import Decimal
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('rounds', '0008_failure_words_gone'),
    ]

    operations = [
        migrations.AddField(
            model_name='planningsettings',
            name='area_technician',
            field=models.DecimalField(decimal_places=2, default=Decimal('3.00'), max_digits=8),
        ),
        migrations.AddConstraint(
            model_name='planningsettings',
            constraint=models.CheckConstraint(condition=models.Q(('area_technician__gte', 0), ('area_technician__isnull', True), _connector='OR'), name='planning_area_technician', violation_error_message='area_technician must not be negative'),
        ),
    ]
