"""manage.py backtest on a firm's own record."""

from io import StringIO

import pytest
from django.core.management import call_command

from tests import factories
from tests.ahead.conftest import read
from tests.factories import Built

pytestmark = pytest.mark.django_db


def said() -> str:
    out = StringIO()
    call_command("backtest", "--on", factories.TODAY.isoformat(), stdout=out)
    return out.getvalue()


def test_a_watched_loop_has_a_table(built: Built) -> None:
    for ago in range(77, 0, -7):
        for code, value in (("temp", 25.0), ("ph", 7.0), ("alk", 75.0), ("tan", 0.25),
                            ("no2", 0.1), ("no3", 40 + (77 - ago) / 3)):  # fmt: skip
            read(built, code, value, ago)
    text = said()
    assert "1 loops, 6 forecasts made anew" in text
    assert "no3" in text
    assert "80 % range" in text


def test_a_new_firm_is_told_so(built: Built) -> None:
    assert "no loop has been read often enough" in said()
