"""The languages that clients read: which of the product's words they meet, and how these are compiled.

A client's language has a catalogue of what clients read, and of nothing else: reports, proposals,
letters, the client's page. The staff's screens stay in a language that is whole.
"""

import re
from fnmatch import fnmatch
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from django.conf import settings

from apps.core.numbers import END, FIRST_STRONG

# where a client's words stand: patterns of paths, as fnmatch reads them (a * crosses folders)
CLIENT_FILES = (
    "templates/portal/*", "templates/letters/*", "templates/base_client.html", "templates/_foot.html",
    "templates/_calendar_*.html", "templates/_confirm.html", "templates/_field.html",
    "templates/_form_errors.html", "templates/pdf/visit.html", "templates/pdf/summary.html",
    "templates/pdf/proposal.html", "templates/pdf/_*.html", "templates/errors/*",
    "apps/portal/*", "apps/reports/rendering/*", "apps/reports/snapshot*.py",
    "apps/reports/services/letters.py", "apps/proposals/design_words.py", "apps/proposals/survey_words.py",
    "apps/proposals/snapshots.py", "apps/proposals/rendering/*", "apps/proposals/services/sent.py",
    "apps/proposals/services/proposals.py", "apps/core/dates.py", "apps/core/numbers.py",
    "apps/core/phrases.py", "apps/core/money.py", "apps/core/plain_text.py", "apps/core/views.py",
    "apps/core/drawing/*", "apps/core/templatetags/*", "apps/clients/choices.py",
    "apps/systems/choices.py", "apps/visits/choices.py", "apps/visits/labels.py",
    "apps/visits/shown.py", "apps/visits/besides.py", "apps/visits/services/judging.py",
    "apps/visits/services/photos.py", "apps/visits/services/answers.py", "apps/batches/choices.py",
    "apps/advice/without_air.py", "apps/incidents/choices.py", "apps/incidents/services/asking.py",
    "apps/rounds/services/offers.py", "apps/flows/*letters*.py", "apps/flows/letter_parts.py",
    "apps/flows/home_*.py", "apps/flows/feed_counting.py", "apps/flows/checking_in.py",
    "apps/flows/times_away.py", "apps/flows/offering.py", "apps/flows/calendars.py",
    "apps/flows/visit_booking.py",
    "apps/calc/wording.py", "apps/calc/away.py", "apps/calc/weather.py", "apps/calc/us_sentences.py",
    "apps/calc/callscript/first_aid.py", "apps/calc/advice/cautions.py", "apps/calc/advice/substances.py",
)  # fmt: skip
# what clients read of the catalogue: the fields of each kind that reach their papers
CLIENT_WORDS = {
    "measurands": ("name",), "species": ("name",), "crops": ("name",), "consumables": ("name",),
    "signs": ("name",), "tasks": ("name", "preparation"), "reasons": ("name",),
    "left_running": ("name",), "sizing": ("rule", "note"), "patterns": ("name",),
    "emergency": ("say",), "targets": ("name",), "cycling": ("name",),
}  # fmt: skip
# %(name)s and {name}, figures and ranges, each with a unit that is written in Latin letters; what
# stands inside of a tag is an attribute and stays bare
_PLACE = r"%\(\w+\)[-+ #0]*\d*(?:\.\d+)?[a-z]|\{[\w.]*(?::[^{}]*)?\}"
# the full stop after a figure ends the sentence, and stands outside of the run
_FIGURE = r"\d(?:[\d.,:]*\d)?(?:–\d(?:[\d.,]*\d)?)?"
_UNIT = r"(?:°[CF]|%%?|[A-Za-zµ][A-Za-z0-9/²³·°µ]*)(?: (?:CaCO3|KCl|N)\b)?"
_RUN = re.compile(rf"<[^>]*>|(?:{_PLACE}|{_FIGURE})(?:[ \u00a0]{_UNIT})?")
# a mail program takes all that follows without a blank for a part of the address
_ADDRESS = re.compile(r"\W(link|url)\W")


def client_languages() -> tuple[str, ...]:
    """Return the codes of the languages whose catalogues hold what clients read."""
    return tuple(settings.CLIENT_LANGUAGES)


def for_clients(path: str) -> bool:
    """Tell whether a client may read words of a source file; `path` from the project's root."""
    return any(fnmatch(path.removeprefix("./"), pattern) for pattern in CLIENT_FILES)


def isolated(text: str) -> str:
    """Return a text of a language from right to left with each value a run of its own.

    "5 mg/L" or "12 Orchard Lane" inside of such a sentence would turn round without (Unicode
    Standard Annex 9, first strong isolates).
    """

    def run(found: re.Match[str]) -> str:
        part = found.group()
        # digits alone keep their order
        bare = part.startswith("<") or _ADDRESS.search(part) or part.strip(".,:").isdigit()
        return part if bare else f"{FIRST_STRONG}{part}{END}"

    return _RUN.sub(run, text)


def catalogue(path: Path) -> Catalog:
    """Read a file of translators. Raises OSError where there is none."""
    with path.open("rb") as file:
        return read_po(file, locale=path.parts[-3])


def compile_catalogue(path: Path) -> Path:
    """Compile a file of translators beside itself and return what was made; unsure words stay out."""
    read = catalogue(path)
    if read.locale and read.locale.text_direction == "rtl":
        for message in read:
            if message.id and message.context != "date pattern":
                message.string = _each(message.string)
    made = path.with_suffix(".mo")
    with made.open("wb") as file:
        write_mo(file, read)
    return made


def _each(strings: Any) -> Any:
    return isolated(strings) if isinstance(strings, str) else tuple(map(isolated, strings))
