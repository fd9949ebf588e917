"""The forms of a what-if: every way to say a change, its fields, and the words they come to.

What is kept between pages are the words, as `Farm.what_if` reads them: they can be read, sent on and typed, too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Literal

import msgspec

from trayward.dates import WEEKDAYS
from trayward.desk.sheets.order_words import parse_amount
from trayward.errors import InputError
from trayward.farm.state import FarmState
from trayward.plan.suppose_selling import COSTS
from trayward.web.typed import Typed
from trayward.words import listed

Translate = Callable[[str], str]
Options = tuple[tuple[str, str], ...]

MOST_CHANGES = 8
"""So many changes one farm that might be has at most. [-]"""


class Field(msgspec.Struct, frozen=True, kw_only=True):
    """One field of a form: its name, its label, and what may be chosen."""

    name: str
    label: str
    kind: Literal["text", "number", "date", "select", "days"] = "text"
    value: str = ""
    hint: str = ""
    options: Options = ()


class Supposing(msgspec.Struct, frozen=True, kw_only=True):
    """One way to say a change."""

    kind: str
    title: str
    fields: tuple[Field, ...]


def forms_of(state: FarmState, _: Translate) -> tuple[Supposing, ...]:
    """Every way to say a change that this farm can take, with the names it has."""
    names = _Names(state)
    days = (
        Field(name="first", label=_("From"), kind="date", hint=_("Empty: from now on.")),
        Field(name="last", label=_("To"), kind="date", hint=_("Empty: for good.")),
    )
    forms = [*_room(names, days, _), *_selling(names, days, _), *_growing(names, _), *_money(names, _)]
    return tuple(form for form in forms if all(field.options for field in form.fields if field.kind == "select"))


class _Names:
    """Names the farm has, as choices."""

    def __init__(self, state: FarmState) -> None:
        crops = dict.fromkeys(recipe.crop for recipe in state.recipes.values())
        self.crops = _same(crops)
        self.recipes = _same(recipe.name for recipe in state.recipes_in_use())
        self.products = _same(dict.fromkeys([*state.products, *crops]))
        self.shelves = _same(name for name, shelf in state.shelves.items() if shelf.spots)
        self.kit = _same(state.kit)
        self.lots = _same(name for name, lot in state.seed.items() if lot.left_g > 0 or lot.expected_on)
        self.ordered = _same(name for name, lot in state.seed.items() if lot.expected_on)
        standing = [name for name, one in state.standing.items() if not one.ended]
        self.orders = _same(dict.fromkeys([*state.customers, *standing, *state.orders]))
        self.sold = _same(state.products)


def _same(names: Iterable[str]) -> Options:
    return tuple((name, name) for name in names)


def _more_less(_: Translate) -> Field:
    return Field(
        name="way", label=_("More or fewer"), kind="select", options=(("more", _("more")), ("less", _("fewer")))
    )


def _room(names: _Names, days: tuple[Field, ...], _: Translate) -> list[Supposing]:
    count = Field(name="count", label=_("How many"), kind="number", value="1")
    kinds = (("lit", _("lit")), ("dark", _("dark")))
    return [
        Supposing(
            kind="shelves",
            title=_("Shelves more or fewer"),
            fields=(
                count,
                _more_less(_),
                Field(name="light", label=_("Dark or lit"), kind="select", options=kinds),
                Field(name="spots", label=_("Spots on each"), kind="number", hint=_("Empty: as on most there are.")),
                *days,
            ),
        ),
        Supposing(
            kind="shelf",
            title=_("A shelf out of use"),
            fields=(Field(name="shelf", label=_("Shelf"), kind="select", options=names.shelves), *days),
        ),
        Supposing(
            kind="kit",
            title=_("Mats, covers or trays more or fewer"),
            fields=(count, _more_less(_), Field(name="pool", label=_("What"), kind="select", options=names.kit), *days),
        ),
        Supposing(
            kind="off",
            title=_("Days off"),
            fields=(*days, Field(name="days", label=_("Or every"), kind="days")),
        ),
        Supposing(
            kind="hands",
            title=_("Hours of work more or fewer"),
            fields=(
                Field(name="time", label=_("How long"), hint=_("For instance 2 h or 30 min, on each day.")),
                _more_less(_),
                Field(name="days", label=_("Every"), kind="days", hint=_("None ticked: every working day.")),
                *days,
            ),
        ),
    ]


def _selling(names: _Names, days: tuple[Field, ...], _: Translate) -> list[Supposing]:
    wanted = (
        Field(name="product", label=_("What"), kind="select", options=names.products),
        Field(name="amount", label=_("How much"), hint=_("For instance 200 g, 6 packs or 2 trays.")),
        Field(name="price", label=_("Price"), hint=_("For 100 g, a pack or a tray; empty: the usual one.")),
        Field(name="customer", label=_("Customer"), hint=_("Empty: somebody new.")),
    )
    sizes = (
        ("off", _("off")),
        ("half", _("half as much")),
        ("twice", _("twice as much")),
        ("3 times", _("three times as much")),
    )
    return [
        Supposing(
            kind="repeats",
            title=_("A new customer, or an order that repeats"),
            fields=(*wanted, Field(name="days", label=_("Every"), kind="days"), *days),
        ),
        Supposing(
            kind="order",
            title=_("One order more"),
            fields=(*wanted, Field(name="day", label=_("Due on"), kind="date")),
        ),
        Supposing(
            kind="times",
            title=_("An order or a customer larger, smaller or off"),
            fields=(
                Field(name="order", label=_("Which"), kind="select", options=names.orders),
                Field(name="size", label=_("How"), kind="select", options=sizes),
                *days,
            ),
        ),
        Supposing(
            kind="unsold",
            title=_("A product no longer sold"),
            fields=(Field(name="product", label=_("Product"), kind="select", options=names.sold),),
        ),
    ]  # fmt: skip


def _growing(names: _Names, _: Translate) -> list[Supposing]:
    crop = Field(name="crop", label=_("Crop"), kind="select", options=names.crops)
    then = (("gone", _("its orders are off, too")), ("asked", _("its orders stay")))
    return [
        Supposing(
            kind="drop",
            title=_("Drop a crop"),
            fields=(crop, Field(name="then", label=_("And then"), kind="select", options=then)),
        ),
        Supposing(
            kind="recipe",
            title=_("Drop a recipe"),
            fields=(Field(name="recipe", label=_("Recipe"), kind="select", options=names.recipes),),
        ),
        Supposing(
            kind="lost",
            title=_("Trays lost"),
            fields=(
                crop,
                Field(name="count", label=_("How many"), kind="number", hint=_("Empty: all that stand.")),
            ),
        ),
        Supposing(
            kind="tray",
            title=_("One tray lost"),
            fields=(Field(name="tray", label=_("Tray"), hint=_("Its name, as on its label.")),),
        ),
        Supposing(
            kind="no seed",
            title=_("A seed lot that is no good"),
            fields=(Field(name="lot", label=_("Lot"), kind="select", options=names.lots),),
        ),
        Supposing(
            kind="late",
            title=_("Seed that comes later"),
            fields=(
                Field(name="lot", label=_("Lot"), kind="select", options=names.ordered),
                Field(name="day", label=_("Comes on"), kind="date"),
            ),
        ),
        Supposing(
            kind="seed",
            title=_("More seed"),
            fields=(
                crop,
                Field(name="mass", label=_("How much"), hint=_("For instance 2 kg.")),
                Field(name="day", label=_("Comes on"), kind="date", hint=_("Empty: it is here.")),
            ),
        ),
    ]


def _money(names: _Names, _: Translate) -> list[Supposing]:
    per = (("100 g", _("100 g")), ("pack", _("a pack")), ("tray", _("a tray")))
    ways = (("dearer", _("dearer")), ("cheaper", _("cheaper")))
    everything = (("everything", _("everything")), *names.products)
    costs = (
        ("wage", _("an hour of work")),
        ("energy", _("a kWh of power")),
        ("packaging", _("a pack's packaging")),
        ("disposal", _("throwing away a kg")),
    )
    return [
        Supposing(
            kind="price",
            title=_("Another price"),
            fields=(
                Field(name="product", label=_("What"), kind="select", options=names.products),
                Field(name="price", label=_("Price"), kind="number"),
                Field(name="per", label=_("For"), kind="select", options=per),
            ),
        ),
        Supposing(
            kind="percent",
            title=_("Prices up or down"),
            fields=(
                Field(name="product", label=_("What"), kind="select", options=everything),
                Field(name="percent", label=_("By how many percent"), kind="number"),
                Field(name="way", label=_("Which way"), kind="select", options=ways),
            ),
        ),
        Supposing(
            kind="cost",
            title=_("Another cost"),
            fields=(
                Field(name="cost", label=_("What"), kind="select", options=costs),
                Field(name="amount", label=_("Amount"), kind="number"),
            ),
        ),
    ]


# What they come to, in words ------------------------------------------------------------------------------------------


def words_of(kind: str, form: Typed) -> str:
    """
    The words a form comes to, as a what-if reads them.

    Raises
    ------
    InputError
        If a field is missing or makes no sense, or the kind is none.
    """
    if kind == "words":
        return form.need("words", "Say what is different.").strip().rstrip(";.")
    if kind not in SAID:
        raise InputError("kind", kind, "is not one of those offered", "Choose one.")
    return " ".join(SAID[kind](form).split())


def _span(form: Typed) -> str:
    first = form.maybe(form.day, "first")
    last = form.maybe(form.day, "last")
    if first and last and last < first:
        raise InputError("last", last.isoformat(), f"it comes before the first, {first}", "Swap the two.")
    if first and first == last:
        return f"on {first}"
    if first:
        return f"from {first} to {last}" if last else f"from {first}"
    return f"until {last}" if last else ""


def _count(form: Typed) -> int:
    return form.whole("count", 1, 100_000)


def _weekdays(form: Typed) -> str:
    return listed((day for day in WEEKDAYS if day in form.all("days")), most=len(WEEKDAYS))


def _shelves(form: Typed) -> str:
    kind = form.choice("light", ("lit", "dark"))
    count, less = _count(form), form.choice("way", ("more", "less")) == "less"
    if less:
        return f"{count} {kind} shelves less {_span(form)}"
    spots = f"of {form.whole('spots', 1, 10_000)} spots" if form.has("spots") else ""
    return f"{count} more {kind} shelves {spots} {_span(form)}"


def _kit(form: Typed) -> str:
    return f"{_count(form)} {form.choice('way', ('more', 'less'))} {form.need('pool')} {_span(form)}"


def _off(form: Typed) -> str:
    days = _weekdays(form)
    if days:
        return f"closed every {days} {_span(form)}"
    if not form.has("first"):
        raise InputError("first", "nothing", "it has to be said when", "Give a day, or tick a weekday.")
    return f"closed {_span(form)}" if form.has("last") else f"closed on {form.day('first')}"


def _hands(form: Typed) -> str:
    minutes = form.minutes("time")
    days = _weekdays(form)
    every = f"every {days}" if days else "a day"
    return f"{minutes:g} min {form.choice('way', ('more', 'less'))} {every} {_span(form)}"


def _line(form: Typed) -> str:
    amount = parse_amount(form.need("amount"))
    product = form.need("product", "Choose one.")
    price = ""
    if form.has("price"):
        per = " per 100 g" if amount.unit == "g" else ""
        price = f" at {form.number('price', 0, 1_000_000):g}{per}"
    return f"{amount.quantity:g} {amount.unit} {product}{price}"


def _whose(form: Typed) -> str:
    name = form.text("customer").replace('"', "")
    return f'for "{name}"' if name else ""


def _repeats(form: Typed) -> str:
    days = _weekdays(form)
    if not days:
        raise InputError("days", "none", "it has to be said on which days", "Tick one or more.")
    span = _span(form)
    if span.startswith("on "):
        raise InputError("last", form.text("last"), "it is the first day, too", 'Take "One order more" for one day.')
    return f"{_line(form)} every {days} {_whose(form)} {span}"


def _order(form: Typed) -> str:
    return f"{_line(form)} on {form.day('day')} {_whose(form)}"


def _times(form: Typed) -> str:
    order, size = form.need("order", "Choose one."), form.choice("size", ("off", "half", "twice", "3 times"))
    return f"no {order} {_span(form)}" if size == "off" else f"{size} {order} {_span(form)}"


def _drop(form: Typed) -> str:
    crop = form.need("crop", "Choose one.")
    return f"{crop} not sown" if form.choice("then", ("gone", "asked")) == "asked" else f"no crop {crop}"


def _lost(form: Typed) -> str:
    crop = form.need("crop", "Choose one.")
    return f"{_count(form)} {crop} trays lost" if form.has("count") else f"all {crop} trays lost"


def _seed(form: Typed) -> str:
    grams = form.mass("mass")
    day = f" on {form.day('day')}" if form.has("day") else ""
    return f"{grams:g} g more {form.need('crop')} seed{day}"


def _price(form: Typed) -> str:
    per = form.choice("per", ("100 g", "pack", "tray"))
    return f"{form.need('product')} at {form.number('price', 0, 1_000_000):g} per {per}"


def _percent(form: Typed) -> str:
    way = form.choice("way", ("dearer", "cheaper"))
    return f"{form.need('product')} {form.number('percent', 0.01, 1000):g} % {way}"


def _cost(form: Typed) -> str:
    name = form.choice("cost", tuple(words for words, _ in COSTS.values()))
    per = next(per for words, per in COSTS.values() if words == name)
    return f"{name} {form.number('amount', 0, 100_000):g} {per}"


SAID: dict[str, Callable[[Typed], str]] = {
    "shelves": _shelves,
    "shelf": lambda form: f"shelf {form.need('shelf', 'Choose one.')} out of use {_span(form)}",
    "kit": _kit,
    "off": _off,
    "hands": _hands,
    "repeats": _repeats,
    "order": _order,
    "times": _times,
    "unsold": lambda form: f"no product {form.need('product', 'Choose one.')}",
    "drop": _drop,
    "recipe": lambda form: f"no recipe {form.need('recipe', 'Choose one.')}",
    "lost": _lost,
    "tray": lambda form: f"tray {form.need('tray', 'Say which.')} lost",
    "no seed": lambda form: f"no seed lot {form.need('lot', 'Choose one.')}",
    "late": lambda form: f"seed lot {form.need('lot', 'Choose one.')} late until {form.day('day')}",
    "seed": _seed,
    "price": _price,
    "percent": _percent,
    "cost": _cost,
}
"""How each form is said."""
