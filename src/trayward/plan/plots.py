"""The choices of each crop, in every scenario: how many trays to sow on which day and how long they may stand.

A plot is one crop with its due days, its wants and its choices. Of each choice it says, scenario by scenario, from
which due day on and up to which a tray can serve, what it weighs, and which days of which limits it takes up.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from trayward.farm.recipes import KitNeed, Recipe, Stage, wear_of
from trayward.farm.settings import FarmSettings
from trayward.plan.build import Stock, Task
from trayward.plan.days import Floats, Ints
from trayward.plan.demand import CropDemand
from trayward.plan.futures import Futures, SownFuture, StoodFuture
from trayward.plan.limits import DARK, HANDS, LIT, OFF, Limits, dry_days
from trayward.plan.seed import SeedStock
from trayward.plan.uses import CUT, DISCARD, LEAST_OFF, LIVE
from trayward.plan.ways import Way

Halves = NDArray[np.float32]

RARELY = 0.1
"""A sowing that would serve anybody in a smaller share of scenarios is no choice. [-]"""
AT_ONCE = 0
"""How long trays stand ready that are thrown away today; what is thrown away in its time stands longer. [d]"""
LET_GO = 1e-3
"""Between plans worth the same, trays are let go later rather than sooner. [currency]"""


class Choices(NamedTuple):
    """One column a choice (n), one row a scenario (s)."""

    way: Ints
    """Number of the way to grow (n,); -1 for standing trays."""
    group: Ints
    """Number of the group of standing trays (n,); -1 for trays to be sown."""
    sow: Ints
    stand: Ints
    """Days a ready tray may stand before it is cut (n,): a standing one just so long, others till they are first needed
    and then at the latest. One more than the window: the first due day is passed over."""
    how: Ints
    due: Ints
    """Number of the live due day (n,); -1 for trays to be cut."""
    upper: Floats
    cost: Floats
    """Of one tray, the mean over scenarios (n,). [currency]"""
    seed_g: Floats
    grams: Floats
    """When it is cut (s, n). [g]"""
    first: Ints
    """Number of the first due day it can serve (s, n)."""
    last: Ints
    """Number of the last; before the first where it serves none (s, n)."""
    leave: Ints
    """The day it leaves its spot: when it is first needed, or can stand no longer (s, n)."""
    ready: Ints


class Plot(NamedTuple):
    """One crop."""

    crop: str
    demand: CropDemand
    choices: Choices
    groups: list[tuple[int, Ints, float]]
    """Standing trays: the group's number, its choices, how many trays."""
    stock: list[Stock]
    seed: SeedStock | None
    uses: dict[int, Halves]
    """Limit -> how much of it each choice takes up, on each day, in each scenario that is counted (n, s, days)."""


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
    return [_Layout(task, ways, futures, settings, crop, counted).plot() for crop in crops]


def relieved(plots: Sequence[Plot], limits: Limits) -> tuple[list[Plot], Floats]:
    """
    Plots whose standing trays fit the spots and the kit, and by how much they do not, in the mean over scenarios.

    Trays that stand do so even where the book knows of too few spots or too little kit. They are counted as taking all
    there is, and no more: so none is thrown away for it, and nothing new is sown into it.

    Returns
    -------
    list of Plot, array
        The latter by limit and day. [the limit's unit]
    """
    press = np.zeros(limits.has.shape)
    tight = [limit for limit in range(len(limits.has)) if limit not in (HANDS, OFF)]
    found = [plot._replace(uses=dict(plot.uses)) for plot in plots]
    for limit in tight:
        need = sum((_standing_need(plot, limit) for plot in plots if limit in plot.uses), np.zeros((1, 1)))
        over = np.maximum(need - limits.has[limit], 0.0)
        if over.max() <= 1e-6:
            continue
        press[limit] = over.mean(axis=0)
        share = np.where(over > 0, limits.has[limit] / np.maximum(need, 1e-9), 1.0)
        for plot in found:
            if limit in plot.uses:
                stands = (plot.choices.way < 0)[:, None, None]
                plot.uses[limit] = np.where(stands, plot.uses[limit] * share, plot.uses[limit]).astype(np.float32)
    return found, press


def _standing_need(plot: Plot, limit: int) -> Floats:
    """What the standing trays somebody wants take up, each leaving as soon as it can (s, days)."""
    choices = plot.choices
    need = np.zeros(plot.uses[limit].shape[1:])
    for _, own, size in plot.groups:
        leaves = own[choices.how[own] != DISCARD]
        if len(leaves):
            need += size * plot.uses[limit][leaves[np.argmin(choices.stand[leaves])]]
    return need


class _Piece(NamedTuple):
    """Choices of one way or group that leave in one manner."""

    way: int
    group: int
    sow: Ints
    stand: int
    how: int
    due: Ints
    begins: Ints
    """(s, n, stages)"""
    leave: Ints
    """(s, n)"""
    grams: Floats
    first: Ints
    last: Ints
    upper: Floats


class _Layout:
    def __init__(
        self, task: Task, ways: Sequence[Way], futures: Futures, settings: FarmSettings, crop: str, counted: int
    ) -> None:
        self.task, self.ways, self.futures, self.settings, self.crop = task, ways, futures, settings, crop
        self.days, self.limits = task.days, task.limits
        none = CropDemand(days=np.zeros(0, dtype=np.int64), grams=np.zeros(0), live={})
        self.demand = task.demand.get(crop, none)
        self.live = sorted(self.demand.live)
        self.scenarios, self.counted = futures.scenarios, counted
        self.pieces: list[_Piece] = []

    def plot(self) -> Plot:
        for number, way in enumerate(self.ways):
            if way.recipe.crop == self.crop:
                self._sown(number, way.recipe, self.futures.sown[number])
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

    def _sown(self, number: int, recipe: Recipe, future: SownFuture) -> None:
        sow = np.flatnonzero(self.days.open[: self.days.count])
        begins, grams = future.begins[:, sow], future.grams[:, sow]
        for stand in sorted({0, recipe.cut_window_days}):
            self._cut(number, -1, recipe, sow, stand, begins, grams)
        if self._closest_dues() <= recipe.cut_window_days:
            self._cut(number, -1, recipe, sow, recipe.cut_window_days, begins, grams, skip=1)
        for place, due in enumerate(self.live):
            self._live(number, -1, recipe, sow, begins, place, due)

    def _cut(
        self,
        way: int,
        group: int,
        recipe: Recipe,
        sow: Ints,
        stand: int,
        begins: Ints,
        grams: Floats,
        *,
        exact: bool = False,
        skip: int = 0,
    ) -> None:
        """Cut when first needed, after so many days at the latest; or `exact`ly then; or passing over first dues."""
        ready = begins[..., -1]
        first_cut = self.days.next_open(np.maximum(ready, 0))
        in_window = first_cut <= ready + recipe.cut_window_days
        leave = np.maximum(first_cut, self.days.last_opens(np.maximum(ready + stand, 0)))
        dues = self.demand.days
        if exact:
            first_cut = leave
        first = np.searchsorted(dues, first_cut, side="left")
        if skip:
            later = np.minimum(first + skip, len(dues))
            first_cut = np.minimum(self._needed(later), leave)
            first = np.searchsorted(dues, first_cut, side="left")
        leave = np.clip(self._needed(first), first_cut, leave)
        waited = np.clip(leave - ready, 0, recipe.cut_window_days)
        weight = np.where(in_window, grams, 0.0) * (1 + recipe.growth_a_day) ** waited
        last = np.searchsorted(dues, leave + recipe.cold_room_days, side="right") - 1
        last = np.where(weight > 0, last, first - 1)
        keep = self._worth(first, last) if group < 0 else np.flatnonzero((first <= last).any(axis=0))
        upper = self._most(first[:, keep], last[:, keep], weight[:, keep])
        if group >= 0:
            upper = np.full(len(keep), float(len(self.futures.stood[group].trays)))
        none = np.full(len(keep), -1, dtype=np.int64)
        self.pieces.append(
            _Piece(way, group, sow[keep], stand + skip, CUT, none, begins[:, keep], leave[:, keep], weight[:, keep],
                   first[:, keep], last[:, keep], upper)
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

    def _live(self, way: int, group: int, recipe: Recipe, sow: Ints, begins: Ints, place: int, due: int) -> None:
        worked = self.days.last_open(due)
        if worked < 0:
            return
        ready = begins[..., -1]
        serves = (ready <= worked) & (due <= ready + recipe.cut_window_days)
        keep = np.flatnonzero(serves.mean(axis=0) >= (RARELY if group < 0 else 1e-9))
        if not len(keep):
            return
        leave = np.maximum(np.full_like(ready, worked), np.maximum(ready, 0))[:, keep]
        ones = np.where(serves, 1.0, 0.0)[:, keep]
        upper = np.full(len(keep), self.demand.live[due])
        spot = np.zeros_like(leave)
        self.pieces.append(
            _Piece(way, group, sow[keep], recipe.cut_window_days, LIVE, np.full(len(keep), place, dtype=np.int64),
                   begins[:, keep], leave, ones, spot, spot - 1, upper)
        )  # fmt: skip

    # Standing trays --------------------------------------------------------------------------------------------------

    def _stood(self, number: int, group: StoodFuture) -> None:
        begins, grams = group.begins[:, None, :], group.grams[:, None]
        sow, recipe = np.zeros(1, dtype=np.int64), group.recipe
        for stand in range(recipe.cut_window_days + 1):
            self._cut(-1, number, recipe, sow, stand, begins, grams, exact=True)
        if len(group.stages) > 1 and recipe.cut_window_days:
            self._cut(-1, number, recipe, sow, recipe.cut_window_days, begins, grams)
        for place, due in enumerate(self.live):
            self._live(-1, number, recipe, sow, begins, place, due)
        size, nothing = np.array([float(len(group.trays))]), np.zeros((len(grams), 1))
        today = np.full((len(grams), 1), int(self.days.next_open(np.zeros(1, dtype=np.int64))[0]), dtype=np.int64)
        late = np.maximum(begins[..., -1] + recipe.cut_window_days, today)
        spot, none = np.zeros_like(today), np.full(1, -1, dtype=np.int64)
        for stand, leave in ((AT_ONCE, today), (max(recipe.cut_window_days, 1), late)):
            self.pieces.append(
                _Piece(-1, number, sow, stand, DISCARD, none, begins, leave, nothing, spot, spot - 1, size)
            )

    # All together ----------------------------------------------------------------------------------------------------

    def _joined(self) -> tuple[Choices, dict[int, Halves]]:
        pieces, empty = self.pieces, not self.pieces
        if empty:
            none, wide = np.zeros(0, dtype=np.int64), np.zeros((self.scenarios, 0))
            flat = np.zeros(0)
            numbers = wide.astype(np.int64)
            return Choices(none, none, none, none, none, none, flat, flat, flat, wide, numbers, numbers, numbers,
                           numbers), {}  # fmt: skip
        sizes = [len(piece.upper) for piece in pieces]
        uses = _uses(self, pieces)
        choices = Choices(
            way=np.repeat([piece.way for piece in pieces], sizes),
            group=np.repeat([piece.group for piece in pieces], sizes),
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
        fixed = [way.seed_cost + way.recipe.medium.cost + wear_of(way.recipe.kit, pools) for way in self.ways]
        cost = np.array([*fixed, 0.0])[choices.way]
        for limit in (HANDS, OFF):
            if limit in uses:
                cost = cost + uses[limit].sum(axis=(1, 2)) / self.counted * money.wage_h / 60
        if LIT in uses:
            kwh = self.limits.light_kwh() * money.energy_kwh
            cost = cost + uses[LIT].sum(axis=(1, 2)) / self.counted * kwh
        whole: Floats = cost
        # What grows is not thrown away to spare work and light, for an order may still come; only to make room.
        let_go = np.flatnonzero(choices.how == DISCARD)
        soon, late = let_go[choices.stand[let_go] == AT_ONCE], let_go[choices.stand[let_go] != AT_ONCE]
        whole[soon] = np.maximum(cost[soon], cost[late]) + max(LET_GO, self.settings.calm)
        return whole


# What choices take up -------------------------------------------------------------------------------------------------


class _Spans:
    """Spans of days of one limit, for all choices and scenarios; put together only at the end, all at once."""

    def __init__(self, count: int, scenarios: int, days: int) -> None:
        self.shape, self.days = (count, scenarios), days
        self.spans: list[tuple[int, Ints, Ints, float]] = []

    def add(self, at: int, first: Ints, until: Ints, amount: float) -> None:
        """From `first` to before `until` (s, n), for the choices from number `at` on."""
        self.spans.append((at, first, until, amount))

    def table(self) -> Halves:
        """(n, s, days), as the sums of steps up and down."""
        count, scenarios = self.shape
        sizes = [first.shape[1] for _, first, _, _ in self.spans]
        choice = np.concatenate(
            [np.arange(span[0], span[0] + size) for span, size in zip(self.spans, sizes, strict=True)]
        )
        amount = np.broadcast_to(np.repeat([span[3] for span in self.spans], sizes), (scenarios, len(choice))).ravel()
        first = np.clip(np.concatenate([span[1] for span in self.spans], axis=1), 0, self.days)
        until = np.maximum(first, np.clip(np.concatenate([span[2] for span in self.spans], axis=1), 0, self.days))
        base = (choice[None, :] * scenarios + np.arange(scenarios)[:, None]) * (self.days + 1)
        size = count * scenarios * (self.days + 1)
        steps = np.bincount((base + first).ravel(), weights=amount, minlength=size)
        steps -= np.bincount((base + until).ravel(), weights=amount, minlength=size)
        table = steps.reshape(count, scenarios, self.days + 1).cumsum(axis=2)[:, :, : self.days]
        return table.astype(np.float32)


class _Taking:
    """Collects what pieces take up."""

    def __init__(self, layout: _Layout, count: int) -> None:
        self.layout, self.count = layout, count
        self.spans: dict[int, _Spans] = {}
        self.looks = len(layout.settings.rounds)

    def add(self, limit: int, at: int, first: Ints, until: Ints, amount: float) -> None:
        if amount > 0:
            size = self.layout.counted, self.layout.days.count
            self.spans.setdefault(limit, _Spans(self.count, *size)).add(at, first, until, amount)

    def on_day(self, at: int, day: Ints, minutes: float) -> None:
        """Work that only a working day may hold; on another it counts against the days off."""
        days = self.layout.days
        worked = days.open[np.clip(day, 0, len(days.open) - 1)]
        far = np.full_like(day, days.count)
        self.add(HANDS, at, np.where(worked, day, far), np.where(worked, day + 1, far), minutes)
        if not worked.all():
            self.add(OFF, at, np.where(worked, far, day), np.where(worked, far, day + 1), max(minutes, LEAST_OFF))

    def piece(self, at: int, piece: _Piece) -> None:
        layout = self.layout
        group = layout.futures.stood[piece.group] if piece.group >= 0 else None
        recipe = group.recipe if group is not None else layout.ways[piece.way].recipe
        stages = group.stages if group is not None else recipe.stages
        self._spots(at, piece, stages)
        self._hands(at, piece, recipe, stages, new=group is None)
        if group is None:
            for need in recipe.kit:
                self._kit(at, piece, stages, need, need.each)
        else:
            self._held(at, piece, recipe, stages, dict(group.held))

    def _end(self, piece: _Piece, stage: int) -> Ints:
        last = piece.begins.shape[-1] - 1
        return piece.leave if stage == last else np.minimum(piece.begins[..., stage + 1], piece.leave)

    def _spots(self, at: int, piece: _Piece, stages: Sequence[Stage]) -> None:
        for number, stage in enumerate(stages):
            if stage.ground != "bench":
                share = self.layout.limits.position_share(stage.ground, stage.stack)
                limit = DARK if stage.ground == "dark" else LIT
                self.add(limit, at, piece.begins[..., number], self._end(piece, number), share)

    def _hands(self, at: int, piece: _Piece, recipe: Recipe, stages: Sequence[Stage], *, new: bool) -> None:
        first = piece.begins[..., 0]
        self.add(HANDS, at, first, piece.leave, recipe.minutes_look * self.looks)
        for number, stage in enumerate(stages):
            if stage.minutes and (new or number):
                self.add(HANDS, at, piece.begins[..., number], piece.begins[..., number] + 1, stage.minutes)
        if new:
            self.on_day(at, first, recipe.minutes_sow)
        if piece.how == CUT:
            self.on_day(at, piece.leave, recipe.minutes_cut + recipe.minutes_wash)
        elif piece.how == DISCARD:
            self.on_day(at, self.layout.days.next_open(piece.leave), recipe.minutes_wash)

    def _kit(
        self, at: int, piece: _Piece, stages: Sequence[Stage], need: KitNeed, each: int, *, now: bool = False
    ) -> None:
        limits, days = self.layout.limits, self.layout.days
        numbers = [count for count, stage in enumerate(stages) if not need.stages or stage.name in need.stages]
        if not numbers or need.pool not in limits.pool_number or each <= 0:
            return
        pool, last = limits.pools[need.pool], numbers[-1]
        first = np.zeros_like(piece.leave) if now else piece.begins[..., numbers[0]]
        if piece.how == LIVE and last == len(stages) - 1:
            until = np.full_like(piece.leave, days.count)
        else:
            washed = days.next_open(self._end(piece, last))
            until = washed + dry_days(pool)
            if pool.minutes_wash:
                self.add(HANDS, at, washed, washed + 1, each * pool.minutes_wash)
        self.add(limits.pool_number[need.pool], at, first, until, float(each))

    def _held(self, at: int, piece: _Piece, recipe: Recipe, stages: Sequence[Stage], left: dict[str, int]) -> None:
        """Kit of standing trays: what they hold now as long as the recipe says, and what later stages will need."""
        present = stages[0].name
        for need in recipe.kit:
            if not need.stages or present in need.stages:
                each = min(left.get(need.pool, 0), need.each)
                left[need.pool] = left.get(need.pool, 0) - each
                self._kit(at, piece, stages, need, each, now=True)
            else:
                self._kit(at, piece, stages, need, need.each)
        for pool, count in left.items():
            self._kit(at, piece, stages, KitNeed(pool=pool, each=count), count, now=True)


def _uses(layout: _Layout, pieces: Sequence[_Piece]) -> dict[int, Halves]:
    taking = _Taking(layout, sum(len(piece.upper) for piece in pieces))
    at = 0
    some = slice(0, layout.counted)
    for piece in pieces:
        taking.piece(at, piece._replace(begins=piece.begins[some], leave=piece.leave[some]))
        at += len(piece.upper)
    return {limit: spans.table() for limit, spans in taking.spans.items()}
