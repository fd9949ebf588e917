"""Commands for the kit pools: mesh trays, solid trays, covers, mats; and for the marks on them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import click
import msgspec

from trayward.cli import people
from trayward.cli.given import Given, group
from trayward.cli.numbers import NUMBER, WHOLE
from trayward.cli.show import Column, Columns, answer, table, written
from trayward.cli.stories import tell_story
from trayward.farm.entries import KitReturned
from trayward.farm.kit import Clearing, Pool, PoolState
from trayward.farm.kit_marks import in_order, marks_words, read_marks
from trayward.rounds.kit_story import mark_now
from trayward.units import parse_minutes
from trayward.words import counted


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
@click.option("--wash-minutes", "minutes_wash", type=NUMBER, metavar="MINUTES", help="Work to wash one. Example: 2.")
@click.option("--sanitise/--no-sanitise", default=None, help="Sanitised, not only washed. Example: --sanitise.")
@click.option("--wear", type=NUMBER, metavar="MONEY", help="Cost of one use. Example: 0.05.")
@click.option("--lasts", "lasts_uses", type=WHOLE, metavar="USES", help="Uses one lasts. Example: 40.")
@click.option(
    "--steps", metavar="STEPS", help='Your steps of a washing, with commas. Example: "scrape, soap, rinse hot".'
)
@click.option("--rinse", "rinse_c", metavar="TEMPERATURE", help='At least so warm. Example: "60 C".')
@click.option("--ppm-least", type=NUMBER, metavar="PPM", help="Least strength of your agent. Example: 80.")
@click.option("--ppm-most", type=NUMBER, metavar="PPM", help="Most strength of your agent. Example: 200.")
@click.option("--contact", "contact_min", metavar="TIME", help='It stays on so long. Example: "2 min".')
@click.option("--water-least", "water_least_c", metavar="TEMPERATURE", help='Its water, at least. Example: "18 C".')
@click.option("--water-most", "water_most_c", metavar="TEMPERATURE", help='Its water, at most. Example: "30 C".')
@click.option("--after-mould/--no-after-mould", default=None, help="Sanitise after mould. Example: --after-mould.")
@click.option("--refuse/--warn", default=None, help="Sow on what is not cleared: never, or say so. Example: --refuse.")
def set_(given: Given, pool: str, **said: Any) -> None:
    """A pool of kit is as you say from now on; what you leave out stays as it was.

    For agents and their figures the label, local codes and licensed practice go first; never mix chlorine with acid or
    ammonia.
    """
    held = given.state.kit.get(pool)
    before = held.pool if held is not None else Pool(name=pool, count=0)
    for name in ("rinse_c", "water_least_c", "water_most_c"):
        said[name] = people.maybe(people.temperature, said[name], given.units)
    if said["contact_min"] is not None:
        said["contact_min"] = parse_minutes(said["contact_min"], name="contact time")
    steps = said.pop("steps")
    said["steps"] = steps if steps is None else tuple(step for part in steps.split(",") if (step := part.strip()))
    changes = {key: value for key, value in said.items() if value is not None}
    rule = {key: changes.pop(key) for key in list(changes) if key in Clearing.__struct_fields__}
    after = msgspec.structs.replace(before, **changes, clearing=msgspec.structs.replace(before.clearing, **rule))
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
@click.argument("count", type=WHOLE, required=False)
@click.option("--marks", metavar="MARKS", help="Which, where they carry marks. Example: T4,T5.")
def return_(given: Given, pool: str, count: int | None, marks: str | None) -> None:
    """COUNT of a POOL came back from customers, all that is away if you do not say; it is dirty."""
    receipt = given.farm.return_kit(pool, count, marks=read_marks(marks or ""), **given.said)
    body = receipt.kept[0].entry.body
    assert isinstance(body, KitReturned)
    written(given, receipt, f"{body.count} of {pool} came back, to be washed.")


# Marks ----------------------------------------------------------------------------------------------------------------


@kit.add("mark", example='trayward kit mark "mesh mat" M1-M40', records=True)
@click.argument("pool")
@click.argument("marks", nargs=-1, required=True)
@click.option("--uses", type=WHOLE, default=0, show_default=True, help="Uses each had before. Example: 10.")
def mark(given: Given, pool: str, marks: Sequence[str], uses: int) -> None:
    """Things of a POOL carry MARKS from now on, one by one or from one to another; write them on with what holds."""
    names = read_marks(" ".join(marks))
    receipt = given.farm.mark_kit(pool, names, uses=uses, **given.said)
    written(given, receipt, f"Marked {len(names)} of {pool}: {marks_words(names)}.")


@kit.add("marks", example='trayward kit marks "mesh mat"')
@click.argument("pool", required=False)
def marks_(given: Given, pool: str | None) -> None:
    """Every marked thing of a POOL, or of all: where it is, its uses, what it lacks."""
    pools = [held for name, held in given.state.kit.items() if pool in (None, name)]
    found = [_marked(given, held, name) for held in pools for name in sorted(held.marks, key=in_order)]
    columns: Columns = [
        Column("Mark"),
        Column("Pool"),
        Column("Now"),
        Column("Uses", right=True),
        Column("Lasts", right=True),
    ]
    rows = [
        [each["mark"], each["pool"], each["now"], str(each["uses"]), str(each["lasts_uses"] or "")] for each in found
    ]
    answer(given, {"marks": found}, lambda: table(columns, rows))


def _marked(given: Given, held: PoolState, name: str) -> dict[str, Any]:
    own = held.marks[name]
    return {
        "mark": name, "pool": held.pool.name, "where": own.where, "now": mark_now(given.state, held, name, given.at),
        "tray": own.tray, "uses": own.uses, "lasts_uses": held.pool.lasts_uses, "suspect": own.suspect,
    }  # fmt: skip


@kit.add("story", example="trayward kit story M7")
@click.argument("mark")
def story(given: Given, mark: str) -> None:
    """The history of one marked thing: trays it held, how it was washed and sanitised between them, and by whom."""
    told = given.farm.kit_story(mark, given.at)

    def tell() -> None:
        of = f" of {told.lasts_uses} expected" if told.lasts_uses else ""
        click.echo(f"{told.pool} {told.mark}: {told.now}. Used {counted(told.uses, 'time')}{of}.")
        tell_story(told.lines)

    answer(given, {"story": told}, tell)


@kit.add("use", example="trayward kit use 261125A.1 M5", records=True)
@click.argument("tray")
@click.argument("marks", nargs=-1, required=True)
def use(given: Given, tray: str, marks: Sequence[str]) -> None:
    """A standing TRAY is on MARKS, where its sowing did not say or said others."""
    names = read_marks(" ".join(marks))
    receipt = given.farm.use_kit(tray, names, **given.said)
    written(given, receipt, f"{tray} is on {marks_words(names)}.")


@kit.add("retire", example="trayward kit retire M7 --reason torn --replaced-by M41", records=True)
@click.argument("marks", nargs=-1, required=True)
@click.option("--reason", default="", metavar="WORDS", help="Why. Example: torn.")
@click.option("--lost", is_flag=True, help="They are lost. Example: --lost.")
@click.option("--replaced-by", metavar="MARKS", help="New ones in their place. Example: M41.")
def retire(given: Given, marks: Sequence[str], reason: str, lost: bool, replaced_by: str | None) -> None:
    """MARKS are used no more; the pool holds so many less, and more where new ones take their place."""
    names, fresh = read_marks(" ".join(marks)), read_marks(replaced_by or "")
    receipt = given.farm.retire_kit(names, reason=reason, lost=lost, replaced_by=fresh, **given.said)
    instead = f", {marks_words(fresh)} instead" if fresh else ""
    written(given, receipt, f"{'Lost' if lost else 'Retired'}: {marks_words(names)}{instead}.")
