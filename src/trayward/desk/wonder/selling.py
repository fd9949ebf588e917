"""Words for what is asked for and what it brings: orders, customers, prices, costs."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Literal, get_args

import msgspec

from trayward.desk.sheets.order_words import parse_line, plain_name, unit_word
from trayward.desk.wonder.reading import (
    MONEY,
    Asked,
    Span,
    crops_of,
    customers_of,
    direction,
    find,
    known_names,
    nearest,
    need_day,
    number_of,
    take_span,
)
from trayward.errors import InputError, require_between
from trayward.farm.orders import LineAsked, Order, StandingOrder
from trayward.farm.repeats import rule_from_words
from trayward.plan.suppose_selling import COSTS, CostName
from trayward.plan.supposed import Supposition
from trayward.plan.what_if import Cost, NewOrder, NewStanding, OrdersTimes, Price, PricesTimes

NOBODY = "a new customer"
_AMOUNT = re.compile(r"\d+(?:[.,/]\d+)?\s*(?:x\s*)?(?P<unit>live trays?|[a-z]+)\s+\S", re.IGNORECASE)
_LIVE = re.compile(r"\d+\s+live\s+\S.*\btrays?\b", re.IGNORECASE)
_CLAUSE = re.compile(r"\s+(?=(?:every|each|daily|weekly|monthly|fortnightly|on|for|from|until|till)\b)", re.IGNORECASE)
_REPEAT = ("every", "each", "daily", "weekly", "monthly", "fortnightly")


# New orders -----------------------------------------------------------------------------------------------------------


class _Clauses(msgspec.Struct):
    """The parts of an order in words."""

    lines: str
    customer: str = NOBODY
    repeat: str = ""
    on: str = ""
    span: Span = Span()


def read_order(asked: Asked) -> list[Supposition] | None:
    """A new order: "200 g pea every Tue for Thimble Corner from 2026-12-08", "6 packs garden mix on 12 Dec"."""
    text, sign = direction(asked.text)
    matched = _AMOUNT.match(text)
    if matched is None or (unit_word(matched["unit"]) is None and not _LIVE.match(text)):
        return None
    if sign < 0:
        raise InputError("order", repr(asked.text), "an order can only be added", 'Say "half NAME" or "no NAME".')
    clauses = _clauses(text, asked)
    lines = _lines(clauses.lines, asked)
    name = f"what-if-{asked.number}"
    if not clauses.repeat and not clauses.on:
        raise InputError("order", repr(text), "it is not said when", 'Add "every Tue" or "on 2026-12-08".')
    if clauses.on and clauses.repeat:
        raise InputError("order", repr(text), "it is for one day and repeats", "Say only one of the two.")
    if clauses.on:
        due = need_day(clauses.on, asked.today)
        return [NewOrder(order=Order(order=name, customer=clauses.customer, due=due, lines=lines))]
    first, last = clauses.span
    rule = rule_from_words(clauses.repeat + (f" until {last.isoformat()}" if last else ""))
    start = first or asked.today + timedelta(days=1)
    standing = StandingOrder(standing=name, customer=clauses.customer, start=start, rule=rule, lines=lines)
    return [NewStanding(standing=standing)]


def _clauses(text: str, asked: Asked) -> _Clauses:
    """An order's words taken apart; a customer the farm has is known whatever words stand in the name."""
    made = _Clauses("")
    text, made.customer = _customer(text, asked)
    for clause in _CLAUSE.split(text):
        word, _, rest = clause.partition(" ")
        said = word.casefold()
        if not made.lines:
            made.lines = clause
        elif said in _REPEAT:
            clause, more = _price_after(clause)
            made.repeat, made.lines = clause, made.lines + more
        elif said == "on" and made.repeat.endswith(("ly", "weeks")):
            made.repeat += f" on {rest}"
        elif said == "on":
            made.on, more = _price_after(rest)
            made.lines += more
        elif said == "for":
            made.customer = rest.strip() if made.customer == NOBODY else f"{made.customer} {clause}"
        elif said == "from":
            made.span = take_span(clause, asked.today)[1]._replace(last=made.span.last)
            if re.search(r"\sto\s", clause):
                made.span = take_span(clause, asked.today)[1]
        else:
            made.span = made.span._replace(last=need_day(rest, asked.today))
    return made


def _price_after(clause: str) -> tuple[str, str]:
    """A price said after the days, taken to the line it belongs to."""
    words, at, price = clause.partition(" at ")
    return words, at + price


def _customer(text: str, asked: Asked) -> tuple[str, str]:
    """The text less a known or quoted customer, and that customer."""
    quoted = re.search(r"\s+for\s+[\"“](?P<name>[^\"”]+)[\"”]", text)
    if quoted:
        return text[: quoted.start()] + text[quoted.end() :], quoted["name"]
    for name in customers_of(asked.state):
        matched = re.search(rf"\s+for\s+{re.escape(name)}(?=\s|$)", text, re.IGNORECASE)
        if matched:
            return text[: matched.start()] + text[matched.end() :], name
    return text, NOBODY


def _lines(text: str, asked: Asked) -> tuple[LineAsked, ...]:
    """Order lines in words, joined by commas or "and"."""
    state = asked.state
    lines: list[LineAsked] = []
    for part in re.split(r"\s*(?:,|\band\b)\s+(?=\d)", text):
        plain = re.sub(r"(?<=\d),(?=\d)", ".", part)
        plain = re.sub(r"^(\d+)\s+(live\s+.+?)\s+trays?\b", r"\1 trays \2", plain, flags=re.IGNORECASE)
        line = parse_line(plain, state.products, crops_of(state))
        same = sum(other.product == line.product for other in lines)
        lines.append(msgspec.structs.replace(line, line=f"{line.line}-{same + 1}") if same else line)
    return tuple(lines)


# Orders there are -----------------------------------------------------------------------------------------------------

_TIMES = re.compile(
    r"(?P<word>twice|double|half|halve|(?P<times>\d+(?:[.,]\d+)?)\s*(?:times|x))\s+(?P<name>.+)", re.IGNORECASE
)
_TIMES_AFTER = re.compile(r"(?P<name>.+?)\s+(?P<word>doubled|doubles|halved|halves)", re.IGNORECASE)


def read_times(asked: Asked) -> list[Supposition] | None:
    """An order larger or smaller: "twice thimble-tue", "half of Thimble Row Grocer from 2026-12-08"."""
    if not (_TIMES.fullmatch(asked.text) or _TIMES_AFTER.match(asked.text)):
        return None
    rest, span = take_span(asked.text, asked.today)
    matched = _TIMES.fullmatch(rest) or _TIMES_AFTER.fullmatch(rest)
    if matched is None:
        return None
    groups = matched.groupdict()
    factor = number_of(groups["times"]) if groups.get("times") else 2.0
    factor = 0.5 if matched["word"].casefold().startswith("hal") else factor
    require_between("times", factor, 0.01, 100, "times")
    name = re.sub(r"^(?:of|the)\s+", "", matched["name"], flags=re.IGNORECASE)
    return [orders_times(name, factor, span, asked)]


def orders_times(name: str, factor: float, span: Span, asked: Asked) -> Supposition:
    """The orders that a name means (a standing order, an order, or all of a customer's) so many times as large."""
    names = known_names(asked.state)
    order = find(name, names["standing order"]) or find(name, names["order"])
    if order is not None:
        return OrdersTimes(names=(order,), factor=factor, first=span.first, last=span.last)
    customer = find(name, names["customer"])
    if customer is None:
        known = [*names["standing order"], *names["customer"], *names["order"]]
        raise InputError("order or customer", repr(name), "the farm has none of that name", nearest(name, known))
    theirs = _orders_of(customer, asked)
    if not theirs:
        raise InputError("customer", customer, "nothing is ordered for the days to come", "Name another.")
    return OrdersTimes(names=theirs, factor=factor, first=span.first, last=span.last, whose=customer)


def _orders_of(customer: str, asked: Asked) -> tuple[str, ...]:
    """A customer's standing orders, and their orders still to come."""
    state = asked.state
    standing = [name for name, one in state.standing.items() if one.customer == customer and not one.ended]
    once = [name for name, one in state.orders.items() if one.customer == customer and one.due >= asked.today]
    return (*standing, *once)


# Prices and costs -----------------------------------------------------------------------------------------------------

Per = Literal["100 g", "pack", "tray"]
_PRICE = re.compile(
    rf"(?P<name>.+?)\s+(?:at|for)\s+(?P<price>{MONEY})\s*\S{{0,3}}?\s*(?:per|an?|each|/)\s*(?P<per>100\s*g|kg|pack|tray)",
    re.IGNORECASE,
)
_PERCENT = re.compile(
    r"(?P<name>.+?)\s+(?P<share>\d+(?:[.,]\d+)?)\s*(?:%|per ?cent)\s+(?P<way>dearer|cheaper|up|down|higher|lower)",
    re.IGNORECASE,
)
_COST = re.compile(
    rf"(?P<what>wages?|hands|energy|power|packaging|packs?|disposal)(?:\s+(?:at|of|costs?))?\s+(?P<amount>{MONEY})"
    r"(?:\s*\S{0,3}?\s*(?:per|an?|/)\s*(?P<per>hour|h|kwh|pack|kg))?",
    re.IGNORECASE,
)
_CALLED: dict[str, CostName] = {
    "wage": "wage_h", "wages": "wage_h", "hands": "wage_h", "energy": "energy_kwh", "power": "energy_kwh",
    "packaging": "packaging", "pack": "packaging", "packs": "packaging", "disposal": "disposal_kg",
}  # fmt: skip
_PAID_BY: dict[CostName, tuple[str, ...]] = {
    "wage_h": ("hour", "h"), "energy_kwh": ("kwh",), "packaging": ("pack",), "disposal_kg": ("kg",),
}  # fmt: skip


def read_cost(asked: Asked) -> list[Supposition] | None:
    """A cost: "wage 18 an hour", "energy 0.40 a kWh"."""
    matched = _COST.fullmatch(asked.text)
    if matched is None:
        return None
    what = _CALLED[matched["what"].casefold()]
    per = (matched["per"] or "").casefold()
    if per and per not in _PAID_BY[what]:
        name, paid = COSTS[what]
        raise InputError(name, f"per {per}", f"it is paid by {paid}", f'Say "{name} 0.40 {paid}".')
    amount = number_of(matched["amount"])
    require_between(COSTS[what][0], amount, 0, 100_000, "")
    return [Cost(what=what, amount=amount)]


def read_price(asked: Asked) -> list[Supposition] | None:
    """A price: "basil at 11 per 100 g", "garden mix at 4.20 a pack"."""
    matched = _PRICE.fullmatch(asked.text)
    if matched is None:
        return None
    product = product_of(matched["name"], asked)
    price, per = number_of(matched["price"]), " ".join(matched["per"].casefold().split())
    require_between("price", price, 0, 1_000_000, "")
    if per == "kg":
        return [Price(product=product, price=price / 10, per="100 g")]
    unit = next(one for one in get_args(Per) if one.replace(" ", "") == per.replace(" ", ""))
    return [Price(product=product, price=price, per=unit)]


def read_percent(asked: Asked) -> list[Supposition] | None:
    """Prices by a share: "basil 10 % dearer", "all prices 5 % up"."""
    matched = _PERCENT.fullmatch(asked.text)
    if matched is None:
        return None
    share = number_of(matched["share"]) / 100
    dearer = matched["way"].casefold() in ("dearer", "up", "higher")
    require_between("price change", share * 100, 0.01, 1000 if dearer else 100, "%")
    factor = 1 + share if dearer else 1 - share
    if plain_name(matched["name"]) in ("all", "all prices", "every price", "everything", "prices"):
        return [PricesTimes(factor=factor)]
    return [PricesTimes(factor=factor, products=(product_of(matched["name"], asked),))]


def product_of(text: str, asked: Asked) -> str:
    """The product, or crop sold by its own name, that is meant."""
    known = [*asked.state.products, *crops_of(asked.state)]
    name = find(re.sub(r"\s+price$", "", text, flags=re.IGNORECASE), known)
    if name is None:
        raise InputError("product", repr(text), "the farm sells nothing of that name", nearest(text, known))
    return name
