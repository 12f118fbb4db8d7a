"""docker-compose.yml against the compose schema, the settings and the files that it mounts."""

import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import yaml
from django.conf import settings

from backyard.settings import env

ROOT = Path(settings.BASE_DIR)
COMPOSE: dict[str, Any] = yaml.safe_load((ROOT / "docker-compose.yml").read_text())
OURS = ("migrate", "web", "worker", "worker-pdf", "beat")


def test_meets_the_compose_schema() -> None:
    tool = Path(sys.executable).parent / "check-jsonschema"
    subprocess.run(
        [str(tool), "--builtin-schema", "vendor.compose-spec", "docker-compose.yml"],
        cwd=ROOT, check=True, capture_output=True,
    )  # fmt: skip


def test_every_setting_is_known() -> None:
    for name in OURS:
        for variable in COMPOSE["services"][name]["environment"]:
            plain = variable.removesuffix("_FILE")
            assert plain in env.VARIABLES or variable == "DJANGO_SETTINGS_MODULE", variable


def test_every_setting_of_a_firm_reaches_the_app() -> None:
    """All but what only a demo has, and older keys while they roll over."""
    passed = {name.removesuffix("_FILE") for name in COMPOSE["x-app"]["environment"]}
    rare = {"BACKYARD_CLOCK_AHEAD", "BACKYARD_SECRET_KEY_FALLBACKS"}
    assert set(env.VARIABLES) - rare <= passed


def test_has_every_part() -> None:
    assert set(COMPOSE["services"]) == {*OURS, "db", "redis", "proxy", "backup"}


def test_mounted_files_exist() -> None:
    for service in COMPOSE["services"].values():
        for volume in service.get("volumes", []):
            source = volume.split(":")[0]
            if source.startswith("./"):
                assert (ROOT / source).exists(), source
            else:
                assert source in COMPOSE["volumes"], source


def test_commands_exist() -> None:
    for name in OURS:
        command = COMPOSE["services"][name]["command"]
        assert command[0] in ("python", "gunicorn", "celery")


def test_queues_of_the_workers_cover_all_effects() -> None:
    from apps.core.outbox import HANDLERS

    listened = set()
    for name in ("worker", "worker-pdf"):
        command = COMPOSE["services"][name]["command"]
        listened |= set(command[command.index("-Q") + 1].split(","))
    assert {handler.queue for handler in HANDLERS.values()} <= listened


def test_deploy_check_is_clean() -> None:
    code = (
        "import os, sys; os.environ.update(DJANGO_SETTINGS_MODULE='backyard.settings.prod',"
        "BACKYARD_SECRET_KEY='aB3dE5gH7jK9mN1pQ2rS4tU6vW8xY0zAcBdCeDfEgFhGiHjIkJl', DATABASE_URL='postgres://a@127.0.0.1/b',"
        "REDIS_URL='redis://127.0.0.1/0', BACKYARD_HOSTS='backyard.example');"
        "from django.core.management import execute_from_command_line as run;"
        "run(['manage.py','check','--deploy','--fail-level','WARNING'])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


def test_production_refuses_to_start_without_its_secrets() -> None:
    code = (
        "import os, django; os.environ.update(DJANGO_SETTINGS_MODULE='backyard.settings.prod',"
        "BACKYARD_SECRET_KEY='short'); django.setup()"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode != 0
    assert re.search(r"BACKYARD_SECRET_KEY must be set", done.stderr)
