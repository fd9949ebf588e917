"""Taking in what was written elsewhere: an order sheet, an edited setup file; and looking after the book itself."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, Unpack

from trayward.desk.core import DeskCore, Receipt, Said
from trayward.errors import Finding
from trayward.farm.entries import Body

if TYPE_CHECKING:
    from trayward.desk.sheets.mapping import Mapping
    from trayward.desk.sheets.orders import OrderSheet


class OrdersTaken(NamedTuple):
    """What an order sheet said, and what was recorded of it; no receipt where nothing was."""

    sheet: OrderSheet
    receipt: Receipt | None


class TakingIn(DeskCore):
    """Order sheets, setup files, and the book's own care."""

    def import_orders(
        self,
        source: Path | str | bytes,
        *,
        mapping: Mapping | None = None,
        skip_rejected: bool = False,
        not_before: date | None = None,
        **said: Unpack[Said],
    ) -> OrdersTaken:
        """
        Record the orders of a spreadsheet (CSV, XLSX, ODS). Reading the same sheet again changes nothing.

        Parameters
        ----------
        source : Path, str or bytes
            The file, or what is in it.
        mapping : Mapping, optional
            What its columns mean (`desk.sheets.mapping.guess_mapping`, looked at and confirmed); guessed if left out.
        skip_rejected : bool
            Record the orders that can be read whole; else nothing is recorded while any row is rejected.
        not_before : date, optional
            Orders due before that day are passed over.
        """
        from trayward.desk.sheets.mapping import guess_mapping
        from trayward.desk.sheets.orders import read_orders
        from trayward.desk.sheets.reading import read_sheet

        state = self.state(said["at"])
        sheet = read_sheet(source)
        meant = mapping if mapping is not None else guess_mapping(sheet, state)
        read = read_orders(sheet, meant, state, skip_rejected=skip_rejected, not_before=not_before)
        return OrdersTaken(read, self.record(*read.bodies, **said) if read.bodies else None)

    def changes(self, bodies: Iterable[Body], at: datetime) -> tuple[Body, ...]:
        """Of what a setup file says, only what the farm does not hold yet."""
        from trayward.desk.setup.file import setup_changes

        return tuple(setup_changes(self.state(at), tuple(bodies)))

    def apply_setup(self, bodies: Iterable[Body], **said: Unpack[Said]) -> Receipt | None:
        """Record what a setup file says and the farm does not hold yet; None where it holds all of it.

        `trayward.bootstrap.setup_bodies` reads the file.
        """
        changes = self.changes(bodies, said["at"])
        return self.record(*changes, **said) if changes else None

    def verify(self) -> list[Finding]:
        """Recompute the chain of the book and compare; an empty list means the book is whole."""
        return self.book.verify()

    def backup(self, target: Path | str) -> None:
        """Copy the whole book to a new file while others go on using it."""
        self.book.backup(Path(target))

    def rebuild(self) -> None:
        """Throw away what is kept for speed and build it again from the book."""
        self.book.rebuild()
        self._forget()
