"""Clients who want to be told of appointments, not asked."""

from django.db import migrations, models


class Migration(migrations.Migration):
    """One flag."""

    dependencies = [("clients", "0001_initial")]

    operations = [
        migrations.AddField(
            model_name="client",
            name="just_tell",
            field=models.BooleanField(default=False),
        ),
    ]
