"""Which book files this process has open: they must not be opened by hand beside SQLite.

POSIX takes every lock that a process holds on a file away as soon as the process closes any handle of that file
(fcntl(2), "Advisory record locking"). SQLite's locks are of that kind: a file read by hand while it is open as a
database loses them, another process then takes itself for the last one, folds the write-ahead log into the file and
deletes it, and what is written here afterwards is lost or damages the book (sqlite.org, "How To Corrupt An SQLite
Database File", section 2.2).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from pathlib import Path
from threading import Lock

Key = tuple[int, int]
"""A file, whatever it is called: its device and its number there."""

_LOCK = Lock()
_HELD: Counter[Key] = Counter()


def hold(path: Path, look: Callable[[], None]) -> Key | None:
    """
    Say that a file is about to be opened as a book; `look` looks at it by hand first, where nobody here has it open.

    Returns
    -------
    tuple or None
        What `let_go` takes when the book is closed; None where there is no file yet.
    """
    with _LOCK:
        key = _key(path)
        if key is None or not _HELD[key]:
            look()
        if key is not None:
            _HELD[key] += 1
        return key


def let_go(key: Key | None) -> None:
    """Say that a book is closed."""
    with _LOCK:
        if key is not None:
            _HELD[key] -= 1
            if _HELD[key] <= 0:
                del _HELD[key]


def _key(path: Path) -> Key | None:
    try:
        found = path.stat()
    except FileNotFoundError:
        return None
    return found.st_dev, found.st_ino
