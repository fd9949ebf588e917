"""The farm a little way back, kept in memory, so that what arrives late is folded from there and not from far away.

Several phones at once, or one that comes out of the cellar, say many things late one after the other; a slip of the
thumb is struck. Each makes the book be folded again from before it. The store's checkpoints lie thousands of entries
back, and reading one of a long book takes seconds; a state kept here is gone on with in milliseconds.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import msgspec

from trayward.desk.ports import Book
from trayward.farm.copying import copied
from trayward.farm.entries import Entry, Struck
from trayward.farm.fold import fold
from trayward.farm.state import FarmState

BEFORE = timedelta(minutes=5)
"""So long before something late the farm is kept: the next phone may be a little later still. [min]"""
WORTH = 50
"""It is worth keeping where so many entries need not be folded the next time."""
EVERY = 50
"""The farm is kept once more after so many entries."""
LAG = timedelta(seconds=5)
"""And as of so long before: of phones that say things at once, one is a moment behind the other. [s]"""
MOST = 4
"""So many are kept: on a farm of a million entries each takes some ten megabytes."""
FAR = 20_000
"""One so many entries back is let go: folding as many takes a second."""


class Aside(msgspec.Struct, kw_only=True):
    """
    The fold of every entry that happened at a moment or before, put aside.

    Unlike the store's checkpoints it says nothing about which entries were kept first: there may be later ones among
    those it leaves out.
    """

    moment: datetime
    state: FarmState
    struck: frozenset[str]
    """The entries that were struck when it was folded."""
    seq: int
    """It is true of the book up to here."""


class Back:
    """
    A few states of the farm from different times back, of a book that goes on being written.

    One is given up as soon as the book has something new that happened before it, or a strike of what it holds.

    Parameters
    ----------
    book : Book
        The book that is folded.
    """

    def __init__(self, book: Book) -> None:
        self._book = book
        self._kept: list[Aside] = []
        """The oldest first."""
        self._wanted: tuple[datetime, int] | None = None
        self._tried: int | None = None
        """How many entries there were when it was last looked whether to keep one more."""

    def expect(self, late: datetime, seq: int) -> None:
        """Something that had happened at this moment arrived late: with the next fold, keep the farm a little before.

        `seq` is where the book ends, or ended a moment ago: what comes after it is looked at before it is relied on.
        """
        self._wanted = late - BEFORE, seq

    def begun(self, until: datetime | None) -> tuple[FarmState, Iterator[Entry]] | None:
        """The farm as kept and what happened since, up to and including `until`; None where it has to be read anew."""
        while (kept := self._nearest(until)) is not None:
            # The timeline ends where the book ends now. Only then are the new entries looked at, so that none slips by.
            timeline = self._book.timeline(later_than=kept.moment, until=until)
            self._look_at_what_is_new()
            if any(each is kept for each in self._kept):
                return copied(kept.state), timeline
        return None

    def _nearest(self, until: datetime | None) -> Aside | None:
        return next((kept for kept in reversed(self._kept) if until is None or kept.moment <= until), None)

    def _look_at_what_is_new(self) -> None:
        """Give up what is not true of the book any more."""
        new = list(self._book.entries(after=min(kept.seq for kept in self._kept)))
        if not new:
            return
        struck = self._book.struck() if any(isinstance(kept.entry.body, Struck) for kept in new) else None
        self._kept = [
            kept
            for kept in self._kept
            if not any(fresh.seq > kept.seq and fresh.entry.at <= kept.moment for fresh in new)
            and (struck is None or not self._holds(kept, struck ^ kept.struck))
        ]
        for kept in self._kept:
            kept.seq = max(kept.seq, new[-1].seq)
            kept.struck = struck if struck is not None else kept.struck

    def _holds(self, kept: Aside, entries: frozenset[str]) -> bool:
        """Whether it holds any of these entries, which count now and did not before, or the other way round."""
        found = (self._book.get(name) for name in entries)
        return any(each is not None and each.entry.at <= kept.moment for each in found)

    # Keeping ---------------------------------------------------------------------------------------------------------

    def passing(self, state: FarmState, seq: int, struck: frozenset[str]) -> None:
        """The whole book is folded into this state, up to `seq`, and it goes on: now and then, keep the farm."""
        if state.horizon is None or (self._tried is not None and 0 <= state.entries - self._tried < EVERY):
            return
        self._tried = state.entries
        if self._kept:
            self._look_at_what_is_new()  # So that there is never much to look at when somebody waits.
        if self._kept:
            self._go_on(self._kept[-1], state.horizon - LAG, struck, seq)
        else:
            self._keep(Aside(moment=state.horizon, state=copied(state), struck=struck, seq=seq))

    def _go_on(self, last: Aside, moment: datetime, struck: frozenset[str], seq: int) -> None:
        """Keep the farm as of a moment, folded from the last that was kept."""
        if moment <= last.moment:
            return
        timeline = self._book.timeline(later_than=last.moment, until=moment)
        state = fold(timeline, start=copied(last.state), struck=struck)
        if state.entries - last.state.entries >= EVERY // 2:
            self._keep(Aside(moment=moment, state=state, struck=struck, seq=seq))

    def noting(
        self, timeline: Iterator[Entry], state: FarmState, struck: frozenset[str], *, from_here: bool
    ) -> Iterator[Entry]:
        """
        Hand on a timeline that is folded into a state as it goes; keep the farm on the way, where that is wanted.

        `from_here`: the state was kept here. One that was read from the store is worth keeping in any case.
        """
        wanted, self._wanted = self._wanted, None
        least = WORTH if from_here else 0
        return timeline if wanted is None else self._noted(timeline, state, struck, *wanted, least)

    def _noted(
        self,
        timeline: Iterator[Entry],
        state: FarmState,
        struck: frozenset[str],
        moment: datetime,
        seq: int,
        least: int,
    ) -> Iterator[Entry]:
        begun, passed = state.entries, False
        if state.horizon is not None:
            moment = max(moment, state.horizon)
        for entry in timeline:
            if not passed and entry.at > moment:
                passed = True
                if state.entries - begun >= least and state.entries:
                    self._keep(Aside(moment=moment, state=copied(state), struck=struck, seq=seq))
            yield entry

    def _keep(self, fresh: Aside) -> None:
        kept = [each for each in self._kept if each.moment < fresh.moment]
        self._kept = thinned([*kept, fresh, *(each for each in self._kept if each.moment > fresh.moment)])


def thinned(kept: list[Aside]) -> list[Aside]:
    """
    At most `MOST` of those kept, the oldest first.

    The newest two stay, and the oldest, until it is `FAR` back; of the others goes the one that leaves the smallest gap
    for its age. So the gaps grow with age, and what is seconds late finds one not far before it, and what is hours
    late, too.
    """
    left = [each for each in kept if kept[-1].state.entries - each.state.entries <= FAR]
    while len(left) > MOST:
        newest = left[-1].state.entries
        gaps = [
            ((left[place + 1].state.entries - before) / (newest - before), place)
            for place in range(1, len(left) - 2)
            for before in [left[place - 1].state.entries]
        ]
        left.pop(min(gaps)[1])
    return left
