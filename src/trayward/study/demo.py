"""Lantern Loft, the demo farm: two months of a made-up farm's life, then its order sheet.

Lantern Loft, its people and its customers are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, time, timedelta

from trayward.desk.desk import Desk
from trayward.farm.calendar import moment
from trayward.farm.settings import FarmSettings
from trayward.study.grower import Grower
from trayward.study.worlds import World

DAYS = 60
"""Length of the history before today. [d]"""

SEED = 20_26
"""The seed number of the demo's world."""

PERSON = "Maren"
"""Who keeps Lantern Loft's book; invented."""


def start_of_demo(today: date, settings: FarmSettings) -> datetime:
    """When the demo's book begins."""
    return moment(today - timedelta(days=DAYS), time(5, 0), settings)


def live_through(farm: Desk, settings: FarmSettings, today: date, *, tell: Callable[[str], None]) -> None:
    """Two months of rounds, sowings, cuts and deliveries, up to the evening before today.

    Parameters
    ----------
    farm : Desk
        A farm just set up at `start_of_demo`.
    tell : callable
        Told how far it is, in words.
    """
    grower = Grower(farm, World(SEED), settings, name=PERSON)
    for number in range(DAYS):
        day = today - timedelta(days=DAYS - number)
        grower.live(day)
        if number == DAYS - 4:
            _mistake_and_mend(farm, settings, day)
        if number % 10 == 9:
            tell(f"day {number + 1} of {DAYS}: {farm.book.head().seq} entries in the book")


def _mistake_and_mend(farm: Desk, settings: FarmSettings, day: date) -> None:
    """A slip of the thumb, struck a minute later, as happens on every farm."""
    at = moment(day, time(13, 0), settings)
    room = next(iter(farm.state(at).shelves.values())).room
    wrong = farm.take_reading("temperature", 2.5, room, at=at, by=PERSON)
    farm.strike(wrong.kept[0].entry.id, "typed 2.5, read 20.5", at=at + timedelta(minutes=1), by=PERSON)
    farm.take_reading("temperature", 20.5, room, at=at + timedelta(minutes=2), by=PERSON)
