"""What each seed lot does to the weight, all of them: those that stand out and those that do not."""

from __future__ import annotations

import math
from collections import Counter

import msgspec

from trayward.outlook.learning.points import EIGHTY
from trayward.outlook.learning.standouts import with_a_like
from trayward.outlook.yields import YieldModel


class LotEffect(msgspec.Struct, frozen=True, kw_only=True):
    """How many times the weight of its like a lot's trays have, as far as they bear it out, with its 80 % range. [-]"""

    lot: str
    factor: float
    low: float
    high: float
    trays: int
    alone: bool = False
    """Its recipe was sown from no other lot, so what is the lot's and what the recipe's is mostly a guess."""


def lot_effects(model: YieldModel) -> tuple[LotEffect, ...]:
    """Every lot that trays were cut of, the heaviest first."""
    if model.fit is None:
        return ()
    effects, errors = model.fit.effects["lot"][:, 0], model.fit.effect_se["lot"][:, 0]
    trays = Counter(row.lot for row in model.rows if row.lot)
    paired = with_a_like((row.recipe, row.lot) for row in model.rows)
    found = [
        _effect(lot, float(effects[at]), float(errors[at]), trays[lot], alone=lot not in paired)
        for lot, at in model.names["lot"].items()
        if trays[lot] and at < len(effects)
    ]
    return tuple(sorted(found, key=lambda one: (-one.factor, one.lot)))


def _effect(lot: str, effect: float, error: float, trays: int, *, alone: bool) -> LotEffect:
    low, middle, high = (math.exp(effect + step * EIGHTY * error) for step in (-1, 0, 1))
    return LotEffect(lot=lot, factor=middle, low=low, high=high, trays=trays, alone=alone)
