"""Times offered to a client, each held until it is picked or let go."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('rounds', '0002_plans_hold_still'),
        ('visits', '0006_told'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='TimesOffered',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('until', models.DateTimeField()),
                ('state', models.CharField(choices=[('open', 'waiting for the client'), ('picked', 'picked'), ('none_suits', 'none suits'), ('lapsed', 'not answered in time'), ('taken_back', 'taken back'), ('overtaken', 'settled otherwise')], default='open', max_length=10)),
                ('words', models.CharField(blank=True, max_length=1000)),
                ('made_by', models.CharField(max_length=160)),
                ('made_at', models.DateTimeField()),
                ('ended_by', models.CharField(blank=True, max_length=160)),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('rev', models.PositiveIntegerField(blank=True, null=True)),
                ('visit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='times_offered', to='visits.visit')),
            ],
            options={
                'ordering': ['-made_at', 'id'],
            },
        ),
        migrations.CreateModel(
            name='TimeOffered',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('start', models.DateTimeField()),
                ('end', models.DateTimeField()),
                ('told_from', models.DateTimeField()),
                ('told_until', models.DateTimeField()),
                ('extra', models.BigIntegerField()),
                ('metres', models.IntegerField()),
                ('state', models.CharField(choices=[('held', 'held'), ('gone', 'gone'), ('picked', 'picked'), ('free', 'free again')], default='held', max_length=6)),
                ('offer', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='times', to='rounds.timesoffered')),
            ],
            options={
                'ordering': ['start'],
            },
        ),
        migrations.CreateModel(
            name='Hold',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('start', models.DateTimeField()),
                ('end', models.DateTimeField()),
                ('holds', models.BooleanField(default=True)),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('time', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='holds', to='rounds.timeoffered')),
            ],
            options={
                'indexes': [models.Index(condition=models.Q(('holds', True)), fields=['user', 'start'], name='hold_day')],
                'constraints': [models.UniqueConstraint(fields=('time', 'user'), name='held_once'), models.CheckConstraint(condition=models.Q(('end__gt', models.F('start')), ('start__isnull', True), ('end__isnull', True), _connector='OR'), name='hold_in_order', violation_error_message='end must come after start')],
            },
        ),
        migrations.AddIndex(
            model_name='timesoffered',
            index=models.Index(fields=['state', 'until'], name='offer_state'),
        ),
        migrations.AddConstraint(
            model_name='timesoffered',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['open', 'picked', 'none_suits', 'lapsed', 'taken_back', 'overtaken'])), name='offer_state_known', violation_error_message='state must be one of the listed words'),
        ),
        migrations.AddConstraint(
            model_name='timesoffered',
            constraint=models.CheckConstraint(condition=models.Q(('until__gt', models.F('made_at')), ('made_at__isnull', True), ('until__isnull', True), _connector='OR'), name='offer_until_later', violation_error_message='until must come after made_at'),
        ),
        migrations.AddConstraint(
            model_name='timesoffered',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('ended_at__isnull', True), ('rev__isnull', True), ('state', 'open')), models.Q(models.Q(('state', 'open'), _negated=True), ('ended_at__isnull', False), ('rev__isnull', False)), _connector='OR'), name='offer_ended'),
        ),
        migrations.AddConstraint(
            model_name='timesoffered',
            constraint=models.UniqueConstraint(condition=models.Q(('state', 'open')), fields=('visit',), name='offer_open_once'),
        ),
        migrations.AddConstraint(
            model_name='timeoffered',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['held', 'gone', 'picked', 'free'])), name='time_state_known', violation_error_message='state must be one of the listed words'),
        ),
        migrations.AddConstraint(
            model_name='timeoffered',
            constraint=models.CheckConstraint(condition=models.Q(('end__gt', models.F('start')), ('start__isnull', True), ('end__isnull', True), _connector='OR'), name='time_in_order', violation_error_message='end must come after start'),
        ),
        migrations.AddConstraint(
            model_name='timeoffered',
            constraint=models.CheckConstraint(condition=models.Q(('told_from__lte', models.F('start')), ('told_until__gte', models.F('start'))), name='time_within_what_is_told'),
        ),
        migrations.AddConstraint(
            model_name='timeoffered',
            constraint=models.UniqueConstraint(fields=('offer', 'start'), name='time_offered_once'),
        ),
        migrations.AddConstraint(
            model_name='timeoffered',
            constraint=models.UniqueConstraint(condition=models.Q(('state', 'picked')), fields=('offer',), name='time_picked_once'),
        ),
    ]
