"""What counters show."""

import uuid

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    """The table of readings."""

    dependencies = [("care", "0003_calendar_and_meter_rules"), ("systems", "0001_initial")]

    operations = [
        migrations.CreateModel(
            name="MeterReading",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                (
                    "meter",
                    models.CharField(
                        choices=[
                            ("run_hours", "hours run"),
                            ("feed_g", "grams of feed"),
                            ("litres", "litres"),
                        ],
                        max_length=12,
                    ),
                ),
                ("value", models.FloatField()),
                ("taken_on", models.DateField()),
                ("is_reset", models.BooleanField(default=False)),
                ("by", models.CharField(blank=True, max_length=160)),
                ("visit_id", models.UUIDField(blank=True, db_index=True, null=True)),
                ("made_at", models.DateTimeField()),
                (
                    "component",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="meter_readings",
                        to="systems.component",
                    ),
                ),
                (
                    "loop",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="meter_readings",
                        to="systems.loop",
                    ),
                ),
                (
                    "system",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="meter_readings",
                        to="systems.system",
                    ),
                ),
            ],
        ),
        migrations.AddIndex(
            model_name="meterreading",
            index=models.Index(
                fields=["system", "meter", "taken_on"], name="meter_reading_of_system"
            ),
        ),
        migrations.AddConstraint(
            model_name="meterreading",
            constraint=models.CheckConstraint(
                condition=models.Q(("meter__in", ["run_hours", "feed_g", "litres"])),
                name="meter_reading_meter_known",
                violation_error_message="meter must be one of the listed words",
            ),
        ),
        migrations.AddConstraint(
            model_name="meterreading",
            constraint=models.CheckConstraint(
                condition=models.Q(("value__gte", 0), ("value__isnull", True), _connector="OR"),
                name="meter_reading_value",
                violation_error_message="value must not be negative",
            ),
        ),
    ]
