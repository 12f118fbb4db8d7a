"""A letter with times to choose from."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('clients', '0002_just_tell'),
        ('reports', '0005_letter_weather'),
        ('visits', '0006_told'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='letter',
            name='letter_kind_known',
        ),
        migrations.AlterField(
            model_name='letter',
            name='kind',
            field=models.CharField(choices=[('report', 'report'), ('appointment', 'appointment'), ('called_off', 'appointment called off'), ('reminder', 'reminder'), ('due_list', 'due list for the office'), ('check_in', 'somebody who works alone'), ('running_late', 'we come later'), ('weather', 'list for a weather'), ('times', 'times to choose from')], max_length=12),
        ),
        migrations.AddConstraint(
            model_name='letter',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['report', 'appointment', 'called_off', 'reminder', 'due_list', 'check_in', 'running_late', 'weather', 'times'])), name='letter_kind_known', violation_error_message='kind must be one of the listed words'),
        ),
    ]
