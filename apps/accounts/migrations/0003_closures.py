"""Days on which the firm is closed, or works although they are holidays."""

import uuid

from django.db import migrations, models


class Migration(migrations.Migration):
    """The table of days off."""

    dependencies = [("accounts", "0002_audit_holds_still")]

    operations = [
        migrations.CreateModel(
            name="Closure",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("first", models.DateField()),
                ("last", models.DateField()),
                ("name", models.CharField(max_length=80)),
                ("works", models.BooleanField(default=False)),
            ],
        ),
        migrations.AddIndex(
            model_name="closure",
            index=models.Index(fields=["last"], name="closure_last"),
        ),
        migrations.AddConstraint(
            model_name="closure",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("last__gte", models.F("first")),
                    ("first__isnull", True),
                    ("last__isnull", True),
                    _connector="OR",
                ),
                name="closure_in_order",
                violation_error_message="last must come after first",
            ),
        ),
    ]
