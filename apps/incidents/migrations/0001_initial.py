"""Incidents, their notes and the visits that had to wait."""

import django.db.models.deletion
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('systems', '0001_initial'),
        ('visits', '0005_phone_remarks'),
    ]

    operations = [
        migrations.CreateModel(
            name='Incident',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('kind', models.CharField(choices=[('gasping', 'fish gasping'), ('stopped', 'pump or air stopped'), ('power', 'power out'), ('level', 'leak or level falling'), ('dead', 'dead fish'), ('water', 'water turned'), ('hurt', 'somebody hurt, or water on electrics'), ('other', 'something else')], max_length=12)),
                ('state', models.CharField(choices=[('open', 'open'), ('watching', 'being watched'), ('closed', 'closed')], default='open', max_length=10)),
                ('opened_at', models.DateTimeField()),
                ('opened_by', models.CharField(max_length=160)),
                ('caller', models.CharField(blank=True, max_length=120)),
                ('said', models.TextField(blank=True, max_length=2000)),
                ('answers', models.JSONField(blank=True, default=dict)),
                ('cause', models.CharField(blank=True, choices=[('power', 'power cut'), ('air', 'air failed'), ('pump', 'pump failed'), ('blocked', 'blocked intake, screen or filter'), ('leak', 'leak or open valve'), ('added', 'water or a chemical added'), ('feed', 'too much feed, or too many fish'), ('heat', 'heat'), ('cold', 'cold'), ('storm', 'storm or rain'), ('disease', 'disease suspected'), ('ours', 'our own work'), ('nothing', 'nothing was wrong'), ('unknown', 'not known')], max_length=10)),
                ('cause_words', models.CharField(blank=True, max_length=400)),
                ('outcome', models.TextField(blank=True, max_length=2000)),
                ('fish_lost', models.PositiveIntegerField(blank=True, null=True)),
                ('closed_at', models.DateTimeField(blank=True, null=True)),
                ('rev', models.PositiveIntegerField(default=1)),
                ('system', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='incidents', to='systems.system')),
                ('visit', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='incidents', to='visits.visit')),
            ],
            options={
                'ordering': ['-opened_at'],
            },
        ),
        migrations.CreateModel(
            name='IncidentNote',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=160)),
                ('kind', models.CharField(choices=[('note', 'note'), ('answer', 'answer'), ('act', 'what was done')], default='note', max_length=8)),
                ('text', models.TextField(blank=True, max_length=4000)),
                ('what', models.JSONField(blank=True, default=dict)),
                ('incident', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='notes', to='incidents.incident')),
            ],
            options={
                'ordering': ['at', 'id'],
            },
        ),
        migrations.CreateModel(
            name='PutOff',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('was', models.DateTimeField()),
                ('now', models.DateTimeField(blank=True, null=True)),
                ('at', models.DateTimeField()),
                ('incident', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='put_off', to='incidents.incident')),
                ('visit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='put_off', to='visits.visit')),
            ],
            options={
                'ordering': ['was'],
            },
        ),
        migrations.AddIndex(
            model_name='incident',
            index=models.Index(condition=models.Q(('state', 'closed'), _negated=True), fields=['opened_at'], name='incident_open'),
        ),
        migrations.AddIndex(
            model_name='incident',
            index=models.Index(fields=['system', 'opened_at'], name='incident_of_system'),
        ),
        migrations.AddConstraint(
            model_name='incident',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['gasping', 'stopped', 'power', 'level', 'dead', 'water', 'hurt', 'other'])), name='incident_kind_known', violation_error_message='kind must be one of the listed words'),
        ),
        migrations.AddConstraint(
            model_name='incident',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['open', 'watching', 'closed'])), name='incident_state_known', violation_error_message='state must be one of the listed words'),
        ),
        migrations.AddConstraint(
            model_name='incident',
            constraint=models.CheckConstraint(condition=models.Q(('cause__in', ['', 'power', 'air', 'pump', 'blocked', 'leak', 'added', 'feed', 'heat', 'cold', 'storm', 'disease', 'ours', 'nothing', 'unknown'])), name='incident_cause_known'),
        ),
        migrations.AddConstraint(
            model_name='incident',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'closed'), _negated=True), models.Q(('closed_at__isnull', False), models.Q(('cause', ''), _negated=True), models.Q(('outcome', ''), _negated=True)), _connector='OR'), name='incident_closed_with_words', violation_error_message='an incident closes with its cause and its outcome'),
        ),
        migrations.AddConstraint(
            model_name='incident',
            constraint=models.CheckConstraint(condition=models.Q(('state', 'closed'), ('closed_at__isnull', True), _connector='OR'), name='incident_open_has_no_end'),
        ),
        migrations.AddConstraint(
            model_name='incident',
            constraint=models.CheckConstraint(condition=models.Q(('closed_at__gte', models.F('opened_at')), ('opened_at__isnull', True), ('closed_at__isnull', True), _connector='OR'), name='incident_times', violation_error_message='closed_at must come after opened_at'),
        ),
        migrations.AddIndex(
            model_name='incidentnote',
            index=models.Index(fields=['incident', 'at'], name='incident_notes'),
        ),
        migrations.AddConstraint(
            model_name='incidentnote',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['note', 'answer', 'act'])), name='incident_note_kind_known', violation_error_message='kind must be one of the listed words'),
        ),
        migrations.AddConstraint(
            model_name='incidentnote',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind', 'note'), _negated=True), models.Q(('text', ''), _negated=True), _connector='OR'), name='incident_note_says_something'),
        ),
        migrations.AddConstraint(
            model_name='putoff',
            constraint=models.CheckConstraint(condition=models.Q(('now__isnull', True), ('now__gt', models.F('was')), _connector='OR'), name='put_off_is_later'),
        ),
        migrations.AddConstraint(
            model_name='putoff',
            constraint=models.UniqueConstraint(fields=('incident', 'visit'), name='put_off_once'),
        ),
    ]
