"""A spreadsheet of orders from a program: looked at row by row, then kept as it was looked at."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

import msgspec

from trayward.desk.core import Receipt, Said
from trayward.desk.sheets.orders import OrderSheet
from trayward.desk.sheets.rows import Rejected
from trayward.errors import InputError
from trayward.web.api.operation import tell
from trayward.web.api.telling import Telling
from trayward.web.ask import Ask
from trayward.web.orders.sheets import Brought, Choices, Table, mapping_of, read_brought, seal_of
from trayward.web.routing import UPLOAD_LIMIT

MOST_SENT = int(UPLOAD_LIMIT * 4 / 3)
"""Base64 (RFC 4648) makes four letters of three bytes. [byte]"""
File = Annotated[bytes, msgspec.Meta(min_length=1)]
Called = Annotated[str, msgspec.Meta(min_length=1, max_length=200)]
Columns = dict[Annotated[str, msgspec.Meta(max_length=40)], Annotated[int, msgspec.Meta(ge=0, le=10_000)]]


class OrderFile(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A CSV or XLSX file, and what is said of it in place of what is guessed."""

    file: File
    """In Base64."""
    name: Called = "orders.csv"
    columns: Columns | None = None
    """Field -> column, from 0; as guessed, where it is left out."""
    customer: Annotated[str, msgspec.Meta(max_length=200)] = ""
    """Of all rows, where no column says it."""
    due: date | None = None
    """Of all rows, where no column says it."""
    unit: Literal["g", "packs", "trays"] | None = None
    day_order: Literal["dmy", "mdy"] | None = None
    price_for: Literal["one", "100 g", "kg", "line"] | None = None
    new_customers: bool = False
    skip_rejected: bool = False
    past: bool = False
    """Orders due before today, too."""


class KeepOrders(Telling, frozen=True, kw_only=True):
    """Keep the orders of a sheet, as they were looked at."""

    sheet: OrderFile

    seal: Annotated[str, msgspec.Meta(min_length=1, max_length=64)]
    """As the look gave it: where something else would be kept by now, nothing is."""


class OrdersLooked(msgspec.Struct, frozen=True, kw_only=True):
    """What a sheet comes to; nothing is kept by looking."""

    needs: tuple[str, ...]
    """Fields for which no column was found."""
    placed: tuple[str, ...]
    changed: tuple[str, ...]
    unchanged: tuple[str, ...]
    past: tuple[str, ...]
    """Passed over, for they were due before today."""
    rejected: tuple[Rejected, ...]
    """Cells that cannot be read: while there are any, nothing is kept unless they are skipped."""
    notes: tuple[str, ...]
    seal: str


def _read(ask: Ask, told: OrderFile) -> tuple[tuple[str, ...], OrderSheet | None]:
    brought = Table().bring(told.file, told.name, ask.who.name, ask.now)
    said = Choices(
        columns=dict(told.columns) if told.columns is not None else None, customer=told.customer, due=told.due,
        unit=told.unit, day_order=told.day_order, price_for=told.price_for, new_customers=told.new_customers,
        skip_rejected=told.skip_rejected, past=told.past,
    )  # fmt: skip
    chosen: Brought = msgspec.structs.replace(brought, choices=said)
    state = ask.farm.state(ask.at)
    mapping = mapping_of(chosen, state)
    if mapping.needs:
        return tuple(mapping.needs), None
    return (), read_brought(chosen, mapping, state, ask.today)


def _look(ask: Ask, told: OrderFile, _: Said) -> OrdersLooked:
    needs, read = _read(ask, told)
    if read is None:
        read = OrderSheet()
    return OrdersLooked(
        needs=needs, placed=read.placed, changed=read.changed, unchanged=read.unchanged, past=read.past,
        rejected=read.rejected, notes=read.notes, seal="" if needs else seal_of(read),
    )  # fmt: skip


def _keep(ask: Ask, told: KeepOrders, said: Said) -> Receipt:
    needs, read = _read(ask, told.sheet)
    if read is None:
        raise InputError("columns", ", ".join(needs), "no column was found for it", "Say which it is.")
    if not read.bodies:
        raise InputError("file", told.sheet.name, "there is nothing in it to keep", "Look at it first.")
    if seal_of(read) != told.seal:
        raise InputError("seal", told.seal, "the book has moved on since it was looked at", "Look at it again.")
    return ask.farm.record(*read.bodies, **said)


OPERATIONS = (
    tell("/orders/import/look", _look, OrderFile, "orders", "What a spreadsheet of orders comes to.",
         gives=OrdersLooked, may="run", limit=MOST_SENT),
    tell("/orders/import/keep", _keep, KeepOrders, "orders", "Keep the orders of a spreadsheet.", may="run",
         limit=MOST_SENT),
)  # fmt: skip
