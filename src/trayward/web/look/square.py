"""An address as a QR code, for a phone's camera."""

from __future__ import annotations

import segno
from markupsafe import Markup

QUIET = 4
"""Light modules around a QR code that readers need (ISO/IEC 18004, from memory)."""


def square_of(address: str) -> Markup:
    """The code as a drawing, black on white also where the page is dark."""
    drawn = segno.make(address, error="m", micro=False).svg_inline(
        border=QUIET, omitsize=True, svgclass="qr", lineclass=None, light="#fff", dark="#000", title="QR"
    )
    # The drawing is our own, made of squares: nothing that anybody typed stands in it.
    return Markup(drawn)
