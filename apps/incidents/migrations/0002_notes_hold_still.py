"""A note of an incident can be added, not changed."""

from django.db import migrations

from apps.core.triggers import append_only


class Migration(migrations.Migration):
    """Append-only notes."""

    dependencies = [("incidents", "0001_initial")]
    operations = [append_only("incidents_incidentnote")]
