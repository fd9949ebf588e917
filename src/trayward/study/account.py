"""What a season earned, counted as the plan counts: the same formula for every policy and for the bound.

**Which lines count.** Every line due from the world's first due day to its last day, both included. Before the first
due day nothing is asked for, so that every policy has had time for its first crop; after the last day orders go on, and
nobody is told that counting stops.

**Which trays count.** Each tray on the day it leaves (cut, thrown away or gone out live), if that is in the season;
then all it cost counts, from its sowing. Trays that still grow when counting stops are for orders after it and count
neither way. The bound may do no better: it, too, pays for every tray that leaves in the season, and a tray it leaves
standing is of no use to it.

**What a tray costs** (`tray_cost`; as `plan.options` and `plan.uses` charge an option; days are whole, counted from the
day of sowing):

- seed: grams used x price of a gram of its lot;
- medium: the medium's cost + for each kit need, how many x the pool's wear;
- hands: wage a minute x (minutes to sow + minutes to begin each stage it reached + minutes to look x rounds a day x
  days from sowing to leaving + when cut, minutes to cut and to wash; when thrown away, minutes to wash; when gone out
  live, neither + minutes to wash a piece of each pool it used, which the kit that went out live is not);
- energy: for each stage on a lit shelf, days in it x share of a floor position it takes x kWh of a position in a day
  (`plan.limits.Limits.light_kwh`) x price.

**What a line brings.** Of a line due on a day, `met` = delivered on that day / asked (grams, or live trays), at most 1:
sales = value x met; packaging = price of a pack x packs x met; shortfall = settings' shortfall x customer's weight x
value x (1 - met).

**What is thrown away.** Cut grams that go to nobody x price of disposal. Grams still good in the cold room on the last
day are for orders after it and do not count; a tray thrown away whole costs its washing, as in the plan.

    money  = sales - seed - medium - hands - energy - packaging - disposal
    margin = money - shortfall
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

import msgspec

from trayward.farm.gone import LITTLE
from trayward.farm.hands import Leaves, minutes_by_job
from trayward.farm.orders import LineDue
from trayward.farm.recipes import Recipe, wear_of
from trayward.farm.settings import FarmSettings, Money
from trayward.farm.state import FarmState
from trayward.plan.days import Days
from trayward.plan.limits import Limits

How = Leaves
COSTS = ("seed", "medium", "hands", "energy", "packaging", "disposal")


class TrayCost(msgspec.Struct, frozen=True):
    """What one tray cost. [farm's currency]"""

    seed: float = 0.0
    medium: float = 0.0
    hands: float = 0.0
    energy: float = 0.0

    @property
    def total(self) -> float:
        """All of it."""
        return self.seed + self.medium + self.hands + self.energy


class Rates:
    """What the farm pays for things, from its settings, shelves and kit."""

    def __init__(self, state: FarmState, settings: FarmSettings, at_first: date) -> None:
        from trayward.farm.calendar import day_start

        limits = Limits(state, settings, Days(settings, at_first, 1), day_start(at_first, settings))
        self.money: Money = settings.money
        self.minute = settings.money.wage_h / 60
        """A minute of hands. [currency]"""
        self.looks = len(settings.rounds)
        """Walks a day. [-]"""
        self.position_kwh = limits.light_kwh()
        """Energy of a lit floor position in a day. [kWh/d]"""
        self.lit_day = self.position_kwh * settings.money.energy_kwh
        """A lit floor position for a day. [currency]"""
        self.position_share = limits.position_share
        self.pools = limits.pools


def tray_cost(
    recipe: Recipe, rates: Rates, *, starts: Sequence[int], leave: int, how: How, seed: float = 0.0
) -> TrayCost:
    """
    What one tray costs from its sowing until it has left.

    Parameters
    ----------
    recipe : Recipe
        What it was sown to.
    rates : Rates
        The farm's prices.
    starts : sequence of int
        The day each stage it reached began, from the first stage on; day 0 is the day it is sown. [d]
    leave : int
        The day it leaves. [d]
    how : "cut", "live" or "thrown"
        How it leaves.
    seed : float
        What its seed cost. [farm's currency]
    """
    reached = recipe.stages[: len(starts)]
    ends = [*starts[1:], leave]
    names = [stage.name for stage in reached]
    jobs = minutes_by_job(recipe, rates.pools, reached=names, days=leave, looks=rates.looks, how=how)
    lit = sum(
        (end - begin) * rates.position_share("lit", stage.stack)
        for stage, begin, end in zip(reached, starts, ends, strict=True)
        if stage.ground == "lit"
    )
    return TrayCost(
        seed=seed,
        medium=recipe.medium.cost + wear_of(recipe.kit, rates.pools),
        hands=sum(jobs.values()) * rates.minute,
        energy=lit * rates.lit_day,
    )


class LineMoney(msgspec.Struct, frozen=True):
    """What one line brought and cost. [farm's currency]"""

    sales: float
    packaging: float
    shortfall: float


def line_met(line: LineDue) -> float:
    """The share of a line that was delivered, at most 1. [-]"""
    whole = float(line.trays) if line.live else line.grams
    done = float(line.done_trays) if line.live else line.done_g
    return min(done / whole, 1.0) if whole > 0 else 1.0


def in_full(line: LineDue) -> bool:
    """Whether a line was delivered in full."""
    return line_met(line) >= 1.0 - LITTLE


def line_money(line: LineDue, met: float, money: Money) -> LineMoney:
    """What a line comes to when a share of it is met on its day."""
    return LineMoney(
        sales=line.value * met,
        packaging=money.packaging * line.packs * met,
        shortfall=money.shortfall * line.weight * line.value * (1.0 - met),
    )


def price_of_seed(state: FarmState, lot: str) -> float:
    """What a gram of a seed lot cost. [currency/g]"""
    held = state.seed[lot]
    return held.cost / held.received_g if held.received_g > 0 else 0.0


class Tally:
    """The account of a season, day by day; everything is entered above 0."""

    def __init__(self, first: date, days: int) -> None:
        self.first, self.days = first, days
        self.parts: dict[str, float] = dict.fromkeys(("sales", *COSTS, "shortfall"), 0.0)
        self._by_day = [0.0] * days

    def add(self, day: date, part: str, amount: float) -> None:
        """Enter an amount on a day."""
        self.parts[part] += amount
        self._by_day[min(max((day - self.first).days, 0), self.days - 1)] += amount if part == "sales" else -amount

    def add_tray(self, day: date, cost: TrayCost) -> None:
        """Enter what a tray cost, on the day it left."""
        for part in ("seed", "medium", "hands", "energy"):
            self.add(day, part, getattr(cost, part))

    def add_lines(self, lines: Iterable[LineDue], money: Money) -> None:
        """Enter lines on their due days, by what was delivered for them."""
        for line in lines:
            found = line_money(line, line_met(line), money)
            for part in ("sales", "packaging", "shortfall"):
                self.add(line.due, part, getattr(found, part))

    @property
    def money(self) -> float:
        """Sales less all costs. [farm's currency]"""
        return self.parts["sales"] - sum(self.parts[part] for part in COSTS)

    @property
    def margin(self) -> float:
        """The same less the price of letting customers down. [farm's currency]"""
        return self.money - self.parts["shortfall"]

    def by_day(self) -> tuple[float, ...]:
        """The margin so far at the end of each day."""
        found, total = [], 0.0
        for amount in self._by_day:
            total += amount
            found.append(total)
        return tuple(found)
