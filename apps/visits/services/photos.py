"""Photos: decoded by an allow-list, re-drawn from their pixels; what was uploaded is not kept."""

import datetime as dt
import io
import struct
import warnings
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _
from PIL import ExifTags, Image, ImageFile, UnidentifiedImageError

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
SCREEN, SMALL = (1600, 75), (800, 75)
# what Pillow's decoders raise for damaged bytes: a palette that is not there is an AssertionError
DAMAGED = (
    UnidentifiedImageError, OSError, SyntaxError, ValueError, EOFError, AssertionError,
    struct.error, IndexError, KeyError, TypeError,
)  # fmt: skip
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


def _upright(image: Image.Image) -> Image.Image:
    """Return the picture turned as its tag says; damaged metadata turns nothing."""
    try:
        turn = TURNS.get(image.getexif().get(ExifTags.Base.Orientation, 1))
    except (SyntaxError, ValueError, TypeError, LookupError, OSError, struct.error):
        turn = None
    return image if turn is None else image.transpose(turn)


def _pixels(data: bytes) -> Image.Image:
    """Return the upright pixels alone: no metadata, no comment, no profile."""
    ImageFile.LOAD_TRUNCATED_IMAGES = False  # the PDF engine switches it on for everyone
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=FORMATS) as image:
                if image.width * image.height > MAX_PIXELS:
                    raise _refuse(_("more than 40 million pixels; send a smaller one"))
                image.load()
                upright = _upright(image).convert("RGB")
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _refuse(_("more than 40 million pixels; send a smaller one")) from None
    except DAMAGED:
        raise _refuse(_("not a whole JPEG, PNG or WebP picture; take it again")) from None
    clean = Image.new("RGB", upright.size)
    clean.paste(upright)
    return clean


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


def photo_redraw(data: bytes) -> Redrawn:
    """Draw a picture anew from its pixels; nothing is stored yet.

    Raises Invalid for what is not a picture or too large. Takes a second of work: not within a
    transaction.
    """
    if len(data) > MAX_BYTES:
        raise _refuse(_("larger than 15 MB"))
    image = _pixels(data)
    return Redrawn(_jpeg(image, *SCREEN), _jpeg(image, *SMALL), image.width, image.height)


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

    Raises Invalid for what is not a picture or too large, Conflict once the visit is reported.
    """
    held = Photo.objects.filter(pk=pk).first()
    if held is not None:
        if held.sheet_id != sheet.pk:
            raise Conflict(_("This key belongs to another photo."), "key_reused")
        return held
    if sheet.visit.state in (State.REPORTED, State.CALLED_OFF):
        raise Conflict(_("The visit has ended; its photos stay as they are."), "closed")
    caption = caption_of(caption)
    drawn = photo_draw(data)
    with transaction.atomic():
        return Photo.objects.create(
            pk=pk, sheet=sheet, caption=caption, taken_at=at, by=author(by), **vars(drawn)
        )
