"""What tracing reads: the farm's state, and what the book says of a thing; and what is made of them once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from functools import cached_property
from typing import Protocol

from trayward.farm.entries import Cut, Delivered, Entry, LotGrams, PackCount, Packed, ThrownAway
from trayward.farm.state import FarmState, PackLot, Sowing

READ_ONCE = 200
"""So many of the newest entries of a kind about a thing are read at once."""


class Record(Protocol):
    """A farm's record at a moment: what was struck or happened later is not in it."""

    @property
    def at(self) -> datetime:
        """The moment."""

    @property
    def state(self) -> FarmState:
        """The farm as it was then."""

    def about(self, subject: str) -> Sequence[Entry]:
        """What counts of what was said about a thing (`kind:name`), in the order of happening."""

    def some(
        self, subject: str, kinds: Sequence[str], *, since: datetime | None, until: datetime | None, limit: int
    ) -> Sequence[Entry]:
        """What counts about a thing of some kinds, from one moment to before another, the newest first."""

    def taken_back(self, subject: str) -> int:
        """How many entries about a thing were struck."""


class Links:
    """The record with its links both ways, each worked out once."""

    def __init__(self, record: Record) -> None:
        self.record = record
        self.state = record.state
        self.settings = self.state.settings_or_usual
        self._about: dict[str, Sequence[Entry]] = {}
        self._newest: dict[tuple[str, str], Sequence[Entry]] = {}

    def about(self, subject: str) -> Sequence[Entry]:
        """What counts about a thing."""
        found = self._about.get(subject)
        if found is None:
            found = self._about[subject] = self.record.about(subject)
        return found

    def last(self, subject: str, kind: str, before: datetime) -> Entry | None:
        """The last entry of a kind about a thing before a moment; None where there is none.

        The newest of them are read once for all who ask; what lies before those is looked for on its own.
        """
        if (newest := self._newest.get((subject, kind))) is None:
            newest = self.record.some(subject, (kind,), since=None, until=None, limit=READ_ONCE)
            self._newest[subject, kind] = newest
        found = next((entry for entry in newest if entry.at < before), None)
        if found is None and len(newest) >= READ_ONCE:
            found = next(iter(self.record.some(subject, (kind,), since=None, until=before, limit=1)), None)
        return found

    @property
    def read(self) -> dict[str, Sequence[Entry]]:
        """All that was read so far, by what it is about."""
        return self._about

    @cached_property
    def sown(self) -> dict[str, list[Sowing]]:
        """Seed lot -> what was sown of it."""
        found: dict[str, list[Sowing]] = {}
        for sowing in self.state.sowings.values():
            for lot in sowing.lots:
                found.setdefault(lot, []).append(sowing)
        return found

    @cached_property
    def harvests(self) -> dict[str, list[str]]:
        """Tray -> the harvest lots it was cut into; several where it grew again."""
        found: dict[str, list[str]] = {}
        for lot in self.state.harvests.values():
            for tray in lot.trays:
                found.setdefault(tray, []).append(lot.harvest)
        return found

    def packs(self, harvest: str) -> list[PackLot]:
        """The packs filled from a harvest lot."""
        names = dict.fromkeys(body.pack for _, body in self.packed(harvest))
        return [self.state.packs[name] for name in names if name in self.state.packs]

    # What the book alone has ------------------------------------------------------------------------------------------

    def cut(self, harvest: str) -> tuple[Entry, Cut] | None:
        """The cut that made a harvest lot: the first of that name, as the fold counts it."""
        for entry in self.about(f"harvest:{harvest}"):
            if isinstance(entry.body, Cut) and entry.body.harvest == harvest:
                return entry, entry.body
        return None

    def packed(self, harvest: str) -> list[tuple[Entry, Packed]]:
        """The fillings from a harvest lot."""
        return [(each, each.body) for each in self.about(f"harvest:{harvest}") if isinstance(each.body, Packed)]

    def filling(self, pack: str) -> tuple[Entry, Packed] | None:
        """The filling that made a pack lot."""
        for entry in self.about(f"pack:{pack}"):
            if isinstance(entry.body, Packed):
                return entry, entry.body
        return None

    def delivered(self, subject: str) -> list[tuple[Entry, Delivered]]:
        """The deliveries that something went out with, or of that name."""
        return [(each, each.body) for each in self.about(subject) if isinstance(each.body, Delivered)]

    def thrown(self, subject: str) -> list[tuple[Entry, ThrownAway]]:
        """What was thrown away of something."""
        return [(each, each.body) for each in self.about(subject) if isinstance(each.body, ThrownAway)]


def grams_by_lot(parts: Iterable[LotGrams]) -> dict[str, float]:
    """Harvest lot -> grams of it in some parts; a lot may come several times. [g]"""
    found: dict[str, float] = {}
    for part in parts:
        found[part.harvest] = found.get(part.harvest, 0.0) + part.grams
    return found


def packs_by_lot(counts: Iterable[PackCount]) -> dict[str, int]:
    """Pack lot -> packs of it in some counts; a lot may come several times."""
    found: dict[str, int] = {}
    for count in counts:
        found[count.pack] = found.get(count.pack, 0) + count.packs
    return found


def loose_in(body: Delivered) -> dict[str, float]:
    """Harvest lot -> grams of it that went out loose. [g]"""
    return grams_by_lot(part for line in body.lines for part in line.loose)


def packs_in(body: Delivered) -> dict[str, int]:
    """Pack lot -> packs of it that went out."""
    return packs_by_lot(count for line in body.lines for count in line.packs)
