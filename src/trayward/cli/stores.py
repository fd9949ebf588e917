"""Commands for supplies other than seed: list, set, receive, use, count, throw; and what to order, of seed too."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

import click
import msgspec

from trayward.cli.given import Given, group
from trayward.cli.numbers import NUMBER, WHOLE
from trayward.cli.show import Column, Columns, answer, moment_words, table, wrapped, written
from trayward.cli.when import parse_day
from trayward.dates import day_words
from trayward.desk.stores_supplies import supply_named
from trayward.desk.stores_typed import typed_amount, typed_cost, typed_pack, typed_taken
from trayward.farm.supplies import SUPPLY_KINDS, SUPPLY_UNITS, Offer, Supply
from trayward.rounds.words import amount_of

if TYPE_CHECKING:
    from trayward.desk.reorder.advice import Advice


@group("stores", example="trayward stores")
def stores(given: Given) -> None:
    """Seed and supplies: what is there, how long it lasts, and by when to order."""
    show_stores(given)


@stores.add("list", example="trayward stores list")
def list_(given: Given) -> None:
    """Seed by crop and every supply: what is there, how long it lasts, by when to order."""
    show_stores(given)


def show_stores(given: Given) -> None:
    """Everything with its reach as a table, or in JSON."""
    from trayward.desk.reorder.reach import days_words

    found = sorted(given.farm.order_advice(given.at), key=lambda each: (each.seed, each.thing))
    rows = [
        (each.name, amount_of(each.reach.here, each.unit), days_words(each.reach),
         day_words(each.order_by) if each.order_by is not None else "", _goes_off(each))
        for each in found
    ]  # fmt: skip
    columns: Columns = ["What", Column("Here", True, True), "Days left", "Order by", "Goes off unused"]
    answer(given, {"stores": found}, lambda: table(columns, rows))


def _goes_off(advice: Advice) -> str:
    if not advice.reach.gone_off:
        return ""
    lot, amount, day = advice.reach.gone_off[0]
    return f"{amount_of(amount, advice.unit)} of {lot} {day_words(day)}"


@stores.add("order", example="trayward stores order")
@click.option("--all", "every", is_flag=True, help="Also what need not be ordered within a week. Example: --all.")
def order(given: Given, every: bool) -> None:
    """What to order within a week, how much and of whom, with reasons; seed too."""
    found = [each for each in given.farm.order_advice(given.at) if each.due(given.today) or (every and each.order_by)]

    def show() -> None:
        for each in found:
            _show_advice(given, each)
        if not found:
            click.echo("Nothing has to be ordered within a week.")

    answer(given, {"order": found}, show)


def _show_advice(given: Given, advice: Advice) -> None:
    from trayward.desk.reorder.words import left_words, order_words, other_words, when_words

    click.echo(f"{advice.name}: {left_words(advice)}")
    wrapped(f"{when_words(advice, given.today)} {order_words(advice)}".strip(), "  ")
    for other in advice.others:
        wrapped(other_words(other, advice), "    ")


@stores.add("show", example="trayward stores show coir")
@click.argument("supply")
def show_(given: Given, supply: str) -> None:
    """The deliveries of SUPPLY, the one to use first before the others, and its last counts."""
    held = supply_named(given.state, supply)

    def show() -> None:
        unit = held.supply.unit
        click.echo(f"{supply}: {amount_of(held.stock, unit)}")
        for number, lot in enumerate(held.here):
            until = f", best before {day_words(lot.best_before)}" if lot.best_before is not None else ""
            wrapped(f"{lot.lot}: {amount_of(lot.left, unit)}{until}{', use first' if number == 0 else ''}", "  ")
        for lot in held.coming:
            assert lot.expected_on is not None
            wrapped(f"{lot.lot}: {amount_of(lot.amount, unit)} on order for {day_words(lot.expected_on)}", "  ")
        for count in reversed(held.counts[-3:]):
            when, gone = moment_words(count.at, given.zone), count.unexplained
            more = f", {amount_of(abs(gone), unit)} {'unexplained' if gone > 0 else 'more'}" if gone else ""
            wrapped(f"{when}: counted {amount_of(count.counted, unit)}{more}", "  ")

    answer(given, held, show)


@stores.add("set", example='trayward stores set coir --kind medium --unit g --takes "tray 120 g of coir"', records=True)
@click.argument("supply")
@click.option("--kind", type=click.Choice(SUPPLY_KINDS), help="What it is. Example: medium.")
@click.option("--unit", type=click.Choice(SUPPLY_UNITS), help="What it is counted in. Example: g.")
@click.option("--takes", multiple=True, metavar="WORDS", help='What takes of it. Example: "tray 120 g of coir".')
@click.option("--keep", metavar="AMOUNT", help='The least that should be there. Example: "2 kg".')
@click.option("--surely", type=NUMBER, metavar="SHARE", help="How surely it lasts until a delivery. Example: 0.95.")
@click.option("--keeps-days", type=WHOLE, metavar="DAYS", help="How long it keeps. Example: 365.")
@click.option("--valued", type=click.Choice(["average", "lots"]), help="What used supply costs. Example: average.")
@click.option("--dropped", is_flag=True, help="It is no longer used. Example: --dropped.")
def set_(
    given: Given,
    supply: str,
    kind: str | None,
    unit: str | None,
    takes: tuple[str, ...],
    keep: str | None,
    surely: float | None,
    keeps_days: int | None,
    valued: str | None,
    dropped: bool,
) -> None:
    """A SUPPLY is as you say from now on; what you leave out stays as it was."""
    held = given.state.supplies.get(supply)
    before = held.supply if held is not None else Supply(name=supply)
    now = msgspec.structs.replace(before, unit=unit or before.unit)
    changes = {
        "kind": kind,
        "taken": tuple(typed_taken(each, now.unit) for each in takes) or None,
        "keep": typed_amount(keep, now.unit, "keep") if keep is not None else None,
        "surely": surely,
        "keeps_days": keeps_days,
        "valued": valued,
    }
    after = msgspec.structs.replace(now, **{key: value for key, value in changes.items() if value is not None})
    receipt = given.farm.set_supply(after, dropped=dropped, **given.said)
    written(given, receipt, f"Supply {supply}: {'no longer used' if dropped else f'counted in {after.unit}'}.")


@stores.add("offer", example='trayward stores offer pea "Hillside Seeds" --pack "1 kg 14.00"', records=True)
@click.argument("thing")
@click.argument("supplier")
@click.option("--seed", is_flag=True, help="THING is a crop, and they sell its seed. Example: --seed.")
@click.option(
    "--pack", "packs", multiple=True, metavar="WORDS", help='A pack, its price. Example: "1 kg 12.50 from 4".'
)
@click.option("--lead", type=NUMBER, metavar="DAYS", help="How long it takes to come. Example: 7.")
@click.option("--delivery", default="", metavar="MONEY", help="What each order costs besides. Example: 4.90.")
@click.option("--dropped", is_flag=True, help="They do not sell it any more. Example: --dropped.")
def offer(
    given: Given,
    thing: str,
    supplier: str,
    seed: bool,
    packs: tuple[str, ...],
    lead: float | None,
    delivery: str,
    dropped: bool,
) -> None:
    """What SUPPLIER asks for THING, a supply or with --seed a crop's seed; order advice goes by it."""
    unit = "g" if seed else supply_named(given.state, thing).supply.unit
    told = Offer(
        thing=thing,
        seed=seed,
        supplier=supplier,
        packs=tuple(typed_pack(each, unit) for each in packs),
        lead_days=7.0 if lead is None else lead,
        delivery=typed_cost(delivery, "delivery") or Decimal(0),
    )
    receipt = given.farm.set_offer(told, dropped=dropped, **given.said)
    written(given, receipt, f"{supplier}: {'sells no' if dropped else 'sells'} {thing}{' seed' if seed else ''}.")


@stores.add(
    "receive", example='trayward stores receive coir "25 kg" --cost 31.00 --best-before 2028-01-31', records=True,
    doubts=True,
)  # fmt: skip
@click.argument("supply")
@click.argument("amount")
@click.option("--lot", default="", metavar="NAME", help="Your name for the delivery. Example: coir-2611.")
@click.option("--best-before", metavar="DAY", help="The day on it. Example: 2028-01-31.")
@click.option("--cost", default="", metavar="MONEY", help="What all of it cost. Example: 31.00.")
@click.option("--supplier", default="", metavar="NAME", help="Who sold it. Example: Quay Supplies.")
@click.option("--supplier-lot", default="", metavar="LOT", help="The supplier's own lot. Example: 7731.")
@click.option("--document", default="", metavar="NUMBER", help="Invoice or delivery note. Example: 5521.")
@click.option("--expected", metavar="DAY", help="On order, comes that day. Example: 2026-12-01.")
def receive(
    given: Given,
    supply: str,
    amount: str,
    lot: str,
    best_before: str | None,
    cost: str,
    supplier: str,
    supplier_lot: str,
    document: str,
    expected: str | None,
) -> None:
    """A delivery of SUPPLY: so much of it. With --expected: on order."""
    unit = supply_named(given.state, supply).supply.unit
    much = typed_amount(amount, unit)
    coming = parse_day(expected, given.today, "expected") if expected else None
    receipt = given.farm.receive_supply(
        supply, much, lot=lot, cost=typed_cost(cost), supplier=supplier, supplier_lot=supplier_lot, document=document,
        best_before=parse_day(best_before, given.today, "best before") if best_before else None, expected_on=coming,
        **given.said,
    )  # fmt: skip
    here = f"on order for {day_words(coming)}" if coming else "received"
    written(given, receipt, f"{amount_of(much, unit)} of {supply} {here}, lot {receipt.names[0]}.")


@stores.add("use", example='trayward stores use coir "2 kg" --reason "potting up"', records=True)
@click.argument("supply")
@click.argument("amount")
@click.option("--lot", default="", metavar="NAME", help="Of that delivery alone. Example: coir-2611.")
@click.option("--reason", default="", metavar="WORDS", help='What for. Example: "potting up".')
def use(given: Given, supply: str, amount: str, lot: str, reason: str) -> None:
    """Some of SUPPLY was used, beside what sowings, packs, feeds and washes take by themselves."""
    unit = supply_named(given.state, supply).supply.unit
    much = typed_amount(amount, unit)
    receipt = given.farm.use_supply(supply, much, reason, lot=lot, **given.said)
    written(given, receipt, f"Used {amount_of(much, unit)} of {supply}.")


@stores.add("count", example='trayward stores count coir "21 kg"', records=True, doubts=True)
@click.argument("supply")
@click.argument("amount")
@click.option("--lot", default="", metavar="NAME", help="That delivery alone. Example: coir-2611.")
@click.option("--reason", default="", metavar="WORDS", help='Why it differs. Example: "a bag was torn".')
def count(given: Given, supply: str, amount: str, lot: str, reason: str) -> None:
    """What there is of SUPPLY, as counted or weighed; the record agrees with it from now on."""
    unit = supply_named(given.state, supply).supply.unit
    much = typed_amount(amount, unit)
    receipt = given.farm.count_supply(supply, much, reason, lot=lot, **given.said)
    written(given, receipt, f"Counted {supply}: {amount_of(much, unit)}.")


@stores.add("throw", example='trayward stores throw coir "2 kg" --reason "got wet"', records=True)
@click.argument("supply")
@click.argument("amount")
@click.option("--lot", default="", metavar="NAME", help="Of that delivery. Example: coir-2611.")
@click.option("--reason", default="", metavar="WORDS", help='Why. Example: "got wet".')
def throw(given: Given, supply: str, amount: str, lot: str, reason: str) -> None:
    """Some of SUPPLY was thrown away: spoilt, spilt, past its day."""
    unit = supply_named(given.state, supply).supply.unit
    much = typed_amount(amount, unit)
    receipt = given.farm.throw_supply(supply, much, reason, lot=lot, **given.said)
    written(given, receipt, f"Thrown away: {amount_of(much, unit)} of {supply}.")
