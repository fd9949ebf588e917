"""Suppositions of what grows: crops and recipes dropped, trays lost, seed late, missing or more."""

from __future__ import annotations

from datetime import date, datetime

from msgspec.structs import replace

from trayward.dates import day_words
from trayward.errors import InputError, NotFoundError
from trayward.farm.orders import Product
from trayward.farm.state import SeedLot
from trayward.farm.transitions.holding import hold_kit, leave_spot
from trayward.plan.suppose_selling import crop_names_alone
from trayward.plan.supposed import SupposedState, Supposition, change_lines, held
from trayward.plan.words import FEW, amount_words
from trayward.words import counted, listed


class CropGone(Supposition, frozen=True, kw_only=True):
    """A crop no longer sown and, unless it is still `asked`, no longer sold; mixes are made of their other parts."""

    crop: str
    asked: bool = False

    def words(self) -> str:
        return f"{self.crop} no longer sown" + (", and still asked for" if self.asked else " and no longer sold")

    def note(self) -> str:
        return "" if self.asked else f"A mix with {self.crop} in it is made of its other parts, at the same price."

    def apply(self, state: SupposedState, at: datetime) -> None:  # noqa: ARG002
        recipes = [recipe.name for recipe in state.recipes.values() if recipe.crop == self.crop]
        if not recipes:
            raise NotFoundError("crop", self.crop, tuple(sorted({one.crop for one in state.recipes.values()})))
        state.dropped_recipes |= set(recipes)
        if self.asked:
            return
        change_lines(state, lambda line: None if crop_names_alone(state, line, self.crop) else line)
        for name, product in state.products.items():
            state.products[name] = self._without(product)

    def _without(self, product: Product) -> Product:
        """A mix of its other parts, in their proportion; what is that crop alone stays what it is."""
        left = [part for part in product.parts if part.crop != self.crop]
        total = sum(part.share for part in left)
        if not left or total <= 0 or len(left) == len(product.parts):
            return product
        return replace(product, parts=tuple(replace(part, share=part.share / total) for part in left))


class RecipeGone(Supposition, frozen=True, kw_only=True):
    """A recipe no longer sown; its trays that stand are still looked after, and orders stay."""

    recipe: str

    def words(self) -> str:
        return f"recipe {self.recipe} no longer sown"

    def apply(self, state: SupposedState, at: datetime) -> None:  # noqa: ARG002
        held(state.recipes, self.recipe, "recipe")
        state.dropped_recipes.add(self.recipe)


class TraysLost(Supposition, frozen=True, kw_only=True):
    """Trays that stand now are thrown away: their spots are free and their kit is to be washed."""

    trays: tuple[str, ...]

    def words(self) -> str:
        return f"{counted(len(self.trays), 'tray')} lost: {listed(self.trays, most=FEW)}"

    def apply(self, state: SupposedState, at: datetime) -> None:  # noqa: ARG002
        for name in self.trays:
            tray = held(state.trays, name, "tray")
            if tray.fate != "growing":
                raise InputError("tray", name, f"it is {tray.fate} already", "Name one that is growing.")
            leave_spot(state, tray)
            hold_kit(state, tray, {})
            # Not put with those that ended: what only might happen teaches nothing.
            del state.trays[name]


# Seed -----------------------------------------------------------------------------------------------------------------


class SeedLate(Supposition, frozen=True, kw_only=True):
    """A seed lot on order comes on another day."""

    lot: str
    comes_on: date

    def words(self) -> str:
        return f"seed lot {self.lot} comes on {day_words(self.comes_on)}"

    def apply(self, state: SupposedState, at: datetime) -> None:  # noqa: ARG002
        lot = held(state.seed, self.lot, "seed lot")
        if lot.expected_on is None:
            rule = "it is here already, not on order"
            raise InputError("seed lot", self.lot, rule, f'To go without it: "no seed lot {self.lot}".')
        lot.expected_on = self.comes_on


class SeedGone(Supposition, frozen=True, kw_only=True):
    """A seed lot cannot be sown from: it never comes, or it is no good."""

    lot: str

    def words(self) -> str:
        return f"no seed of lot {self.lot}"

    def apply(self, state: SupposedState, at: datetime) -> None:  # noqa: ARG002
        held(state.seed, self.lot, "seed lot")
        del state.seed[self.lot]


class MoreSeed(Supposition, frozen=True, kw_only=True):
    """More seed of a crop, like the last lot of it, here now or from a day on. [g]"""

    crop: str
    grams: float
    comes_on: date | None = None

    def words(self) -> str:
        grams = amount_words(self.grams, "g")
        if self.comes_on is None:
            return f"{grams} more seed of {self.crop}"
        return f"{grams} more seed of {self.crop}, coming on {day_words(self.comes_on)}"

    def note(self) -> str:
        return "The seed costs what the last lot of that crop cost, gram for gram."

    def apply(self, state: SupposedState, at: datetime) -> None:
        lots = [lot for lot in state.seed.values() if lot.crop == self.crop and not lot.treated]
        last = max(lots, key=lambda lot: lot.received_at, default=None)
        name = f"more {self.crop} {len(state.seed)}"
        state.seed[name] = SeedLot(
            lot=name,
            crop=self.crop,
            received_at=at,
            received_g=self.grams,
            left_g=0.0 if self.comes_on else self.grams,
            germination=last.live_share if last else None,
            tsw_g=last.tsw_g if last else None,
            cost=last.cost / last.received_g * self.grams if last and last.received_g > 0 else 0.0,
            expected_on=self.comes_on,
        )
