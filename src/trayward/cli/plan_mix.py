"""`trayward plan --mix`: what each crop earns of the spots it stands on, and what to grow more or less of."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import click

from trayward.cli.given import Given
from trayward.cli.plan_shown import show_binding
from trayward.cli.show import Column, Columns, table, wrapped
from trayward.plan.limit_words import binding
from trayward.plan.types import Earning, Plan
from trayward.rounds.words import day_words, listed

MOST = 3
"""So many crops are named at either end. [-]"""
LITTLE = 1.0
"""A tray is hardly missed if the plan loses less than this without it. [farm's currency]"""
CENT = 0.01


def mix_json(given: Given, made: Plan) -> dict[str, Any]:
    """What `--mix` says, for other programs."""
    currency = given.settings.money.currency
    return {
        "first": made.first,
        "last": made.last,
        "currency": currency,
        "crops": made.earnings,
        "limits": binding(made.limits),
    }


def show_mix(given: Given, made: Plan) -> None:
    """A row for each crop, the one that earns most of a lit spot and day first; and what follows from it."""
    currency = given.settings.money.currency
    click.echo(f"What crops earn, {day_words(made.first)} to {day_words(made.last)}, {currency}".rstrip(", "))
    click.echo()
    columns: Columns = [
        Column("Crop", whole=True),
        Column("Trays", right=True, whole=True),
        Column("Margin", right=True, whole=True),
        Column("Spot-days", right=True, whole=True),
        Column("A lit spot a day", right=True, whole=True),
        Column("One tray more", right=True, whole=True),
        Column("One less", right=True, whole=True),
    ]
    table(columns, [_row(one) for one in made.earnings], none="Nothing grows in these weeks.")
    if not made.earnings:
        return
    click.echo()
    for words in mix_words(made):
        wrapped(words, "  ")
    taken = binding(made.limits)
    if taken:
        click.echo()
        show_binding(given, taken)


def _row(one: Earning) -> tuple[str, ...]:
    each = _money(one.a_spot_day) if one.spot_days else ""
    more = "" if one.one_more is None else _money(one.one_more, sign="+")
    less = "" if one.one_less is None else _money(-one.one_less, sign="+")
    return one.crop, str(one.trays), _money(one.margin), f"{one.spot_days:.0f}", each, more, less


def _money(amount: float, *, sign: str = "-") -> str:
    """An amount with cents; nothing has no sign."""
    return format(amount, f"{sign}.2f") if abs(amount) >= CENT / 2 else "0.00"


def mix_words(made: Plan) -> list[str]:
    """What to grow more of, less of, and whose orders to take first where room is short."""
    more = [(one.crop, one.one_more) for one in made.earnings if one.one_more is not None and one.one_more >= CENT]
    less = [(one.crop, one.one_less) for one in made.earnings if one.one_less is not None and one.one_less < LITTLE]
    said = "No tray more would bring what it costs and takes up, of any crop."
    if more:
        said = f"Grow more: a tray more brings {_each(sorted(more, key=lambda item: -item[1]))}."
    told = [said]
    if less:
        told.append(f"Grow less of these first; a tray less loses {_each(sorted(less, key=lambda item: item[1]))}.")
    return [*told, *_losing_words(made.earnings), *_room_words(made)]


def _losing_words(crops: Sequence[Earning]) -> list[str]:
    """Crops that do not earn their costs, and what could be done about them."""
    losing = [one.crop for one in crops if one.margin <= -CENT]
    if not losing:
        return []
    way_out = f'Ask more for it, or see what dropping it would do: trayward plan --what-if "no {losing[-1]}".'
    grown = "grown so as not to let customers down, or because it stands already"
    return [f"Brings less than it costs: {listed(losing)}; {grown}. {way_out}"]


def _room_words(made: Plan) -> list[str]:
    """Which orders to look for first: those that bring most for the room they take."""
    crops = [one.crop for one in made.earnings if one.spot_days]
    if len(crops) < 2:
        return []
    worst = [crop for crop in crops[: -MOST - 1 : -1] if crop not in crops[:MOST]]
    short = any(limit.worth > 0 and limit.unit == "spots" for limit in made.limits)
    then = "spots are short, so take their orders first" if short else "look for orders of these"
    least = f" Least: {listed(worst)}." if worst else ""
    return [f"Most for the spots they take bring {listed(crops[:MOST])}: {then}.{least}"]


def _each(crops: Sequence[tuple[str, float]]) -> str:
    return listed([f"{_money(amount)} ({crop})" for crop, amount in crops], most=5)
