"""Advice that the office gives between visits has no sheet."""

import django.db.models.deletion
from django.db import migrations, models

from apps.core.triggers import still

SHEET = (
    "EXISTS (SELECT 1 FROM visits_sheet s JOIN visits_visit v ON v.id = s.visit_id "
    "WHERE s.id = {row}.sheet_id AND v.state = 'reported')"
)
HELD = still(
    "advice_advice",
    SHEET,
    "the visit is reported; make a correction instead",
    columns="sheet_id, system_id, loop_id, rule, urgency, who, by_at, dose, unit, "
    "parameters, made_at, decision, decision_text, decision_reason",
)


class Migration(migrations.Migration):
    """A column that may be empty; its table's triggers are made anew, since SQLite drops them."""

    dependencies = [("advice", "0002_reported_advice_holds_still")]
    operations = [
        migrations.RunPython(HELD.reverse_code, HELD.code),
        migrations.AlterField(
            model_name="advice",
            name="sheet",
            field=models.ForeignKey(
                blank=True, null=True, on_delete=django.db.models.deletion.PROTECT,
                related_name="advice", to="visits.sheet",
            ),
        ),  # fmt: skip
        HELD,
    ]
