"""The traceability record as one sheet that can be sorted: a row for each harvest, packing and shipping of a lot.

Columns follow the key data elements that the US Food Traceability Rule asks for, where it applies; which events and
crops it covers, and from when, is for the grower and the authority to say: defer to local codes and licensed practice.

References
----------
21 CFR 1.1340(a)(1)-(8), shipping: lot code; quantity and unit; product description; location of the recipient;
ship-from location; date; lot code source or its reference; type and number of the reference document. 21 CFR 1.1325,
harvesting, and 1.1330(a), initial packing (in part from memory). 21 CFR 1.1455, electronic sortable spreadsheet (from
memory).
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from datetime import date

import msgspec

from trayward.errors import Finding
from trayward.farm.calendar import local_day
from trayward.farm.entries import Delivered, Entry
from trayward.farm.settings import FarmSettings
from trayward.trace.record import Links, Record, loose_in, packs_in
from trayward.trace.steps import code_of
from trayward.trace.types import Start
from trayward.trace.walk import starts_of, walk

HARVEST, PACKING, SHIPPING = "harvesting", "initial packing", "shipping"


class KeyData(msgspec.Struct, frozen=True, kw_only=True):
    """What is kept of one event of one lot. Blank: the record does not say."""

    event: str
    day: date
    lot: str
    """The lot code, with its check character."""
    source: str
    """Who assigned the lot code, and where."""
    product: str
    quantity: float
    unit: str
    """`g`, `packs` or `trays`."""
    where: str
    """Where it happened: the farm."""
    areas: str = ""
    """Growing areas, as the farm calls its spots."""
    inputs: str = ""
    """Lots that went into it."""
    recipient: str = ""
    recipient_address: str = ""
    document_type: str = ""
    document: str = ""
    by: str = ""

    def missing(self) -> tuple[str, ...]:
        """Elements of this event that are blank."""
        asked = {"where": "our own address", "source": "lot code source", "product": "product"}
        if self.event == SHIPPING:
            asked |= {
                "recipient_address": "the recipient's address", "document_type": "kind of document",
                "document": "number of the document",
            }  # fmt: skip
        return tuple(words for name, words in asked.items() if not getattr(self, name))


HEAD = (
    "event", "date", "lot code", "lot code source", "product", "quantity", "unit", "where", "growing areas",
    "from lots", "recipient", "recipient's address", "kind of document", "number of document", "by", "missing",
)  # fmt: skip
NOTE = "delivery note"


def key_data(record: Record, start: Start) -> tuple[KeyData, ...]:
    """
    All events of the lots that lead to a start or come of it, by day.

    Parameters
    ----------
    record : Record
        The farm's record at a moment.
    start : Start
        See `trace`.

    Returns
    -------
    tuple of KeyData
        Harvests, packings and shippings; deliveries to the farm's own table are left out.
    """
    links = Links(record)
    starts = starts_of(links, start)
    steps = {subject: step for way in (False, True) for subject, step in walk(links, starts, forward=way)[0].items()}
    order = {HARVEST: 0, PACKING: 1, SHIPPING: 2}
    rows = [row for subject, step in steps.items() if step.known for row in _rows(links, subject, frozenset(steps))]
    return tuple(sorted(rows, key=lambda row: (row.day, order[row.event], row.lot, row.recipient)))


def key_data_findings(rows: Sequence[KeyData]) -> tuple[Finding, ...]:
    """Rows in which something is missing, each thing named once with how many rows lack it."""
    counts: dict[tuple[str, str], int] = {}
    for row in rows:
        for words in row.missing():
            counts[row.event, words] = counts.get((row.event, words), 0) + 1
    return tuple(
        Finding(
            code="key-data-missing",
            severity="odd",
            message=f"{event} = {words} is missing in {count} of {sum(row.event == event for row in rows)} rows.",
            remedy="Write it down: the farm's address in the setup, a customer's with trayward contact, documents as "
            "you deliver.",
        )
        for (event, words), count in counts.items()
    )


def _rows(links: Links, subject: str, wanted: frozenset[str]) -> Iterator[KeyData]:
    kind, _, name = subject.partition(":")
    if kind == "harvest":
        yield from _harvested(links, name)
    elif kind == "pack":
        yield from _packed(links, name)
    elif kind == "delivery":
        for entry, body in links.delivered(subject):
            yield from _shipped(links, entry, body, wanted)


def _harvested(links: Links, name: str) -> Iterator[KeyData]:
    found, lot = links.cut(name), links.state.harvests[name]
    if found is None:
        return
    trays = [tray for each in lot.trays if (tray := links.state.tray(each)) is not None]
    areas = dict.fromkeys(step.spot for tray in trays for step in tray.steps[-1:] if step.spot is not None)
    seed = dict.fromkeys(seed for tray in trays for seed in tray.lots)
    settings = links.settings
    yield KeyData(
        event=HARVEST, day=local_day(lot.cut_at, settings), lot=code_of(name), source=_farm(settings), product=lot.crop,
        quantity=lot.grams, unit="g", where=_farm(settings), areas=", ".join(areas), inputs=", ".join(seed),
        by=found[0].by,
    )  # fmt: skip


def _packed(links: Links, name: str) -> Iterator[KeyData]:
    found, lot = links.filling(name), links.state.packs[name]
    settings = links.settings
    yield KeyData(
        event=PACKING, day=local_day(lot.packed_at, settings), lot=code_of(name), source=_farm(settings),
        product=f"{lot.product}, {lot.pack_g:g} g", quantity=lot.packs, unit="packs", where=_farm(settings),
        inputs=", ".join(code_of(harvest) for harvest in lot.parts), by=found[0].by if found is not None else "",
    )  # fmt: skip


def _shipped(links: Links, entry: Entry, body: Delivered, wanted: frozenset[str]) -> Iterator[KeyData]:
    held = links.state.customers.get(body.customer)
    if held is not None and held.home:
        return
    settings, contact = links.settings, links.state.contacts.get(body.customer)
    for lot, product, quantity, unit in _contents(links, body, wanted):
        yield KeyData(
            event=SHIPPING, day=local_day(entry.at, settings), lot=lot, source=_farm(settings), product=product,
            quantity=quantity, unit=unit, where=_farm(settings), recipient=body.customer,
            recipient_address=contact.address if contact is not None else "",
            document_type=NOTE if body.document else "", document=body.document, by=entry.by,
        )  # fmt: skip


def _contents(links: Links, body: Delivered, wanted: frozenset[str]) -> Iterator[tuple[str, str, float, str]]:
    for line in body.lines:
        for name in line.trays:
            tray = links.state.tray(name)
            if f"tray:{name}" in wanted:
                yield code_of(name), f"live {tray.crop}" if tray is not None else "", 1, "trays"
    for name, number in packs_in(body).items():
        held = links.state.packs.get(name)
        if f"pack:{name}" in wanted:
            yield code_of(name), f"{held.product}, {held.pack_g:g} g" if held is not None else "", number, "packs"
    for name, grams in loose_in(body).items():
        lot = links.state.harvests.get(name)
        if f"harvest:{name}" in wanted:
            yield code_of(name), lot.crop if lot is not None else "", grams, "g"


def _farm(settings: FarmSettings) -> str:
    """The farm with its address; blank where nobody said an address, for a name alone is none."""
    return ", ".join((settings.name, *settings.paper.address)) if settings.paper.address else ""


# Sheets ---------------------------------------------------------------------------------------------------------------


def key_data_rows(rows: Sequence[KeyData]) -> list[tuple[str, ...]]:
    """The rows as words, for CSV."""
    return [tuple(str(cell) for cell in _cells(row)) for row in rows]


def _cells(row: KeyData) -> tuple[str | float, ...]:
    return (
        row.event, row.day.isoformat(), row.lot, row.source, row.product, round(row.quantity, 1), row.unit, row.where,
        row.areas, row.inputs, row.recipient, row.recipient_address, row.document_type, row.document, row.by,
        ", ".join(row.missing()),
    )  # fmt: skip


def key_data_workbook(rows: Sequence[KeyData]) -> bytes:
    """The rows as an XLSX file: one table with a filter on every column; days are days and amounts numbers."""
    import xlsxwriter

    kept = io.BytesIO()
    with xlsxwriter.Workbook(kept, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}) as book:
        sheet, bold = book.add_worksheet("Traceability"), book.add_format({"bold": True})
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        sheet.write_row(0, 0, HEAD, bold)
        for number, row in enumerate(rows, start=1):
            sheet.write_row(number, 0, _cells(row))
            sheet.write_datetime(number, 1, row.day, day)
        sheet.autofilter(0, 0, max(1, len(rows)), len(HEAD) - 1)
        sheet.freeze_panes(1, 0)
        sheet.autofit()
    return kept.getvalue()
