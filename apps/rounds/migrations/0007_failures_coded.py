"""Why no plan came of it becomes a code with what fills its sentence: the rows."""

from django.db import migrations


def coded(apps, _editor):
    """Keep the words that were written as a sentence without gaps."""
    plans = apps.get_model("rounds", "RoundPlan").objects
    for row in plans.exclude(failed_because="").iterator():
        row.failed_code = "refused"
        row.failed_params = {"text": row.failed_because, "params": {}}
        row.save(update_fields=["failed_code", "failed_params"])


def worded(apps, _editor):
    """Write the sentence back, in English."""
    plans = apps.get_model("rounds", "RoundPlan").objects
    for row in plans.exclude(failed_code="").iterator():
        said = row.failed_params
        text = said["text"].format(**said["params"]) if said.get("params") else said.get("text", "")
        row.failed_because = (text or "The planning broke off; plan anew.")[:1000]
        row.save(update_fields=["failed_because"])


class Migration(migrations.Migration):
    """Data alone."""

    dependencies = [("rounds", "0006_failure_in_codes")]
    operations = [migrations.RunPython(coded, worded)]
