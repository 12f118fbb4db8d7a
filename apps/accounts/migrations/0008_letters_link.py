"""Links on which a reader chooses their letters, and after how long a quiet client is asked."""

from django.db import migrations, models

PURPOSES = [
    ("page", "the client's page"),
    ("appointment", "one appointment"),
    ("letters", "which letters somebody gets"),
]


class Migration(migrations.Migration):
    """One more purpose of a link, one more setting of the firm."""

    dependencies = [("accounts", "0007_token_phone")]

    operations = [
        migrations.AddField(
            "firm", "quiet_client_days", models.PositiveSmallIntegerField(default=60)
        ),
        migrations.RemoveConstraint(model_name="clientlink", name="link_purpose_known"),
        migrations.AlterField(
            "clientlink", "purpose", models.CharField(choices=PURPOSES, max_length=12)
        ),
        migrations.AddConstraint(
            model_name="clientlink",
            constraint=models.CheckConstraint(
                condition=models.Q(("purpose__in", [code for code, _words in PURPOSES])),
                name="link_purpose_known",
                violation_error_message="purpose must be one of the listed words",
            ),
        ),
    ]
