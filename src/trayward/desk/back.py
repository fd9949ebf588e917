"""The farm a little way back, kept in memory, so that what arrives late is folded from there and not from far away.

Several phones at once, or one that comes out of the cellar, say many things late one after the other. Each makes the
book be folded again from the store's last checkpoint, which may lie thousands of entries back.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import msgspec

from trayward.desk.ports import Book, Checkpoint
from trayward.farm.codec import decode_state, encode_state
from trayward.farm.entries import Entry, Struck
from trayward.farm.state import FarmState

BEFORE = timedelta(minutes=5)
"""So long before something late the farm is kept: the next phone may be a little later still. [min]"""
WORTH = 50
"""It is worth keeping where so many entries need not be folded the next time."""


class Back:
    """
    The fold of all that had happened by one moment, of a book that goes on being written.

    It holds every entry that happened at its moment or before. Unlike the store's checkpoints it says nothing about
    which entries were kept first: there may be later ones among those it leaves out. It is given up as soon as the book
    has something new that happened before, or a strike.

    Parameters
    ----------
    book : Book
        The book that is folded.
    """

    def __init__(self, book: Book) -> None:
        self._book = book
        self._kept: Checkpoint | None = None
        self._wanted: tuple[datetime, int] | None = None

    def expect(self, late: datetime, seq: int) -> None:
        """Something that had happened at this moment arrived late: with the next fold, keep the farm a little before.

        `seq` is where the book ends, or ended a moment ago: what comes after it is looked at before it is relied on.
        """
        self._wanted = late - BEFORE, seq

    def begun(self, until: datetime | None) -> tuple[FarmState, Iterator[Entry]] | None:
        """The farm as kept and what happened since, up to and including `until`; None where it has to be read anew."""
        kept = self._kept
        if kept is None or (until is not None and until < kept.horizon):
            return None
        # The timeline ends where the book ends now. Only then are the new entries looked at, so that none slips by.
        timeline = self._book.timeline(later_than=kept.horizon, until=until)
        for fresh in self._book.entries(after=kept.seq):
            if fresh.entry.at <= kept.horizon or isinstance(fresh.entry.body, Struck):
                self._kept = None
                return None
            self._kept = msgspec.structs.replace(kept, seq=fresh.seq)
        return decode_state(kept.state), timeline

    def noting(self, timeline: Iterator[Entry], state: FarmState) -> Iterator[Entry]:
        """Hand on a timeline that is folded into a state as it goes; keep the farm on the way, where that is wanted."""
        wanted, self._wanted = self._wanted, None
        return timeline if wanted is None else self._noted(timeline, state, *wanted)

    def _noted(self, timeline: Iterator[Entry], state: FarmState, moment: datetime, seq: int) -> Iterator[Entry]:
        begun, passed = state.entries, False
        for entry in timeline:
            if not passed and entry.at > moment:
                passed = True
                if state.entries - begun >= WORTH:
                    self._kept = Checkpoint(seq=seq, horizon=moment, state=encode_state(state))
            yield entry
