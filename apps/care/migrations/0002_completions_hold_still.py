"""A completion can be added, not changed."""

from django.db import migrations

from apps.core.triggers import append_only


class Migration(migrations.Migration):
    """Append-only completions."""

    dependencies = [("care", "0001_initial")]
    operations = [append_only("care_completion")]
