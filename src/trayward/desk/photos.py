"""Photos of trays, lots, places: the picture is kept beside the book, and an entry says what it shows."""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import sha256
from typing import Unpack

from trayward.desk.core import DeskCore, Receipt, Said
from trayward.errors import InputError
from trayward.farm.entries import Photo

LARGEST = 4 * 1024 * 1024
"""What a picture may weigh as it is kept: one of 1600 px takes a tenth of that. [byte]"""
JPEG = b"\xff\xd8\xff"
"""How every JPEG file begins (ITU-T T.81: SOI, then the first marker)."""


class Photos(DeskCore):
    """Keep photos and show them."""

    def keep_photo(self, picture: bytes, about: Sequence[str], note: str = "", **said: Unpack[Said]) -> Receipt:
        """
        Keep a photo and what it shows.

        Parameters
        ----------
        picture : bytes
            A JPEG file, made small already.
        about : sequence of str
            What it shows, as `kind:name`.
        note : str
            Words about it.

        Returns
        -------
        Receipt
            `names` holds the SHA-256 it is called by.

        Raises
        ------
        InputError
            If it is no JPEG file, or too large.
        """
        if not picture.startswith(JPEG):
            raise InputError("photo", f"{len(picture)} bytes", "it is no JPEG picture", "Take it again.")
        if len(picture) > LARGEST:
            raise InputError("photo", len(picture), f"it is larger than {LARGEST} bytes", "Make it smaller.", "byte")
        # First the picture, then the entry that names it: what an entry names is there.
        name = self.book.keep_photo(picture)
        return self.record(Photo(sha256=name, about=tuple(about), note=note), **said, names=(name,))

    def photo(self, name: str) -> bytes | None:
        """The picture of that SHA-256; None where there is none."""
        return self.book.photo(name)


def photo_id(name: str, about: Sequence[str], call: str) -> str:
    """The id of the entry of a photo that came with something else said: the same for the same sending."""
    return f"photo-{sha256(' '.join((call, name, *about)).encode()).hexdigest()[:32]}"
