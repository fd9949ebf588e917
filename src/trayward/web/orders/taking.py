"""A spreadsheet of orders: brought, looked at row by row, put right, kept."""

from __future__ import annotations

from typing import Any

from starlette.responses import Response

from trayward.desk.sheets.words import FIELDS
from trayward.errors import InputError
from trayward.web.ask import Ask
from trayward.web.orders.sheets import (
    Brought,
    Choices,
    Table,
    columns_of,
    mapping_of,
    read_brought,
    rows_shown,
    seal_of,
)

IMPORT = "/orders/import"


def table_of(ask: Ask) -> Table:
    """Where the sheets of these pages lie."""
    state = ask.request.app.state
    if not hasattr(state, "order_sheets"):
        state.order_sheets = Table()
    found: Table = state.order_sheets
    return found


def import_page(ask: Ask) -> Response:
    """Choose a file."""
    return ask.show("orders/import.html")


def bring(ask: Ask) -> Response:
    """A file is brought; nothing of it is kept in the book yet."""
    upload = ask.form.file("sheet")
    if upload is None:
        raise InputError("sheet", "nothing", "no file was chosen, or it is empty", "Choose a CSV or XLSX file.")
    brought = table_of(ask).bring(upload.content, upload.name or "sheet", ask.who.name, ask.now)
    return ask.go(f"{IMPORT}/{brought.token}")


def _brought(ask: Ask, token: str) -> Brought:
    return table_of(ask).of(token, ask.who.name, ask.now)


def preview(ask: Ask) -> Response:
    """What the sheet's columns are taken for, and what would be kept, row by row."""
    brought = _brought(ask, ask.path["token"])
    state = ask.farm.state(ask.at)
    mapping = mapping_of(brought, state)
    shown: dict[str, Any] = {"read": None, "rows": [], "seal": ""}
    if not mapping.needs:
        read = read_brought(brought, mapping, state, ask.today)
        rows = rows_shown(brought, mapping, read, ask.today)
        shown = {"read": read, "rows": rows, "seal": seal_of(read)}
    return ask.show(
        "orders/preview.html", brought=brought, mapping=mapping, columns=columns_of(brought, mapping), fields=FIELDS,
        customers=sorted(state.customers, key=str.casefold), **shown,
    )  # fmt: skip


def choose(ask: Ask) -> Response:
    """What the columns are, as the grower says."""
    brought, form = _brought(ask, ask.form.need("token")), ask.form
    columns = {field: form.whole(f"column_{field}", 0, 10_000) for field in FIELDS if form.has(f"column_{field}")}
    _require_apart(columns)
    choices = Choices(
        columns=columns,
        customer=form.text("all_customer"),
        due=form.maybe(form.day, "all_due"),
        unit=form.text("unit") or None,
        day_order=_one_of(form.text("day_order"), ("dmy", "mdy")),
        price_for=_one_of(form.text("price_for"), ("one", "100 g", "kg", "line")),
        new_customers=form.ticked("new_customers"),
        skip_rejected=form.ticked("skip_rejected"),
        past=form.ticked("past"),
    )
    table_of(ask).chosen(brought, choices)
    return ask.go(f"{IMPORT}/{brought.token}", ask._("Read anew."))


def _require_apart(columns: dict[str, int]) -> None:
    seen: dict[int, str] = {}
    for field, column in columns.items():
        if column in seen:
            raise InputError(f"column_{field}", field, f"its column is that of the {seen[column]}", "Choose another.")
        seen[column] = field


def _one_of(said: str, options: tuple[str, ...]) -> Any:
    return said if said in options else None


def keep(ask: Ask) -> Response:
    """Keep the orders, as they were shown."""
    brought = _brought(ask, ask.form.need("token"))
    state = ask.farm.state(ask.at)
    mapping = mapping_of(brought, state)
    if mapping.needs:
        raise InputError("sheet", ", ".join(mapping.needs), "no column was found for it", "Choose its column.")
    read = read_brought(brought, mapping, state, ask.today)
    if not read.bodies:
        raise InputError("sheet", brought.name, "there is nothing in it to keep", "See what stands at its rows.")
    if seal_of(read) != ask.form.text("seal"):
        raise InputError("sheet", brought.name, "the book has moved on since it was shown", "Look at it again.")
    receipt = ask.farm.record(*read.bodies, **ask.said)
    count = len(read.placed) + len(read.changed)
    say = ask.ngettext("%(num)s order kept.", "%(num)s orders kept.", count)
    return ask.recorded("/orders", say, receipt)
