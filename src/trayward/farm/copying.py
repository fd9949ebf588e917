"""A second state of the same farm, made in milliseconds: both are folded on apart from each other.

A long book folds to hundreds of thousands of values, and nearly all of them are of things that are done with. Two
states share those. It holds because the fold never changes such a value in place: a harvest lot, a pack lot, a bill or
a tray that is done with becomes a new one (`transitions.holding.to_change`). What it does change in place is copied:
there is little of it.
"""

from __future__ import annotations

from copy import copy
from typing import Any

from msgspec.structs import asdict

from trayward.farm.kit import PoolState
from trayward.farm.state import FarmState, Tray
from trayward.farm.supplies import SupplyHeld


def copied(state: FarmState) -> FarmState:
    """The same farm once more; what is folded into the one does not show in the other."""
    fields: dict[str, Any] = {
        name: value.copy() if isinstance(value, dict | list | set) else value for name, value in asdict(state).items()
    }
    fields["trays"] = {name: _tray(tray) for name, tray in state.trays.items()}
    fields["seed"] = {name: copy(lot) for name, lot in state.seed.items()}
    fields["kit"] = {name: _pool(held) for name, held in state.kit.items()}
    fields["supplies"] = {name: _supply(held) for name, held in state.supplies.items()}
    fields["crop_facts"] = {crop: dict(facts) for crop, facts in state.crop_facts.items()}
    return FarmState(**fields)


def _tray(tray: Tray) -> Tray:
    """Only the stage a tray is in goes on; those before are over."""
    fresh = copy(tray)
    fresh.steps = [*tray.steps[:-1], copy(tray.steps[-1])]
    return fresh


def _pool(held: PoolState) -> PoolState:
    fresh = copy(held)
    fresh.drying = list(held.drying)
    fresh.marks = {name: copy(mark) for name, mark in held.marks.items()}
    fresh.on = dict(held.on)
    fresh.owners = {where: list(line) for where, line in held.owners.items()}
    fresh.cleaned = list(held.cleaned)
    return fresh


def _supply(held: SupplyHeld) -> SupplyHeld:
    fresh = copy(held)
    fresh.lots = {name: copy(lot) for name, lot in held.lots.items()}
    fresh.used_on = dict(held.used_on)
    fresh.counts = list(held.counts)
    fresh.prices = list(held.prices)
    return fresh
