"""How much feed lies at a place, and until when it lasts."""

import django.db.models.deletion
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('care', '0012_agreed_until'),
        ('systems', '0003_rain_area'),
    ]

    operations = [
        migrations.AddField(
            model_name='standing',
            name='feed_count',
            field=models.CharField(blank=True, max_length=36),
        ),
        migrations.AddField(
            model_name='standing',
            name='feed',
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name='standing',
            name='feed_until',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.CreateModel(
            name='FeedCount',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('amount_g', models.FloatField()),
                ('counted_at', models.DateTimeField()),
                ('counted_by', models.CharField(choices=[('office', 'the office'), ('technician', 'technician'), ('client', 'client')], max_length=12)),
                ('by', models.CharField(blank=True, max_length=160)),
                ('made_at', models.DateTimeField()),
                ('system', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='feed_counts', to='systems.system')),
            ],
            options={
                'indexes': [models.Index(fields=['system', 'counted_at'], name='feed_count_of_system')],
                'constraints': [models.CheckConstraint(condition=models.Q(('counted_by__in', ['office', 'technician', 'client'])), name='feed_count_by_known', violation_error_message='counted_by must be one of the listed words'), models.CheckConstraint(condition=models.Q(('amount_g__gte', 0), ('amount_g__isnull', True), _connector='OR'), name='feed_count_amount', violation_error_message='amount_g must not be negative')],
            },
        ),
    ]
