"""What goes out: which packs and lots fill an order, how long they keep, and what was beyond the order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from trayward.errors import Finding, InputError
from trayward.farm.calendar import local_day
from trayward.farm.due import lines_due
from trayward.farm.entries import LineDelivered, LotGrams, PackCount
from trayward.farm.holds import lot_held, pack_held
from trayward.farm.orders import LineDue, Product
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, HarvestLot
from trayward.farm.transitions.say import show

LITTLE_G = 0.06
"""Packs are filled to a tenth of a gram: a line that lacks no more than this has all it asked for. [g]"""
GOOD_WEIGHT = 1.1
"""So much more than asked is good weight; beyond it a delivery deserves a look. [-]"""


def beyond_asked(state: FarmState, customer: str, lines: Sequence[LineDelivered]) -> list[Finding]:
    """What is odd about a delivery, held against the orders: somebody else's line, or more than was asked for."""
    found: list[Finding] = []
    for name in dict.fromkeys(line.line for line in lines):
        asked = _line_named(state, name)
        if asked is None:
            continue
        if asked.customer != customer:
            message = f"line {name} = {asked.customer}: it was delivered to {customer}."
            found.append(Finding(code="line-customer", severity="odd", message=message, remedy="Check the line."))
        mine = [line for line in lines if line.line == name]
        message = _too_much(asked, _grams_of(state, mine), sum(len(line.trays) for line in mine))
        if message:
            remedy = "If it was mistyped, strike it and say it anew."
            found.append(Finding(code="line-over", severity="odd", message=message, remedy=remedy))
    return found


def _line_named(state: FarmState, name: str) -> LineDue | None:
    """A line by its name, `ORDER/LINE` or `STANDING@DATE/LINE`; None where nobody ordered it."""
    order, _, _ = name.rpartition("/")
    if order in state.orders:
        day = state.orders[order].due
    else:
        try:
            day = date.fromisoformat(order.rpartition("@")[2])
        except ValueError:
            return None
    return next((line for line in lines_due(state, day, day) if line.line == name), None)


def _grams_of(state: FarmState, lines: Sequence[LineDelivered]) -> float:
    packed = sum(
        count.packs * state.packs[count.pack].pack_g
        for line in lines
        for count in line.packs
        if count.pack in state.packs
    )
    return packed + sum(part.grams for line in lines for part in line.loose)


def _too_much(asked: LineDue, grams: float, trays: int) -> str:
    """Why this is more than a line asked for, a tenth more for good weight allowed; empty where it is not."""
    if asked.live:
        total = asked.done_trays + trays
        return f"line {asked.line} = {total} trays: {asked.trays} were asked for." if total > asked.trays else ""
    total_g = asked.done_g + grams
    if total_g <= asked.grams * GOOD_WEIGHT + LITTLE_G:
        return ""
    return f"line {asked.line} = {show(total_g)} g: {show(asked.grams)} g were asked for."


def oldest_lots(state: FarmState, product: Product, grams: float, day: date | None = None) -> dict[str, float]:
    """Harvest lots to take `grams` of a product from: each crop its share, oldest cut first. [g]

    With `day`, the farm's day, lots that have been in the cold room longer than they keep are left alone; lots with
    crop of trays that are held back always are.

    Raises
    ------
    InputError
        If the cold room does not hold enough of a crop.
    """
    taken: dict[str, float] = {}
    shares = {part.crop: part.share for part in product.parts} or {product.name: 1.0}
    for crop, share in shares.items():
        taken |= _oldest_of(state, crop, grams * share, day)
    return taken


def _oldest_of(state: FarmState, crop: str, grams: float, day: date | None) -> dict[str, float]:
    of_crop = [lot for lot in state.harvests.values() if lot.crop == crop and lot.left_g > 0]
    lots = sorted((lot for lot in of_crop if _good(state, lot, day)), key=lambda lot: (lot.cut_at, lot.harvest))
    held = sum(lot.left_g for lot in lots)
    if held < grams - 0.01:
        held_back = [lot.harvest for lot in of_crop if lot_held(state, lot)]
        old = ", ".join(lot.harvest for lot in of_crop if lot not in lots and lot.harvest not in held_back)
        remedy = f"Cut more, or pack fewer; {old} is past its days." if old else "Cut more, or pack fewer."
        if held_back:
            remedy += f" {', '.join(held_back)} is held back for suspected trouble: see trayward trouble list."
        raise InputError(f"cut {crop}", show(held), f"this takes {show(grams)} g", remedy, "g")
    taken: dict[str, float] = {}
    for lot in lots:
        part = min(lot.left_g, grams - sum(taken.values()))
        if part > 0.005:
            taken[lot.harvest] = rounded(part, lot.left_g)
    return taken


def rounded(grams: float, held: float) -> float:
    """Grams to a thousandth, never more than there is: a round number up would be refused. [g]"""
    return min(round(grams, 3), held)


def _good(state: FarmState, lot: HarvestLot, day: date | None) -> bool:
    """Whether a lot is within the days its crop keeps cold, and none of its trays is held back."""
    if lot_held(state, lot):
        return False
    if day is None or state.settings is None:
        return True
    return day <= local_day(lot.cut_at, state.settings) + timedelta(days=lot.cold_room_days)


def keeps_until(state: FarmState, lots: Mapping[str, float], settings: FarmSettings) -> date | None:
    """The last good day of what is made from these lots: the first of theirs, by the recipe's cold-room life."""
    days = [
        local_day(lot.cut_at, settings) + timedelta(days=lot.cold_room_days)
        for name in lots
        if (lot := state.harvests.get(name)) is not None
    ]
    return min(days) if days else None


def last_day(pack: str, best_before: date | None, day: date) -> list[Finding]:
    """What is odd about a new pack lot that is good until the day it is packed, or not even that."""
    if best_before is None or best_before > day:
        return []
    when = "that is today" if best_before == day else "that day is over"
    remedy = "Pack fresher crop" if best_before < day else "It has to go out today, or pack fresher crop"
    message = f"pack lot {pack} = best before {best_before}: {when}."
    return [
        Finding(
            code="pack-last-day", severity="odd", message=message, remedy=f"{remedy}. When in doubt, throw it away."
        )
    ]


def fill_lines(
    state: FarmState, due: Sequence[LineDue], trays: Sequence[str], day: date | None = None
) -> list[LineDelivered]:
    """What goes out for each line: packs of its product first, then loose grams, oldest first; live trays as named.

    With `day`, the farm's day, what is past its best-before day or its days in the cold room is left alone.
    """
    packs_left = {
        lot.pack: lot.left
        for lot in sorted(state.packs.values(), key=lambda lot: lot.packed_at)
        if lot.left > 0
        and (day is None or lot.best_before is None or day <= lot.best_before)
        and not pack_held(state, lot.parts)
    }
    loose_left = {
        name: lot.left_g for name, lot in state.harvests.items() if lot.left_g > LITTLE_G and _good(state, lot, day)
    }
    trays_left = list(trays)
    filled: list[LineDelivered] = []
    for line in due:
        if line.live:
            mine = _matching_trays(state, line, trays_left)
            made = LineDelivered(line=line.line, trays=tuple(mine))
        else:
            made = _fill_cut_line(state, line, packs_left, loose_left)
        if made.packs or made.loose or made.trays:
            filled.append(made)
    return filled


def _matching_trays(state: FarmState, line: LineDue, trays_left: list[str]) -> list[str]:
    crops = {part.crop for part in line.parts}
    fitting = [name for name in trays_left if (tray := state.tray(name)) is not None and tray.crop in crops]
    mine = fitting[: max(line.trays - line.done_trays, 0)]
    for name in mine:
        trays_left.remove(name)
    return mine


def _fill_cut_line(
    state: FarmState, line: LineDue, packs_left: dict[str, int], loose_left: dict[str, float]
) -> LineDelivered:
    wanted = line.grams - line.done_g
    packs: list[PackCount] = []
    for name in list(packs_left):
        lot = state.packs[name]
        fits = lot.product == line.product and (line.pack_g is None or abs(lot.pack_g - line.pack_g) < 0.5)
        count = min(packs_left[name], int((wanted + LITTLE_G) // lot.pack_g)) if fits else 0
        if count > 0:
            packs.append(PackCount(pack=name, packs=count))
            packs_left[name] -= count
            wanted -= count * lot.pack_g
    loose: list[LotGrams] = []
    # A line asked for in packs goes out in packs; loose grams fill only what was asked for by weight.
    if line.pack_g is None and wanted > LITTLE_G:
        loose = _loose_for(state, line, wanted, loose_left)
    return LineDelivered(line=line.line, packs=tuple(packs), loose=tuple(loose))


def _loose_for(state: FarmState, line: LineDue, wanted: float, loose_left: dict[str, float]) -> list[LotGrams]:
    held = {
        part.crop: sum(left for name, left in loose_left.items() if state.harvests[name].crop == part.crop)
        for part in line.parts
    }
    # A mix goes out in its shares: the scarcest part decides how much of the whole can.
    whole = min([wanted, *(held[part.crop] / part.share for part in line.parts if part.share > 0)])
    loose: list[LotGrams] = []
    for part in line.parts:
        need = whole * part.share
        for name in sorted(loose_left, key=lambda lot: (state.harvests[lot].cut_at, lot)):
            take = min(loose_left[name], need) if state.harvests[name].crop == part.crop else 0.0
            if take > 0.005:
                loose.append(LotGrams(harvest=name, grams=rounded(take, loose_left[name])))
                loose_left[name] -= take
                need -= take
    return loose
