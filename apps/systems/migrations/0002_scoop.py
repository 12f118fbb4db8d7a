"""The scoop that a client feeds with."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("clients", "0005_place_on_earth"),
        ("systems", "0001_initial"),
    ]

    operations = [
        migrations.AddField(
            model_name="system",
            name="meals_a_day",
            field=models.PositiveSmallIntegerField(default=2),
        ),
        migrations.AddField(
            model_name="system",
            name="scoop_g",
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddConstraint(
            model_name="system",
            constraint=models.CheckConstraint(
                condition=models.Q(("scoop_g__gt", 0), ("scoop_g__isnull", True), _connector="OR"),
                name="system_scoop",
                violation_error_message="scoop_g must not be negative",
            ),
        ),
        migrations.AddConstraint(
            model_name="system",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("meals_a_day__gt", 0), ("meals_a_day__isnull", True), _connector="OR"
                ),
                name="system_meals",
                violation_error_message="meals_a_day must not be negative",
            ),
        ),
    ]
