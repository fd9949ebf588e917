"""What a world's file says, once it is read."""

from __future__ import annotations

from datetime import date

import msgspec

from trayward.study.customers import Beginning, Ending, Growth, SpotHabit
from trayward.study.events import BadLot, PowerCut, Slips
from trayward.study.truth import TruthLevels


class Scales(msgspec.Struct, frozen=True, kw_only=True):
    """How a world's farm differs in size from its setup. [-]"""

    racks: float = 1.0
    kit: float = 1.0
    hands: float = 1.0
    orders: float = 1.0


class WorldSpec(msgspec.Struct, frozen=True, kw_only=True):
    """What a world's file says."""

    name: str
    setup: str
    """A ready setup's name, or the path of a setup file."""
    first: date
    """The first day: a Monday, so that weeks are whole."""
    warm_up_weeks: int
    """Weeks before anything is due. [weeks]"""
    weeks: int
    """Weeks of orders that count. [weeks]"""
    scales: Scales = Scales()
    seed_weeks: int = 5
    """A new lot of each seed comes every so many weeks. [weeks]"""
    law: str = "log-normal"
    """Which truth: `log-normal`, or `degree-days` (`study.truth_other`)."""
    levels: TruthLevels = TruthLevels()
    logs_temperature: bool = False
    slips: Slips = Slips()
    power_cuts: tuple[PowerCut, ...] = ()
    bad_lots: tuple[BadLot, ...] = ()
    spot: tuple[SpotHabit, ...] = ()
    grows: tuple[Growth, ...] = ()
    ends: tuple[Ending, ...] = ()
    begins: tuple[Beginning, ...] = ()
