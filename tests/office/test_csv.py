"""Tables for a spreadsheet: text that would start a formula is held off, numbers stay numbers.

Which signs start a formula: OWASP, CSV Injection (from memory).
"""

import datetime as dt

import pytest

from apps.core.csv_text import csv_lines, safe_cell


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠"])
def test_text_that_starts_a_formula_gets_an_apostrophe(start: str) -> None:
    assert safe_cell(f"{start}cmd") == f"'{start}cmd"


@pytest.mark.parametrize("value", [-5, -5.25, "-5", "-5.25", "-5,25"])
def test_negative_numbers_stay_numbers(value: object) -> None:
    assert safe_cell(value) == str(value)  # type: ignore[arg-type]


def test_plain_text_days_and_nothing_stay() -> None:
    assert safe_cell("Okafor") == "Okafor"
    assert safe_cell(dt.date(2026, 6, 11)) == "2026-06-11"
    assert safe_cell(None) == ""


def test_lines_end_as_rfc_4180_says() -> None:
    lines = list(csv_lines(["a", "b"], [["x,y", 'say "z"']]))
    assert lines == ["\ufeff", "a,b\r\n", '"x,y","say ""z"""\r\n']
