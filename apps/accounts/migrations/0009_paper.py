"""What the firm prints on."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("accounts", "0008_letters_link"),
    ]

    operations = [
        migrations.AddField(
            model_name="firm",
            name="paper",
            field=models.CharField(
                choices=[("a4", "A4, 210 × 297 mm"), ("letter", "Letter, 8.5 × 11 in")],
                default="a4",
                max_length=6,
            ),
        ),
        migrations.AddConstraint(
            model_name="firm",
            constraint=models.CheckConstraint(
                condition=models.Q(("paper__in", ["a4", "letter"])),
                name="firm_paper_known",
                violation_error_message="paper must be one of the listed words",
            ),
        ),
    ]
