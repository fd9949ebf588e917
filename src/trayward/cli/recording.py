"""Hygiene records from the terminal: kinds, write, due, review, and a pack for an inspection."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

import click

from trayward.cli.files import save_folder
from trayward.cli.given import Given, group
from trayward.cli.numbers import WHOLE
from trayward.cli.show import Column, answer, moment_words, table, wrapped, written
from trayward.cli.tongue import LANGUAGE, tongue_of
from trayward.cli.when import parse_day
from trayward.dates import day_words
from trayward.errors import InputError
from trayward.words import counted

if TYPE_CHECKING:
    from trayward.hygiene.due import RecordDue
    from trayward.hygiene.kinds import Kind

AREA = click.option("--area", default="", metavar="PLACE", help='Where. Example: "cold room 1".')


@group("record", example="trayward record --from 2026-11-01")
@click.option("--from", "first", metavar="DAY", help="From that day. Example: 2026-11-01.")
@click.option("--to", "last", metavar="DAY", help="Up to that day. Example: today.")
def record(given: Given, first: str | None, last: str | None) -> None:
    """Hygiene records of the last 30 days, out of limits first."""
    from trayward.hygiene.pack import outside_first
    from trayward.hygiene.words import record_words

    days = _days(given, first, last)
    found = outside_first(given.farm.records(*days, at=given.at))

    def show() -> None:
        for each in found:
            told = (("OUTSIDE LIMITS", each.outside), ("late", each.late), ("struck", each.struck is not None))
            marks = [word for word, is_so in (*told, ("to review", each.waits)) if is_so]
            mark = f" [{', '.join(marks)}]" if marks else ""
            when = moment_words(each.at, given.zone)
            wrapped(f"{each.entry[:8]} {when}, {each.by}: {record_words(each.record, given.units)}{mark}", "  ")
        if not found:
            click.echo("Nothing was written down on these days. Kinds: trayward record kinds")

    answer(given, {"records": found}, show)


def _days(given: Given, first: str | None, last: str | None) -> tuple[date, date]:
    from trayward.hygiene.pack import RECENT

    end = parse_day(last, given.today, "to") if last else given.today
    return (parse_day(first, given.today, "from") if first else end - RECENT), end


@record.add("kinds", example='trayward record kinds "water test"')
@click.argument("kind", required=False)
def kinds(given: Given, kind: str | None) -> None:
    """Kinds of record, or the fields of one, with where they come from."""
    from trayward.hygiene.kinds import CHECKED, DEFER, KINDS, kind_named

    if kind is not None:
        told = kind_named(kind)
        answer(given, told, lambda: _show_kind(told))
        return

    def show() -> None:
        table(["Kind", "When", "Review"], [(each.name, each.when, "yes" if each.review else "") for each in KINDS])
        wrapped(f"Last checked {CHECKED}. {DEFER}")

    answer(given, {"kinds": KINDS, "checked": CHECKED}, show)


def _show_kind(kind: Kind) -> None:
    from trayward.hygiene.words import basis_words

    wrapped(f"{kind.title}: by {kind.who}, {kind.when}", "  ")
    for each in kind.fields:
        limit = f", at most {each.high:g}" if each.high is not None else ""
        unit = f" [{each.unit}]" if each.unit else ""
        wrapped(f"  {each.name}{unit}: {each.title}{', required' if each.required else ''}{limit}", "    ")
    if kind.corrective:
        wrapped(f"Where something is not right: {kind.corrective}.")
    wrapped(basis_words(kind))
    if kind.caution:
        wrapped(kind.caution)


@record.add("write", example='trayward record write "cold room" temperature="4 C" --area "cold room 1"', records=True,
            doubts=True)  # fmt: skip
@click.argument("kind")
@click.argument("values", nargs=-1, required=True, metavar="FIELD=VALUE...")
@AREA
@click.option("--lot", "about", multiple=True, metavar="LOT", help="A lot it concerns. Example: H261125A.")
@click.option("--did", default="", metavar="WORDS", help='What was done about it. Example: "moved the crates".')
@click.option("--note", default="", metavar="WORDS", help='Anything worth knowing. Example: "door stood open".')
def write(given: Given, kind: str, values: Sequence[str], area: str, about: Sequence[str], did: str, note: str) -> None:
    """Write a record of some KIND down. A value beyond its limit needs --did."""
    from trayward.hygiene.words import record_words

    receipt = given.farm.write_record(
        kind, _pairs(values), area=area, about=about, corrective=did, note=note, **given.said
    )
    body = receipt.kept[0].entry.body
    assert hasattr(body, "record")
    written(given, receipt, f"{record_words(body.record, given.units)}.")


def _pairs(values: Sequence[str]) -> dict[str, str]:
    found = {}
    for word in values:
        name, sign, value = word.partition("=")
        if not sign:
            raise InputError("value", word, "it must be FIELD=VALUE", 'For instance temperature="4 C".')
        found[name.strip()] = value.strip()
    return found


@record.add("due", example="trayward record due")
def due(given: Given) -> None:
    """What is to be written down now, and what waits for a review."""
    from trayward.hygiene.words import record_words

    records, reviews = given.farm.records_due(given.at), given.farm.reviews_due(given.at)

    def show() -> None:
        rows = [(each.title, each.area, _since(given, each), str(each.missed or "")) for each in records]
        table(["Record", "Where", "Due since", Column("Missed", right=True)], rows, none="No record is due.")
        for each in reviews:
            late = ", OVERDUE" if each.overdue else ""
            told = record_words(each.held.record, given.units)
            wrapped(f"{each.held.entry[:8]} to review by {day_words(each.by)}{late}: {told}", "  ")

    answer(given, {"records": records, "reviews": reviews}, show)


def _since(given: Given, due: RecordDue) -> str:
    """The day it was due first, with the time where it is due at one."""
    return moment_words(due.due, given.zone) if due.due is not None else day_words(due.since)


@record.add("review", example="trayward record review 3f2a91bc --by Ada", records=True)
@click.argument("entries", nargs=-1, metavar="ENTRY...")
@click.option("--all", "everything", is_flag=True, help="All that wait for a review. Example: --all.")
@click.option("--note", default="", metavar="WORDS", help='Anything worth knowing. Example: "talked it over".')
def review(given: Given, entries: Sequence[str], everything: bool, note: str) -> None:
    """Somebody in charge looked at these records: --by says who."""
    names = [each.held.entry for each in given.farm.reviews_due(given.at)] if everything else list(entries)
    if everything and not names:
        raise InputError("records", "none", "no record waits for a review", "See what is due: trayward record due")
    receipt = given.farm.review(names, note=note, **given.said)
    written(given, receipt, f"Reviewed {counted(len(names), 'record')}.")


@record.add("set", example='trayward record set "cold room" --every daily --high temperature=5',
            records=True)  # fmt: skip
@click.argument("kind")
@AREA
@click.option("--every", default="", metavar="WORDS", help='How often. Examples: "2 a day", "every 12 h".')
@click.option("--low", "lows", multiple=True, metavar="FIELD=VALUE", help="Lowest. Example: temperature=1.")
@click.option("--high", "highs", multiple=True, metavar="FIELD=VALUE", help="Highest. Example: temperature=5.")
@click.option("--review-within", "within", type=WHOLE, metavar="DAYS", help="Reviewed within so many. Example: 7.")
@click.option("--end", "ended", is_flag=True, help="No longer asked for. Example: --end.")
def set_habit(
    given: Given, kind: str, area: str, every: str, lows: Sequence[str], highs: Sequence[str], within: int | None,
    ended: bool,
) -> None:  # fmt: skip
    """How often a KIND is written down somewhere, and the farm's own limits there, whole."""
    from trayward.hygiene.words import habit_words

    low, high = _pairs(lows), _pairs(highs)
    limits = {name: (low.get(name), high.get(name)) for name in dict.fromkeys((*low, *high))}
    receipt = given.farm.set_record_habit(
        kind, area=area, every=every, limits=limits, within_days=within, ended=ended, **given.said
    )
    body = receipt.kept[0].entry.body
    assert hasattr(body, "habit")
    written(given, receipt, f"{habit_words(body.habit, given.units)}.")


@record.add("pack", example="trayward record pack --from 2026-11-01 --to today --out inspection")
@click.option("--from", "first", required=True, metavar="DAY", help="From that day. Example: 2026-11-01.")
@click.option("--to", "last", default="today", metavar="DAY", help="Up to that day. Example: today.")
@click.option("--out", required=True, metavar="FOLDER", help="A new folder for it. Example: inspection.")
@click.option("--size", default="", metavar="PAPER", help="A4 or Letter; the farm's if left out. Example: A4.")
@LANGUAGE
def pack(given: Given, first: str, last: str, out: str, size: str, language: str) -> None:
    """An inspection pack: one PDF of all records of a period, and a CSV for each kind, in a new folder."""
    from trayward.paper.inspection_sheet import pack_files

    found = given.farm.inspection(*_days(given, first, last), at=given.at)
    files = pack_files(found, given.settings, size=size, tongue=tongue_of(given, language))
    save_folder(out, files)

    def show() -> None:
        wrapped(f"{counted(len(found.records), 'record')} written to {out}: {', '.join(files)}.")

    answer(given, {"folder": out, "files": list(files), "records": len(found.records)}, show)
