"""Short names that can be read aloud: a day and a letter, for sowings, harvest lots, packs and deliveries."""

from __future__ import annotations

import string
import uuid
from collections.abc import Container
from datetime import date
from itertools import count


def letters(index: int) -> str:
    """A, B, ..., Z, AA, AB, ... for 0, 1, ..., 25, 26, 27, ..."""
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = string.ascii_uppercase[rest] + name
    return name


def next_name(day: date, taken: Container[object], prefix: str = "") -> str:
    """The first free name of a day, for instance `261125A`, or `H261125A` with the prefix `H`."""
    stem = f"{prefix}{day:%y%m%d}"
    return next(name for index in count() if (name := stem + letters(index)) not in taken)


def tray_names(sowing: str, trays: int) -> tuple[str, ...]:
    """Names of the trays of a sowing: `261125A.1`, `261125A.2`, ..."""
    return tuple(f"{sowing}.{number}" for number in range(1, trays + 1))


def new_entry_id() -> str:
    """A fresh entry id, unlike any other made on any device."""
    return uuid.uuid4().hex
