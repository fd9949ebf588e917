"""The round for pages that are asked for all the time: its outlooks may be a quarter of an hour old."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from trayward.desk.backups import with_late_backup
from trayward.desk.lookup import facts_of
from trayward.desk.planning import Planning
from trayward.farm.state import FarmState
from trayward.farm.use_first import aged_seed
from trayward.outlook.ahead import look_again
from trayward.rounds.looks import LooksKept
from trayward.rounds.make import make_round
from trayward.rounds.types import Round

if TYPE_CHECKING:
    from trayward.outlook.ahead import Outlook

FRESH = timedelta(minutes=15)
"""So long an outlook holds for the round: it says on which day a stage likely ends, what a tray may weigh. [min]"""

AT_ONCE = 8
"""So many trays are looked at in one part of getting ready: some ten milliseconds."""


LOTS_AT_ONCE = 25
"""So many seed lots are looked at in one part of getting ready: some ten milliseconds."""


class Soon(Planning):
    """Rounds one after the other, quick to make again after an answer."""

    _glance: Outlook | None = None
    """The outlook of the rounds of this quarter of an hour."""
    _looks: LooksKept | None = None
    """Looks of the round made last."""

    def round_soon(self, at: datetime) -> Round:
        """
        What to do now, as `round` has it, with outlooks up to a quarter of an hour old.

        What is due, who was seen to and where things stand is as the book says at this moment. What trays like these
        are likely to do is not worked out anew for every answer: on a large farm that takes longer than all the rest.
        """
        self.settings(at)
        state = self.state(at)
        if state is not self._state:
            return self.round(at)
        if self._looks is None:
            self._looks = LooksKept()
        return with_late_backup(make_round(state, self._outlook_soon(state, at), at, kept=self._looks), self.book, at)

    def outlook_soon(self, at: datetime) -> Outlook:
        """What is likely, as `outlook` has it, up to a quarter of an hour old; trays that went on since are as now."""
        state = self.state(at)
        return self._outlook_soon(state, at) if state is self._state else self.outlook(at)

    def get_ready(self, at: datetime) -> Iterator[None]:
        """
        Work out, a part at a time, what the first `round_soon` would wait for.

        Between two parts the farm may be used. Where somebody asks for a round meanwhile, or says something late, they
        have done the rest themselves, and this ends.
        """
        self.settings(at)
        state = self.state(at)
        yield
        if state is not self._state:
            return
        for _ in self._memory().learn(state):
            yield
            if state is not self._state or self._glance is not None:
                return
        ahead = self._outlook_soon(state, at)
        trays = state.growing()
        for begin in range(0, len(trays), AT_ONCE):
            for tray in trays[begin : begin + AT_ONCE]:
                ahead.standing(tray)
            yield
            if state is not self._state:
                return
        self.round_soon(at)

    def seed_ready(self, at: datetime) -> Iterator[None]:
        """
        Work out, a part at a time, how old each lot's seed is today, which the first look of the day would wait for.

        Between two parts the farm may be used.
        """
        state = self.state(at)
        lots = [lot for lot in state.seed.values() if lot.left_g > 0 and lot.expected_on is None]
        for begin in range(0, len(lots), LOTS_AT_ONCE):
            yield
            for lot in lots[begin : begin + LOTS_AT_ONCE]:
                aged_seed(lot, facts_of(state, lot.crop), at, state.settings)

    def _outlook_soon(self, state: FarmState, at: datetime) -> Outlook:
        """The outlook of this quarter of an hour."""
        kept = self._glance
        if kept is None or not timedelta(0) <= at - kept.at < FRESH:
            kept = self._look_ahead(state, at)
        elif kept.state is not state:
            # Something was said late, and the book was folded again: what was learned is still fresh enough.
            kept = look_again(kept, state) or self._look_ahead(state, at)
        self._glance = kept
        return kept
