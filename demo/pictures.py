"""Pictures for the demo's photos, drawn by the project itself."""

import io
import math
import random

from PIL import Image, ImageDraw, ImageFilter

WIDTH, HEIGHT = 1120, 840
Color = tuple[int, int, int]


def _ground(low: Color, high: Color) -> Image.Image:
    """Return a picture that fades from one colour to another."""
    image = Image.new("RGB", (1, HEIGHT))
    for y in range(HEIGHT):
        share = y / (HEIGHT - 1)
        image.putpixel(
            (0, y), tuple(round(a + (b - a) * share) for a, b in zip(high, low, strict=True))
        )
    return image.resize((WIDTH, HEIGHT))


def _speckle(image: Image.Image, rng: random.Random, strength: int) -> Image.Image:
    """Return the picture with a camera's grain and a soft edge."""
    size = (WIDTH // 4, HEIGHT // 4)
    noise = Image.frombytes("L", size, rng.randbytes(size[0] * size[1]))
    small = noise.point([128 + (value - 128) * strength // 128 for value in range(256)])
    grain = small.resize((WIDTH, HEIGHT), Image.Resampling.BILINEAR)
    return Image.blend(image, Image.merge("RGB", (grain, grain, grain)), 0.10).filter(
        ImageFilter.GaussianBlur(0.8)
    )


def _fish(
    draw: ImageDraw.ImageDraw, x: float, y: float, size: float, turn: float, body: Color
) -> None:
    """One fish from the side: body, tail, fins, eye."""

    def at(u: float, v: float) -> tuple[float, float]:
        c, s = math.cos(turn), math.sin(turn)
        return x + size * (u * c - v * s), y + size * (u * s + v * c)

    outline = [at(math.cos(t), 0.36 * math.sin(t)) for t in (i * math.pi / 30 for i in range(60))]
    dark = tuple(max(0, c - 46) for c in body)
    light = tuple(min(255, c + 38) for c in body)
    draw.polygon([at(-0.9, 0), at(-1.45, -0.34), at(-1.32, 0), at(-1.45, 0.34)], fill=dark)
    draw.polygon([at(-0.5, -0.28), at(0.1, -0.56), at(0.45, -0.3)], fill=dark)
    draw.polygon(outline, fill=body)
    belly = [
        at(0.9 * math.cos(t), 0.1 + 0.22 * math.sin(t))
        for t in (i * math.pi / 30 for i in range(60))
    ]
    draw.polygon(belly, fill=light)
    for bar in range(5):
        draw.line(
            [at(-0.5 + 0.24 * bar, -0.28), at(-0.54 + 0.24 * bar, 0.12)],
            fill=dark,
            width=max(1, round(size / 47)),
        )
    ex, ey = at(0.74, -0.08)
    for radius, ring in ((size / 22, (244, 240, 226)), (size / 48, (24, 24, 24))):
        draw.ellipse([ex - radius, ey - radius, ex + radius, ey + radius], fill=ring)


def tray(rng: random.Random) -> Image.Image:
    """Fish side by side in a white tray with a centimetre scale."""
    image = _ground((96, 112, 104), (120, 134, 126))
    draw = ImageDraw.Draw(image)
    draw.rounded_rectangle([70, 90, WIDTH - 70, HEIGHT - 90], 40, fill=(232, 236, 234))
    draw.rounded_rectangle([104, 124, WIDTH - 104, HEIGHT - 124], 30, fill=(214, 226, 228))
    for step in range(31):
        left = 150 + step * 27
        draw.line(
            [left, HEIGHT - 124, left, HEIGHT - (158 if step % 5 == 0 else 142)],
            fill=(60, 66, 66),
            width=3,
        )
    for number in range(3):
        body = (122 + rng.randrange(-10, 10), 128 + rng.randrange(-8, 8), 118)
        _fish(
            draw,
            580 + rng.randrange(-60, 60),
            236 + number * 176,
            215,
            rng.uniform(-0.05, 0.05),
            body,
        )
    return image


def _leaf(
    draw: ImageDraw.ImageDraw, cx: float, cy: float, size: float, blade: Color, vein: Color
) -> None:
    rim = []
    for number in range(120):
        t = number * 2 * math.pi / 120
        wave = 1 + 0.05 * math.sin(9 * t)
        rim.append((cx + size * 0.62 * math.sin(t) * wave, cy - size * math.cos(t) * wave))
    draw.polygon(rim, fill=blade)
    draw.line([cx, cy - 0.92 * size, cx, cy + 1.25 * size], fill=vein, width=13)
    for number in range(1, 7):
        y = cy - 0.75 * size + number * size * 0.24
        reach = 0.5 * size * math.sin(math.pi * (number + 0.6) / 8)
        for side in (-1, 1):
            draw.line([cx, y + 40, cx + side * reach, y - 36], fill=vein, width=7)


def leaf(rng: random.Random) -> Image.Image:
    """Young leaves, pale between green veins, before a grey card."""
    image = _ground((150, 152, 150), (172, 174, 172))
    draw = ImageDraw.Draw(image)
    _leaf(draw, 380, 430, 270, (214, 220, 108), (92, 142, 62))
    _leaf(draw, 770, 400, 230, (226, 228, 132), (104, 150, 70))
    return image


def leaf_good(rng: random.Random) -> Image.Image:
    """Lettuce from above, on a raft."""
    image = _ground((222, 224, 220), (236, 238, 234))
    draw = ImageDraw.Draw(image)
    for row in range(2):
        for column in range(3):
            x, y = 210 + column * 350, 220 + row * 400
            for number in range(11):
                turn = number * 2.4
                reach = 150 - number * 10
                green = (70 + number * 8, 130 + number * 9, 58 + number * 5)
                left, top = x + math.cos(turn) * reach * 0.5, y + math.sin(turn) * reach * 0.5
                draw.ellipse([left - reach * 0.55, top - reach * 0.5, left + reach * 0.55, top + reach * 0.5],
                             fill=green, outline=(58, 108, 50))  # fmt: skip
    return image


def tank(rng: random.Random) -> Image.Image:
    """A round tank, its water, the pipe and a few shapes below the surface."""
    image = _ground((110, 98, 78), (186, 200, 206))
    draw = ImageDraw.Draw(image)
    draw.rectangle([150, 330, WIDTH - 150, HEIGHT - 60], fill=(52, 78, 92))
    draw.ellipse([150, HEIGHT - 130, WIDTH - 150, HEIGHT - 10], fill=(52, 78, 92))
    draw.ellipse([150, 240, WIDTH - 150, 420], fill=(40, 62, 74))
    draw.ellipse([172, 256, WIDTH - 172, 404], fill=(70, 118, 122))
    for _ in range(6):
        x, y = rng.randrange(300, WIDTH - 300), rng.randrange(300, 366)
        _fish(draw, x, y, 46, rng.uniform(-0.6, 0.6), (48, 76, 80))
    draw.line([860, 60, 860, 300], fill=(224, 224, 218), width=44)
    draw.line([820, 60, 1060, 60], fill=(224, 224, 218), width=44)
    for _ in range(30):
        x, y = 860 + rng.randrange(-70, 70), 318 + rng.randrange(-18, 26)
        draw.ellipse([x - 6, y - 4, x + 6, y + 4], fill=(206, 228, 228))
    return image


def sump(rng: random.Random) -> Image.Image:
    """A look into the sump: pump, strainer, hose, level mark."""
    image = _ground((58, 62, 60), (88, 92, 88))
    draw = ImageDraw.Draw(image)
    draw.rectangle([140, 150, WIDTH - 140, HEIGHT - 80], fill=(34, 40, 42))
    draw.rectangle([165, 290, WIDTH - 165, HEIGHT - 105], fill=(66, 96, 92))
    draw.line([165, 288, WIDTH - 165, 288], fill=(190, 214, 208), width=6)
    draw.rounded_rectangle([430, 520, 640, 690], 26, fill=(28, 52, 84))
    for slot in range(7):
        draw.line([448 + slot * 27, 600, 448 + slot * 27, 672], fill=(86, 118, 150), width=8)
    draw.line([640, 560, 860, 500, 880, 120], fill=(40, 96, 60), width=40, joint="curve")
    draw.rectangle([184, 262, 250, 274], fill=(196, 60, 48))
    return image


DIGITS = {
    "0": "abcdef", "1": "bc", "2": "abged", "3": "abgcd", "4": "fgbc", "5": "afgcd",
    "6": "afgedc", "7": "abc", "8": "abcdefg", "9": "abcdfg",
}  # fmt: skip
SEGMENTS = {
    "a": (0, 0, 1, 0), "b": (1, 0, 1, 1), "c": (1, 1, 1, 2), "d": (0, 2, 1, 2), "e": (0, 1, 0, 2),
    "f": (0, 0, 0, 1), "g": (0, 1, 1, 1),
}  # fmt: skip


def meter(rng: random.Random) -> Image.Image:
    """A hand-held meter showing 7.00 beside a beaker of buffer."""
    image = _ground((132, 122, 104), (164, 156, 140))
    draw = ImageDraw.Draw(image)
    draw.rounded_rectangle([250, 70, 690, HEIGHT - 60], 60, fill=(214, 176, 56))
    draw.rounded_rectangle([300, 150, 640, 390], 18, fill=(178, 190, 168))
    left = 330
    for sign in "7.00":
        if sign == ".":
            draw.rectangle([left - 4, 340, left + 12, 356], fill=(26, 32, 26))
            left += 26
            continue
        for segment in DIGITS[sign]:
            x0, y0, x1, y1 = SEGMENTS[segment]
            draw.line([left + x0 * 62, 190 + y0 * 80, left + x1 * 62, 190 + y1 * 80],
                      fill=(26, 32, 26), width=14)  # fmt: skip
        left += 94
    for number in range(3):
        draw.ellipse([330 + number * 105, 500, 400 + number * 105, 570], fill=(92, 76, 34))
    draw.rectangle([800, 360, 1030, HEIGHT - 80], fill=(226, 238, 242))
    draw.rectangle([812, 480, 1018, HEIGHT - 92], fill=(196, 222, 140))
    draw.line(
        [690, 300, 800, 260, 914, 300, 914, HEIGHT - 190],
        fill=(34, 34, 36),
        width=18,
        joint="curve",
    )
    return image


def fruit(rng: random.Random) -> Image.Image:
    """Tomatoes on the vine."""
    image = _ground((86, 118, 70), (150, 176, 130))
    draw = ImageDraw.Draw(image)
    draw.line([560, 0, 540, HEIGHT], fill=(74, 108, 52), width=26)
    for number in range(7):
        x, y = 400 + (number % 3) * 150, 170 + number * 80
        red = (190 + rng.randrange(-10, 20), 60 + number * 14, 44)
        draw.line([545, y - 60, x, y], fill=(74, 108, 52), width=12)
        draw.ellipse([x - 78, y - 72, x + 78, y + 72], fill=red)
        draw.ellipse([x - 40, y - 44, x - 8, y - 18], fill=tuple(min(255, c + 60) for c in red))
        draw.polygon(
            [(x, y - 74), (x - 34, y - 56), (x, y - 60), (x + 34, y - 56)], fill=(66, 100, 48)
        )
    return image


PICTURES = {
    "tray": tray, "leaf": leaf, "leaf_good": leaf_good, "tank": tank, "sump": sump,
    "meter": meter, "fruit": fruit,
}  # fmt: skip


def picture(name: str, rng: random.Random) -> bytes:
    """Return a picture as a JPEG; the same source of chance gives the same bytes.

    Raises KeyError for a name that is not in PICTURES.
    """
    image = _speckle(PICTURES[name](rng), rng, 60)
    out = io.BytesIO()
    image.save(out, "JPEG", quality=88)
    return out.getvalue()
