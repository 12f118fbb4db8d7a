"""A letter with a proposal."""

from django.db import migrations, models

KINDS = [
    ("report", "report"),
    ("appointment", "appointment"),
    ("called_off", "appointment called off"),
    ("reminder", "reminder"),
    ("due_list", "due list for the office"),
    ("check_in", "somebody who works alone"),
    ("running_late", "we come later"),
    ("weather", "list for a weather"),
    ("times", "times to choose from"),
    ("on_my_way", "somebody is on the way"),
    ("overdue", "something is past its day"),
    ("quiet", "how it goes"),
    ("low_stock", "something runs out"),
    ("renewal", "the agreement ends"),
    ("several", "several notices"),
    ("own", "our own words"),
    ("proposal", "proposal"),
]


class Migration(migrations.Migration):
    """One more kind."""

    dependencies = [("reports", "0013_kinds_and_note")]

    operations = [
        migrations.RemoveConstraint(model_name="letter", name="letter_kind_known"),
        migrations.AlterField(
            model_name="letter",
            name="kind",
            field=models.CharField(choices=KINDS, max_length=12),
        ),
        migrations.AddConstraint(
            model_name="letter",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind__in", [code for code, _words in KINDS])),
                name="letter_kind_known",
                violation_error_message="kind must be one of the listed words",
            ),
        ),
    ]
