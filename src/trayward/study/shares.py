"""Who gets what of the cold room on a delivery day, when there is too little for all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import NamedTuple

from trayward.farm.calendar import local_day
from trayward.farm.entries import LotGrams
from trayward.farm.orders import LineDue
from trayward.farm.served_first import served_first
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, HarvestLot

LITTLE = 0.05
"""Less than this is not weighed out. [g]"""


class Filled(NamedTuple):
    """What goes out for a line: grams of harvest lots, in so many packs where it is asked for in packs."""

    line: LineDue
    parts: tuple[LotGrams, ...]
    packs: int


def good_lots(state: FarmState, day: date, settings: FarmSettings) -> list[HarvestLot]:
    """Cut crop that may still go out on a day, oldest first."""
    lots = [lot for lot in state.harvests.values() if lot.left_g > LITTLE and day <= good_until(lot, settings)]
    return sorted(lots, key=lambda lot: (lot.cut_at, lot.harvest))


def good_until(lot: HarvestLot, settings: FarmSettings) -> date:
    """The last day on which a lot may go out."""
    return local_day(lot.cut_at, settings) + timedelta(days=lot.cold_room_days)


def fill(lines: Iterable[LineDue], lots: Sequence[HarvestLot], state: FarmState) -> list[Filled]:
    """Share out what is cut to lines, the oldest crop first; a mix goes out as far as its scarcest part."""
    left = {lot.harvest: lot.left_g for lot in lots}
    by_crop: dict[str, list[str]] = {}
    for lot in lots:
        by_crop.setdefault(lot.crop, []).append(lot.harvest)
    found = []
    for line in served_first(lines, state):
        if line.live or line.grams - line.done_g <= LITTLE:
            continue
        grams, packs = _whole(line, by_crop, left)
        if grams > LITTLE:
            parts = [
                part for each in line.parts for part in _taken(by_crop.get(each.crop, []), left, grams * each.share)
            ]
            found.append(Filled(line, tuple(parts), packs))
    return found


def _whole(line: LineDue, by_crop: Mapping[str, list[str]], left: Mapping[str, float]) -> tuple[float, int]:
    """How much of a line there is crop for, and in how many packs."""
    there = (sum(left[lot] for lot in by_crop.get(part.crop, [])) / part.share for part in line.parts if part.share)
    grams = min([line.grams - line.done_g, *there])
    if line.pack_g is None:
        return grams, 0
    packs = int((grams + LITTLE) // line.pack_g)
    return packs * line.pack_g, packs


def _taken(lots: Sequence[str], left: dict[str, float], grams: float) -> list[LotGrams]:
    taken = []
    for lot in lots:
        part = min(left[lot], grams)
        if part > 0.005:
            taken.append(LotGrams(harvest=lot, grams=min(round(part, 3), left[lot])))
            left[lot] -= taken[-1].grams
            grams -= part
    return taken


def short(lines: Iterable[LineDue], lots: Iterable[HarvestLot]) -> dict[str, float]:
    """Grams of each crop that lines want beyond what is cut. [g]"""
    wanted: dict[str, float] = {}
    for line in lines:
        for part in line.parts:
            open_g = max(line.grams - line.done_g, 0.0) * part.share
            wanted[part.crop] = wanted.get(part.crop, 0.0) + open_g
    for lot in lots:
        if lot.crop in wanted:
            wanted[lot.crop] -= lot.left_g
    return {crop: grams for crop, grams in wanted.items() if grams > LITTLE}
