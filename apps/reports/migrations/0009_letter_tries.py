"""How a letter is tried: since when, when next, and whether its sender had begun; the mail server."""

from django.db import migrations, models

STATES = [
    "queued", "sending", "sent", "unsure", "failed", "replaced", "returned", "withheld",
]  # fmt: skip
CHOICES = [
    ("queued", "waiting"),
    ("sending", "being sent"),
    ("sent", "sent"),
    ("unsure", "unsure"),
    ("failed", "failed"),
    ("replaced", "a later letter went instead"),
    ("returned", "came back"),
    ("withheld", "not sent"),
]


class Migration(migrations.Migration):
    """What backoff, the pause and the restart after a crash rest on, and two more states."""

    dependencies = [("reports", "0008_letter_not_before")]

    operations = [
        migrations.AddField("letter", "at_once", models.BooleanField(default=False)),
        migrations.AddField("letter", "job", models.CharField(blank=True, default="", max_length=200)),
        migrations.AddField("letter", "tried_from", models.DateTimeField(blank=True, null=True)),
        migrations.AddField("letter", "next_try", models.DateTimeField(blank=True, null=True)),
        # a letter under way during the change counts as handed over: never twice by accident
        migrations.AddField("letter", "preparing", models.BooleanField(default=False)),
        migrations.RemoveConstraint(model_name="letter", name="letter_state_known"),
        migrations.AlterField(
            "letter", "state", models.CharField(choices=CHOICES, default="queued", max_length=8)
        ),
        migrations.AlterField(
            "deliverystep", "state", models.CharField(choices=CHOICES, max_length=8)
        ),
        migrations.AddConstraint(
            model_name="letter",
            constraint=models.CheckConstraint(
                condition=models.Q(("state__in", STATES)),
                name="letter_state_known",
                violation_error_message="state must be one of the listed words",
            ),
        ),
        migrations.CreateModel(
            name="MailServer",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("failures", models.PositiveIntegerField(default=0)),
                ("away_since", models.DateTimeField(blank=True, null=True)),
                ("paused_until", models.DateTimeField(blank=True, null=True)),
                ("last_error", models.TextField(blank=True)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("id", 1)), name="mail_server_one_row")
                ]
            },
        ),
    ]
