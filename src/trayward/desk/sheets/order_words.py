"""What people write when they order: "200 g broccoli", "6 packs garden mix at 3.50", "2 trays live pea"."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping

import msgspec

from trayward.errors import InputError
from trayward.farm.due import line_problem
from trayward.farm.orders import LineAsked, Part, Product, Unit
from trayward.units import parse_mass

COUNTED: dict[str, Unit] = {
    "pack": "packs", "packs": "packs", "pk": "packs", "pks": "packs", "pkt": "packs", "pkts": "packs",
    "packet": "packs", "packets": "packs", "punnet": "packs", "punnets": "packs", "box": "packs", "boxes": "packs",
    "clamshell": "packs", "clamshells": "packs", "bag": "packs", "bags": "packs",
    "tray": "trays", "trays": "trays", "live tray": "trays", "live trays": "trays", "flat": "trays", "flats": "trays",
    "envase": "packs", "envases": "packs", "paquete": "packs", "paquetes": "packs", "caja": "packs", "cajas": "packs",
    "bolsa": "packs", "bolsas": "packs", "tarrina": "packs", "tarrinas": "packs",
    "bandeja": "trays", "bandejas": "trays", "bandeja viva": "trays", "bandejas vivas": "trays",
}  # fmt: skip
"""Words for things that are counted, as buyers write them; the pages ask for them in Spanish too."""
_NUMBER = r"\d+(?:[.,]\d+)?(?:/\d+)?"
EXAMPLE = 'Write for instance "200 g", "6 packs" or "2 trays".'


class Amount(msgspec.Struct, frozen=True):
    """How much of what: grams, packs or trays."""

    quantity: float
    unit: Unit
    size: float = 1.0
    """Grams, packs or trays in one of the unit as it was written (1000 for a kg); 0 where it was written in several."""


def unit_word(word: str) -> tuple[Unit, float] | None:
    """The unit a word means and what one of it counts in that unit, for instance `kg` is 1000 g; None: no such word."""
    plain = " ".join(word.casefold().strip(". ").split())
    if plain in COUNTED:
        return COUNTED[plain], 1.0
    try:
        return ("g", parse_mass(f"1 {plain}")) if plain else None
    except InputError:
        return None


def parse_amount(text: str, *, default_unit: str = "") -> Amount:
    """
    How much a customer asks for.

    Parameters
    ----------
    text : str
        Words such as "200 g", "0.5 kg", "4 oz", "2 packs"; with `default_unit` also a bare number.
    default_unit : str
        The unit word of a bare number.

    Raises
    ------
    InputError
        If there is no number, no unit, or a unit that is not known.
    """
    plain = " ".join(text.casefold().split())
    found = re.fullmatch(rf"({_NUMBER})(?: ?x)? ?([a-z ]*)\.?", plain)
    word = (found[2] if found else "") or default_unit
    if found is None or unit_word(word) is None:
        return _weighed(text, word if found else "?")
    unit, size = unit_word(word) or ("g", 1.0)
    return Amount(_fraction(found[1]) * size, unit, size)


def _weighed(text: str, word: str) -> Amount:
    """What only the reader of weights understands, for instance "1 lb 4 oz"."""
    if not word:
        raise InputError("quantity", repr(text), "there is no unit", EXAMPLE)
    try:
        return Amount(parse_mass(text, name="quantity"), "g", 0.0)
    except InputError as err:
        rule = f"{word!r} is no unit of an order" if word != "?" else "is no amount"
        raise InputError("quantity", repr(text), rule, EXAMPLE) from err


def _fraction(text: str) -> float:
    top, _, bottom = text.replace(",", ".").partition("/")
    if bottom and float(bottom) == 0:
        raise InputError("quantity", repr(text), "divides by nothing", EXAMPLE)
    return float(top) / float(bottom or 1)


def parse_line(text: str, products: Mapping[str, Product], crops: Iterable[str], *, line: str = "") -> LineAsked:
    """
    One order line in words: an amount, a product or crop, and a price where it differs.

    Parameters
    ----------
    text : str
        For instance "200 g broccoli", "6 packs garden mix at 3.50", "300 g pea at 4 per 100 g".
    products : mapping of str to Product
        What the farm sells, by name.
    crops : iterable of str
        Crops that may be ordered by their own name.
    line : str
        The line's id; empty: made from the product's name.

    Raises
    ------
    InputError
        If the words are not understood, or the farm has no such product, or the unit does not suit it.
    """
    wanted, _, price = text.strip().partition(" at ")
    found = re.fullmatch(rf"\s*({_NUMBER}\s*(?:x\s*)?(live trays?|[a-zA-Z]+))\s+(?:of\s+)?(.+?)\s*", wanted)
    if found is None:
        raise InputError("order line", repr(text), "must be an amount and a product", 'Say "200 g broccoli".')
    amount = parse_amount(found[1])
    name = product_name(found[3], products, crops)
    asked = LineAsked(
        line=line or slug(name),
        product=name,
        quantity=amount.quantity,
        unit=amount.unit,
        price=_price(price, amount) if price else None,
    )
    problem = line_problem(products.get(name) or Product(name=name, parts=(Part(crop=name),)), asked)
    if problem is not None:
        raise problem
    return asked


def product_name(text: str, products: Mapping[str, Product], crops: Iterable[str]) -> str:
    """The farm's own name for a product or crop, whatever its capitals. Raises `InputError` with the nearest ones."""
    known = {plain_name(name): name for name in [*crops, *products]}
    plain = plain_name(text)
    for form in (plain, plain.removesuffix("s"), plain + "s"):
        if form in known:
            return known[form]
    live = _live_product(plain, products)
    if live:
        return live
    near = difflib.get_close_matches(plain, known, n=3, cutoff=0.6)
    hint = (
        f"Did you mean {' or '.join(known[name] for name in near)}?" if near else f"Known: {', '.join(known.values())}."
    )
    raise InputError("product", repr(text.strip()), "the farm sells nothing of that name", hint)


def _live_product(plain: str, products: Mapping[str, Product]) -> str:
    """The live tray meant by "live pea", where the farm sells just one of that crop; else empty."""
    crop = re.fullmatch(r"live (.+?)(?: trays?)?", plain)
    if crop is None:
        return ""
    found = [
        name
        for name, product in products.items()
        if product.live
        and any(plain_name(part.crop) in (crop[1], crop[1].removesuffix("s"), crop[1] + "s") for part in product.parts)
    ]
    return found[0] if len(found) == 1 else ""


def plain_name(name: str) -> str:
    """A name without capitals, signs and doubled blanks, for comparing what people type."""
    return " ".join(re.sub(r"[^\w]+", " ", name.casefold()).split())


def _price(text: str, amount: Amount) -> float:
    """Price of one gram, pack or tray from words such as "3.50", "4 per 100 g", "38 a kg", "15 per tray"."""
    found = re.fullmatch(
        r"\s*[^\d\s\-−–]*\s*(\d+(?:\.\d+)?)\s*[^\d\s/]{0,3}?\s*(?:(?:per|an?|each|/)\s*(\d+)?\s*([a-z]*))?\s*", text
    )
    if found is None or float(found[2] or 1) == 0:
        raise InputError("price", repr(text), "is no price", 'Say "3.50", "4 per 100 g" or "15 per tray".')
    price, count, word = float(found[1]), float(found[2] or 1), found[3] or ""
    if not word:
        return price if amount.unit != "g" else _price_of_grams(text, price, found[2])
    unit = unit_word(word)
    if unit is None or unit[0] != amount.unit:
        raise InputError("price", repr(text), f"does not measure {amount.unit}", f"Say it per {amount.unit}.")
    return price / (count * unit[1])


def _price_of_grams(text: str, price: float, count: str | None) -> float:
    if count is None:
        raise InputError("price", repr(text), "does not say of how much", 'Say "4 per 100 g" or "38 per kg".')
    return price / float(count)


def slug(name: str) -> str:
    """A name as letters, digits and dashes, for use inside ids."""
    return re.sub(r"[^\w]+", "-", name.casefold()).strip("-") or "x"
