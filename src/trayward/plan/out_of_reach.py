"""Lines that no stretching of a limit can meet: a part cannot be grown, or it is too late to sow it."""

from __future__ import annotations

from datetime import timedelta

from trayward.dates import day_words
from trayward.plan.clash import ENOUGH_G, Clash
from trayward.plan.demand import Want
from trayward.plan.results import Read
from trayward.plan.supply import reach_without_sowing


def out_of_reach(read: Read, short: set[int]) -> list[Clash]:
    """Wants that no stretching of a limit can meet: no way to grow a part, or too late to sow it."""
    wants = read.task.wants
    found = [
        _blocked(read, number, wants[number]) or _too_late(read, number, wants[number]) for number in sorted(short)
    ]
    return [clash for clash in found if clash is not None]


def _lacking(read: Read, want: Want) -> list[str]:
    """
    The parts of a want that must be sown for it to get more than it does.

    Of the others, cut crop and standing trays would allow more; what holds a mix back is never such a part.
    """
    given = read.given.trays_met if want.live else read.given.grams_met
    met = sum(float(given[number]) for number in want.lines)
    return [crop for crop, share in want.parts if reach_without_sowing(read, want, crop, share) <= met + ENOUGH_G]


def _blocked(read: Read, number: int, want: Want) -> Clash | None:
    for crop in _lacking(read, want):
        if crop in read.ways.blocked:
            limit, message = read.ways.blocked[crop]
            own = frozenset({number})
            return Clash(limit=limit, day=want.day, has=0.0, short=want.amount, unit="", wants=own, message=message)
    return None


def _too_late(read: Read, number: int, want: Want) -> Clash | None:
    """The slowest part of a want that has to be sown, if there was no time left for it."""
    growable = [crop for crop in _lacking(read, want) if crop not in read.ways.blocked]
    quickest = {crop: min(way.days for way in read.ways.of(crop)) for crop in growable}
    crop = max(quickest, key=lambda part: quickest[part], default="")
    if not crop or quickest[crop] <= want.day:
        return None
    days, short = read.task.days, float(quickest[crop] - want.day)
    latest = day_words(days.day(want.day) - timedelta(days=quickest[crop]))
    # Not the typical tray's days, which the list of recipes says, but those within which the cautious share is ready.
    words = f"Too late to sow {crop}: it takes {quickest[crop]} days when slow, so it had to be sown by {latest}."
    own = frozenset({number})
    return Clash(limit="time", day=want.day, has=float(want.day), short=short, unit="d", wants=own, message=words)
