"""A farm's sheets: what a moment, the plan and the book say, and the row numbers that stand there, kept."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, TypeVar

import msgspec

from trayward.codes.lot import coded
from trayward.desk.going_out import fill_lines
from trayward.errors import InputError, NotFoundError
from trayward.farm.calendar import local_day, zone
from trayward.farm.due import lines_due
from trayward.farm.entries import Cut, Delivered, LineDelivered, Packed
from trayward.farm.orders import LineDue
from trayward.farm.settings import FarmPaper, FarmSettings, ShownUnits
from trayward.farm.state import FarmState
from trayward.paper.goods_sheets import (
    DeliveryNote,
    NoteLine,
    Party,
    Picked,
    PickFor,
    PickLine,
    delivery_note,
    pick_list,
)
from trayward.paper.harvest_sheet import CutTold, TrayToCut, WashTold, harvest_sheet, wash_list
from trayward.paper.invoice import invoice_of, invoice_sheet
from trayward.paper.paper import paper_of
from trayward.paper.round_sheet import round_name, round_sheet
from trayward.paper.sowing_sheet import LotShare, SowingTold, sowing_sheet
from trayward.paper.tongue import ENGLISH, Tongue, later
from trayward.rounds.amount_words import LOT, SEED, SPOON
from trayward.rounds.told import RowTold, told_of
from trayward.rounds.types import Round, RoundRow
from trayward.rounds.words import listed

if TYPE_CHECKING:
    from trayward.bootstrap import Farm

Made = TypeVar("Made", Packed, Cut, Delivered)
MOST_DAYS = 42
"""Days of sowings or deliveries on one sheet."""


class Printed(msgspec.Struct, frozen=True, kw_only=True):
    """A sheet, ready for the printer."""

    pdf: bytes
    name: str
    """For a file: `round-261127-0710`."""
    sheet: str = ""
    """Under which its row numbers are kept; empty where it has none."""


# Row numbers that stand on paper --------------------------------------------------------------------------------------


class _Kept(msgspec.Struct, frozen=True, kw_only=True):
    round: str
    rows: tuple[RowTold, ...]
    asks: tuple[int, ...] = ()
    """Numbers of the rows with a question."""


class _Day(msgspec.Struct, frozen=True, kw_only=True):
    """The sheets of a day by their names."""

    day: str
    sheets: dict[str, _Kept]


DAYS_KEPT = 14
"""So long a sheet can be entered by its numbers. [d]"""


def sheet_name(at: datetime, settings: FarmSettings) -> str:
    """
    What a sheet of a moment is called: the farm's day and minute.

    Examples
    --------
    >>> from datetime import UTC
    >>> sheet_name(datetime(2026, 11, 27, 7, 10, tzinfo=UTC), FarmSettings(name="Lantern Loft"))
    '261127-0710'
    """
    return f"{at.astimezone(zone(settings)):%y%m%d-%H%M}"


def keep_rows(farm: Farm, present: Round, settings: FarmSettings) -> str:
    """Keep what each row number of a round stands for, and give the sheet's name.

    Kept beside the book for two weeks, as all that was worked out; lost when the book is built anew. A second sheet of
    the same minute takes the place of the first.
    """
    name = sheet_name(present.at, settings)
    rows = tuple(told_of(row, present.round, present.at, settings) for row in present.rows)
    asks = tuple(row.number for row in present.rows if row.cue)
    sheets = _sheets(farm, name) | {name: _Kept(round=present.round, rows=rows, asks=asks)}
    farm.book.keep_worked_out(_key(name), msgspec.json.encode(_Day(day=name[:6], sheets=sheets)))
    return name


def sheet_rows(farm: Farm, sheet: str) -> tuple[RowTold, ...]:
    """
    The rows of a sheet as they were when it was printed; the first is number 1.

    Raises
    ------
    NotFoundError
        If no sheet of that name is kept.
    """
    return _kept(farm, sheet).rows


def sheet_questions(farm: Farm, sheet: str) -> frozenset[int]:
    """Numbers of the rows of a sheet that asked a question. Raises as `sheet_rows`."""
    return frozenset(_kept(farm, sheet).asks)


def _kept(farm: Farm, sheet: str) -> _Kept:
    name = sheet.strip()
    sheets = _sheets(farm, name) if re.fullmatch(r"\d{6}-\d{4}", name) else {}
    if name not in sheets:
        remedy = "Its name stands at the foot of the sheet, and holds for two weeks; answer by place if it is lost."
        raise NotFoundError("sheet", sheet, tuple(sheets), remedy)
    return sheets[name]


def _sheets(farm: Farm, name: str) -> dict[str, _Kept]:
    """The sheets kept of the day a name says."""
    found = farm.book.worked_out(_key(name))
    kept = msgspec.json.decode(found, type=_Day) if found is not None else _Day(day="", sheets={})
    return kept.sheets if kept.day == name[:6] else {}


def _key(name: str) -> str:
    """Where a day's sheets are kept: the place is used again, so that old sheets do not pile up."""
    try:
        day = datetime.strptime(name[:6], "%y%m%d").date()  # noqa: DTZ007  a day, not a moment
    except ValueError:
        return "paper rows"
    return f"paper rows {day.toordinal() % DAYS_KEPT}"


# The round and what is done in it -------------------------------------------------------------------------------------


def round_paper(
    farm: Farm, at: datetime, *, size: str = "", present: Round | None = None, racks: Sequence[str] = (),
    tongue: Tongue = ENGLISH,
) -> Printed:  # fmt: skip
    """
    The present round for the wall.

    Parameters
    ----------
    present : Round, optional
        Where it was made already.
    racks : sequence of str
        Racks, shelves or tables to print alone, for a sheet at each rack; numbers stay those of the whole round.
    tongue : Tongue
        The language it is in, as for every sheet below.

    Raises
    ------
    NotFoundError
        If the round has no row at one of them, and the farm no such place.
    """
    settings = farm.settings(at)
    present = present or farm.round_soon(at)
    sheet = keep_rows(farm, present, settings)
    shown = _at_places(present, farm.state(at), racks) if racks else present
    made = round_sheet(shown, paper_of(settings, at, size, tongue), sheet)
    return Printed(pdf=made, name=f"round-{sheet}", sheet=sheet)


def _at_places(present: Round, state: FarmState, wanted: Sequence[str]) -> Round:
    """The rows of some racks, shelves or tables alone."""
    racks = {shelf.name: shelf.rack for shelf in state.shelves.values()}
    known = {*racks, *racks.values(), *(row.place for row in present.rows)}
    for name in wanted:
        if name not in known:
            raise NotFoundError("place", name, tuple(sorted(known)))
    rows = tuple(row for row in present.rows if row.place in wanted or racks.get(row.place, "") in wanted)
    return msgspec.structs.replace(present, rows=rows, minutes=sum((row.minutes for row in rows), 0.0))


def sowing_paper(farm: Farm, at: datetime, *, days: int = 7, size: str = "", tongue: Tongue = ENGLISH) -> Printed:
    """Sowings of the round, and of the kept plan for the days after."""
    settings = farm.settings(at)
    today, last, about = _days(at, days, settings, tongue)
    present = farm.round_soon(at)
    sheet = keep_rows(farm, present, settings)
    told = [_sown_now(row, today) for row in present.rows if row.kind == "sow"]
    told += _sown_later(farm, at, today, last)
    made = sowing_sheet(told, paper_of(settings, at, size, tongue), about, sheet)
    return Printed(pdf=made, name=f"sowing-{sheet}", sheet=sheet)


def _days(at: datetime, days: int, settings: FarmSettings, tongue: Tongue) -> tuple[date, date, str]:
    """The first and the last of so many days from today, and both in words."""
    if not 1 <= days <= MOST_DAYS:
        raise InputError("days", days, f"must lie in [1, {MOST_DAYS}]", "Say how many days the sheet is for.", "d")
    today = local_day(at, settings)
    last = today + timedelta(days=days - 1)
    span = tongue._("%(first)s to %(last)s", first=tongue.day(today), last=tongue.day(last))
    return today, last, span if days > 1 else tongue.day(today)


def _sown_now(row: RoundRow, today: date) -> SowingTold:
    seed = next((amount.value for amount in row.amounts if amount.what == SEED and amount.unit == "g"), 0.0)
    spoons = next((amount.value for amount in row.amounts if amount.unit == SPOON), 0.0)
    lots = [
        LotShare(lot=amount.what.removeprefix(LOT), grams=amount.value)
        for amount in row.amounts
        if amount.what.startswith(LOT)
    ]
    if not lots:
        lots = [LotShare(lot=lot, grams=seed * row.count / len(row.lots)) for lot in row.lots]
    return SowingTold(
        day=today, recipe=row.recipe, crop=row.crop, trays=row.count, seed_g=seed, lots=tuple(lots), spots=row.spots,
        number=row.number, spoons=spoons,
    )  # fmt: skip


def _sown_later(farm: Farm, at: datetime, today: date, last: date) -> Iterable[SowingTold]:
    plan = farm.kept_plan(at)
    for sowing in plan.sowings if plan is not None else ():
        if today < sowing.sow_on <= last:
            yield SowingTold(
                day=sowing.sow_on, recipe=sowing.recipe, crop=sowing.crop, trays=sowing.trays,
                seed_g=sowing.seed_g / max(sowing.trays, 1),
                lots=tuple(LotShare(lot=taken.lot, grams=taken.grams) for taken in sowing.lots),
            )  # fmt: skip


def harvest_paper(farm: Farm, at: datetime, *, size: str = "", tongue: Tongue = ENGLISH) -> Printed:
    """Trays that the round asks to cut, with what each likely weighs."""
    settings, present = farm.settings(at), farm.round_soon(at)
    sheet = keep_rows(farm, present, settings)
    rows = [row for row in present.rows if row.kind == "cut"]
    expected = farm.weights_expected([tray for row in rows for tray in row.trays], at) if rows else {}
    cuts = []
    for row in rows:
        spots = dict(zip(row.trays, row.spots, strict=False))
        ranges = {tray: expected[tray].expected for tray in row.trays if tray in expected}
        trays = tuple(
            TrayToCut(
                tray=tray, spot=spots.get(tray, ""), low_g=ranges[tray].low if tray in ranges else None,
                high_g=ranges[tray].high if tray in ranges else None,
            )
            for tray in row.trays
        )  # fmt: skip
        _, _, how = row.do.partition(". ")
        cuts.append(CutTold(number=row.number, crop=row.crop, trays=trays, lots=row.lots, height=how, why=row.why))
    made = harvest_sheet(cuts, paper_of(settings, at, size, tongue), round_name(present.round, tongue), sheet)
    return Printed(pdf=made, name=f"harvest-{sheet}", sheet=sheet)


def wash_paper(farm: Farm, at: datetime, *, size: str = "", tongue: Tongue = ENGLISH) -> Printed:
    """What the round asks to strip, wash and sanitise."""
    settings, present = farm.settings(at), farm.round_soon(at)
    sheet = keep_rows(farm, present, settings)
    washes = []
    for row in present.rows:
        if row.kind in ("strip", "wash", "sanitise"):
            title, _, how = row.do.partition(". ")
            verb, _, what = title.rstrip(".").partition(": ")
            count = row.count or len(row.trays)
            washes.append(WashTold(number=row.number, do=verb, what=what, count=count, how=how, spots=row.spots))
    made = wash_list(washes, paper_of(settings, at, size, tongue), round_name(present.round, tongue), sheet)
    return Printed(pdf=made, name=f"washing-{sheet}", sheet=sheet)


# What goes out --------------------------------------------------------------------------------------------------------


def picks_of(farm: Farm, at: datetime, first: date, last: date, tongue: Tongue = ENGLISH) -> list[PickFor]:
    """What each customer is due from one day to another, and what it can be filled from now."""
    state, settings = farm.state(at), farm.settings(at)
    due = [line for line in lines_due(state, first, last) if _is_open(line)]
    ready = [tray for row in farm.round_soon(at).rows if row.kind == "deliver" for tray in row.trays]
    filled = {each.line: each for each in fill_lines(state, due, ready, local_day(at, settings))}
    groups: dict[tuple[date, str], list[LineDue]] = {}
    for line in due:
        groups.setdefault((line.due, line.customer), []).append(line)
    return [
        PickFor(
            customer=customer, day=day, note=state.customers[customer].note if customer in state.customers else "",
            lines=tuple(_pick_line(line, filled.get(line.line), state, settings.units, tongue) for line in lines),
        )
        for (day, customer), lines in groups.items()
    ]  # fmt: skip


def _is_open(line: LineDue) -> bool:
    return line.trays > line.done_trays if line.live else line.grams - line.done_g > 0.5


def _pick_line(
    line: LineDue, filled: LineDelivered | None, state: FarmState, units: ShownUnits, tongue: Tongue
) -> PickLine:
    picked: list[Picked] = []
    grams = 0.0
    for count in filled.packs if filled else ():
        picked.append(Picked(code=coded(count.pack), packs=count.packs))
        grams += count.packs * state.packs[count.pack].pack_g
    for part in filled.loose if filled else ():
        picked.append(Picked(code=coded(part.harvest), grams=part.grams))
        grams += part.grams
    for name in filled.trays if filled else ():
        tray = state.tray(name)
        picked.append(Picked(code=coded(name), spot=tray.spot or "" if tray else ""))
    return PickLine(
        line=line.line, product=line.product, asked=_asked(line, units, tongue), from_=tuple(picked),
        short=_short(line, grams, len(filled.trays) if filled else 0, units, tongue),
    )  # fmt: skip


def _asked(line: LineDue, units: ShownUnits, tongue: Tongue) -> str:
    if line.live:
        return tongue.counted(line.trays - line.done_trays, "tray")
    left = line.grams - line.done_g
    if line.pack_g:
        return _packs(round(left / line.pack_g), line.pack_g, units, tongue)
    return tongue.mass(left, units.mass)


def _packs(count: int, pack_g: float, units: ShownUnits, tongue: Tongue) -> str:
    """So many packs of a weight [g]."""
    mass = tongue.mass(pack_g, units.mass)
    return tongue._("%(packs)s of %(mass)s", packs=tongue.counted(count, "pack"), mass=mass)


def _short(line: LineDue, grams: float, trays: int, units: ShownUnits, tongue: Tongue) -> str:
    if line.live:
        missing = line.trays - line.done_trays - trays
        return tongue.counted(missing, "tray") if missing > 0 else ""
    left = line.grams - line.done_g - grams
    if left <= 0.5:
        return ""
    return tongue.counted(-int(-left // line.pack_g), "pack") if line.pack_g else tongue.mass(left, units.mass)


def pick_paper(farm: Farm, at: datetime, *, days: int = 2, size: str = "", tongue: Tongue = ENGLISH) -> Printed:
    """The pick list of today and the days after."""
    settings = farm.settings(at)
    today, last, about = _days(at, days, settings, tongue)
    made = pick_list(picks_of(farm, at, today, last, tongue), paper_of(settings, at, size, tongue), about)
    return Printed(pdf=made, name=f"picks-{sheet_name(at, settings)}")


def note_of(farm: Farm, delivery: str, at: datetime, tongue: Tongue = ENGLISH) -> DeliveryNote:
    """
    The note that goes with a delivery.

    Raises
    ------
    NotFoundError
        If the book has no such delivery.
    """
    said = said_of(farm, f"delivery:{delivery}", Delivered)
    if said is None:
        raise NotFoundError("delivery", delivery, (), "Look at the book for its name.")
    when, body = said
    settings = farm.settings(at)
    lines = [line for each in body.lines for line in _note_lines(farm, each, at, settings.units, tongue)]
    storage = storage_words(settings.paper, tongue)
    return DeliveryNote(
        number=coded(body.delivery), day=local_day(when, settings), seller=seller_of(settings),
        buyer=buyer_of(farm.state(at), body.customer), lines=tuple(lines), storage=storage,
    )  # fmt: skip


def storage_words(paper: FarmPaper, tongue: Tongue) -> str:
    """How crop is to be stored: as the farm typed it, or ours in the sheet's language where nobody did."""
    return tongue._(STORAGE) if paper.storage == STORAGE else paper.storage


STORAGE = later("Keep cold.")
"""What stands on a farm's papers unless it says otherwise: the default of `FarmPaper.storage`."""


def seller_of(settings: FarmSettings) -> Party:
    """The farm as the selling side."""
    return Party(name=settings.name, lines=settings.paper.address)


def buyer_of(state: FarmState, customer: str) -> Party:
    """A customer as the buying side, with the address the farm has of them."""
    contact = state.contacts.get(customer)
    return Party(name=customer, lines=tuple(contact.address.splitlines()) if contact is not None else ())


def _note_lines(farm: Farm, line: LineDelivered, at: datetime, units: ShownUnits, tongue: Tongue) -> Iterable[NoteLine]:
    for count in line.packs:
        _, pack = said_of(farm, f"pack:{count.pack}", Packed) or (None, None)
        packs = tongue.counted(count.packs, "pack")
        yield NoteLine(
            product=pack.product if pack else count.pack,
            quantity=_packs(count.packs, pack.pack_g, units, tongue) if pack else packs,
            lots=(coded(count.pack),), best_before=pack.best_before if pack else None,
        )  # fmt: skip
    for part in line.loose:
        _, cut = said_of(farm, f"harvest:{part.harvest}", Cut) or (None, None)
        name = cut.crop if cut else part.harvest
        yield NoteLine(product=name, quantity=tongue.mass(part.grams, units.mass), lots=(coded(part.harvest),))
    if line.trays:
        crops = _crops_of(farm, line.trays, at)
        yield NoteLine(
            product=tongue._("live %(crops)s", crops=tongue.said(crops)) if crops else tongue._("live trays"),
            quantity=tongue.counted(len(line.trays), "tray"),
            lots=tuple(coded(tray) for tray in line.trays),
        )  # fmt: skip


def _crops_of(farm: Farm, trays: Sequence[str], at: datetime) -> str:
    state = farm.state(at)
    found = (state.tray(name) for name in trays)
    return listed(dict.fromkeys(tray.crop for tray in found if tray is not None))


def said_of(farm: Farm, subject: str, kind: type[Made]) -> tuple[datetime, Made] | None:
    """When a pack, harvest lot or delivery was made and what the book says of it, struck entries left out."""
    struck = farm.book.struck()
    for kept in farm.book.about(subject):
        if isinstance(kept.entry.body, kind) and kept.entry.id not in struck:
            return kept.entry.at, kept.entry.body
    return None


def note_paper(farm: Farm, delivery: str, at: datetime, *, size: str = "", tongue: Tongue = ENGLISH) -> Printed:
    """A delivery note of a delivery in the book."""
    settings = farm.settings(at)
    made = delivery_note(note_of(farm, delivery, at, tongue), paper_of(settings, at, size, tongue))
    return Printed(pdf=made, name=f"delivery-{delivery}")


def invoice_paper(farm: Farm, name: str, at: datetime, *, size: str = "", tongue: Tongue = ENGLISH) -> Printed:
    """
    An invoice or a credit note of the book.

    Raises
    ------
    NotFoundError
        If the book has none of that name.
    """
    settings, bills = farm.settings(at), farm.state(at).bills
    if name not in bills:
        raise NotFoundError("invoice", name, tuple(bills))
    made = invoice_sheet(invoice_of(bills[name].bill, tongue), paper_of(settings, at, size, tongue))
    return Printed(pdf=made, name=f"invoice-{name}")
