"""Which bag of seed to take next: by the one rule for every lot (`farm.in_line`).

Round, sow screen, plan, Stores and sheets all ask here, so none of them names another bag than the others.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, time
from functools import lru_cache

import msgspec

from trayward.farm.calendar import local_day, moment
from trayward.farm.crops import CropFacts
from trayward.farm.in_line import Place, place_in_line
from trayward.farm.live_seed import live_seed
from trayward.farm.seed_care import SeedCare, seed_care
from trayward.farm.settings import FarmSettings
from trayward.farm.state import SeedLot
from trayward.science.viability import LiveShare

LATE = time(23, 59)
"""Seed ages by whole days: what is said of a day holds all day. Tests of the day count. [wall clock]"""


def seed_in_line(
    lots: Iterable[SeedLot], facts: CropFacts, at: datetime, settings: FarmSettings | None
) -> list[SeedLot]:
    """
    Seed lots of one crop in the order to use them.

    Parameters
    ----------
    lots : iterable of SeedLot
        Which; that they are here, not empty and fit to sow is for the caller to see to.
    facts : CropFacts
        What is known of the crop.
    at : datetime
        Now.
    settings : FarmSettings or None
        The farm's, for its day: what is said of a day holds all day.
    """
    found = list(lots)
    if len(found) < 2:
        return found
    return sorted(found, key=lambda lot: seed_place(lot, facts, at, settings))


def seed_place(lot: SeedLot, facts: CropFacts, at: datetime, settings: FarmSettings | None) -> Place:
    """A seed lot's place in line: by the day its likely live share falls below the least (`farm.seed_care`)."""
    good_until = aged_seed(lot, facts, at, settings)[0].good_until
    return place_in_line(good_until.date() if good_until is not None else None, lot.received_at, lot.lot)


def aged_seed(
    lot: SeedLot, facts: CropFacts, at: datetime, settings: FarmSettings | None
) -> tuple[SeedCare, LiveShare | None]:
    """
    What a lot's age asks and what is alive of it, at the end of a day.

    Worked out once a day for each lot, as a large farm's two thousand lots take 0.8 s; tests of the day count.
    """
    key = msgspec.msgpack.encode((msgspec.structs.replace(lot, left_g=0.0), facts))
    late = at if settings is None else moment(local_day(at, settings), LATE, settings)
    return _aged(key, late)


@lru_cache(8192)
def _aged(key: bytes, at: datetime) -> tuple[SeedCare, LiveShare | None]:
    lot, facts = msgspec.msgpack.decode(key, type=tuple[SeedLot, CropFacts])
    return seed_care(lot, facts, at), live_seed(lot, facts, at)
