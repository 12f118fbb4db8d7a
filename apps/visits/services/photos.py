"""Photos: decoded by an allow-list, re-drawn from their pixels; what was uploaded is not kept."""

import datetime as dt
import io
import struct
import threading
import warnings
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _
from PIL import ExifTags, Image, ImageFile, UnidentifiedImageError

from apps.clients.services import photos_admit
from apps.core import files
from apps.core.exceptions import Conflict, Invalid
from apps.core.scoping import Actor
from apps.visits.choices import State
from apps.visits.models import Photo, Sheet
from apps.visits.services.answers import BadAnswer, words
from apps.visits.services.steps import author

FORMATS = ("JPEG", "PNG", "WEBP")
MAX_BYTES = 15_000_000
MAX_PIXELS = 40_000_000
# from a client's link; what telephones call 24 megapixels has up to 24.5 million (own choice)
CLIENT_PIXELS = 25_000_000
# a picture takes up to 8 bytes a pixel while it is drawn: no process draws two at once
_ALONE = threading.Lock()
SCREEN, SMALL = (1600, 75), (800, 75)
# what Pillow's decoders raise for damaged bytes: a palette that is not there is an AssertionError
DAMAGED = (
    UnidentifiedImageError, OSError, SyntaxError, ValueError, EOFError, AssertionError,
    struct.error, IndexError, KeyError, TypeError,
)  # fmt: skip
SIDEWAYS = (5, 6, 7, 8)
# what brings a picture upright, by its orientation tag (Exif 2.32, 4.6.4)
TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


def _refuse(message: str) -> Invalid:
    return Invalid([{"pointer": "/photo", "value": None, "message": f"photo: {message}"}])


def _orientation(image: Image.Image) -> int:
    """Return how the picture was held; damaged metadata turns nothing."""
    try:
        found = image.getexif().get(ExifTags.Base.Orientation, 1)
    except (SyntaxError, ValueError, TypeError, LookupError, OSError, struct.error):
        return 1
    return found if found in TURNS else 1


def _pixels(data: bytes, most: int = MAX_PIXELS) -> tuple[Image.Image, tuple[int, int]]:
    """Return the upright pixels alone, no larger than the screen's, and the picture's own size.

    No metadata, no comment, no profile.
    """
    ImageFile.LOAD_TRUNCATED_IMAGES = False  # the PDF engine switches it on for everyone
    too_many = _("more than %(most)s million pixels; send a smaller one")
    too_many %= {"most": most // 1_000_000}
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=FORMATS) as image:
                if image.width * image.height > most:
                    raise _refuse(too_many)
                return _screened(image)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _refuse(too_many) from None
    except DAMAGED:
        raise _refuse(_("not a whole JPEG, PNG or WebP picture; take it again")) from None


def _screened(image: Image.Image) -> tuple[Image.Image, tuple[int, int]]:
    size, (width, height), longest = image.size, image.size, SCREEN[0]
    # a large JPEG is decoded at a half, a quarter or an eighth, never below the screen's size
    if max(size) > longest:
        share = longest / max(size)
        image.draft(None, (max(1, int(width * share)), max(1, int(height * share))))
    image.load()
    turned = _orientation(image)
    plain = image.convert("RGB")
    plain.thumbnail((longest, longest), Image.Resampling.LANCZOS)
    if turned in TURNS:
        plain = plain.transpose(TURNS[turned])
    clean = Image.new("RGB", plain.size)
    clean.paste(plain)
    return clean, size[::-1] if turned in SIDEWAYS else size


def _jpeg(image: Image.Image, longest: int, quality: int) -> bytes:
    copy = image.copy()
    copy.thumbnail((longest, longest), Image.Resampling.LANCZOS)
    out = io.BytesIO()
    copy.save(out, "JPEG", quality=quality, optimize=True)
    return out.getvalue()


@dataclass(frozen=True)
class Drawn:
    """A picture that lies in the store in two sizes; its own width and height in pixels."""

    screen: str
    small: str
    sha256: str
    width: int
    height: int


@dataclass(frozen=True)
class Redrawn:
    """A picture drawn anew in two sizes, as JPEG; its own width and height in pixels."""

    screen: bytes
    small: bytes
    width: int
    height: int

    def stored(self) -> Drawn:
        """Put it into the store; the same pixels are stored once."""
        screen, digest = files.store("photos", self.screen, "jpg")
        small, _digest = files.store("photos", self.small, "jpg")
        return Drawn(screen, small, digest, self.width, self.height)


def photo_redraw(data: bytes, most: int = MAX_PIXELS) -> Redrawn:
    """Draw a picture of at most so many pixels anew; nothing is stored yet.

    Raises Invalid for what is not a picture or too large. Takes a second of work, and waits for
    others: not within a transaction.
    """
    if len(data) > MAX_BYTES:
        raise _refuse(_("larger than 15 MB"))
    with _ALONE:
        image, (width, height) = _pixels(data, most)
        return Redrawn(_jpeg(image, *SCREEN), _jpeg(image, *SMALL), width, height)


def photo_draw(data: bytes) -> Drawn:
    """Draw a picture anew and store it. Raises Invalid, takes time as photo_redraw."""
    return photo_redraw(data).stored()


def caption_of(typed: str) -> str:
    """Return a caption as it is kept. Raises Invalid for one that is too long or no text."""
    try:
        return str(words(200)(typed))
    except BadAnswer as error:
        raise Invalid([{"pointer": "/caption", "value": None, "message": str(error)}]) from None


def photo_keep(
    *, sheet: Sheet, pk: UUID, data: bytes, caption: str, by: Actor, at: dt.datetime
) -> Photo:
    """Keep a photo for a sheet; the same key again is the same photo.

    Raises Invalid for what is not a picture or too large, Conflict once the visit is reported,
    and where the client wants none.
    """
    held = Photo.objects.filter(pk=pk).first()
    if held is not None:
        if held.sheet_id != sheet.pk:
            raise Conflict(_("This key belongs to another photo."), "key_reused")
        return held
    if sheet.visit.state in (State.REPORTED, State.CALLED_OFF):
        raise Conflict(_("The visit has ended; its photos stay as they are."), "closed")
    photos_admit(sheet.visit.place.client)
    caption = caption_of(caption)
    drawn = photo_draw(data)
    with transaction.atomic():
        return Photo.objects.create(
            pk=pk, sheet=sheet, caption=caption, taken_at=at, by=author(by), **vars(drawn)
        )
