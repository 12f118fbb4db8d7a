"""Which phone an access token works on."""

from django.db import migrations, models


class Migration(migrations.Migration):
    """The mark of a phone, empty until one is heard from with the token."""

    dependencies = [("accounts", "0006_quiet_hours")]

    operations = [
        migrations.AddField(
            model_name="accesstoken",
            name="phone",
            field=models.UUIDField(blank=True, null=True),
        ),
    ]
