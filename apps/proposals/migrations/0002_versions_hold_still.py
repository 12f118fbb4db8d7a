"""What a client was shown can be added to, not changed."""

from django.db import migrations

from apps.core.triggers import append_only


class Migration(migrations.Migration):
    """Append-only versions of proposals."""

    dependencies = [("proposals", "0001_initial")]
    operations = [append_only("proposals_proposalversion")]
