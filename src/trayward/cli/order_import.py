"""Orders from a spreadsheet: what its columns are taken for, what comes of it, and a question before it is kept."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click
import msgspec

from trayward.cli import people
from trayward.cli.given import Given, command
from trayward.cli.show import Column, agreed, answer, receipt_json, table, wrapped
from trayward.cli.when import parse_day
from trayward.dates import day_words
from trayward.desk.core import Receipt
from trayward.desk.sheets.mapping import column_letters, doubts_anew
from trayward.desk.sheets.orders import Mapping, OrderSheet, Sheet, guess_mapping, read_orders, read_sheet, show_mapping
from trayward.desk.sheets.words import FIELDS
from trayward.errors import InputError
from trayward.farm.repeats import rule_in_words
from trayward.rounds.traits import lines_words
from trayward.words import counted, listed

REJECTED = 1
"""Exit code where rows were rejected."""


@command("import", example="trayward order import orders.xlsx", records=True)
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--map", "corrections", multiple=True, metavar="FIELD=HEADING", help="A column. Example: customer=Kunde.")
@click.option("--for", "customer", metavar="CUSTOMER", help='Whom all of it is for. Example: "Corner Cafe".')
@click.option("--due", metavar="DAY", help="The day all of it is due. Example: friday.")
@click.option("--unit", metavar="UNIT", help="Unit of numbers that stand alone. Example: g.")
@click.option("--day-order", type=click.Choice(["dmy", "mdy"]), help="What comes first in 4/12/2026. Example: dmy.")
@click.option("--tab", default="", metavar="NAME", help="Which sheet of a workbook. Example: December.")
@click.option("--new-customers", is_flag=True, help="Add customers the farm does not know. Example: --new-customers.")
@click.option("--past", is_flag=True, help="Also orders due before today. Example: --past.")
@click.option("--skip-rejected", is_flag=True, help="Keep the orders that can be read whole. Example: --skip-rejected.")
@click.option("--yes", is_flag=True, help="Do not ask. Example: --yes.")
def import_(
    given: Given,
    file: Path,
    corrections: Sequence[str],
    customer: str | None,
    due: str | None,
    unit: str | None,
    day_order: str | None,
    tab: str,
    new_customers: bool,
    past: bool,
    skip_rejected: bool,
    yes: bool,
) -> None:
    """
    Take in the orders of a spreadsheet FILE (CSV, XLSX, XLS or ODS).

    Shows what each column is taken for and what comes of it, and asks. Reading the same file again changes nothing.
    Rows that cannot be read are listed with the reason; nothing is kept then, unless you say --skip-rejected. FIELDs
    are customer, product, quantity, unit, due, price, note, repeat, order; a HEADING may be a column's letter.
    """
    sheet = read_sheet(file, tab=tab)
    whole = {
        "customer": customer,
        "due": parse_day(due, given.today, "due") if due else None,
        "unit": unit,
        "day_order": day_order,
    }
    mapping = corrected(guess_mapping(sheet, given.state), sheet, corrections, whole)
    if mapping.needs:
        _ask_for_columns(given, mapping)
    read = read_orders(
        sheet,
        mapping,
        given.state,
        skip_rejected=skip_rejected,
        new_customers=new_customers,
        not_before=None if past else given.today,
    )
    if not given.json:
        show_read(mapping, read)
    receipt = _kept(given, read, yes)
    answer(given, _told(mapping, read, receipt), lambda: _recorded(receipt))
    if read.rejected:
        given.ctx.exit(REJECTED)


def corrected(guess: Mapping, sheet: Sheet, corrections: Sequence[str], whole: dict[str, Any]) -> Mapping:
    """The guess with what the grower says instead: columns by heading or letter, and what holds for the whole sheet."""
    columns = dict(guess.columns)
    for field, heading in people.pairs(corrections, "customer=Kunde").items():
        if field not in FIELDS:
            raise InputError("field", field, "a sheet has none of that name", f"Take one of: {', '.join(FIELDS)}.")
        column = _column(guess, sheet, heading)
        columns = {name: at for name, at in columns.items() if at != column} | {field: column}
    labels = {column: label for column, label in guess.labels.items() if column not in columns.values()}
    said: dict[str, Any] = {name: value for name, value in whole.items() if value is not None}
    if "quantity" in columns:
        labels, said["across"] = {}, ""
    return doubts_anew(msgspec.structs.replace(guess, columns=columns, labels=labels, **said), sheet)


def _column(guess: Mapping, sheet: Sheet, heading: str) -> int:
    wanted = heading.strip().casefold()
    for column, text in guess.headings.items():
        if text.strip().casefold() == wanted:
            return column
    for column in range(sheet.width):
        if column_letters(column).casefold() == wanted:
            return column
    known = ", ".join(guess.headings.values()) or f"A to {column_letters(sheet.width - 1)}"
    raise InputError("heading", heading, "the sheet has no such column", f"It has: {known}.")


def _ask_for_columns(given: Given, mapping: Mapping) -> None:
    if not given.json:
        _show_mapping(mapping)
    missing = listed(mapping.needs)
    remedy = f"Say which with --map {mapping.needs[0]}=HEADING, or --for and --due for the whole sheet."
    raise InputError("order sheet", missing, "no column was found for it", remedy)


def _show_mapping(mapping: Mapping) -> None:
    for line in show_mapping(mapping).splitlines():
        wrapped(line, "  ")


def show_read(mapping: Mapping, read: OrderSheet) -> None:
    """What the columns are taken for, the orders found, the rows rejected, and what else is to be known."""
    _show_mapping(mapping)
    click.echo()
    states = {name: word for word in ("placed", "changed", "unchanged") for name in getattr(read, word)}
    words = {"placed": "new", "changed": "changed", "unchanged": "as before"}
    rows = [(day_words(one.due), one.customer, lines_words(one.lines), words[states[one.order]]) for one in read.orders]
    rows += [
        (rule_in_words(one.rule), one.customer, lines_words(one.lines), words[states[one.standing]])
        for one in read.standing
    ]
    if rows:
        table([Column("Due", whole=True), "Customer", "Lines", "Is"], rows)
        click.echo()
    for rejected in read.rejected:
        wrapped(f"Rejected: {rejected.sentence()}", "  ")
    for note in read.notes:
        wrapped(f"Note: {note}", "  ")
    if read.past:
        wrapped(f"Passed over, for they are past: {listed(read.past)}.", "  ")
    wrapped(read.sentence(), "  ")


def _kept(given: Given, read: OrderSheet, yes: bool) -> Receipt | None:
    """Record what the sheet comes to, once somebody said so."""
    if not read.bodies:
        return None
    if given.json and not yes:
        raise InputError("yes", "not said", f"{len(read.bodies)} entries would be kept", "Say --yes with --json.")
    if not yes and not agreed(given, f"Keep {counted(len(read.placed) + len(read.changed), 'order')}?"):
        return None
    return given.farm.record(*read.bodies, **given.said)


def _recorded(receipt: Receipt | None) -> None:
    click.echo(f"Kept {counted(len(receipt.kept), 'entry', 'entries')}." if receipt else "Nothing was kept.")


def _told(mapping: Mapping, read: OrderSheet, receipt: Receipt | None) -> dict[str, Any]:
    return {
        "mapping": mapping,
        "placed": read.placed,
        "changed": read.changed,
        "unchanged": read.unchanged,
        "past": read.past,
        "rejected": read.rejected,
        "notes": read.notes,
        **(receipt_json(receipt) if receipt else {"kept": [], "names": [], "findings": []}),
    }
