"""What a forecast says of a task and of a system."""

from django.db import migrations, models


class Migration(migrations.Migration):
    """The windows that a forecast gives, rules by it, and the crossing that the due list shows."""

    dependencies = [
        ('care', '0007_standing_appointments'),
        ('systems', '0001_initial'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='caretask',
            name='task_basis_known',
        ),
        migrations.RemoveConstraint(
            model_name='caretask',
            name='task_mode_built',
        ),
        migrations.AddField(
            model_name='caretask',
            name='forecast_due',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='caretask',
            name='forecast_late',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='caretask',
            name='forecast_open',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='standing',
            name='ahead',
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name='standing',
            name='ahead_from',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name='caretask',
            name='basis',
            field=models.CharField(choices=[('calendar', 'calendar'), ('condition', 'a reading'), ('forecast', 'the forecast'), ('manual', 'set by hand')], default='calendar', max_length=10),
        ),
        migrations.AddIndex(
            model_name='standing',
            index=models.Index(fields=['ahead_from'], name='standing_ahead_from'),
        ),
        migrations.AddConstraint(
            model_name='caretask',
            constraint=models.CheckConstraint(condition=models.Q(('mode__in', ['after_done', 'fixed', 'calendar', 'once', 'every_visit', 'condition', 'meter', 'forecast'])), name='task_mode_known', violation_error_message='mode must be one of the listed words'),
        ),
        migrations.AddConstraint(
            model_name='caretask',
            constraint=models.CheckConstraint(condition=models.Q(('basis__in', ['calendar', 'condition', 'forecast', 'manual'])), name='task_basis_known', violation_error_message='basis must be one of the listed words'),
        ),
    ]
