"""What a tray takes up and when: spans of days of each limit, from sowing to the kit being dry again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from trayward.farm.recipes import KitNeed, Recipe, Stage
from trayward.plan.days import Days, Floats, Ints
from trayward.plan.limits import DARK, HANDS, LIT, OFF, Limits, dry_days

CUT, LIVE, DISCARD = 0, 1, 2
"""How a tray leaves: cut, delivered live, or thrown away at the end of its window because nobody wants it."""


LEAST_OFF = 1.0
"""Work on a day off counts at least this much, even where a recipe names no time for it. [min]"""


class Uses:
    """Spans: option `column` takes `amount` of `limit` on each day from `first` to before `until`."""

    def __init__(self) -> None:
        self._spans: list[tuple[Ints, Ints, Ints, Ints, Floats]] = []

    def add(self, limit: Ints | int, column: Ints, first: Ints, until: Ints, amount: float) -> None:
        """Add one span for each of some options."""
        limits = np.broadcast_to(np.asarray(limit, dtype=np.int64), column.shape)
        self._spans.append((limits, column, first, np.maximum(until, first), np.full(len(column), amount)))

    def joined(self) -> tuple[Ints, Ints, Ints, Ints, Floats]:
        """All spans: limit, column, first, until, amount."""
        if not self._spans:
            none = np.zeros(0, dtype=np.int64)
            return none, none, none, none, np.zeros(0)
        parts = [np.concatenate([span[part] for span in self._spans]) for part in range(5)]
        return parts[0], parts[1], parts[2], parts[3], parts[4]

    def by_day(self, count: int) -> tuple[Ints, Ints, Ints, Floats]:
        """Limit, day, column and amount, one a day of days 0 to `count` - 1."""
        limit, column, first, until, amount = self.joined()
        first, until = np.clip(first, 0, count), np.clip(until, 0, count)
        length = until - first
        spread = np.repeat(np.arange(len(length)), length)
        day = np.arange(length.sum()) - np.repeat(np.cumsum(length) - length, length) + first[spread]
        return limit[spread], day, column[spread], amount[spread]

    def totals(self, limits: Sequence[int], columns: int) -> Floats:
        """Amount x days each option takes of these limits together."""
        limit, column, first, until, amount = self.joined()
        wanted = np.isin(limit, limits)
        weights = (amount * (until - first))[wanted]
        return np.bincount(column[wanted], weights=weights, minlength=columns).astype(float)


class Life:
    """Options of one recipe: the stages they go through, when each begins (a row an option), and when they leave."""

    def __init__(self, recipe: Recipe, stages: Sequence[Stage], starts: Ints, leave: Ints, how: int) -> None:
        self.recipe, self.stages, self.starts, self.leave, self.how = recipe, stages, starts, leave, how

    def begin(self, stage: int) -> Ints:
        """The day a stage begins."""
        return self.starts[:, stage]

    def end(self, stage: int) -> Ints:
        """The day a stage ends, the tray having moved on."""
        return self.leave if stage == len(self.stages) - 1 else self.starts[:, stage + 1]


def charge(
    uses: Uses, columns: Ints, life: Life, limits: Limits, days: Days, looks: int, held: Mapping[str, int] | None = None
) -> None:
    """Add all that options take up. `held`: the kit trays standing now hold; None for trays still to be sown."""
    _charge_spots(uses, columns, life, limits)
    _charge_hands(uses, columns, life, days, looks, new=held is None)
    if held is None:
        for need in life.recipe.kit:
            _charge_kit(uses, columns, life, limits, days, need, need.each)
    else:
        _charge_held(uses, columns, life, limits, days, held)


def _charge_spots(uses: Uses, columns: Ints, life: Life, limits: Limits) -> None:
    """A tray stands where it is for the night: on the day it is cut or moved its spot is free again."""
    for number, stage in enumerate(life.stages):
        if stage.ground != "bench":
            share = limits.position_share(stage.ground, stage.stack)
            limit = DARK if stage.ground == "dark" else LIT
            uses.add(limit, columns, life.begin(number), life.end(number), share)


def _charge_hands(uses: Uses, columns: Ints, life: Life, days: Days, looks: int, *, new: bool) -> None:
    recipe, first = life.recipe, life.begin(0)
    uses.add(HANDS, columns, first, life.leave, recipe.minutes_look * looks)
    for number, stage in enumerate(life.stages):
        if stage.minutes and (new or number):
            uses.add(HANDS, columns, life.begin(number), life.begin(number) + 1, stage.minutes)
    if new:
        _on_day(uses, columns, first, days, recipe.minutes_sow)
    if life.how == CUT:
        _on_day(uses, columns, life.leave, days, recipe.minutes_cut + recipe.minutes_wash)
    elif life.how == DISCARD:
        _on_day(uses, columns, days.next_open(life.leave), days, recipe.minutes_wash)


def _on_day(uses: Uses, columns: Ints, day: Ints, days: Days, minutes: float) -> None:
    """Work that only a working day may hold; on another it counts against the days off."""
    worked = days.open[np.minimum(day, len(days.open) - 1)]
    uses.add(HANDS, columns[worked], day[worked], day[worked] + 1, minutes)
    uses.add(OFF, columns[~worked], day[~worked], day[~worked] + 1, max(minutes, LEAST_OFF))


def _charge_kit(
    uses: Uses, columns: Ints, life: Life, limits: Limits, days: Days, need: KitNeed, each: int, *, now: bool = False
) -> None:
    """Kit is gone from the stage it is first needed in until it is let go, washed on a working day, and dry."""
    numbers = [count for count, stage in enumerate(life.stages) if not need.stages or stage.name in need.stages]
    if not numbers or need.pool not in limits.pool_number or each <= 0:
        return
    pool, last = limits.pools[need.pool], numbers[-1]
    first = np.zeros_like(life.leave) if now else life.begin(numbers[0])
    if life.how == LIVE and last == len(life.stages) - 1:
        until = np.full_like(life.leave, days.count)  # away until the customer brings it back
    else:
        washed = days.next_open(life.end(last))
        until = washed + dry_days(pool)
        if pool.minutes_wash:
            uses.add(HANDS, columns, washed, washed + 1, each * pool.minutes_wash)
    uses.add(limits.pool_number[need.pool], columns, first, until, float(each))


def _charge_held(uses: Uses, columns: Ints, life: Life, limits: Limits, days: Days, held: Mapping[str, int]) -> None:
    """Kit of standing trays: what they hold now as long as the recipe says, and what later stages will need."""
    left, present = dict(held), life.stages[0].name
    for need in life.recipe.kit:
        if not need.stages or present in need.stages:
            each = min(left.get(need.pool, 0), need.each)
            left[need.pool] = left.get(need.pool, 0) - each
            _charge_kit(uses, columns, life, limits, days, need, each, now=True)
        else:
            _charge_kit(uses, columns, life, limits, days, need, need.each)
    for pool, count in left.items():
        _charge_kit(uses, columns, life, limits, days, KitNeed(pool=pool, each=count), count, now=True)
