"""Each kind of letter and what puts it together, in its reader's language."""

from collections.abc import Callable

from django.core.mail import EmailMultiAlternatives
from django.utils import translation

from apps.accounts.choices import Purpose
from apps.accounts.selectors import firm_current
from apps.accounts.services import link_issue
from apps.clients.models import Contact
from apps.core.measures import METRIC, reading_in
from apps.core.texting import TextMessage
from apps.core.verp import return_address
from apps.flows.letter_parts import client_address, link_secret
from apps.flows.letters_on_the_way import compose_on_my_way, compose_running_late
from apps.flows.notice_letters import compose_notices, compose_own
from apps.flows.offer_letters import compose_times
from apps.flows.office_letters import compose_check_in, compose_due_list, compose_help
from apps.flows.page_letters import compose_page
from apps.flows.proposal_letters import compose_proposal
from apps.flows.reminder_letters import compose_reminder
from apps.flows.report_letters import compose_report
from apps.flows.summary_letters import compose_summary
from apps.flows.text_letters import text_of
from apps.flows.visit_letters import compose_visit
from apps.flows.weather_letters import compose_weather
from apps.reports.choices import NOTICES, PAPERS, Channel, LetterKind
from apps.reports.models import Letter
from apps.reports.rendering.mailing import Mail, message_of

# a letter is kept, and its link may be pressed much later
CHOICE_DAYS = 730

COMPOSERS: dict[str, Callable[[Letter], Mail]] = {
    LetterKind.REPORT: compose_report,
    LetterKind.APPOINTMENT: compose_visit,
    LetterKind.CALLED_OFF: compose_visit,
    LetterKind.REMINDER: compose_reminder,
    LetterKind.DUE_LIST: compose_due_list,
    LetterKind.CHECK_IN: compose_check_in,
    LetterKind.RUNNING_LATE: compose_running_late,
    LetterKind.WEATHER: compose_weather,
    LetterKind.TIMES: compose_times,
    LetterKind.ON_MY_WAY: compose_on_my_way,
    **dict.fromkeys(NOTICES, compose_notices),
    LetterKind.OWN: compose_own,
    LetterKind.PROPOSAL: compose_proposal,
    LetterKind.HELP: compose_help,
    LetterKind.PAGE: compose_page,
    LetterKind.SUMMARY: compose_summary,
}


def compose(letter: Letter) -> EmailMultiAlternatives | TextMessage:
    """Return a letter as a mail, or as a text message, in its reader's language and units."""
    language = letter.contact.language if letter.contact else firm_current().language
    units = letter.contact.units if letter.contact else METRIC
    with translation.override(language), reading_in(units):
        mail = COMPOSERS[letter.kind](letter)
        if letter.channel == Channel.TEXT:
            return text_of(letter, mail)
        mail.envelope = return_address(letter.pk)
        if letter.contact is not None and (letter.kind in NOTICES or letter.kind in PAPERS):
            _offer_choice(letter, letter.contact, mail)
        return message_of(mail)


def _offer_choice(letter: Letter, contact: Contact, mail: Mail) -> None:
    """Let the reader choose which of these letters they get, and how."""
    secret = link_issue(
        client_id=contact.client_id, purpose=Purpose.LETTERS, at=letter.made_at, days=CHOICE_DAYS,
        contact_id=contact.pk, secret=link_secret(letter.pk, Purpose.LETTERS),
    )  # fmt: skip
    address = client_address(secret)
    mail.context = mail.context | {"choice_link": f"{address}letters/"}
    if letter.kind in NOTICES:
        mail.unsubscribe = f"{address}letters/stop/"
