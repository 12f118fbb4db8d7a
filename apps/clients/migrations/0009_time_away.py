"""Days on which nobody of a place is at home."""

import django.db.models.deletion
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('clients', '0008_climate'),
    ]

    operations = [
        migrations.CreateModel(
            name='TimeAway',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('first', models.DateField()),
                ('last', models.DateField()),
                ('carer_name', models.CharField(blank=True, max_length=120)),
                ('carer_phone', models.CharField(blank=True, max_length=40)),
                ('backup', models.CharField(choices=[('yes', 'yes'), ('no', 'no'), ('unsure', 'not sure')], default='unsure', max_length=6)),
                ('may_come', models.BooleanField(default=True)),
                ('notes', models.TextField(blank=True, max_length=1000)),
                ('made_at', models.DateTimeField()),
                ('by', models.CharField(max_length=160)),
                ('withdrawn_at', models.DateTimeField(blank=True, null=True)),
                ('rev', models.PositiveIntegerField(default=1)),
                ('place', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='times_away', to='clients.place')),
            ],
            options={
                'ordering': ['first', 'id'],
                'indexes': [models.Index(condition=models.Q(('withdrawn_at__isnull', True)), fields=['place', 'last'], name='time_away_ahead')],
                'constraints': [models.CheckConstraint(condition=models.Q(('last__gte', models.F('first')), ('first__isnull', True), ('last__isnull', True), _connector='OR'), name='time_away_in_order', violation_error_message='last must come after first'), models.CheckConstraint(condition=models.Q(('backup__in', ['yes', 'no', 'unsure'])), name='time_away_backup_known', violation_error_message='backup must be one of the listed words'), models.CheckConstraint(condition=models.Q(models.Q(('carer_name', ''), ('carer_phone', '')), models.Q(models.Q(('carer_name', ''), _negated=True), models.Q(('carer_phone', ''), _negated=True)), _connector='OR'), name='time_away_carer_can_be_called', violation_error_message='give who looks after it and their number, or neither')],
            },
        ),
    ]
