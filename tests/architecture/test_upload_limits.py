"""What the pages promise of photos gets through: words, limits and the proxy say the same.

How the proxy matches: a path with one star at its end by its beginning, any other star within one
part of the path; MB are millions of bytes (documentation of its `path` matcher and `max_size`).
"""

import re
from pathlib import Path
from uuid import UUID

import pytest
from django.conf import settings
from django.urls import reverse

from apps.field.views.findings import MOST_PHOTOS as MOST_IN_FIELD
from apps.flows.home_help import MOST_PHOTOS
from apps.office.forms.survey_photos import MOST_AT_ONCE, SurveyPhotosForm
from apps.portal.forms import TUBES
from apps.portal.help import HelpForm
from apps.visits.services.photos import MAX_BYTES

CADDYFILE = (Path(settings.BASE_DIR) / "packaging" / "Caddyfile").read_text()
MATCHERS = {
    name: paths.split() for name, paths in re.findall(r"@(\w+) (?:not )?path (.+)", CADDYFILE)
}
LIMITS = {
    name: int(size) * 1_000_000
    for name, size in re.findall(r"request_body @(\w+) \{\s*max_size (\d+)MB", CADDYFILE)
}
# the form's other fields, and the lines between its parts
BESIDES = 2_000_000
KEY = UUID(int=1)
SHEET = {"pk": KEY, "sheet": KEY}
PAGES = {
    "help": (reverse("portal:help", args=["secret", KEY]), MOST_PHOTOS),
    "log": (reverse("portal:log", args=["secret", KEY]), len(TUBES)),
    "survey": (reverse("office:survey_photos", args=[KEY]), MOST_AT_ONCE),
    "sheet": (reverse("field:photo", kwargs=SHEET), MOST_IN_FIELD),
    "finding": (reverse("field:finding", kwargs={**SHEET, "key": KEY}), MOST_IN_FIELD),
    "left running": (reverse("field:left_running", kwargs=SHEET), MOST_IN_FIELD),
}


def meets(path: str, pattern: str) -> bool:
    if pattern.endswith("*") and pattern.count("*") == 1:
        return path.startswith(pattern[:-1])
    return bool(re.fullmatch(re.escape(pattern).replace(r"\*", "[^/]*"), path))


def limits_of(path: str) -> list[int]:
    """Return each limit that the proxy lays on a path."""
    listed = {name: any(meets(path, one) for one in MATCHERS[name]) for name in LIMITS}
    listed["other"] = not listed["other"]
    return [LIMITS[name] for name, is_meant in listed.items() if is_meant]


@pytest.mark.parametrize("page", PAGES)
def test_as_many_photos_as_a_page_takes_get_through(page: str) -> None:
    path, most = PAGES[page]
    (limit,) = limits_of(path)
    assert limit >= most * MAX_BYTES + BESIDES


def test_each_path_has_one_limit() -> None:
    others = [path for name in LIMITS if name != "other" for path in MATCHERS[name]]
    assert others == MATCHERS["other"]
    for path in ("/", "/c/secret/", "/c/secret/away/", "/surveys/", "/api/v1/visits/"):
        assert limits_of(path) == [25_000_000], path


def test_the_words_name_the_limits() -> None:
    spelled = {4: "Four", 12: "twelve"}
    size = f"{MAX_BYTES // 1_000_000} MB"
    help_text = str(HelpForm.base_fields["photos"].help_text)
    assert f"{spelled[MOST_PHOTOS]} at once" in help_text
    assert size in help_text
    assert size in str(SurveyPhotosForm.base_fields["photo"].help_text)
    # both refuse more with "At most twelve photos at once."
    assert spelled[MOST_AT_ONCE] == spelled[MOST_IN_FIELD] == "twelve"
