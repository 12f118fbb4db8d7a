"""Why no plan came of it becomes a code with what fills its sentence: the columns."""

from django.db import migrations, models

from apps.core.triggers import still

HELD = still(
    "rounds_roundplan",
    "{row}.state IN ('accepted', 'dropped')",
    "the plan has ended; plan anew",
    inserts=False,
)


class Migration(migrations.Migration):
    """New columns; plans that have ended may be written to until their words are gone."""

    dependencies = [("rounds", "0005_area_days")]
    operations = [
        migrations.RunPython(HELD.reverse_code, HELD.code),
        migrations.AddField(
            model_name="roundplan",
            name="failed_code",
            field=models.CharField(
                blank=True,
                choices=[
                    ("judge", "its judge found it wrong"),
                    ("refused", "the planner refused what it was given"),
                    ("broke_off", "the planning broke off"),
                ],
                default="",
                max_length=10,
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name="roundplan",
            name="failed_params",
            field=models.JSONField(blank=True, default=dict),
        ),
    ]
