"""Notices: what a contact was told of once, and the kinds of letters that tell it."""

import uuid

import django.db.models.deletion
from django.db import migrations, models

KINDS = [
    ("report", "report"),
    ("appointment", "appointment"),
    ("called_off", "appointment called off"),
    ("reminder", "reminder"),
    ("due_list", "due list for the office"),
    ("check_in", "somebody who works alone"),
    ("running_late", "we come later"),
    ("weather", "list for a weather"),
    ("times", "times to choose from"),
    ("on_my_way", "somebody is on the way"),
    ("overdue", "something is past its day"),
    ("quiet", "how it goes"),
    ("low_stock", "something runs out"),
    ("renewal", "the agreement ends"),
    ("several", "several notices"),
    ("own", "our own words"),
]


class Migration(migrations.Migration):
    """Six more kinds, and one row for each thing told."""

    dependencies = [("clients", "0006_contact_choice"), ("reports", "0010_returned_mail")]

    operations = [
        migrations.RemoveConstraint(model_name="letter", name="letter_kind_known"),
        migrations.AlterField(
            "letter", "kind", models.CharField(choices=KINDS, max_length=12)
        ),
        migrations.AddConstraint(
            model_name="letter",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind__in", [code for code, _words in KINDS])),
                name="letter_kind_known",
                violation_error_message="kind must be one of the listed words",
            ),
        ),
        migrations.CreateModel(
            name="Notice",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("key", models.CharField(max_length=160)),
                ("at", models.DateTimeField()),
                (
                    "contact",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="notices",
                        to="clients.contact",
                    ),
                ),
                (
                    "letter",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="notices",
                        to="reports.letter",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("contact", "key"), name="notice_once")
                ]
            },
        ),
    ]
