"""What a farm lacks altogether where nothing can be sown: no order, no day, no seed, no light. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Literal

import msgspec

from trayward.farm.calendar import work_minutes
from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.plan.types import Plan

What = Literal["orders", "recipes", "seed", "dark", "lit", "hands"]


class Lack(msgspec.Struct, frozen=True, kw_only=True):
    """Something without which no tray is sown, and how to come by it."""

    what: What
    message: str
    remedy: str

    def sentence(self) -> str:
        """What is lacking and the way out, as one line."""
        return f"{self.message} {self.remedy}"


def lacking(state: FarmState, plan: Plan) -> tuple[Lack, ...]:
    """
    Why a plan sows nothing at all, where the reason is plain: each thing that the farm has none of.

    Nothing where the plan sows, and where what is short differs from crop to crop: that the plan says line by line.
    """
    if plan.sowings:
        return ()
    recipes, settings = state.recipes_in_use(), state.settings_or_usual
    days = [plan.first + timedelta(days=number) for number in range((plan.last - plan.first).days + 1)]
    found = [*_orders(plan), *_recipes(recipes)]
    if recipes and plan.lines:
        found += [*_seed(state, recipes), *_grounds(state, recipes), *_hands(settings, recipes, days)]
    return tuple(found)


def _orders(plan: Plan) -> Iterator[Lack]:
    if not plan.lines:
        message = "No order is due in these weeks, so there is nothing to sow for."
        yield Lack(what="orders", message=message, remedy="Write one down: trayward order add, or order standing.")


def _recipes(recipes: Sequence[Recipe]) -> Iterator[Lack]:
    if not recipes:
        message = "The farm has no recipe, so nothing is known of how to grow."
        yield Lack(what="recipes", message=message, remedy="Take crops up in the farm's setup file.")


def _seed(state: FarmState, recipes: Sequence[Recipe]) -> Iterator[Lack]:
    crops = {recipe.crop for recipe in recipes}
    if not any(lot.left_g > 0 and lot.crop in crops for lot in state.seed.values()):
        message = "There is no seed on the shelf, and none is on order."
        yield Lack(what="seed", message=message, remedy="Write down a delivery: trayward seed receive.")


def _grounds(state: FarmState, recipes: Sequence[Recipe]) -> Iterator[Lack]:
    there = {shelf.kind for shelf in state.shelves.values() if shelf.spots > 0}
    if "dark" not in there and all(any(stage.ground == "dark" for stage in recipe.stages) for recipe in recipes):
        message = "The farm has no dark spot, and every recipe wants one."
        yield Lack(what="dark", message=message, remedy="Set up a dark shelf: trayward place set.")
    if "lit" not in there and all(any(stage.ground == "lit" for stage in recipe.stages) for recipe in recipes):
        message = "The farm has no lit spot, and every recipe wants one."
        yield Lack(what="lit", message=message, remedy="Set up a lit shelf: trayward place set.")


def _hands(settings: FarmSettings, recipes: Sequence[Recipe], days: Sequence[date]) -> Iterator[Lack]:
    most = max((work_minutes(settings, day) for day in days), default=0.0)
    least = min(recipe.minutes_sow for recipe in recipes)
    remedy = "Say how long hands work: farm.work in the setup file."
    if most <= 0:
        yield Lack(what="hands", message="Every day of these weeks is off: nobody sows or cuts.", remedy=remedy)
    elif most < least:
        message = f"Hands work {most:g} min a day at most, and to sow one tray takes {least:g} min."
        yield Lack(what="hands", message=message, remedy=remedy)
