"""The country and the part of it whose holidays the firm keeps."""

from django.db import migrations, models


class Migration(migrations.Migration):
    """Two codes of the firm."""

    dependencies = [("accounts", "0003_closures")]

    operations = [
        migrations.AddField(
            model_name="firm",
            name="country",
            field=models.CharField(blank=True, max_length=2),
        ),
        migrations.AddField(
            model_name="firm",
            name="subdivision",
            field=models.CharField(blank=True, max_length=6),
        ),
        migrations.AddConstraint(
            model_name="firm",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("subdivision", ""),
                    models.Q(("country", ""), _negated=True),
                    _connector="OR",
                ),
                name="firm_part_of_a_country",
            ),
        ),
    ]
