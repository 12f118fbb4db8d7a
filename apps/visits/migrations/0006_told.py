"""When a client who wants no question was told of a visit."""

from django.db import migrations, models


class Migration(migrations.Migration):
    """One time; without a default, so that the table and its triggers stay as they are."""

    dependencies = [("visits", "0005_phone_remarks")]

    operations = [
        migrations.AddField(
            model_name="visit",
            name="told_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
    ]
