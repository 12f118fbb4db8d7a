"""Photos: kept on the phone, sent in pieces, each there once and whole."""

import io
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Route, expect

from apps.clients.models import Client
from apps.visits.models import Photo
from apps.visits.services import uploads
from tests.phone.hand import Hand
from tests.phone.pixels import jpeg

pytestmark = pytest.mark.browser
PIECES = "**/api/v1/field/photos/*?*"


@pytest.fixture
def seen(hand: Hand) -> Hand:
    """The page of what was seen, with no way to send a photo."""
    hand.page.route("**/api/v1/field/photos/**", lambda route: route.abort())
    return hand.go(hand.place("seen"))


def clear(hand: Hand) -> None:
    """Let photos go."""
    hand.page.unroute("**/api/v1/field/photos/**")
    hand.now()


def test_a_photo_goes_up_in_pieces_from_where_it_stopped(seen: Hand) -> None:
    key = seen.photo(jpeg(1500, 1100, noise=True))
    offsets: list[int] = []

    def drop_third(route: Route) -> None:
        offsets.append(int(route.request.headers["upload-offset"]))
        if len(offsets) == 3:
            # it arrived, its answer did not
            route.fetch()
            route.abort("connectionreset")
        else:
            route.continue_()

    seen.page.route(PIECES, drop_third)
    clear(seen)
    seen.all_there()
    step = uploads.CHUNK
    assert offsets[:4] == [0, step, 2 * step, 3 * step]
    assert str(Photo.objects.get().pk) == key
    assert (
        seen.page.evaluate(
            "async () => (await import('/field/m/db.js')).withDB((db) => db.count('bytes'))"
        )
        == 0
    )


@pytest.mark.parametrize(
    ("use", "words", "cameras"),
    [
        ("yes", "", 1),
        ("records", "This client allows photos for our own records only.", 1),
        ("no", "This client wants no photos", 0),
    ],
)
def test_what_the_client_allows_stands_at_the_camera(
    phones: Any, use: str, words: str, cameras: int
) -> None:
    Client.objects.update(
        photos=use, photos_on="2026-06-01", photos_by="office", photos_how="asked"
    )
    hand = phones().open()
    hand.arrived()
    hand.go(hand.place("seen"))
    camera = hand.page.locator("input[type=file]")
    expect(camera).to_have_count(cameras)
    if cameras:
        expect(camera).to_have_accessible_description(words)
    else:
        expect(hand.page.get_by_text(words)).to_be_visible()


def test_a_piece_damaged_on_its_way_is_found_and_all_is_sent_anew(seen: Hand) -> None:
    seen.photo(jpeg(1000, 800, noise=True))
    sums: list[str] = []

    def damage(route: Route) -> None:
        body = route.request.post_data_buffer or b""
        sums.append(route.request.headers["x-sha256"])
        route.continue_(post_data=bytes([body[0] ^ 255]) + body[1:] if len(sums) == 2 else body)

    seen.page.route(PIECES, damage)
    clear(seen)
    seen.all_there()
    assert len(sums) > 3
    assert len(set(sums)) == 1


def test_the_same_photo_twice_is_two_photos(seen: Hand) -> None:
    data = jpeg(640, 480)
    assert seen.photo(data) != seen.photo(data)
    clear(seen)
    seen.all_there()
    assert Photo.objects.count() == 2


def test_what_is_no_picture_stays_visible_until_somebody_decides(seen: Hand) -> None:
    key = seen.photo(b"this was never a picture", "notes.heic")
    seen.journal.photos.clear()
    clear(seen)
    seen.phase("needs", "settle")
    seen.go("/field/settle/")
    there = seen.page.locator("[data-refused=photos]")
    expect(there).to_contain_text("not a whole JPEG, PNG or WebP picture")
    held = seen.page.evaluate(
        "async (key) => (await import('/field/m/store.js')).photoBuffer(key).then((b) => new TextDecoder().decode(b))",
        key,
    )
    assert held == "this was never a picture"
    there.get_by_role("button", name="Take it off").click()
    seen.arrived()
    assert not Photo.objects.exists()


def test_turned_by_its_tag_small_and_without_its_place(seen: Hand) -> None:
    image = Image.new("RGB", (3000, 2000), (200, 40, 40))
    tags = Image.Exif()
    tags[0x0112] = 6
    tags[0x010F] = "A maker of cameras"
    out = io.BytesIO()
    image.save(out, "JPEG", exif=tags)
    key = seen.photo(out.getvalue())
    sent = seen.page.evaluate(
        "async (key) => [...new Uint8Array(await (await import('/field/m/store.js')).photoBuffer(key))]",
        key,
    )
    small = Image.open(io.BytesIO(bytes(sent)))
    assert small.size == (1067, 1600)
    assert dict(small.getexif()) == {}
    clear(seen)
    seen.all_there()
    assert (Photo.objects.get().width, Photo.objects.get().height) == (1067, 1600)


def test_ten_large_photos_one_after_the_other(seen: Hand) -> None:
    data = jpeg(4000, 3000, seed=3)
    for _ in range(10):
        seen.photo(data)
    clear(seen)
    seen.all_there()
    assert Photo.objects.count() == 10


def test_a_photo_of_a_visit_that_left_the_phone_still_goes_up(seen: Hand) -> None:
    seen.photo(jpeg(320, 240))
    seen.page.evaluate(
        "async () => { const s = await import('/field/m/store.js'); const day = await s.meta('day'); await s.merge({...day, visits: []}); }"
    )
    seen.go("/field/")
    expect(seen.page.locator(".stops .name")).to_have_count(1)
    clear(seen)
    seen.all_there()
