"""The withdrawal of a counter's reading can be added, not changed."""

from django.db import migrations

from apps.core.triggers import append_only


class Migration(migrations.Migration):
    """Append-only withdrawals."""

    dependencies = [("care", "0009_meter_withdrawals")]
    operations = [append_only("care_meterwithdrawal")]
