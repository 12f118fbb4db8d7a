"""Text that a spreadsheet of any country must not take for a formula. Source: OWASP, CSV Injection."""

import csv

import pytest

from apps.core.csv_text import STARTERS, csv_lines, safe_cell
from apps.core.fields import LongWordsField, WordsField

EVIL = [f"{sign}1+1" for sign in STARTERS if sign not in "\t\r"]


@pytest.mark.parametrize("split", [",", ";", "\t", "|"])
@pytest.mark.parametrize("evil", EVIL)
def test_no_cell_begins_a_formula_however_it_is_split(evil: str, split: str) -> None:
    text = "".join(csv_lines(["name"], [[f"fish{split}{evil}"], [evil]]))
    cells = [cell for row in csv.reader(text.splitlines(), delimiter=split) for cell in row]
    assert not [cell for cell in cells if cell[:1] in tuple(STARTERS)]


@pytest.mark.parametrize("plain", ["-5.2", "a; -b", "pH 7 - fine", "a-b", "x;y", ""])
def test_plain_text_stays(plain: str) -> None:
    assert safe_cell(plain) == plain


def test_a_name_is_one_line() -> None:
    assert WordsField().clean("Eve\r\nBcc: all@example.org") == "Eve Bcc: all@example.org"
    assert LongWordsField().clean("one\r\ntwo") == "one\ntwo"
