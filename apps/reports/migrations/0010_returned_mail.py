"""Addresses that get no letters, and which mails of the mailbox of returned mail were read."""

import uuid

import django.db.models.deletion
from django.db import migrations, models

WHY = [("bounced", "its mail came back"), ("complained", "marked as spam")]


class Migration(migrations.Migration):
    """Returned mail."""

    dependencies = [("reports", "0009_letter_tries")]

    operations = [
        migrations.AddField(
            "mailserver", "mailbox_read_at", models.DateTimeField(blank=True, null=True)
        ),
        migrations.AddField(
            "mailserver", "mailbox_failing_since", models.DateTimeField(blank=True, null=True)
        ),
        migrations.AddField("mailserver", "mailbox_error", models.TextField(blank=True, default="")),
        migrations.CreateModel(
            name="ReturnedMail",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("mark", models.CharField(max_length=120, unique=True)),
                ("at", models.DateTimeField()),
                ("meant", models.BooleanField(default=False)),
            ],
        ),
        migrations.CreateModel(
            name="BlockedAddress",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("address", models.CharField(max_length=254, unique=True)),
                ("why", models.CharField(choices=WHY, max_length=10)),
                ("words", models.CharField(blank=True, max_length=400)),
                ("since", models.DateTimeField()),
                ("seen_at", models.DateTimeField(blank=True, null=True)),
                (
                    "letter",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to="reports.letter",
                    ),
                ),
            ],
            options={
                "ordering": ["-since"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("why__in", ["bounced", "complained"])),
                        name="blocked_why_known",
                        violation_error_message="why must be one of the listed words",
                    )
                ],
            },
        ),
    ]
