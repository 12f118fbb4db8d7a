"""A warm child that draws many reports: whether its memory stays, and what photos weigh.

By name alone: 200 reports take minutes.
"""

import io
import random
from pathlib import Path
from typing import Any

from PIL import Image, ImageFilter

from apps.reports.rendering.child import Child
from benchmarks.measure import Told
from benchmarks.world import written_up

REPORTS = 200
FLAT = 1.25
"""How much more a child may hold at most than after the first tenth, whichever child it is then."""
PHOTOS = 6
LONGEST, QUALITY = 800, 75
"""What a report takes of a photo: the smaller of the two that are kept."""


def run() -> list[Told]:
    """Return what the child holds while it draws, and the size of a report with and without photos."""
    snapshot = written_up()
    child = Child()
    plain = child.render(snapshot, {})
    photos = {f"photos/{n}.jpg": _photo(n) for n in range(PHOTOS)}
    shown = snapshot | {"photos": [_shown(name) for name in photos]}
    full = child.render(shown, photos)
    held = []
    for count in range(2, REPORTS):
        child.render(snapshot, {})
        if count >= REPORTS // 10:
            held.append(_held_mb(child))
    child.close()
    return [
        Told(
            f"memory of the child over {REPORTS} reports: {held[0]:.0f} MB after a tenth, "
            f"{max(held):.0f} MB at most, {held[-1]:.0f} MB at the end",
            far_over=max(held) > FLAT * held[0],
        ),
        Told(
            f"size of a report: {len(plain) / 1000:.0f} kB, with {PHOTOS} photos "
            f"{len(full) / 1000:.0f} kB (the photos alone {sum(map(len, photos.values())) / 1000:.0f})"
        ),
    ]


def _held_mb(child: Child) -> float:
    assert child._process is not None
    status = Path(f"/proc/{child._process.pid}/status").read_text()
    line = next(line for line in status.splitlines() if line.startswith("VmRSS"))
    return int(line.split()[1]) / 1000


def _photo(seed: int) -> bytes:
    """Return a picture with about as much detail as a garden: blurred noise, then fine grain."""
    chance = random.Random(seed)
    small = Image.frombytes("RGB", (80, 60), chance.randbytes(80 * 60 * 3))
    soft = small.resize((LONGEST, LONGEST * 3 // 4)).filter(ImageFilter.GaussianBlur(3))
    grain = Image.frombytes("RGB", soft.size, chance.randbytes(soft.width * soft.height * 3))
    out = io.BytesIO()
    Image.blend(soft, grain, 0.08).save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def _shown(name: str) -> dict[str, Any]:
    return {"id": name, "file": name, "caption": "Raft", "on": "2026-06-11"}
