"""Who waits for a book that somebody else writes to is told so soon, and goes on waiting."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Timer

TOLD_AFTER_S = 1.5
"""So long a wait is no news. [s]"""

_tellers: list[Callable[[str], None]] = []


@contextmanager
def telling(tell: Callable[[str], None]) -> Iterator[None]:
    """Within it `tell` is called, from another thread, with the name of a book that is waited for."""
    _tellers.append(tell)
    try:
        yield
    finally:
        _tellers.remove(tell)


@contextmanager
def waiting_for(name: str) -> Iterator[None]:
    """What is done within it waits for the book of that name, perhaps; it costs nothing where nobody is to be told."""
    if not _tellers:
        yield
        return
    timer = Timer(TOLD_AFTER_S, _tellers[-1], [name])
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
