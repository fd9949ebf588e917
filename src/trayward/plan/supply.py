"""How far cut crop in the cold room and standing trays reach, less what the plan gives others."""

from __future__ import annotations

import numpy as np

from trayward.plan.allocate import Share
from trayward.plan.days import Bools
from trayward.plan.demand import Want
from trayward.plan.results import Read
from trayward.plan.uses import CUT, LIVE


def reach_without_sowing(read: Read, want: Want, crop: str, share: float) -> float:
    """How much of a want (grams of the product, or live trays) its part of a crop allows without another sowing."""
    if want.live:
        return _standing(read, want, crop)
    return (_stock(read, want, crop) + _standing(read, want, crop)) / share if share > 0 else float("inf")


def _others(read: Read, want: Want) -> list[Share]:
    """What the plan gives to lines of other wants."""
    return [share for share in read.given.shares if share.line not in want.lines]


def _stock(read: Read, want: Want, crop: str) -> float:
    """Grams in the cold room that are still good on the day and go to nobody else. [g]"""
    given: dict[str, float] = {}
    for share in _others(read, want):
        given[share.harvest] = given.get(share.harvest, 0.0) + share.grams
    good = [item for item in read.task.stock if item.crop == crop and item.last >= want.day]
    return sum(max(0.0, item.grams - given.get(item.harvest, 0.0)) for item in good)


def _standing(read: Read, want: Want, crop: str) -> float:
    """Grams, or live trays, that standing trays could give by the day beside what the plan takes from them."""
    options, fits = read.board.options, _fitting(read, want, crop)
    each = np.ones(len(fits)) if want.live else options.grams
    given: dict[int, float] = {}
    for part in _others(read, want):
        if part.option >= 0:
            amount = part.trays if options.how[part.option] == LIVE else part.grams
            given[part.option] = given.get(part.option, 0.0) + amount
    total = 0.0
    for option in np.flatnonzero((options.standing >= 0) & (read.given.trays > 0)).tolist():
        trays = int(read.given.trays[option])
        if option not in given:  # free to leave on another day, or in another way
            own = fits & (options.standing == options.standing[option])
            total += trays * float(each[own].max(initial=0.0))
        elif fits[option]:
            total += max(0.0, trays * float(each[option]) - given[option])
    return total


def _fitting(read: Read, want: Want, crop: str) -> Bools:
    """The ways for standing trays to leave that serve a want on its day."""
    options, number = read.board.options, read.board.crops.index(crop)
    own = (options.standing >= 0) & (options.crop == number)
    if want.live:
        fits: Bools = own & (options.how == LIVE) & (options.first_due == want.day)
        return fits
    fits = own & (options.how == CUT) & (options.leave <= want.day)
    return fits & (want.day <= options.leave + read.board.life[crop])
