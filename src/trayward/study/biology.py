"""The truth as the planner may be told it, to see what doubt costs: a farm with known biology, not a real one.

Told is all that is true of a recipe, a seed lot, a season and a day, and what each tray that stands will do. What is
left to luck is the single tray that is not sown yet: nobody could learn that, however long they kept records.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, Tray
from trayward.study.ledger import Ledger
from trayward.study.truth import course, never, next_look
from trayward.study.worlds import TrayTruth

if TYPE_CHECKING:
    from trayward.plan.futures import Future

DAY = timedelta(days=1)


LUCK = 100_000
"""Trays not sown yet are told by the luck of trays with numbers from here on, which nobody sows."""


class TrueBiology:
    """
    What standing trays will really do, seen on the walks of the day, and what those sown on a day may do.

    Parameters
    ----------
    ledger : Ledger
        Which tray is which of the truth.
    lot_on : callable
        The seed lot of a crop that is in use on a day.
    missed : callable
        Whether nobody looks on the walk of a moment.
    """

    def __init__(
        self, ledger: Ledger, lot_on: Callable[[str, date], str], missed: Callable[[datetime], bool] = never
    ) -> None:
        self.ledger, self.lot_on, self.missed = ledger, lot_on, missed
        self._at: datetime | None = None
        self._told: dict[tuple[str, date, int, str, bool], Future] = {}

    certain, foresees = False, True

    def sees(self, state: FarmState, at: datetime) -> None:  # noqa: ARG002
        """The moment at which the plan is made."""
        self._at = at

    def sown(self, recipe: Recipe, day: date, scenario: int, *, evening: bool = False) -> Future:
        """What a tray of a recipe sown on a day may do: the truth, but for the luck of the single tray."""
        lot = self.lot_on(recipe.crop, day)
        key = recipe.name, day, scenario, lot, evening
        if key not in self._told:
            self._told[key] = self._sown(recipe, day, LUCK + scenario, lot, evening=evening)
        return self._told[key]

    def _sown(self, recipe: Recipe, day: date, number: int, lot: str, *, evening: bool) -> Future:
        truth = self.ledger.truth.tray(recipe, day, number, lot)
        return sown_future(truth, recipe, day, self.ledger.settings, self.missed, evening=evening)

    def standing(self, tray: Tray, scenario: int = 0) -> Future:  # noqa: ARG002
        """What a standing tray will do; the stage under way counts from when it began."""
        from trayward.plan.futures import Future

        assert self._at is not None, "the plan is made at a moment"
        truth, named = self.ledger.of(tray.tray), self.ledger.named[tray.tray]
        names = [stage.name for stage in named.recipe.growing_stages]
        left = names[names.index(tray.stage) :] if tray.stage in names else []
        days, begun = [], tray.stage_since
        for name in left:
            # What should be over by now waits for room: it goes on as soon as there is some.
            seen = next_look(begun + DAY * truth.stage_days[name], self.ledger.settings, self.missed)
            ends = max(seen, self._at)
            days.append((ends - begun) / DAY)
            begun = ends
        return Future(stage_days=tuple(days), grams=truth.grams, lost=truth.lost_in in left)


def sown_future(
    truth: TrayTruth,
    recipe: Recipe,
    day: date,
    settings: FarmSettings,
    missed: Callable[[datetime], bool],
    *,
    evening: bool = False,
) -> Future:
    """What a tray that is sown on the morning or the `evening` of a day does, as it is seen on the walks of the day."""
    from trayward.plan.futures import Future

    life = course(truth, recipe, day, settings, missed, evening=evening)
    days = [(end - begin) / DAY for begin, end in pairwise(life.begins)]
    days += [recipe.growing_stages[place].days_typical for place in range(len(days), len(recipe.growing_stages))]
    return Future(stage_days=tuple(days), grams=truth.grams, lost=life.lost_at is not None)
