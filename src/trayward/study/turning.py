"""Trays go on to their next stage, as far as there is room."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime, timedelta

from trayward.bootstrap import Farm
from trayward.errors import InputError
from trayward.farm.recipes import Stage
from trayward.farm.state import FarmState, Tray
from trayward.study.ledger import Ledger
from trayward.study.room import stacked_up

DAY = timedelta(days=1)
AFTER_CUT = timedelta(minutes=60)
"""When trays that waited for room are turned, after the first walk begins."""
LOOKED_FROM = 0.5
"""Whether a stage is over is asked from this share of its shortest length on. [-]"""


def is_asked(state: FarmState, tray: Tray, at: datetime) -> bool:
    """Whether a round asks if a tray's stage is over."""
    stage = state.recipe_of(tray).stage(tray.stage)
    return bool(stage.cue) and at - tray.stage_since >= DAY * (stage.days_low * LOOKED_FROM)


class Turning:
    """Turns the trays of a farm, as `name`."""

    def __init__(self, farm: Farm, ledger: Ledger, name: str) -> None:
        self.farm, self.ledger, self.name = farm, ledger, name

    def turn(self, trays: Sequence[Tray], at: datetime) -> None:
        """Trays go on to their next stage, as many as there is room for, the longest in their stage first."""
        state = self.farm.state(at)
        groups: dict[Stage, list[Tray]] = defaultdict(list)
        for tray in sorted(trays, key=lambda tray: (tray.stage_since, tray.tray)):
            after = state.recipe_of(tray).next_stage(tray.stage)
            if after is not None:
                groups[after].append(tray)
        by_need: dict[tuple[bool, bool, int], list[Tray]] = defaultdict(list)
        for after, group in groups.items():
            # What leaves the dark makes room there, and what stands by itself needs room the most.
            by_need[after.ground != "lit", after.ground == "dark", after.stack] += group
        for need in sorted(by_need):
            self._turn_alike(by_need[need], at)

    def _turn_alike(self, trays: list[Tray], at: datetime) -> None:
        """Turn trays that need like places; where not all fit, germinating trays are stacked to make room."""
        while trays and not self._answered(trays, at):
            moves = stacked_up(self.farm.state(at), {tray.tray for tray in trays})
            if moves:
                self.farm.move(moves, at=at, by=self.name, sure=True)
            fit = self._most_that_fit(trays, at)
            if not fit and not moves:
                return
            trays = trays[fit:]

    def _most_that_fit(self, trays: Sequence[Tray], at: datetime) -> int:
        """Turn half, or a quarter, ... of some trays; how many."""
        count = len(trays)
        while count and not self._answered(trays[:count], at):
            count //= 2
        return count

    def _answered(self, trays: Sequence[Tray], at: datetime) -> bool:
        try:
            self.farm.answer([tray.tray for tray in trays], cue="ready", at=at, by=self.name, sure=True)
        except InputError:
            return False
        return True

    def turn_those_that_waited(self, at: datetime, seen: datetime) -> None:
        """Trays whose cue was `seen` on the last walk that was walked, and that found no room."""
        waiting = [
            tray
            for tray in self.farm.state(at).growing()
            if self.ledger.is_over(tray, seen) and self.ledger.of(tray.tray).lost_in != tray.stage
        ]
        self.turn(waiting, at)
