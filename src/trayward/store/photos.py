"""Pictures that entries name, kept by their hash: in the book's database, and as files beside an export."""

from __future__ import annotations

from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

from sqlalchemy import Connection, select

from trayward.store.schema import PHOTO

FOLDER = "photos"
"""In a folder of CSV files; beside a JSON Lines file it is called as that, with this at its end."""


def keep_picture(connection: Connection, picture: bytes) -> str:
    """Keep a picture unless it is kept already; gives its name."""
    name = sha256(picture).hexdigest()
    if connection.scalar(select(PHOTO.c.sha256).where(PHOTO.c.sha256 == name)) is None:
        connection.execute(PHOTO.insert().values(sha256=name, picture=picture))
    return name


def find_picture(connection: Connection, name: str) -> bytes | None:
    """The picture of that name; None where there is none."""
    found = connection.scalar(select(PHOTO.c.picture).where(PHOTO.c.sha256 == name))
    return None if found is None else bytes(found)


def picture_names(connection: Connection) -> list[str]:
    """The names of all pictures, sorted."""
    return sorted(connection.scalars(select(PHOTO.c.sha256)))


def photo_folder(export: Path) -> Path:
    """Where the pictures of an exported book are."""
    return export / FOLDER if export.is_dir() else export.with_name(f"{export.name}-{FOLDER}")


def pictures_in(folder: Path) -> Iterator[bytes]:
    """The pictures in a folder that are whole: those that still have the hash they are called by."""
    for path in sorted(folder.glob("*.jpg")) if folder.is_dir() else ():
        picture = path.read_bytes()
        if sha256(picture).hexdigest() == path.stem:
            yield picture
