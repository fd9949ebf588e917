"""What other programs take from the farm: tracing events (EPCIS 2.0) and the calendar (RFC 5545)."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from trayward.cli.files import save_new
from trayward.cli.given import Given, command, group
from trayward.cli.show import answer, wrapped
from trayward.cli.tongue import LANGUAGE, said_in
from trayward.cli.when import parse_day
from trayward.words import counted

OUT = click.Path(path_type=Path, dir_okay=False)
SORTS = "sow, cut, turn, deliver, wash, record, round"


@group("exchange", example="trayward exchange")
def exchange(given: Given) -> None:
    """Files for other programs: what buyers' systems trace by, in open standards."""
    lines = {"events": "What was sown, cut, packed, shipped and thrown away, as EPCIS 2.0 (JSON-LD)."}

    def show() -> None:
        for name, line in lines.items():
            wrapped(f"{name:<7} {line}", " " * 8)

    answer(given, lines, show)


@exchange.add("events", example="trayward exchange events --from 2026-11-01 --to today -o november.jsonld")
@click.option("--from", "first", metavar="DAY", help="From that day; all if left out. Example: 2026-11-01.")
@click.option("--to", "last", metavar="DAY", help="Up to that day; today if left out. Example: today.")
@click.option("--out", "-o", type=OUT, metavar="FILE", help="A new file; on the screen if left out. Example: e.jsonld.")
def events(given: Given, first: str | None, last: str | None, out: Path | None) -> None:
    """Write the tracing events of some days as an EPCIS 2.0 document.

    What was taken back is in it once, with the word that it is wrong. People, prices and notes stay at home; customers'
    names and lot codes are in it: give it only to those who may know them.
    """
    begin = parse_day(first, given.today, "from") if first else None
    end = parse_day(last, given.today, "to") if last else None
    made = given.farm.tracing_document(at=given.at, first=begin, last=end)
    if out is None:
        for piece in made:
            click.echo(piece, nl=False)
        return
    size = save_new(out, made)
    told = {"file": str(out), "bytes": size}
    answer(given, told, lambda: wrapped(f"Written to {out}: {size / 1024:.0f} KiB."))


@command("calendar", example="trayward calendar -o farm.ics")
@click.option("--out", "-o", type=OUT, metavar="FILE", help="A new file; on the screen if left out. Example: farm.ics.")
@click.option("--without", multiple=True, metavar="SORT", help=f"Leave out: {SORTS}. Example: --without round.")
@LANGUAGE
def calendar(given: Given, out: Path | None, without: Sequence[str], language: str) -> None:
    """Write the farm's calendar: sowings, cuts, turns, deliveries, washes, records and walks.

    A file holds what is known now. For a calendar that keeps itself up to date, subscribe to the one on the pages.
    """
    told = given.farm.calendar(given.at, without=without, said=said_in(given, language))
    number = told.count("BEGIN:VEVENT")
    if out is None:
        if given.json:
            answer(given, {"events": number, "calendar": told}, lambda: None)
        else:
            click.echo(told.encode(), nl=False)
        return
    save_new(out, [told.encode()])
    words = f"Written to {out}: {counted(number, 'event')}."
    answer(given, {"file": str(out), "events": number}, lambda: wrapped(words))
