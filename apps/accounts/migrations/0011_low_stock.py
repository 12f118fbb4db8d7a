"""How many days before the feed at a place is used up somebody is told."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('accounts', '0010_notices_days'),
    ]

    operations = [
        migrations.AddField(
            model_name='firm',
            name='low_stock_days',
            field=models.PositiveSmallIntegerField(default=14),
        ),
        migrations.AddField(
            model_name='firm',
            name='low_stock_letters',
            field=models.BooleanField(default=False),
        ),
    ]
