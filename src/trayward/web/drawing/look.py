"""The two sizes that every chart is drawn in: for a phone's column and for a desk."""

from __future__ import annotations

from collections.abc import Callable

import msgspec
from markupsafe import Markup


class Size(msgspec.Struct, frozen=True, kw_only=True):
    """Measures of a drawing. [px]"""

    width: float
    label: float
    """Size of names."""
    small: float
    """Size of figures along the edge."""

    @property
    def narrow(self) -> bool:
        """Whether names stand above their rows."""
        return self.width < 500


PHONE = Size(width=354, label=14, small=12)
DESK = Size(width=760, label=14, small=12)


class Chart(msgspec.Struct, frozen=True, kw_only=True):
    """A chart in both sizes; the page's style shows the one that fits."""

    phone: Markup
    desk: Markup


def both(draw: Callable[[Size], Markup]) -> Chart:
    """A chart drawn in both sizes."""
    return Chart(phone=draw(PHONE), desk=draw(DESK))
