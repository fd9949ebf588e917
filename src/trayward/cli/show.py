"""Answers on the terminal: tables within 80 columns, moments and ranges in words, and what was written."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from trayward.dates import day_words
from trayward.rounds.words import between, likely_weight
from trayward.words import as_text

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from trayward.cli.given import Given
    from trayward.desk.core import Receipt
    from trayward.desk.ports import Kept
    from trayward.errors import Finding
    from trayward.farm.settings import ShownUnits
    from trayward.outlook.types import Range, When

WIDTH = 80
WIDEST = 110
"""Wider lines are hard to follow, however wide the terminal."""

SHORT_ID = 8
STAGE_LETTERS = {"soak": "S", "germinate": "G", "blackout": "B", "light": "L", "ready": "R"}
"""A stage's letter, the same on every face; a stage of the grower's own has its first."""


class Column(NamedTuple):
    """A column of a table. `whole`: never broken over lines."""

    title: str
    right: bool = False
    whole: bool = False


Columns = list[Column | str]
"""The head of a table; a bare title is a column of words."""


def table(columns: Sequence[Column | str], rows: Sequence[Sequence[str]], *, none: str = "There are none yet.") -> None:
    """Print a table that fits the terminal, or 80 columns where there is none; without rows, `none` instead.

    A column in which no row says anything is left out.
    """
    if not rows:
        wrapped(none)
        return
    from rich import box
    from rich.console import Console
    from rich.table import Table

    told = [number for number in range(len(columns)) if any(row[number] for row in rows)]
    made = Table(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False, collapse_padding=True, header_style="bold")
    for column in (columns[number] for number in told):
        said = Column(column) if isinstance(column, str) else column
        justify = "right" if said.right else "left"
        made.add_column(said.title, justify=justify, no_wrap=said.whole, overflow="fold")  # type: ignore[arg-type]
    for row in rows:
        made.add_row(*(row[number] for number in told))
    console = Console(file=sys.stdout, width=_width(), highlight=False, markup=False, emoji=False)
    with console.capture() as captured:
        console.print(made)
    # Cells are padded to the column's width; nobody wants the blanks at the end of a line.
    click.echo("\n".join(line.rstrip() for line in captured.get().rstrip("\n").split("\n")))


def wrapped(text: str, indent: str = "") -> None:
    """Print a sentence over as many lines as it takes."""
    import textwrap

    click.echo(textwrap.fill(text, _width(), subsequent_indent=indent, break_long_words=False, break_on_hyphens=False))


def complained(text: str) -> None:
    """Say on the error stream what is wrong; a terminal breaks words, so there, and there alone, lines are broken."""
    import textwrap

    if sys.stderr.isatty():
        lines = (
            textwrap.fill(line, _width(), break_long_words=False, break_on_hyphens=False) for line in text.split("\n")
        )
        text = "\n".join(lines)
    click.echo(text, err=True)


def _width() -> int:
    import shutil

    if not sys.stdout.isatty():
        return WIDTH
    return min(shutil.get_terminal_size((WIDTH, 24)).columns, WIDEST)


def answer(given: Given, value: Any, human: Callable[[], None]) -> None:
    """Answer in JSON where asked for, else in words."""
    if given.json:
        import msgspec

        click.echo(msgspec.json.format(msgspec.json.encode(value, enc_hook=as_text), indent=2).decode())
    else:
        human()


def agreed(given: Given, question: str) -> bool:
    """Ask before something is recorded; where nobody can answer, say how to say yes, and leave with exit code 1."""
    try:
        return click.confirm(question)
    except click.Abort as stopped:
        if not isinstance(stopped.__context__, EOFError):
            raise
        click.echo("\nNobody answered, so nothing was recorded. To say yes beforehand: --yes.", err=True)
        given.ctx.exit(1)


def written(given: Given, receipt: Receipt, line: str) -> None:
    """Say what was written and under which entry, and what about it deserves a look."""
    answer(given, receipt_json(receipt), lambda: _written(receipt, line))


def _written(receipt: Receipt, line: str) -> None:
    ids = [kept.entry.id[:SHORT_ID] for kept in receipt.kept]
    shown = ", ".join(ids[:3]) + (f" and {len(ids) - 3} more" if len(ids) > 3 else "")
    wrapped(f"{line} ({'entry' if len(ids) == 1 else 'entries'} {shown})", "  ")
    looks(receipt.findings)


def looks(findings: Iterable[Finding]) -> None:
    """Findings, one to a line."""
    for finding in findings:
        wrapped(f"look: {finding.sentence()}", "      ")


def receipt_json(receipt: Receipt) -> dict[str, Any]:
    """What was kept, for other programs."""
    return {
        "kept": [entry_json(kept) for kept in receipt.kept],
        "names": list(receipt.names),
        "findings": list(receipt.findings),
    }


def entry_json(kept: Kept) -> dict[str, Any]:
    """An entry as the book keeps it, for other programs."""
    entry = kept.entry
    return {
        "seq": kept.seq,
        "id": entry.id,
        "kind": entry.kind,
        "at": entry.at,
        "recorded": entry.recorded,
        "by": entry.by,
        "says": entry.body,
        "hash": kept.hash,
    }


def stage_words(stage: str) -> str:
    """A stage with its letter: `G germinate`."""
    return f"{stage_letter(stage)} {stage}" if stage else ""


def stage_letter(stage: str) -> str:
    """The letter that stands for a stage."""
    return STAGE_LETTERS.get(stage, stage[:1].upper() or "-")


def moment_words(at: datetime, zone: ZoneInfo) -> str:
    """A moment on the farm's clock: `Fri 27 Nov 07:00`."""
    local = at.astimezone(zone)
    return f"{day_words(local.date())} {local:%H:%M}"


def when_words(when: When, zone: ZoneInfo) -> str:
    """Days with doubt: `2 to 4 Dec, likely Thu 3 Dec`."""
    low, likely, high = (at.astimezone(zone).date() for at in (when.low, when.likely, when.high))
    if low == high:
        return day_words(likely)
    first, last = (day_words(day).partition(" ")[2] for day in (low, high))
    span = f"{low.day} to {last}" if (low.year, low.month) == (high.year, high.month) else f"{first} to {last}"
    return f"{span}, likely {day_words(likely)}"


def range_words(grams: Range | None, units: ShownUnits) -> str:
    """A weight with doubt, to two figures: `64 to 130 g, likely 95`; nobody knows: says so."""
    if grams is None:
        return "not known yet"
    low, likely, high = (likely_weight(value, units.mass) for value in (grams.low, grams.likely, grams.high))
    figure, _, unit = likely.rpartition(" ")
    plain = all(shown.endswith(f" {unit}") for shown in (low, high))
    return f"{between(low, high)}, likely {figure if plain else likely}"
