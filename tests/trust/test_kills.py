"""Workers killed with -9 in the middle: every effect done once, no letter twice."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
pytestmark = pytest.mark.kill


def run(folder: Path, kills: int, seed: int, visits: int, **env: str) -> dict[str, object]:
    """Run the drill in a process of its own and return what it found."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.trust.drill", "--kills", str(kills), "--seed", str(seed),
         "--visits", str(visits)],
        cwd=ROOT, capture_output=True, text=True, timeout=900, check=False,
        env=os.environ | {"BACKYARD_DIR": str(folder), "DATABASE_URL": "", "REDIS_URL": ""} | env,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-3000:]
    return dict(json.loads(done.stdout.strip().splitlines()[-1]))


def services() -> dict[str, str]:
    """Return a fresh PostgreSQL database and a Redis; skip where the stage found none."""
    postgres, redis = os.environ.get("TEST_POSTGRES_URL"), os.environ.get("TEST_REDIS_URL")
    if not postgres or not redis:
        pytest.skip("PostgreSQL and Redis of their own are started by bin/test")
    import psycopg

    name = f"drill_{os.getpid()}_{os.urandom(3).hex()}"
    with psycopg.connect(postgres, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    return {"DATABASE_URL": postgres.rsplit("/", 1)[0] + f"/{name}", "REDIS_URL": redis}


def test_two_kills_on_files_and_sqlite(tmp_path: Path) -> None:
    found = run(tmp_path, kills=2, seed=1, visits=3)
    assert found["wrong"] == []


def test_two_kills_on_redis_and_postgresql(tmp_path: Path) -> None:
    found = run(tmp_path, kills=2, seed=2, visits=3, **services())
    assert found["wrong"] == []


@pytest.mark.long
@pytest.mark.parametrize("seed", [11, 12])
def test_ten_kills_on_files_and_sqlite(tmp_path: Path, seed: int) -> None:
    assert run(tmp_path, kills=10, seed=seed, visits=14)["wrong"] == []


@pytest.mark.long
@pytest.mark.parametrize("seed", [21, 22])
def test_ten_kills_on_redis_and_postgresql(tmp_path: Path, seed: int) -> None:
    assert run(tmp_path, kills=10, seed=seed, visits=14, **services())["wrong"] == []
