"""A square code that a camera reads: an address to go to. Source: ISO/IEC 18004 (QR code)."""

from __future__ import annotations

import segno
from django.utils.safestring import SafeString

# modules of white around it, as the standard asks for
QUIET = 4


def square_code(address: str, *, title: str) -> SafeString:
    """Draw an address as a QR code, black on white; `title` says where it leads.

    Level M: it is read with 15 % of it lost to a fold or a wet spot. No size of its own: whoever
    places it gives one. Raises segno.DataOverflowError for an address of over 2,300 bytes.
    """
    code = segno.make(address, error="m", boost_error=False, micro=False)
    svg = code.svg_inline(border=QUIET, omitsize=True, title=title, dark="#000")
    return SafeString(svg)
