"""Readings of counters that were withdrawn."""

import django.db.models.deletion
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('care', '0008_forecast_dates'),
    ]

    operations = [
        migrations.CreateModel(
            name='MeterWithdrawal',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('reason', models.CharField(max_length=400)),
                ('by', models.CharField(blank=True, max_length=160)),
                ('made_at', models.DateTimeField()),
                ('reading', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='withdrawal', to='care.meterreading')),
            ],
            options={
                'abstract': False,
            },
        ),
    ]
