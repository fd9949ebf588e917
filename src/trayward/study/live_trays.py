"""Ready trays that go out live: spared when others are cut, and which go to whom."""

from __future__ import annotations

from collections.abc import Iterable

from trayward.farm.orders import LineDue
from trayward.farm.served_first import served_first
from trayward.farm.state import FarmState, Tray


def spared(due: Iterable[LineDue], ready: dict[str, Tray], picked: dict[str, Tray]) -> set[str]:
    """Ready trays that go out live, the oldest of what is not to be cut."""
    found: set[str] = set()
    for line in due:
        crops = {part.crop for part in line.parts}
        free = [t for t in ready.values() if t.crop in crops and t.tray not in picked and t.tray not in found]
        free.sort(key=lambda tray: (tray.stage_since, tray.tray))
        found |= {tray.tray for tray in free[: max(line.trays - line.done_trays, 0)]} if line.live else set()
    return found


def live_for(lines: Iterable[LineDue], state: FarmState) -> dict[LineDue, list[str]]:
    """Line -> the ready trays that go out live for it, the oldest first."""
    ready = sorted(
        (tray for tray in state.growing() if tray.stage == "ready"), key=lambda tray: (tray.stage_since, tray.tray)
    )
    found: dict[LineDue, list[str]] = {}
    for line in served_first((line for line in lines if line.live), state):
        crops = {part.crop for part in line.parts}
        trays = [tray for tray in ready if tray.crop in crops][: max(line.trays - line.done_trays, 0)]
        ready = [tray for tray in ready if tray not in trays]
        if trays:
            found[line] = [tray.tray for tray in trays]
    return found
