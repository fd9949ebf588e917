"""Sheets and labels as PDF: the round for the wall, sowings, harvest, washing, picks, notes, invoices, labels, tags."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any, get_args

import click

from trayward.cli import people
from trayward.cli.files import OVER, file_named, save
from trayward.cli.given import Given, group
from trayward.cli.numbers import WHOLE
from trayward.cli.show import answer, wrapped
from trayward.cli.shown import remember
from trayward.cli.tongue import LANGUAGE, tongue_of
from trayward.units import parse_length
from trayward.words import counted

if TYPE_CHECKING:
    from trayward.paper.paper import Printed

OUT = click.option("--out", metavar="FILE", help=f"Where to save it, {OVER}. Example: --out round.pdf.")
SIZE = click.option("--size", default="", metavar="PAPER", help="A4 or Letter; the farm's if left out. Example: A4.")
DAYS = click.option("--days", type=WHOLE, default=None, metavar="DAYS", help="For how many days. Example: 3.")

SHEETS = (
    ("round", "The present round for the wall, boxes to tick."),
    ("sowing", "Sowings of the coming days."),
    ("harvest", "Trays to cut, with lines for the grams."),
    ("washing", "What to strip, wash and sanitise."),
    ("picks", "What goes to whom, from which packs and lots."),
    ("note", "The note that goes with a delivery."),
    ("invoice", "An invoice of the book."),
    ("labels", "Labels for packs and harvest lots."),
    ("tags", "Tags for shelves, spots and trays."),
)


@group("paper", example="trayward paper")
def paper(given: Given) -> None:
    """Sheets and labels for the printer. All of it stands on the pages too, for whoever has no printer."""
    from trayward.paper.label_sheets import sheet_names

    names = sheet_names()

    def show() -> None:
        for name, line in SHEETS:
            click.echo(f"{name:<9} {line}")
        click.echo("\nLabels are printed on:")
        for name in names:
            click.echo(f"  {name}")
        wrapped('Any other roll: --on "roll WIDTH x HEIGHT", in mm.', "  ")

    answer(given, {"sheets": [name for name, _ in SHEETS], "labels": list(names)}, show)


def _save(given: Given, printed: Printed, out: str | None, **more: Any) -> None:
    """Write a sheet to a file, and say where and how to enter it back."""
    path = file_named(out or f"{printed.name}.pdf", ".pdf", name="out")
    save(path, printed.pdf, name="out")
    told = {"file": str(path), "sheet": printed.sheet, **more}

    def show() -> None:
        click.echo(f"Saved: {path}")
        if printed.sheet:
            wrapped(f"Its row numbers hold with: trayward round answer ROWS ANSWER --sheet {printed.sheet}", "  ")

    answer(given, told, show)


@paper.add("round", example="trayward paper round --out round.pdf")
@click.option("--only", metavar="PLACES", help="Only these racks, shelves or tables. Example: A,B.")
@SIZE
@LANGUAGE
@OUT
def round_sheet(given: Given, only: str | None, size: str, language: str, out: str | None) -> None:
    """The present round for the wall: numbers as in `trayward round`, boxes to tick, lines for grams."""
    from trayward.paper.farm_sheets import round_paper

    now = given.farm.round(given.at)
    tongue = tongue_of(given, language)
    printed = round_paper(given.farm, given.at, size=size, present=now, racks=people.names(only) or (), tongue=tongue)
    remember(given.book, now)
    _save(given, printed, out, round=now.round, rows=len(now.rows))


def _maker(made: str) -> Callable[..., Printed]:
    """The function that makes a sheet, `module.name` within `paper`; imported only where it is asked for."""
    module, _, name = made.partition(".")
    maker: Callable[..., Printed] = getattr(import_module(f"trayward.paper.{module}"), name)
    return maker


def _of_moment(name: str, made: str, example: str, doc: str) -> None:
    """A sheet that asks for its paper alone."""

    def work(given: Given, size: str, language: str, out: str | None) -> None:
        make = _maker(made)
        _save(given, make(given.farm, given.at, size=size, tongue=tongue_of(given, language)), out)

    work.__doc__ = doc
    paper.add(name, example=example)(SIZE(LANGUAGE(OUT(work))))


def _of_days(name: str, made: str, usual: int, example: str, doc: str) -> None:
    """A sheet of some days."""

    def work(given: Given, days: int | None, size: str, language: str, out: str | None) -> None:
        make = _maker(made)
        span, tongue = usual if days is None else days, tongue_of(given, language)
        _save(given, make(given.farm, given.at, days=span, size=size, tongue=tongue), out)

    work.__doc__ = doc
    paper.add(name, example=example)(DAYS(SIZE(LANGUAGE(OUT(work)))))


_of_days(
    "sowing", "farm_sheets.sowing_paper", 7, "trayward paper sowing --days 7 --out sowing.pdf",
    "Sowings of today's round and of the kept plan for the days after; a week unless you say.",
)  # fmt: skip
_of_moment(
    "harvest", "farm_sheets.harvest_paper", "trayward paper harvest --out harvest.pdf",
    "Trays the round asks to cut, what each likely weighs, and a line for what it does weigh.",
)  # fmt: skip
_of_moment(
    "washing", "farm_sheets.wash_paper", "trayward paper washing --out washing.pdf",
    "What the round asks to strip, wash and sanitise.",
)  # fmt: skip
_of_days(
    "picks", "going_out.pick_paper", 2, "trayward paper picks --out picks.pdf",
    "What goes to each customer and from which packs, lots and trays; today and tomorrow unless you say.",
)  # fmt: skip


@paper.add("note", example="trayward paper note D261127A --out note.pdf")
@click.argument("delivery")
@SIZE
@LANGUAGE
@OUT
def note(given: Given, delivery: str, size: str, language: str, out: str | None) -> None:
    """The note that goes with DELIVERY: both sides, what, how much, lot codes, how to store it."""
    from trayward.paper.going_out import note_paper

    _save(given, note_paper(given.farm, delivery, given.at, size=size, tongue=tongue_of(given, language)), out)


@paper.add("invoice", example="trayward paper invoice 2026-001 --out invoice.pdf")
@click.argument("name")
@SIZE
@LANGUAGE
@OUT
def invoice(given: Given, name: str, size: str, language: str, out: str | None) -> None:
    """Invoice or credit note NAME of the book."""
    from trayward.paper.going_out import invoice_paper

    _save(given, invoice_paper(given.farm, name, given.at, size=size, tongue=tongue_of(given, language)), out)


ON = click.option("--on", required=True, metavar="LABELS", help='Sheet or roll. Example: --on "63.5 x 33.9".')
START = click.option("--start", type=WHOLE, default=1, help="First free place of the first sheet. Example: 5.")
RIGHT = click.option("--right", default="0 mm", metavar="LENGTH", help='Move all to the right. Example: "1.5 mm".')
DOWN = click.option("--down", default="0 mm", metavar="LENGTH", help='Move all down. Example: "-1 mm".')
OUTLINES = click.option("--outlines", is_flag=True, help="With lines, to try on plain paper. Example: --outlines.")


def _how(given: Given, right: str, down: str, **more: Any) -> dict[str, Any]:
    return {"right": _move(given, right, "right"), "down": _move(given, down, "down"), **more}


def _move(given: Given, text: str, name: str) -> float:
    """A length that may go the other way. [mm]"""
    sign = -1.0 if text.strip().startswith("-") else 1.0
    return sign * parse_length(text.strip().lstrip("-"), default=given.units.length, name=name)


@paper.add("labels", example='trayward paper labels P261127A --on "63.5 x 33.9" --out labels.pdf')
@click.argument("lots", nargs=-1, required=True)
@ON
@click.option("--copies", type=WHOLE, default=0, help="Of each; as many as there are packs if left out. Example: 4.")
@click.option("--code", default="code", help='code, web, "gs1 matrix", "gs1 bars", "gs1 link", none. Example: web.')
@START
@RIGHT
@DOWN
@OUTLINES
@LANGUAGE
@OUT
def labels(
    given: Given, lots: Sequence[str], on: str, copies: int, code: str, start: int, right: str, down: str,
    outlines: bool, language: str, out: str | None,
) -> None:  # fmt: skip
    """Labels for LOTS, packs or harvest lots: product, net weight, days, lot code, storage, your words, a code."""
    from trayward.paper.farm_labels import labels_paper, pack_label

    how = _how(given, right, down, start=start, outlines=outlines)
    tongue = tongue_of(given, language)
    printed = labels_paper(given.farm, lots, given.at, on=on, copies=copies, code=code, tongue=tongue, **how)
    told = [pack_label(given.farm, lot, given.at, code=code, tongue=tongue) for lot in lots]
    said = [
        {"lot": each.lot, "product": each.product, "best_before": each.best_before, "basis": each.basis,
         "holds": each.symbol.text if each.symbol else ""}
        for each in told
    ]  # fmt: skip
    _save(given, printed, out, labels=said)


@paper.add("tags", example='trayward paper tags shelves --on "99.1 x 38.1" --out tags.pdf')
@click.argument("what", type=click.Choice(["shelves", "spots", "trays"]))
@click.argument("names", nargs=-1)
@ON
@START
@RIGHT
@DOWN
@OUTLINES
@LANGUAGE
@OUT
def tags(
    given: Given, what: str, names: Sequence[str], on: str, start: int, right: str, down: str, outlines: bool,
    language: str, out: str | None,
) -> None:  # fmt: skip
    """Tags for shelves, spots or growing trays; all of them, or NAMES alone."""
    from trayward.paper.farm_labels import TagsOf, tags_paper

    assert what in get_args(TagsOf)
    how = _how(given, right, down, start=start, outlines=outlines)
    how |= {"tongue": tongue_of(given, language)}
    printed = tags_paper(given.farm, what, given.at, on=on, only=names, **how)  # type: ignore[arg-type]
    _save(given, printed, out, tags=counted(len(names), "name") if names else "all")
