"""Call-outs, hand-overs and summaries; the office's note and photos that it holds back."""

from django.db import migrations, models

from apps.core.triggers import append_only

HELD = append_only("reports_reportversion")


class Migration(migrations.Migration):
    """The triggers of versions are made anew, since SQLite drops them with the old table."""

    dependencies = [
        ("reports", "0012_letter_channel"),
        ("systems", "0001_initial"),
        ("visits", "0007_call_way"),
    ]

    operations = [
        migrations.RunPython(HELD.reverse_code, HELD.code),
        migrations.AddField(
            model_name="reportversion",
            name="lacks",
            field=models.JSONField(blank=True, default=list),
        ),
        HELD,
        migrations.RemoveConstraint(
            model_name="report",
            name="report_kind_known",
        ),
        migrations.AddField(
            model_name="report",
            name="held_back",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AddField(
            model_name="report",
            name="note",
            field=models.TextField(blank=True, max_length=2000),
        ),
        migrations.AlterField(
            model_name="report",
            name="kind",
            field=models.CharField(
                choices=[
                    ("visit", "visit"),
                    ("call_out", "call-out"),
                    ("hand_over", "hand-over"),
                    ("summary", "summary"),
                ],
                default="visit",
                max_length=10,
            ),
        ),
        migrations.AddConstraint(
            model_name="report",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind__in", ["visit", "call_out", "hand_over", "summary"])),
                name="report_kind_known",
                violation_error_message="kind must be one of the listed words",
            ),
        ),
    ]
