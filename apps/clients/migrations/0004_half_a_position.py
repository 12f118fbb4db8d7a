"""One coordinate without the other names no place: it is taken off."""

from typing import Any

from django.db import migrations
from django.db.models import Q


def take_off(apps: Any, _editor: Any) -> None:
    """Clear both where one is missing."""
    half = Q(latitude__isnull=True) ^ Q(longitude__isnull=True)
    apps.get_model("clients", "Place").objects.filter(half).update(latitude=None, longitude=None)


class Migration(migrations.Migration):
    """Rows alone; nothing to bring back."""

    dependencies = [("clients", "0003_contact_zone")]
    operations = [migrations.RunPython(take_off, migrations.RunPython.noop)]
