"""Saving a picture of what a command tells: the options for it, and what is said of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from trayward.cli.given import Given
from trayward.cli.show import wrapped

if TYPE_CHECKING:
    from trayward.pictures.look import Wide
    from trayward.pictures.page import Picture

PICTURE = click.option(
    "--picture", metavar="FILE", help="Save a picture too, over an older one: PNG or SVG. Example: picture.svg."
)
PHONE = click.option("--phone", is_flag=True, help="Make the picture narrow, for a phone. Example: --phone.")


def with_picture(work: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options `picture` and `phone`."""
    return PICTURE(PHONE(work))


class Drawing:
    """A picture that is wanted, or none. Its name is refused before any work is done."""

    def __init__(self, file: str | None, *, phone: bool) -> None:
        from trayward.pictures.saving import require_kind

        self.file = file
        self.wide: Wide = "phone" if phone else "desk"
        if file is not None:
            require_kind(file)

    def save(self, draw: Callable[[Wide], Picture]) -> dict[str, Any]:
        """Draw and save it, where one is wanted; what JSON says of it."""
        if self.file is None:
            return {}
        from trayward.pictures.saving import save

        save(draw(self.wide), self.file)
        return {"picture": self.file}

    def tell(self, given: Given) -> None:
        """Say where it is."""
        if self.file is not None and not given.json:
            wrapped(f"Picture saved: {self.file}", "  ")
