"""Commands for the book itself: show, verify, strike, export, import, rebuild; copies of it are in `book_copies`."""

from __future__ import annotations

import re
import shlex
from collections import deque
from pathlib import Path

import click

from trayward.cli.book_copies import COMMANDS as COPIES
from trayward.cli.given import Given, group
from trayward.cli.numbers import whole
from trayward.cli.saying import subjects_of
from trayward.cli.show import (
    SHORT_ID,
    answer,
    entry_json,
    looks,
    moment_words,
    wrapped,
    written,
)
from trayward.desk.ports import Kept
from trayward.errors import InputError
from trayward.farm.entries import KINDS, Body, Struck
from trayward.rounds.entries.words import entry_words, strike_words
from trayward.rounds.words import sentence
from trayward.words import counted

LONGEST = 300
"""So many letters of an entry are shown in a list; one entry by its id is shown whole."""

PARTS = re.compile(r"; (?=[\w ]+: )")
"""Where the stages of a recipe begin, and what comes after them."""

FILE = click.Path(path_type=Path)


@group("book", example="trayward book")
def book(given: Given) -> None:
    """The book of the farm: how many entries it holds, and the newest ones."""
    show_entries(given, None, None, 10)


@book.add("show", example="trayward book show --about 261125A.1")
@click.argument("entry", required=False)
@click.option("--about", metavar="NAME", help="Only entries about a tray, lot, shelf, order, ... Example: 261125A.1.")
@click.option("--kind", metavar="KIND", help='Only entries of a kind. Example: "sowing made".')
@click.option("--last", type=whole(1), default=20, show_default=True, help="How many. Example: 50.")
def show(given: Given, entry: str | None, about: str | None, kind: str | None, last: int) -> None:
    """The newest entries, or one ENTRY by its id. Nothing is ever edited: what was struck is marked."""
    if entry is not None:
        _show_one(given, given.farm.entry_named(entry))
    else:
        show_entries(given, about, kind, last)


def show_entries(given: Given, about: str | None, kind: str | None, last: int) -> None:
    """The newest entries that fit, as a table or in JSON."""
    if kind is not None and kind not in KINDS:
        raise InputError("kind", kind, "no entry is of that kind", f"Take one of: {', '.join(KINDS)}.")
    found, fitting = _entries(given, about, kind, last)
    struck = given.farm.book.struck()
    head = given.farm.book.head()
    told = {
        "entries": [entry_json(kept) | {"struck": kept.entry.id in struck} for kept in found],
        "fitting": fitting,
        "held": head.seq,
        "hash": head.hash,
    }

    def human() -> None:
        cut_short = False
        for kept in found:
            cut_short |= _show_entry(given, kept, kept.entry.id in struck)
        if cut_short:
            click.echo("One entry whole: trayward book show and the letters before its date.")
        wrapped(_count_words(len(found), fitting, about, kind), "  ")

    answer(given, told, human)


def _count_words(shown: int, fitting: int, about: str | None, kind: str | None) -> str:
    """How many of those asked for are shown and, where it is only some kind of them, how to see the others."""
    which = f" about {about}" if about else ""
    which += f" of the kind {kind}" if kind else ""
    words = f"{shown} of {_entries_words(fitting)}{which}."
    if not which or shown == fitting:
        return words
    options = [part for name, value in (("--about", about), ("--kind", kind)) if value for part in (name, value)]
    return f"{words} Older ones are left out; all: trayward book show {shlex.join(options)} --last {fitting}"


def _entries_words(count: int) -> str:
    return counted(count, "entry", "entries")


def _entries(given: Given, about: str | None, kind: str | None, last: int) -> tuple[list[Kept], int]:
    """The newest entries that fit, and how many fit."""
    farm, passed = given.farm, 0
    limit = given.at if given.when else None
    if about is not None:
        pool = {kept.entry.id: kept for name in subjects_of(given.state, about) for kept in farm.book.about(name)}
        entries = iter(sorted(pool.values(), key=lambda kept: kept.seq))
    else:
        passed = after = 0 if kind or limit else max(0, farm.book.head().seq - last)
        entries = iter(farm.book.entries(after=after))
    fitting = (
        kept
        for kept in entries
        if (kind is None or kept.entry.kind == kind) and (limit is None or kept.entry.at <= limit)
    )
    newest: deque[Kept] = deque(maxlen=last)
    for count, kept in enumerate(fitting, start=1):
        newest.append(kept)
        passed += count > last
    return list(newest), passed + len(newest)


def _show_entry(given: Given, kept: Kept, struck: bool) -> bool:
    """Two lines or more of an entry; whether there was more to say."""
    entry = kept.entry
    when = moment_words(entry.at, given.zone)
    click.echo(f"{kept.seq}  {entry.id[:SHORT_ID]}  {when}  {entry.by}: {entry.kind}{' (struck)' if struck else ''}")
    says = says_words(given, entry.body)
    wrapped(f"    {says if len(says) <= LONGEST else says[: LONGEST - 3].rstrip() + '...'}", "    ")
    return len(says) > LONGEST


def says_words(given: Given, body: Body) -> str:
    """What an entry says, as a sentence; of one that takes another back, what that one said."""
    if not isinstance(body, Struck):
        return sentence(entry_words(body, given.units))
    taken = given.farm.book.get(body.entry)
    return sentence(strike_words(body, None if taken is None else taken.entry.body, given.units))


def _show_one(given: Given, kept: Kept) -> None:
    struck = kept.entry.id in given.farm.book.struck()
    entry = kept.entry

    def human() -> None:
        click.echo(f"{entry.kind}{' (struck)' if struck else ''}, entry {entry.id}, number {kept.seq}")
        happened, recorded = moment_words(entry.at, given.zone), moment_words(entry.recorded, given.zone)
        click.echo(f"  happened {happened}, recorded {recorded}, by {entry.by}")
        for part in PARTS.split(says_words(given, entry.body)):
            wrapped(f"  {part}", "    ")
        click.echo(f"  hash {kept.hash}")

    answer(given, entry_json(kept) | {"struck": struck}, human)


@book.add("verify", example="trayward book verify")
def verify(given: Given) -> None:
    """Recompute the chain of the whole book and compare: any change to what was written shows. Changes nothing."""
    found = given.farm.book.verify()
    head = given.farm.book.head()

    def human() -> None:
        looks(found)
        if not found:
            click.echo(f"The book is whole: {_entries_words(head.seq)}, each chained to the one before.")
            click.echo(f"  {head.hash}")

    answer(given, {"whole": not found, "entries": head.seq, "hash": head.hash, "findings": found}, human)
    if found:
        given.ctx.exit(1)


@book.add("strike", example='trayward book strike 3f2a9c1d --reason "wrong tray"', records=True)
@click.argument("entry")
@click.option("--reason", default="", metavar="WORDS", help='What was wrong. Example: "wrong tray".')
def strike(given: Given, entry: str, reason: str) -> None:
    """Take an ENTRY back, by its id or the first letters of it. It stays in the book, and counts no more."""
    kept = given.farm.entry_named(entry)
    receipt = given.farm.strike(kept.entry.id, reason, **given.said)
    words = entry_words(kept.entry.body, given.units)
    again = " What it took back counts again." if isinstance(kept.entry.body, Struck) else ""
    moment = moment_words(kept.entry.at, given.zone)
    written(given, receipt, f"Taken back, of {moment}: {words}. Reason: {reason}.{again}")


@book.add("export", example="trayward book export farm.jsonl")
@click.argument("target", type=FILE)
@click.option("--csv", is_flag=True, help="A new folder of CSV files, one a kind of entry. Example: --csv.")
def export(given: Given, target: Path, csv: bool) -> None:
    """Write the whole book to TARGET: a new JSON Lines file, or with --csv a new folder for spreadsheets."""
    count = given.farm.export(target, csv=csv)
    answer(
        given,
        {"exported": count, "to": str(target)},
        lambda: click.echo(f"Exported {_entries_words(count)} to {target}."),
    )


@book.add("import", example="trayward book import farm.jsonl --book new.sqlite")
@click.argument("source", type=FILE)
@click.option("--rechain", is_flag=True, help="Take a damaged book, or both of two copies. Example: --rechain.")
def import_(given: Given, source: Path, rechain: bool) -> None:
    """Read an exported book back, all of it or nothing; into a new book, or the same one that lacks some of it."""
    from trayward.bootstrap import Farm

    kept, already = Farm.take_in(given.book, source, rechain=rechain)
    told = {"imported": kept, "already": already, "book": given.shown_book}
    answer(given, told, lambda: wrapped(_taken_in(kept, already, given.shown_book), "  "))


def _taken_in(kept: int, already: int, book: str) -> str:
    there = f"{already} {'was' if already == 1 else 'were'} there already"
    return f"Imported {_entries_words(kept)} into {book}; {there}."


@book.add("rebuild", example="trayward book rebuild")
def rebuild(given: Given) -> None:
    """Throw away what was worked out from the entries, for speed, and work it out again. No entry changes."""
    given.farm.book.rebuild()
    entries = given.farm.book.head().seq
    answer(given, {"rebuilt": entries}, lambda: click.echo(f"Rebuilt from {_entries_words(entries)}."))


for _copying in COPIES:
    book.add_command(_copying)
