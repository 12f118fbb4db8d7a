"""How the demo firm is made: repeatable, from a truth of its own, with logins that last."""

import ast
import datetime as dt
import io
import os
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from demo import loading
from demo.firm.keys import chance
from demo.firm.story import STORIES, on_path
from demo.firm.systems import BY_KEY
from demo.firm.truth import acidity, oxygen_full
from demo.firm.weather import wave, wave_year
from demo.pictures import PICTURES, picture
from tests.demo.digest import fingerprint

ROOT = Path(__file__).resolve().parent.parent.parent
TODAY = dt.date(2026, 6, 11)


@pytest.mark.long
def test_the_same_day_gives_the_same_firm_under_any_hash_seed():
    found = {fingerprint(TODAY)}
    for seed in ("1",):
        done = subprocess.run(
            [sys.executable, "-m", "tests.demo.digest", TODAY.isoformat()],
            cwd=ROOT, capture_output=True, text=True, check=True,
            env=os.environ | {"PYTHONHASHSEED": seed, "DJANGO_SETTINGS_MODULE": "backyard.settings.test"},
        )  # fmt: skip
        found.add(done.stdout.split()[-1])
    assert len(found) == 1


def _imports(name: str, seen: set[str]) -> set[str]:
    if name in seen:
        return seen
    seen.add(name)
    path = ROOT / (name.replace(".", "/") + ".py")
    if not path.exists() or not name.startswith("demo."):
        return seen
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom) and node.module:
            _imports(node.module, seen)
        elif isinstance(node, ast.Import):
            for alias in node.names:
                _imports(alias.name, seen)
    return seen


def test_the_truth_shares_no_code_with_what_reads_it():
    reached = _imports("demo.firm.truth", set()) | _imports("demo.firm.kits", set())
    assert not [name for name in reached if name.startswith(("apps", "django"))]


def test_stories_are_about_systems_that_exist():
    assert set(STORIES) <= set(BY_KEY)


def test_a_path_is_followed_and_left():
    path = ((10, 1.0), (5, 2.0), (0, 2.0))
    assert on_path(path, 7.5) == pytest.approx(1.5)
    assert on_path(path, 3) == 2.0
    assert on_path(path, 11) is None
    assert on_path((), 3) is None


@pytest.mark.parametrize(
    ("today", "year"), [("2026-06-11", 2025), ("2026-08-01", 2025), ("2026-12-24", 2026)]
)
def test_the_heat_wave_is_over(today, year):
    day = dt.date.fromisoformat(today)
    assert wave_year(day) == year
    assert wave(day, day) == 0


@pytest.mark.outside(
    source="EN 25814:1992 table of dissolved oxygen in air-saturated water, 1013 hPa", kind="memory",
    tolerance=0.15,
)  # fmt: skip
@pytest.mark.parametrize(("temp", "full"), [(10, 11.29), (20, 9.09), (25, 8.26), (30, 7.56)])
def test_oxygen_of_the_truth_is_near_the_table(temp, full):
    assert oxygen_full(temp) == pytest.approx(full, abs=0.15)


@pytest.mark.outside(
    source="closed form of the first carbonic acid equilibrium, pK1 6.38 at 20 °C (Plummer and "
    "Busenberg 1982)", kind="memory", tolerance=0.06,
)  # fmt: skip
def test_acidity_of_the_truth():
    # 1 meq/L over 0.2 mmol/L of carbon dioxide: pK1 + log10(5)
    assert acidity(50.0, 8.8, 20) == pytest.approx(6.38 + 0.699, abs=0.06)


@pytest.mark.parametrize("name", PICTURES)
def test_pictures_are_whole_and_repeatable(name):
    data = picture(name, chance(TODAY, name))
    assert data == picture(name, chance(TODAY, name))
    with Image.open(io.BytesIO(data)) as image:
        image.load()
        assert image.format == "JPEG"
        assert image.width >= 1000


@pytest.mark.long
@pytest.mark.django_db
@pytest.mark.parametrize("today", ["2026-01-15", "2026-04-05", "2026-07-30", "2026-10-20"])
def test_the_due_list_is_alive_in_every_season(today):
    from apps.care.selectors import ranked
    from apps.core.scoping import system

    day = dt.date.fromisoformat(today)
    loading.load(day)
    rows = list(ranked(system("test", dt.datetime.combine(day, dt.time(8), dt.UTC)), day))
    assert 7 <= len(rows) <= 12
    assert rows[0].system.name == "Courtyard system"
