"""The letter that brings a summary."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('clients', '0011_photo_use'),
        ('reports', '0017_letter_of_a_link'),
        ('visits', '0009_reading_photos_hold_still'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='letter',
            name='letter_kind_known',
        ),
        migrations.AlterField(
            model_name='letter',
            name='kind',
            field=models.CharField(choices=[('report', 'report'), ('appointment', 'appointment'), ('called_off', 'appointment called off'), ('reminder', 'reminder'), ('due_list', 'due list for the office'), ('check_in', 'somebody who works alone'), ('running_late', 'we come later'), ('weather', 'list for a weather'), ('times', 'times to choose from'), ('on_my_way', 'somebody is on the way'), ('overdue', 'something is past its day'), ('quiet', 'how it goes'), ('low_stock', 'something runs out'), ('renewal', 'the agreement ends'), ('several', 'several notices'), ('own', 'our own words'), ('proposal', 'proposal'), ('help', 'a client asks for help'), ('page', 'link to the page'), ('summary', 'summary')], max_length=12),
        ),
        migrations.AddConstraint(
            model_name='letter',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['report', 'appointment', 'called_off', 'reminder', 'due_list', 'check_in', 'running_late', 'weather', 'times', 'on_my_way', 'overdue', 'quiet', 'low_stock', 'renewal', 'several', 'own', 'proposal', 'help', 'page', 'summary'])), name='letter_kind_known', violation_error_message='kind must be one of the listed words'),
        ),
    ]
