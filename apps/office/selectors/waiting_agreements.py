"""Which agreements end soon, or have ended, and nobody has written about it."""

import datetime as dt
from urllib.parse import urlencode

from django.db.models import CharField, Exists, OuterRef, Value
from django.db.models.functions import Cast, Concat
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.care.models import CarePlan
from apps.core.scoping import Actor
from apps.office.selectors.waiting_item import Waiting, waits
from apps.office.wording import day_words
from apps.reports.choices import LetterKind
from apps.reports.models import Notice

# so long before its end an agreement is spoken of: common practice
BEFORE = dt.timedelta(days=60)
MOST = 12


def agreements_waiting(actor: Actor) -> list[Waiting]:
    """Return each agreement that ends and of which its client was not told, or that is over: one query."""
    today = timezone.localdate(actor.at)
    key = Concat(Value("renewal:"), Cast(OuterRef("agreed_until"), CharField()))
    told = Notice.objects.filter(contact__client=OuterRef("system__place__client"), key=key)
    rows = (
        CarePlan.objects.visible_to(actor)
        .filter(agreed_until__lte=today + BEFORE, system__active=True)
        .annotate(told=Exists(told))
        .select_related("system__place__client")
        .order_by("agreed_until", "pk")
    )
    found: dict[tuple[object, dt.date], Waiting] = {}
    for row in rows:
        until = row.agreed_until
        if until is None or (row.told and until >= today):
            continue
        found.setdefault((row.system.place.client_id, until), _item(actor, row, until, today))
    return list(found.values())[:MOST]


def _item(actor: Actor, row: CarePlan, until: dt.date, today: dt.date) -> Waiting:
    client = row.system.place.client
    if until < today:
        url = reverse("office:plan_agreed", args=[row.system_id])
        text = _(": the agreement ended on %(day)s; renew it, or take the system out of care")
        since = until
    else:
        url = reverse("office:letter_new", args=[client.pk, LetterKind.RENEWAL.value])
        url += f"?{urlencode({'until': until.isoformat()})}"
        text = _(": the agreement ends on %(day)s; write to them")
        since = until - BEFORE
    moment = timezone.make_aware(dt.datetime.combine(since, dt.time.min))
    return waits(actor, moment, url, client.name, text % {"day": day_words(until)})
