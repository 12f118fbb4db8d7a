"""Whether a contact gets text messages."""

from django.db import migrations, models


class Migration(migrations.Migration):
    """One choice; nobody gets any until somebody says so."""

    dependencies = [("clients", "0006_contact_choice")]

    operations = [
        migrations.AddField("contact", "gets_texts", models.BooleanField(default=False)),
        migrations.AddConstraint(
            model_name="contact",
            constraint=models.CheckConstraint(
                condition=models.Q(("gets_texts", False), models.Q(("phone", ""), _negated=True), _connector="OR"),
                name="contact_texts_need_phone",
                violation_error_message="text messages need a telephone number",
            ),
        ),
    ]
