"""Climate normals of the firm and of places."""

import django.db.models.deletion
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):
    """What is usual in each month; nobody has any until they are entered."""

    dependencies = [
        ('clients', '0007_contact_texts'),
    ]

    operations = [
        migrations.CreateModel(
            name='Climate',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('whole_firm', models.BooleanField(default=False)),
                ('source', models.CharField(blank=True, max_length=200)),
                ('rev', models.PositiveIntegerField(default=1)),
                ('place', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='climate', to='clients.place')),
            ],
        ),
        migrations.CreateModel(
            name='ClimateMonth',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('month', models.PositiveSmallIntegerField()),
                ('low_c', models.FloatField()),
                ('high_c', models.FloatField()),
                ('rain_mm', models.FloatField()),
                ('wet_days', models.FloatField(blank=True, null=True)),
                ('et0_mm', models.FloatField(blank=True, null=True)),
                ('climate', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='months', to='clients.climate')),
            ],
            options={
                'ordering': ['month'],
            },
        ),
        migrations.AddConstraint(
            model_name='climate',
            constraint=models.UniqueConstraint(condition=models.Q(('whole_firm', True)), fields=('whole_firm',), name='climate_one_firm'),
        ),
        migrations.AddConstraint(
            model_name='climate',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('place__isnull', True), ('whole_firm', True)), models.Q(('place__isnull', False), ('whole_firm', False)), _connector='OR'), name='climate_of_one'),
        ),
        migrations.AddConstraint(
            model_name='climatemonth',
            constraint=models.UniqueConstraint(fields=('climate', 'month'), name='climate_month_once'),
        ),
        migrations.AddConstraint(
            model_name='climatemonth',
            constraint=models.CheckConstraint(condition=models.Q(('month__range', (1, 12))), name='climate_month_known'),
        ),
        migrations.AddConstraint(
            model_name='climatemonth',
            constraint=models.CheckConstraint(condition=models.Q(('high_c__gte', models.F('low_c')), ('low_c__isnull', True), ('high_c__isnull', True), _connector='OR'), name='climate_low_high', violation_error_message='high_c must come after low_c'),
        ),
        migrations.AddConstraint(
            model_name='climatemonth',
            constraint=models.CheckConstraint(condition=models.Q(('low_c__range', (-60.0, 40.0)), ('low_c__isnull', True), _connector='OR'), name='climate_low_c', violation_error_message='low_c must lie between -60 and 40'),
        ),
        migrations.AddConstraint(
            model_name='climatemonth',
            constraint=models.CheckConstraint(condition=models.Q(('high_c__range', (-40.0, 50.0)), ('high_c__isnull', True), _connector='OR'), name='climate_high_c', violation_error_message='high_c must lie between -40 and 50'),
        ),
        migrations.AddConstraint(
            model_name='climatemonth',
            constraint=models.CheckConstraint(condition=models.Q(('rain_mm__range', (0.0, 3000.0)), ('rain_mm__isnull', True), _connector='OR'), name='climate_rain_mm', violation_error_message='rain_mm must lie between 0 and 3000'),
        ),
        migrations.AddConstraint(
            model_name='climatemonth',
            constraint=models.CheckConstraint(condition=models.Q(('wet_days__range', (0.0, 31.0)), ('wet_days__isnull', True), _connector='OR'), name='climate_wet_days', violation_error_message='wet_days must lie between 0 and 31'),
        ),
        migrations.AddConstraint(
            model_name='climatemonth',
            constraint=models.CheckConstraint(condition=models.Q(('et0_mm__range', (0.0, 400.0)), ('et0_mm__isnull', True), _connector='OR'), name='climate_et0_mm', violation_error_message='et0_mm must lie between 0 and 400'),
        ),
    ]
