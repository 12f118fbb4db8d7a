"""The last day of an agreement."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('care', '0011_nothing_falls_due'),
    ]

    operations = [
        migrations.AddField(
            model_name='careplan',
            name='agreed_until',
            field=models.DateField(blank=True, null=True),
        ),
    ]
