"""Other trays that shared a seed lot or a shelf with one: read once from a long book, and followed from then on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from trayward.farm.fresh import Fresh
from trayward.farm.places import shelf_of
from trayward.farm.state import FarmState, Tray
from trayward.rounds.scene import shelf_name


class Sisters:
    """
    Trays by what they shared.

    Those that are done with change no more in this: they are gone through once. Those that stand are looked at each
    time.
    """

    def __init__(self) -> None:
        self._fresh: Fresh[Tray] = Fresh()
        self._lots: dict[str, list[str]] = defaultdict(list)
        self._shelves: dict[str, list[str]] = defaultdict(list)

    def of_lots(self, state: FarmState, lots: Iterable[str]) -> list[Tray]:
        """Trays sown from any of some seed lots."""
        self._follow(state)
        wanted = set(lots)
        standing = [tray for tray in state.trays.values() if not wanted.isdisjoint(tray.lots)]
        ended = dict.fromkeys(name for lot in wanted for name in self._lots.get(lot, ()))
        return [*standing, *(state.ended[name] for name in ended)]

    def on_shelf(self, state: FarmState, shelf: str) -> list[Tray]:
        """Trays that stood on a shelf at some time, or stand there."""
        self._follow(state)
        standing = [tray for tray in state.trays.values() if shelf in shelves_of(tray)]
        return [*standing, *(state.ended[name] for name in self._shelves.get(shelf, ()))]

    def _follow(self, state: FarmState) -> None:
        anew, trays = self._fresh.of(state.ended)
        if anew:
            self._lots.clear()
            self._shelves.clear()
        for tray in trays:
            for lot in set(tray.lots):
                self._lots[lot].append(tray.tray)
            for shelf in shelves_of(tray):
                self._shelves[shelf].append(tray.tray)


def shelves_of(tray: Tray) -> set[str]:
    """Every shelf a tray stood on, and where it is now."""
    return {shelf_of(spot) for spot in {step.spot for step in tray.steps} if spot} | {shelf_name(tray)}
