"""Commands for orders: list, add, change, cancel, standing orders, customers."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from itertools import groupby

import click
import msgspec

from trayward.cli import people
from trayward.cli.given import Given, group
from trayward.cli.numbers import whole
from trayward.cli.order_import import import_
from trayward.cli.show import WIDTH, Column, Columns, answer, table, wrapped, written
from trayward.cli.when import day_said, parse_day
from trayward.dates import day_words
from trayward.desk.sheets.order_words import parse_line
from trayward.errors import NotFoundError
from trayward.farm.orders import Customer, LineAsked, LineDue, StandingOrder
from trayward.farm.repeats import rule_from_words, rule_in_words
from trayward.rounds.traits import lines_words
from trayward.units import show_mass
from trayward.words import counted, listed


@group("order", example="trayward order")
def order(given: Given) -> None:
    """What is due in the next two weeks, standing orders spelt out."""
    show_due(given, None, 14)


@order.add("list", example="trayward order list --days 14")
@click.option("--from", "first", metavar="DAY", help="First day; today if left out. Example: 2026-11-30.")
@click.option("--days", type=whole(1), default=14, show_default=True, help="How many days. Example: 28.")
@click.option("--standing", is_flag=True, help="The standing orders instead. Example: --standing.")
@click.option("--customers", is_flag=True, help="The customers instead. Example: --customers.")
def list_(given: Given, first: str | None, days: int, standing: bool, customers: bool) -> None:
    """Order lines due, or the standing orders, or the customers."""
    if standing:
        _show_standing(given)
    elif customers:
        _show_customers(given)
    else:
        show_due(given, first, days)


def show_due(given: Given, first: str | None, days: int) -> None:
    """Lines due from a day on, as a table or in JSON."""
    begin = parse_day(first, given.today) if first else given.today
    lines = sorted(
        given.farm.due(begin, begin + timedelta(days=days - 1), at=given.at),
        key=lambda line: (line.due, line.customer, line.line),
    )

    def human() -> None:
        if not lines:
            click.echo("Nothing is due in these days.")
        for (day, who), theirs in groupby(lines, key=lambda line: (line.due, line.customer)):
            click.echo(f"{day_words(day)}  {who}")
            _show_lines(given, list(theirs))

    answer(given, {"lines": lines}, human)


def _show_lines(given: Given, lines: Sequence[LineDue]) -> None:
    """The lines of one customer on one day: how much of what, how much of it went out, and the line's name, whole."""
    told = [(_asked(given, line), f"{line.product}{_done(given, line)}", line.line) for line in lines]
    asked, what = (max(len(row[column]) for row in told) for column in (0, 1))
    for row in told:
        begin = f"  {row[0]:>{max(asked, ASKED_WIDTH)}}  {row[1]:<{max(what, WHAT_WIDTH)}}"
        if len(begin) + 2 + len(row[2]) <= WIDTH:
            click.echo(f"{begin}  {row[2]}")
        else:
            click.echo(f"{begin.rstrip()}\n{' ' * (max(asked, ASKED_WIDTH) + 4)}{row[2]}")


ASKED_WIDTH, WHAT_WIDTH = 9, 22
"""Room for most amounts and products, so that the days stand under each other."""


def _asked(given: Given, line: LineDue) -> str:
    if line.live:
        return counted(line.trays, "tray")
    weight = show_mass(line.grams, given.units.mass)
    return f"{line.packs:g} x {show_mass(line.pack_g, given.units.mass)}" if line.packs and line.pack_g else weight


def _done(given: Given, line: LineDue) -> str:
    if line.live:
        return f", {line.done_trays} done" if line.done_trays else ""
    return f", {show_mass(line.done_g, given.units.mass)} done" if line.done_g else ""


def _show_standing(given: Given) -> None:
    found = list(given.state.standing.values())

    def human() -> None:
        for one in found:
            when = "ended" if one.ended else rule_in_words(one.rule)
            wrapped(f"{one.standing}  {one.customer}, {when}: {lines_words(one.lines, given.units.mass)}.", "    ")
            pauses = listed(f"{day_words(pause.first)} to {day_words(pause.last)}" for pause in one.pauses)
            if pauses:
                wrapped(f"    Pauses {pauses}.", "    ")
        if not found:
            click.echo("There are no standing orders.")

    answer(given, {"standing": found}, human)


def _show_customers(given: Given) -> None:
    found = list(given.state.customers.values())
    rows = [(one.name, "own table" if one.home else "", f"{one.weight:g}", one.note) for one in found]
    columns: Columns = ["Customer", "Home", Column("Weight", right=True), "Note"]
    answer(given, {"customers": found}, lambda: table(columns, rows))


@order.add("add", example='trayward order add "Corner Cafe" friday "200 g broccoli"', records=True, doubts=True)
@click.argument("customer")
@click.argument("day")
@click.argument("lines", nargs=-1, required=True)
@click.option("--name", default="", metavar="NAME", help="Name of the order; made up if left out. Example: O1042.")
@click.option("--note", default="", metavar="WORDS", help='Anything else. Example: "before ten".')
def add(given: Given, customer: str, day: str, lines: Sequence[str], name: str, note: str) -> None:
    """CUSTOMER wants LINES on a DAY. A line is "200 g broccoli", "6 packs garden mix at 3.50" or "2 trays live pea"."""
    due = parse_day(day, given.today)
    asked = read_lines(given, lines)
    receipt = given.farm.place_order(customer, due, asked, order=name, note=note, **given.said)
    written(
        given,
        receipt,
        f"Order {receipt.names[0]}: {customer}, {day_said(due, given.today)}, {lines_words(asked, given.units.mass)}.",
    )


def read_lines(given: Given, lines: Sequence[str]) -> tuple[LineAsked, ...]:
    """Order lines as people say them; a second line of one product gets a name of its own."""
    crops = dict.fromkeys(recipe.crop for recipe in given.state.recipes.values())
    asked: list[LineAsked] = []
    for text in lines:
        line = parse_line(text, given.state.products, crops)
        same = sum(other.product == line.product for other in asked)
        asked.append(msgspec.structs.replace(line, line=f"{line.line}-{same + 1}") if same else line)
    return tuple(asked)


@order.add("change", example='trayward order change O261127A --line "300 g broccoli"', records=True, doubts=True)
@click.argument("name", metavar="ORDER")
@click.option("--day", metavar="DAY", help="Due that day now. Example: saturday.")
@click.option("--line", "lines", multiple=True, metavar="LINE", help='All its lines now. Example: "300 g broccoli".')
@click.option("--note", metavar="WORDS", help='Anything else. Example: "before ten".')
def change(given: Given, name: str, day: str | None, lines: Sequence[str], note: str | None) -> None:
    """An ORDER is different now; what you leave out stays as it was."""
    held = given.state.orders
    if name not in held:
        raise NotFoundError("order", name, tuple(held), "See them with: trayward order list")
    changes = {
        "due": parse_day(day, given.today) if day else None,
        "lines": read_lines(given, lines) if lines else None,
        "note": note,
    }
    after = msgspec.structs.replace(held[name], **{key: value for key, value in changes.items() if value is not None})
    receipt = given.farm.change_order(after, **given.said)
    written(
        given,
        receipt,
        f"Order {name}: {after.customer}, {day_words(after.due)}, {lines_words(after.lines, given.units.mass)}.",
    )


@order.add("cancel", example='trayward order cancel O261127A --reason "closed"', records=True)
@click.argument("name", metavar="ORDER")
@click.option("--reason", default="", metavar="WORDS", help='Why. Example: "closed that day".')
def cancel(given: Given, name: str, reason: str) -> None:
    """An ORDER is off, or a standing order has come to its end."""
    if name in given.state.standing:
        receipt = given.farm.end_standing(name, **given.said)
        written(given, receipt, f"Standing order {name} has ended.")
        return
    receipt = given.farm.cancel_order(name, reason, **given.said)
    written(given, receipt, f"Order {name} is off.")


@order.add(
    "standing",
    example='trayward order standing cafe "Corner Cafe" "every Tue and Fri" "200 g pea"',
    records=True,
    doubts=True,
)
@click.argument("name", metavar="NAME")
@click.argument("customer")
@click.argument("repeat")
@click.argument("lines", nargs=-1, required=True)
@click.option("--from", "start", metavar="DAY", help="From that day on; today if left out. Example: 2026-12-01.")
@click.option("--except", "except_on", multiple=True, metavar="DAY", help="Not on that day. Example: 2026-12-25.")
@click.option("--also", "also_on", multiple=True, metavar="DAY", help="Also on that day. Example: 2026-12-24.")
def standing(
    given: Given,
    name: str,
    customer: str,
    repeat: str,
    lines: Sequence[str],
    start: str | None,
    except_on: Sequence[str],
    also_on: Sequence[str],
) -> None:
    """CUSTOMER wants LINES again and again.

    REPEAT is "every Tue and Fri", "every other Monday", or an RRULE of RFC 5545.
    """
    known = given.state.standing.get(name)
    made = StandingOrder(
        standing=name,
        customer=customer,
        start=parse_day(start, given.today) if start else (known.start if known else given.today),
        rule=rule_from_words(repeat),
        lines=read_lines(given, lines),
        except_on=tuple(parse_day(day, given.today) for day in except_on),
        also_on=tuple(parse_day(day, given.today) for day in also_on),
        pauses=known.pauses if known else (),
    )
    receipt = given.farm.set_standing(made, **given.said)
    when = f"{rule_in_words(made.rule)} from {day_words(made.start)}"
    written(given, receipt, f"Standing order {name}: {customer}, {when}, {lines_words(made.lines, given.units.mass)}.")


@order.add("pause", example="trayward order pause cafe 2026-12-21 2027-01-03", records=True)
@click.argument("name", metavar="STANDING")
@click.argument("first")
@click.argument("last")
def pause(given: Given, name: str, first: str, last: str) -> None:
    """No deliveries of a STANDING order from FIRST to LAST day, both included."""
    begin, end = parse_day(first, given.today, "first day"), parse_day(last, given.today, "last day")
    receipt = given.farm.pause_standing(name, begin, end, **given.said)
    written(given, receipt, f"Standing order {name} pauses from {day_words(begin)} to {day_words(end)}.")


@order.add("customer", example='trayward order customer "Corner Cafe" --weight 2', records=True)
@click.argument("name", metavar="NAME")
@click.option("--home/--no-home", default=None, help="Your own table. Example: --home.")
@click.option("--weight", metavar="NUMBER", help="How much letting them down counts, against 1. Example: 2.")
@click.option(
    "--spot-orders/--no-spot-orders", default=None, help="Orders besides standing ones. Example: --spot-orders."
)
@click.option("--note", metavar="WORDS", help='Anything else. Example: "back door".')
def customer(
    given: Given, name: str, home: bool | None, weight: str | None, spot_orders: bool | None, note: str | None
) -> None:
    """A customer is as you say from now on; what you leave out stays as it was."""
    before = given.state.customers.get(name) or Customer(name=name)
    changes = {
        "home": home,
        "weight": people.number(weight, "weight") if weight is not None else None,
        "spot_orders": spot_orders,
        "note": note,
    }
    after = msgspec.structs.replace(before, **{key: value for key, value in changes.items() if value is not None})
    receipt = given.farm.set_customer(after, **given.said)
    written(given, receipt, f"Customer {name}{', your own table' if after.home else ''}.")


order.add_command(import_)
