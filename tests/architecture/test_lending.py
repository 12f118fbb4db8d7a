"""A test and its live server ask one connection side by side, and neither waits for good."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
# two threads, one asking what SQLite calls back into Python for
SIDE_BY_SIDE = """
import os, sys, threading, time
os.environ["DJANGO_SETTINGS_MODULE"] = "backyard.settings.test"
os.environ["DATABASE_URL"] = ""
import django
django.setup()
from django.db import connections
from tests.lending import lent

one = connections["default"]
one.cursor()
lent()
ROWS = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 500) "
ends, counts = time.monotonic() + 2, dict.fromkeys(("dates", "plain"), 0)

def ask(name, statement):
    while time.monotonic() < ends:
        with one.cursor() as cursor:
            cursor.execute(statement, ["2026-06-11 09:00:"])
            cursor.fetchall()
        counts[name] += 1

cast = "SELECT max(django_datetime_cast_date(%s || (10 + i %% 50), 'UTC', 'UTC')) FROM n"
other = threading.Thread(target=ask, args=("dates", ROWS + cast), daemon=True)
other.start()
ask("plain", "SELECT %s")
other.join()
print(counts)
sys.exit(not all(counts.values()))
"""


def test_a_lent_connection_takes_one_call_at_a_time() -> None:
    # stands still for good where the connection is only shared
    subprocess.run([sys.executable, "-c", SIDE_BY_SIDE], cwd=ROOT, check=True, timeout=90)
