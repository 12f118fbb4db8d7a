"""Calendars that are read by a secret address; links never opened any."""

import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

PURPOSES = ["page", "appointment"]
ONE_OWNER = models.Q(
    models.Q(("client_id__isnull", True), ("contact_id__isnull", True), ("user__isnull", False)),
    models.Q(("client_id__isnull", False), ("user__isnull", True)),
    _connector="OR",
)


class Migration(migrations.Migration):
    """A row a calendar, and no purpose of links that none has."""

    dependencies = [("accounts", "0004_whose_holidays")]

    operations = [
        migrations.CreateModel(
            name="CalendarFeed",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("client_id", models.UUIDField(blank=True, db_index=True, null=True)),
                ("contact_id", models.UUIDField(blank=True, null=True)),
                ("digest", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                ("read_at", models.DateTimeField(blank=True, null=True)),
                ("reads", models.PositiveIntegerField(default=0)),
                ("content", models.CharField(blank=True, max_length=64)),
                ("content_at", models.DateTimeField(blank=True, null=True)),
                (
                    "user",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="calendar_feeds",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(condition=ONE_OWNER, name="feed_has_one_owner")
                ]
            },
        ),
        migrations.RemoveConstraint(model_name="clientlink", name="link_purpose_known"),
        migrations.AlterField(
            model_name="clientlink",
            name="purpose",
            field=models.CharField(
                choices=[("page", "the client's page"), ("appointment", "one appointment")],
                max_length=12,
            ),
        ),
        migrations.AddConstraint(
            model_name="clientlink",
            constraint=models.CheckConstraint(
                condition=models.Q(("purpose__in", PURPOSES)),
                name="link_purpose_known",
                violation_error_message="purpose must be one of the listed words",
            ),
        ),
    ]
