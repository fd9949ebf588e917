"""What every entry of the book is made of."""

from __future__ import annotations

from datetime import datetime
from typing import ClassVar

import msgspec


class Body(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What an entry says. `KIND` is its name in the book for ever; `VERSION` grows when its shape changes."""

    KIND: ClassVar[str] = ""
    VERSION: ClassVar[int] = 1

    def subjects(self) -> tuple[str, ...]:
        """What the entry is about, as `kind:name` strings, for looking things up; no order is promised."""
        return ()


class TrayBody(Body, frozen=True, kw_only=True):
    """An entry about some trays."""

    trays: tuple[str, ...]

    def subjects(self) -> tuple[str, ...]:
        return tuple(f"tray:{tray}" for tray in self.trays)


class Entry(msgspec.Struct, frozen=True, kw_only=True):
    """One fact in the book."""

    id: str
    """Made by the device that says it; 8 to 64 letters, digits, `-` or `_`."""
    at: datetime
    """When it happened, with offset."""
    recorded: datetime
    """When it was said, with offset."""
    by: str
    """Who says so."""
    body: Body

    @property
    def kind(self) -> str:
        """The name of the entry's kind."""
        return self.body.KIND
