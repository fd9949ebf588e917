"""Which tray of the book is which of the truth: what eyes and a scale would see of it."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import NamedTuple

from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings
from trayward.farm.state import Tray
from trayward.study.truth import Truth, weight_on
from trayward.study.worlds import TrayTruth

DAY = timedelta(days=1)


class Named(NamedTuple):
    """By what the truth knows a tray."""

    recipe: Recipe
    sown_on: date
    number: int
    lot: str


class Ledger:
    """What the truth decided for each tray that was sown."""

    def __init__(self, truth: Truth, settings: FarmSettings) -> None:
        self.truth, self.settings = truth, settings
        self.named: dict[str, Named] = {}
        self._of: dict[str, TrayTruth] = {}
        self._sown: dict[tuple[str, date], int] = {}

    def sown(self, trays: tuple[str, ...], recipe: Recipe, day: date, lot: str) -> None:
        """Trays were sown: they are the next of their recipe's trays of that day."""
        for tray in trays:
            number = self._sown.get((recipe.name, day), 0)
            self._sown[recipe.name, day] = number + 1
            self.named[tray] = Named(recipe, day, number, lot)
            self._of[tray] = self.truth.tray(recipe, day, number, lot)

    def of(self, tray: str) -> TrayTruth:
        """The truth of a tray."""
        return self._of[tray]

    def is_lost(self, tray: Tray, at: datetime) -> bool:
        """Whether mould can be seen on it."""
        truth = self._of[tray.tray]
        return tray.stage == truth.lost_in and at - tray.stage_since >= DAY * (truth.stage_days[tray.stage] / 2)

    def is_over(self, tray: Tray, at: datetime) -> bool:
        """Whether the cue that ends its stage can be seen."""
        days = self._of[tray.tray].stage_days.get(tray.stage)
        return days is not None and at - tray.stage_since >= DAY * days

    def weight(self, tray: Tray, day: date) -> float:
        """What a ready tray weighs on the scale, which shows whole grams. [g]"""
        named = self.named[tray.tray]
        return float(round(weight_on(self._of[tray.tray], named.recipe, tray.stage_since, day, self.settings)))
