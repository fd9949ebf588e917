"""Commands for copies of the book: back it up, plan that, restore, move it to another place, and compare."""

from __future__ import annotations

import sys
from datetime import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from trayward.cli.given import Given, command
from trayward.cli.numbers import whole
from trayward.cli.show import Column, Columns, answer, moment_words, table, wrapped
from trayward.desk.backups import BackupPlan, Backups, backups_of, is_due, late_note
from trayward.errors import BookError, InputError, without_password
from trayward.words import counted

if TYPE_CHECKING:
    from trayward.store import SqlBook
    from trayward.store.moving import Proof

FILE = click.Path(path_type=Path)
MB = 1_000_000


def _book(given: Given) -> SqlBook:
    from trayward.store import SqlBook

    held = given.farm.book
    assert isinstance(held, SqlBook)
    return held


def _entries(count: int) -> str:
    return counted(count, "entry", "entries")


# Backing up -----------------------------------------------------------------------------------------------------------


@command("backup", example="trayward book backup farm-friday.sqlite")
@click.argument("target", type=FILE, required=False)
@click.option("--if-due", is_flag=True, help="Only where the plan says that it is time. Example: --if-due.")
def backup(given: Given, target: Path | None, if_due: bool) -> None:
    """Copy the whole book to the new file TARGET, or, proven by restoring it, into the folder TARGET.

    Without TARGET, into the folder of the plan (trayward book schedule). Others may go on using the book.
    """
    book = _book(given)
    if target is not None and not target.is_dir():
        book.backup(target)
        answer(given, {"backup": str(target)}, lambda: click.echo(f"Copied the book to {target}."))
        return
    known = backups_of(book)
    if if_due and not is_due(known, given.at, given.zone):
        answer(given, {"backup": None, "due": False}, lambda: click.echo("No backup is due."))
        return
    _prove_into(given, book, _plan(known, target))


def _plan(known: Backups, target: Path | None) -> BackupPlan:
    """The farm's plan; where a folder is named, with that folder in it."""
    import msgspec

    if target is not None:
        return msgspec.structs.replace(known.plan or BackupPlan(folder=""), folder=str(target))
    if known.plan is None:
        remedy = "Name a file or a folder, or plan it: trayward book schedule FOLDER."
        raise InputError("target", "nothing", "no backups are planned, so there is no folder for them", remedy)
    return known.plan


def _prove_into(given: Given, book: SqlBook, plan: BackupPlan) -> None:
    from trayward.store.backups import back_up

    made = back_up(book, plan, given.at, given.zone)

    def human() -> None:
        wrapped(f"Backed up {_entries(made.entries)} to {made.file}.", "  ")
        wrapped("It was restored into a book of its own, looked through, and found whole.", "  ")

    answer(given, {"backup": made.file, "entries": made.entries, "hash": made.hash, "proven": True}, human)


@command("schedule", example="trayward book schedule /mnt/disk/farm --at-time 02:30")
@click.argument("folder", type=FILE, required=False)
@click.option("--at-time", metavar="HH:MM", help="Every day, on the farm's clock; 02:30 if left out. Example: 13:00.")
@click.option("--warn-after", type=click.FloatRange(0.5), help="Days; the round then says so. Example: 2.")
@click.option("--days", type=whole(1), help="Keep the newest of so many days; 7 if left out. Example: 14.")
@click.option("--weeks", type=whole(0), help="Keep the newest of so many weeks; 4 if left out. Example: 8.")
@click.option("--months", type=whole(0), help="Keep the newest of so many months; 12 if left out. Example: 24.")
@click.option("--off", is_flag=True, help="Plan no more backups. Example: --off.")
def schedule(
    given: Given, folder: Path | None, at_time: str | None, warn_after: float | None, days: int | None,
    weeks: int | None, months: int | None, off: bool,
) -> None:  # fmt: skip
    """Plan a backup every day into FOLDER, best on another disk; without FOLDER, show the plan.

    `trayward serve` makes them while it runs. Without it: trayward book backup --if-due, every hour.
    """
    from trayward.store.backups import keep_plan

    book = _book(given)
    changed = {"at": _clock(at_time), "warn_days": warn_after, "days": days, "weeks": weeks, "months": months}
    said: dict[str, object] = {name: value for name, value in changed.items() if value is not None}
    if off:
        keep_plan(book, None, given.at)
    elif folder is not None or said:
        keep_plan(book, _changed(backups_of(book).plan, folder, said), given.at)
    known = backups_of(book)
    answer(given, known, lambda: _tell_plan(given, known))


def _changed(plan: BackupPlan | None, folder: Path | None, said: dict[str, object]) -> BackupPlan:
    import msgspec

    if plan is None and folder is None:
        raise InputError("folder", "nothing", "no backups are planned yet", "Name the folder first.")
    if folder is not None:
        if not folder.is_dir():
            raise InputError("folder", folder, "there is no such folder", "Make it, or plug its disk in.")
        said = said | {"folder": str(folder.absolute())}
    return msgspec.structs.replace(plan or BackupPlan(folder=""), **said)


def _clock(text: str | None) -> time | None:
    if text is None:
        return None
    try:
        return time.fromisoformat(text)
    except ValueError:
        raise InputError("at-time", text, "no time of day", "Say it as 02:30.") from None


def _tell_plan(given: Given, known: Backups) -> None:
    if known.plan is None:
        click.echo("No backups are planned. Plan them: trayward book schedule FOLDER")
    else:
        plan = known.plan
        wrapped(f"Every day at {plan.at:%H:%M} into {plan.folder}.", "  ")
        kept = f"Kept: the newest of {plan.days} days, {plan.weeks} weeks, {plan.months} months"
        wrapped(f"{kept}. The round says so when the last is older than {plan.warn_days:g} days.", "  ")
    if known.last is not None:
        moment = moment_words(known.last.at, given.zone)
        wrapped(f"Last sound backup: {moment}, {_entries(known.last.entries)}, {known.last.file}.", "  ")
    elif known.plan is not None:
        click.echo("None was made yet.")
    if known.failed is not None:
        wrapped(f"Failed {moment_words(known.failed, given.zone)}: {known.why}", "  ")
    late = late_note(known, given.at)
    if late:
        wrapped(late, "  ")


@command("backups", example="trayward book backups /mnt/disk/farm --check")
@click.argument("folder", type=FILE, required=False)
@click.option("--check", is_flag=True, help="Restore each one and look it through. Example: --check.")
def backups(given: Given, folder: Path | None, check: bool) -> None:
    """The backups in FOLDER, or in that of the plan: of when, how many entries, and whether each is sound."""
    from trayward.store.backups import shelf

    where = Path(_plan(backups_of(_book(given)), None).folder) if folder is None else folder
    if not where.is_dir():
        raise InputError("folder", where, "there is no such folder", "Plug its disk in, or name another.")
    found = shelf(where, check=check)
    rows = [
        (
            moment_words(each.made, given.zone) if each.made else "", Path(each.file).name, str(each.entries or ""),
            f"{each.size / MB:.1f}", each.standing,
        )
        for each in found
    ]  # fmt: skip

    def human() -> None:
        columns: Columns = ["Of", Column("File", whole=True), Column("Entries", True), Column("MB", True), "Standing"]
        table(columns, rows, none="There are none in it.")
        for each in found:
            if each.why:
                wrapped(f"{Path(each.file).name}: {each.why}", "  ")

    answer(given, {"folder": str(where), "checked": check, "backups": found}, human)
    if any(each.standing == "damaged" for each in found):
        given.ctx.exit(1)


# Restoring, moving, comparing -----------------------------------------------------------------------------------------


@command("restore", example="trayward book restore farm-friday.sqlite --book new.sqlite")
@click.argument("file", type=FILE)
def restore(given: Given, file: Path) -> None:
    """Make a new book, named with --book, of the backup FILE, and prove that nothing differs.

    The backup stays as it is. A book that is there is never touched.
    """
    import shutil
    import tempfile

    from trayward.store import open_book
    from trayward.store.backups import proof_path, prove, read_proof
    from trayward.store.moving import move_book

    if not file.is_file():
        raise InputError("file", file, "there is no such file", "Name a backup.")
    known = read_proof(file) if proof_path(file).is_file() else None
    found = prove(file, given.at, proof=known)
    with tempfile.TemporaryDirectory(prefix="trayward-restore-") as folder:
        # A copy: to open a backup is to write to it.
        copied = Path(folder) / "backup.sqlite"
        shutil.copyfile(file, copied)
        with open_book(copied) as source:
            proof = move_book(source, given.book, close=False)
    if proof.mark.hash != found.mark.hash:
        raise BookError(f"Book {given.shown_book}: what was restored is not what the backup holds.")
    told = _proof_json(proof) | {"restored": str(file), "of": known.made if known else None}

    def human() -> None:
        wrapped(f"Restored {_entries(proof.mark.entries)} from {file} into {given.shown_book}.", "  ")
        if known is not None:
            wrapped(f"It is the book of {moment_words(known.made, given.zone)}.", "  ")
        _tell_proof(proof)

    answer(given, told, human)


@command("move", example='trayward book move farm.sqlite "postgresql://farm@db/farm"')
@click.argument("source")
@click.argument("target")
@click.option("--copy", is_flag=True, help="Leave the old book open to be written to. Example: --copy.")
def move(given: Given, source: str, target: str, copy: bool) -> None:
    """Move the whole book from SOURCE to TARGET, files or database URLs, and prove that nothing differs.

    TARGET must hold no book. What breaks off leaves nothing there: say it again. The old book then takes no more.
    """
    from trayward.store import open_book
    from trayward.store.moving import move_book

    with open_book(source) as old:
        proof = move_book(old, target, close=not copy, watch=None if given.json else _progress)

    def human() -> None:
        wrapped(f"{'Copied' if copy else 'Moved'} the book from {proof.source} to {proof.target}.", "  ")
        _tell_proof(proof)
        if proof.closed:
            wrapped(f"The old book takes nothing more. Use the new one: --book {proof.target}", "  ")
            click.echo("If pages are open on the old one, stop them and serve the new one.")

    answer(given, _proof_json(proof), human)


def _progress(table: str, rows: int) -> None:
    """Say how far a move is, where somebody watches a terminal."""
    if sys.stderr.isatty():
        click.echo(f"\r{table.replace('_', ' ')}: {rows:,} rows    ", err=True, nl=False)


@command("compare", example="trayward book compare farm.sqlite copy.sqlite")
@click.argument("one")
@click.argument("other")
def compare(given: Given, one: str, other: str) -> None:
    """Compare the books ONE and OTHER row by row: entries, people, photos, readings, everything."""
    from trayward.store import open_book
    from trayward.store.moving import compare_books

    with open_book(one) as first, open_book(other) as second:
        proof = compare_books(first, second)
    answer(given, _proof_json(proof), lambda: _tell_proof(proof))
    if not proof.same:
        given.ctx.exit(1)


@command("reopen", example="trayward book reopen")
def reopen(given: Given) -> None:
    """Let a book that was moved away be written to again. What was said at the new place is not in it."""
    from trayward.store.moving import reopen_book

    was = reopen_book(_book(given))
    answer(
        given,
        {"reopened": was},
        lambda: click.echo("The book takes entries again." if was else "The book was open; nothing was changed."),
    )


def _proof_json(proof: Proof) -> dict[str, object]:
    return {
        "same": proof.same,
        "from": without_password(proof.source),
        "to": proof.target,
        "entries": proof.mark.entries,
        "hash": proof.mark.hash,
        "tables": {mark.table: {"rows": mark.rows, "sha256": mark.sha256} for mark in proof.mark.tables},
        "differs": proof.differs,
        "old_closed": proof.closed,
    }


def _tell_proof(proof: Proof) -> None:
    if not proof.same:
        click.echo("They differ:")
        for words in proof.differs:
            wrapped(f"  {words}.", "    ")
        return
    beside = [
        counted(mark.rows, one, many)
        for table, one, many in (
            ("photo", "photo", ""), ("sensor_reading", "reading", ""), ("person", "person", "people"),
            ("token", "token", ""),
        )
        if (mark := proof.mark.of(table)) is not None
    ]  # fmt: skip
    wrapped(
        f"Nothing differs: {_entries(proof.mark.entries)}, each with its hash, {', '.join(beside)}, and every row of "
        f"{len(proof.mark.tables)} tables were compared.",
        "  ",
    )
    click.echo(f"  {proof.mark.hash}")


COMMANDS = (backup, schedule, backups, restore, move, compare, reopen)
