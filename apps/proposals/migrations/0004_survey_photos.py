"""Photos of a site."""

import uuid

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    """One table more."""

    dependencies = [("proposals", "0003_sent")]

    operations = [
        migrations.CreateModel(
            name="SurveyPhoto",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("number", models.PositiveSmallIntegerField()),
                ("caption", models.CharField(blank=True, max_length=200)),
                ("screen", models.CharField(max_length=160)),
                ("small", models.CharField(max_length=160)),
                ("sha256", models.CharField(max_length=64)),
                ("width", models.PositiveIntegerField()),
                ("height", models.PositiveIntegerField()),
                ("kept_at", models.DateTimeField()),
                ("kept_by", models.CharField(max_length=160)),
                (
                    "survey",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="photos",
                        to="proposals.sitesurvey",
                    ),
                ),
            ],
            options={
                "ordering": ["number"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("survey", "number"), name="survey_photo_numbers"
                    )
                ],
            },
        ),
    ]
