"""Hours in which letters to clients wait."""

import datetime

from django.db import migrations, models


class Migration(migrations.Migration):
    """Two times of day of the firm."""

    dependencies = [("accounts", "0005_calendar_feeds")]

    operations = [
        migrations.AddField(
            model_name="firm",
            name="quiet_from",
            field=models.TimeField(default=datetime.time(20, 0)),
        ),
        migrations.AddField(
            model_name="firm",
            name="quiet_until",
            field=models.TimeField(default=datetime.time(7, 30)),
        ),
    ]
