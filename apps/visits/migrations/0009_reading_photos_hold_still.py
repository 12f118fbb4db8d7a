"""A photo of what a figure was read from holds still as the reading does."""

from django.db import migrations

from apps.core.triggers import append_only


class Migration(migrations.Migration):
    """Append-only photos of readings."""

    dependencies = [("visits", "0008_reading_photos")]
    operations = [append_only("visits_readingphoto")]
