"""The time zone of a contact who lives by another clock than the firm."""

from django.db import migrations, models

import apps.clients.models


class Migration(migrations.Migration):
    """One name; empty: the firm's."""

    dependencies = [("clients", "0002_just_tell")]

    operations = [
        migrations.AddField(
            model_name="contact",
            name="time_zone",
            field=models.CharField(
                blank=True, max_length=64, validators=[apps.clients.models.zone_check]
            ),
        ),
    ]
