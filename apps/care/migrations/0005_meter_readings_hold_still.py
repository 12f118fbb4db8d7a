"""A reading of a meter can be added, not changed."""

from django.db import migrations

from apps.core.triggers import append_only


class Migration(migrations.Migration):
    """Append-only readings of meters."""

    dependencies = [("care", "0004_meter_readings")]
    operations = [append_only("care_meterreading")]
