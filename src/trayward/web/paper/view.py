"""What the page of sheets and labels lists: deliveries with a note, invoices, lots to label, sheets of labels."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import date

import msgspec

from trayward.farm.calendar import local_day
from trayward.farm.entries import Delivered, Entry
from trayward.farm.settings import FarmSettings, ShownUnits
from trayward.farm.state import FarmState
from trayward.hygiene.kinds import known_kind
from trayward.paper.label_sheets import ROLLS, SHEETS
from trayward.paper.page import A4, LETTER
from trayward.paper.paper import size_name
from trayward.rounds.records import asks_of
from trayward.rounds.told import RowTold, write_told
from trayward.web.records.view import FieldShown, fields_of

NEWEST = 8
"""Deliveries and invoices that are listed."""
MOST_LOTS = 60


class Gone(msgspec.Struct, frozen=True, kw_only=True):
    """A delivery that a note can be printed for."""

    delivery: str
    customer: str
    day: date


class LotToLabel(msgspec.Struct, frozen=True, kw_only=True):
    """A pack or harvest lot that is still here."""

    name: str
    what: str
    packs: int
    """0 for what is loose."""
    grams: float
    """Of a pack, or what is left of a harvest lot. [g]"""


def gone_of(entries: Iterable[Entry], settings: FarmSettings) -> tuple[Gone, ...]:
    """Deliveries, the newest first."""
    return tuple(
        Gone(delivery=entry.body.delivery, customer=entry.body.customer, day=local_day(entry.at, settings))
        for entry in entries
        if isinstance(entry.body, Delivered)
    )


def lots_of(state: FarmState) -> tuple[LotToLabel, ...]:
    """Packs that are here and what is loose in the cold room, the newest first."""
    packs = [
        LotToLabel(name=lot.pack, what=lot.product, packs=lot.left, grams=lot.pack_g)
        for lot in sorted(state.packs.values(), key=lambda lot: lot.packed_at, reverse=True)
        if lot.left > 0
    ]
    loose = [
        LotToLabel(name=lot.harvest, what=lot.crop, packs=0, grams=lot.left_g)
        for lot in sorted(state.harvests.values(), key=lambda lot: lot.cut_at, reverse=True)
        if lot.left_g > 0.5
    ]
    return tuple((packs + loose)[:MOST_LOTS])


def sheets_for(settings: FarmSettings) -> list[tuple[str, str]]:
    """Sheets and rolls to choose from, those of the farm's paper first."""
    page = LETTER if size_name("", settings) == "Letter" else A4
    ordered = sorted(SHEETS, key=lambda sheet: sheet.page != page)
    rolls = [(f"roll {measure}", measure) for measure in ROLLS]
    return [*((sheet.name, sheet.name) for sheet in ordered), *((name, f"{name} mm") for name, _ in rolls)]


class SheetRow(msgspec.Struct, frozen=True, kw_only=True):
    """A row of a printed sheet, to be answered as it stood there."""

    number: int
    name: str
    do: str
    spots: tuple[str, ...]
    trays: tuple[str, ...]
    kind: str
    count: int
    """How many are sown, packed, washed or sanitised, as it was asked."""
    asks: bool
    """Whether it has a question."""
    told: str
    """What its form carries."""
    open: bool
    """Whether the round of now still asks for it."""
    fields: tuple[FieldShown, ...] = ()
    """Of a record: what it says."""
    corrective: str = ""
    """Of a record: what is usually done where something was not right."""


def sheet_rows_of(
    rows: Sequence[RowTold], asks: Collection[int], still: Collection[str], state: FarmState, units: ShownUnits
) -> tuple[SheetRow, ...]:
    """A sheet's rows; `still` are the names of those the round of now has."""
    return tuple(
        SheetRow(
            number=number,
            name=row.row,
            do=row.do,
            spots=row.spots,
            trays=row.trays,
            kind=row.kind,
            count=row.count,
            asks=number in asks,
            told=write_told(row),
            open=row.row in still,
            fields=_fields(row, state, units),
            corrective=kind.corrective if (kind := known_kind(row.record)) is not None else "",
        )
        for number, row in enumerate(rows, start=1)
    )


def _fields(row: RowTold, state: FarmState, units: ShownUnits) -> tuple[FieldShown, ...]:
    """What a record says, with what it said last time as the sheet has it."""
    kind = known_kind(row.record)
    asks = asks_of(state, kind, row.area) if kind is not None else ()
    printed = (msgspec.structs.replace(each, usual=row.usual.get(each.field, "")) for each in asks)
    return fields_of(tuple(printed), units)
