"""An accepted or dropped plan of rounds holds still: it says what was decided on what."""

from django.db import migrations

from apps.core.triggers import still


class Migration(migrations.Migration):
    """Triggers on the plans."""

    dependencies = [("rounds", "0001_initial")]
    operations = [
        still(
            "rounds_roundplan",
            "{row}.state IN ('accepted', 'dropped')",
            "the plan has ended; plan anew",
            inserts=False,
        ),
    ]
