"""`trayward plan --mix`: what each crop earns of the spots it stands on, and what to grow more or less of."""

from __future__ import annotations

from typing import Any

import click

from trayward.cli.given import Given
from trayward.cli.plan_shown import show_binding
from trayward.cli.show import Column, Columns, table, wrapped
from trayward.dates import day_words
from trayward.plan.limit_words import binding
from trayward.plan.mix_words import losing, mix_words
from trayward.plan.types import Earning, Plan

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
        "words": mix_words(made, currency),
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
    for words in mix_words(made, currency):
        wrapped(words, "  ")
    worst = losing(made.earnings)
    if worst:
        click.echo(f'Without it: trayward plan --what-if "no {worst[-1]}"')
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
