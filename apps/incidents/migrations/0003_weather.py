"""Weather that is coming: whom its list went to, and what they answered."""

import django.db.models.deletion
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('clients', '0001_initial'),
        ('incidents', '0002_notes_hold_still'),
        ('systems', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='WeatherWatch',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('kind', models.CharField(choices=[('heat', 'heat'), ('frost', 'frost'), ('storm', 'storm or power cut')], max_length=8)),
                ('words', models.CharField(blank=True, max_length=400)),
                ('made_at', models.DateTimeField()),
                ('by', models.CharField(max_length=160)),
            ],
            options={
                'ordering': ['-made_at'],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['heat', 'frost', 'storm'])), name='weather_kind_known', violation_error_message='kind must be one of the listed words')],
            },
        ),
        migrations.CreateModel(
            name='WeatherAsk',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('reply', models.CharField(choices=[('none', 'no answer yet'), ('done', 'done'), ('help', 'needs help')], default='none', max_length=4)),
                ('words', models.CharField(blank=True, max_length=1000)),
                ('answered_at', models.DateTimeField(blank=True, null=True)),
                ('contact', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='weather_asks', to='clients.contact')),
                ('incident', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='weather_asks', to='incidents.incident')),
                ('systems', models.ManyToManyField(related_name='weather_asks', to='systems.system')),
                ('watch', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='asks', to='incidents.weatherwatch')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('reply__in', ['none', 'done', 'help'])), name='weather_reply_known', violation_error_message='reply must be one of the listed words'), models.UniqueConstraint(fields=('watch', 'contact'), name='weather_asked_once'), models.CheckConstraint(condition=models.Q(models.Q(('reply', 'help'), _negated=True), ('incident__isnull', False), _connector='OR'), name='weather_help_has_incident')],
            },
        ),
    ]
