"""The most that anybody could earn in a season who does not know the luck of trays before they are sown.

The all-knowing (`study.bound`) sow on the days on which trays will be heavy and quick. Here all orders are known as
well, the law of every recipe, lot and week and the season's weather, but what a sowing and a tray have of their own is
chance until they are sown. What nobody can beat is found by letting the all-knowing pay for that knowledge
(information relaxation with a penalty [1]_): each tray that is sown is charged with what its luck makes it worth at
fixed prices, and paid the mean of that over fresh lucks. Whoever sows without knowing the luck pays nothing on
average, whatever the prices; so what the all-knowing earn after the charge is, on average over seasons, no less than
what anybody else earns. Prices are those at which trays of unknown luck pay for themselves on average
(`study.bound_means`).

- **On average.** It bounds the mean over seasons, not each single one.
- **Prices and means** come from fresh lucks, each from its own: neither hangs on the luck of the season, and the means
  do not hang on the lucks the prices were chosen by. So means of some lucks only do no harm but that they are a little
  less close.
- **Once sown**, all is known of a tray here, at once; a grower sees it days later.
- **Whole trays** are harder to prove here than for the all-knowing: after the charge trays are worth much the same.

References
----------
.. [1] D. B. Brown, J. E. Smith and P. Sun, "Information relaxations and duality in stochastic dynamic programs",
   Operations Research 58 (2010) 785-801. From memory.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from datetime import date

import msgspec
import numpy as np

from trayward.farm.recipes import Recipe
from trayward.plan.days import Floats
from trayward.study.bound import bound_of
from trayward.study.bound_layout import Given, lay_out
from trayward.study.bound_means import Worth, best_averages, classes_of, nets_of
from trayward.study.bound_model import Book
from trayward.study.bound_trays import TrueTrays
from trayward.study.truth import Truth
from trayward.study.types import CEILING, SeasonResult, SeasonTask
from trayward.study.world_file import SeasonWorld
from trayward.study.worlds import TrayTruth

PRICED = 24
"""Prices are found by so many lucks of every sowing. [-]"""
LUCKS = 96
"""Means are taken over so many others. [-]"""
AT_A_TIME = 24
"""So many lucks are laid out at a time. [-]"""
APART = 1_000_000
"""Lucks by which prices are found, and trays nobody sows, are numbered from here on."""
PRICES_SHARE = 0.5
"""So much of the time again may go into prices. [-]"""
PRICES_LEAST = 20.0
"""But no less than this: at prices far from the best the ceiling holds, and says nothing. [s]"""


class Ceiling(msgspec.Struct, frozen=True, kw_only=True):
    """The most on average, as one season shows it. [farm's currency]"""

    margin: float
    """On average over seasons nobody earns more than this."""
    loose: float
    """The same without whole trays."""
    averages: float
    """What a season of averages comes to, whole trays and single lucks left out; by few lucks, so not proven."""
    lines: int
    full: int
    """Lines met in full where most is earned, were trays not whole."""
    proven: float
    seconds: float


class FreshTrays:
    """
    Trays of other lucks, by number.

    Parameters
    ----------
    truth : Truth
        The season's.
    first : int
        The number of the first luck.
    sowings_known : bool
        Whether trays share the true luck of their sowing, and only their own is another.
    """

    def __init__(self, truth: Truth, first: int, *, sowings_known: bool = False) -> None:
        self.truth, self.first, self.sowings_known = truth, first, sowings_known
        self._fresh: dict[int, Truth] = {}

    def tray(self, recipe: Recipe, sown_on: date, number: int, lot: str) -> TrayTruth:
        """What a tray of that luck does."""
        luck = self.first + number
        if self.sowings_known:
            return self.truth.tray(recipe, sown_on, APART + luck, lot)
        if luck not in self._fresh:
            self._fresh[luck] = self.truth.fresh(luck)
        return self._fresh[luck].tray(recipe, sown_on, 0, lot)


Fresh = Callable[[int], TrueTrays]
"""Trays of other lucks, by number, from a number on."""


class Charging:
    """
    What knowing the luck of trays beforehand is charged, for `bound.clairvoyant`.

    Parameters
    ----------
    fresh : callable
        Trays of other lucks, from a number on.
    lucks : int
        How many lucks of every sowing the means are taken over.
    seconds : float
        How long to look for prices, at most. [s]
    """

    def __init__(self, fresh: Fresh, *, lucks: int = LUCKS, seconds: float = 30.0) -> None:
        self.fresh, self.lucks, self.seconds = fresh, lucks, seconds
        self.averages = math.nan
        """What the season of averages comes to, once it was asked for. [farm's currency]"""

    def __call__(self, given: Given, book: Book) -> Floats:
        """What each tray of a season is charged if it is sown. [farm's currency]"""
        most = np.bincount(classes_of(book.layout.trays)).astype(float)
        found = best_averages(_laid(given, book, self.fresh(APART), PRICED), most, seconds=self.seconds)
        self.averages = found.margin
        return charge_of(given, book, found.worth, self.fresh, self.lucks)


def season_ceiling(
    world: SeasonWorld, seed: int, *, seconds: float = 60.0, sowings_known: bool = False, lucks: int = LUCKS
) -> Ceiling:
    """
    The most that anybody could earn on average who does not know the luck of trays before they are sown.

    Parameters
    ----------
    world : SeasonWorld
        The world.
    seed : int
        Its seed number.
    seconds : float
        How long to work on the bound; prices and lucks take about as long again. [s]
    sowings_known : bool
        Whether the luck that all trays of a sowing share is known beforehand, and only that of single trays is not.
    lucks : int
        How many lucks of every sowing the means are taken over.
    """
    began = time.perf_counter()
    truth = world.truth(seed)
    charge = Charging(
        lambda first: FreshTrays(truth, first, sowings_known=sowings_known),
        lucks=lucks,
        seconds=max(PRICES_SHARE * seconds, PRICES_LEAST),
    )
    found, _, _ = bound_of(world, seed, seconds=seconds, charge=charge)
    return Ceiling(
        margin=found.margin,
        loose=found.loose,
        averages=charge.averages,
        lines=found.lines,
        full=found.full,
        proven=found.proven,
        seconds=time.perf_counter() - began,
    )


def charge_of(given: Given, book: Book, worth: Worth, fresh: Fresh, lucks: int) -> Floats:
    """
    What each tray of a season is charged if it is sown; 0 on average over its lucks. [farm's currency]

    Parameters
    ----------
    given, book
        The season, and the same laid out.
    worth : Worth
        Prices, found without the luck of the season or of these lucks.
    fresh : callable
        Trays of other lucks, from a number on.
    lucks : int
        How many the means are taken over.
    """
    of = classes_of(book.layout.trays)
    total, count = np.zeros(int(of.max(initial=-1)) + 1), 0
    while count < lucks:
        each = min(AT_A_TIME, lucks - count)
        laid = _laid(given, book, fresh(count), each)
        total += np.bincount(classes_of(laid.layout.trays), weights=nets_of(laid, worth).net)
        count += each
    charge: Floats = nets_of(book, worth).net - (total / count)[of]
    return charge


def _laid(given: Given, book: Book, trays: TrueTrays, each: int) -> Book:
    """The season with so many lucks of every sowing in place of its trays."""
    return msgspec.structs.replace(book, layout=lay_out(given._replace(truth=trays, each=each)))


def luck_unknown(world: SeasonWorld, seed: int, *, seconds: float = 60.0, lucks: int = LUCKS) -> SeasonResult:
    """The ceiling of one season, in the form of a season's result; see `season_ceiling`."""
    found = season_ceiling(world, seed, seconds=seconds, lucks=lucks)
    return SeasonResult(
        task=SeasonTask(world=world.name, seed=seed, policy=CEILING),
        margin=found.margin,
        money=found.margin,
        lines=found.lines,
        full_on_time=found.full,
        seconds=found.seconds,
        notes=(f"Nobody who sows without knowing the luck of trays earns more on average than {found.margin:.2f}.",),
    )
