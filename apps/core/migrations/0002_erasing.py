import django.db.models.deletion
from django.db import migrations, models

from apps.core.triggers import let_go_while_erasing


class Migration(migrations.Migration):
    """What triggers hold still can be deleted by a transaction that says that it erases."""

    dependencies = [
        ("core", "0001_initial"),
        # all that have triggers
        ("accounts", "0009_paper"),
        ("advice", "0003_advice_between_visits"),
        ("care", "0011_nothing_falls_due"),
        ("incidents", "0005_photos_hold_still"),
        ("proposals", "0004_survey_photos"),
        ("reports", "0015_letter_help"),
        ("rounds", "0009_area_technician"),
        ("visits", "0009_reading_photos_hold_still"),
    ]

    operations = [
        migrations.CreateModel(
            name="Erasing",
            fields=[
                ("id", models.PositiveSmallIntegerField(default=1, primary_key=True, serialize=False)),
                ("never", models.ForeignKey(default=2, on_delete=django.db.models.deletion.DO_NOTHING, related_name="+", to="core.erasing")),
            ],
            options={
                "constraints": [models.CheckConstraint(condition=models.Q(("id", 1), ("never", 2)), name="erasing_one_row")],
            },
        ),
        let_go_while_erasing(),
    ]
