"""What a harvest costs by the piece, beside what it costs by the kilogram."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('batches', '0002_harvests'),
    ]

    operations = [
        migrations.AddField(
            model_name='harvestprice',
            name='per',
            field=models.CharField(choices=[('kg', 'kilogram'), ('piece', 'head or fish')], default='kg', max_length=5),
        ),
        migrations.RemoveConstraint(model_name='harvestprice', name='harvest_price_once'),
        migrations.AddConstraint(
            model_name='harvestprice',
            constraint=models.CheckConstraint(condition=models.Q(('per__in', ['kg', 'piece'])), name='harvest_price_per_known', violation_error_message='per must be one of the listed words'),
        ),
        migrations.AddConstraint(
            model_name='harvestprice',
            constraint=models.UniqueConstraint(fields=('kind', 'code', 'per'), name='harvest_price_once'),
        ),
    ]
