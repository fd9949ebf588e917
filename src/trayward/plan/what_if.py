"""A farm with some things supposed different: what `plan --what-if` plans for beside the farm as it is."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from trayward.farm.state import FarmState
from trayward.outlook.ahead import Outlook, look_ahead
from trayward.plan.suppose_growing import CropGone, MoreSeed, RecipeGone, SeedGone, SeedLate, TraysLost
from trayward.plan.suppose_selling import Cost, NewOrder, NewStanding, OrdersTimes, Price, PricesTimes, ProductGone
from trayward.plan.suppose_space import DaysOff, MoreHands, MoreKit, MoreShelves, ShelfGone
from trayward.plan.supposed import SupposedState, Supposition, copied

__all__ = [
    "Cost",
    "CropGone",
    "DaysOff",
    "MoreHands",
    "MoreKit",
    "MoreSeed",
    "MoreShelves",
    "NewOrder",
    "NewStanding",
    "OrdersTimes",
    "Price",
    "PricesTimes",
    "ProductGone",
    "RecipeGone",
    "SeedGone",
    "SeedLate",
    "ShelfGone",
    "SupposedState",
    "Supposition",
    "TraysLost",
    "as_it_might_be",
    "same_lessons",
]


def as_it_might_be(state: FarmState, suppositions: Sequence[Supposition], at: datetime) -> SupposedState:
    """
    A copy of a farm's state in which some things are different; the state itself stays as it is.

    Parameters
    ----------
    state : FarmState
        The farm as its book tells it.
    suppositions : sequence of Supposition
        What is different, one after the other: each finds the farm as those before left it.
    at : datetime
        Now.

    Raises
    ------
    NotFoundError
        If one names a thing the farm does not have.
    InputError
        If one cannot be: more kit taken away than there is, seed late that is here.
    """
    made = copied(state)
    for supposition in suppositions:
        supposition.apply(made, at)
    return made


def same_lessons(ahead: Outlook, state: SupposedState) -> Outlook:
    """The outlook of a supposed farm that has learned just what another outlook has: no plan may know more."""
    found = look_ahead(state, ahead.at)
    found.lessons = ahead.lessons
    return found
