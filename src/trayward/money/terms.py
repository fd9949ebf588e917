"""What prices, recipes, kit and lamps were when: a change of today never rewrites what last month cost."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from datetime import datetime
from typing import Generic, TypeVar

from trayward.farm.entries import Entry, FarmSet, KitSet, PlaceSet, RecipeSet
from trayward.farm.kit import Pool
from trayward.farm.places import Shelf
from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings, Money
from trayward.farm.state import FarmState

KINDS = (FarmSet.KIND, RecipeSet.KIND, KitSet.KIND, PlaceSet.KIND)
"""The entries that say them."""

T = TypeVar("T")


class Dated(Generic[T]):
    """A value through time: each holds from its moment on, the first also before."""

    def __init__(self) -> None:
        self._since: list[datetime] = []
        self._values: list[T] = []

    def add(self, since: datetime, value: T) -> None:
        """It is this from a moment on; moments come in order."""
        self._since.append(since)
        self._values.append(value)

    def at(self, moment: datetime) -> T:
        """What it was at a moment."""
        return self._values[max(bisect_right(self._since, moment) - 1, 0)]

    @property
    def values(self) -> tuple[T, ...]:
        """All it ever was."""
        return tuple(self._values)


class Terms:
    """
    What things cost through time, on one farm.

    Parameters
    ----------
    settings : FarmSettings
        As they are now: what counts where no entry says otherwise.
    state : FarmState
        The farm, for recipes, kit and shelves that no entry given tells of.
    said : iterable of Entry
        Entries of `KINDS` that stand, in the order of happening.
    """

    def __init__(self, settings: FarmSettings, state: FarmState, said: Iterable[Entry] = ()) -> None:
        self.settings = settings
        self.state = state
        self._money: Dated[FarmSettings] = Dated()
        self._recipes: dict[str, Dated[Recipe]] = {}
        self._pools: dict[str, Dated[Pool]] = {}
        self._shelves: dict[str, Dated[Shelf]] = {}
        taken = []
        for entry in said:
            self._take(entry)
            taken.append(entry.id)
        self.said = tuple(taken)
        """The entries that were taken, by their ids."""

    def _take(self, entry: Entry) -> None:
        body = entry.body
        if isinstance(body, FarmSet):
            self._money.add(entry.at, body.settings)
        elif isinstance(body, RecipeSet):
            self._recipes.setdefault(body.recipe.name, Dated()).add(entry.at, body.recipe)
        elif isinstance(body, KitSet):
            self._pools.setdefault(body.pool.name, Dated()).add(entry.at, body.pool)
        elif isinstance(body, PlaceSet) and body.shelf.spots:
            self._shelves.setdefault(body.shelf.name, Dated()).add(entry.at, body.shelf)

    def farm(self, at: datetime) -> FarmSettings:
        """The farm's settings at a moment."""
        return self._money.at(at) if self._money.values else self.settings

    def money(self, at: datetime) -> Money:
        """What things cost at a moment."""
        return self.farm(at).money

    def recipe(self, name: str, at: datetime) -> Recipe | None:
        """A recipe as it was at a moment."""
        held = self._recipes.get(name)
        return held.at(at) if held is not None else self.state.recipes.get(name)

    def pools(self, at: datetime) -> dict[str, Pool]:
        """The farm's kit as it was at a moment."""
        now = {name: kit.pool for name, kit in self.state.kit.items()}
        return now | {name: held.at(at) for name, held in self._pools.items() if name in now}

    def shelf(self, name: str, at: datetime) -> Shelf | None:
        """A shelf as it was at a moment."""
        held = self._shelves.get(name)
        return held.at(at) if held is not None else self.state.shelves.get(name)

    @property
    def changes(self) -> list[datetime]:
        """The moments at which kit was set anew: between two of them it is the same."""
        return sorted({moment for held in self._pools.values() for moment in held._since})
