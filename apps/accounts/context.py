"""What every page knows: the firm and today's date."""

from typing import Any

from django.http import HttpRequest

from apps.accounts.models import Firm
from apps.core import clock


def firm(request: HttpRequest) -> dict[str, Any]:
    """Return the firm (read only where a page asks for it) and today."""
    return {"firm": Firm.objects.first, "today": clock.today}
