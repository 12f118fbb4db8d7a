"""What may stand on a page in plain letters: data, not words. Each kind with its reason."""

import re
from collections.abc import Iterable

from babel.core import Locale
from babel.lists import format_list

from apps.accounts.models import Closure, Firm, User
from apps.advice.models import Advice
from apps.batches.models import Treatment
from apps.calc.dosing_plan.products import PRODUCTS
from apps.calc.sources import SOURCES
from apps.care.models import MeterWithdrawal, StandingAppointment
from apps.catalogue.selectors import catalogue_current
from apps.clients.models import Client, Climate, Contact, Place, TimeAway
from apps.incidents.models import Incident, IncidentNote, WeatherAsk, WeatherWatch
from apps.proposals.models import Proposal, ProposalWord, SiteSurvey, SurveyPhoto
from apps.reports.models import BlockedAddress, Letter
from apps.rounds.models import TimesOffered
from apps.systems.models import Component, System
from apps.visits.models import CallNote, Finding, Phone, Photo, Reading, RefusedOperation, Visit

# signs of units and substances, the same in every language that writes in Latin letters
UNITS = {
    "mg/L", "mg/L N", "mg/L CaCO3", "CaCO3", "mS/cm", "uS/cm", "µS/cm", "dKH", "meq/L", "°C", "°F",
    "m²", "kg/m³", "g/kg", "g/day", "L/h", "L/min", "m/s", "MJ/m²/day", "m³/m²/day", "µmol/m²/s", "kPa", "mm", "cm", "kg",
    "EUR", "ppm", "L", "m", "g", "h", "V", "A", "mA", "W", "pH", "N", "P", "NH3", "NH4", "NO2", "NO3", "PO4",
    # the same with their figures in <sub>, or as small signs where no tag may stand
    "NH", "NO", "PO", "NH₄", "NO₂", "NO₃", "PO₄", "CaCO₃",
}  # fmt: skip
# formulas of what is dosed
FORMULAS = {code.replace(".", "·") for code in PRODUCTS}
# the product's name, what it hands out, and how languages call themselves
NAMES = {"Backyard", "CSV", "PDF", "JPEG", "PNG", "WebP", "English", "Español", "Deutsch", "Pseudo"}
# rows of the world: (model, fields that hold what somebody typed)
TYPED: tuple[tuple[type, tuple[str, ...]], ...] = (
    (Firm, ("name", "street", "town", "email")),
    (Closure, ("name",)),
    (User, ("username", "first_name", "last_name")),
    (Client, ("name", "notes", "photos_how")),
    (StandingAppointment, ("rrule",)),
    (Contact, ("name", "email")),
    (Place, ("name", "street", "town", "area", "access_notes", "gate_code")),
    (Climate, ("source",)),
    (TimeAway, ("carer_name", "carer_phone", "notes")),
    (System, ("name", "notes")),
    (Component, ("name",)),
    (CallNote, ("text",)),
    (MeterWithdrawal, ("reason",)),
    (Visit, ("reason",)),
    (Reading, ("by", "instrument")),
    (Finding, ("text",)),
    (Photo, ("caption",)),
    (Advice, ("decision_text", "decision_reason")),
    (Treatment, ("product", "lot", "on_whose_word")),
    (Letter, ("address", "subject_line", "last_error")),
    (BlockedAddress, ("address", "words")),
    (Phone, ("version",)),
    (Incident, ("said", "caller", "cause_words", "outcome")),
    (IncidentNote, ("text", "by")),
    (WeatherWatch, ("words",)),
    (WeatherAsk, ("words",)),
    (TimesOffered, ("words",)),
    (ProposalWord, ("words",)),
    (SurveyPhoto, ("caption",)),
    (SiteSurvey, ("surveyed_by", "wants", "shade", "comers", "allowed_by", "notes")),
    (Proposal, ("name", "words", "left_out", "answer_words", "answered_by")),
)


def typed() -> set[str]:
    """What people typed into the rows of the world."""
    return (
        {
            str(value)
            for model, fields in TYPED
            for row in model._default_manager.values_list(*fields)  # type: ignore[attr-defined]
            for value in row
            if value
        }
        | {
            # what a phone sent and what its person was told, as it was
            str(text)
            for row in RefusedOperation.objects.all()
            for text in (row.payload.get("value"), *(item.get("message") for item in row.why))
        }
        | {str(extra["text"]) for row in Proposal.objects.all() for extra in row.extras}
    )


def published() -> set[str]:
    """What keeps its name everywhere: titles of sources, scientific names."""
    catalogue = catalogue_current()
    sources = catalogue.of("sources").values()
    return {
        str(row[field])
        for rows in (sources, catalogue.of("species").values(), catalogue.of("crops").values())
        for row in rows
        for field in ("title", "scientific_name")
        if row.get(field)
    } | {source.citation for source in SOURCES.values()}


def dates() -> set[str]:
    """Days and months as Babel writes them where it does not know a language."""
    locale = Locale("en")
    return {
        name
        for names in (locale.days, locale.months)
        for width in ("wide", "abbreviated")
        for name in names["format"][width].values()
    }


def joining() -> str:
    """What Babel puts between the last two of a list where it does not know a language.

    Only between words that are translated: anywhere else it is plain English.
    """
    words = {
        format_list(["⟦"] * count, style=style, locale="en").split("⟦")[-2]
        for count in (2, 3)
        for style in ("standard", "or")
    }
    return "|".join(rf"(?<=⟧){re.escape(word)}(?=⟦)" for word in sorted(words))


def pattern(more: Iterable[str] = ()) -> re.Pattern[str]:
    """A pattern of all data, longest first so that a part never eats a whole."""
    held = UNITS | FORMULAS | NAMES | typed() | published() | dates() | set(more)
    words = "|".join(map(re.escape, sorted(held, key=len, reverse=True)))
    addresses = r"https?://\S+|[\w.+-]+@[\w.-]+|\b[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}\b"
    addresses += r"|\b[23456789CFGHJMPQRVWX]{8}\+[23456789CFGHJMPQRVWX]{2}"
    return re.compile(rf"{addresses}|{joining()}|(?<!\w)(?:{words})(?!\w)")
