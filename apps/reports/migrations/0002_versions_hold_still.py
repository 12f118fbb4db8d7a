"""What was reported and how letters fared can be added to, not changed."""

from django.db import migrations

from apps.core.triggers import append_only


class Migration(migrations.Migration):
    """Append-only versions, releases and delivery steps."""

    dependencies = [("reports", "0001_initial")]
    operations = [
        append_only("reports_reportversion"),
        append_only("reports_release"),
        append_only("reports_deliverystep"),
    ]
