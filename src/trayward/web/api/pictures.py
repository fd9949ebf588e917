"""Photos that programs hand in: as those of a phone, made small and silent about where they were taken."""

from __future__ import annotations

from typing import Annotated

import msgspec

from trayward.desk.core import Receipt, Said
from trayward.errors import NotFoundError
from trayward.web.api.operation import tell
from trayward.web.api.telling import Names, Telling, Words
from trayward.web.ask import Ask
from trayward.web.round.picture import as_kept
from trayward.web.routing import UPLOAD_LIMIT

ABOUT_A_THIRD_MORE = 4 / 3
"""What Base64 makes of bytes (RFC 4648): four letters of three."""


class KeepPhoto(Telling, frozen=True, kw_only=True):
    """A photo of trays is to be kept."""

    trays: Names
    picture: Annotated[bytes, msgspec.Meta(min_length=1)]
    """A JPEG, PNG or WebP file in Base64."""
    note: Words = ""


def _keep(ask: Ask, told: KeepPhoto, said: Said) -> Receipt:
    state = ask.farm.state(said["at"])
    for name in told.trays:
        if state.tray(name) is None:
            raise NotFoundError("tray", name, (), "See what stands under /trays.")
    return ask.farm.keep_photo(as_kept(told.picture), tuple(f"tray:{name}" for name in told.trays), told.note, **said)


OPERATIONS = (
    tell("/photo", _keep, KeepPhoto, "trays", "A photo of trays.", kinds=("photo",),
         limit=int(UPLOAD_LIMIT * ABOUT_A_THIRD_MORE)),
)  # fmt: skip
