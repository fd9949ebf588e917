"""The whole book as files that outlive every program: JSON Lines, and CSV for spreadsheets."""

from __future__ import annotations

import csv
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

import msgspec

from trayward.errors import BookError
from trayward.store.book import SqlBook
from trayward.store.files import new_file
from trayward.store.photos import FOLDER, photo_folder
from trayward.store.readings import FILE as READINGS
from trayward.store.readings import count_readings, readings_file, write_readings
from trayward.store.sheet_form import ABOUT, ENVELOPE, About, Written, file_name, text_columns, to_cells

_DECODER = msgspec.json.Decoder(Written)


def book_lines(book: SqlBook) -> Iterator[bytes]:
    """The book as JSON Lines, one entry a line with its number and hash, the entry's bytes exactly as kept."""
    for row in book.rows():
        yield b'{"seq":%d,"hash":"%s","entry":%s}\n' % (row.seq, row.hash.encode(), row.canonical.encode())


def export_lines(book: SqlBook, target: Path) -> int:
    """
    Write the whole book to a new JSON Lines file.

    Parameters
    ----------
    book : SqlBook
        Others may go on writing to it; the file is the book as it was at the call.
    target : Path
        A file that does not exist yet.

    Returns
    -------
    int
        Entries written. Photos, where there are any, are written as files into a new folder beside it, called as the
        file with `-photos` at its end; what sensors said into a CSV file beside it.
    """
    written = 0
    names = book.photos()
    folder = photo_folder(target)
    if names:
        _require_new(folder)
    with new_file(target) as part, part.open("wb") as file:
        for line in book_lines(book):
            file.write(line)
            written += 1
        _write_readings(book, readings_file(target))
        if names:
            # Before the file gets its name: an export that is there is whole.
            with _new_folder(folder) as photos:
                _write_photos(book, names, photos)
    return written


def _write_readings(book: SqlBook, target: Path) -> None:
    """What sensors said, where they said anything: after the entries of its hours, so all they speak of is in it."""
    with book.reading() as connection:
        if count_readings(connection):
            with new_file(target) as part:
                write_readings(connection, part)


def _write_photos(book: SqlBook, names: Iterable[str], folder: Path) -> None:
    for name in names:
        picture = book.photo(name)
        if picture is not None:
            (folder / f"{name}.jpg").write_bytes(picture)


def export_csv(book: SqlBook, folder: Path) -> int:
    """
    Write the whole book to a new folder: a CSV file for each kind of entry, and photos in a folder of their own.

    Returns how many entries.
    """
    written = 0
    with _new_folder(folder) as part, ExitStack() as files:
        sheets = _Sheets(part, files)
        for row in book.rows():
            sheets.add(row)
            written += 1
        (part / ABOUT).write_bytes(msgspec.json.format(msgspec.json.encode(sheets.about), indent=1))
        _write_readings(book, part / READINGS)
        names = book.photos()
        if names:
            (part / FOLDER).mkdir()
            _write_photos(book, names, part / FOLDER)
    return written


class _Sheets:
    """The CSV files of one export, each begun when the first entry of its kind comes."""

    def __init__(self, folder: Path, files: ExitStack) -> None:
        self.about = About()
        self._folder = folder
        self._files = files
        self._sheets: dict[str, tuple[Any, list[str]]] = {}

    def add(self, row: Any) -> None:
        written = _DECODER.decode(row.canonical)
        name = file_name(written.kind, written.version)
        writer, columns = self._sheets.get(name) or self._begin(name, written)
        writer.writerow(to_cells(written, row.seq, row.hash, columns))

    def _begin(self, name: str, written: Written) -> tuple[Any, list[str]]:
        columns = list(written.body)
        text = text_columns(written.kind, written.version)
        # The mark in front is what spreadsheets tell UTF-8 by.
        file = self._files.enter_context((self._folder / name).open("w", encoding="utf-8-sig", newline=""))
        writer = csv.writer(file)
        writer.writerow([*ENVELOPE, *columns])
        self.about.kinds[name] = written.kind
        self.about.text[name] = [column for column in columns if column in text]
        self._sheets[name] = (writer, columns)
        return self._sheets[name]


def _require_new(folder: Path) -> None:
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise BookError(f"{folder}: there is something already. Name a folder that does not exist.")


@contextmanager
def _new_folder(folder: Path) -> Iterator[Path]:
    """A folder to write into, that becomes `folder` when all went well. Refuses one that holds anything."""
    _require_new(folder)
    if not folder.parent.is_dir():
        raise BookError(f"{folder}: there is no folder {folder.parent}. Make it first, or name another.")
    part = Path(tempfile.mkdtemp(dir=folder.parent, prefix=folder.name, suffix=".part"))
    try:
        yield part
        part.chmod(0o755)
        part.replace(folder)
    except BaseException as err:
        shutil.rmtree(part, ignore_errors=True)
        if isinstance(err, OSError):
            raise BookError(f"{folder}: cannot be written ({err.strerror}). Make room, or name another.") from err
        raise
