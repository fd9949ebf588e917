"""An exported book read back: all of it or nothing."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from contextlib import contextmanager
from heapq import merge
from itertools import islice
from pathlib import Path
from typing import NamedTuple

import msgspec

from trayward.errors import BookError, TraywardError
from trayward.farm.codec import encode_entry
from trayward.farm.entries import KINDS
from trayward.store.book import SqlBook
from trayward.store.chain import link
from trayward.store.pen import Pen, Prepared, prepare_canonical
from trayward.store.photos import keep_picture, photo_folder, pictures_in
from trayward.store.projections import PAGE
from trayward.store.readings import keep_rows, readings_file, rows_of_file
from trayward.store.sheet_form import ABOUT, ENVELOPE, About, to_canonical

TOLD = 20
"""So many bad lines are told one by one."""


class Imported(NamedTuple):
    """What an import did."""

    kept: int
    """Entries that are new in the book."""
    already: int
    """Entries that the book had already."""


class Line(NamedTuple):
    """One entry of a file; `problem` says why it cannot be one."""

    seq: int
    place: str
    hash: str = ""
    canonical: bytes = b""
    problem: str = ""


class _Written(msgspec.Struct, forbid_unknown_fields=True):
    seq: int
    hash: str
    entry: msgspec.Raw


def import_book(book: SqlBook, source: Path, *, rechain: bool = False) -> Imported:
    """
    Keep every entry of an exported book: into an empty one it gives the same book, number by number, hash by hash.

    Parameters
    ----------
    book : SqlBook
        Entries it has already are left as they are, so importing a file again changes nothing.
    source : Path
        A JSON Lines file (`export_lines`) or a folder of CSV files (`export_csv`).
    rechain : bool
        True: take entries although the numbers or hashes in the file do not fit, and give them new ones. For what is
        left of a damaged book, and for two copies of one book that were both written in.

    Raises
    ------
    BookError
        If anything in the file cannot be kept; names every bad line (at first 20). If the book holds entries and
        neither of the two begins with the whole of the other: two farms would be laid over each other. Then nothing
        is kept.
    """
    with _readable(source):
        lines = _csv_lines(source) if source.is_dir() else _json_lines(source)
        return _keep(book, source, lines, rechain)


# Keeping --------------------------------------------------------------------------------------------------------------


def _keep(book: SqlBook, source: Path, lines: Iterator[Line], rechain: bool) -> Imported:
    problems: list[str] = []
    checker = _Checker(rechain)
    read = 0
    with book.writing() as connection:
        pen = Pen(connection)
        begun = pen.seq
        same = _Same(source, book.name, pen)
        while page := list(islice(lines, PAGE)):
            read += len(page)
            prepared = list(checker.check(page, problems))
            pen.look_up(one.entry.id for _, one in prepared)
            if not (problems or rechain):
                same.require_same_chain(prepared)
            for line, one in prepared:
                _keep_one(pen, line, one, problems)
            if not problems:
                pen.flush()
            pen.forget_known()
        if problems:
            # Leaving the transaction by an error leaves the book as it was.
            raise BookError(_told(source, problems))
        for picture in pictures_in(photo_folder(source)):
            keep_picture(connection, picture)
        if readings_file(source).is_file():
            keep_rows(connection, rows_of_file(readings_file(source)))
        if begun and read and pen.seq - begun == read:
            # Only with `rechain`, or of a file that begins in the middle: not one entry is in both.
            raise same.two_farms()
    return Imported(kept=pen.seq - begun, already=read - (pen.seq - begun))


def _keep_one(pen: Pen, line: Line, one: Prepared, problems: list[str]) -> None:
    try:
        pen.keep([one])
    except TraywardError as err:
        problems.append(f"{line.place}: {err}")


def _told(source: Path, problems: list[str]) -> str:
    more = len(problems) - TOLD
    last = [f"and {more} more"] if more > 0 else []
    told = "\n".join([*problems[:TOLD], *last])
    return f"{source}: nothing was imported, because of\n{told}\nPut these right, or export the book again."


class _Same:
    """Sees to it that a file and a book with entries are of one farm: one begins with the whole of the other."""

    def __init__(self, source: Path, book: str, pen: Pen) -> None:
        self._source = source
        self._book = book
        self._pen = pen
        self._begun = pen.seq

    def require_same_chain(self, prepared: list[tuple[Line, Prepared]]) -> None:
        """Each entry must stand in the book where it stands in the file, as far as the book goes."""
        for line, one in prepared:
            if line.seq > self._begun:
                return
            place = self._pen.place_of(one.entry.id)
            if place != (line.seq, line.hash):
                # The first entry sets the farm up: a book that lacks it is another farm's.
                raise self.two_farms() if line.seq == 1 and place is None else self._two_copies(line.seq)

    def two_farms(self) -> BookError:
        """That the file and the book have nothing in common."""
        return BookError(
            f"{self._source}: nothing was imported. It is the book of another farm than {self._book}, which holds "
            f"{self._begun} {'entry' if self._begun == 1 else 'entries'} of its own. "
            "Import it into a new book: name one with --book."
        )

    def _two_copies(self, seq: int) -> BookError:
        return BookError(
            f"{self._source}: nothing was imported. It and {self._book} differ from entry {seq} on: both were written "
            "in by themselves. To have the entries of both in this book, with new numbers: --rechain. "
            "Or import it into a new book: name one with --book."
        )


class _Checker:
    """Follows the chain through the file, so that a line changed, lost or moved is noticed before it is kept."""

    def __init__(self, rechain: bool) -> None:
        self._rechain = rechain
        self._seq = 0
        self._hash = ""

    def check(self, lines: list[Line], problems: list[str]) -> Iterator[tuple[Line, Prepared]]:
        """The lines that are whole, made ready; what is wrong with the others is added to `problems`."""
        for line in lines:
            try:
                if line.problem:
                    raise BookError(line.problem)
                self._require_chained(line)
                yield line, self._in_canonical_form(prepare_canonical(line.canonical))
            except TraywardError as err:
                problems.append(f"{line.place}: {err}")
            self._seq, self._hash = line.seq, line.hash

    def _in_canonical_form(self, one: Prepared) -> Prepared:
        if one.version != KINDS[one.entry.kind].VERSION or encode_entry(one.entry) == one.canonical:
            return one
        if self._rechain:
            return one._replace(canonical=encode_entry(one.entry))
        raise BookError("the entry is written in another way than the book writes it")

    def _require_chained(self, line: Line) -> None:
        if self._rechain:
            return
        if line.seq != self._seq + 1:
            raise BookError(f"entry {line.seq} comes after entry {self._seq}; one is missing or in the wrong place")
        if line.hash != link(self._hash, line.seq, line.canonical):
            raise BookError(f"entry {line.seq}: its hash does not fit; this line or the one before was changed")


# Reading --------------------------------------------------------------------------------------------------------------


def _json_lines(source: Path) -> Iterator[Line]:
    decoder = msgspec.json.Decoder(_Written)
    with source.open("rb") as file:
        for number, text in enumerate(file, start=1):
            place = f"line {number}"
            try:
                written = decoder.decode(text)
                yield Line(written.seq, place, written.hash, bytes(written.entry))
            except (msgspec.DecodeError, UnicodeDecodeError) as err:
                yield Line(number, place, problem=f"it is no line of a book: {err}")


def _csv_lines(folder: Path) -> Iterator[Line]:
    try:
        about = msgspec.json.decode((folder / ABOUT).read_bytes(), type=About)
    except FileNotFoundError:
        raise BookError(
            f"{folder}: {ABOUT} is missing, which says what is in the files. Export the book again."
        ) from None
    except (msgspec.DecodeError, UnicodeDecodeError) as err:
        raise BookError(f"{folder / ABOUT}: cannot be read: {err}. Export the book again.") from err
    sheets = [_sheet(folder, name, about.kinds[name], about.text.get(name, [])) for name in sorted(about.kinds)]
    return merge(*sheets, key=lambda line: line.seq)


def _sheet(folder: Path, name: str, kind: str, text: list[str]) -> Iterator[Line]:
    with (folder / name).open(encoding="utf-8-sig", newline="") as file:
        reader = csv.DictReader(file, restkey="", restval=None)
        if lost := [column for column in ENVELOPE if column not in (reader.fieldnames or ())]:
            raise BookError(f"{folder / name}: column {', '.join(lost)} is missing. Export the book again.")
        last = 0
        for row in reader:
            line = _row(f"{name} line {reader.line_num}", row, kind, text, last)
            last = line.seq
            yield line


def _row(place: str, row: dict[str, str], kind: str, text: list[str], last: int) -> Line:
    try:
        if "" in row or None in row.values():
            raise ValueError("it has more or fewer cells than the first line has names")
        return Line(int(row["seq"]), place, row["hash"], to_canonical(kind, row, text))
    except (ValueError, msgspec.MsgspecError) as err:
        return Line(last + 1, place, problem=f"it is no row of a book: {err}")


@contextmanager
def _readable(source: Path) -> Iterator[None]:
    """Lets long cells through, and says in plain words what a file cannot be read for."""
    before = csv.field_size_limit(2**31 - 1)
    try:
        yield
    except OSError as err:
        raise BookError(f"{err.filename or source}: cannot be read ({err.strerror}). Name another file.") from err
    except (UnicodeDecodeError, csv.Error) as err:
        raise BookError(f"{source}: cannot be read as text: {err}. Export the book again.") from err
    finally:
        csv.field_size_limit(before)
