"""Fish taken out to be eaten, and what a kilogram of a harvest costs."""

import django.core.validators
import django.db.models.deletion
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('batches', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='HarvestPrice',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('kind', models.CharField(choices=[('crops', 'plants'), ('species', 'fish')], max_length=7)),
                ('code', models.CharField(max_length=40)),
                ('amount', models.PositiveBigIntegerField(validators=[django.core.validators.MaxValueValidator(10000000000)])),
                ('changed_at', models.DateTimeField()),
                ('changed_by', models.CharField(max_length=160)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['crops', 'species'])), name='harvest_price_kind_known', violation_error_message='kind must be one of the listed words'), models.UniqueConstraint(fields=('kind', 'code'), name='harvest_price_once')],
            },
        ),
        migrations.CreateModel(
            name='FishHarvest',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('on', models.DateField()),
                ('count', models.PositiveIntegerField()),
                ('mass_kg', models.FloatField(blank=True, null=True)),
                ('batch', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='harvests', to='batches.fishbatch')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('count__gt', 0), ('count__isnull', True), _connector='OR'), name='fish_harvest_count', violation_error_message='count must not be negative'), models.CheckConstraint(condition=models.Q(('mass_kg__gt', 0), ('mass_kg__isnull', True), _connector='OR'), name='fish_harvest_mass', violation_error_message='mass_kg must not be negative')],
            },
        ),
    ]
