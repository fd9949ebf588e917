"""What could be done: every sowing day and cutting day of every recipe, and every way for standing trays to leave."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from trayward.farm.settings import FarmSettings
from trayward.plan.days import Days, Floats, Ints
from trayward.plan.demand import CropDemand
from trayward.plan.limits import HANDS, LIT, OFF, Limits
from trayward.plan.standing import Standing
from trayward.plan.uses import CUT, DISCARD, LIVE, Life, Uses, charge
from trayward.plan.ways import Way, Ways

STRETCH = 3
"""Days beyond cut window and cold-room life that are looked at when asking which limits clash. [d]"""
FRESHER = 1e-3
"""Between plans worth the same, trays are cut later rather than sooner. [currency/d a tray]"""


class Options(NamedTuple):
    """One row an option: trays of a way sown one day and leaving on another, or standing trays leaving on a day."""

    way: Ints
    """Number of the way; -1 for standing trays."""
    standing: Ints
    """Number of the group of standing trays; -1 for trays to be sown."""
    crop: Ints
    """Number of the crop in the order of the demand; -1 where nobody wants it."""
    sow: Ints
    leave: Ints
    how: Ints
    stretch: Ints
    """Days past the cut window."""
    grams: Floats
    likely: Floats
    seed_g: Floats
    first_due: Ints
    """Number of the first due day it can serve (for live trays: the due day itself)."""
    last_due: Ints
    """Number of the last; before the first, where it would have to keep longer than it does."""
    upper: Floats
    cost: Floats


class Board(NamedTuple):
    """The options and the days of each limit they take up."""

    options: Options
    uses: Uses
    crops: list[str]
    life: dict[str, int]
    """Days each crop keeps in the cold room; the least over its recipes."""


class _Block(NamedTuple):
    """Some options of one recipe that leave in the same manner."""

    sow: Ints
    leave: Ints
    waited: Ints
    first_due: Ints
    last_due: Ints
    upper: Floats


def lay_out(
    ways: Ways,
    standing: list[Standing],
    demand: dict[str, CropDemand],
    limits: Limits,
    settings: FarmSettings,
    days: Days,
    *,
    relaxed: bool = False,
) -> Board:
    """All options that can serve something. `relaxed`: also work on days off, overstaying trays and older crop."""
    board = _Layout(demand, limits, settings, days, _lives(ways, standing, demand), relaxed=relaxed)
    for number, way in enumerate(ways.ways):
        board.add_way(number, way)
    for number, group in enumerate(standing):
        board.add_standing(number, group)
    return board.finish()


def _lives(ways: Ways, standing: list[Standing], demand: dict[str, CropDemand]) -> dict[str, int]:
    recipes = [way.recipe for way in ways.ways] + [group.recipe for group in standing]
    return {
        crop: min((recipe.cold_room_days for recipe in recipes if recipe.crop == crop), default=0) for crop in demand
    }


class _Layout:
    """Collects the options block by block."""

    def __init__(
        self,
        demand: dict[str, CropDemand],
        limits: Limits,
        settings: FarmSettings,
        days: Days,
        life: dict[str, int],
        *,
        relaxed: bool,
    ) -> None:
        self.demand, self.limits, self.settings, self.days = demand, limits, settings, days
        self.life, self.relaxed = life, relaxed
        self.crops, self.uses, self.count = list(demand), Uses(), 0
        self.looks = len(settings.rounds)
        self.blocks: list[tuple[Floats | Ints, ...]] = []

    def add_way(self, number: int, way: Way) -> None:
        """Every day to sow a way that can serve something."""
        demand = self.demand[way.recipe.crop]
        for how, block in ((CUT, self._new_cuts(way, demand)), (LIVE, self._new_live(way, demand))):
            starts = block.sow[:, None] + np.array(way.starts, dtype=np.int64)[None, :]
            columns = self._append(
                block,
                way.recipe.crop,
                how=how,
                way=number,
                grams=(way.grams, way.likely),
                seed_g=way.seed_g,
                fixed=way.fixed_cost(self.limits.pools),
                window=way.recipe.cut_window_days,
                growth=way.recipe.growth_a_day,
            )
            life = Life(way.recipe, way.recipe.stages, starts, block.leave, how)
            charge(self.uses, columns, life, self.limits, self.days, self.looks)

    def add_standing(self, number: int, group: Standing) -> None:
        """Every way for a group of standing trays to leave; throwing away at the end is always one."""
        demand = self.demand.get(group.recipe.crop)
        blocks = [(DISCARD, self._thrown(group))]
        if demand is not None:
            blocks += [(CUT, self._standing_cuts(group, demand)), (LIVE, self._standing_live(group, demand))]
        for how, block in blocks:
            starts = np.repeat(np.array([group.starts], dtype=np.int64), len(block.leave), axis=0)
            columns = self._append(
                block,
                group.recipe.crop,
                how=how,
                standing=number,
                grams=(group.grams, group.likely),
                window=group.last - group.ready,
                growth=group.recipe.growth_a_day,
            )
            life = Life(group.recipe, group.stages, starts, block.leave, how)
            charge(self.uses, columns, life, self.limits, self.days, self.looks, dict(group.held))

    def finish(self) -> Board:
        """The options with what each costs."""
        parts = [np.concatenate([block[part] for block in self.blocks]) for part in range(14)] if self.blocks else None
        empty = [np.zeros(0, dtype=float if part in (7, 8, 9, 12, 13) else np.int64) for part in range(14)]
        options = Options(*(parts or empty))
        money = self.settings.money
        hands = self.uses.totals((HANDS, OFF), self.count) * money.wage_h / 60
        light = self.uses.totals((LIT,), self.count) * self.limits.light_kwh() * money.energy_kwh
        early = FRESHER * (self.days.count - options.leave) * (options.how != DISCARD)
        return Board(options._replace(cost=options.cost + hands + light + early), self.uses, self.crops, self.life)

    def _append(
        self,
        block: _Block,
        crop: str,
        *,
        how: int,
        window: int,
        growth: float,
        grams: tuple[float, float],
        way: int = -1,
        standing: int = -1,
        seed_g: float = 0.0,
        fixed: float = 0.0,
    ) -> Ints:
        count = len(block.leave)
        grown = (1 + growth) ** np.minimum(block.waited, window) * (how == CUT)
        number = self.crops.index(crop) if crop in self.demand else -1
        full = np.full
        self.blocks.append(
            (
                full(count, way),
                full(count, standing),
                full(count, number),
                block.sow,
                block.leave,
                full(count, how),
                np.maximum(block.waited - window, 0),
                grown * grams[0],
                grown * grams[1],
                full(count, seed_g),
                block.first_due,
                block.last_due,
                block.upper,
                full(count, fixed),
            )
        )
        self.count += count
        return np.arange(self.count - count, self.count, dtype=np.int64)

    def _worked(self, day: Ints) -> Ints:
        """Which of these days sowing or cutting may fall on."""
        inside = (day >= 0) & (day < self.days.count)
        return np.flatnonzero(inside & (self.relaxed | self.days.open[np.clip(day, 0, self.days.count - 1)]))

    def _new_cuts(self, way: Way, demand: CropDemand) -> _Block:
        longest = way.recipe.cut_window_days + (STRETCH if self.relaxed else 0)
        waits = np.arange(longest + 1)
        sow = np.repeat(self._worked(np.arange(self.days.count)), len(waits))
        waited = np.tile(waits, len(sow) // len(waits))
        return self._cuts(sow, sow + way.days + waited, waited, demand, way.recipe.crop, way.grams)

    def _standing_cuts(self, group: Standing, demand: CropDemand) -> _Block:
        first = group.ready
        leave = np.arange(first, min(self.days.count, group.last + 1 + (STRETCH if self.relaxed else 0)))
        block = self._cuts(np.zeros_like(leave), leave, leave - first, demand, group.recipe.crop, group.grams)
        return block._replace(upper=np.full(len(block.leave), float(len(group.trays))))

    def _cuts(self, sow: Ints, leave: Ints, waited: Ints, demand: CropDemand, crop: str, grams: float) -> _Block:
        """Keep the cuts that can serve a due day while the crop keeps; no more trays than those days could take."""
        keep = self._worked(leave)
        sow, leave, waited = sow[keep], leave[keep], waited[keep]
        life = self.life[crop]
        first = np.searchsorted(demand.days, leave, side="left")
        last = np.searchsorted(demand.days, leave + life, side="right") - 1
        farthest = np.searchsorted(demand.days, leave + life + STRETCH * self.relaxed, side="right") - 1
        serves = np.flatnonzero((farthest >= first) & (grams > 0))
        wanted = demand.between(first[serves], farthest[serves])
        upper = np.ceil(wanted / grams - 1e-9) if grams > 0 else np.zeros(len(serves))
        return _Block(sow[serves], leave[serves], waited[serves], first[serves], last[serves], upper)

    def _new_live(self, way: Way, demand: CropDemand) -> _Block:
        found = [
            (sow, leave, due)
            for due in demand.live
            for leave in self._live_days(due)
            for sow in range(max(0, due - way.days - way.recipe.cut_window_days), leave - way.days + 1)
            if self.relaxed or self.days.open[sow]
        ]
        return self._live(found, way.days, demand)

    def _standing_live(self, group: Standing, demand: CropDemand) -> _Block:
        found = [
            (0, leave, due)
            for due in demand.live
            for leave in self._live_days(due)
            if group.ready <= leave and due <= group.last
        ]
        return self._live(found, group.ready, demand)

    def _live(self, found: list[tuple[int, int, int]], ready: int, demand: CropDemand) -> _Block:
        table = np.array(found, dtype=np.int64).reshape(-1, 3)
        upper = np.array([demand.live[due] for _, _, due in found])
        return _Block(table[:, 0], table[:, 1], table[:, 1] - table[:, 0] - ready, table[:, 2], table[:, 2], upper)

    def _live_days(self, due: int) -> list[int]:
        """Days a live tray due on a day may leave: that day, or the last working day before it."""
        worked = self.days.last_open(due)
        return [day for day in {worked, due if self.relaxed else worked} if day >= 0]

    def _thrown(self, group: Standing) -> _Block:
        leave = np.array([min(group.last, self.days.count)], dtype=np.int64)
        none = np.full(1, -1, dtype=np.int64)
        return _Block(
            np.zeros(1, dtype=np.int64), leave, leave - group.ready, none, none, np.full(1, float(len(group.trays)))
        )
