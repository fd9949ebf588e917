"""The one farm of this process: behind a lock, with a version that moves with the book, and what is kept for speed."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from trayward.bootstrap import Farm
from trayward.desk.doubts import AHEAD
from trayward.desk.ports import Head
from trayward.errors import BookError
from trayward.farm.calendar import zone
from trayward.farm.settings import FarmSettings
from trayward.web.turns import Turns

T = TypeVar("T")

KEPT = 256
"""Values kept for speed; the ones not asked for longest go first."""

CLOSE_S = 5.0
"""So long the office waits at its end for whoever has the farm. [s]"""


class Office:
    """
    A farm that many threads use, one at a time.

    The book itself is safe to use from any thread; the state that a `Farm` keeps in memory is not, so whoever touches
    the farm first takes the office (`take`) and gives it back (`give_back`).

    Parameters
    ----------
    book : str or Farm
        Where the book is; or an open farm, as one in memory has no address. There need not be a book yet.
    """

    def __init__(self, book: str | Farm) -> None:
        self._turns = Turns()
        self.lent = isinstance(book, Farm)
        """Whether the farm is somebody else's, who may use it outside of the office."""
        self._farm = book if isinstance(book, Farm) else None
        self.url: str | None = _address(book)
        """Where another process finds the book; None for a book in memory."""
        self.told_by: tuple[str, ...] = ()
        """By which ways this machine tells alarms."""
        self.head = Head()
        self._settings: tuple[int, FarmSettings] | None = None
        self._kept: OrderedDict[Hashable, tuple[int, Any]] = OrderedDict()

    # One at a time ---------------------------------------------------------------------------------------------------

    def take(self) -> None:
        """Wait for the farm, in turn, and look where its book ends. Raises `BookError` once the pages close."""
        if not self._turns.take():
            raise BookError(
                "The pages are being closed, and nothing of this was kept. Send it again once they are back."
            )
        try:
            self.look()
        except BaseException:
            self._turns.give_back()
            raise

    def give_back(self) -> None:
        """Let the next one have the farm."""
        self._turns.give_back()

    def look(self) -> Head:
        """Where the book ends now, as others may have written to it; the office must be taken."""
        farm = self._farm or self._opened()
        if farm is not None:
            self.head = farm.book.head()
        return self.head

    def glance(self) -> int:
        """The book's version now, without waiting for the farm: the book itself is safe in any thread."""
        farm = self._farm
        if farm is not None:
            return farm.book.head().seq
        if not self._turns.take():
            return self.head.seq
        try:
            return self.look().seq
        finally:
            self._turns.give_back()

    # The farm --------------------------------------------------------------------------------------------------------

    @property
    def farm(self) -> Farm:
        """The farm; only for who has taken the office. `BookError` where there is no book yet."""
        if self._farm is None:
            raise BookError("There is no farm here yet. Set one up first.")
        return self._farm

    @property
    def version(self) -> int:
        """How many entries the book had when it was last looked at: two pages of one version show the same."""
        return self.head.seq

    @property
    def has_farm(self) -> bool:
        """Whether there is a book with something in it."""
        return self.head.seq > 0

    def begin(self, setup: Any, *, at: datetime, by: str) -> None:
        """Set up a farm where there is no book yet, or an empty one; the office must be taken."""
        if self._farm is not None and self.has_farm:
            raise BookError("There is a farm here already. Change it under Setup.")
        if self._farm is not None:
            from trayward.bootstrap import setup_bodies

            self._farm.record(*setup_bodies(setup), at=at, by=by)
        else:
            assert self.url is not None
            self._farm = Farm.create(self.url, setup, at=at, by=by)
        self.look()

    def seen_at(self, now: datetime) -> datetime:
        """The moment pages are of: now, or where the book ends if a device's clock ran ahead by up to an hour."""
        end = self.head.horizon
        return end if end is not None and now < end <= now + AHEAD else now

    def ends_beyond(self, now: datetime) -> datetime | None:
        """Where the book ends if this machine's clock is behind it, else None; the office must be taken."""
        end = self.head.horizon
        return self.farm.ends_beyond(now) if end is not None and end > now + AHEAD else None

    def settings(self, now: datetime) -> FarmSettings:
        """The farm's settings, as the book's end knows them; the office must be taken."""
        if self._settings is None or self._settings[0] != self.version:
            self._settings = self.version, self.farm.settings(max(now, self.head.horizon or now))
        return self._settings[1]

    def zone(self, now: datetime) -> ZoneInfo:
        """The farm's time zone; the office must be taken."""
        return zone(self.settings(now))

    # Kept for speed --------------------------------------------------------------------------------------------------

    def kept(self, key: Hashable, make: Callable[[], T]) -> T:
        """A value made once for a version of the book; the office must be taken."""
        found = self._kept.get(key)
        if found is not None and found[0] == self.version:
            self._kept.move_to_end(key)
            value: T = found[1]
            return value
        value = make()
        self._kept[key] = self.version, value
        self._kept.move_to_end(key)
        while len(self._kept) > KEPT:
            self._kept.popitem(last=False)
        return value

    def open(self) -> None:
        """Let the farm be had again after the pages were closed, as a server may that begins once more."""
        self._turns.open()

    def shut(self) -> None:
        """Let nobody have the farm any more; whoever waits for it is told that the pages close."""
        self._turns.shut()

    def close(self) -> None:
        """Let go of the book, as soon as whoever has the farm gives it back; who takes too long is not waited for."""
        if not self._turns.take_last(CLOSE_S):
            return
        try:
            if self._farm is not None and not self.lent:
                self._farm.close()
                self._farm = None
        finally:
            self._turns.give_back()

    def _opened(self) -> Farm | None:
        """The farm at the address, once there is one."""
        if self.url is None or ("://" not in self.url and not _is_begun(Path(self.url))):
            return None
        self._farm = Farm.open(self.url)
        return self._farm


def _is_begun(path: Path) -> bool:
    return path.is_file() and path.stat().st_size > 0


def _address(book: str | Farm) -> str | None:
    if isinstance(book, str):
        return book
    path = getattr(book.book, "path", None)
    return str(path) if path is not None else None
