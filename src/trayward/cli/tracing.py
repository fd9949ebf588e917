"""Commands that follow crop from seed to customer and back: trace, recall, contact."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click
import msgspec

from trayward.cli.files import OVER, file_named, save
from trayward.cli.given import Given, command
from trayward.cli.show import Column, Columns, answer, looks, moment_words, table, wrapped, written
from trayward.cli.tongue import LANGUAGE, tongue_of
from trayward.cli.when import parse_day, parse_when
from trayward.errors import InputError
from trayward.farm.entries import RecallKept
from trayward.farm.recalls import Contact, Recall
from trayward.words import counted, listed

if TYPE_CHECKING:
    from trayward.errors import Finding
    from trayward.trace.recall import RecallSheet
    from trayward.trace.types import Trace, Way
    from trayward.trace.words import Words

FILE = click.Path(path_type=Path, dir_okay=False)
MOST_SHOWN = 40
"""So many things of one kind are listed; all of them are in --json and --csv."""
WIDEST_SPAN = "For a customer, kit or a shelf only"


def _words(given: Given) -> Words:
    from trayward.trace.words import Words

    return Words(given.settings)


def _days(given: Given, first: str | None, last: str | None) -> tuple[date | None, date | None]:
    return (
        parse_day(first, given.today, "from") if first else None,
        parse_day(last, given.today, "to") if last else None,
    )


@command("trace", example="trayward trace P261204A-9 --back")
@click.argument("word", metavar="WORD")
@click.option("--back", is_flag=True, help="Only where it came from. Example: --back.")
@click.option("--forward", is_flag=True, help="Only where it went. Example: --forward.")
@click.option("--from", "first", metavar="DAY", help=f"{WIDEST_SPAN}: from that day. Example: 2026-11-01.")
@click.option("--to", "last", metavar="DAY", help=f"{WIDEST_SPAN}: up to that day. Example: today.")
@click.option(
    "--csv", "sheet", type=FILE, metavar="FILE", help=f"Write it to a CSV file too, {OVER}. Example: trace.csv."
)
@click.option(
    "--record",
    type=FILE,
    metavar="FILE",
    help=f"Write the traceability record, {OVER}: .xlsx or .csv. Example: r.xlsx.",
)
def trace(
    given: Given, word: str, back: bool, forward: bool, first: str | None, last: str | None, sheet: Path | None,
    record: Path | None,
) -> None:  # fmt: skip
    """Where something came from and where it went, from seed lot to customer.

    WORD is a code off a label, or a name: a pack, harvest lot, delivery, tray, sowing, seed lot, customer, kit pool,
    marked kit or shelf. Quantities that do not add up are pointed out.
    """
    from trayward.trace.words import trace_csv

    for file, kinds in ((sheet, (".csv",)), (record, (".xlsx", ".csv"))):
        if file is not None:
            file_named(file, *kinds)
    way: Way = "both" if back == forward else "back" if back else "forward"
    days = _days(given, first, last)
    found = given.farm.trace(word, at=given.at, way=way, first=days[0], last=days[1])
    words = _words(given)
    if sheet is not None:
        save(sheet, trace_csv(found, words).encode("utf-8-sig"))
    lacking = _write_record(given, word, days, record) if record is not None else ()
    answer(given, found, lambda: _show_trace(found, words, [path for path in (sheet, record) if path], lacking))


def _write_record(given: Given, word: str, days: tuple[date | None, date | None], record: Path) -> tuple[Finding, ...]:
    """Write the traceability record; what is missing in it."""
    from trayward.trace.sortable import HEAD, key_data_findings, key_data_rows, key_data_workbook
    from trayward.trace.words import as_csv

    rows = given.farm.key_data(word, at=given.at, first=days[0], last=days[1])
    in_cells = record.suffix.lower() == ".xlsx"
    save(record, key_data_workbook(rows) if in_cells else as_csv(HEAD, key_data_rows(rows)).encode("utf-8-sig"))
    return key_data_findings(rows)


def _show_trace(found: Trace, words: Words, written_to: Sequence[Path], lacking: Sequence[Finding]) -> None:
    from trayward.trace.types import CHAIN
    from trayward.trace.words import TITLES

    click.echo(f"Trace of {words.start(found.start)}")
    for kind in CHAIN:
        steps = found.of(kind)
        if steps:
            click.echo(f"{TITLES[kind]}: {len(steps)}")
        for step in steps[:MOST_SHOWN]:
            told = words.step(step)
            wrapped(f"  {step.code or step.name}{f': {told}' if told else ''}", "    ")
        if len(steps) > MOST_SHOWN:
            click.echo(f"  and {len(steps) - MOST_SHOWN} more, in --json or --csv")
    balances = [words.seed(each) for each in found.seed] + [words.harvest(each) for each in found.harvests]
    balances += [words.pack(each) for each in found.packs]
    if balances:
        click.echo("Does it add up?")
    for line in balances[:MOST_SHOWN]:
        wrapped(f"  {line}", "    ")
    for life in found.lives[:6]:
        wrapped(f"  {words.life(life)}", "    ")
        for washing in life.washed:
            wrapped(f"    {words.washing(washing)}", "      ")
    _end(found, written_to, lacking)


def _end(found: Trace, written_to: Sequence[Path], lacking: Sequence[Finding]) -> None:
    looks(found.findings)
    if not found.findings:
        click.echo("Everything adds up.")
    if found.taken_back or found.late:
        struck, late = counted(found.taken_back, "entry", "entries"), counted(found.late, "entry", "entries")
        wrapped(f"{struck} about these struck, {late} written down late.")
    for path in written_to:
        click.echo(f"Written to {path}.")
    looks(lacking)


@command("recall", example="trayward recall H261125A-J", records=True)
@click.argument("word", metavar="[LOT]", required=False)
@click.option("--from", "first", metavar="DAY", help=f"{WIDEST_SPAN}: from that day. Example: 2026-11-01.")
@click.option("--to", "last", metavar="DAY", help=f"{WIDEST_SPAN}: up to that day. Example: today.")
@click.option(
    "--csv", "sheet", type=FILE, metavar="FILE", help=f"Write the sheet to a CSV file, {OVER}. Example: call.csv."
)
@click.option("--pdf", type=FILE, metavar="FILE", help=f"Save it for the printer, {OVER}. Example: recall.pdf.")
@click.option("--keep", is_flag=True, help="Keep how it went in the book. Example: --keep.")
@click.option("--began", metavar="WHEN", help='With --keep or --pdf: when you began. Example: "today 10:02".')
@click.option("--reason", default="", metavar="WORDS", help='With --keep: why. Example: "yearly exercise".')
@click.option(
    "--reached", multiple=True, metavar="CUSTOMER", help='With --keep: who was reached. Example: "Corner Cafe".'
)
@click.option("--real", is_flag=True, help="With --keep: no exercise, crop is called back. Example: --real.")
@LANGUAGE
def recall(
    given: Given, word: str | None, first: str | None, last: str | None, sheet: Path | None, pdf: Path | None,
    keep: bool, began: str | None, reason: str, reached: Sequence[str], real: bool, language: str,
) -> None:  # fmt: skip
    """Try a recall out: every pack and customer that had of LOT, and how to reach them.

    Without LOT: the recalls that were kept; with the name of one of them: how it went. A pack or a delivery stands for
    all harvest lots in it. Whether to call back is not for this tool: defer to local codes and licensed practice.
    """
    for file, kind in ((sheet, ".csv"), (pdf, ".pdf")):
        if file is not None:
            file_named(file, kind)
    if word is None:
        kept = list(given.state.recalls.values())
        answer(given, {"recalls": kept}, lambda: _show_kept(given, kept))
        return
    if word.strip().upper() in given.state.recalls and not keep:
        _show_one(given, word, pdf, language)
        return
    days = _days(given, first, last)
    when = parse_when(began, given.now, given.zone) if began else None
    if keep:
        if when is None:
            raise InputError("began", "not said", "a recall is kept with the minutes it took", "Say it with --began.")
        receipt = given.farm.keep_recall(
            word, reason=reason, began=when, exercise=not real, reached=reached, first=days[0], last=days[1],
            **given.said,
        )  # fmt: skip
        body = receipt.kept[0].entry.body
        assert isinstance(body, RecallKept)
        saved = _save_kept(given, body.recall.recall, pdf, language)
        written(given, receipt, f"Kept {kept_words(body.recall, _words(given))}.{saved}")
        return
    found = given.farm.recall_sheet(word, at=given.at, first=days[0], last=days[1])
    words = _words(given)
    if sheet is not None:
        from trayward.trace.words import RECALL_HEAD, as_csv, recall_rows

        save(sheet, as_csv(RECALL_HEAD, recall_rows(found, words)).encode("utf-8-sig"))
    if pdf is not None:
        from trayward.paper.recall_sheet import recall_sheet_pdf

        save(pdf, recall_sheet_pdf(found, given.settings, at=given.at, began=when, tongue=tongue_of(given, language)))
    told = {"share": found.share, "accounted_g": found.accounted_g, **msgspec.structs.asdict(found)}
    answer(given, told, lambda: _show_recall(given, found, words, [path for path in (sheet, pdf) if path]))


def _show_one(given: Given, name: str, pdf: Path | None, language: str) -> None:
    """A recall that was kept, and its report."""
    kept = given.farm.kept_recall(name, at=given.at)
    saved = _save_kept(given, kept.recall.recall, pdf, language)
    answer(given, kept.recall, lambda: wrapped(f"{_kept_line(given, kept.recall)}.{saved}"))


def _save_kept(given: Given, name: str, pdf: Path | None, language: str) -> str:
    """Save the report of a recall that was kept; where to, in words."""
    if pdf is None:
        return ""
    from trayward.paper.recall_sheet import kept_recall_pdf

    kept, tongue = given.farm.kept_recall(name, at=given.at), tongue_of(given, language)
    save(pdf, kept_recall_pdf(kept, given.settings, at=given.at, tongue=tongue))
    return f" Written to {pdf}."


def _show_recall(given: Given, found: RecallSheet, words: Words, written_to: Sequence[Path]) -> None:
    from trayward.trace.words import CAUTION

    click.echo(f"To call back: {words.start(found.start)}, as of {moment_words(given.at, given.zone)}")
    click.echo(f"Harvest lots: {listed(step.code or step.name for step in found.harvests) or 'none'}")
    for pack in found.packs:
        wrapped(f"  {words.recall_pack(pack)}", "    ")
    if found.cold_room:
        held = listed(f"{words.mass(grams)} of {lot}" for lot, grams in found.cold_room.items())
        wrapped(f"Hold what is in the cold room: {held}.")
    if found.growing:
        wrapped(f"Do not cut: {listed(found.growing)} still stand.")
    rows = [
        (
            each.customer, words.had(each), words.still(each), each.contact.person, each.contact.phone or "-",
            each.contact.email,
        )
        for each in found.customers
    ]  # fmt: skip
    columns: Columns = ["Customer", "Had", "May still be there", "Ask for", Column("Telephone", whole=True), "E-mail"]
    table(columns, rows, none="Nobody had of it.")
    wrapped(words.account(found))
    looks(found.findings)
    for path in written_to:
        click.echo(f"Written to {path}.")
    wrapped(CAUTION)


def _show_kept(given: Given, kept: Sequence[Recall]) -> None:
    for each in kept:
        wrapped(_kept_line(given, each), "  ")
    if not kept:
        click.echo("No recall was kept yet. Try one out: trayward recall LOT")


def _kept_line(given: Given, each: Recall) -> str:
    return f"{moment_words(each.began, given.zone)}: {kept_words(each, _words(given))}"


def kept_words(each: Recall, words: Words) -> str:
    """A recall as it went, in a sentence without a full stop."""
    reached = f"{sum(told.reached for told in each.told)} of {counted(len(each.told), 'customer')} reached"
    deed = "exercise" if each.exercise else "recall"
    packs = counted(len(each.packs), "pack lot")
    account = f"{words.share(each.share)} of {words.mass(each.cut_g)} accounted for, {each.minutes:.0f} min"
    return f"{deed} {each.recall} of {each.about.partition(':')[2]}, {each.reason}: {packs}, {reached}, {account}"


@command("contact", example='trayward contact "Corner Cafe" --phone "0100 123" --person Kim', records=True)
@click.argument("customer")
@click.option("--person", metavar="NAME", help="Whom to ask for. Example: Kim.")
@click.option("--phone", metavar="NUMBER", help='Telephone. Example: "0100 123".')
@click.option("--email", metavar="ADDRESS", help="E-mail. Example: kim@cafe.example.")
@click.option("--address", metavar="WORDS", help='Where they are. Example: "1 Mill Lane".')
def contact(
    given: Given, customer: str, person: str | None, phone: str | None, email: str | None, address: str | None
) -> None:
    """How CUSTOMER is reached at once, for a recall; what you leave out stays as it was."""
    before = given.state.contacts.get(customer) or Contact(customer=customer)
    said = {"person": person, "phone": phone, "email": email, "address": address}
    after = msgspec.structs.replace(before, **{name: value for name, value in said.items() if value is not None})
    if after == before:
        answer(given, before, lambda: wrapped(f"{customer}: {contact_words(before)}."))
        return
    receipt = given.farm.set_contact(after, **given.said)
    written(given, receipt, f"{customer}: {contact_words(after)}.")


def contact_words(contact: Contact) -> str:
    """How somebody is reached, in words."""
    return listed(contact.ways) or "nobody knows how to reach them"
