"""The cold room: what each lot and pack holds, until when it is good, and which orders it is meant for."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import msgspec

from trayward.farm.calendar import local_day
from trayward.farm.due import lines_due
from trayward.farm.holds import lot_held, pack_held
from trayward.farm.orders import LineDue
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, HarvestLot, PackLot
from trayward.rounds.scene import ENOUGH
from trayward.words import listed

NEARLY_PAST_DAYS = 1
"""A lot that is good for no more days than this is to go first. [d]"""


class MeantFor(msgspec.Struct, frozen=True, kw_only=True):
    """Part of a lot that an order line due soon will take. [g]"""

    line: str
    customer: str
    product: str
    due: date
    grams: float


class ColdLot(msgspec.Struct, frozen=True, kw_only=True):
    """A harvest lot of which something is left loose."""

    harvest: str
    crop: str
    cut_on: date
    grams: float
    left_g: float
    keeps_days: int
    """How long its crop keeps cold, by the recipe. [d]"""
    good_until: date
    days_left: int
    """Days until it is past; below 0 where it is. [d]"""
    meant_for: tuple[MeantFor, ...] = ()
    held: str = ""
    """Why it is held back, for a tray in it: it is neither packed nor sold; empty: it is not."""

    @property
    def free_g(self) -> float:
        """What no order takes and may be had. [g]"""
        return 0.0 if self.held else max(0.0, self.left_g - sum(part.grams for part in self.meant_for))

    @property
    def past(self) -> bool:
        """Whether it has been there longer than it keeps."""
        return self.days_left < 0

    @property
    def nearly_past(self) -> bool:
        """Whether it is to go first."""
        return 0 <= self.days_left <= NEARLY_PAST_DAYS


class ColdPack(msgspec.Struct, frozen=True, kw_only=True):
    """Packs of one filling that are still here."""

    pack: str
    product: str
    packed_on: date
    left: int
    pack_g: float
    best_before: date | None
    days_left: int | None
    """Days until its best-before day; None where it has none. [d]"""
    held: str = ""
    """Why it is held back, for a tray in it; empty: it is not."""


class ColdRoom(msgspec.Struct, frozen=True, kw_only=True):
    """What is in the cold room, what is good the shortest first."""

    lots: tuple[ColdLot, ...] = ()
    packs: tuple[ColdPack, ...] = ()

    @property
    def grams(self) -> float:
        """All that is left, loose and in packs. [g]"""
        return sum(lot.left_g for lot in self.lots) + sum(pack.left * pack.pack_g for pack in self.packs)


def cold_room(state: FarmState, settings: FarmSettings, today: date) -> ColdRoom:
    """
    What is in the cold room on a day.

    Parameters
    ----------
    state : FarmState
        The farm now.
    settings : FarmSettings
        For the farm's own day.
    today : date
        The farm's day.

    Returns
    -------
    ColdRoom
        Each lot with the order lines it is meant for: lines take what they need in the order they are due, packs of
        their product first, then the oldest lot that is still good on their day. A mix takes its parts in their shares.
    """
    held = [lot for lot in state.harvests.values() if lot.left_g > ENOUGH]
    lots = sorted((_lot(state, lot, settings, today) for lot in held), key=lambda lot: (lot.good_until, lot.harvest))
    packs = [_pack(state, pack, settings, today) for pack in state.packs.values() if pack.left > 0]
    meant = _given_out(state, lots, packs, today)
    return ColdRoom(
        lots=tuple(msgspec.structs.replace(lot, meant_for=tuple(meant[lot.harvest])) for lot in lots),
        packs=tuple(sorted(packs, key=lambda pack: (pack.best_before or date.max, pack.pack))),
    )


def _lot(state: FarmState, lot: HarvestLot, settings: FarmSettings, today: date) -> ColdLot:
    cut_on = local_day(lot.cut_at, settings)
    good_until = cut_on + timedelta(days=lot.cold_room_days)
    return ColdLot(
        harvest=lot.harvest,
        crop=lot.crop,
        cut_on=cut_on,
        grams=lot.grams,
        left_g=lot.left_g,
        keeps_days=lot.cold_room_days,
        good_until=good_until,
        days_left=(good_until - today).days,
        held=listed(dict.fromkeys(lot_held(state, lot).values())),
    )


def _pack(state: FarmState, pack: PackLot, settings: FarmSettings, today: date) -> ColdPack:
    return ColdPack(
        pack=pack.pack,
        product=pack.product,
        packed_on=local_day(pack.packed_at, settings),
        left=pack.left,
        pack_g=pack.pack_g,
        best_before=pack.best_before,
        days_left=(pack.best_before - today).days if pack.best_before is not None else None,
        held=listed(dict.fromkeys(pack_held(state, pack.parts).values())),
    )


def _given_out(
    state: FarmState, lots: Sequence[ColdLot], packs: Sequence[ColdPack], today: date
) -> dict[str, list[MeantFor]]:
    """By lot, which lines take how much of it."""
    meant: dict[str, list[MeantFor]] = {lot.harvest: [] for lot in lots}
    last = max((lot.good_until for lot in lots), default=today)
    if not lots or last < today:
        return meant
    # What is held back is for nobody until it is cleared.
    loose = {lot.harvest: 0.0 if lot.held else lot.left_g for lot in lots}
    packed = {pack.pack: 0 if pack.held else pack.left for pack in packs}
    for line in lines_due(state, today, last):
        wanted = _less_packs(line, packs, packed)
        if not line.live and wanted > ENOUGH:
            _take(line, wanted, lots, loose, meant)
    return meant


def _less_packs(line: LineDue, packs: Sequence[ColdPack], packed: dict[str, int]) -> float:
    """What a line still wants once packs of its product have gone to it. [g]"""
    wanted = line.grams - line.done_g
    for pack in packs:
        fits = pack.product == line.product and (line.pack_g is None or abs(line.pack_g - pack.pack_g) < ENOUGH)
        if fits and (pack.best_before is None or line.due <= pack.best_before) and pack.pack_g > 0:
            count = min(packed[pack.pack], int((wanted + ENOUGH) // pack.pack_g))
            packed[pack.pack] -= max(0, count)
            wanted -= max(0, count) * pack.pack_g
    return wanted


def _take(
    line: LineDue, wanted: float, lots: Sequence[ColdLot], loose: dict[str, float], meant: dict[str, list[MeantFor]]
) -> None:
    good = {
        part.crop: [lot for lot in lots if lot.crop == part.crop and line.due <= lot.good_until] for part in line.parts
    }
    shares = {part.crop: part.share for part in line.parts if part.share > 0}
    # A mix goes out in its shares: the scarcest part decides how much of the whole can.
    held = (sum(loose[lot.harvest] for lot in good[crop]) / share for crop, share in shares.items())
    whole = min([wanted, *held]) if shares else 0.0
    for crop, share in shares.items():
        need = whole * share
        for lot in good[crop]:
            part = min(need, loose[lot.harvest])
            if part > ENOUGH / 10:
                loose[lot.harvest] -= part
                need -= part
                meant[lot.harvest].append(
                    MeantFor(line=line.line, customer=line.customer, product=line.product, due=line.due, grams=part)
                )
