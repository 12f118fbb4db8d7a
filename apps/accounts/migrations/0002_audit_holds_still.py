"""The audit can be added to, not changed."""

from django.db import migrations

from apps.core.triggers import append_only


class Migration(migrations.Migration):
    """Append-only audit."""

    dependencies = [("accounts", "0001_initial")]
    operations = [append_only("accounts_auditentry")]
