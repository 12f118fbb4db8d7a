"""Standing appointments."""

import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    """The table of what is agreed, and which visit day goes by it."""

    dependencies = [
        ("care", "0006_visit_days"),
        ("clients", "0002_just_tell"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="StandingAppointment",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("rrule", models.CharField(max_length=200)),
                ("first", models.DateField()),
                ("last", models.DateField(blank=True, null=True)),
                ("starts", models.TimeField()),
                ("ends", models.TimeField()),
                ("made_at", models.DateTimeField()),
                (
                    "place",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="standing_appointments",
                        to="clients.place",
                    ),
                ),
                (
                    "technician",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.AddField(
            model_name="visitday",
            name="appointment",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to="care.standingappointment",
            ),
        ),
        migrations.AddConstraint(
            model_name="standingappointment",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("ends__gt", models.F("starts")),
                    ("starts__isnull", True),
                    ("ends__isnull", True),
                    _connector="OR",
                ),
                name="standing_appointment_times",
                violation_error_message="ends must come after starts",
            ),
        ),
        migrations.AddConstraint(
            model_name="standingappointment",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("last__gte", models.F("first")),
                    ("first__isnull", True),
                    ("last__isnull", True),
                    _connector="OR",
                ),
                name="standing_appointment_days",
                violation_error_message="last must come after first",
            ),
        ),
    ]
