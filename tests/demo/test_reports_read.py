"""Every report of the demo's year reads easily, and does not say the same thing each month."""

import itertools
from collections import Counter, defaultdict
from typing import Any

import pytest
import textstat
from django.utils.safestring import SafeString

from apps.accounts.selectors import firm_current
from apps.reports.rendering import document
from apps.reports.rendering.document import html_of
from apps.reports.snapshots import snapshot_of
from apps.visits.models import Sheet
from apps.visits.shown import Shown
from demo.told import SYSTEMS, lines
from demo.told import reports as first_of_each
from tests.reports.reading_out import sentences, words_in

pytestmark = [pytest.mark.django_db, pytest.mark.long]
GRADE, LONG, OF_ONE, OF_ALL, FEW = 8.0, 8, 0.20, 0.10, 5


@pytest.fixture(scope="module")
def told(firm: Any) -> dict[str, list[tuple[list[str], list[str]]]]:
    """What each report of the year says, by system; drawings are left out, they cost the most."""
    found = defaultdict(list)
    kept = firm_current()
    with pytest.MonkeyPatch.context() as patch:
        svg = SafeString("<svg></svg>")
        patch.setattr(document, "_sketch", lambda snapshot: svg)
        patch.setattr(document, "line_chart", lambda **more: svg)
        patch.setattr(document, "judgement_mark", lambda *args, **more: svg)
        patch.setattr(Shown, "line", lambda *args, **more: svg)
        rows = Sheet.objects.filter(visit__finished_at__isnull=False).select_related(
            "visit__place", "system__place__client"
        )
        for sheet in rows.order_by("visit__finished_at", "pk"):
            said = html_of(
                snapshot_of(sheet, number=1, version=1, reason="", firm=kept, contact=None)
            )
            found[sheet.system.name].append(sentences(said))
    return found


@pytest.mark.outside(
    source="textstat 0.7.7, grade of Kincaid and others 1975",
    kind="computed",
    tolerance=GRADE,
    absolute=True,
)
def test_every_report_is_read_without_effort(told: Any, outside: Any) -> None:
    grade = textstat.textstat.flesch_kincaid_grade
    grades = {
        (name, number): grade(" ".join(s for s in [*said, *cautions] if s[-1] in ".?!"))
        for name, reports in told.items()
        for number, (said, cautions) in enumerate(reports)
    }
    assert len(grades) > 300
    for found in grades.values():
        outside(max(found, 0.0), 0.0)


@pytest.mark.parametrize("name", SYSTEMS)
def test_no_report_reads_like_the_one_before(firm: Any, name: str) -> None:
    """The visit's words, the week and what changed: never all as last time."""
    parts = ("verdict", "why", "week", "changes")
    found = [[said[part] for part in parts] for said in first_of_each(name)]
    assert len(found) > FEW
    for one, other in itertools.pairwise(found):
        assert one != other
        # what is asked changes even where the water does not
        assert one[2] != other[2]
    first = next(iter(lines(next(first_of_each(name)))))
    assert first.endswith("A good start: all is well.")


def test_no_report_repeats_itself(told: Any) -> None:
    everywhere: Counter[str] = Counter()
    total, too_often = 0, []
    for name, reports in told.items():
        own = Counter(s for said, _c in reports for s in set(said) if words_in(s) >= LONG)
        everywhere.update(own)
        total += len(reports)
        if len(reports) >= FEW:
            too_often += [
                (name, len(reports), s, n) for s, n in own.items() if n > OF_ONE * len(reports)
            ]
    assert too_often == []
    often = {s: n for s, n in everywhere.items() if n > OF_ALL * total}
    assert not often, (total, often)
