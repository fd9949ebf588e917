"""Supplies other than seed on the pages: what is there, what to order, one supply, and the count sheet."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Literal, TypeVar
from urllib.parse import urlencode

import msgspec
from starlette.responses import Response

from trayward.desk.reorder.advice import Advice, advice_about, order_advice
from trayward.desk.reorder.reach import days_words
from trayward.desk.reorder.words import left_words, order_words, other_words, when_words
from trayward.desk.stores_supplies import supply_named
from trayward.desk.stores_typed import typed_amount, typed_cost, typed_pack, typed_taken
from trayward.errors import InputError, NotFoundError
from trayward.farm.state import FarmState
from trayward.farm.supplies import (
    SUPPLY_KINDS,
    SUPPLY_UNITS,
    Occasion,
    Offer,
    Supply,
    SupplyHeld,
    SupplyKind,
    SupplyUnit,
)
from trayward.plan.done import plan_before
from trayward.rounds.words import amount_of, slug
from trayward.web.ask import Ask
from trayward.web.routing import act, page

MOST_COUNTED = 400
"""Fields of one count sheet."""
TAKERS = 3
"""Lines for what takes of a supply."""
VALUED: tuple[Literal["average", "lots"], ...] = ("average", "lots")
Choice = TypeVar("Choice", bound=str)


class SupplyShown(msgspec.Struct, frozen=True, kw_only=True):
    """A supply as the list shows it, in words of the grower."""

    name: str
    slug: str
    kind: str
    here: str
    days: str
    short: str
    """What the book is short of since the last count; empty: nothing."""
    first: str
    """The lot to use first; empty where there are not several."""
    gone_off: tuple[tuple[str, str, object], ...]
    """Lot, amount and day of what goes off unused."""
    order_by: object
    due: bool


def supplies(ask: Ask) -> Response:
    """Every supply, and what to order within a week, seed among it."""
    state = ask.farm.state(ask.at)
    found = _advice(ask, state)
    by_name = {each.thing: each for each in found if not each.seed}
    due = [each for each in found if each.due(ask.today)]
    return ask.show(
        "stores/supplies.html",
        supplies=[_shown(ask, held, by_name[name]) for name, held in state.supplies.items() if name in by_name],
        due=[(each, _advised(ask, each)) for each in due],
        kinds=list(_kinds(ask).items()),
        units_of=list(_units(ask).items()),
        unit_words=_units(ask),
        occasions=[("", "-"), *_occasions(ask).items()],
        takers=range(TAKERS),
        crops=[
            (f"seed {each}", ask._("%(crop)s seed", crop=each))
            for each in sorted({one.crop for one in state.recipes.values()})
        ],
    )


def _kinds(ask: Ask) -> dict[SupplyKind, str]:
    """What a supply may be, in the page's language."""
    return {
        "medium": ask._("medium"), "packaging": ask._("packaging"), "feed": ask._("feed"),
        "agent": ask._("soap or agent"), "other": ask._("something else"),
    }  # fmt: skip


def _units(ask: Ask) -> dict[SupplyUnit, str]:
    """What it may be counted in."""
    return {"pieces": ask._("pieces"), "g": "g", "ml": "ml"}


def _occasions(ask: Ask) -> dict[Occasion, str]:
    """What may take of it by itself."""
    return {
        "tray": ask._("tray sown"), "pack": ask._("pack filled"), "litre": ask._("litre of feed"),
        "washed": ask._("piece washed"), "sanitised": ask._("piece sanitised"),
    }  # fmt: skip


def _advice(ask: Ask, state: FarmState) -> tuple[Advice, ...]:
    settings = ask.settings
    return ask.kept(("order advice", ask.today), lambda: order_advice(state, settings, plan_before(state), ask.at))


def _shown(ask: Ask, held: SupplyHeld, advice: Advice) -> SupplyShown:
    unit, lots = held.supply.unit, held.here
    return SupplyShown(
        name=held.supply.name,
        slug=slug(held.supply.name),
        kind=_kinds(ask)[held.supply.kind],
        here=amount_of(held.stock, unit),
        days=days_words(advice.reach),
        short=amount_of(held.short, unit) if held.short > 0 else "",
        first=lots[0].lot if len(lots) > 1 else "",
        gone_off=tuple((lot, amount_of(amount, unit), day) for lot, amount, day in advice.reach.gone_off),
        order_by=advice.order_by,
        due=advice.due(ask.today),
    )


def _advised(ask: Ask, advice: Advice) -> tuple[str, str, str, list[str]]:
    others = [other_words(other, advice) for other in advice.others]
    return left_words(advice), when_words(advice, ask.today), order_words(advice), others


def supply(ask: Ask) -> Response:
    """One supply: what is there, lot by lot, what to order, and everything one does with it."""
    state = ask.farm.state(ask.at)
    held = supply_named(state, ask.query.text("name"))
    advice = advice_about(state, ask.settings, plan_before(state), held.supply.name, ask.at)
    unit = held.supply.unit
    return ask.show(
        "stores/supply.html",
        held=held,
        unit=_units(ask)[unit],
        unit_words=_units(ask),
        amount=lambda amount: amount_of(amount, unit),
        days=days_words(advice.reach) if advice is not None else "",
        advised=_advised(ask, advice) if advice is not None and advice.needed_on is not None else None,
        reach=advice.reach if advice is not None else None,
        offers=[each for each in state.offers.values() if not each.seed and each.thing == held.supply.name],
        kinds=list(_kinds(ask).items()),
        valued=[("average", ask._("the average of all deliveries")), ("lots", ask._("what its own delivery cost"))],
        occasions=[("", "-"), *_occasions(ask).items()],
        takers=range(max(TAKERS, len(held.supply.taken) + 1)),
        lots=[("", ask._("what is used first")), *((lot.lot, lot.lot) for lot in held.here)],
    )


def count_page(ask: Ask) -> Response:
    """A sheet to count by: what the book expects is not said until it is counted."""
    state = ask.farm.state(ask.at)
    found = [held for held in state.supplies.values() if not held.dropped]
    last = [(held, held.counts[-1]) for held in found if held.counts]
    return ask.show(
        "stores/count.html",
        rows=list(enumerate(found[:MOST_COUNTED])),
        unit_words=_units(ask),
        last=[(held, told) for held, told in last if ask.local(told.at).date() == ask.today],
        amount=amount_of,
    )


# Acts -----------------------------------------------------------------------------------------------------------------


def _address(name: str) -> str:
    return f"/stores/supply?{urlencode({'name': name})}"


def _held(ask: Ask) -> SupplyHeld:
    return supply_named(ask.farm.state(ask.at), ask.form.need("supply"))


def set_supply(ask: Ask) -> Response:
    """A supply is as said from now on."""
    form, state = ask.form, ask.farm.state(ask.at)
    name = form.need("supply", "Name it as on its pack.").strip()
    known = state.supplies.get(name)
    unit = known.supply.unit if known is not None else _chosen(ask, "unit", SUPPLY_UNITS)
    taken = [
        typed_taken(_taken_line(ask, number), unit)
        for number in range(12)
        if form.has(f"of_{number}") and form.text(f"of_{number}")
    ]
    keeps = form.whole("keeps_days", 0, 36_500) if form.has("keeps_days") else 0
    body = Supply(
        name=name,
        kind=_chosen(ask, "kind", SUPPLY_KINDS),
        unit=unit,
        taken=tuple(taken),
        keep=typed_amount(form.text("keep"), unit, "keep") if form.has("keep") else 0.0,
        surely=form.share("surely") if form.has("surely") else 0.95,
        keeps_days=keeps or None,
        valued=_chosen(ask, "valued", VALUED) if form.has("valued") else "average",
    )
    receipt = ask.farm.set_supply(body, dropped=form.ticked("dropped"), **ask.said)
    return ask.recorded(_address(name), ask._("Kept."), receipt)


def _chosen(ask: Ask, name: str, options: Sequence[Choice]) -> Choice:
    found = ask.form.choice(name, options)
    return next(each for each in options if each == found)


def _taken_line(ask: Ask, number: int) -> str:
    of, amount, name = (ask.form.text(f"{field}_{number}").strip() for field in ("of", "amount", "name"))
    return f"{of} {amount}" + (f" of {name}" if name else "")


def receive(ask: Ask) -> Response:
    """A delivery of a supply, here or on order."""
    form, held = ask.form, _held(ask)
    coming = form.day("expected") if form.has("expected") else None
    receipt = ask.farm.receive_supply(
        held.supply.name,
        typed_amount(form.need("amount"), held.supply.unit),
        lot=form.text("lot"),
        best_before=form.day("best_before") if form.has("best_before") else None,
        cost=typed_cost(form.text("cost")),
        supplier=form.text("supplier"),
        supplier_lot=form.text("supplier_lot"),
        document=form.text("document"),
        expected_on=coming,
        **ask.said,
    )
    lot = receipt.names[0]
    say = ask._("On order: %(lot)s.", lot=lot) if coming is not None else ask._("Received: %(lot)s.", lot=lot)
    return ask.recorded(_address(held.supply.name), say, receipt)


def use(ask: Ask) -> Response:
    """Some of it was used, beside what the book takes off by itself."""
    held, form = _held(ask), ask.form
    amount = typed_amount(form.need("used"), held.supply.unit, "used")
    receipt = ask.farm.use_supply(held.supply.name, amount, form.text("reason"), lot=form.text("lot"), **ask.said)
    return ask.recorded(_address(held.supply.name), ask._("Kept."), receipt)


def throw(ask: Ask) -> Response:
    """Some of it was thrown away."""
    held, form = _held(ask), ask.form
    amount = typed_amount(form.need("thrown"), held.supply.unit, "thrown")
    receipt = ask.farm.throw_supply(held.supply.name, amount, form.text("reason"), lot=form.text("lot"), **ask.said)
    return ask.recorded(_address(held.supply.name), ask._("Kept."), receipt)


def count(ask: Ask) -> Response:
    """What there is of several supplies, as counted."""
    form, state, counted = ask.form, ask.farm.state(ask.at), {}
    for number in range(MOST_COUNTED):
        if form.has(f"count_{number}") and form.text(f"count_{number}").strip():
            held = supply_named(state, form.need(f"supply_{number}"))
            counted[held.supply.name] = typed_amount(form.text(f"count_{number}"), held.supply.unit, f"count_{number}")
    if not counted:
        rule = "at least one is counted"
        raise InputError("count_0", "nothing", rule, "Type what you counted; leave the rest.")
    receipt = ask.farm.count_supplies(counted, **ask.said)
    say = ask.ngettext("%(num)s supply counted.", "%(num)s supplies counted.", len(counted))
    return ask.recorded("/stores/count", say, receipt)


def set_offer(ask: Ask) -> Response:
    """What a supplier asks for a supply, or for seed of a crop."""
    form, state = ask.form, ask.farm.state(ask.at)
    thing = form.need("thing")
    seed = thing.startswith("seed ") and thing not in state.supplies
    thing = thing.removeprefix("seed ") if seed else thing
    unit = "g" if seed else supply_named(state, thing).supply.unit
    lines = [line for line in form.text("packs").splitlines() if line.strip()]
    offer = Offer(
        thing=thing,
        seed=seed,
        supplier=form.need("supplier", "Name who sells it."),
        packs=tuple(typed_pack(line, unit) for line in lines),
        lead_days=form.number("lead", 0.0, 365.0) if form.has("lead") else 7.0,
        delivery=typed_cost(form.text("delivery"), "delivery") or Decimal(0),
    )
    receipt = ask.farm.set_offer(offer, **ask.said)
    return ask.recorded("/stores/supplies" if seed else _address(thing), ask._("Kept."), receipt)


def drop_offer(ask: Ask) -> Response:
    """A supplier does not sell it any more."""
    offers = ask.farm.state(ask.at).offers
    key = ask.form.need("offer")
    if key not in offers:
        raise NotFoundError("offer", key, tuple(offers))
    offer = offers[key]
    receipt = ask.farm.set_offer(offer, dropped=True, **ask.said)
    where = "/stores/supplies" if offer.seed else _address(offer.thing)
    return ask.recorded(where, ask._("Kept."), receipt)


ROUTES = (
    page("/stores/supplies", supplies, may="look"),
    page("/stores/supply", supply, may="look"),
    page("/stores/count", count_page, may="answer"),
    act("/stores/count", count, may="answer"),
    act("/stores/supply/use", use, may="answer"),
    act("/stores/supply/throw", throw, may="answer"),
    act("/stores/supply/set", set_supply, may="run"),
    act("/stores/supply/receive", receive, may="run"),
    act("/stores/offer", set_offer, may="run"),
    act("/stores/offer/drop", drop_offer, may="run"),
)
