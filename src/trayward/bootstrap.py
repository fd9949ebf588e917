"""The only place where all of it is wired together: a farm is a desk over a stored book."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from types import TracebackType

from trayward.desk.desk import Desk
from trayward.desk.door import looks_at_what_it_is_given
from trayward.errors import BookError, InputError, without_password
from trayward.farm.entries import Body
from trayward.store import SqlBook, open_book

FIRST_YEAR, LAST_YEAR = 2000, 2199
"""Of what is said: beyond them a clock was never set, or a year mistyped."""


@looks_at_what_it_is_given
class Farm(Desk):
    """A grower's farm: its book, its state, its plans and rounds.

    Examples
    --------
    >>> from datetime import datetime, timezone
    >>> morning = datetime(2026, 11, 25, 7, 0, tzinfo=timezone.utc)
    >>> with Farm.create(":memory:", "shelf", at=morning) as farm:
    ...     receipt = farm.sow("broccoli", 1, at=morning)
    ...     farm.state(morning).tray(receipt.names[1]).stage
    'germinate'
    """

    @classmethod
    def create(
        cls,
        url: str | Path,
        setup: str | Path | Iterable[Body],
        *,
        at: datetime,
        by: str = "grower",
        recorded: datetime | None = None,
    ) -> Farm:
        """Make a new book at a path or database URL and set the farm up in it.

        Parameters
        ----------
        url : str or Path
            A file path (SQLite), `:memory:`, or a database URL.
        setup : str, Path or iterable of Body
            The name of a ready setup (`shelf`, `loft`, `barn`), the path of a setup file, or what such a file says.

        Raises
        ------
        InputError
            If it is made at a moment that only a clock that was never set says.
        BookError
            If there is a farm in that book already.
        SetupError
            If the setup file cannot be used; every problem is listed with its line.
        RefusedError
            If the setup says something that cannot be. A file made for it is taken away again.
        """
        _require_a_clock(at, recorded or at)
        bodies = setup_bodies(setup)
        path = Path(url)
        made_now = not path.exists()
        book = open_book(str(url), create=True)
        farm = cls(book)
        try:
            if book.head().seq:
                shown = without_password(str(url))
                raise BookError(f"book = {shown}: there is a farm in it already. Open it, or choose another place.")
            farm.record(*bodies, at=at, by=by, recorded=recorded)
        except BaseException:
            unused = made_now and book.path == path and _holds_nothing(book)
            farm.close()
            if unused:
                path.unlink(missing_ok=True)
            raise
        return farm

    @classmethod
    def open(cls, url: str | Path) -> Farm:
        """Open the book of a farm at a path or database URL."""
        return cls(open_book(str(url)))

    @classmethod
    def take_in(cls, url: str | Path, source: str | Path, *, rechain: bool = False) -> tuple[int, int]:
        """Keep every entry of an exported book in the book at `url`, which is begun if there is none or it is empty.

        Parameters
        ----------
        url : str or Path
            A file path or a database URL.
        source : str or Path
            A JSON Lines file or a folder of CSV files, as `export` writes them.
        rechain : bool
            True: take entries although the numbers or hashes in the file do not fit, to save what is left of a book.

        Returns
        -------
        tuple of int
            Entries that are new in the book, and entries it had already.

        Raises
        ------
        BookError
            If the file cannot be kept whole, or the book at `url` is another farm's. A file made for it is taken away.
        """
        from trayward.store.importing import import_book

        made_now = not Path(url).exists()
        book = open_book(str(url), create="if missing")
        unused = False
        try:
            done = import_book(book, Path(source), rechain=rechain)
        except BaseException:
            unused = made_now and book.path == Path(url) and _holds_nothing(book)
            raise
        finally:
            book.close()
            if unused:
                Path(url).unlink(missing_ok=True)
        return done.kept, done.already

    def export(self, target: str | Path, *, csv: bool = False) -> int:
        """Write the whole book to a new JSON Lines file, or a new folder of CSV files. Returns how many entries.

        Raises
        ------
        BookError
            If there is something already, or it cannot be written.
        """
        from trayward.store.export import export_csv, export_lines

        assert isinstance(self.book, SqlBook)
        return export_csv(self.book, Path(target)) if csv else export_lines(self.book, Path(target))

    def close(self) -> None:
        """Let go of the database."""
        self.book.close()

    def __enter__(self) -> Farm:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def _require_a_clock(*moments: datetime) -> None:
    """Raise `InputError` for a year that a machine without its time says: seed received in 1970 would be long dead."""
    for moment in moments:
        if not FIRST_YEAR <= moment.year <= LAST_YEAR:
            rule = f"a farm is begun from {FIRST_YEAR} to {LAST_YEAR}"
            said = moment.isoformat(timespec="minutes")
            raise InputError("when", said, rule, "Set the machine's clock first, and the date you say.")


def _holds_nothing(book: SqlBook) -> bool:
    """Whether a book was begun and nothing was ever kept in it; False where it cannot be asked."""
    try:
        return book.head().seq == 0
    except BookError:
        return False


def setup_bodies(setup: str | Path | Iterable[Body]) -> tuple[Body, ...]:
    """What a setup says, from a ready setup's name, a file, or as given."""
    if not isinstance(setup, str | Path):
        return tuple(setup)
    # Only who makes a farm waits for what reads a setup; most commands open one.
    from trayward.desk.setup.file import read_setup, ready_setup

    path = Path(setup)
    if path.suffix == ".toml" or path.is_file():
        return read_setup(text_of(path), name=path.name)
    return ready_setup(str(setup))


def text_of(path: Path, what: str = "setup file") -> str:
    """The text of a file that somebody wrote.

    Raises
    ------
    InputError
        If it cannot be read, or is not UTF-8.
    """
    try:
        return path.read_text(encoding="utf-8")
    except OSError as error:
        raise InputError(what, path, f"it cannot be read ({error.strerror})", "Check the path.") from error
    except UnicodeDecodeError as error:
        raise InputError(what, path, "it is not UTF-8 text", "Save it as plain UTF-8 text.") from error
