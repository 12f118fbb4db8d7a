"""Photos of what a figure was read from."""

import django.db.models.deletion
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('visits', '0007_call_way'),
    ]

    operations = [
        migrations.CreateModel(
            name='ReadingPhoto',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('screen', models.CharField(max_length=160)),
                ('small', models.CharField(max_length=160)),
                ('sha256', models.CharField(max_length=64)),
                ('width', models.PositiveIntegerField()),
                ('height', models.PositiveIntegerField()),
                ('reading', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='photo', to='visits.reading')),
            ],
            options={
                'abstract': False,
            },
        ),
    ]
