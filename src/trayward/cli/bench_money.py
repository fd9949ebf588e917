"""The commands `bench money`: what a tray costs, a price, break-even, one gram of seed more, what moves it most."""

from __future__ import annotations

import click

from trayward.cli.bench_made import add_sums
from trayward.cli.given import Given, group
from trayward.cli.show import answer, table, wrapped
from trayward.web.bench.sums.money import money as sums

SUMS = sums.answers


@group("money", example="trayward bench money tray broccoli")
def money(given: Given) -> None:
    """What a tray costs, what to ask for it, and what moves that."""

    def human() -> None:
        wrapped("Sums of money. Name a crop; where a farm is there, its own prices, lots and yields count.")
        click.echo("")
        table(["Sum", "Says"], SUMS)
        click.echo("\nTry: trayward bench money tray broccoli")

    answer(given, {"sums": [{"name": name, "says": says} for name, says in SUMS]}, human)


add_sums(money, sums)
