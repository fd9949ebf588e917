"""What is wanted: order lines less what is delivered and packed, gathered into wants the model can weigh.

Lines of the same product, day and price a gram are one want; they are told apart again once the plan stands.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec
import numpy as np

from trayward.farm.due import lines_due
from trayward.farm.holds import pack_held
from trayward.farm.orders import LineDue
from trayward.farm.served_first import gains, money_for_one
from trayward.farm.settings import Money
from trayward.farm.state import FarmState, PackLot
from trayward.plan.days import Days, Floats, Ints

PROMISE = 1.1
"""Letting a line down costs at least this much of what growing it alone would cost: an order taken is a promise."""


class OpenLine(msgspec.Struct, kw_only=True):
    """An order line and what of it is still open, once deliveries and packs on the shelf are taken off."""

    line: LineDue
    day: int
    grams: float
    trays: int
    gain: float = 0.0
    """What one gram, or live tray, brings and spares by the account: who is served first. [currency]"""
    packed: dict[str, float] = {}
    """Grams already lying packed for it, by pack lot. [g]"""


class Want(msgspec.Struct, frozen=True, kw_only=True):
    """Lines alike in product, day and price. `amount` is grams, or live trays; money is for one of them."""

    product: str
    parts: tuple[tuple[str, float], ...]
    day: int
    live: bool
    amount: float
    worth: float
    """What one brings, less its packaging."""
    regret: float
    """What letting one down costs beyond the sale, by the settings. """
    lines: tuple[int, ...]


def open_lines(state: FarmState, days: Days) -> list[OpenLine]:
    """Every line due in the plan's days, with what is still open of it; none is left out."""
    last = days.day(days.count - 1)
    due = lines_due(state, days.first, last)
    found = [
        OpenLine(
            line=line,
            gain=gain,
            day=days.index(line.due),
            grams=max(0.0, line.grams - line.done_g),
            trays=max(0, line.trays - line.done_trays),
        )
        for line, gain in zip(due, gains(due, state), strict=True)
    ]
    _take_packs(state, found)
    return found


def _take_packs(state: FarmState, lines: list[OpenLine]) -> None:
    """Packs already filled go to the first lines of their product they are still good for."""
    packs = sorted(
        (pack for pack in state.packs.values() if pack.left > 0 and not pack_held(state, pack.parts)),
        key=lambda pack: (pack.packed_at, pack.pack),
    )
    left = {pack.pack: pack.left * pack.pack_g for pack in packs}
    for line in lines:
        for pack in (pack for pack in packs if _suits(pack, line.line)):
            taken = min(left[pack.pack], line.grams)
            left[pack.pack] -= taken
            line.grams -= taken
            if taken > 0:
                line.packed[pack.pack] = taken


def _suits(pack: PackLot, line: LineDue) -> bool:
    """Whether a pack may go to a line: its product, and still good on its day."""
    good = pack.best_before is None or line.due <= pack.best_before
    return pack.product == line.product and good and not line.live


def gather(lines: list[OpenLine], money: Money) -> list[Want]:
    """Lines as wants, in the order of their days; lines with nothing open are in none."""
    groups: dict[tuple[object, ...], list[int]] = {}
    for number, line in enumerate(lines):
        if line.grams > 1e-9 or line.trays:
            worth, regret = money_for_one(line.line, money)
            due = line.line
            key = (line.day, due.product, due.parts, due.live, round(worth, 9), round(regret, 9))
            groups.setdefault(key, []).append(number)
    wants = []
    for numbers in groups.values():
        first = lines[numbers[0]]
        worth, regret = money_for_one(first.line, money)
        amount = sum(lines[number].trays if first.line.live else lines[number].grams for number in numbers)
        wants.append(
            Want(
                product=first.line.product,
                parts=tuple((part.crop, part.share) for part in first.line.parts),
                day=first.day,
                live=first.line.live,
                amount=float(amount),
                worth=worth,
                regret=regret,
                lines=tuple(numbers),
            )
        )
    return sorted(wants, key=lambda want: (want.day, want.lines))


def promise(want: Want, lines: list[OpenLine], tray_cost: Mapping[str, tuple[float, float]]) -> float:
    """
    The least price the model puts on letting down one gram, or live tray, of a want.

    Growing the smallest of its lines alone would take whole trays; the price is a little more than they cost beyond
    what the line brings, so that a small or a free order is still grown where there is room for it.

    Parameters
    ----------
    tray_cost
        For each crop: what a tray costs, and its cautious grams.
    """
    smallest = min(float(lines[n].trays) if want.live else lines[n].grams for n in want.lines)
    cost = 0.0
    for crop, share in want.parts:
        if crop in tray_cost:
            tray, grams = tray_cost[crop]
            trays = smallest if want.live else np.ceil(smallest * share / grams - 1e-9) if grams > 0 else 0.0
            cost += trays * tray
    return max(0.0, PROMISE * cost / smallest - want.worth)


def for_sure(worth: float, cost_g: float, sure: float) -> float:
    """
    The least price of letting a gram down at which a plan meets it in this share of cases.

    The last tray is worth sowing while the chance that it is needed, times what a gram brings and spares, exceeds its
    cost: the newsvendor's critical ratio.

    References
    ----------
    Arrow, K. J., Harris, T. and Marschak, J. (1951). Optimal inventory policy. Econometrica 19:250-272.
    doi 10.2307/1906813. (From memory.)

    Examples
    --------
    >>> round(for_sure(0.05, 0.03, 0.8), 3)
    0.1
    """
    return max(0.0, cost_g / max(1.0 - sure, 1e-3) - worth)


class CropDemand(msgspec.Struct, frozen=True, kw_only=True):
    """When how much of a crop is due: cut grams by day, live trays by day."""

    days: Ints
    grams: Floats
    live: dict[int, float]

    def between(self, first: Ints, last: Ints) -> Floats:
        """Grams due on the dues numbered `first` to `last`, both included."""
        total = np.concatenate([[0.0], np.cumsum(self.grams)])
        between: Floats = total[np.maximum(last + 1, first)] - total[first]
        return between


def crop_demand(wants: list[Want]) -> dict[str, CropDemand]:
    """The demand of each crop, all its wants together."""
    cut: dict[str, dict[int, float]] = {}
    live: dict[str, dict[int, float]] = {}
    for want in wants:
        for crop, share in want.parts:
            by_day = (live if want.live else cut).setdefault(crop, {})
            by_day[want.day] = by_day.get(want.day, 0.0) + want.amount * share
    found = {}
    for crop in sorted(cut.keys() | live.keys()):
        grams = dict(sorted(cut.get(crop, {}).items()))
        found[crop] = CropDemand(
            days=np.array(list(grams), dtype=np.int64),
            grams=np.array(list(grams.values()), dtype=float),
            live=dict(sorted(live.get(crop, {}).items())),
        )
    return found
