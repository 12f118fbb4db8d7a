"""A photo that came with a note holds still as the note does."""

from django.db import migrations

from apps.core.triggers import append_only


class Migration(migrations.Migration):
    """Append-only photos."""

    dependencies = [("incidents", "0004_photos")]
    operations = [append_only("incidents_incidentphoto")]
