"""Lantern Loft, the demo farm: two months of an invented farm's life, then its order sheet.

Lantern Loft, its people and its customers are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from pathlib import Path

from trayward.bootstrap import Farm, setup_bodies
from trayward.desk.core import Receipt
from trayward.desk.desk import Desk
from trayward.errors import InputError
from trayward.farm.calendar import local_day, moment
from trayward.farm.entries import FarmSet
from trayward.farm.settings import FarmSettings
from trayward.study.careful import CarefulGrower
from trayward.study.demo_rooms import LoftRooms
from trayward.study.demo_stores import LoftStores
from trayward.study.grower import Grower
from trayward.study.worlds import World

MINUTE = timedelta(minutes=1)

DAYS = 60
"""Length of the history before today. [d]"""

SEED = 2026
"""The seed number of the demo's world."""

PERSON = "Maren"
"""Who keeps Lantern Loft's book; invented."""


def make_demo(url: str, *, now: datetime, tell: Callable[[str], None], days: int = DAYS, careful: bool = False) -> Farm:
    """
    Lantern Loft in a new book, with a history that ends on the evening before today.

    Parameters
    ----------
    url : str
        Where the new book goes: a file path or a database URL.
    now : datetime
        The present moment, with offset.
    tell : callable
        Told how far it is, in words.
    days : int
        Length of the history. [d]
    careful : bool
        Whether its grower counts what stands before sowing, so that the farm runs mostly well, and keeps stores,
        sensors and records besides.

    Returns
    -------
    Farm
        Open; close it, or use it in a `with`.
    """
    bodies = setup_bodies("loft")
    settings = next(body.settings for body in bodies if isinstance(body, FarmSet))
    today = local_day(now, settings)
    start = moment(today - timedelta(days=days), time(5, 0), settings)
    if "://" in url:
        return _lived(Farm.create(url, bodies, at=start, by=PERSON), settings, today, days, tell, careful=careful)
    # Two months of waiting for the disk after every word would take a minute; the whole book is written at the end.
    with _lived(
        Farm.create(":memory:", bodies, at=start, by=PERSON), settings, today, days, tell, careful=careful
    ) as in_memory:
        in_memory.book.backup(Path(url))
    return Farm.open(url)


def _lived(
    farm: Farm, settings: FarmSettings, today: date, days: int, tell: Callable[[str], None], *, careful: bool
) -> Farm:
    try:
        live_through(farm, settings, today, days=days, tell=tell, careful=careful)
    except BaseException:
        farm.close()
        raise
    return farm


class LoftKeeper(CarefulGrower):
    """Looks after everything at Lantern Loft: crops, stores, sensors, records."""

    def __init__(self, farm: Desk, world: World, settings: FarmSettings, today: date) -> None:
        super().__init__(farm, world, settings, name=PERSON)
        self.stores = LoftStores(farm, settings, today, name=PERSON)
        self.rooms = LoftRooms(farm, settings, world, today, name=PERSON)
        self._begun = False

    # The sensors are heard between the jobs of a day, so that the book goes forward in time throughout: an entry put in
    # before others has the farm worked out anew.

    def live(self, day: date) -> None:
        """A whole day, on the first of them with the stores filled."""
        if not self._begun:
            self._begun = True
            early = moment(day, self.settings.rounds[0].at, self.settings) - 20 * MINUTE
            self.stores.begin(early)
            self.rooms.begin(early)
        super().live(day)

    def look(self, at: datetime) -> None:
        """A round, once the sensors were heard."""
        if at >= moment(local_day(at, self.settings), time(12, 0), self.settings):
            self.rooms.afternoon(local_day(at, self.settings))
        self.rooms.hear(at - 4 * MINUTE)
        super().look(at)

    def read(self, at: datetime) -> None:
        """The rooms by hand, once the sensors were heard."""
        self.rooms.hear(at - MINUTE)
        super().read(at)

    def deliver(self, at: datetime) -> None:
        """Pack and deliver, once the sensors were heard."""
        self.rooms.hear(at - MINUTE)
        super().deliver(at)

    def sow(self, at: datetime) -> None:
        """The stores, the sowings, and what there is to write down."""
        day = local_day(at, self.settings)
        self.rooms.hear(at - MINUTE)
        self.stores.work(day, at - MINUTE)
        super().sow(at)
        self.rooms.work(day, at + 2 * MINUTE)

    def end(self, at: datetime) -> None:
        """The last evening."""
        self.stores.end(at)


def live_through(
    farm: Desk, settings: FarmSettings, today: date, *, days: int, tell: Callable[[str], None], careful: bool = False
) -> None:
    """Rounds, sowings, cuts and deliveries of some days, up to the evening before today."""
    world = World(SEED)
    grower = LoftKeeper(farm, world, settings, today) if careful else Grower(farm, world, settings, name=PERSON)
    for number in range(days):
        day = today - timedelta(days=days - number)
        grower.live(day)
        if number == days - 4:
            _mistake_and_mend(farm, settings, day)
        if number % 15 == 14:
            tell(f"lived {number + 1} days of {days}: {farm.book.head().seq} entries in the book")
    grower.end(moment(today - timedelta(days=1), time(20, 0), settings))


def take_in_orders(farm: Desk, text: str, *, at: datetime) -> Receipt | None:
    """Record the orders of a sheet in CSV; None where the book knows them all already.

    Raises
    ------
    InputError
        If a row of the sheet cannot be used.
    """
    taken = farm.import_orders(text.encode(), at=at, by=PERSON)
    if taken.sheet.rejected:
        first = taken.sheet.rejected[0]
        raise InputError(f"row {first.row}", "of the order sheet", first.reason, first.remedy)
    return taken.receipt


def _mistake_and_mend(farm: Desk, settings: FarmSettings, day: date) -> None:
    """A slip of the thumb, struck a minute later, as happens on every farm."""
    at = moment(day, time(13, 0), settings)
    room = next(iter(farm.state(at).shelves.values())).room
    wrong = farm.take_reading("temperature", 2.5, room, at=at, by=PERSON, sure=True)
    farm.strike(wrong.kept[0].entry.id, "typed 2.5, read 20.5", at=at + timedelta(minutes=1), by=PERSON)
    farm.take_reading("temperature", 20.5, room, at=at + timedelta(minutes=2), by=PERSON)
