"""A count of feed can be added, not changed."""

from django.db import migrations

from apps.core.triggers import append_only


class Migration(migrations.Migration):
    """Append-only counts of feed."""

    dependencies = [("care", "0013_feed_counts")]
    operations = [append_only("care_feedcount")]
