"""Pictures made for a test: a few shapes, or noise that no compression makes small."""

import io
import random

from PIL import Image, ImageDraw


def jpeg(width: int, height: int, *, seed: int = 1, noise: bool = False) -> bytes:
    """Return a JPEG of that size."""
    rng = random.Random(seed)
    if noise:
        image = Image.frombytes("RGB", (width, height), rng.randbytes(width * height * 3))
    else:
        image = Image.new("RGB", (width, height), (210, 225, 220))
        draw = ImageDraw.Draw(image)
        for _ in range(12):
            at = rng.randrange(width), rng.randrange(height)
            draw.ellipse(
                (*at, at[0] + width // 8, at[1] + height // 8), fill=(rng.randrange(255), 90, 60)
            )
    out = io.BytesIO()
    image.save(out, "JPEG", quality=85)
    return out.getvalue()
