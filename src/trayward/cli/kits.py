"""Commands for the kit pools: mesh trays, solid trays, covers, mats."""

from __future__ import annotations

import click
import msgspec

from trayward.cli.given import Given, group
from trayward.cli.numbers import NUMBER, WHOLE
from trayward.cli.show import Column, Columns, answer, table, written
from trayward.farm.kit import Pool


@group("kit", example="trayward kit")
def kit(given: Given) -> None:
    """What there is of each kit pool, and where it is: in use, dirty, drying or ready."""
    show_pools(given)


@kit.add("list", example="trayward kit list")
def list_(given: Given) -> None:
    """Every pool: how many in all, in use, dirty, drying, away and ready."""
    show_pools(given)


def show_pools(given: Given) -> None:
    """The pools as a table, or in JSON."""
    at, pools = given.at, given.state.kit
    found = [
        {
            "pool": name,
            "count": held.pool.count,
            "in_use": held.in_use,
            "dirty": held.dirty,
            "washed": held.washed,
            "drying": held.still_drying(at),
            "away": held.away,
            "lost": held.lost,
            "ready": held.ready(at),
        }
        for name, held in pools.items()
    ]
    names = ("count", "in_use", "dirty", "washed", "drying", "away", "ready")
    columns: Columns = [Column("Pool"), *(Column(name.replace("_", " ").capitalize(), right=True) for name in names)]
    rows = [[str(pool["pool"]), *(str(pool[name]) for name in names)] for pool in found]
    answer(given, {"kit": found}, lambda: table(columns, rows))


@kit.add("set", example='trayward kit set "mesh mat" --count 12 --dry-hours 12', records=True)
@click.argument("pool")
@click.option("--count", type=WHOLE, metavar="COUNT", help="How many there are. Example: 12.")
@click.option("--dry-hours", type=NUMBER, metavar="HOURS", help="From washing until dry. Example: 12.")
@click.option("--wash-minutes", type=NUMBER, metavar="MINUTES", help="Hands' work to wash one. Example: 2.")
@click.option("--sanitise/--no-sanitise", default=None, help="Sanitised, not only washed. Example: --sanitise.")
@click.option("--wear", type=NUMBER, metavar="MONEY", help="Cost of one use. Example: 0.05.")
def set_(
    given: Given,
    pool: str,
    count: int | None,
    dry_hours: float | None,
    wash_minutes: float | None,
    sanitise: bool | None,
    wear: float | None,
) -> None:
    """A pool of kit is as you say from now on; what you leave out stays as it was."""
    held = given.state.kit.get(pool)
    before = held.pool if held is not None else Pool(name=pool, count=0)
    changes = {
        "count": count, "dry_hours": dry_hours, "minutes_wash": wash_minutes, "sanitise": sanitise, "wear": wear,
    }  # fmt: skip
    after = msgspec.structs.replace(before, **{key: value for key, value in changes.items() if value is not None})
    receipt = given.farm.set_kit(after, **given.said)
    written(given, receipt, f"Kit {pool}: {after.count}, dry {after.dry_hours:g} h after washing.")


@kit.add("count", example='trayward kit count "mesh mat" 11 --reason "one torn"', records=True)
@click.argument("pool")
@click.argument("count", type=WHOLE)
@click.option("--reason", default="", metavar="WORDS", help='Why it differs. Example: "one torn".')
def count(given: Given, pool: str, count: int, reason: str) -> None:
    """How many of a POOL there are in all, as counted."""
    receipt = given.farm.count_kit(pool, count, reason, **given.said)
    written(given, receipt, f"Counted {count} of {pool}.")


@kit.add("return", example='trayward kit return "solid tray" 2', records=True)
@click.argument("pool")
@click.argument("count", type=WHOLE)
def return_(given: Given, pool: str, count: int) -> None:
    """COUNT of a POOL came back from customers; it is dirty."""
    receipt = given.farm.return_kit(pool, count, **given.said)
    written(given, receipt, f"{count} of {pool} came back, to be washed.")
