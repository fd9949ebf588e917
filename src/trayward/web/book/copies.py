"""Copies of the book to carry away: every entry as lines or as sheets, and the whole book as a file."""

from __future__ import annotations

import shutil
import tempfile
import zipfile
from collections.abc import Iterator
from pathlib import Path

from trayward.store import SqlBook
from trayward.store.export import book_lines, export_csv

AT_ONCE = 256 * 1024
"""So much is sent in one piece. [byte]"""


def lines(book: SqlBook) -> Iterator[bytes]:
    """Every entry as a line of JSON, gathered into pieces worth sending."""
    held: list[bytes] = []
    size = 0
    for line in book_lines(book):
        held.append(line)
        size += len(line)
        if size >= AT_ONCE:
            yield b"".join(held)
            held, size = [], 0
    yield b"".join(held)


def sheets(book: SqlBook) -> Iterator[bytes]:
    """
    Every entry in CSV files, one for each kind, in a ZIP.

    The sheets are written to a folder of this machine first, as entries of all kinds come mixed; the ZIP is sent while
    it is made, and never stands anywhere whole.
    """
    folder = Path(tempfile.mkdtemp(prefix="trayward-sheets-"))
    try:
        export_csv(book, folder / "sheets")
        yield from _zipped(folder / "sheets")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def whole(book: SqlBook, name: str) -> Path:
    """The whole book copied to a file in a folder of its own, which who asked takes away when it is sent."""
    folder = Path(tempfile.mkdtemp(prefix="trayward-backup-"))
    try:
        book.backup(folder / name)
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    return folder / name


class _Sink:
    """What a ZIP is written to: holds what came since it was last emptied."""

    def __init__(self) -> None:
        self._held: list[bytes] = []

    def write(self, data: bytes) -> int:
        self._held.append(bytes(data))
        return len(data)

    def flush(self) -> None:
        """Nothing waits."""

    def taken(self) -> bytes:
        found, self._held = b"".join(self._held), []
        return found


def _zipped(folder: Path) -> Iterator[bytes]:
    sink = _Sink()
    with zipfile.ZipFile(sink, "w", zipfile.ZIP_DEFLATED, compresslevel=5) as packed:  # type: ignore[call-overload]
        for path in sorted(folder.iterdir()):
            with (
                packed.open(zipfile.ZipInfo.from_file(path, path.name), "w", force_zip64=True) as into,
                path.open("rb") as file,
            ):
                while piece := file.read(AT_ONCE):
                    into.write(piece)
                    yield sink.taken()
    yield sink.taken()
