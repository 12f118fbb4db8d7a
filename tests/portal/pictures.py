"""Pictures that a telephone would send."""

import io

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image


def jpeg(colour: str = "#7fb3b0", *, place: bool = False) -> bytes:
    """Return a small JPEG; with `place` its metadata say where it was taken."""
    image, out = Image.new("RGB", (64, 48), colour), io.BytesIO()
    exif = Image.Exif()
    if place:
        exif[0x010E] = "CANARY of the garden"
        exif.get_ifd(0x8825)[1] = "N"
    image.save(out, "JPEG", exif=exif)
    return out.getvalue()


def upload(data: bytes, name: str = "tank.jpg") -> SimpleUploadedFile:
    """Return a file as a browser sends it."""
    return SimpleUploadedFile(name, data, "image/jpeg")
