"""What goes out, on paper: the pick list of a day by customer, and the note that goes with a delivery."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import msgspec

from trayward.paper.flow import Blank, Column, Flow, Tick, Words
from trayward.paper.paper import Paper
from trayward.paper.tongue import later


class Picked(msgspec.Struct, frozen=True, kw_only=True):
    """What one line is filled from: packs, grams of a harvest lot, or a live tray, under its code."""

    code: str
    packs: int = 0
    grams: float = 0.0
    """Of loose crop. [g]"""
    spot: str = ""
    """Where a live tray stands."""


class PickLine(msgspec.Struct, frozen=True, kw_only=True):
    """One line of a customer's on a day."""

    line: str
    product: str
    asked: str
    """How much, in the sheet's language: `4 packs of 50 g`."""
    from_: tuple[Picked, ...] = ()
    short: str = ""
    """What is missing now, in the sheet's language."""


class PickFor(msgspec.Struct, frozen=True, kw_only=True):
    """What one customer gets on one day."""

    customer: str
    day: date
    lines: tuple[PickLine, ...]
    note: str = ""


PICK_COLUMNS = (
    Column(title=later("Product")),
    Column(title=later("Asked"), wide=42.0),
    Column(title=later("From"), wide=64.0),
    Column(title=later("In"), wide=14.0, align="centre"),
)


def pick_list(picks: Sequence[PickFor], paper: Paper, about: str) -> bytes:
    """What to fetch for each customer, and from which packs, lots and trays."""
    tongue = paper.tongue
    flow = paper.flow(tongue._("Pick list"), about)
    if not picks:
        flow.words(tongue._("Nothing is due."), bold=True)
        return flow.pdf()
    flow.table(PICK_COLUMNS)
    for pick in picks:
        flow.section(f"{pick.customer}, {tongue.day(pick.day)}", pick.note)
        for line in pick.lines:
            came = [picked_words(each, paper) for each in line.from_]
            came += [tongue._("Short: %(missing)s", missing=line.short)] if line.short else []
            taken = tuple(came) or tongue._("Nothing is at hand.")
            flow.row(Words(words=line.product, bold=True), line.asked, taken, Tick())
    flow.end_table()
    flow.gap(4.0)
    flow.table((Column(wide=70.0), Column()))
    cold = Blank(labels=(later("temperature in the cold room"),), unit=paper.units.temperature)
    flow.row(Blank(labels=(later("picked by"),)), cold, ruled=False)
    return flow.pdf()


def picked_words(picked: Picked, paper: Paper) -> str:
    """Where it comes from, in words."""
    if picked.packs:
        return f"{picked.packs} x {picked.code}"
    if picked.grams:
        mass = paper.tongue.mass(picked.grams, paper.units.mass)
        return paper.tongue._("%(mass)s of %(lot)s", mass=mass, lot=picked.code)
    if picked.spot:
        return paper.tongue._("%(tray)s on %(spot)s", tray=picked.code, spot=picked.spot)
    return picked.code


# The note that goes with a delivery -----------------------------------------------------------------------------------


class Party(msgspec.Struct, frozen=True, kw_only=True):
    """Who sells or buys."""

    name: str
    lines: tuple[str, ...] = ()
    """Address, telephone, numbers the law asks for."""


class NoteLine(msgspec.Struct, frozen=True, kw_only=True):
    """One line of a delivery."""

    product: str
    quantity: str
    """In the sheet's language."""
    lots: tuple[str, ...] = ()
    """Codes of packs, harvest lots or trays."""
    best_before: date | None = None


class DeliveryNote(msgspec.Struct, frozen=True, kw_only=True):
    """A delivery as both sides keep it."""

    number: str
    day: date
    seller: Party
    buyer: Party
    lines: tuple[NoteLine, ...]
    storage: str = ""


NOTE_COLUMNS = (
    Column(title=later("Product")),
    Column(title=later("Quantity"), wide=42.0),
    Column(title=later("Lot codes"), wide=52.0),
    Column(title=later("Best before"), wide=32.0),
)


def delivery_note(note: DeliveryNote, paper: Paper) -> bytes:
    """A delivery note: both sides named, lot codes, quantities, how to store it, and lines to sign on."""
    tongue = paper.tongue
    flow = paper.flow(tongue._("Delivery note"), f"{note.number}, {tongue.day_in_full(note.day)}", unasked=True)
    two_parties(flow, note.seller, note.buyer)
    flow.table(NOTE_COLUMNS)
    for line in note.lines:
        best = tongue.day_in_full(line.best_before) if line.best_before else ""
        flow.row(Words(words=line.product, bold=True), line.quantity, line.lots or "", best)
    if not note.lines:
        flow.row(tongue._("Nothing went out."), "", "", "")
    flow.end_table()
    flow.gap(4.0)
    if note.storage:
        flow.words(note.storage, bold=True)
    flow.gap(8.0)
    flow.need(36.0)
    flow.table((Column(wide=flow.wide / 2), Column(wide=flow.wide / 2)))
    flow.row(Blank(labels=(later("handed over"),)), Blank(labels=(later("received"),)), ruled=False)
    flow.row(Blank(labels=(later("time"),)), Blank(labels=(later("name"),)), ruled=False)
    flow.row(Blank(labels=(later("temperature"),), unit=paper.units.temperature), "", ruled=False)
    return flow.pdf()


def two_parties(flow: Flow, seller: Party, buyer: Party) -> None:
    """From whom and to whom, side by side."""
    half = flow.wide / 2
    flow.table((Column(title=later("From"), wide=half), Column(title=later("To"), wide=half)))
    flow.row(
        (Words(words=seller.name, bold=True), *(line for line in seller.lines if line.strip())),
        (Words(words=buyer.name, bold=True), *(line for line in buyer.lines if line.strip())),
    )
    flow.end_table()
    flow.gap(5.0)
