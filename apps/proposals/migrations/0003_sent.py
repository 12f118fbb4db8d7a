"""Versions that were sent to clients, what clients write to them, and who gave the answer."""

import uuid

import django.db.models.deletion
from django.db import migrations, models

from apps.core.triggers import append_only


class Migration(migrations.Migration):
    """What was sent can be added to, not changed."""

    dependencies = [("clients", "0007_contact_texts"), ("proposals", "0002_versions_hold_still")]

    operations = [
        migrations.AddField(
            model_name="proposal",
            name="answered_by",
            field=models.CharField(blank=True, max_length=160),
        ),
        migrations.CreateModel(
            name="Sending",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("at", models.DateTimeField()),
                ("by", models.CharField(max_length=160)),
                (
                    "version",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sending",
                        to="proposals.proposalversion",
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="ProposalWord",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[("wanted", "would like this"), ("question", "has a question")],
                        max_length=8,
                    ),
                ),
                ("words", models.TextField(blank=True, max_length=1000)),
                ("at", models.DateTimeField()),
                ("seen_at", models.DateTimeField(blank=True, null=True)),
                ("seen_by", models.CharField(blank=True, max_length=160)),
                (
                    "contact",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to="clients.contact",
                    ),
                ),
                (
                    "version",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="words_said",
                        to="proposals.proposalversion",
                    ),
                ),
            ],
            options={
                "ordering": ["at", "id"],
                "indexes": [models.Index(fields=["version", "at"], name="proposal_words")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["wanted", "question"])),
                        name="proposal_word_known",
                        violation_error_message="kind must be one of the listed words",
                    )
                ],
            },
        ),
        append_only("proposals_sending"),
    ]
