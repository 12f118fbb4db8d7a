"""A report's paper in another reader's language and units."""

import django.db.models.deletion
import uuid
from django.db import migrations, models

from apps.core.triggers import append_only


class Migration(migrations.Migration):
    """Copies, that hold still like the versions they are of."""

    dependencies = [
        ('reports', '0015_letter_help'),
    ]

    operations = [
        migrations.CreateModel(
            name='ReportCopy',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('language', models.CharField(max_length=10)),
                ('units', models.CharField(choices=[('metric', '°C, litres, grams'), ('us', '°F, US gallons, ounces')], max_length=8)),
                ('pdf', models.CharField(max_length=160)),
                ('pdf_size', models.PositiveIntegerField()),
                ('sha256', models.CharField(max_length=64)),
                ('made_at', models.DateTimeField()),
                ('version', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='copies', to='reports.reportversion')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('units__in', ['metric', 'us'])), name='copy_units_known', violation_error_message='units must be one of the listed words'), models.UniqueConstraint(fields=('version', 'language', 'units'), name='copy_once'), models.CheckConstraint(condition=models.Q(('pdf', ''), _negated=True), name='copy_has_pdf')],
            },
        ),
        append_only("reports_reportcopy"),
    ]
