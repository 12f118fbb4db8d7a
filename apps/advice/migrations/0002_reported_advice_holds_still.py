"""What was advised in a reported visit holds still; that it was done later is noted beside it."""

from django.db import migrations

from apps.core.triggers import still

SHEET = (
    "EXISTS (SELECT 1 FROM visits_sheet s JOIN visits_visit v ON v.id = s.visit_id "
    "WHERE s.id = {row}.sheet_id AND v.state = 'reported')"
)


class Migration(migrations.Migration):
    """Trigger on advice."""

    dependencies = [("advice", "0001_initial"), ("visits", "0003_no_double_booking")]
    operations = [
        still(
            "advice_advice",
            SHEET,
            "the visit is reported; make a correction instead",
            columns="sheet_id, system_id, loop_id, rule, urgency, who, by_at, dose, unit, "
            "parameters, made_at, decision, decision_text, decision_reason",
        )
    ]
