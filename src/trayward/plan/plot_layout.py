"""The plots laid out: every choice of a crop that could serve somebody, in every scenario, and what a tray costs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings
from trayward.plan.build import Task
from trayward.plan.days import Floats, Ints
from trayward.plan.demand import CropDemand
from trayward.plan.futures import Futures, SownFuture, StoodFuture
from trayward.plan.limits import HANDS, LIT, OFF
from trayward.plan.plot_uses import Growing, Piece, taken_up
from trayward.plan.plots import CLEARED, Choices, Halves, Plot
from trayward.plan.uses import CUT, DISCARD, LIVE
from trayward.plan.ways import Way

RARELY = 0.1
"""A sowing that would serve anybody in a smaller share of scenarios is no choice. [-]"""
LATER = 1e-3
"""Between plans worth the same, trays are sown in the morning. [currency]"""
LET_GO = 1e-3
"""Between plans worth the same, trays are let go later rather than sooner. [currency]"""


def lay_out_plots(
    task: Task,
    ways: Sequence[Way],
    futures: Futures,
    settings: FarmSettings,
    crops: Sequence[str],
    counted: int | None = None,
) -> list[Plot]:
    """
    The plots of the wanted crops, and of every crop that stands.

    Parameters
    ----------
    counted : int, optional
        What choices take up is worked out for so many of the scenarios, the first; for all, if not said.
    """
    counted = futures.scenarios if counted is None else min(counted, futures.scenarios)
    growing = Growing(task, ways, futures, settings, counted)
    return [_Layout(growing, crop).plot() for crop in crops]


class _Lives(NamedTuple):
    """How trays of a way or group go on: scenarios (s) of each day they may be sown on (n)."""

    way: int
    group: int
    recipe: Recipe
    evening: bool
    sow: Ints
    begins: Ints
    late: Ints
    grams: Floats
    since: Ints


class _Layout:
    """Collects the choices of one crop, piece by piece."""

    def __init__(self, growing: Growing, crop: str) -> None:
        self.growing, self.crop = growing, crop
        self.task, self.ways, self.futures, self.settings, self.counted = growing
        self.days, self.limits = self.task.days, self.task.limits
        none = CropDemand(days=np.zeros(0, dtype=np.int64), grams=np.zeros(0), live={})
        self.demand = self.task.demand.get(crop, none)
        self.live = sorted(self.demand.live)
        self.scenarios = self.futures.scenarios
        self.pieces: list[Piece] = []

    def plot(self) -> Plot:
        for number, way in enumerate(self.ways):
            if way.recipe.crop == self.crop:
                self._sown(number, way.recipe, self.futures.sown[number], evening=False)
                late = self.futures.evening[number]
                if late is not None:
                    self._sown(number, way.recipe, late, evening=True)
        for number, group in enumerate(self.futures.stood):
            if group.recipe.crop == self.crop:
                self._stood(number, group)
        choices, uses = self._joined()
        groups = [
            (int(group), np.flatnonzero(choices.group == group), float(len(self.futures.stood[group].trays)))
            for group in np.unique(choices.group[choices.group >= 0])
        ]
        stock = [item for item in self.task.stock if item.crop == self.crop]
        return Plot(self.crop, self.demand, choices, groups, stock, self.task.seed.get(self.crop), uses)

    # Trays to be sown ------------------------------------------------------------------------------------------------

    def _sown(self, number: int, recipe: Recipe, future: SownFuture, *, evening: bool) -> None:
        sow = np.flatnonzero(self.days.open[: self.days.count])
        begins, late = future.begins[:, sow], future.late[:, sow]
        of = _Lives(number, -1, recipe, evening, sow, begins, late, future.grams[:, sow], future.since[:, sow])
        for stand in sorted({0, recipe.cut_window_days}):
            self._cut(of, stand)
        if self._closest_dues() <= recipe.cut_window_days:
            self._cut(of, recipe.cut_window_days, skip=1)
        for place, due in enumerate(self.live):
            self._live(of, place, due)

    def _cut(self, of: _Lives, stand: int, *, exact: bool = False, skip: int = 0) -> None:
        """Cut when first needed, after so many days at the latest; or `exact`ly then; or passing over first dues."""
        recipe, ready = of.recipe, of.begins[..., -1]
        first_cut = self.days.next_open(np.maximum(ready, 0))
        end = of.since + recipe.cut_window_days
        in_window = first_cut <= end
        latest = np.minimum(ready + stand, np.maximum(end, 0))
        leave = np.maximum(first_cut, self.days.last_opens(np.maximum(latest, 0)))
        dues = self.demand.days
        if exact:
            first_cut = leave
        first = np.searchsorted(dues, first_cut, side="left")
        if skip:
            later = np.minimum(first + skip, len(dues))
            first_cut = np.minimum(self._needed(later), leave)
            first = np.searchsorted(dues, first_cut, side="left")
        leave = np.clip(self._needed(first), first_cut, leave)
        waited = np.clip(leave - of.since, 0, recipe.cut_window_days)
        weight = np.where(in_window, of.grams, 0.0) * (1 + recipe.growth_a_day) ** waited
        last = np.searchsorted(dues, leave + recipe.cold_room_days, side="right") - 1
        last = np.where(weight > 0, last, first - 1)
        keep = self._worth(first, last) if of.group < 0 else np.flatnonzero((first <= last).any(axis=0))
        upper = self._most(first[:, keep], last[:, keep], weight[:, keep])
        if of.group >= 0:
            upper = np.full(len(keep), float(len(self.futures.stood[of.group].trays)))
        none = np.full(len(keep), -1, dtype=np.int64)
        self.pieces.append(
            Piece(of.way, of.group, of.evening, of.sow[keep], stand + skip, CUT, none, of.begins[:, keep],
                   of.late[:, keep], leave[:, keep], weight[:, keep], first[:, keep], last[:, keep], upper)
        )  # fmt: skip

    def _closest_dues(self) -> int:
        """Days between the two due days that lie closest."""
        return int(np.diff(self.demand.days).min(initial=10**6))

    def _needed(self, first: Ints) -> Ints:
        """The working day on which crop is cut for the first due day it can serve; far ahead where there is none.

        A tray is cut whole: what is left of it keeps from then on, however long it could have stood.
        """
        dues = np.append(self.demand.days, len(self.days.open) - 1)
        return self.days.last_opens(dues[first])

    def _worth(self, first: Ints, last: Ints) -> Ints:
        """The choices that serve anybody often enough, where one that stands longer serves more."""
        serves = (first <= last).mean(axis=0)
        return np.flatnonzero(serves >= RARELY)

    def _most(self, first: Ints, last: Ints, grams: Floats) -> Floats:
        """No more trays than the due days they can serve could take, were they as light as they ever are."""
        if not grams.size:
            return np.zeros(grams.shape[1])
        wanted = self.demand.between(np.maximum(first, 0), np.maximum(last, -1)) * (first <= last)
        light = np.where(grams > 0, grams, np.inf)
        most: Floats = np.ceil((wanted / light).max(axis=0) - 1e-9)
        return most

    def _live(self, of: _Lives, place: int, due: int) -> None:
        worked = self.days.last_open(due)
        if worked < 0:
            return
        ready = of.begins[..., -1]
        serves = (ready <= worked) & (due <= of.since + of.recipe.cut_window_days)
        keep = np.flatnonzero(serves.mean(axis=0) >= (RARELY if of.group < 0 else 1e-9))
        if not len(keep):
            return
        leave = np.maximum(np.full_like(ready, worked), np.maximum(ready, 0))[:, keep]
        ones = np.where(serves, 1.0, 0.0)[:, keep]
        upper = np.full(len(keep), self.demand.live[due])
        spot = np.zeros_like(leave)
        self.pieces.append(
            Piece(of.way, of.group, of.evening, of.sow[keep], of.recipe.cut_window_days, LIVE,
                   np.full(len(keep), place, dtype=np.int64), of.begins[:, keep], of.late[:, keep], leave, ones,
                   spot, spot - 1, upper)
        )  # fmt: skip

    # Standing trays --------------------------------------------------------------------------------------------------

    def _stood(self, number: int, group: StoodFuture) -> None:
        recipe, sow = group.recipe, np.zeros(1, dtype=np.int64)
        begins, late = group.begins[:, None], group.late[:, None]
        grams, since = group.grams[:, None], group.since[:, None]
        of = _Lives(-1, number, recipe, False, sow, begins, late, grams, since)
        for stand in range(recipe.cut_window_days + 1):
            self._cut(of, stand, exact=True)
        if len(group.stages) > 1 and recipe.cut_window_days:
            self._cut(of, recipe.cut_window_days)
        for place, due in enumerate(self.live):
            self._live(of, place, due)
        size, nothing = np.array([float(len(group.trays))]), np.zeros((len(grams), 1))
        today = np.full((len(grams), 1), int(self.days.next_open(np.zeros(1, dtype=np.int64))[0]), dtype=np.int64)
        gone = np.maximum(since + recipe.cut_window_days, today)
        spot, none = np.zeros_like(today), np.full(1, -1, dtype=np.int64)
        for stand, leave in ((CLEARED, today), (max(recipe.cut_window_days, 1), gone)):
            self.pieces.append(
                Piece(-1, number, False, sow, stand, DISCARD, none, begins, late, leave, nothing, spot, spot - 1, size)
            )

    # All together ----------------------------------------------------------------------------------------------------

    def _joined(self) -> tuple[Choices, dict[int, Halves]]:
        pieces, empty = self.pieces, not self.pieces
        if empty:
            none, wide = np.zeros(0, dtype=np.int64), np.zeros((self.scenarios, 0))
            flat, never = np.zeros(0), np.zeros(0, dtype=bool)
            numbers = wide.astype(np.int64)
            return Choices(none, none, never, none, none, none, none, flat, flat, flat, wide, numbers, numbers,
                           numbers, numbers), {}  # fmt: skip
        sizes = [len(piece.upper) for piece in pieces]
        uses = taken_up(self.growing, pieces)
        choices = Choices(
            way=np.repeat([piece.way for piece in pieces], sizes),
            group=np.repeat([piece.group for piece in pieces], sizes),
            evening=np.repeat([piece.evening for piece in pieces], sizes),
            sow=np.concatenate([piece.sow for piece in pieces]),
            stand=np.repeat([piece.stand for piece in pieces], sizes),
            how=np.repeat([piece.how for piece in pieces], sizes),
            due=np.concatenate([piece.due for piece in pieces]),
            upper=np.concatenate([piece.upper for piece in pieces]),
            cost=np.zeros(sum(sizes)),
            seed_g=np.repeat([self.ways[p.way].seed_g if p.way >= 0 else 0.0 for p in pieces], sizes),
            grams=np.concatenate([piece.grams for piece in pieces], axis=1),
            first=np.concatenate([piece.first for piece in pieces], axis=1),
            last=np.concatenate([piece.last for piece in pieces], axis=1),
            leave=np.concatenate([piece.leave for piece in pieces], axis=1),
            ready=np.concatenate([piece.begins[..., -1] for piece in pieces], axis=1),
        )
        return choices._replace(cost=self._costs(choices, uses)), uses

    def _costs(self, choices: Choices, uses: dict[int, Halves]) -> Floats:
        money, pools = self.settings.money, self.limits.pools
        fixed = [way.fixed_cost(pools) for way in self.ways]
        cost = np.array([*fixed, 0.0])[choices.way]
        for limit in (HANDS, OFF):
            if limit in uses:
                cost = cost + uses[limit].sum(axis=(1, 2)) / self.counted * money.wage_h / 60
        if LIT in uses:
            kwh = self.limits.light_kwh() * money.energy_kwh
            cost = cost + uses[LIT].sum(axis=(1, 2)) / self.counted * kwh
        whole: Floats = cost + np.where(choices.evening, LATER, 0.0)
        # What grows is not thrown away to spare work and light, for an order may still come; only to make room.
        let_go = np.flatnonzero(choices.how == DISCARD)
        soon, late = let_go[choices.stand[let_go] == CLEARED], let_go[choices.stand[let_go] != CLEARED]
        whole[soon] = np.maximum(cost[soon], cost[late]) + max(LET_GO, self.settings.calm)
        return whole
