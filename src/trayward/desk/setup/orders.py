"""What a setup file says of selling: products, customers, standing orders and single orders."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Literal

from trayward.desk.setup.table import Table
from trayward.desk.sheets.order_words import parse_line
from trayward.errors import InputError
from trayward.farm.orders import Customer, LineAsked, Order, Part, Pause, Product, StandingOrder
from trayward.farm.repeats import check_rule, rule_from_words
from trayward.units import parse_mass, parse_share

SHARES_MAY_MISS = 0.011
"""How far the shares of a mix may be from 1 in all, so that three times 33 % passes; they are then scaled to 1."""

OF_SETUP = "setup file"
"""The source of orders that a setup file placed."""

_NO_DAY = date(2000, 1, 1)
"""Stands in for a day that is missing; the problem is noted, so nothing is made of it."""
_BEGIN = ("every", "each", "daily", "weekly", "monthly", "fortnightly", "first", "last", "freq")


# Products -------------------------------------------------------------------------------------------------------------


class Grown:
    """The crops that the file has recipes for.

    Parameters
    ----------
    crops : tuple of str
        Crops of all the recipes, as written.
    lost : tuple of str
        Those of them whose recipe could not be read; the mistake is reported there, and what follows from it is not.
    """

    def __init__(self, crops: tuple[str, ...], lost: tuple[str, ...] = ()) -> None:
        self.crops = crops
        self.lost = lost

    def follows(self, name: str, others: Iterable[str] = ()) -> bool:
        """Whether a name nobody knows may be one that a lost recipe should have had; not if another is nearer."""
        if not self.lost:
            return False
        known = [*others, *self.crops]
        near = difflib.get_close_matches(name.strip("'").casefold(), known, n=1, cutoff=0.6)
        return not near or near[0] in self.lost


def read_products(root: Table, grown: Grown) -> dict[str, Product]:
    """The `[[product]]` tables, by name."""
    found = [_product(table, grown) for table in root.tables("product")]
    return {product.name: product for product in found}


def _product(table: Table, grown: Grown) -> Product:
    name = table.text("name", None, remedy="Give the product a name.")
    live = table.flag("live", False)
    pack_g = table.amount("pack", parse_mass, "g", low=1.0) if table.has("pack") else None
    price, price_per = _price(table, live, pack_g)
    parts = _parts(table, grown)
    if live and (pack_g is not None or len(parts) > 1):
        key = "pack" if pack_g is not None else "parts"
        table.wrong(key, "a live tray is one crop and is sold by the tray", f"Leave {key} out, or leave live out.")
    table.finish()
    return Product(name=name, parts=parts, live=live, pack_g=pack_g, price=price, price_per=price_per)


def _parts(table: Table, grown: Grown) -> tuple[Part, ...]:
    """One `crop`, or `parts` of a mix by share."""
    mix = table.table("parts")
    if mix is None:
        crop = table.text("crop", None, remedy="Name its crop, or its parts = { broccoli = 0.6, radish = 0.4 }.")
        check_crop(table, "crop", crop, grown)
        return (Part(crop=crop),)
    if table.has("crop"):
        table.wrong("crop", "a product has either one crop or parts", "Leave one of the two out.")
    shares = {crop: mix.amount(crop, parse_share, "as a share", low=0.001, high=1.0) for crop in mix.values}
    for crop in shares:
        check_crop(mix, crop, crop, grown)
    total = sum(shares.values())
    if abs(total - 1.0) > SHARES_MAY_MISS:
        shown = f"{total:.0%} in all"
        table.wrong("parts", "the shares of a mix must add up to 100 %", "Change one of them.", shown)
    return tuple(Part(crop=crop, share=share / (total or 1.0)) for crop, share in shares.items())


def check_crop(table: Table, key: str, crop: str, grown: Grown) -> None:
    """Note a crop that no recipe of the file grows, unless the recipe itself could not be read."""
    if crop and crop not in grown.crops and not grown.follows(crop):
        remedy = f"Grown: {', '.join(grown.crops)}; or add a [[recipe]]."
        table.wrong(key, "no recipe of this farm grows that crop", remedy)


def _price(table: Table, live: bool, pack_g: float | None) -> tuple[float, Literal["100 g", "pack", "tray"]]:
    """A price such as "4.20 per 100 g", "38 per kg", "3.50 per pack"; a bare number is for the way it is sold."""
    usual: Literal["100 g", "pack", "tray"] = "tray" if live else "pack" if pack_g is not None else "100 g"
    value = table.raw("price")
    if not isinstance(value, str):
        return table.number("price", 0.0, unit=f"for {usual}"), usual
    found = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*(?:per|an?|/)\s*(100 g|kg|pack|tray)", " ".join(value.split()))
    if found is None:
        table.wrong("price", "is no price", 'Write for instance "4.20 per 100 g", "3.50 per pack" or "15 per tray".')
        return 0.0, usual
    price = float(found[1].replace(",", "."))
    if (found[2] == "tray") != live or (found[2] == "pack" and pack_g is None):
        table.wrong("price", f"does not fit how it is sold, which is by the {usual}", f"Give it per {usual}.")
    if found[2] == "kg":
        return price / 10.0, "100 g"
    return price, found[2]  # type: ignore[return-value]


# Customers and orders -------------------------------------------------------------------------------------------------


def read_customers(root: Table) -> list[Customer]:
    """The `[[customer]]` tables."""
    return [_customer(table) for table in root.tables("customer")]


def _customer(table: Table) -> Customer:
    customer = Customer(
        name=table.text("name", None, remedy="Give the customer a name."),
        home=table.flag("home", False),
        weight=table.number("weight", 1.0, low=0.0, high=100.0),
        spot_orders=table.flag("spot_orders", True),
        note=table.text("note"),
    )
    table.finish()
    return customer


class Sold:
    """What order lines may name: the farm's products, crops and customers."""

    def __init__(self, products: Mapping[str, Product], grown: Grown, customers: tuple[str, ...]) -> None:
        self.products = products
        self.grown = grown
        self.customers = customers


def read_standing(root: Table, sold: Sold) -> list[StandingOrder]:
    """The `[[standing]]` tables."""
    return [_standing(table, sold) for table in root.tables("standing")]


def _standing(table: Table, sold: Sold) -> StandingOrder:
    standing = StandingOrder(
        standing=_order_name(table),
        customer=_order_customer(table, sold),
        start=table.day("start") or _NO_DAY,
        rule=_rule(table),
        lines=_lines(table, sold),
        except_on=table.days("except"),
        also_on=table.days("also"),
        pauses=tuple(_pause(pause) for pause in table.tables("pause")),
        ended=table.flag("ended", False),
    )
    table.finish()
    return standing


def read_orders(root: Table, sold: Sold) -> list[Order]:
    """The `[[order]]` tables: orders for one day."""
    return [_order(table, sold) for table in root.tables("order")]


def _order(table: Table, sold: Sold) -> Order:
    order = Order(
        order=_order_name(table),
        customer=_order_customer(table, sold),
        due=table.day("due") or _NO_DAY,
        lines=_lines(table, sold),
        note=table.text("note"),
        source=OF_SETUP,
    )
    table.finish()
    return order


def _order_name(table: Table) -> str:
    name = table.text("name", None, remedy="Give the order a name of its own, for instance copper-ladle-tue.")
    if re.search(r"[/@\s]", name):
        table.wrong("name", "may not hold blanks, / or @, which line names use", "Use letters, digits and dashes.")
    return name


def _order_customer(table: Table, sold: Sold) -> str:
    name = table.text("customer", None, remedy="Name the customer.")
    # A customer whose name could not be read may be this one: that mistake is told where it is.
    if name and name not in sold.customers and "" not in sold.customers:
        known = ", ".join(sold.customers) or "none"
        table.wrong("customer", "no such customer stands in this file", f"Known: {known}; or add a [[customer]].")
    return name


def _rule(table: Table) -> str:
    """Either `every`, in plain words, or `rule`, as RFC 5545 has it."""
    key = "rule" if table.has("rule") else "every"
    if table.has("rule") and table.has("every"):
        table.wrong("every", "an order repeats by one rule", "Leave either rule or every out.")
    text = table.text(key, None, remedy='Write for instance every = "Tue and Fri".')
    words = text if key == "rule" or text.casefold().startswith(_BEGIN) else f"every {text}"
    try:
        return check_rule(text) if key == "rule" else rule_from_words(words)
    except InputError as err:
        if text:
            table.wrong(key, err.rule, err.remedy)
        return "FREQ=WEEKLY"


def _pause(table: Table) -> Pause:
    first, last = table.day("first") or _NO_DAY, table.day("last") or _NO_DAY
    if last < first:
        table.wrong("last", f"a pause cannot end before it begins on {first}", "Swap the two days.")
    table.finish()
    return Pause(first=first, last=last)


def _lines(table: Table, sold: Sold) -> tuple[LineAsked, ...]:
    """Lines in words; each is named by its product, so that their order in the file does not matter."""
    lines: dict[str, LineAsked] = {}
    for number, text in enumerate(table.texts("lines")):
        try:
            asked = parse_line(text, sold.products, sold.grown.crops)
        except InputError as err:
            if err.name == "product" and ("" in sold.products or sold.grown.follows(str(err.value), sold.products)):
                continue
            path = (*table.path, "lines", number)
            table.document.note(path, f"{table.label}, lines", text, f"{err.name}: {err.rule}", err.remedy)
            continue
        if asked.line in lines:
            table.wrong("lines", f"{asked.product} stands there twice", "Add the two amounts up in one line.", text)
        lines[asked.line] = asked
    if not table.values.get("lines"):
        table.missing("lines", 'Write for instance lines = ["200 g broccoli", "6 packs garden mix"].')
    return tuple(lines.values())
