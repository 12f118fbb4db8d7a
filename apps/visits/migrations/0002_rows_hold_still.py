"""Readings, findings, operations and steps are append-only; a reported visit holds still."""

from django.db import migrations

from apps.core.triggers import append_only, still

VISIT = "EXISTS (SELECT 1 FROM visits_visit v WHERE v.id = {row}.visit_id AND v.state = 'reported')"
SHEET = (
    "EXISTS (SELECT 1 FROM visits_sheet s JOIN visits_visit v ON v.id = s.visit_id "
    "WHERE s.id = {row}.sheet_id AND v.state = 'reported')"
)
MESSAGE = "the visit is reported; make a correction instead"


class Migration(migrations.Migration):
    """Triggers on the rows of a visit."""

    dependencies = [("visits", "0001_initial")]
    operations = [
        append_only("visits_reading"),
        append_only("visits_finding"),
        append_only("visits_operation"),
        append_only("visits_visitstep"),
        still("visits_visit", "{row}.state = 'reported'", MESSAGE, inserts=False),
        still("visits_value", VISIT, MESSAGE),
        still("visits_sheet", VISIT, MESSAGE),
        still("visits_assignment", VISIT, MESSAGE),
        still("visits_line", SHEET, MESSAGE),
        still("visits_photo", SHEET, MESSAGE),
    ]
