"""The limits of each day: floor positions in the dark and in the light, kit clean and dry, minutes of hands."""

from __future__ import annotations

import math
from datetime import datetime
from typing import NamedTuple

import numpy as np

from trayward.farm.calendar import day_start, local_day, rounds_of
from trayward.farm.kit import Pool, PoolState
from trayward.farm.places import Shelf, ShelfKind
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.plan.days import Days, Floats, Ints
from trayward.plan.seen import Clock, clock_of
from trayward.plan.supposed import swing_limits

DARK, LIT, HANDS, OFF, DARK_BY_DAY = 0, 1, 2, 3, 4
"""Numbers of the limits every farm has; kit pools follow.

Spots are counted in the evening, once all walks are done. What leaves the dark in the evening still stands there when
the morning's trays are sown, so the dark is counted by day, too: the same spots, under the same name. So is kit that
dries within the day: what is let go in the morning can be sown in that evening.
"""
OWN_NUMBERS = 5
DAYS_OFF = "days off"
SPOTS: dict[ShelfKind, str] = {"dark": "dark spots", "lit": "lit spots"}
"""What the floor positions of a kind of shelf are called as a limit."""


class Limits:
    """How much of each limit there is on each day of the plan; endless where it does not bind by nature."""

    def __init__(self, state: FarmState, settings: FarmSettings, days: Days, at: datetime) -> None:
        pools = list(state.kit.values())
        self.drying = Drying(clock_of(settings, at))
        quick = {kit.pool.name: kit for kit in pools if self.drying.within_the_day(kit.pool)}
        names = [*(kit.pool.name for kit in pools), *quick]
        self.names = [SPOTS["dark"], SPOTS["lit"], "hands", DAYS_OFF, SPOTS["dark"], *names]
        self.units = ["spots", "spots", "min", "min", "spots", *("" for _ in names)]
        self.pool_number = {kit.pool.name: OWN_NUMBERS + count for count, kit in enumerate(pools)}
        self.pools = {kit.pool.name: kit.pool for kit in pools}
        more = OWN_NUMBERS + len(pools)
        self.by_day = {DARK: DARK_BY_DAY} | {self.pool_number[name]: more + count for count, name in enumerate(quick)}
        """A limit that is counted twice a day, and its number by day."""
        self._shelves = {"dark": _shelves(state, "dark"), "lit": _shelves(state, "lit")}
        rows = [
            np.full(days.count, self.positions("dark")),
            np.full(days.count, self.positions("lit")),
            _hands(state, settings, days, at),
            np.where(days.open[: days.count], np.inf, 0.0),
            _by_day(np.full(days.count, self.positions("dark")), settings, at),
            *(_kit_free(state, kit, settings, days, at, by_night=kit.pool.name in quick) for kit in pools),
            *(_by_day(_kit_free(state, kit, settings, days, at), settings, at) for kit in quick.values()),
        ]
        self.has: Floats = np.vstack(rows)
        swing_limits(self.has, self.names, state, days)

    def positions(self, ground: str) -> float:
        """Floor positions there are in all on shelves of that kind."""
        return float(sum(shelf.spots for shelf in self._shelves[ground]))

    def position_share(self, ground: str, stack: int) -> float:
        """
        Share of a floor position a tray takes up, in a stage that stacks so many high.

        On shelves that stack alike it is 1 / min(stage's stack, shelf's stack); on unlike ones, the mean over them.
        """
        levels = sum(shelf.spots * min(stack, shelf.stack) for shelf in self._shelves[ground])
        return self.positions(ground) / levels if levels else 1.0

    def light_kwh(self) -> float:
        """Energy of one lit floor position in a day, the mean over the lit shelves. [kWh/d]"""
        used = sum(
            shelf.lamp.count * shelf.lamp.watts * shelf.lamp.hours / 1000
            for shelf in self._shelves["lit"]
            if shelf.lamp is not None
        )
        positions = self.positions("lit")
        return used / positions if positions else 0.0


class CleanAgain(NamedTuple):
    """The first day on which kit can be used again."""

    by_day: Ints
    """For the morning's sowing."""
    by_night: Ints
    """For the evening's."""


class Drying:
    """
    When kit that is washed can be used again, by the hours of a farm's day.

    It is washed with the morning's work, what gets dirty later with the evening's; what is dry by a sowing serves it.
    """

    def __init__(self, clock: Clock) -> None:
        self._day_h = 24 * (clock.evening - clock.sowing)
        """From the morning's washing to the evening's sowing. [h]"""

    def within_the_day(self, pool: Pool) -> bool:
        """Whether what is washed in the morning is dry by the evening's sowing."""
        return pool.dry_hours <= self._day_h

    def again(self, pool: Pool, washed: Ints, evening: Ints) -> CleanAgain:
        """What is washed on some days with the evening's work (1) or the morning's (0)."""
        dry = dry_days(pool)
        overnight = 1 + _whole_days(pool.dry_hours - (24 - self._day_h))
        within_day = _whole_days(pool.dry_hours - self._day_h)
        return CleanAgain(washed + np.where(evening, overnight, dry), washed + np.where(evening, dry, within_day))


def _by_day(has: Floats, settings: FarmSettings, at: datetime) -> Floats:
    """Spots and kit when the morning's trays are sown; endless today once the evening's walk has begun."""
    if _evening_begun(settings, at):
        has[0] = np.inf
    return has


def _next_washing(settings: FarmSettings, days: Days, at: datetime) -> int:
    """The day on which what is dirty now is washed: today, if it is a working day whose last walk is still to come."""
    return int(days.next_open(np.array([int(_evening_begun(settings, at))]))[0])


def _evening_begun(settings: FarmSettings, at: datetime) -> bool:
    """Whether the last walk of the day has begun."""
    return at >= rounds_of(local_day(at, settings), settings)[-1][0]


def dry_days(pool: Pool) -> int:
    """Days from the day of washing until it may be used again."""
    return _whole_days(pool.dry_hours)


def _whole_days(hours: float) -> int:
    return math.ceil(max(hours, 0.0) / 24)


def _shelves(state: FarmState, kind: str) -> list[Shelf]:
    return [shelf for shelf in state.shelves.values() if shelf.kind == kind and shelf.spots > 0]


def _hands(state: FarmState, settings: FarmSettings, days: Days, at: datetime) -> Floats:
    """Minutes left each working day; endless on days off, when trays are only looked after."""
    minutes = days.minutes[: days.count].copy()
    minutes[0] -= _spent_today(state, settings, at) + sum(
        state.recipe_of(tray).minutes_wash
        for tray in state.trays.values()
        if tray.fate in ("cut", "discarded") and not tray.stripped
    )
    washing = _next_washing(settings, days, at)
    if washing < days.count:
        minutes[washing] -= sum(kit.dirty * kit.pool.minutes_wash for kit in state.kit.values())
    left: Floats = np.where(days.open[: days.count], np.maximum(minutes, 0.0), np.inf)
    return left


def _spent_today(state: FarmState, settings: FarmSettings, at: datetime) -> float:
    """Minutes of sowing and cutting already done on the day."""
    start, spent = day_start(local_day(at, settings), settings), 0.0
    for trays in (state.trays, state.ended):
        for tray in trays.values():
            recipe = state.recipes.get(tray.recipe)
            if recipe is not None:
                spent += recipe.minutes_sow if start <= tray.sown_at <= at else 0.0
                done = tray.fate == "cut" and tray.ended_at is not None and start <= tray.ended_at <= at
                spent += recipe.minutes_cut if done else 0.0
    return spent


def _kit_free(
    state: FarmState, kit: PoolState, settings: FarmSettings, days: Days, at: datetime, *, by_night: bool = False
) -> Floats:
    """
    How many of a pool are clean and dry each day, were no tray growing: dirty ones come back after washing.

    Parameters
    ----------
    by_night : bool
        In the evening of each day, of kit that dries within the day; otherwise from its first walk on.
    """
    free = np.full(days.count, float(kit.pool.count - kit.lost - kit.away))
    dry = 0 if by_night else dry_days(kit.pool)
    back = _next_washing(settings, days, at) + dry
    free[: min(back, days.count)] -= kit.dirty + kit.washed
    for batch in kit.drying:
        free[: min(_day_dry(batch.ready_at, settings, days, at, by_night=by_night), days.count)] -= batch.count
    strip = int(days.next_open(np.array([0]))[0]) + dry
    unstripped = (tray for tray in state.trays.values() if tray.fate in ("cut", "discarded") and not tray.stripped)
    free[: min(strip, days.count)] -= sum(tray.kit.get(kit.pool.name, 0) for tray in unstripped)
    left: Floats = np.maximum(free, 0.0)
    return left


def _day_dry(ready_at: datetime, settings: FarmSettings, days: Days, at: datetime, *, by_night: bool) -> int:
    """The first day on which kit that dries until a moment can be used from the first walk on, or by night the last."""
    if ready_at <= at:
        return 0
    day = local_day(ready_at, settings)
    walks = rounds_of(day, settings)
    early = bool(walks) and ready_at <= walks[-1 if by_night else 0][0]
    return max(0, days.index(day) + (0 if early else 1))
