"""The list of a weather that is coming, as a letter."""

import datetime as dt

from django.utils.translation import gettext as _

from apps.accounts.choices import Purpose
from apps.accounts.selectors import firm_current
from apps.accounts.services import link_issue
from apps.calc.weather import CAUTIONS, CHECKLISTS
from apps.core.measures import sentence as fixed
from apps.flows.letter_parts import client_address, greeting, link_secret
from apps.incidents.choices import Weather
from apps.incidents.models import WeatherAsk, WeatherWatch
from apps.reports.choices import LetterKind
from apps.reports.models import Letter
from apps.reports.rendering.mailing import Mail
from apps.reports.services.letters import letter_make


def weather_letters(watch: WeatherWatch, at: dt.datetime) -> list[Letter]:
    """Write the list of a weather to each contact who was asked, one letter a contact."""
    asks = watch.asks.select_related("contact").order_by("contact__name", "id")
    return [
        letter_make(
            kind=LetterKind.WEATHER, key=f"weather:{ask.pk}", address=ask.contact.email,
            contact=ask.contact, visit=None, parameters={"ask": str(ask.pk)}, at=at,
        )
        for ask in asks
    ]  # fmt: skip


def weather_sentence(kind: str) -> str:
    """Return what is coming, as the letter and the client's page begin."""
    return {
        Weather.HEAT: _("Heat is coming: please get your system ready."),
        Weather.FROST: _("Frost is coming: please get your system ready."),
        Weather.STORM: _(
            "A storm is coming, and the power may fail: please get your system ready."
        ),
    }[Weather(kind)]


def compose_weather(letter: Letter) -> Mail:
    """Put the list of a weather together, with a link on which to answer."""
    contact, firm = letter.contact, firm_current()
    assert contact is not None  # noqa: S101 - the kind asks for it
    ask = WeatherAsk.objects.select_related("watch").get(pk=letter.parameters["ask"])
    checklist = CHECKLISTS[ask.watch.kind]
    secret = link_issue(
        client_id=contact.client_id, purpose=Purpose.PAGE, at=letter.made_at,
        contact_id=contact.pk, secret=link_secret(letter.pk, Purpose.PAGE),
    )  # fmt: skip
    sentence = weather_sentence(ask.watch.kind)
    return Mail(
        kind=letter.kind,
        subject=sentence,
        context={
            "firm": firm, "greeting": greeting(contact), "sentence": sentence,
            "preheader": ask.watch.words, "words": ask.watch.words,
            "systems": ", ".join(row.name for row in ask.systems.order_by("name")),
            "before": [fixed(line) for line in checklist.before],
            "after": [fixed(line) for line in checklist.after],
            "cautions": [fixed(line) for line in CAUTIONS], "link": client_address(secret),
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
    )  # fmt: skip
