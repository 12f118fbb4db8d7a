"""Letters that wait for the end of quiet hours, and those that a later one took the place of."""

from django.db import migrations, models

STATES = ["queued", "sending", "sent", "unsure", "failed", "replaced"]
CHOICES = [
    ("queued", "waiting"),
    ("sending", "being sent"),
    ("sent", "sent"),
    ("unsure", "unsure"),
    ("failed", "failed"),
    ("replaced", "a later letter went instead"),
]


class Migration(migrations.Migration):
    """A time before which a letter does not go out, and one more state."""

    dependencies = [("reports", "0007_letter_on_my_way")]

    operations = [
        migrations.AddField(
            model_name="letter",
            name="not_before",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.RemoveConstraint(model_name="letter", name="letter_state_known"),
        migrations.AlterField(
            model_name="letter",
            name="state",
            field=models.CharField(choices=CHOICES, default="queued", max_length=8),
        ),
        migrations.AlterField(
            model_name="deliverystep",
            name="state",
            field=models.CharField(choices=CHOICES, max_length=8),
        ),
        migrations.AddConstraint(
            model_name="letter",
            constraint=models.CheckConstraint(
                condition=models.Q(("state__in", STATES)),
                name="letter_state_known",
                violation_error_message="state must be one of the listed words",
            ),
        ),
    ]
