"""Entries that set a farm up: settings, places, kit, recipes, crops, what is sold and to whom."""

from __future__ import annotations

from trayward.farm.entries.body import Body
from trayward.farm.kit import Pool
from trayward.farm.orders import Customer, Product
from trayward.farm.places import Shelf
from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings


class FarmSet(Body, frozen=True, kw_only=True):
    """The farm's settings are these from now on."""

    KIND = "farm set"
    settings: FarmSettings


class PlaceSet(Body, frozen=True, kw_only=True):
    """A shelf is as said from now on; 0 spots closes it."""

    KIND = "place set"
    shelf: Shelf

    def subjects(self) -> tuple[str, ...]:
        return (f"shelf:{self.shelf.name}",)


class KitSet(Body, frozen=True, kw_only=True):
    """A pool of kit is as said from now on."""

    KIND = "kit set"
    VERSION = 2
    pool: Pool

    def subjects(self) -> tuple[str, ...]:
        return (f"kit:{self.pool.name}",)


class RecipeSet(Body, frozen=True, kw_only=True):
    """A recipe is as said from now on; trays already sown keep the stages they have reached."""

    KIND = "recipe set"
    recipe: Recipe
    dropped: bool = False
    """True: no longer sown; trays of it standing now are still looked after."""

    def subjects(self) -> tuple[str, ...]:
        return (f"recipe:{self.recipe.name}", f"crop:{self.recipe.crop}")


class CropFactSet(Body, frozen=True, kw_only=True):
    """The grower says what a crop's figure is on this farm; it goes before the library's."""

    KIND = "crop fact set"
    crop: str
    name: str
    """Column of the crop table, for instance `tsw_g_typ`."""
    value: float | str
    note: str = ""

    def subjects(self) -> tuple[str, ...]:
        return (f"crop:{self.crop}",)


class ProductSet(Body, frozen=True, kw_only=True):
    """Something the farm sells, with its price, from now on."""

    KIND = "product set"
    product: Product

    def subjects(self) -> tuple[str, ...]:
        return (f"product:{self.product.name}",)


class CustomerSet(Body, frozen=True, kw_only=True):
    """A customer is as said from now on."""

    KIND = "customer set"
    customer: Customer

    def subjects(self) -> tuple[str, ...]:
        return (f"customer:{self.customer.name}",)
