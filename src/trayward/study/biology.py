"""The truth as the planner may be told it, to see what doubt costs: a farm with known biology, not a real one."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from trayward.farm.recipes import Recipe
from trayward.farm.state import Tray
from trayward.study.ledger import Ledger
from trayward.study.truth import course, never, next_look

if TYPE_CHECKING:
    from trayward.plan.futures import Future

DAY = timedelta(days=1)


class TrueBiology:
    """
    What sown and standing trays will really do, seen on the walks of the day.

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

    def now(self, at: datetime) -> None:
        """The moment at which the plan is made."""
        self._at = at

    def sown(self, recipe: Recipe, day: date, trays: int) -> Future:
        """What a day's first trays of a recipe will do: ready when the slowest is, at their mean weight."""
        from trayward.plan.futures import Future

        lot, settings = self.lot_on(recipe.crop, day), self.ledger.settings
        truths = [self.ledger.truth.tray(recipe, day, number, lot) for number in range(trays)]
        lived = [course(truth, recipe, day, settings, self.missed) for truth in truths]
        whole = [life.begins for life in lived if life.lost_at is None]
        begins = max(whole, key=lambda times: times[-1]) if whole else lived[0].begins
        days = [(end - begin) / DAY for begin, end in pairwise(begins)]
        days += [recipe.growing_stages[place].days_typical for place in range(len(days), len(recipe.growing_stages))]
        grams = sum(truth.grams for truth in truths if not truth.lost_in) / max(trays, 1)
        return Future(stage_days=tuple(days), grams=grams, lost=not whole)

    def standing(self, tray: Tray) -> Future:
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
