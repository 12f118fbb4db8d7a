"""What was offered and how it ended holds still; nobody is held twice at once (PostgreSQL)."""

from django.db import migrations

from apps.core.triggers import still


def forwards(_apps, editor):
    """Add the exclusion constraint; SQLite checks while it alone writes."""
    if editor.connection.vendor != "postgresql":
        return
    editor.execute("CREATE EXTENSION IF NOT EXISTS btree_gist")
    editor.execute(
        "ALTER TABLE rounds_hold ADD CONSTRAINT hold_no_overlap EXCLUDE USING gist "
        '(user_id WITH =, tstzrange("start", "end") WITH &&) WHERE (holds)'
    )


def backwards(_apps, editor):
    """Drop it."""
    if editor.connection.vendor == "postgresql":
        editor.execute("ALTER TABLE rounds_hold DROP CONSTRAINT hold_no_overlap")


class Migration(migrations.Migration):
    """Triggers on the offers, their times and what they hold."""

    dependencies = [("rounds", "0003_times_offered")]
    operations = [
        migrations.RunPython(forwards, backwards),
        still(
            "rounds_timesoffered", "{row}.state <> 'open'",
            "the offer has ended; make another one", inserts=False,
        ),
        still(
            "rounds_timeoffered", "{row}.state <> 'held'",
            "this time is held no more; make another offer", inserts=False,
        ),
        still(
            "rounds_hold", "NOT {row}.holds",
            "this time is held no more; make another offer", inserts=False,
        ),
    ]  # fmt: skip
