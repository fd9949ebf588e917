"""Lantern Loft after twelve weeks of radish and kale, with one poor seed lot; kept in a book to type commands at."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from pathlib import Path

from trayward import Farm
from trayward.farm.entries import Cut, TrayCut

BEGAN = datetime(2026, 8, 31, 6, 0, tzinfo=UTC)
NOW = "2026-11-24T07:30:00+00:00"
SOWN_ON = (0, 3)
"""Mondays and Thursdays."""
WEEKS = 12
POOR = "RAD-POOR"
"""Trays of this lot weigh two thirds of the others'."""
LOTS = {"radish": ("RAD-A", POOR, "RAD-B", "RAD-C", "RAD-D"), "kale": ("KAL-A", "KAL-B", "KAL-C")}
GRAMS = {"radish": 240.0, "kale": 160.0}
DAYS = {"radish": {"blackout": 2.0, "light": 4.0, "ready": 8.0}, "kale": {"blackout": 3.0, "light": 5.0, "ready": 10.0}}


def lived_through(path: Path) -> Path:
    """Write the book; the same every time."""
    chance = random.Random(11)
    with Farm.create(":memory:", "loft", at=BEGAN, by="Maren") as farm:
        for crop, lots in LOTS.items():
            for lot in lots:
                farm.receive_seed(
                    lot, crop, 4000.0, germination=0.93, tsw_g=10.0 if crop == "radish" else 3.3, cost=60.0, at=BEGAN
                )
        moments = sorted(_moments(chance), key=lambda moment: moment[0])
        for at, what, crop, name, amount in moments:
            _do(farm, at, what, crop, name, amount)
        farm.book.backup(path)  # type: ignore[attr-defined]
    return path


Moment = tuple[datetime, str, str, str, float]


def _moments(chance: random.Random) -> list[Moment]:
    """What happens when: sown, each stage begun, cut with the grams of each of two trays."""
    found: list[Moment] = []
    for number in range(WEEKS * 2):
        day = BEGAN + timedelta(weeks=number // 2, days=SOWN_ON[number % 2], hours=1)
        for crop, lots in LOTS.items():
            sowing, lot = f"{crop[:1].upper()}{number:02d}", lots[number % len(lots)]
            found.append((day, "sow", crop, f"{sowing} {lot}", 2))
            late = chance.gauss(0.0, 0.4)
            for stage, days in DAYS[crop].items():
                found.append((_round(day, days + late), "begin", crop, f"{sowing} {stage}", 0))
            grams = GRAMS[crop] * (0.67 if lot == POOR else 1.0) * chance.lognormvariate(0.0, 0.06)
            fate = "discard" if number == 9 and crop == "kale" else "cut"
            found.append((_round(day, DAYS[crop]["ready"] + late) + timedelta(minutes=30), fate, crop, sowing, grams))
    return [moment for moment in found if moment[0] < datetime.fromisoformat(NOW)]


def _round(day: datetime, days: float) -> datetime:
    """The first walk after so many days: at seven or at nineteen."""
    at = day + timedelta(days=days)
    return at.replace(hour=7, minute=0) if at.hour < 7 else at.replace(hour=19, minute=0)


def _do(farm: Farm, at: datetime, what: str, crop: str, name: str, amount: float) -> None:
    sowing, _, rest = name.partition(" ")
    if what == "sow":
        farm.sow(crop, int(amount), lot=rest, sowing=sowing, at=at, by="Maren")
    elif what == "begin":
        farm.begin([sowing], rest, at=at, by="Maren")
    elif what == "discard":
        farm.discard([sowing], "mould", at=at, by="Maren")
    else:
        grams = (TrayCut(tray=f"{sowing}.1", grams=amount * 1.03), TrayCut(tray=f"{sowing}.2", grams=amount * 0.97))
        # Said as an entry: a weight given to `cut` is held against the outlook, which takes its time over 40 of them.
        farm.record(Cut(harvest=f"H{sowing}", crop=crop, trays=grams), at=at, by="Maren")
        farm.strip([sowing], at=at + timedelta(minutes=5), by="Maren")
        after = at + timedelta(minutes=10)
        for pool in [name for name, held in farm.state(after).kit.items() if held.dirty]:
            farm.wash(pool, at=after, by="Maren")
