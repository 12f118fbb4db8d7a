"""Crew, hours, absences, planning settings and plans of rounds."""

import datetime
import django.core.validators
import django.db.models.deletion
import uuid
from decimal import Decimal
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='PlanningSettings',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('base_latitude', models.FloatField(blank=True, null=True, validators=[django.core.validators.MinValueValidator(-90), django.core.validators.MaxValueValidator(90)])),
                ('base_longitude', models.FloatField(blank=True, null=True, validators=[django.core.validators.MinValueValidator(-180), django.core.validators.MaxValueValidator(180)])),
                ('per_km', models.DecimalField(decimal_places=3, default=Decimal('0.40'), max_digits=6)),
                ('per_hour', models.DecimalField(decimal_places=2, default=Decimal('36.00'), max_digits=8)),
                ('sending_out', models.DecimalField(decimal_places=2, default=Decimal('20.00'), max_digits=8)),
                ('keeping_a_day', models.DecimalField(decimal_places=2, default=Decimal('5.00'), max_digits=8)),
                ('detour', models.FloatField(default=1.3, validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(5)])),
                ('town_kmh', models.PositiveSmallIntegerField(default=25)),
                ('near_kmh', models.PositiveSmallIntegerField(default=40)),
                ('far_kmh', models.PositiveSmallIntegerField(default=70)),
                ('parking_minutes', models.PositiveSmallIntegerField(default=2)),
                ('days_ahead', models.PositiveSmallIntegerField(default=10)),
                ('frozen_days', models.PositiveSmallIntegerField(default=2)),
                ('most_letters', models.PositiveSmallIntegerField(default=3)),
            ],
            options={
                'verbose_name_plural': 'planning settings',
                'constraints': [models.CheckConstraint(condition=models.Q(('id', 1)), name='planning_one_row'), models.CheckConstraint(condition=models.Q(models.Q(('base_latitude__isnull', True), ('base_longitude__isnull', True)), models.Q(('base_latitude__isnull', False), ('base_longitude__isnull', False), ('base_latitude__range', (-90, 90)), ('base_longitude__range', (-180, 180))), _connector='OR'), name='base_on_earth', violation_error_message='give latitude and longitude, or neither'), models.CheckConstraint(condition=models.Q(('per_km__gte', 0), ('per_km__isnull', True), _connector='OR'), name='planning_per_km', violation_error_message='per_km must not be negative'), models.CheckConstraint(condition=models.Q(('per_hour__gte', 0), ('per_hour__isnull', True), _connector='OR'), name='planning_per_hour', violation_error_message='per_hour must not be negative'), models.CheckConstraint(condition=models.Q(('sending_out__gte', 0), ('sending_out__isnull', True), _connector='OR'), name='planning_sending_out', violation_error_message='sending_out must not be negative'), models.CheckConstraint(condition=models.Q(('keeping_a_day__gte', 0), ('keeping_a_day__isnull', True), _connector='OR'), name='planning_keeping_a_day', violation_error_message='keeping_a_day must not be negative'), models.CheckConstraint(condition=models.Q(('detour__range', (1, 5))), name='planning_detour'), models.CheckConstraint(condition=models.Q(('near_kmh__range', (1, 150)), ('town_kmh__range', (1, 150)), ('far_kmh__range', (1, 150))), name='planning_speeds', violation_error_message='speeds must lie from 1 to 150 km/h'), models.CheckConstraint(condition=models.Q(('parking_minutes__lte', 60)), name='planning_parking'), models.CheckConstraint(condition=models.Q(('days_ahead__range', (1, 31)), ('frozen_days__lte', 31)), name='planning_days', violation_error_message='plan from 1 to 31 days ahead')],
            },
        ),
        migrations.CreateModel(
            name='Absence',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('first', models.DateField()),
                ('last', models.DateField()),
                ('part', models.CharField(choices=[('whole', 'the whole day'), ('morning', 'the morning'), ('afternoon', 'the afternoon')], default='whole', max_length=9)),
                ('reason', models.CharField(blank=True, max_length=200)),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='absences', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'indexes': [models.Index(fields=['last'], name='absence_last')],
                'constraints': [models.CheckConstraint(condition=models.Q(('part__in', ['whole', 'morning', 'afternoon'])), name='absence_part_known', violation_error_message='part must be one of the listed words'), models.CheckConstraint(condition=models.Q(('last__gte', models.F('first')), ('first__isnull', True), ('last__isnull', True), _connector='OR'), name='absence_in_order', violation_error_message='last must come after first')],
            },
        ),
        migrations.CreateModel(
            name='Crew',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('skills', models.JSONField(blank=True, default=list)),
                ('latitude', models.FloatField(blank=True, null=True, validators=[django.core.validators.MinValueValidator(-90), django.core.validators.MaxValueValidator(90)])),
                ('longitude', models.FloatField(blank=True, null=True, validators=[django.core.validators.MinValueValidator(-180), django.core.validators.MaxValueValidator(180)])),
                ('starts_from', models.CharField(choices=[('home', 'from home'), ('base', 'from the base')], default='base', max_length=4)),
                ('overtime_minutes', models.PositiveSmallIntegerField(default=0)),
                ('overtime_share', models.DecimalField(decimal_places=2, default=Decimal('0.50'), max_digits=4)),
                ('user', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='crew', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('starts_from__in', ['home', 'base'])), name='crew_starts_from_known', violation_error_message='starts_from must be one of the listed words'), models.CheckConstraint(condition=models.Q(models.Q(('latitude__isnull', True), ('longitude__isnull', True)), models.Q(('latitude__isnull', False), ('longitude__isnull', False), ('latitude__range', (-90, 90)), ('longitude__range', (-180, 180))), _connector='OR'), name='crew_on_earth', violation_error_message='give latitude and longitude, or neither'), models.CheckConstraint(condition=models.Q(('overtime_share__gte', 0), ('overtime_share__isnull', True), _connector='OR'), name='crew_overtime_share', violation_error_message='overtime_share must not be negative'), models.CheckConstraint(condition=models.Q(('overtime_minutes__lte', 240)), name='crew_overtime_minutes', violation_error_message='overtime: at most 240 minutes a day')],
            },
        ),
        migrations.CreateModel(
            name='RoundPlan',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('first', models.DateField()),
                ('days', models.PositiveSmallIntegerField()),
                ('state', models.CharField(choices=[('working', 'being made'), ('ready', 'ready'), ('accepted', 'accepted'), ('dropped', 'dropped'), ('failed', 'failed')], default='working', max_length=8)),
                ('seed', models.PositiveIntegerField(default=1)),
                ('seconds', models.FloatField(blank=True, null=True)),
                ('iterations', models.PositiveIntegerField(blank=True, null=True)),
                ('share', models.FloatField(default=0)),
                ('best', models.BigIntegerField(blank=True, null=True)),
                ('problem', models.JSONField(blank=True, null=True)),
                ('work', models.JSONField(blank=True, default=dict)),
                ('notes', models.JSONField(blank=True, default=list)),
                ('plan', models.JSONField(blank=True, null=True)),
                ('basis', models.CharField(blank=True, max_length=64)),
                ('frozen', models.JSONField(blank=True, default=list)),
                ('judged_at', models.DateTimeField(blank=True, null=True)),
                ('judge_passed', models.BooleanField(default=False)),
                ('judge_says', models.JSONField(blank=True, default=list)),
                ('change', models.JSONField(blank=True, default=dict)),
                ('made_by', models.CharField(max_length=160)),
                ('made_at', models.DateTimeField()),
                ('ended_by', models.CharField(blank=True, max_length=160)),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('failed_because', models.CharField(blank=True, max_length=1000)),
                ('revises', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='revisions', to='rounds.roundplan')),
            ],
            options={
                'ordering': ['-made_at', 'id'],
                'indexes': [models.Index(fields=['-made_at'], name='plan_made')],
                'constraints': [models.CheckConstraint(condition=models.Q(('state__in', ['working', 'ready', 'accepted', 'dropped', 'failed'])), name='plan_state_known', violation_error_message='state must be one of the listed words'), models.CheckConstraint(condition=models.Q(('days__range', (1, 31))), name='plan_days'), models.CheckConstraint(condition=models.Q(('share__range', (0, 1))), name='plan_share'), models.CheckConstraint(condition=models.Q(models.Q(('iterations__isnull', True), ('seconds__isnull', False)), models.Q(('iterations__isnull', False), ('seconds__isnull', True)), _connector='OR'), name='plan_effort_once'), models.CheckConstraint(condition=models.Q(models.Q(('state__in', ['ready', 'accepted']), _negated=True), models.Q(('judge_passed', True), ('judged_at__isnull', False), ('plan__isnull', False), ('problem__isnull', False), models.Q(('basis', ''), _negated=True)), _connector='OR'), name='plan_judged', violation_error_message="a plan is ready only with its judge's pass"), models.CheckConstraint(condition=models.Q(models.Q(('state__in', ['accepted', 'dropped']), _negated=True), ('ended_at__isnull', False), _connector='OR'), name='plan_ended'), models.CheckConstraint(condition=models.Q(('revises__isnull', True), models.Q(('revises', models.F('id')), _negated=True), _connector='OR'), name='plan_not_its_own_revision')],
            },
        ),
        migrations.CreateModel(
            name='WorkingHours',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('weekday', models.PositiveSmallIntegerField(choices=[(1, 'Monday'), (2, 'Tuesday'), (3, 'Wednesday'), (4, 'Thursday'), (5, 'Friday'), (6, 'Saturday'), (7, 'Sunday')])),
                ('starts', models.TimeField()),
                ('ends', models.TimeField()),
                ('lunch_minutes', models.PositiveSmallIntegerField(default=30)),
                ('lunch_from', models.TimeField(default=datetime.time(11, 30))),
                ('lunch_until', models.TimeField(default=datetime.time(14, 0))),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='working_hours', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['weekday'],
                'constraints': [models.CheckConstraint(condition=models.Q(('ends__gt', models.F('starts')), ('starts__isnull', True), ('ends__isnull', True), _connector='OR'), name='working_hours_in_order', violation_error_message='ends must come after starts'), models.CheckConstraint(condition=models.Q(('lunch_until__gt', models.F('lunch_from')), ('lunch_from__isnull', True), ('lunch_until__isnull', True), _connector='OR'), name='lunch_in_order', violation_error_message='lunch_until must come after lunch_from'), models.CheckConstraint(condition=models.Q(('weekday__range', (1, 7))), name='working_weekday'), models.UniqueConstraint(fields=('user', 'weekday'), name='working_hours_once')],
            },
        ),
    ]
