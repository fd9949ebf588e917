"""Orders: who wants what, how much, when; repeats follow RFC 5545."""

from __future__ import annotations

from datetime import date
from typing import Literal

import msgspec

Unit = Literal["g", "packs", "trays"]
"""What a line counts: grams cut, packs of a product, or live trays."""


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """A share of a mix. `share` is by weight; the shares of a product add up to 1."""

    crop: str
    share: float = 1.0


class Product(msgspec.Struct, frozen=True, kw_only=True):
    """Something the farm sells: one crop, a mix by share, or a live tray. A crop's own name is always a product too."""

    name: str
    parts: tuple[Part, ...]
    live: bool = False
    pack_g: float | None = None
    """Net weight of one pack [g]; None where it is sold loose or as a tray."""
    price: float = 0.0
    """Price for `price_per`. [farm's currency]"""
    price_per: Literal["100 g", "pack", "tray"] = "100 g"


class LineAsked(msgspec.Struct, frozen=True, kw_only=True):
    """One line of an order as the customer said it."""

    line: str
    product: str
    quantity: float
    unit: Unit = "g"
    price: float | None = None
    """Price of one unit where it differs from the product's. [farm's currency]"""


class Order(msgspec.Struct, frozen=True, kw_only=True):
    """An order for one day. `source` says where it came from (a sheet's row), so importing twice changes nothing."""

    order: str
    customer: str
    due: date
    lines: tuple[LineAsked, ...]
    note: str = ""
    source: str = ""


class Pause(msgspec.Struct, frozen=True, kw_only=True):
    """No deliveries from `first` to `last`, both included."""

    first: date
    last: date


class StandingOrder(msgspec.Struct, frozen=True, kw_only=True):
    """An order that repeats: `rule` is an RFC 5545 RRULE value, `start` its DTSTART as a date."""

    standing: str
    customer: str
    start: date
    rule: str
    lines: tuple[LineAsked, ...]
    except_on: tuple[date, ...] = ()
    also_on: tuple[date, ...] = ()
    pauses: tuple[Pause, ...] = ()
    ended: bool = False


class Customer(msgspec.Struct, frozen=True, kw_only=True):
    """Who eats it. `weight` is how much letting them down counts, against 1; `home` is the grower's own table."""

    name: str
    home: bool = False
    weight: float = 1.0
    spot_orders: bool = True
    note: str = ""


class LineDue(msgspec.Struct, frozen=True, kw_only=True):
    """One line on one day, whether ordered once or standing, put into grams or live trays.

    `line` is `ORDER/LINE`, and for standing orders `STANDING@DATE/LINE`: stable, so deliveries can name it.
    `grams` is what has to be cut [g], 0 for live trays; `trays` the live trays, 0 for cut lines.
    `done_g` and `done_trays` is what has been delivered for it already.
    `value` is what the whole line brings. [farm's currency]
    """

    line: str
    customer: str
    product: str
    due: date
    parts: tuple[Part, ...]
    live: bool
    grams: float
    trays: int
    done_g: float = 0.0
    done_trays: int = 0
    value: float = 0.0
    weight: float = 1.0
    packs: float = 0.0
    pack_g: float | None = None
