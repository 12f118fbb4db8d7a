"""Why no plan came of it is a code with what fills its sentence: the words go."""

from django.db import migrations, models

from apps.core.triggers import still

HELD = still(
    "rounds_roundplan",
    "{row}.state IN ('accepted', 'dropped')",
    "the plan has ended; plan anew",
    inserts=False,
)


class Migration(migrations.Migration):
    """The old column goes, and ended plans hold still again."""

    dependencies = [("rounds", "0007_failures_coded")]
    operations = [
        migrations.RemoveField(model_name="roundplan", name="failed_because"),
        migrations.AddConstraint(
            model_name="roundplan",
            constraint=models.CheckConstraint(
                condition=models.Q(("failed_code__in", ["", "judge", "refused", "broke_off"])),
                name="plan_failed_code_known",
            ),
        ),
        HELD,
    ]
