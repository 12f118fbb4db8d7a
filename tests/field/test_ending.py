"""Findings, advice, left running, the end of a visit, and what it led to."""

import io
from typing import Any
from uuid import uuid4

import pytest
from PIL import Image

from apps.advice.models import Advice
from apps.visits.models import Finding, Photo, Reading, Value
from tests.field.conftest import Phone

RUNNING = ["pumps", "air", "level", "lid", "gate"]


def picture(name: str = "yard.jpg") -> io.BytesIO:
    """A small real photo."""
    out = io.BytesIO()
    Image.new("RGB", (64, 48), (20, 120, 90)).save(out, "JPEG")
    out.seek(0)
    out.name = name
    return out


def left(phone: Phone, **more: Any) -> Any:
    """Tick everything that runs."""
    return phone.post("left_running", {"tick": RUNNING, "photo": picture(), **more})


class TestFindings:
    def test_sign_words_part_and_photo(self, phone: Phone) -> None:
        key = uuid4()
        answer = phone.post(
            "finding",
            {"sign": "fish_gasping", "text": "Two at the inlet", "photo": picture(),
             "component": str(phone.built.tank.pk)},
            key=key,
        )  # fmt: skip
        assert answer.status_code == 302
        page = phone.get("findings").content.decode()
        photo = Photo.objects.get()
        for words in ("Fish gasp at the surface", "Two at the inlet", "(Tank)", str(photo.pk)):
            assert words in page
        assert phone.browser.get(f"/api/v1/photos/{photo.pk}?size=small").status_code == 200

    def test_more_photos_join_the_finding(self, phone: Phone) -> None:
        key = uuid4()
        for _ in range(2):
            phone.post("finding", {"text": "A leak", "photo": picture()}, key=key)
        row = Value.objects.get(path=f"findings/{key}/photo_ids")
        assert len(row.value) == 2

    def test_photo_without_words_is_kept_and_asked_about(self, phone: Phone) -> None:
        answer = phone.post("finding", {"sign": "", "text": " ", "photo": picture()}, key=uuid4())
        assert answer.status_code == 422
        assert Photo.objects.count() == 1
        assert "Photos without words" in phone.get("findings").content.decode()

    def test_what_is_no_picture(self, phone: Phone) -> None:
        fake = io.BytesIO(b"<svg onload=alert(1)>")
        fake.name = "x.jpg"
        answer = phone.post("finding", {"text": "A leak", "photo": fake}, key=uuid4())
        assert answer.status_code == 422
        assert "A leak" in answer.content.decode()
        assert "Not a whole JPEG" in answer.content.decode()
        assert phone.post("photo", {"photo": ""}).status_code == 422

    def test_taken_back_and_undone(self, phone: Phone) -> None:
        key = uuid4()
        phone.post("finding", {"text": "A leak"}, key=key)
        phone.post("finding", {"gone": "1"}, key=key)
        page = phone.get("findings").content.decode()
        assert "A leak" not in page
        phone.post("undo", {"at": page.split('name="at" value="')[1].split('"')[0]})
        assert "A leak" in phone.get("findings").content.decode()


class TestAdvice:
    @pytest.fixture
    def about(self, phone: Phone) -> str:
        """The key of the first advice about short alkalinity."""
        for measurand, value in (("temp", "28"), ("ph", "6.8"), ("tan", "0.2"), ("alk", "31")):
            phone.read(measurand, value)
        page = phone.get("advice").content.decode()
        return page.split('id="advice-')[1].split('"')[0]

    def test_edit_and_strike_need_words(self, phone: Phone, about: str) -> None:
        for typed in (
            {"decision": "edit", "text": "Half of it.", "reason": ""},
            {"decision": "edit", "text": "", "reason": "x"},
            {"decision": "strike", "reason": " "},
            {"decision": "burn"},
        ):
            answer = phone.post("advice", {"advice": about, **typed})
            assert answer.status_code == 422
        assert not Value.objects.filter(path__startswith="advice/").exists()

    def test_decisions_reach_the_stored_advice(self, phone: Phone, about: str) -> None:
        typed = {"advice": about, "decision": "edit", "text": "Half of it.", "reason": "new salt"}
        assert phone.post("advice", typed).status_code == 302
        assert "Half of it." in phone.get("advice").content.decode()
        left(phone)
        assert phone.post("finish").status_code == 302
        row = Advice.objects.get(pk=about)
        assert (row.decision, row.decision_text, row.decision_reason) == (
            "edit", "Half of it.", "new salt",
        )  # fmt: skip
        assert "Half of it." in phone.get("result").content.decode()
        assert "Half of it." in phone.get("advice").content.decode()

    def test_keeping_after_striking_drops_the_reason(self, phone: Phone, about: str) -> None:
        phone.post("advice", {"advice": about, "decision": "strike", "reason": "no"})
        phone.post("advice", {"advice": about, "decision": "keep"})
        assert Value.objects.get(path=f"advice/{about}/decision").value == "keep"
        assert Value.objects.get(path=f"advice/{about}/reason").value == ""

    def test_advice_that_is_gone_is_said_so(self, phone: Phone, about: str) -> None:
        phone.read("alk", "80")
        answer = phone.post("advice", {"advice": about, "decision": "keep"})
        assert answer.status_code == 302
        assert "has changed with a reading" in phone.get("advice").content.decode()


class TestLeftRunning:
    def test_every_tick_and_a_photo(self, phone: Phone) -> None:
        line = phone.sheet.lines.get(code="left_running")
        answer = phone.post("left_running", {"tick": RUNNING[:-1]})
        page = answer.content.decode()
        assert answer.status_code == 422
        assert "Gate is shut" in page
        assert 'value="pumps" checked' in page  # what was ticked stays
        answer = phone.post("left_running", {"tick": [*RUNNING, "photo"]})
        assert answer.status_code == 422  # no photo was taken
        assert not Value.objects.filter(path=f"lines/{line.pk}/outcome").exists()
        assert left(phone).status_code == 302
        assert Value.objects.get(path=f"lines/{line.pk}/outcome").value == "done"

    def test_a_broken_camera_is_a_note(self, phone: Phone) -> None:
        typed = {"tick": RUNNING, "note": "Camera is broken"}
        assert phone.post("left_running", typed).status_code == 302

    def test_heater_is_asked_where_there_is_one(self, phone: Phone) -> None:
        page = phone.get("left_running").content.decode()
        assert "Heater is on" not in page
        assert "Not on record here: heater, timer, valve." in page

    def test_it_has_no_page_of_a_common_line(self, phone: Phone) -> None:
        line = phone.sheet.lines.get(code="left_running")
        assert phone.get("line", line=line.pk).status_code == 404


class TestFinish:
    def test_problems_in_words_with_links(self, phone: Phone) -> None:
        phone.read("ph", "71")
        answer = phone.post("finish")
        page = answer.content.decode()
        assert answer.status_code == 422
        assert phone.url("left_running") in page
        assert "It cannot end yet" in page
        left(phone)
        page = phone.post("finish").content.decode()
        assert phone.reading_url("ph") in page
        assert "pH: PH 71 cannot be" in page or "pH 71 cannot be" in page
        phone.visit.refresh_from_db()
        assert phone.visit.state == "under_way"

    def test_a_whole_visit(self, phone: Phone) -> None:
        phone.post("start")
        for measurand, value in (("temp", "28"), ("ph", "6,8"), ("do", "6.4"), ("tan", "0.2")):
            phone.read(measurand, value)
        phone.post("finding", {"text": "All quiet."}, key=uuid4())
        page = phone.get("finish").content.decode()
        assert "Nitrate as N" in page  # still open, in words
        left(phone)
        answer = phone.post("finish")
        assert answer.url == phone.url("result")
        phone.visit.refresh_from_db()
        assert phone.visit.state == "written_up"
        assert Reading.objects.filter(sheet=phone.sheet).count() == 4
        assert Finding.objects.get(sheet=phone.sheet).text == "All quiet."
        page = phone.get("result").content.decode()
        assert "Harmful ammonia" in page
        assert phone.get("finish").url == phone.url("result")

    def test_not_begun(self, phone: Phone) -> None:
        page = phone.post("finish")
        assert page.status_code == 422
        assert phone.get("result").url == phone.url("visit")
