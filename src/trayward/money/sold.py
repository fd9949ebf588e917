"""What went out brought, where it came from, and where what was cut went."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import TypeVar

from trayward.farm.bills import DeliveryMade, LineGone, Thrown
from trayward.farm.gone import grams_gone
from trayward.farm.state import FarmState, HarvestLot, PackLot
from trayward.money.coins import exact
from trayward.money.types import COLD, THROWN

Weights = dict[str, float]
Happened = TypeVar("Happened", DeliveryMade, Thrown)


def source_of(entry: str, line: str) -> str:
    """How an invoice names what went out."""
    return f"{entry}:{line}"


# What a line brings ---------------------------------------------------------------------------------------------------


def billed(state: FarmState, line: LineGone) -> Decimal:
    """
    How much of what went out is paid for, in the unit it was asked for in: never more than was asked for in all.

    What goes out beyond that is good weight, and given.
    """
    if line.unit == "trays":
        before, now = line.before, float(len(line.trays))
    else:
        each = line.pack_g if line.unit == "packs" and line.pack_g else 1.0
        before, now = line.before / each, grams_gone(state, line) / each
    return exact(round(min(before + now, line.asked) - min(before, line.asked), 3))


def worth(line: LineGone, quantity: Decimal, price: float | Decimal | None = None) -> Decimal | None:
    """
    What so much of a line comes to, not rounded; None where there is no price.

    Parameters
    ----------
    line : LineGone
        What went out, with the price of its day.
    quantity : Decimal
        In the line's unit.
    price : float, Decimal or None
        Another price, for the same. [currency]
    """
    each = line.price if price is None else price
    if each is None:
        return None
    pack = exact(line.pack_g) if line.pack_g else None
    grams = quantity if line.unit == "g" else quantity * pack if line.unit == "packs" and pack else None
    if line.per == "pack":
        packs = quantity if line.unit == "packs" else grams / pack if grams is not None and pack else None
        return None if packs is None else exact(each) * packs
    if line.per == "tray" or line.unit == "trays":
        return exact(each) * quantity if line.per == "tray" else None
    if grams is None:
        return None
    return exact(each) * grams / (100 if line.per == "100 g" else 1)


# Where it came from and went ------------------------------------------------------------------------------------------


class Flow:
    """Crop from trays through harvest lots and packs to whoever had it."""

    def __init__(self, state: FarmState, first: date) -> None:
        self.state = state
        self.first = first
        self._out: dict[str, Weights] | None = None
        self._pack_out: dict[str, Weights] = {}
        self._lots_went: dict[str, Weights] = {}

    def deliveries(self, last: date) -> list[DeliveryMade]:
        """What was delivered from the first day to a last one."""
        return _within(self.state.deliveries, self.first, last)

    def thrown(self, last: date) -> list[Thrown]:
        """What was thrown away from the first day to a last one."""
        return _within(self.state.thrown, self.first, last)

    # Back to trays ---------------------------------------------------------------------------------------------------

    def lots_of(self, loose: Mapping[str, float], packs: Mapping[str, int]) -> Weights:
        """Grams by harvest lot, packs opened. [g]"""
        found: Weights = defaultdict(float, loose)
        for pack, count in packs.items():
            held = self.state.packs.get(pack)
            for lot, grams in held.parts.items() if held is not None else ():
                assert held is not None
                found[lot] += grams * count / held.packs
        return found

    def trays_of(self, lots: Mapping[str, float]) -> Weights:
        """Grams by the tray they were cut from. [g]"""
        found: Weights = defaultdict(float)
        for lot, grams in lots.items():
            held = self.state.harvests.get(lot)
            whole = sum(held.by_tray.values()) if held is not None else 0.0
            if held is None or not whole:
                continue
            for tray, given in held.by_tray.items():
                found[tray] += grams * given / whole
        return found

    # Forward to people -----------------------------------------------------------------------------------------------

    def lot_went(self, lot: HarvestLot) -> Weights:
        """Grams of a harvest lot by order line, thrown away, or still there. [g]"""
        if lot.harvest not in self._lots_went:
            found = dict(self._outflows.get(lot.harvest, {}))
            if lot.left_g > 0:
                found[COLD] = found.get(COLD, 0.0) + lot.left_g
            self._lots_went[lot.harvest] = found
        return self._lots_went[lot.harvest]

    def pack_went(self, pack: PackLot) -> Weights:
        """Packs of a filling by order line, thrown away, or still there."""
        found = dict(self._pack_out.get(pack.pack, {})) if self._outflows else {}
        if pack.left > 0:
            found[COLD] = found.get(COLD, 0.0) + pack.left
        return found

    @cached_property
    def customers(self) -> dict[str, str]:
        """Order line -> who had it."""
        return {line.line: each.customer for each in self.deliveries(date.max) for line in each.lines}

    @property
    def _outflows(self) -> dict[str, Weights]:
        """Harvest lot -> where its grams went, over all that was said since the first day."""
        if self._out is None:
            self._out = defaultdict(lambda: defaultdict(float))
            self._pack_out = defaultdict(lambda: defaultdict(float))
            for delivery in _within(self.state.deliveries, self.first, date.max):
                for line in delivery.lines:
                    self._take(line.line, line.loose, line.packs)
            for thrown in _within(self.state.thrown, self.first, date.max):
                self._take(THROWN, thrown.loose, thrown.packs)
            for pack in self.state.packs.values():
                for lot, grams in pack.parts.items() if pack.left > 0 else ():
                    self._out[lot][COLD] += grams * pack.left / pack.packs
        return self._out

    def _take(self, where: str, loose: Mapping[str, float], packs: Mapping[str, int]) -> None:
        assert self._out is not None
        for lot, grams in self.lots_of(loose, packs).items():
            self._out[lot][where] += grams
        for pack, count in packs.items():
            self._pack_out[pack][where] += count


def _within(held: list[Happened], first: date, last: date) -> list[Happened]:
    """Those of a list in the order of happening whose day lies between two days, both included."""
    begin = bisect_left(held, first, key=lambda each: each.day)
    found = []
    for each in held[begin:]:
        if each.day > last:
            break
        found.append(each)
    return found
