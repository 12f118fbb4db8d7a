"""What phones brought that a person should look at."""

import django.db.models.deletion
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('visits', '0004_phones'),
    ]

    operations = [
        migrations.CreateModel(
            name='PhoneRemark',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('kind', models.CharField(choices=[('refused', 'could not be taken'), ('late', 'arrived after the report'), ('differs', 'worked out otherwise on the phone')], max_length=8)),
                ('device', models.CharField(max_length=60)),
                ('says', models.JSONField(blank=True, default=list)),
                ('made_at', models.DateTimeField()),
                ('seen_at', models.DateTimeField(blank=True, null=True)),
                ('seen_by', models.CharField(blank=True, max_length=160)),
                ('operation', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='remark', to='visits.operation')),
                ('refused', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='remark', to='visits.refusedoperation')),
                ('visit', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='phone_remarks', to='visits.visit')),
            ],
            options={
                'ordering': ['-made_at'],
                'indexes': [models.Index(condition=models.Q(('seen_at__isnull', True)), fields=['made_at'], name='phone_remark_waits')],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['refused', 'late', 'differs'])), name='phone_remark_kind_known', violation_error_message='kind must be one of the listed words')],
            },
        ),
    ]
