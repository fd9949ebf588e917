"""Trials: the same recipe sown at several levels on the same days, to see which pays."""

from __future__ import annotations

from typing import Literal

import msgspec

Lever = Literal["density", "blackout"]
"""What is tried: live seeds a cm2, or days of blackout."""


class Trial(msgspec.Struct, frozen=True, kw_only=True):
    """
    A small blocked trial: each sowing day has every level.

    `levels` are live seeds a cm2 [1/cm2] or days of blackout [d]; `blocks` counts sowing days, `trays_each` trays of
    each level a day. `orders` is, for each day, the order in which the levels are sown and put on their spots.
    """

    name: str
    recipe: str
    what: Lever
    levels: tuple[float, ...]
    blocks: int
    trays_each: int = 1
    orders: tuple[tuple[float, ...], ...] = ()
    note: str = ""

    @property
    def trays(self) -> int:
        """Trays in all."""
        return len(self.levels) * self.blocks * self.trays_each
