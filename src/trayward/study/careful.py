"""A grower who looks at what stands and lies there before sowing, as somebody who has kept the book for a while does.

The plain `Grower` sows each day's orders on their own and never counts what is on the way: it is the rule of thumb
that plans are held against. A farm somebody opens for the first time should run mostly well, with a thing or two to
sort out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from contextlib import suppress
from datetime import datetime, timedelta

from msgspec.structs import replace

from trayward.desk.desk import Desk
from trayward.errors import InputError
from trayward.farm.calendar import local_day
from trayward.farm.orders import LineDue
from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.study.grower import LOOK_AHEAD_DAYS, Grower
from trayward.study.worlds import World

EXTRA = 0.3
"""The bit more that is sown, as a share: trays differ, and mixes want every part of them. Our choice. [-]"""
EARLY_DAYS = 2
"""Sown so much sooner than the recipe says: slow trays are there in time, and quick ones wait. Our choice. [d]"""
LATE_DAYS = 6
"""What was missed is brought up to so much later. [d]"""


class CarefulGrower(Grower):
    """Sows what is missing of each crop, what there is least of first."""

    def __init__(self, farm: Desk, world: World, settings: FarmSettings, *, name: str) -> None:
        super().__init__(farm, world, settings, name=name, extra=EXTRA)

    def sow(self, at: datetime) -> None:
        """Sow so that what stands, lies in the cold room and is sown now covers what falls due until then."""
        state = self.farm.state(at)
        today, tomorrow = local_day(at, self.settings), self._next_work_day(at) - timedelta(days=1)
        due = self.farm.due(today, today + timedelta(days=LOOK_AHEAD_DAYS), at=at)
        missing: list[tuple[float, Recipe, int]] = []
        for recipe in state.recipes_in_use():
            until = tomorrow + timedelta(days=math.ceil(recipe.days_to_ready) + 1 + EARLY_DAYS)
            average = self._average(recipe, at)
            wanted = self._wanted(recipe, (line for line in due if line.due < until), average)
            gap = wanted - self._there(state, recipe, average)
            if gap > 0:
                missing.append((gap / wanted, recipe, math.ceil(gap / average)))
        for _, recipe, trays in sorted(missing, key=lambda each: (-each[0], each[1].name)):
            self._sow(recipe, trays, at)

    def deliver(self, at: datetime) -> None:
        """What is due today, then what was missed in the days before and is cut by now."""
        super().deliver(at)
        today, later = local_day(at, self.settings), at + timedelta(minutes=40)
        for back in range(LATE_DAYS, 0, -1):
            day = today - timedelta(days=back)
            missed = [line for line in self.farm.due(day, day, at=later) if not line.live and _open_g(line) > 0.5]
            for line in missed:
                self._pack_rest(line, later)
            for customer in dict.fromkeys(line.customer for line in missed):
                # Nothing of it is cut yet: the customer waits on.
                with suppress(InputError):
                    self.farm.deliver_due(customer, day, at=later, by=self.name)

    def _pack_rest(self, line: LineDue, at: datetime) -> None:
        """Pack what is still missing of a line, as far as there is crop."""
        if line.pack_g:
            self._pack(replace(line, packs=math.ceil((_open_g(line) - 0.5) / line.pack_g)), at)

    def _wanted(self, recipe: Recipe, lines: Iterable[LineDue], average: float) -> float:
        """Grams of a recipe's crop that lines still ask for, live trays as a tray's weight. [g]"""
        wanted = 0.0
        for line in lines:
            share = sum(part.share for part in line.parts if part.crop == recipe.crop)
            wanted += _open_g(line) * share * (1 + self.extra)
            wanted += max(line.trays - line.done_trays, 0) * average * (share > 0)
        return wanted

    @staticmethod
    def _there(state: FarmState, recipe: Recipe, average: float) -> float:
        """Grams of it in the cold room and on the racks. [g]"""
        cold = sum(lot.left_g for lot in state.harvests.values() if lot.crop == recipe.crop)
        return cold + average * sum(tray.crop == recipe.crop for tray in state.growing())


def _open_g(line: LineDue) -> float:
    """Grams still to deliver. [g]"""
    return max(line.grams - line.done_g, 0.0)
