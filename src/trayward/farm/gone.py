"""What went out of an order line."""

from __future__ import annotations

from trayward.farm.bills import LineGone
from trayward.farm.state import FarmState

LITTLE = 1e-3
"""A line that lacks less than this share of it is met in full. [-]"""


def grams_gone(state: FarmState, line: LineGone) -> float:
    """What went out for a line at once, live trays left out. [g]"""
    packed = sum(state.packs[pack].pack_g * count for pack, count in line.packs.items() if pack in state.packs)
    return packed + sum(line.loose.values())
