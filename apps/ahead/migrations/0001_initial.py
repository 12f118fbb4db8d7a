"""Forecasts of loops."""

import django.db.models.deletion
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):
    """The newest forecast of each loop, and what is kept to be judged."""

    initial = True

    dependencies = [
        ('systems', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='LoopForecast',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('from_day', models.DateField()),
                ('made_at', models.DateTimeField()),
                ('version', models.PositiveSmallIntegerField()),
                ('outlook', models.JSONField()),
                ('learnt', models.JSONField(blank=True, default=dict)),
                ('assumed', models.JSONField(blank=True, default=list)),
                ('readings_until', models.DateTimeField(blank=True, null=True)),
                ('next_visit', models.DateField(blank=True, null=True)),
                ('loop', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='forecast', to='systems.loop')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='PastForecast',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('from_day', models.DateField()),
                ('version', models.PositiveSmallIntegerField()),
                ('fans', models.JSONField()),
                ('loop', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='past_forecasts', to='systems.loop')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('loop', 'from_day'), name='past_forecast_once_a_day')],
            },
        ),
    ]
