"""A place has both coordinates or none."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('clients', '0004_half_a_position'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='place',
            name='place_on_earth',
        ),
        migrations.AddConstraint(
            model_name='place',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('latitude__isnull', True), ('longitude__isnull', True)), models.Q(('latitude__isnull', False), ('longitude__isnull', False), ('latitude__range', (-90, 90)), ('longitude__range', (-180, 180))), _connector='OR'), name='place_on_earth', violation_error_message='give latitude and longitude, or neither'),
        ),
    ]
