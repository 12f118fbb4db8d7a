"""docs/mail-faults.md: every line names a test that there is."""

import re
from pathlib import Path

from django.conf import settings


def test_every_fault_names_its_test() -> None:
    root = Path(settings.BASE_DIR)
    table = (root / "docs/mail-faults.md").read_text()
    named = set(re.findall(r"`(test_\w+)`", table))
    there = {
        name
        for path in (root / "tests/reports").glob("test_*.py")
        for name in re.findall(r"def (test_\w+)\(", path.read_text())
    }
    assert len(named) > 20
    assert named - there == set()
