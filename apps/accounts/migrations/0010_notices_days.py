"""How many days before an agreement ends its client is written to."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('accounts', '0009_paper'),
    ]

    operations = [
        migrations.AddField(
            model_name='firm',
            name='renewal_days',
            field=models.PositiveSmallIntegerField(default=0),
        ),
    ]
