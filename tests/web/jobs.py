"""Long work for the tests; at the top of a module, as another process imports it."""

from __future__ import annotations

import os
from datetime import datetime
from pathlib import Path
from time import sleep

from trayward import Farm
from trayward.errors import InputError


def count(farm: Farm, at: datetime, *, add: int = 0) -> tuple[int, int]:
    """Entries of the book, and who counted them."""
    return farm.book.head().seq + add, os.getpid()


def refuse(farm: Farm, at: datetime) -> None:
    """Work that cannot be done."""
    raise InputError("weeks", 0, "must be one or more", "Say 6.")


def crash(farm: Farm, at: datetime) -> None:
    """Work with a fault of ours."""
    raise ZeroDivisionError


def die(farm: Farm, at: datetime, *, mark: str) -> str:
    """Work whose process ends under it, the first time."""
    if not Path(mark).exists():
        Path(mark).touch()
        os._exit(3)
    return "the second time"


def linger(farm: Farm, at: datetime, *, mark: str) -> None:
    """Work that takes longer than anybody waits."""
    Path(mark).write_text(str(os.getpid()))
    sleep(600)
