"""`trayward plan --what-if`: two plans side by side, for the farm as it might be and as it is."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import click

from trayward.cli.given import Given
from trayward.cli.show import Column, Columns, answer, table, wrapped
from trayward.dates import day_words
from trayward.plan.compare_types import Beside, Comparison, CustomerBeside, LimitBeside
from trayward.plan.words import amount_words, weights_in
from trayward.units import show_mass
from trayward.words import counted

NAME_WIDTH = 34
"""Room for what a row speaks of, so that three figures fit beside it in 80 columns."""
LIKELY = "lines likely to be met in full"
MET = "lines met in full"
SURE = "lines as sure as you want them"
TITLES = {
    "letting down": "Price of lines let down",
    "worth": "Margin less that",
    "cut short": "Short, all lines",
    "live trays short": "Live trays short",
}
SAME = "same"

Row = tuple[str, str, str, str]


def wonder(given: Given, changes: Sequence[str], weeks: int, *, everything: bool = False) -> None:
    """Answer what some changes would be worth. Nothing is recorded."""
    told = given.farm.what_if(*changes, at=given.at, weeks=weeks)
    answer(given, told, lambda: show_comparison(given, told, everything=everything))


def show_comparison(given: Given, told: Comparison, *, everything: bool = False) -> None:
    """What is supposed, the verdict, and all that differs; with `everything` also what does not."""
    for words in told.what_if:
        wrapped(f"What if: {words}.", "  ")
    click.echo(f"Both plans run from {day_words(told.first)} to {day_words(told.last)}.")
    click.echo()
    wrapped(told.verdict)
    click.echo()
    columns: Columns = [
        Column(""),
        Column("With it", right=True, whole=True),
        Column("As it is", right=True, whole=True),
        Column("Difference", right=True, whole=True),
    ]
    with weights_in(given.units.mass):
        table(columns, _rows(given, told, everything))
    click.echo()
    if told.newly_met or told.no_longer_met:
        met = f"{counted(len(told.newly_met), 'line') if told.newly_met else 'none'} met only with it"
        as_it_is = f"{len(told.no_longer_met)} only as it is" if told.no_longer_met else "none only as it is"
        click.echo(f"Of the lines in both plans: {met}, {as_it_is}.")
    for note in told.notes:
        wrapped(f"Note: {note}", "  ")
    click.echo("Nothing was recorded.")


def _rows(given: Given, told: Comparison, everything: bool) -> list[Row]:
    """The parts of the table under each other, each with its title."""
    money = [_money_row(row) for row in told.money if everything or row.with_it or row.as_it_is]
    service = [_service_row(given, row, sure=told.as_it_is.scenarios > 0) for row in told.service]
    customers = [_customer_row(one) for one in told.customers if everything or _turned(one)]
    crops = [_trays_row(row) for row in told.crops if everything or row.difference or row.what == "all crops"]
    doubt = told.as_it_is.scenarios > 0
    limits = [row for row in map(_limit_row, told.limits) if everything or row[-1] != SAME]
    parts = [
        (f"Money, {told.currency}".rstrip(", "), money),
        ("Order lines", service),
        ("As sure as you want, by customer" if doubt else "Met in full, by customer", customers),
        ("Trays sown", crops),
        ("All taken, or short by", limits),
    ]
    return [row for title, rows in parts if rows for row in [(title, "", "", ""), *rows]]


def _named(name: str) -> str:
    """A name under its title, cut where it is too long."""
    shown = name[:1].upper() + name[1:]
    return f"  {shown if len(shown) <= NAME_WIDTH else shown[: NAME_WIDTH - 1].rstrip() + '…'}"


def _row(name: str, with_it: float, as_it_is: float, shown: Callable[[float], str]) -> Row:
    """Two figures and their difference, signed."""
    difference = with_it - as_it_is
    sign = "+" if difference > 0 else "-"
    apart = f"{sign}{shown(abs(difference))}" if shown(abs(difference)) != shown(0.0) else SAME
    return _named(name), shown(with_it), shown(as_it_is), apart


def _money_row(row: Beside) -> Row:
    return _row(TITLES.get(row.what, row.what), row.with_it, row.as_it_is, lambda amount: f"{amount:.2f}")


def _service_row(given: Given, row: Beside, *, sure: bool) -> Row:
    """A figure of service; over many futures a line counts as met where it is as sure as the farm wants."""
    if sure and row.what == MET:
        return _row(SURE, row.with_it, row.as_it_is, lambda count: f"{count:.0f}")
    name, unit, places = TITLES.get(row.what, row.what), given.units.mass, 1 if row.what == LIKELY else 0
    if row.unit == "g":
        return _row(name, row.with_it, row.as_it_is, lambda grams: show_mass(grams, unit))
    return _row(name, row.with_it, row.as_it_is, lambda count: f"{count:.{places}f}")


def _trays_row(row: Beside) -> Row:
    return _row(row.what, row.with_it, row.as_it_is, lambda trays: f"{trays:.0f}")


def _turned(one: CustomerBeside) -> bool:
    return (one.lines_with_it, one.met_with_it) != (one.lines_as_it_is, one.met_as_it_is)


def _customer_row(one: CustomerBeside) -> Row:
    with_it, as_it_is = (
        f"{met} of {lines}" if lines else "none"
        for met, lines in ((one.met_with_it, one.lines_with_it), (one.met_as_it_is, one.lines_as_it_is))
    )
    difference = one.met_with_it - one.met_as_it_is
    return _named(one.customer), with_it, as_it_is, f"{difference:+d}" if difference else SAME


def _limit_row(one: LimitBeside) -> Row:
    """What a limit lacks at most, and for how long."""
    name = "too late to sow" if one.limit == "time" else one.limit
    with_it = _short_words(one.short_with_it, one.weeks_with_it, one.unit)
    as_it_is = _short_words(one.short_as_it_is, one.weeks_as_it_is, one.unit)
    return _named(name), with_it, as_it_is, SAME if with_it == as_it_is else _limit_apart(one)


def _limit_apart(one: LimitBeside) -> str:
    if not one.weeks_with_it or not one.weeks_as_it_is:
        return "gone" if one.weeks_as_it_is else "new"
    weeks = one.weeks_with_it - one.weeks_as_it_is
    if weeks:
        return f"{'+' if weeks > 0 else '-'}{abs(weeks)} wk"
    return "more" if one.short_with_it > one.short_as_it_is else "less"


def _short_words(short: float, weeks: int, unit: str) -> str:
    """What is lacking at most, or that all of it is taken, and in how many weeks."""
    if not weeks:
        return "no"
    return f"{amount_words(short, unit) if short > 0 else 'all taken'}, {weeks} wk"
