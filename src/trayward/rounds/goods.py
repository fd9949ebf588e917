"""Pack and deliver: what goes out today and tomorrow, and what should have gone and did not."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import NamedTuple

from trayward.dates import day_words
from trayward.farm.calendar import day_start, local_day
from trayward.farm.due import lines_due
from trayward.farm.holds import hold_of, lot_held, pack_held
from trayward.farm.orders import LineDue
from trayward.farm.served_first import Turns, eaten_at_home
from trayward.farm.settings import MassUnit
from trayward.farm.state import FarmState, HarvestLot
from trayward.rounds.scene import ENOUGH, Scene, is_last
from trayward.rounds.types import Amount, RoundRow
from trayward.rounds.words import sentences, slug
from trayward.units import show_mass
from trayward.words import counted, listed

PACK_PLACE = "packing table"
COLD_ROOM = "cold room"
WORTH_PACKING = 0.25
"""A smaller part of what an order line still wants is not worth a job, and left for who wants less. Our choice. [-]"""
WORTH_SAYING = 0.25
"""A smaller part of a pack is not worth a word either. Our choice. [-]"""


@dataclass
class _Filled:
    """What is at hand for one order line, and what is still to do for it."""

    line: LineDue
    packed_g: float = 0.0
    loose_g: float = 0.0
    """Grams of crop in the cold room that may be packed for it."""
    lots: dict[str, float] = field(default_factory=dict)
    packs: dict[str, int] = field(default_factory=dict)
    trays: list[str] = field(default_factory=list)
    scrap_g: float = 0.0
    """Grams in the cold room that are too few to pack. [g]"""
    scarce: tuple[str, ...] = ()
    """The crops that hold up the others of a mix."""
    before: tuple[str, ...] = ()
    """Other customers of its day who were served first of what it lacks, each with the reason."""

    @property
    def open_g(self) -> float:
        """Grams still to deliver."""
        return max(self.line.grams - self.line.done_g, 0.0)

    @property
    def open_trays(self) -> int:
        """Live trays still to deliver."""
        return max(self.line.trays - self.line.done_trays, 0)

    @property
    def at_hand(self) -> bool:
        """Whether there is anything of it."""
        return bool(self.trays) or self.packed_g > 0 or self.loose_g > 0

    @property
    def short_g(self) -> float:
        """Grams neither packed nor cut."""
        return max(self.open_g - self.packed_g - self.loose_g, 0.0)

    @property
    def short(self) -> bool:
        """Whether something of it is missing."""
        return len(self.trays) < self.open_trays if self.line.live else self.short_g > ENOUGH


class _Stock:
    """The cold room, the packs and the ready trays, given out to lines one after another."""

    def __init__(self, scene: Scene, *, emptied: bool = False) -> None:
        """`emptied`: as if no bag had been weighed out yet, and all lay in the cold room still."""
        state = scene.state
        self._state = state
        self._packs: dict[str, dict[str, int]] = defaultdict(dict)
        """Product -> pack lot -> packs left."""
        for name, lot in state.packs.items():
            if lot.left > 0 and not pack_held(state, lot.parts):
                self._packs[lot.product][name] = lot.left
        back = self._empty_bags() if emptied else {}
        there = [one for one in state.harvests.values() if one.left_g > 0 or one.harvest in back]
        good = [one for one in there if not past_life(scene, one)]
        good = [one for one in good if not lot_held(state, one)]
        self._lots = sorted(good, key=lambda lot: (lot.cut_at, lot.harvest))
        self._left = {lot.harvest: lot.left_g + back.get(lot.harvest, 0.0) for lot in self._lots}
        self._bags: dict[str, str] = {}
        """The line each bag was weighed out for, as far as one can tell."""
        ready = [tray for tray in state.growing() if is_last(state.recipes.get(tray.recipe), tray.stage)]
        sound = [tray for tray in ready if not hold_of(tray)]
        self._trays = sorted(sound, key=lambda tray: (tray.stage_since, tray.tray))

    @property
    def has_bags(self) -> bool:
        """Whether anything was weighed out in one piece."""
        return any(self._is_bag(name) for packs in self._packs.values() for name in packs)

    def _is_bag(self, name: str) -> bool:
        return self._state.packs[name].packs == 1

    def _empty_bags(self) -> dict[str, float]:
        """Take away what was weighed out in one piece; harvest lot -> grams of it."""
        back: dict[str, float] = defaultdict(float)
        for packs in self._packs.values():
            for name in [name for name in packs if self._is_bag(name)]:
                del packs[name]
                for harvest, grams in self._state.packs[name].parts.items():
                    back[harvest] += grams
        return back

    def know_bags(self, as_if: Iterable[_Filled]) -> None:
        """
        Tell for which lines bags were weighed out: those that would get just so much, had none been weighed out yet.

        Else the bag of one line would go to another of the same product that is served before it, and the row that was
        answered would come again.
        """
        for each in as_if:
            for name, left in self._packs[each.line.product].items():
                same = abs(self._state.packs[name].pack_g - each.loose_g) <= ENOUGH
                if left > 0 and self._is_bag(name) and not each.line.pack_g and same and name not in self._bags:
                    self._bags[name] = each.line.line
                    break

    def fill(self, line: LineDue) -> _Filled:
        """Set aside what is at hand for a line: packs first, then loose crop, or ready trays for a live line."""
        filled = _Filled(line=line)
        if line.live:
            self._fill_live(filled)
        else:
            self._fill_packs(filled)
            self._fill_loose(filled)
        return filled

    def _fill_live(self, filled: _Filled) -> None:
        crops = {part.crop for part in filled.line.parts}
        chosen = [tray for tray in self._trays if tray.crop in crops][: filled.open_trays]
        filled.trays = [tray.tray for tray in chosen]
        self._trays = [tray for tray in self._trays if tray not in chosen]

    def _fill_packs(self, filled: _Filled) -> None:
        packs = self._packs[filled.line.product]
        for name, left in packs.items():
            lot = self._state.packs[name]
            if left <= 0 or lot.pack_g <= 0 or self._bags.get(name, filled.line.line) != filled.line.line:
                continue
            wanted = math.ceil((filled.open_g - filled.packed_g - ENOUGH) / lot.pack_g)
            taken = min(left, max(wanted, 0))
            if taken:
                filled.packs[name] = taken
                filled.packed_g += taken * lot.pack_g
                packs[name] -= taken

    def _fill_loose(self, filled: _Filled) -> None:
        """Loose crop in the shares of the product; whole packs only, where it goes out in packs."""
        shares = {part.crop: part.share for part in filled.line.parts if part.share > 0}
        enough_for = {crop: self._held(crop) / share for crop, share in shares.items()}
        wanted = max(filled.open_g - filled.packed_g, 0.0)
        possible = min(min(enough_for.values(), default=0.0), wanted)
        home = eaten_at_home(self._state, filled.line)
        grams = possible if home else _worth_packing(filled.line, possible, wanted)
        if grams < wanted - ENOUGH and len(shares) > 1:
            filled.scarce = tuple(crop for crop, most in enough_for.items() if most < wanted - ENOUGH)
        if grams <= ENOUGH:
            filled.scrap_g = possible if possible > max(ENOUGH, WORTH_SAYING * (filled.line.pack_g or 0.0)) else 0.0
            return
        filled.loose_g = grams
        for crop, share in shares.items():
            self._take(filled, crop, grams * share)

    def _held(self, crop: str) -> float:
        return sum(self._left[lot.harvest] for lot in self._lots if lot.crop == crop)

    def _take(self, filled: _Filled, crop: str, grams: float) -> None:
        for lot in self._lots:
            part = min(self._left[lot.harvest], grams) if lot.crop == crop else 0.0
            if part > 1e-9:
                filled.lots[lot.harvest] = filled.lots.get(lot.harvest, 0.0) + part
                self._left[lot.harvest] -= part
                grams -= part


def _worth_packing(line: LineDue, possible: float, wanted: float) -> float:
    """How much of what could be packed for a line is: whole packs, and no scrap of a weight. [g]"""
    if line.pack_g:
        return math.floor(possible / line.pack_g + 1e-6) * line.pack_g
    return possible if possible >= WORTH_PACKING * wanted else 0.0


class Goods(NamedTuple):
    """What is to be packed and delivered, and what is owed with nothing at hand for it."""

    rows: list[RoundRow]
    notes: list[str]


def goods(scene: Scene) -> Goods:
    """Pack what goes out today and tomorrow and is cut, and what is late; deliver what is due today, and what is late.

    A delivery for which nothing at all is at hand is no job yet: it is noted, and becomes a row once something is cut.
    """
    tomorrow = scene.today + timedelta(days=1)
    due = [line for line in scene.lines if line.due <= tomorrow and _is_open(line)]
    stock = _Stock(scene)
    # What is due today goes before what was missed: Friday's crop is not for last Tuesday's order.
    turns = Turns(due, scene.state)
    in_turn = sorted(turns.in_order(), key=lambda line: line.due < scene.today)
    if stock.has_bags:
        emptied = _Stock(scene, emptied=True)
        stock.know_bags([emptied.fill(line) for line in in_turn])
    filled = [stock.fill(line) for line in in_turn]
    for number, each in enumerate(filled):
        each.before = _served_before(turns, each, filled[:number])
    deliveries = _deliveries(each for each in filled if each.line.due <= scene.today)
    ready = [group for group in deliveries if any(each.at_hand for each in group)]
    empty = [group for group in deliveries if not any(each.at_hand for each in group)]
    rows = [*_pack_rows(scene, filled), *(_deliver_row(scene, group) for group in ready)]
    ahead = [each for each in filled if each.line.due > scene.today and each.scrap_g]
    notes = [*(_owed_note(scene, group) for group in empty), *(_ahead_note(scene, each) for each in ahead)]
    return Goods(rows=rows, notes=notes)


def _served_before(turns: Turns, short: _Filled, earlier: Sequence[_Filled]) -> tuple[str, ...]:
    """Who else of the day took of what a line lacks, and why they came first."""
    if not short.short:
        return ()
    crops = set(short.scarce) or {part.crop for part in short.line.parts}
    found: dict[str, str] = {}
    for each in earlier:
        line = each.line
        if line.due != short.line.due or line.customer == short.line.customer or line.live != short.line.live:
            continue
        if line.customer not in found and each.at_hand and crops & {part.crop for part in line.parts}:
            found[line.customer] = f"{line.customer} ({turns.why_before(line, short.line)})"
    return tuple(found.values())


def past_life(scene: Scene, lot: HarvestLot) -> bool:
    """Whether a harvest lot has been in the cold room longer than its crop keeps."""
    return scene.today > local_day(lot.cut_at, scene.settings) + timedelta(days=lot.cold_room_days)


def stale_notes(scene: Scene) -> list[str]:
    """What lies in the cold room past its days."""
    stale = [lot for lot in scene.state.harvests.values() if lot.left_g > ENOUGH and past_life(scene, lot)]
    return [
        f"{lot.crop} of {lot.harvest}, {show_mass(lot.left_g, scene.settings.units.mass)}: more than "
        f"{counted(lot.cold_room_days, 'day')} in the cold room. Do not pack it; say that it is thrown away."
        for lot in sorted(stale, key=lambda lot: lot.cut_at)
    ]


def _is_open(line: LineDue) -> bool:
    return line.trays > line.done_trays if line.live else line.grams - line.done_g > ENOUGH


# Pack -----------------------------------------------------------------------------------------------------------------


def _pack_rows(scene: Scene, filled: Iterable[_Filled]) -> list[RoundRow]:
    """One row for each product and day that goes out in packs; loose lines are weighed out one by one."""
    groups: dict[tuple[date, str, str], list[_Filled]] = defaultdict(list)
    for each in filled:
        if each.loose_g > 0 and not eaten_at_home(scene.state, each.line):
            loose = "" if each.line.pack_g else each.line.line
            groups[each.line.due, each.line.product, loose].append(each)
    return [_pack_row(scene, group) for group in groups.values()]


def _pack_row(scene: Scene, group: Sequence[_Filled]) -> RoundRow:
    line = group[0].line
    grams = sum(each.loose_g for each in group)
    net = line.pack_g or grams
    packs = round(grams / net)
    lots = _summed(each.lots for each in group)
    who = listed(dict.fromkeys(each.line.customer for each in group), most=4)
    shown = show_mass(net, scene.settings.units.mass)
    what = f"Pack: {line.product}, {counted(packs, 'pack')} of {shown}"
    if not line.pack_g and group[0].short_g > ENOUGH:
        asked = show_mass(group[0].open_g - group[0].packed_g, scene.settings.units.mass)
        what = f"Pack: {line.product}, {counted(packs, 'pack')} of {shown}, short of the {asked} asked for"
    stem, late = f"{slug(line.product)}-{line.due:%m%d}", line.due < scene.today
    return RoundRow(
        row=f"pack-{stem}" if line.pack_g else f"pack-{slug(line.line)}",
        number=0,
        kind="pack",
        place=PACK_PLACE,
        crop=line.product,
        do=what,
        how=sentences(f"for {who}, {day_words(line.due)}"),
        amounts=(
            Amount(what="net weight of a pack", value=round(net, 1), unit="g", each=False, note="on the scale"),
            *(Amount(what=f"of {lot}", value=round(part, 1), unit="g", each=False) for lot, part in lots.items()),
        ),
        lots=tuple(lots),
        lines=tuple(each.line.line for each in group),
        product=line.product,
        count=packs,
        overdue=late,
        since=day_start(line.due + timedelta(days=1), scene.settings) if late else None,
        why=sentences(f"was due {day_words(line.due)}" if late else "", _short_words(scene, group)),
    )


def _summed(parts: Iterable[dict[str, float]]) -> dict[str, float]:
    total: dict[str, float] = {}
    for lots in parts:
        for lot, grams in lots.items():
            total[lot] = total.get(lot, 0.0) + grams
    return total


# Deliver --------------------------------------------------------------------------------------------------------------


def _deliveries(filled: Iterable[_Filled]) -> list[list[_Filled]]:
    """Lines by day and customer."""
    groups: dict[tuple[date, str], list[_Filled]] = defaultdict(list)
    for each in filled:
        groups[each.line.due, each.line.customer].append(each)
    return list(groups.values())


def _owed_note(scene: Scene, group: Sequence[_Filled]) -> str:
    line = group[0].line
    what = listed((_line_words(scene, each) for each in group), most=4)
    when = "due today" if line.due == scene.today else f"was due {day_words(line.due)}"
    scraps = [_scrap_words(scene, each) for each in group if each.scrap_g]
    before = dict.fromkeys(who for each in group for who in each.before)
    if not scraps and before:
        return f"{line.customer}, {when}: {what}. Nothing is left for it; served first: {listed(before, most=3)}."
    if not scraps:
        return f"{line.customer}, {when}: {what}. Nothing is cut or ready for it."
    return f"{line.customer}, {when}: {what}. {sentences(*scraps)}"


def _ahead_note(scene: Scene, filled: _Filled) -> str:
    return f"{filled.line.customer}, {day_words(filled.line.due)}: {_scrap_words(scene, filled)}."


def _scrap_words(scene: Scene, filled: _Filled) -> str:
    """What there is of a line and why nobody is asked to pack it."""
    unit = scene.settings.units.mass
    held, line = show_mass(filled.scrap_g, unit, figures=2), filled.line
    scarce = listed(filled.scarce)
    if line.pack_g:
        each = show_mass(line.pack_g, unit)
        if scarce:
            return f"{line.product}: only {held} for a {each} pack, for want of {scarce}; leave it out"
        return f"{line.product}: only {held} for a {each} pack; leave it out"
    wanted = show_mass(filled.open_g - filled.packed_g, unit)
    if scarce:
        return f"{line.product}: only {held} of {wanted} is there, for want of {scarce}; leave it out, or agree on less"
    return f"{line.product}: only {held} of {wanted} is there; leave it out, or agree on less"


def _deliver_row(scene: Scene, group: Sequence[_Filled]) -> RoundRow:
    line = group[0].line
    late = line.due < scene.today
    home = eaten_at_home(scene.state, line)
    what = listed((_line_words(scene, each) for each in group), most=8)
    lots = dict.fromkeys(name for each in group for name in (*each.packs, *each.lots))
    return RoundRow(
        row=f"deliver-{slug(line.customer)}-{line.due:%m%d}",
        number=0,
        kind="deliver",
        place=COLD_ROOM,
        crop=listed(dict.fromkeys(each.line.product for each in group), most=4),
        # Whom it goes to is the heading; what goes there is too long for one.
        do=f"Take home: {what}" if home else f"Deliver: {line.customer}",
        how="" if home else sentences(what),
        amounts=tuple(_line_amount(each) for each in group),
        trays=tuple(tray for each in group for tray in each.trays),
        lots=tuple(lots),
        lines=tuple(each.line.line for each in group),
        customer=line.customer,
        home=home,
        overdue=late,
        since=day_start(line.due + timedelta(days=1), scene.settings) if late else None,
        why=sentences(f"was due {day_words(line.due)}" if late else "", _short_words(scene, group)),
    )


def owed_words(state: FarmState, customer: str, day: date, unit: MassUnit) -> str:
    """What a customer is still owed of a day, line by line; empty where all of it went out."""
    owed = [_Filled(line) for line in lines_due(state, day, day) if line.customer == customer]
    return listed((_open_words(each, unit) for each in owed if each.short), most=8)


def _line_words(scene: Scene, filled: _Filled) -> str:
    return _open_words(filled, scene.settings.units.mass)


def _open_words(filled: _Filled, unit: MassUnit) -> str:
    """What of a line is still to go out."""
    if filled.line.live:
        # The crop's own name says nothing of its being alive; a product made for it usually does.
        if "live" in filled.line.product.split():
            return f"{filled.open_trays} x {filled.line.product}"
        return f"{counted(filled.open_trays, 'live tray')} of {filled.line.product}"
    if filled.line.pack_g:
        packs = math.ceil((filled.open_g - ENOUGH) / filled.line.pack_g)
        return f"{counted(packs, 'pack')} of {filled.line.product}"
    return f"{show_mass(filled.open_g, unit)} of {filled.line.product}"


def _line_amount(filled: _Filled) -> Amount:
    what, note = filled.line.product, filled.line.line
    if filled.line.live:
        return Amount(what=f"trays of {what}", value=filled.open_trays, unit="pieces", each=False, note=note)
    return Amount(what=what, value=round(filled.open_g, 1), unit="g", each=False, note=note)


def _short_words(scene: Scene, group: Sequence[_Filled]) -> str:
    """What is missing at the moment, line by line."""
    missing = []
    for each in group:
        if each.line.live and len(each.trays) < each.open_trays:
            gap = counted(each.open_trays - len(each.trays), "tray")
            missing.append(f"{each.line.product} is short by {gap} that is ready")
        elif each.short_g > ENOUGH:
            shown = show_mass(each.short_g, scene.settings.units.mass)
            product, customer = each.line.product, each.line.customer
            about = f"{product} for {customer} is short by {shown}"
            if each.scarce and not each.scrap_g:
                about = f"{product} for {customer} is short by {shown}, for want of {listed(each.scarce)}"
            missing.append(about)
        if each.scrap_g:
            missing.append(_scrap_words(scene, each))
    before = dict.fromkeys(who for each in group for who in each.before)
    if before:
        missing.append(f"served first: {listed(before, most=3)}")
    return "; ".join(missing)
