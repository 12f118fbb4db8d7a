"""Tasks by a rule of the calendar and by a meter."""

from django.db import migrations, models


class Migration(migrations.Migration):
    """Two more modes."""

    dependencies = [("care", "0002_completions_hold_still")]

    operations = [
        migrations.RemoveConstraint(
            model_name="caretask",
            name="task_mode_built",
        ),
        migrations.AlterField(
            model_name="caretask",
            name="mode",
            field=models.CharField(
                choices=[
                    ("after_done", "some time after it was done"),
                    ("fixed", "on fixed days"),
                    ("calendar", "by a rule of the calendar"),
                    ("once", "once"),
                    ("every_visit", "at every visit"),
                    ("condition", "after a reading"),
                    ("meter", "by a meter"),
                    ("forecast", "by the forecast"),
                ],
                default="after_done",
                max_length=12,
            ),
        ),
        migrations.AddConstraint(
            model_name="caretask",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    (
                        "mode__in",
                        [
                            "after_done",
                            "fixed",
                            "calendar",
                            "once",
                            "every_visit",
                            "condition",
                            "meter",
                        ],
                    )
                ),
                name="task_mode_built",
                violation_error_message="mode: rules by a forecast are not built yet",
            ),
        ),
    ]
