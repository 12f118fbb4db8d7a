"""Proposed visit days of each place."""

import uuid

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    """Five tables: the plan, its days, their tasks, what found no day, what is asked."""

    dependencies = [
        ("care", "0005_meter_readings_hold_still"),
        ("clients", "0001_initial"),
    ]

    operations = [
        migrations.CreateModel(
            name="VisitDay",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("on", models.DateField()),
                ("earliest", models.DateField()),
                ("latest", models.DateField()),
                ("minutes", models.PositiveSmallIntegerField()),
                ("kept_for", models.UUIDField(blank=True, null=True)),
                (
                    "place",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="visit_days",
                        to="clients.place",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="VisitDayPlan",
            fields=[
                (
                    "place",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        primary_key=True,
                        related_name="visit_day_plan",
                        serialize=False,
                        to="clients.place",
                    ),
                ),
                ("turn", models.PositiveIntegerField(default=1)),
                ("made_at", models.DateTimeField(blank=True, null=True)),
                ("made_on", models.DateField(blank=True, null=True)),
                ("until", models.DateField(blank=True, null=True)),
                (
                    "way",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("ahead", "looking ahead"),
                            ("cheapest", "for the windows as they stand"),
                            ("fewest", "with the fewest visits"),
                        ],
                        max_length=8,
                    ),
                ),
                ("at_most", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("changes", models.JSONField(blank=True, default=list)),
                ("changed_at", models.DateTimeField(blank=True, null=True)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("until__gt", models.F("made_on")),
                            ("made_on__isnull", True),
                            ("until__isnull", True),
                            _connector="OR",
                        ),
                        name="visit_day_plan_ahead",
                        violation_error_message="until must come after made_on",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="VisitDayTask",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("due", models.DateField(blank=True, null=True)),
                (
                    "why",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("overdue", "it is late already"),
                            ("over_the_limit", "no more visits a year are agreed"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "task",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="visit_days",
                        to="care.caretask",
                    ),
                ),
                (
                    "visit_day",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="tasks",
                        to="care.visitday",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="DayQuestion",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("visit_id", models.UUIDField()),
                ("on", models.DateField()),
                (
                    "reason",
                    models.CharField(
                        choices=[
                            ("day_closed", "nobody is sent out, or nobody may come, on this day"),
                            ("nothing_due", "nothing is to be done on this day"),
                            ("fewer_visits", "on another day it would save a visit"),
                        ],
                        max_length=16,
                    ),
                ),
                ("instead", models.DateField(blank=True, null=True)),
                (
                    "place",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="day_questions",
                        to="clients.place",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("reason__in", ["day_closed", "nothing_due", "fewer_visits"])
                        ),
                        name="day_question_reason_known",
                        violation_error_message="reason must be one of the listed words",
                    ),
                    models.UniqueConstraint(fields=("visit_id",), name="day_question_once"),
                ],
            },
        ),
        migrations.CreateModel(
            name="NotPlaced",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                (
                    "reason",
                    models.CharField(
                        choices=[
                            ("no_allowed_day", "somebody may come on no day of its time"),
                            ("skill_missing", "nobody who can do it may come in its time"),
                            ("over_the_limit", "no more visits a year are agreed"),
                            ("kept_apart", "it must not be done on one day with another task"),
                            ("client_does_it", "the client does it"),
                            ("can_wait", "it can wait until after these weeks"),
                        ],
                        max_length=16,
                    ),
                ),
                ("due", models.DateField()),
                ("nearest", models.DateField(blank=True, null=True)),
                (
                    "place",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="not_placed",
                        to="clients.place",
                    ),
                ),
                (
                    "task",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="not_placed",
                        to="care.caretask",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "reason__in",
                                [
                                    "no_allowed_day",
                                    "skill_missing",
                                    "over_the_limit",
                                    "kept_apart",
                                    "client_does_it",
                                    "can_wait",
                                ],
                            )
                        ),
                        name="not_placed_reason_known",
                        violation_error_message="reason must be one of the listed words",
                    ),
                    models.UniqueConstraint(fields=("task",), name="not_placed_once"),
                ],
            },
        ),
        migrations.AddIndex(
            model_name="visitday",
            index=models.Index(fields=["on"], name="visit_day_on"),
        ),
        migrations.AddConstraint(
            model_name="visitday",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("on__gte", models.F("earliest")),
                    ("earliest__isnull", True),
                    ("on__isnull", True),
                    _connector="OR",
                ),
                name="visit_day_earliest",
                violation_error_message="on must come after earliest",
            ),
        ),
        migrations.AddConstraint(
            model_name="visitday",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("latest__gte", models.F("on")),
                    ("on__isnull", True),
                    ("latest__isnull", True),
                    _connector="OR",
                ),
                name="visit_day_latest",
                violation_error_message="latest must come after on",
            ),
        ),
        migrations.AddConstraint(
            model_name="visitday",
            constraint=models.UniqueConstraint(fields=("place", "on"), name="visit_day_once"),
        ),
        migrations.AddConstraint(
            model_name="visitdaytask",
            constraint=models.UniqueConstraint(
                fields=("visit_day", "task"), name="visit_day_task_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="visitdaytask",
            constraint=models.CheckConstraint(
                condition=models.Q(("why__in", ["", "overdue", "over_the_limit"])),
                name="visit_day_task_why",
            ),
        ),
    ]
