"""Crop that is held back: trays with suspected mould or the like, and what was cut and packed from them.

A tray is held from the moment somebody says so until somebody says what it was instead, by name; only striking the
entry lifts it otherwise. What is held is never proposed for cutting, packing or sale, and is refused where it would go
out. Nothing else is kept of it: a harvest lot is held as long as a tray of it is, and a pack as long as a lot in it is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trayward.farm.state import FarmState, HarvestLot, Tray

MOULD_WORDS = ("mould", "mold", "fung", "fuzz", "mildew", "botrytis", "moho", "hongo", "pelusa")
"""Trouble with one of these in it is suspected mould; `fung` for fungus and fungal. Fuzz may be root hairs, and is held
until somebody misted it and said so."""

NO_MOULD_WORDS = ("fungus gnat", "fungus-gnat")
"""Flies called after what they eat."""

SUSPECTED_MOULD = "suspected mould"
"""Why a tray is held where somebody saw mould, or what may be mould."""


def suspects_mould(problem: str) -> bool:
    """
    Whether the words for trouble seen mean mould.

    Examples
    --------
    >>> suspects_mould("Mould?"), suspects_mould("fallen"), suspects_mould("fungus gnats")
    (True, False, False)
    """
    words = problem.lower()
    for other in NO_MOULD_WORDS:
        words = words.replace(other, "")
    return any(word in words for word in MOULD_WORDS)


def hold_of(tray: Tray | None) -> str:
    """Why a tray is held back, in a word or two; empty where it is not."""
    if tray is None or not tray.troubles:
        return ""
    return next((each.hold for each in tray.troubles if each.hold and each.cleared_at is None), "")


def held_trays(state: FarmState, names: Iterable[str]) -> dict[str, str]:
    """Those of some trays that are held back, growing or not, and why."""
    return {name: hold for name in names if (hold := hold_of(state.tray(name)))}


def lot_held(state: FarmState, lot: HarvestLot | None) -> dict[str, str]:
    """The trays for which a harvest lot is held back, and why; empty where it is free."""
    return {} if lot is None else held_trays(state, lot.trays)


def pack_held(state: FarmState, parts: Mapping[str, float] | Iterable[str]) -> dict[str, str]:
    """The trays for which packs of these harvest lots are held back, and why; empty where they are free."""
    found: dict[str, str] = {}
    for harvest in parts:
        found |= lot_held(state, state.harvests.get(harvest))
    return found
