"""A folder of backups: each proven by restoring it, old ones let go by a rule, and never the last that is sound.

A backup is written under a name that nobody takes for one, restored into a book of its own in another folder, looked
through there, its look-ups built anew and compared, and only then given its name and a proof beside it
(`NAME.sqlite`, `NAME.proof.json`). What has no proof, or is no longer what its proof says, counts for nothing when it
is decided what may go.
"""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Iterable, Sequence
from contextlib import closing, suppress
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Literal
from zoneinfo import ZoneInfo

import msgspec
from sqlalchemy import Connection

from trayward.desk.backups import NAME, BackupMade, BackupPlan, Backups, backups_in
from trayward.errors import BookError
from trayward.store.book import SqlBook
from trayward.store.copying import SPEED, BookMark, differences, mark_of
from trayward.store.files import new_file
from trayward.store.opening import open_book, sizes
from trayward.store.projections import dump
from trayward.store.schema import CURRENT
from trayward.store.worked_out import find_worked_out, replace_worked_out

ENDING = ".sqlite"
PROOF = ".proof.json"
UNPROVEN = ".unproven"
STALE_S = 24 * 3600
"""An unproven file this old is nobody's work any more. [s]"""
ROOM = 1.1
"""A backup wants so many times the room of the one before. [-]"""

Standing = Literal["sound", "damaged", "not proven"]


class Proof(msgspec.Struct, frozen=True, kw_only=True):
    """What a backup was found to hold when it was restored."""

    made: datetime
    """The moment it is of."""
    schema: str
    mark: BookMark


class Shelved(msgspec.Struct, frozen=True, kw_only=True):
    """A backup in a folder, and whether it can be relied on."""

    file: str
    made: datetime | None
    entries: int
    size: int
    """[byte]"""
    standing: Standing
    why: str = ""


# What is known of them ------------------------------------------------------------------------------------------------


def keep_plan(book: SqlBook, plan: BackupPlan | None, at: datetime) -> None:
    """Plan backups from now on, or no more."""
    with book.writing() as connection:
        known = _known(connection)
        _keep(connection, msgspec.structs.replace(known, plan=plan, since=at, failed=None, why=""))


def _known(connection: Connection) -> Backups:
    return backups_in(find_worked_out(connection, NAME))


def _keep(connection: Connection, known: Backups) -> None:
    replace_worked_out(connection, NAME, msgspec.json.encode(known))


def back_up(book: SqlBook, plan: BackupPlan, at: datetime, zone: ZoneInfo) -> BackupMade:
    """
    Back a book up into the plan's folder, prove it, let old ones go, and keep what came of it beside the book.

    Raises
    ------
    BookError
        If it cannot be written or is not whole. Nothing in the folder is touched then, and that it failed is kept.
    """
    try:
        made = make_backup(book, Path(plan.folder), at, zone)
    except BookError as error:
        # A book that cannot even take this note is told of by the error itself.
        with suppress(BookError), book.writing() as connection:
            _keep(connection, msgspec.structs.replace(_known(connection), failed=at, why=str(error)))
        raise
    let_go(Path(plan.folder), plan, zone)
    with book.writing() as connection:
        _keep(connection, msgspec.structs.replace(_known(connection), last=made, failed=None, why=""))
    return made


# Making one -----------------------------------------------------------------------------------------------------------


def make_backup(book: SqlBook, folder: Path, at: datetime, zone: ZoneInfo) -> BackupMade:
    """Copy a book into a folder and prove the copy by restoring it; only a copy that is proven gets its name."""
    if not folder.is_dir():
        raise BookError(f"Backup folder {folder}: it is not there. Plug the disk in or make the folder, and try again.")
    _require_room(book, folder)
    target = _free(folder, f"{_stem(book)}-{at.astimezone(zone):%Y-%m-%d-%H%M}")
    unproven = target.with_name(target.name + UNPROVEN)
    _sweep(folder, at)
    for left in (unproven, proof_path(target)):
        left.unlink(missing_ok=True)
    try:
        book.backup(unproven)
        proof = prove(unproven, at, book)
        with new_file(proof_path(target)) as part:
            part.write_bytes(msgspec.json.format(msgspec.json.encode(proof), indent=1))
        unproven.replace(target)
    except BaseException:
        unproven.unlink(missing_ok=True)
        if not target.exists():
            proof_path(target).unlink(missing_ok=True)
        raise
    return BackupMade(
        file=str(target), at=at, entries=proof.mark.entries, hash=proof.mark.hash, size=target.stat().st_size
    )


def _sweep(folder: Path, at: datetime) -> None:
    """Take away what backups left that were killed, but nothing so young that it may still be written to."""
    for left in folder.glob(f"*{ENDING}{UNPROVEN}*"):
        if at.timestamp() - left.stat().st_mtime > STALE_S:
            left.unlink(missing_ok=True)


def _stem(book: SqlBook) -> str:
    """What a book's backups are called by: its file, or its database."""
    name = book.path.stem if book.path is not None else book.name.partition("?")[0].rpartition("/")[2]
    return "".join(each if each.isalnum() else "-" for each in name).strip("-") or "book"


def _free(folder: Path, name: str) -> Path:
    """A name not taken yet: two in one minute may be wanted."""
    names = [f"{name}{ENDING}", *(f"{name}-{number}{ENDING}" for number in range(2, 100))]
    return next(folder / each for each in names if not (folder / each).exists())


def _require_room(book: SqlBook, folder: Path) -> None:
    """Say that a disk is too full before it is filled to the brim."""
    size = book.path.stat().st_size if book.path is not None else 0
    free = shutil.disk_usage(folder).free
    if size * ROOM > free:
        wanted = f"the copy needs about {size * ROOM / 1e6:.0f} MB and {free / 1e6:.0f} MB are free"
        raise BookError(f"Backup folder {folder}: {wanted}. Make room there, or name another folder.")


def proof_path(file: Path) -> Path:
    """Where the proof of a backup stands."""
    return file.with_name(file.name.removesuffix(ENDING) + PROOF)


# Proving --------------------------------------------------------------------------------------------------------------


def prove(file: Path, at: datetime, book: SqlBook | None = None, proof: Proof | None = None) -> Proof:
    """
    Restore a backup into a book of its own, in a folder of its own, and look all of it through.

    Parameters
    ----------
    file : Path
        The backup; it is only read.
    at : datetime
        The moment it is of.
    book : SqlBook, optional
        The book it was made of, to compare with.
    proof : Proof, optional
        What was found when it was made, to compare with.

    Raises
    ------
    BookError
        If it cannot be restored, or anything in it is not as it was kept.
    """
    with tempfile.TemporaryDirectory(prefix="trayward-restore-") as folder:
        restored = Path(folder) / "restored.sqlite"
        try:
            shutil.copyfile(file, restored)
        except OSError as error:
            raise BookError(f"Backup {file}: it cannot be restored to try it out ({error.strerror}).") from error
        try:
            with open_book(restored) as tried:
                found = _looked_through(tried, at)
        except BookError as error:
            said = str(error).replace(str(restored), file.name)
            raise BookError(f"Backup {file}: it cannot be relied on. {said}") from error
    if proof is not None and proof.schema == CURRENT:
        _require_same(file, differences(proof.mark, found.mark, leave_out=SPEED))
    if book is not None and found.mark.entries:
        _require_same(file, [] if _has(book, found.mark) else ["its last entry is not that of the book"])
    return found


def _looked_through(tried: SqlBook, at: datetime) -> Proof:
    findings = [finding for finding in tried.verify() if finding.severity == "wrong"]
    if findings:
        raise BookError(findings[0].sentence())
    with tried.reading() as connection:
        mark = mark_of(connection)
        before = _shape(connection)
    tried.rebuild()
    with tried.reading() as connection:
        if _shape(connection) != before:
            raise BookError("Its look-ups are not those that its entries give.")
    return Proof(made=at, schema=CURRENT, mark=mark)


def _shape(connection: Connection) -> str:
    digest = sha256()
    for line in dump(connection):
        digest.update(line)
    return digest.hexdigest()


def _has(book: SqlBook, mark: BookMark) -> bool:
    last = next(iter(book.rows(after=mark.entries - 1, until_seq=mark.entries)), None)
    return last is not None and last.hash == mark.hash


def _require_same(file: Path, differs: Sequence[str]) -> None:
    if differs:
        raise BookError(f"Backup {file}: it is not what it was made of ({'; '.join(differs)}). It cannot be relied on.")


# What is there --------------------------------------------------------------------------------------------------------


def shelf(folder: Path, *, check: bool = False) -> list[Shelved]:
    """
    The backups in a folder, the newest first.

    Parameters
    ----------
    folder : Path
        Where they are.
    check : bool
        Restore every one and look it through, which takes a while. False: look whether each is all there and ends with
        the entry that its proof names.
    """
    found = [_shelved(file, check=check) for file in folder.glob(f"*{ENDING}")]
    return sorted(found, key=lambda each: (each.made is not None, str(each.made), each.file), reverse=True)


def _shelved(file: Path, *, check: bool) -> Shelved:
    size = file.stat().st_size
    try:
        proof = read_proof(file)
    except BookError as error:
        return Shelved(file=str(file), made=None, entries=0, size=size, standing="not proven", why=str(error))
    why = _wrong_at_a_glance(file, proof)
    if check and not why:
        try:
            prove(file, proof.made, proof=proof)
        except BookError as error:
            why = str(error)
    standing: Standing = "damaged" if why else "sound"
    return Shelved(file=str(file), made=proof.made, entries=proof.mark.entries, size=size, standing=standing, why=why)


def read_proof(file: Path) -> Proof:
    """The proof of a backup. Raises `BookError` where there is none."""
    path = proof_path(file)
    try:
        return msgspec.json.decode(path.read_bytes(), type=Proof)
    except FileNotFoundError:
        raise BookError("nothing says that it was ever restored") from None
    except (OSError, msgspec.DecodeError) as error:
        raise BookError(f"its proof cannot be read ({error})") from error


def _wrong_at_a_glance(file: Path, proof: Proof) -> str:
    """What is wrong with a backup as far as its first and last pages tell; empty where nothing is."""
    there, wanted = sizes(file)
    if there < wanted:
        return f"the file is cut short: {there} of {wanted} bytes are there"
    address = f"{file.absolute().as_uri()}?mode=ro&immutable=1"
    try:
        with closing(sqlite3.connect(address, uri=True)) as connection:
            head = connection.execute("SELECT seq, hash FROM book_head").fetchone()
            last = connection.execute("SELECT seq, hash FROM entry ORDER BY seq DESC LIMIT 1").fetchone()
    except sqlite3.Error as error:
        return f"the file is damaged ({error})"
    ends = (proof.mark.entries, proof.mark.hash)
    if head != ends or (last or (0, "")) != ends:
        return "it does not end with the entry that its proof names"
    return ""


# Letting go -----------------------------------------------------------------------------------------------------------


def let_go(folder: Path, plan: BackupPlan, zone: ZoneInfo) -> list[str]:
    """Take away backups that the plan no longer keeps; gives their names. What is not sound is left for people."""
    sound = [each for each in shelf(folder) if each.standing == "sound" and each.made is not None]
    keep = kept_of([each.made for each in sound if each.made is not None], plan, zone)
    gone = [each for each in sound if each.made not in keep]
    for each in gone:
        file = Path(each.file)
        file.unlink(missing_ok=True)
        proof_path(file).unlink(missing_ok=True)
    return [Path(each.file).name for each in gone]


def kept_of(moments: Iterable[datetime], plan: BackupPlan, zone: ZoneInfo) -> set[datetime]:
    """
    Those of the moments whose backups stay: the newest of each of the last days, weeks and months that have any.

    Days without a backup do not count, so a farm that rests keeps what it has; the newest of all always stays.

    Examples
    --------
    >>> from datetime import UTC, timedelta
    >>> days = [datetime(2026, 11, 25, 2, 30, tzinfo=UTC) - timedelta(days=day) for day in range(800)]
    >>> len(kept_of(days, BackupPlan(folder=""), ZoneInfo("UTC")))
    20
    """
    newest_first = sorted(set(moments), reverse=True)
    keep = set(newest_first[:1])
    rules = ((plan.days, "%Y-%m-%d"), (plan.weeks, "%G-%V"), (plan.months, "%Y-%m"))
    for most, shape in rules:
        of_each: dict[str, datetime] = {}
        for moment in newest_first:
            of_each.setdefault(moment.astimezone(zone).strftime(shape), moment)
        keep |= set(list(of_each.values())[:most])
    return keep
