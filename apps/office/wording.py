"""Words that the office's pages share."""

import datetime as dt
import re
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from apps.accounts.models import User
from apps.clients.models import Place
from apps.core.dates import day_text
from apps.core.phrases import list_words as list_words
from apps.core.phrases import upper_first as upper_first
from apps.visits.choices import Answer, State
from apps.visits.models import Visit

# a pencilled visit of these was promised to nobody
NOT_AGREED = (Answer.NOT_ASKED, Answer.OTHER_TIME)

_SMALL = (
    gettext_lazy("none"), gettext_lazy("one"), gettext_lazy("two"), gettext_lazy("three"),
    gettext_lazy("four"), gettext_lazy("five"), gettext_lazy("six"), gettext_lazy("seven"),
    gettext_lazy("eight"), gettext_lazy("nine"), gettext_lazy("ten"), gettext_lazy("eleven"),
    gettext_lazy("twelve"),
)  # fmt: skip


def count_word(count: int) -> str:
    """Return a count as it reads in a sentence: a word up to twelve, then figures.

    >>> count_word(13)
    '13'
    """
    return str(_SMALL[count]) if 0 <= count < len(_SMALL) else str(count)


def day_words(day: dt.date, *, long: bool = False) -> str:
    """Return a day with its weekday: "Thu 11 June", long "Thursday 11 June"."""
    return day_text(day, "long" if long else "short")


def age_words(since: dt.datetime, now: dt.datetime) -> str:
    """Return how long something has waited: minutes, hours or days, shortly."""
    minutes = max(0, int((now - since).total_seconds() // 60))
    if minutes < 60:
        return _("%(count)d min") % {"count": minutes}
    if minutes < 24 * 60:
        return _("%(count)d h") % {"count": minutes // 60}
    return _("%(count)d d") % {"count": minutes // 1440}


def since_words(moment: dt.datetime, now: dt.datetime) -> str:
    """Return since when something stands: the time on the same day, else the day."""
    local = timezone.localtime(moment)
    if local.date() == timezone.localtime(now).date():
        return _("since %(time)s") % {"time": f"{local:%H:%M}"}
    return _("since %(day)s") % {"day": day_words(local.date())}


def late_words(days: int) -> str:
    """Return by how many days something is late."""
    return ngettext("%(count)d day late", "%(count)d days late", days) % {"count": days}


def place_label(place: Place) -> str:
    """Return a place with its client, each once: "Osei, terrace"."""
    client = place.client.name
    return place.name if client.lower() in place.name.lower() else f"{client}, {place.name}"


def first_sentences(text: str, most: int = 170) -> str:
    """Return the sentences of a text that fit into some letters, the first one always.

    >>> first_sentences("One is long. Two is longer.", 14)
    'One is long.'
    """
    kept = ""
    for sentence in re.split(r"(?<=[.!?])\s+", text):
        if kept and len(kept) + len(sentence) >= most:
            break
        kept = f"{kept} {sentence}".strip()
    return kept


def after_that(visit: Visit, day: str) -> str:
    """Return that a visit on a day comes too late, and whether it stays: what a client was told of."""
    if visit.state == State.PENCILLED and visit.client_answer in NOT_AGREED:
        text = _("The visit on %(day)s comes after that; it may move with the next plan.")
    else:
        text = _("The visit on %(day)s comes after that; it stays as promised until you move it.")
    return text % {"day": day}


def people_by_author(authors: list[str]) -> dict[str, str]:
    """Return author -> name for authors such as "technician:<key>": one query."""
    keys = {}
    for author in set(authors):
        _role, _mark, key = author.partition(":")
        try:
            keys[author] = UUID(key)
        except ValueError:
            continue
    names = {user.pk: str(user) for user in User.objects.filter(pk__in=keys.values())}
    return {author: names.get(key, _role_word(author)) for author, key in keys.items()} | {
        author: _role_word(author) for author in authors if author not in keys
    }


def _role_word(author: str) -> str:
    role = author.partition(":")[0]
    words = {
        "office": _("office"), "technician": _("technician"), "client": _("the client"),
        "system": _("by itself"), "worker": _("by itself"),
    }  # fmt: skip
    return words.get(role, author)
