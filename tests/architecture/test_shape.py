"""Rules of the house that the import contracts cannot see."""

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings
from django.core.management import call_command, get_commands

from backyard.settings import env

ROOT = Path(settings.BASE_DIR)
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()


def floors() -> dict[str, int]:
    """App label -> floor, the ground floor 0."""
    contract = PROJECT["tool"]["importlinter"]["contracts"][0]
    found = {}
    for height, layer in enumerate(reversed(contract["layers"])):
        for name in layer.split("|"):
            found[name.strip().removeprefix("apps.")] = height
    return found


def test_every_app_has_a_floor() -> None:
    folders = {path.parent.name for path in (ROOT / "apps").glob("*/__init__.py")}
    assert folders - set(floors()) == set()


def test_foreign_keys_point_down() -> None:
    heights = floors()
    for model in apps.get_models():
        if not model.__module__.startswith("apps."):
            continue
        for field in model._meta.get_fields():
            target = getattr(field, "related_model", None)
            if not field.concrete or target is None or isinstance(target, str):
                continue
            if target.__module__.startswith("apps."):
                here, there = model._meta.app_label, target._meta.app_label
                assert heights[there] <= heights[here], f"{model}.{field.name} points up"


def test_the_ground_floor_loads_without_django() -> None:
    code = (
        "import sys, apps.calc.advice, apps.calc.calculators;"
        "bad = [m for m in sys.modules if m.split('.')[0] in ('django','numpy','scipy')];"
        "sys.exit(str(bad) if bad else 0)"
    )
    subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True)


def test_the_web_process_imports_no_numpy() -> None:
    code = (
        "import sys, os, django; os.environ['DJANGO_SETTINGS_MODULE']='backyard.settings.test';"
        "django.setup(); import backyard.urls;"
        "sys.exit('numpy is loaded' if 'numpy' in sys.modules else 0)"
    )
    subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True)


@pytest.mark.django_db
def test_no_model_without_migration() -> None:
    call_command("makemigrations", "--check", "--dry-run", verbosity=0)


def views_and_services() -> list[Path]:
    names = ("views", "api")
    return [
        path
        for path in (ROOT / "apps").rglob("*.py")
        if "migrations" not in path.parts and any(n in path.parts or path.stem == n for n in names)
    ]


def test_views_read_through_visible_to() -> None:
    """`Model.objects.all()` and the like in a view would show rows of strangers."""
    allowed = re.compile(
        r"(Firm|Report|ReportVersion|User|Visit|Contact)\.objects\.filter\("
        r"(visit=|pk=|wanted|pk__in)"
    )
    bad = []
    for path in views_and_services():
        for number, line in enumerate(path.read_text().splitlines(), 1):
            reads = re.search(r"\.objects\.(all|get|filter|exclude|values|order_by)\(", line)
            if reads and not allowed.search(line):
                bad.append(f"{path.relative_to(ROOT)}:{number}: {line.strip()}")
    assert bad == []


def test_rows_change_in_services_only() -> None:
    bad = []
    for path in views_and_services():
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                if node.func.attr in ("bulk_create", "bulk_update", "full_clean"):
                    bad.append(f"{path.relative_to(ROOT)}:{node.lineno}")
                if node.func.attr == "save" and not node.args and not node.keywords:
                    bad.append(f"{path.relative_to(ROOT)}:{node.lineno}")
    assert bad == []


def test_templates_have_no_inline_script_or_style() -> None:
    bad = []
    for path in (ROOT / "templates").rglob("*.html"):
        if path.is_relative_to(ROOT / "templates" / "letters"):
            continue  # mail programs read nothing else
        text = path.read_text()
        if re.search(r"\sstyle=|\son[a-z]+=|<style|<script(?![^>]*\ssrc=)", text):
            bad.append(str(path.relative_to(ROOT)))
    assert bad == []


def test_css_is_logical() -> None:
    pattern = re.compile(
        r"(?<![\w-])(margin|padding|border)-(left|right)\b|text-align:\s*(left|right)"
    )
    bad = [
        f"{path.name}: {match.group(0)}"
        for path in (ROOT / "apps/core/static/css").glob("*.css")
        for match in pattern.finditer(path.read_text())
    ]
    assert bad == []


@pytest.mark.parametrize("name", sorted(env.VARIABLES))
def test_every_variable_is_documented(name: str) -> None:
    assert f"`{name}`" in DEVELOPERS


def test_every_command_is_documented() -> None:
    ours = [name for name, app in get_commands().items() if str(app).startswith("apps.")]
    assert [name for name in ours if f"`manage.py {name}" not in DEVELOPERS] == []


def test_every_app_has_its_paragraph() -> None:
    for name in floors():
        assert re.search(rf"^\| \d+ \|.*`{name}`", DEVELOPERS, re.M), f"{name} has no row"


def test_schedule_names_exist() -> None:
    from backyard.celery import app

    app.loader.import_default_modules()
    for entry in settings.CELERY_BEAT_SCHEDULE.values():
        assert entry["task"] in app.tasks


def test_nothing_speaks_of_a_machine() -> None:
    """Paths of a machine and addresses of a package index do not belong in the repository."""
    files = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    ).stdout.split()
    parts = ("/root" + "/", "/home" + "/", "index-url", "files.python" + "hosted")
    bad = []
    for name in files:
        path = ROOT / name
        if path.suffix in (".png", ".ttf", ".woff2") or not path.is_file():
            continue
        text = path.read_text(errors="ignore")
        bad += [f"{name}: {part}" for part in parts if part in text and "no-emit" not in text]
    assert bad == []
