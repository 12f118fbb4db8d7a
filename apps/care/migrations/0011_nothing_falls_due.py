"""A visit with nothing due is asked about in words that leave room for what each visit does."""

from django.db import migrations, models


class Migration(migrations.Migration):
    """Only the words of a choice change."""

    dependencies = [
        ("care", "0010_meter_withdrawals_hold_still"),
    ]

    operations = [
        migrations.AlterField(
            model_name="dayquestion",
            name="reason",
            field=models.CharField(
                choices=[
                    ("day_closed", "nobody is sent out, or nobody may come, on this day"),
                    ("nothing_due", "nothing falls due on this day"),
                    ("fewer_visits", "on another day it would save a visit"),
                ],
                max_length=16,
            ),
        ),
    ]
