"""How a word was had with a client: by telephone, by a message, in person."""

from django.db import migrations, models

WAYS = [("call", "call"), ("message", "message"), ("met", "in person")]


class Migration(migrations.Migration):
    """One column; what was noted until now were calls."""

    dependencies = [("visits", "0006_told")]

    operations = [
        migrations.AddField(
            "callnote", "way", models.CharField(choices=WAYS, default="call", max_length=8)
        ),
        migrations.AddConstraint(
            model_name="callnote",
            constraint=models.CheckConstraint(
                condition=models.Q(("way__in", [code for code, _words in WAYS])),
                name="call_way_known",
                violation_error_message="way must be one of the listed words",
            ),
        ),
    ]
