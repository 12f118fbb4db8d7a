"""What a contact chooses: how reports come to them, and whether notices do."""

from django.db import migrations, models

CHOICES = [
    ("attached", "with the report attached"),
    ("link", "with a link to the report"),
    ("paused", "not for now"),
]


class Migration(migrations.Migration):
    """Two choices; as it was until now for everybody who is there."""

    dependencies = [("clients", "0005_place_on_earth")]

    operations = [
        migrations.AddField(
            "contact",
            "reports_as",
            models.CharField(choices=CHOICES, default="attached", max_length=8),
        ),
        migrations.AddField("contact", "gets_notices", models.BooleanField(default=True)),
        migrations.AddConstraint(
            model_name="contact",
            constraint=models.CheckConstraint(
                condition=models.Q(("reports_as__in", [code for code, _words in CHOICES])),
                name="contact_reports_as_known",
                violation_error_message="reports_as must be one of the listed words",
            ),
        ),
    ]
