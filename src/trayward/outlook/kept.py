"""What one process leaves to the next, so that it need not read every tray and search every spread again.

Nothing here is part of the record: whatever does not fit the book any more, or cannot be read, is as if it had not been
kept.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from zlib import crc32

import msgspec

from trayward.errors import Finding
from trayward.farm.state import FarmState
from trayward.outlook.rows import LossRow, StageRow, YieldRow

MODEL = 4
"""Grows when spreads or rows mean something else than before: what an older model kept is then let go."""


class Found(msgspec.Struct, frozen=True):
    """Spreads as a search found them, and in which rows: so many of them, and a number that tells them from others."""

    base: int
    mark: int
    inner: list[float]
    terms: dict[str, float]
    at: list[float] = []
    """The standard coefficients found with them, where finding these takes its time too."""


class Sorted(msgspec.Struct):
    """Rows by what they teach."""

    yields: list[YieldRow] = []
    stages: dict[str, list[StageRow]] = {}
    losses: list[LossRow] = []
    findings: list[Finding] = []

    def copy(self) -> Sorted:
        """Another that may grow on its own."""
        stages = {name: list(rows) for name, rows in self.stages.items()}
        return Sorted(list(self.yields), stages, list(self.losses), list(self.findings))


class KeptRows(msgspec.Struct, frozen=True):
    """What so many ended trays teach, by so many readings; the mark tells these trays and readings from others."""

    ended: int
    readings: int
    mark: int
    rows: Sorted


class Kept(msgspec.Struct, frozen=True):
    """All that is kept."""

    model: int = MODEL
    found: dict[str, Found] = {}
    rows: KeptRows | None = None


def mark_of(state: FarmState, ended: int, readings: int) -> int:
    """A number that other trays, readings, recipes, shelves or rounds would hardly have."""
    trays = list(state.ended.values())[:ended]
    light = (list(state.recipes.values()), list(state.shelves.values()), state.settings and state.settings.rounds)
    return crc32(msgspec.msgpack.encode((light, trays, state.readings[:readings])))


@contextmanager
def uncollected() -> Iterator[None]:
    """Without the search for cycles of garbage: rows by the ten thousand hold none, and it would read them all."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def kept_out(kept: Kept) -> bytes:
    """What is kept, as bytes."""
    return msgspec.msgpack.encode(kept)


def kept_in(told: bytes | None) -> Kept:
    """What an earlier process kept; nothing where there is none, or another version of the models made it."""
    try:
        with uncollected():
            kept = msgspec.msgpack.decode(told or b"", type=Kept)
    except (msgspec.DecodeError, RecursionError):
        return Kept()
    return kept if kept.model == MODEL else Kept()
