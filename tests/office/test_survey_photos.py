"""Photos of a site: kept re-drawn with their survey, private, on its paper, taken out again."""

import io
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from apps.core import files
from apps.proposals.models import SiteSurvey, SurveyPhoto
from apps.reports.rendering.child import CHILD
from tests import factories
from tests.office.conftest import Desk


def jpeg(colour: str = "green", **more: Any) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (64, 48), colour).save(out, "JPEG", **more)
    return out.getvalue()


@pytest.fixture
def survey(desk: Desk) -> SiteSurvey:
    """A survey of the desk's place."""
    row: SiteSurvey = SiteSurvey.objects.create(
        place=desk.place, on=factories.TODAY, surveyed_by="Ana", made_at=factories.NOW,
        made_by="office", changed_at=factories.NOW, changed_by="office",
    )  # fmt: skip
    return row


def add(desk: Desk, row: SiteSurvey, *photos: bytes, caption: str = "South wall") -> Any:
    given = [SimpleUploadedFile(f"{n}.jpg", data, "image/jpeg") for n, data in enumerate(photos)]
    return desk.browser.post(f"/surveys/{row.pk}/photos/", {"photo": given, "caption": caption})


def test_several_at_once_stand_on_the_survey(desk: Desk, survey: SiteSurvey) -> None:
    assert add(desk, survey, jpeg(), jpeg("red")).status_code == 302
    assert SurveyPhoto.objects.filter(survey=survey, caption="South wall").count() == 2
    page = desk.get("survey", survey.pk).content.decode()
    assert page.count("South wall") >= 2
    photo = SurveyPhoto.objects.all()[0]
    shown = desk.browser.get(f"/surveys/photos/{photo.pk}/?size=small")
    assert shown["Content-Type"] == "image/jpeg"
    assert shown["X-Content-Type-Options"] == "nosniff"
    assert "no-store" in shown.headers.get("Cache-Control", "")


def test_only_the_pixels_are_kept(desk: Desk, survey: SiteSurvey) -> None:
    exif = Image.Exif()
    exif[0x010E] = "where the gate code hangs"
    add(desk, survey, jpeg(exif=exif))
    photo = SurveyPhoto.objects.get()
    for name in (photo.screen, photo.small):
        assert b"gate code" not in files.read(name)


@pytest.mark.parametrize(
    ("photos", "words"),
    [((b"GIF89a",), "Not a whole JPEG"), ((), "Choose a photo first"),
     ((b"",), "empty"), (tuple(jpeg() for _n in range(13)), "At most twelve")],
)  # fmt: skip
def test_what_is_no_photo_is_refused_beside_the_field(
    desk: Desk, survey: SiteSurvey, photos: tuple[bytes, ...], words: str
) -> None:
    answer = add(desk, survey, *photos)
    assert answer.status_code == 422
    assert words in str(answer.context["form"].errors["photo"])
    assert not SurveyPhoto.objects.exists()


def test_one_bad_photo_keeps_none(desk: Desk, survey: SiteSurvey) -> None:
    assert add(desk, survey, jpeg(), b"no picture").status_code == 422
    assert not SurveyPhoto.objects.exists()


def test_there_is_an_end(desk: Desk, survey: SiteSurvey, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("apps.proposals.services.surveys.MOST_PHOTOS", 1)
    assert add(desk, survey, jpeg(), jpeg("red")).status_code == 422
    assert not SurveyPhoto.objects.exists()


def test_taken_out_when_asked_once(desk: Desk, survey: SiteSurvey) -> None:
    add(desk, survey, jpeg())
    photo = SurveyPhoto.objects.get()
    assert "South wall" in desk.get("survey_photo_end", photo.pk).content.decode()
    assert SurveyPhoto.objects.exists()
    desk.post("survey_photo_end", photo.pk)
    assert not SurveyPhoto.objects.exists()
    assert desk.browser.get(f"/surveys/photos/{photo.pk}/").status_code == 404


def test_they_are_on_its_paper(
    desk: Desk, survey: SiteSurvey, monkeypatch: pytest.MonkeyPatch
) -> None:
    given: list[tuple[str, Any]] = []

    def draw(html: str, _style: str, _paper: str, photos: Any) -> bytes:
        given.append((html, photos))
        return b"%PDF-1.7"

    monkeypatch.setattr(CHILD, "draw", draw)
    add(desk, survey, jpeg())
    add(desk, survey, jpeg("red"), caption="")
    SurveyPhoto.objects.filter(caption="").update(small="photos/gone.jpg")
    desk.get("survey_pdf", survey.pk)
    html, photos = given[0]
    assert list(photos) == ["photo/1.jpg"]
    assert photos["photo/1.jpg"].startswith(b"\xff\xd8")
    assert 'src="asset:photo/1.jpg" alt="South wall"' in html
    assert "This photo could not be drawn." in html
    assert "Photo 2" in html
