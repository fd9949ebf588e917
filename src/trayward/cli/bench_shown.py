"""A bench's sheet on the terminal, in the farm's units or those asked for, and in JSON."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import click

from trayward.bench.types import Amount, Sheet
from trayward.cli.show import Column, answer, looks, table, wrapped
from trayward.farm.settings import ShownUnits
from trayward.sources import source
from trayward.web.bench.sums.shown import amount_words, between_words, note_words

if TYPE_CHECKING:
    from trayward.cli.given import Given


def show_sheet(given: Given, sheet: Sheet, units: ShownUnits, more: dict[str, Any] | None = None) -> None:
    """Answer with a sheet: named values with units, inputs echoed, how far it holds, cautions and sources."""
    import msgspec

    told = msgspec.to_builtins(sheet) | {"sources": [_cited(key) for key in sheet.sources]} | (more or {})
    answer(given, told, lambda: _human(sheet, units))


def _cited(key: str) -> dict[str, str]:
    return {"key": key, "citation": source(key).citation}


def _human(sheet: Sheet, units: ShownUnits) -> None:
    """The answer, what is odd of it and what to do; only then what it was worked out from, and how far it holds."""
    wrapped(sheet.title)
    _amounts("Found", sheet.found, units)
    if sheet.findings:
        click.echo("")
        looks(sheet.findings)
    for grid in sheet.grids:
        click.echo(f"\n{grid.title}")
        table(list(grid.columns), grid.rows)
    _listed("Do", [f"{number}. {step}" for number, step in enumerate(sheet.steps, 1)])
    _amounts("Given", sheet.given, units)
    _listed("Holds", sheet.holds)
    _listed("Caution", sheet.cautions)
    _listed("Sources", [source(key).citation for key in sheet.sources])


def _amounts(title: str, amounts: Sequence[Amount], units: ShownUnits) -> None:
    if not amounts:
        return
    click.echo("")
    rows = [
        [each.name, amount_words(each, units), between_words(each, units), note_words(each, units)] for each in amounts
    ]
    table(
        [title, Column("Value", right=True, whole=True), Column("8 in 10 between", right=True, whole=True), "Note"],
        rows,
    )


def _listed(title: str, lines: Iterable[str]) -> None:
    for number, line in enumerate(lines):
        if not number:
            click.echo(f"\n{title}")
        wrapped(f"  {line}", "    ")
