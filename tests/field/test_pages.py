"""Every page opens for its technician, and for nobody else's."""

from uuid import uuid4

from django.test import Client as Browser
from django.urls import reverse

from apps.accounts.models import User
from tests.field.conftest import Phone, signed_in


def addresses(phone: Phone) -> dict[str, str]:
    line = phone.sheet.lines.exclude(code="left_running").first()
    assert line is not None
    return {
        "visit": phone.url("visit"),
        "nobody": phone.url("nobody"),
        "wrong_place": phone.url("wrong_place"),
        "sheet": phone.url("sheet"),
        "line": phone.url("line", line=line.pk),
        "reading": phone.reading_url("ph"),
        "measure": phone.url("measure"),
        "findings": phone.url("findings"),
        "finding": phone.url("finding", key=uuid4()),
        "photo": phone.url("photo"),
        "advice": phone.url("advice"),
        "left_running": phone.url("left_running"),
        "finish": phone.url("finish"),
    }


def test_pages_open(phone: Phone) -> None:
    assert phone.browser.get(reverse("field:round")).status_code == 200
    for name, address in addresses(phone).items():
        assert phone.browser.get(address).status_code == 200, name


def test_result_opens(phone: Phone) -> None:
    type(phone.visit).objects.filter(pk=phone.visit.pk).update(state="written_up")
    assert phone.get("result").status_code == 200


def test_office_may_open_them(phone: Phone, staff: dict[str, User]) -> None:
    office = signed_in(staff["office"])
    for name, address in addresses(phone).items():
        assert office.get(address).status_code == 200, name


def test_nobody_signed_in(phone: Phone) -> None:
    for address in ("/field/online/", *addresses(phone).values()):
        assert Browser().get(address).url.startswith("/account/login/")


def test_strangers_visit_is_404(phone: Phone, staff: dict[str, User]) -> None:
    marek = signed_in(staff["marek"])
    for name, address in addresses(phone).items():
        assert marek.get(address).status_code == 404, name
        assert marek.post(address, {"outcome": "done"}).status_code in (404, 405), name
    assert marek.post(phone.url("start")).status_code == 404
    assert marek.post(phone.url("undo")).status_code == 404
