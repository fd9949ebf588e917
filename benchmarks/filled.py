"""Filled books to measure on: made once for each size and kept in `build/`, copied for every use.

A book's name carries a digest of the code that made it, so a change of the farm, the store or the made-up record makes
new ones. `make clean` takes them away.
"""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterator
from hashlib import sha256
from itertools import islice
from pathlib import Path
from typing import Final

from benchmarks import books
from benchmarks.harness import ROOT, progress
from trayward.farm.codec import encode_entry
from trayward.store import SqlBook, open_book
from trayward.store.pen import Pen, prepare_canonical

SIZES: Final = ("10k", "100k", "1M")
KEPT: Final = ROOT / "build" / "benchmarks"
AT_ONCE: Final = 10_000
BARN_FROM: Final = 1_000_000
"""A book of so many entries is a Barn's; shorter ones are a Loft's."""
MAKERS: Final = ("benchmarks/books.py", "benchmarks/farms.py", "src/trayward/farm", "src/trayward/store")


def entries_of(size: str) -> int:
    """How many entries a size names: `10k`, `1M`, `500`."""
    return int(float(size.rstrip("kM")) * {"k": 1_000, "M": 1_000_000}.get(size[-1], 1))


def farm_of(size: str) -> str:
    """The farm whose book is that long."""
    return "Barn" if entries_of(size) >= BARN_FROM else "Loft"


def size_words(size: str) -> str:
    """A size for the table."""
    return f"{size} entries, {farm_of(size)}"


def book_copy(size: str, folder: Path) -> Path:
    """A book of that size in a new SQLite file in a folder, to do with as one likes."""
    kept = KEPT / f"{size}-{_digest()}.sqlite"
    if not kept.exists():
        KEPT.mkdir(parents=True, exist_ok=True)
        for outdated in KEPT.glob(f"{size}-*.sqlite"):
            outdated.unlink()
        _make(size, kept)
    copy = folder / f"farm-{size}.sqlite"
    shutil.copyfile(kept, copy)
    return copy


def fill(book: SqlBook, size: str) -> None:
    """Write a made-up book of that size into an empty one, the way an import does."""
    said = books.entries(entries_of(size), spots=books.SIZES[farm_of(size)])
    began, told = time.monotonic(), 0
    while page := [prepare_canonical(encode_entry(entry)) for entry in islice(said, AT_ONCE)]:
        with book.writing() as connection:
            pen = Pen(connection)
            pen.keep(page)
            pen.flush()
        told += len(page)
        if told % (10 * AT_ONCE) == 0:
            progress(f"    {told:,} entries written in {time.monotonic() - began:.0f} s")


def _make(size: str, kept: Path) -> None:
    progress(f"making a book of {size_words(size)}")
    part = kept.with_name(f"{kept.name}.{os.getpid()}.part")
    try:
        with open_book(part, create=True) as book:
            fill(book, size)
        part.replace(kept)
    finally:
        for left in part.parent.glob(f"{part.name}*"):
            left.unlink()


def _digest() -> str:
    found = sha256()
    for path in _sources():
        found.update(path.read_bytes())
    return found.hexdigest()[:12]


def _sources() -> Iterator[Path]:
    for name in MAKERS:
        path = ROOT / name
        yield from [path] if path.is_file() else sorted(path.rglob("*.py"))
