"""Phones: what they last said, what could not be taken from them, and who works alone."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from apps.core.triggers import append_only


class Migration(migrations.Migration):

    dependencies = [
        ('visits', '0003_no_double_booking'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='CheckIn',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('by', models.CharField(max_length=160)),
                ('fine_by', models.DateTimeField()),
                ('fine_at', models.DateTimeField(blank=True, null=True)),
                ('told_at', models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='Phone',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('first_at', models.DateTimeField()),
                ('last_at', models.DateTimeField()),
                ('version', models.CharField(blank=True, max_length=40)),
                ('pending_ops', models.PositiveIntegerField(default=0)),
                ('pending_photos', models.PositiveIntegerField(default=0)),
                ('oldest_at', models.DateTimeField(blank=True, null=True)),
                ('last_seq', models.PositiveBigIntegerField(default=0)),
                ('persisted', models.BooleanField(default=False)),
                ('standalone', models.BooleanField(default=False)),
                ('clock_off_s', models.IntegerField(default=0)),
                ('cut_off_at', models.DateTimeField(blank=True, null=True)),
                ('cut_off_by', models.CharField(blank=True, max_length=160)),
            ],
            options={
                'ordering': ['-last_at'],
            },
        ),
        migrations.CreateModel(
            name='RefusedOperation',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('operation', models.CharField(max_length=60)),
                ('device', models.CharField(max_length=60)),
                ('seq', models.PositiveBigIntegerField(blank=True, null=True)),
                ('payload', models.JSONField()),
                ('why', models.JSONField()),
                ('received_at', models.DateTimeField()),
                ('by', models.CharField(max_length=160)),
            ],
            options={
                'ordering': ['-received_at'],
            },
        ),
        migrations.AddField(
            model_name='operation',
            name='seq',
            field=models.PositiveBigIntegerField(blank=True, null=True),
        ),
        migrations.AddConstraint(
            model_name='operation',
            constraint=models.UniqueConstraint(condition=models.Q(('seq__isnull', False)), fields=('device', 'seq'), name='operation_seq_once'),
        ),
        migrations.AddField(
            model_name='checkin',
            name='visit',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='check_ins', to='visits.visit'),
        ),
        migrations.AddField(
            model_name='phone',
            name='user',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='phones', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddIndex(
            model_name='refusedoperation',
            index=models.Index(fields=['device', 'operation'], name='refused_operation'),
        ),
        migrations.AddIndex(
            model_name='checkin',
            index=models.Index(condition=models.Q(('fine_at__isnull', True)), fields=['fine_by'], name='check_in_waits'),
        ),
        append_only("visits_refusedoperation"),
    ]
