"""Photos: no byte of what was uploaded comes out, and what is not a picture stays out.

The upload rules checked here: OWASP ASVS 5.0.0, 5.2.1 and 5.2.2 (size and content checked),
5.3.2 (given file names unused), 5.4.1 (file name of our own in the answer), 14.2.8 (metadata of
a user's file taken off).
"""

import io
import struct
import threading
import time
import zlib
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageOps

from apps.core import clock, files
from apps.core.exceptions import Conflict, Invalid
from apps.visits.choices import State
from apps.visits.models import Photo, Sheet, Visit
from apps.visits.services import photos
from tests import factories
from tests.api.conftest import World, visit, world  # noqa: F401

CANARY = b"HERON-CANARY-31"
# Exif 2.32: orientation 0x0112, image description 0x010e, GPS directory 0x8825
ORIENTATION, DESCRIPTION, GPS = 0x0112, 0x010E, 0x8825
TURNED = 6  # the camera was held upright: row 0 is the right side
RED, BLUE = (220, 20, 20), (20, 20, 220)


@pytest.fixture(autouse=True)
def at_nine(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)


@pytest.fixture
def sheet(world: World, visit: dict[str, Any]) -> Sheet:  # noqa: F811
    return Sheet.objects.select_related("visit").get(visit_id=visit["id"])


def keep(sheet: Sheet, data: bytes, pk: UUID | None = None, caption: str = "") -> Photo:
    by = factories.actor(sheet.visit.technicians.get())
    return photos.photo_keep(
        sheet=sheet, pk=pk or uuid4(), data=data, caption=caption, by=by, at=factories.NOW
    )


def picture(width: int = 60, height: int = 40) -> Image.Image:
    """The left half red, the right half blue."""
    image = Image.new("RGB", (width, height), BLUE)
    image.paste(RED, (0, 0, width // 2, height))
    return image


def written(format_: str = "JPEG", image: Image.Image | None = None, **more: Any) -> bytes:
    out = io.BytesIO()
    (image or picture()).save(out, format_, **more)
    return out.getvalue()


def camera_jpeg() -> bytes:
    """A turned JPEG that carries the canary in each place for metadata."""
    exif = Image.Exif()
    exif[ORIENTATION] = TURNED
    exif[DESCRIPTION] = CANARY.decode()
    exif[GPS] = {1: "N", 2: (51.0, 30.0, 12.0), 29: CANARY.decode()}
    data = written(
        exif=exif, comment=CANARY, icc_profile=b"ICC" + CANARY * 20, quality=90,
        xmp=b"<x:xmpmeta>" + CANARY + b"</x:xmpmeta>",
    )  # fmt: skip
    assert data.count(CANARY) >= 5
    return data


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png_header(width: int, height: int) -> bytes:
    """A PNG (ISO/IEC 15948) of a few bytes that promises many pixels."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 64))
        + chunk(b"IEND", b"")
    )  # fmt: skip


def kept_files() -> set[str]:
    found: set[str] = set()
    if not default_storage.exists("photos"):
        return found
    for folder in default_storage.listdir("photos")[0]:
        found |= set(default_storage.listdir(f"photos/{folder}")[1])
    return found


def stored(photo: Photo) -> list[bytes]:
    return [files.read(photo.screen), files.read(photo.small)]


class TestWhatComesOut:
    def test_no_metadata_and_upright(self, sheet: Sheet) -> None:
        photo = keep(sheet, camera_jpeg())
        assert (photo.width, photo.height) == (40, 60)
        for data in stored(photo):
            assert CANARY not in data
            with Image.open(io.BytesIO(data)) as image:
                assert image.format == "JPEG"
                assert not image.getexif()
                assert not {"comment", "exif", "icc_profile", "xmp"} & set(image.info)
                # turned by 90 degrees clockwise, the left half is the upper one
                red, _green, blue = image.convert("RGB").getpixel((20, 10))
                assert red > 150 > 100 > blue
                red, _green, blue = image.convert("RGB").getpixel((20, 50))
                assert blue > 150 > 100 > red

    @pytest.mark.parametrize("format_", ["PNG", "WEBP"])
    def test_other_formats(self, sheet: Sheet, format_: str) -> None:
        exif = Image.Exif()
        exif[DESCRIPTION] = CANARY.decode()
        data = written(format_, exif=exif, icc_profile=b"ICC" + CANARY * 20)
        for out in stored(keep(sheet, data)):
            assert out.startswith(b"\xff\xd8")
            assert CANARY not in out

    @pytest.mark.parametrize("mode", ["RGBA", "P", "L", "1", "LA"])
    def test_other_colours(self, sheet: Sheet, mode: str) -> None:
        keep(sheet, written("PNG", picture().convert(mode)))

    def test_cmyk(self, sheet: Sheet) -> None:
        keep(sheet, written("JPEG", picture().convert("CMYK")))

    def test_large_ones_are_made_smaller(self, sheet: Sheet) -> None:
        sizes = []
        for data in stored(keep(sheet, written(image=picture(2400, 1200)))):
            with Image.open(io.BytesIO(data)) as image:
                sizes.append(image.size)
        assert sizes == [(1600, 800), (800, 400)]

    @pytest.mark.parametrize("where", ["behind", "comment"])
    def test_polyglot_loses_its_script(self, sheet: Sheet, where: str) -> None:
        script = b"<html><script>alert('" + CANARY + b"')</script></html>"
        data = written() + script if where == "behind" else written(comment=script)
        for out in stored(keep(sheet, data)):
            assert b"<script" not in out
            assert CANARY not in out


def broken_exif() -> list[bytes]:
    """JPEGs with one byte of their metadata damaged: types, counts and places among them."""
    exif = Image.Exif()
    exif[ORIENTATION], exif[DESCRIPTION] = TURNED, "a"
    exif[GPS] = {1: "N", 2: (51.0, 30.0, 12.0)}
    whole = written(exif=exif)
    start = whole.index(b"Exif\0\0") + 6
    return [
        whole[: start + place] + bytes([value]) + whole[start + place + 1 :]
        for place in range(80)
        for value in range(14)
    ]


@pytest.mark.filterwarnings("ignore::UserWarning")
def test_damaged_metadata_costs_no_picture() -> None:
    for data in broken_exif():
        assert sorted(photos._pixels(data)[0].size) == [40, 60]


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_comes_upright(orientation: int) -> None:
    """Against the imaging library's own reading of Exif 2.32, 4.6.4."""
    exif, image = Image.Exif(), picture()
    exif[ORIENTATION] = orientation
    image.putpixel((0, 0), (255, 255, 255))
    data = written("PNG", image, exif=exif)
    with Image.open(io.BytesIO(data)) as opened:
        turned = ImageOps.exif_transpose(opened)
        assert photos._pixels(data)[0].tobytes() == turned.convert("RGB").tobytes()


class TestMemory:
    """What is drawn takes little of it, and a client's link less."""

    def test_a_large_jpeg_is_decoded_small_and_keeps_its_size(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        sizes, convert = [], Image.Image.convert
        monkeypatch.setattr(
            Image.Image,
            "convert",
            lambda image, mode: (sizes.append(image.size), convert(image, mode))[1],
        )
        exif = Image.Exif()
        exif[ORIENTATION] = TURNED
        found = photos.photo_redraw(written(image=picture(6400, 4000), exif=exif))
        assert sizes == [(1600, 1000)]
        assert (found.width, found.height) == (4000, 6400)
        for data, size in ((found.screen, (1000, 1600)), (found.small, (500, 800))):
            with Image.open(io.BytesIO(data)) as image:
                assert image.size == size
                # the left half is the upper one now
                assert image.getpixel((size[0] // 2, 50))[0] > 180
                assert image.getpixel((size[0] // 2, size[1] - 50))[2] > 180

    def test_a_clients_picture_has_fewer_pixels(self) -> None:
        data = png_header(5_001, 5_000)
        with pytest.raises(Invalid, match="more than 25 million pixels"):
            photos.photo_redraw(data, photos.CLIENT_PIXELS)
        with pytest.raises(Invalid, match="not a whole"):
            photos.photo_redraw(data)

    def test_one_at_a_time(self, monkeypatch: pytest.MonkeyPatch) -> None:
        within, most, pixels = [0], [0], photos._pixels

        def counted(*args: Any) -> Any:
            within[0] += 1
            most[0] = max(most[0], within[0])
            time.sleep(0.02)
            found = pixels(*args)
            within[0] -= 1
            return found

        monkeypatch.setattr(photos, "_pixels", counted)
        data = written()
        threads = [threading.Thread(target=photos.photo_redraw, args=(data,)) for _n in range(8)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert (most, within) == ([1], [0])


def without_its_palette() -> bytes:
    """A PNG of palette indices, one of them clear, without the palette (PNG 3rd ed., 11.2.2)."""
    head = struct.pack(">IIBBBBB", 60, 40, 8, 3, 0, 0, 0)
    rows = zlib.compress(b"\0" * 61 * 40)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        chunk(*part)
        for part in ((b"IHDR", head), (b"tRNS", b"\xff\xff\xff\0"), (b"IDAT", rows), (b"IEND", b""))
    )


BAD = {
    "no palette": without_its_palette(),
    "bomb": png_header(30_000, 30_000),
    "just over the limit": png_header(8_000, 5_001),
    "pixels missing": png_header(60, 40),
    "truncated": written(image=picture(600, 400))[:-400],
    "head only": written()[:30],
    "svg": b'<svg xmlns="http://www.w3.org/2000/svg"><script>1</script></svg>',
    "gif": written("GIF"),
    "tiff": written("TIFF"),
    "html": b"<html><script>1</script></html>",
    "postscript": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n",
    "empty": b"",
    "too large": written() + b"\0" * photos.MAX_BYTES,
}


@pytest.mark.parametrize("what", BAD)
def test_refused_and_nothing_stored(sheet: Sheet, what: str) -> None:
    before = kept_files()
    with pytest.raises(Invalid) as caught:
        keep(sheet, BAD[what])
    assert [error["pointer"] for error in caught.value.errors] == ["/photo"]
    assert caught.value.errors[0]["message"].startswith("photo: ")
    assert not Photo.objects.exists()
    assert kept_files() == before


def test_too_long_caption_names_itself(sheet: Sheet) -> None:
    before = kept_files()
    with pytest.raises(Invalid) as caught:
        keep(sheet, written(image=picture(61, 41)), caption="x" * 201)
    assert caught.value.errors[0]["pointer"] == "/caption"
    assert kept_files() == before


class TestKeysAndStates:
    def test_same_key_again_is_the_same_photo(self, sheet: Sheet) -> None:
        first = keep(sheet, written())
        again = keep(sheet, written("PNG", picture(90, 20)), first.pk)
        assert (again.pk, again.sha256) == (first.pk, first.sha256)
        assert Photo.objects.count() == 1

    def test_key_of_another_sheet(self, world: World, sheet: Sheet) -> None:  # noqa: F811
        first = keep(sheet, written())
        other = Sheet.objects.create(visit=sheet.visit, system=world.other.system)
        with pytest.raises(Conflict):
            keep(other, written(), first.pk)
        assert Photo.objects.get().sheet_id == sheet.pk

    @pytest.mark.parametrize("state", [State.REPORTED, State.CALLED_OFF])
    def test_ended_visit(self, sheet: Sheet, state: str) -> None:
        Visit.objects.filter(pk=sheet.visit_id).update(state=state)
        sheet.visit.refresh_from_db()
        with pytest.raises(Conflict):
            keep(sheet, written())
        assert not Photo.objects.exists()


class TestThroughTheApi:
    NAMES = ("../../etc/passwd.jpg", "..\\x.jpg", "CON", ".htaccess", "<script>.jpg", "a\r\nb.jpg")

    def send(self, world: World, sheet: Sheet, name: str, data: bytes) -> Any:  # noqa: F811
        upload = SimpleUploadedFile("x.jpg", data, content_type="text/html")
        upload._name = name
        return world.ana.browser.post(
            f"/api/v1/visits/{sheet.visit_id}/photos",
            {"id": str(uuid4()), "sheet": str(sheet.pk), "photo": upload},
            headers=world.ana.headers,
        )

    @pytest.mark.parametrize("name", NAMES)
    def test_given_name_is_never_used(self, world: World, sheet: Sheet, name: str) -> None:  # noqa: F811
        answer = self.send(world, sheet, name, written())
        assert answer.status_code == 201, answer.content
        photo = Photo.objects.get()
        for path in (photo.screen, photo.small):
            folder, two, file = path.split("/")
            assert folder == "photos"
            assert len(file) == 68
            assert file.startswith(two)
            assert file.endswith(".jpg")
        shown = world.office("GET", f"/photos/{photo.pk}")
        assert shown.headers["Content-Disposition"] == f'inline; filename="photo-{photo.pk}.jpg"'

    def test_refusal_is_422_at_the_photo(self, world: World, sheet: Sheet) -> None:  # noqa: F811
        answer = self.send(world, sheet, "cat.jpg", BAD["html"])
        assert answer.status_code == 422
        assert answer.json()["errors"][0]["pointer"] == "/photo"

    @pytest.mark.parametrize("door", ["api", "office"])
    @pytest.mark.parametrize("size", ["screen", "small"])
    def test_answer_is_private(self, world: World, sheet: Sheet, door: str, size: str) -> None:  # noqa: F811
        photo = keep(sheet, camera_jpeg())
        if door == "api":
            answer = world.office("GET", f"/photos/{photo.pk}?size={size}")
        else:
            world.office.browser.force_login(world.users["office"])
            answer = world.office.browser.get(f"/photos/{photo.pk}/?size={size}")
        assert answer.status_code == 200
        assert answer.headers["Content-Type"] == "image/jpeg"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        kept = {part.strip() for part in answer.headers["Cache-Control"].split(",")}
        assert {"private", "no-store"} <= kept
        assert f"photo-{photo.pk}.jpg" in answer.headers["Content-Disposition"]
        assert CANARY not in answer.content
