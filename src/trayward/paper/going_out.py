"""A farm's papers of what goes out: the pick list, delivery notes and invoices."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, TypeVar

from trayward.codes.lot import coded, is_code, read
from trayward.desk.going_out import fill_lines
from trayward.errors import NotFoundError
from trayward.farm.calendar import local_day
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
from trayward.paper.invoice import invoice_of, invoice_sheet
from trayward.paper.kept_rows import sheet_name
from trayward.paper.paper import Printed, days_of, paper_of
from trayward.paper.tongue import ENGLISH, Tongue, later
from trayward.words import listed

if TYPE_CHECKING:
    from trayward.bootstrap import Farm

Made = TypeVar("Made", Packed, Cut, Delivered)


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
    today, last, about = days_of(at, days, settings, tongue)
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
    found = (said_of(farm, f"delivery:{name}", Delivered) for name in spellings(delivery))
    said = next((each for each in found if each is not None), None)
    if said is None:
        known = tuple(dict.fromkeys(each.delivery for each in reversed(farm.state(at).deliveries)))
        raise NotFoundError("delivery", delivery, known, "Look at the book for its name.")
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


def spellings(code: str) -> tuple[str, ...]:
    """
    Names that a name or a code may mean as it is typed off a paper.

    Examples
    --------
    >>> spellings("d261127h-h ")
    ('d261127h-h', 'D261127H-H', 'D261127H')
    """
    typed = code.strip()
    plain = (read(typed.upper()),) if is_code(typed.upper()) else ()
    return tuple(dict.fromkeys((typed, typed.upper(), *plain)))


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
    return Printed(pdf=made, name=f"delivery-{delivery.strip()}")


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
    bill = invoice_of(bills[name].bill, tongue, settings.units.mass)
    made = invoice_sheet(bill, paper_of(settings, at, size, tongue))
    return Printed(pdf=made, name=f"invoice-{name}")
