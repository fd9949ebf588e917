"""Planned backups while the pages are served: looked at every minute, made by a process of their own."""

from __future__ import annotations

import logging
import os
import subprocess
import sys
from collections.abc import Callable
from datetime import datetime
from threading import Event, Thread
from typing import TYPE_CHECKING

from trayward.desk.backups import backups_of, is_due
from trayward.errors import TraywardError
from trayward.farm.calendar import zone

if TYPE_CHECKING:
    from trayward.web.office import Office

EVERY_S = 60.0
"""How often it is looked whether one is due. [s]"""

log = logging.getLogger("trayward.web")


class PlannedBackups:
    """
    A thread that makes each planned backup when its time has come.

    Parameters
    ----------
    office : Office
        Where the pages' farm is.
    book : str
        Where the other process finds the book.
    now : callable
        The clock of the pages.
    every_s : float
        How often it looks. [s]
    """

    def __init__(self, office: Office, book: str, now: Callable[[], datetime], *, every_s: float = EVERY_S) -> None:
        self._office, self._book, self._now, self._every = office, book, now, every_s
        self._over = Event()
        self._child: subprocess.Popen[str] | None = None
        self._thread = Thread(target=self._run, name="trayward-backups", daemon=True)

    def begin(self) -> None:
        """Begin to look; comes back at once."""
        self._thread.start()

    def end(self) -> None:
        """Look no more; one that is being made is let go of, and made anew the next time."""
        self._over.set()
        if self._child is not None and self._child.poll() is None:
            self._child.terminate()
        self._thread.join(timeout=10)

    def _run(self) -> None:
        while not self._over.wait(self._every):
            try:
                if self._due():
                    self._make()
            except TraywardError as error:
                log.warning("no backup could be made: %s", error)
            except Exception:
                log.exception("no backup could be made")

    def _due(self) -> bool:
        now = self._now()
        self._office.take()
        try:
            if not self._office.has_farm:
                return False
            known = backups_of(self._office.farm.book)
            return known.plan is not None and is_due(known, now, zone(self._office.settings(now)))
        finally:
            self._office.give_back()

    def _make(self) -> None:
        """In a process of its own: to restore a book and look it through would make the pages slow meanwhile."""
        command = [
            sys.executable,
            "-m",
            "trayward.cli.main",
            "book",
            "backup",
            "--if-due",
            "--at",
            self._now().isoformat(),
        ]
        # The address may hold a password, which everybody on the machine could read off a command line.
        environment = os.environ | {"TRAYWARD_BOOK": self._book}
        pipe = subprocess.PIPE
        self._child = subprocess.Popen(command, stdout=pipe, stderr=subprocess.STDOUT, text=True, env=environment)
        said, _ = self._child.communicate()
        if self._child.returncode and not self._over.is_set():
            log.warning("no backup could be made: %s", said.strip())
