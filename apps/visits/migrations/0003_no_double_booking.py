"""One technician cannot be at two visits at once (PostgreSQL; SQLite checks while it alone writes)."""

from django.db import migrations


def forwards(_apps, editor):
    """Add the exclusion constraint."""
    if editor.connection.vendor != "postgresql":
        return
    editor.execute("CREATE EXTENSION IF NOT EXISTS btree_gist")
    editor.execute(
        "ALTER TABLE visits_assignment ADD CONSTRAINT assignment_no_overlap EXCLUDE USING gist "
        '(user_id WITH =, tstzrange("start", "end") WITH &&) WHERE (holds)'
    )


def backwards(_apps, editor):
    """Drop it."""
    if editor.connection.vendor == "postgresql":
        editor.execute("ALTER TABLE visits_assignment DROP CONSTRAINT assignment_no_overlap")


class Migration(migrations.Migration):
    """No double booking."""

    dependencies = [("visits", "0002_rows_hold_still")]
    operations = [migrations.RunPython(forwards, backwards)]
