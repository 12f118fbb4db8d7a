"""Letters, search, reference and calculators."""

import importlib.util
from pathlib import Path
from typing import Any

import pytest

from apps.accounts.models import ClientLink
from apps.calc.calculators import CALCULATORS
from apps.calc.calculators.fields import ROWS
from apps.catalogue.models import Entry
from apps.clients.models import Contact
from apps.office.views.calculators import significant
from apps.reports.models import DeliveryStep, Letter
from tests.office.conftest import Desk


@pytest.fixture
def letter(desk: Desk) -> Letter:
    """The letter of an appointment."""
    desk.booked()
    return Letter.objects.get()


def test_a_letter_shows_its_text_and_stores_nothing(desk: Desk, letter: Letter) -> None:
    page = desk.get("letter", letter.pk, text="1").content.decode()
    assert "We would like to come on Friday 12 June" in page
    assert "/c/…" in page
    assert not ClientLink.objects.exists()


def test_failed_and_unsure_letters_are_settled_once(desk: Desk, letter: Letter) -> None:
    assert desk.post("letter_again", letter.pk).status_code == 422
    Letter.objects.update(state="unsure")
    assert "Send again" in desk.get("letter", letter.pk).content.decode()
    desk.post("letter_arrived", letter.pk)
    letter.refresh_from_db()
    assert letter.state == "sent"
    Letter.objects.update(state="failed")
    desk.post("letter_again", letter.pk)
    letter.refresh_from_db()
    assert letter.state == "queued"
    assert DeliveryStep.objects.filter(letter=letter).count() == 3
    page = desk.get("letter", letter.pk).content.decode()
    assert "asked for by the office" in page


def test_letters_are_filtered_by_where_they_stand(desk: Desk, letter: Letter) -> None:
    assert desk.get("letters", show="waiting").context["page"].paginator.count == 1
    assert desk.get("letters", show="sent").context["page"].paginator.count == 0
    assert desk.get("letters", kind="report").context["page"].paginator.count == 0
    assert desk.get("letters", show="lost").status_code == 400


@pytest.mark.parametrize(
    "query", ["okaf", "Quarry", "patio", "robin", "0555123", "0555-12 3", "okafor garden"]
)
def test_search_finds_name_phone_street_and_system(desk: Desk, query: str) -> None:
    Contact.objects.update(phone="+44 (0)555 12 34")
    if query.startswith("0555"):
        query = query.replace("0555", "555")
    hits = desk.get("search", q=query).context["hits"]
    assert hits.count >= 1, query


@pytest.mark.parametrize("query", ["", "x", "zzz", "%", "'; drop table", "<script>"])
def test_search_that_finds_nothing_says_what_to_do(empty: Desk, query: str) -> None:
    answer = empty.get("search", q=query)
    assert answer.status_code == 200
    assert answer.context["hits"].count == 0
    assert "<script>" not in answer.content.decode().replace('<script type="module"', "")
    assert 'class="alone"' in answer.content.decode()


def edit(empty: Desk, **more: str) -> dict[str, Any]:
    page = empty.get("entry_edit", "species", "nile_tilapia")
    form = page.context["form"]
    values = {
        name: form[name].value() for name in form.fields if form[name].value() not in (None, False)
    }
    return values | more


def test_the_firms_own_figure_stands_beside_the_loaded_one(empty: Desk) -> None:
    empty.post("entry_edit", "species", "nile_tilapia", **edit(empty, opt_low="26"))
    entry = Entry.objects.get(kind="species", code="nile_tilapia")
    assert (entry.figures["opt_low"], entry.original["opt_low"]) == (26, 27)
    assert {key for key in entry.figures if entry.figures[key] != entry.original[key]} == {
        "opt_low"
    }
    page = empty.get("entry", "species", "nile_tilapia").content.decode()
    assert "Changed by the firm on Thu 11 June 2026" in page
    empty.post("entry_restore", "species", "nile_tilapia")
    entry.refresh_from_db()
    assert entry.figures == entry.original
    assert entry.edited_at is None


def test_two_who_change_an_entry_see_both(empty: Desk) -> None:
    mine = edit(empty, opt_low="25")
    empty.post("entry_edit", "species", "nile_tilapia", **edit(empty, opt_low="26"))
    answer = empty.post("entry_edit", "species", "nile_tilapia", **mine)
    assert answer.status_code == 422
    assert ("Best from, °C", "26", "25") in answer.context["both"]


def test_limits_must_follow_one_another(empty: Desk) -> None:
    band = Entry.objects.filter(kind="bands", figures__t_hi__isnull=False).first()
    assert band is not None
    form = empty.get("entry_edit", "bands", band.code).context["form"]
    values = {n: form[n].value() for n in form.fields if form[n].value() is not None}
    values["t_lo"] = str(values["t_hi"] + 1)
    answer = empty.post("entry_edit", "bands", band.code, **values)
    assert answer.status_code == 422
    assert "t_hi" in answer.context["form"].errors


@pytest.mark.parametrize("kind", ["measurands", "bands", "rules", "species", "tasks", "sources"])
def test_every_kind_opens_to_its_entries(empty: Desk, kind: str) -> None:
    assert empty.get("reference_kind", kind).status_code == 200
    assert empty.get("reference_csv", kind).status_code == 200
    entry = Entry.objects.filter(kind=kind).first()
    assert entry is not None
    assert empty.get("entry", kind, entry.code).status_code == 200


def examples() -> dict[str, Any]:
    path = Path(__file__).parent.parent / "calc" / "calculator_examples.py"
    spec = importlib.util.spec_from_file_location("calculator_examples", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return dict(module.SMALLEST)


def as_query(name: str, payload: dict[str, Any]) -> dict[str, str]:
    query = {}
    for field in CALCULATORS[name].fields:
        value = payload.get(field.name)
        if value is None:
            continue
        if field.kind == ROWS:
            for index, row in enumerate(value):
                query |= {f"{field.name}-{index}-{key}": str(cell) for key, cell in row.items()}
        else:
            query[field.name] = " ".join(map(str, value)) if isinstance(value, list) else str(value)
    return query


@pytest.mark.parametrize("name", sorted(CALCULATORS))
def test_every_calculator_opens_answers_and_explains(empty: Desk, name: str) -> None:
    assert empty.get("calculator", name).status_code == 200
    payload = examples()[name]
    answer = empty.get("calculator", name, **as_query(name, payload))
    assert answer.status_code == 200, answer.context["form"].errors
    shown = answer.context["answer"]
    assert len(shown["plain"]) + len(shown["tables"]) == len(
        CALCULATORS[name].run(payload)["result"]
    )
    assert shown["how"]["formula"]
    assert shown["how"]["source"]


def test_a_figure_of_a_calculator_is_the_published_one(empty: Desk) -> None:
    # Emerson and others 1975 as tabled in Univ. Florida FA16: 4.99 % at pH 8.0 and 24 °C
    answer = empty.get("calculator", "ammonia", tan_mg_l="1", ph="8,0", temp_c="24")
    values = dict(answer.context["answer"]["plain"])
    assert values["Un-ionised ammonia as N"].startswith("0.05")


def test_faults_stand_at_their_fields_and_what_was_typed_stays(empty: Desk) -> None:
    answer = empty.get("calculator", "filter", tan_g_day="lots", temp_c="90")
    assert answer.status_code == 422
    assert {"tan_g_day", "temp_c"} <= set(answer.context["form"].errors)
    page = answer.content.decode()
    assert 'value="lots"' in page
    assert "Water temperature must be between 0 and 45 °C" in page


@pytest.mark.parametrize(
    ("value", "text"), [(0.0, "0"), (177.0949, "177.1"), (0.049912, "0.04991"), (23456.7, "23,457")]
)
def test_figures_have_four_digits_that_mean_something(value: float, text: str) -> None:
    assert significant(value) == text
