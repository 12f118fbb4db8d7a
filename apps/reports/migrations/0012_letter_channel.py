"""Letters that travel as a text message."""

from django.db import migrations, models

CHANNELS = [("mail", "mail"), ("text", "text message")]


class Migration(migrations.Migration):
    """How a letter travels; its address may be a telephone number."""

    dependencies = [("clients", "0007_contact_texts"), ("reports", "0011_notices")]

    operations = [
        migrations.AddField(
            "letter", "channel", models.CharField(choices=CHANNELS, default="mail", max_length=4)
        ),
        migrations.AlterField("letter", "address", models.CharField(max_length=254)),
        migrations.AddConstraint(
            model_name="letter",
            constraint=models.CheckConstraint(
                condition=models.Q(("channel__in", [code for code, _words in CHANNELS])),
                name="letter_channel_known",
                violation_error_message="channel must be one of the listed words",
            ),
        ),
    ]
