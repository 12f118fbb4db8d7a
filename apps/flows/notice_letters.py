"""Notices: what a client hears beside appointments and reports, several of a day in one letter.

What the calendar brings about (something past its day, a client who is quiet, feed that runs out, an
agreement that ends) is looked for once a day; the office writes as well. A reader may stop them all by one press.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from apps.accounts.choices import Purpose
from apps.accounts.selectors import firm_current
from apps.accounts.services import link_issue
from apps.advice.models import Advice
from apps.advice.selectors import advice_text
from apps.core.dates import day_text
from apps.flows.letter_parts import client_address, greeting, link_secret
from apps.reports.choices import LetterKind
from apps.reports.models import Letter
from apps.reports.rendering.mailing import Mail

# what runs out, in the words of whoever reads it
FEED = gettext_noop("Fish feed")


@dataclass(frozen=True)
class Said:
    """One notice in words: its sentence, what follows it, and a list."""

    sentence: str
    paragraphs: list[str] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)


def _day(value: str) -> str:
    return day_text(dt.date.fromisoformat(value), "long")


def _overdue(given: dict[str, Any]) -> Said:
    """Say what was to be done by a day that is past, unless it was done meanwhile."""
    rows = Advice.objects.filter(pk__in=given["advice"], closed_at__isnull=True)
    rows = rows.select_related("system").order_by("by_at", "position")
    lines = [
        _("%(system)s, by %(day)s: %(what)s")
        % {"system": row.system.name, "day": day_text(timezone.localdate(row.by_at), "bare"),
           "what": row.decision_text or advice_text(row.rule, row.parameters)}
        for row in rows
        if row.by_at is not None
    ]  # fmt: skip
    sentence = ngettext(
        "One thing at your system is past its day.",
        "%(count)s things at your system are past their day.", max(len(lines), 1),
    ) % {"count": len(lines)}  # fmt: skip
    if any(row.dose for row in rows):
        # it may have been given without anybody telling us, and the water has moved on since
        paragraphs = [
            _("Was it given already? Never give it a second time. Not given yet? Ask us before you "
              "do: the water has changed since we worked it out.")
        ]  # fmt: skip
    else:
        paragraphs = []
    paragraphs += [
        _("Have you done it? Then answer this letter with one word, so that we know. Is something "
          "in the way? Tell us, and we help.")
    ]  # fmt: skip
    return Said(sentence, paragraphs, lines)


def _quiet(given: dict[str, Any]) -> Said:
    paragraphs = [
        _("We have not heard from you since %(day)s. Is the water clear, do the fish come to feed, "
          "do pump and air run?") % {"day": _day(given["since"])},
        _("One line in answer is enough. If you have a test kit, the pH and the temperature tell "
          "us a lot."),
    ]  # fmt: skip
    return Said(_("How is your system doing?"), paragraphs)


def _low_stock(given: dict[str, Any]) -> Said:
    # what we name ourselves is in the reader's words, what the office typed stands as it is
    what = _(FEED) if given["what"] == FEED else given["what"]
    until = given.get("until")
    sentence = (
        _("%(what)s will last at your place until about %(day)s.")
        % {"what": what, "day": _day(until)}
        if until
        else _("%(what)s runs out at your place.") % {"what": what}
    )
    asked = _("Shall we bring more? Answer this letter, or buy the same kind: other food or other "
              "salts change what the water needs.")  # fmt: skip
    return Said(sentence, [*_own(given), asked])


def _renewal(given: dict[str, Any]) -> Said:
    sentence = _("Our agreement ends on %(day)s.") % {"day": _day(given["until"])}
    asked = _("Would you like us to go on? Answer this letter, or call. Without a word from you we "
              "do not come after that day.")  # fmt: skip
    return Said(sentence, [*_own(given), asked])


def _own(given: dict[str, Any]) -> list[str]:
    return [line.strip() for line in str(given.get("words") or "").split("\n") if line.strip()]


SAYERS = {
    LetterKind.OVERDUE: _overdue,
    LetterKind.QUIET: _quiet,
    LetterKind.LOW_STOCK: _low_stock,
    LetterKind.RENEWAL: _renewal,
}


def said_of(notices: Iterable[dict[str, Any]]) -> list[Said]:
    """Return notices in words of the active language. Raises KeyError for a kind that is none."""
    return [SAYERS[LetterKind(notice["kind"])](notice) for notice in notices]


def compose_notices(letter: Letter) -> Mail:
    """Put one notice or several together, as they stand when the letter is sent."""
    said = said_of(letter.parameters["notices"])
    sentence = said[0].sentence
    if len(said) > 1:
        sentence = ngettext(
            "%(count)s thing about your system", "%(count)s things about your system", len(said)
        ) % {"count": len(said)}
    return _mail(letter, sentence, said)


def compose_own(letter: Letter) -> Mail:
    """Put a letter in the office's own words together."""
    given = letter.parameters
    return _mail(letter, given["subject"], [Said(given["subject"], _own(given))])


def _mail(letter: Letter, sentence: str, said: list[Said]) -> Mail:
    contact, firm = letter.contact, firm_current()
    assert contact is not None  # noqa: S101 - the kinds ask for it
    secret = link_issue(
        client_id=contact.client_id, purpose=Purpose.PAGE, at=letter.made_at,
        contact_id=contact.pk, secret=link_secret(letter.pk, Purpose.PAGE),
    )  # fmt: skip
    return Mail(
        kind=letter.kind,
        subject=sentence,
        context={
            "firm": firm, "greeting": greeting(contact), "sentence": sentence, "said": said,
            "preheader": next(iter([*said[0].lines, *said[0].paragraphs]), ""), "link": client_address(secret),
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
    )  # fmt: skip
