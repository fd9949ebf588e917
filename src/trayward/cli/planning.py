"""Commands that look ahead: the plan and the outlook."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from itertools import groupby

import click

from trayward.cli.given import Given, command
from trayward.cli.show import Column, Columns, answer, looks, range_words, stage_words, table, when_words, wrapped
from trayward.desk.core import AHEAD
from trayward.desk.lookup import recipe_named, trays_named
from trayward.farm.state import Tray
from trayward.plan.types import LineOutlook, Plan, PlannedSowing
from trayward.rounds.words import counted, day_words, listed
from trayward.units import show_mass

MOST_SHORT = 20
"""So many short lines are explained one by one."""
MOST_CHANGES = 20
"""So many changes since the last plan are told one by one."""


@command("plan", example="trayward plan --weeks 6", records=True)
@click.option("--weeks", type=click.IntRange(3, 8), default=6, show_default=True, help="How far ahead. Example: 4.")
@click.option("--look-only", is_flag=True, help="Show it, and do not keep it. Example: --look-only.")
def plan(given: Given, weeks: int, look_only: bool) -> None:
    """Plan the sowings of the coming weeks, and keep the plan: rounds then ask for what it says."""
    made = given.farm.plan(given.at, weeks=weeks)
    ahead = given.at > given.now + AHEAD
    receipt = None if look_only or ahead else given.farm.keep_plan(made, **given.said)
    answer(given, made, lambda: show_plan(given, made))
    if receipt is not None and not given.json:
        click.echo(f"Kept as entry {receipt.kept[0].entry.id[:8]}. To look without keeping: --look-only.")
        looks(receipt.findings)
    if ahead and not given.json:
        click.echo("Not kept: it looks from a moment that is still to come.")


def show_plan(given: Given, made: Plan) -> None:
    """Sowings by day, what they do for the orders, what stands in the way, and what changed."""
    click.echo(f"Plan from {day_words(made.first)} to {day_words(made.last)}")
    click.echo()
    _show_sowings(given, made.sowings)
    _show_cuts(given, made)
    _show_lines(given, made.lines)
    told = " ".join(line.why for line in made.lines if not line.met)
    for message in dict.fromkeys(limit.message or limit.limit for limit in made.limits):
        if message not in told:
            wrapped(f"In the way: {message}", "  ")
    for change in made.changes[:MOST_CHANGES]:
        wrapped(f"Changed: {change.message}", "  ")
    if len(made.changes) > MOST_CHANGES:
        click.echo(f"And {len(made.changes) - MOST_CHANGES} more changes.")
    for note in made.notes:
        wrapped(f"Note: {note}", "  ")


def _show_sowings(given: Given, sowings: Iterable[PlannedSowing]) -> None:
    rows = []
    for day, group in groupby(sowings, key=lambda sowing: sowing.sow_on):
        for number, sowing in enumerate(group):
            rows.append(
                (
                    day_words(day) if number == 0 else "",
                    _named(given, sowing),
                    str(sowing.trays),
                    show_mass(sowing.seed_g, given.units.mass),
                    day_words(sowing.cut_on),
                    show_mass(round(sowing.grams_expected, -1), given.units.mass),
                    listed(dict.fromkeys(serve.customer for serve in sowing.serves), most=2),
                )
            )
    if not rows:
        click.echo("Nothing to sow in these weeks.")
        click.echo()
        return
    columns: Columns = [
        Column("Sow", whole=True),
        "What",
        Column("Trays", right=True),
        Column("Seed", right=True, whole=True),
        Column("Cut", whole=True),
        Column("Likely", right=True, whole=True),
        "For",
    ]
    table(columns, rows)
    click.echo()


def _named(given: Given, sowing: PlannedSowing) -> str:
    """The crop, where that is enough to sow by; else the recipe."""
    alike = sum(recipe.crop == sowing.crop for recipe in given.state.recipes.values())
    return sowing.crop if alike == 1 else sowing.recipe


def _show_cuts(given: Given, made: Plan) -> None:
    if not made.cuts:
        return
    rows = [
        (
            day_words(cut.cut_on),
            cut.crop,
            ", ".join(cut.standing) or counted(cut.trays, "tray"),
            show_mass(round(cut.grams_expected, -1), given.units.mass),
        )
        for cut in made.cuts
    ]
    table([Column("Cut", whole=True), "Crop", "Trays standing now", Column("Likely", right=True, whole=True)], rows)
    click.echo()


def _show_lines(given: Given, lines: tuple[LineOutlook, ...]) -> None:
    if not lines:
        click.echo("No orders are due in these weeks.")
        return
    short = [line for line in lines if not line.met]
    alike: dict[tuple[date, str], list[LineOutlook]] = {}
    for line in lines:
        alike.setdefault((line.due, line.customer), []).append(line)
    rows = [
        (
            day_words(due),
            customer,
            f"{sum(line.met for line in group)} of {len(group)}",
            ", ".join(_outcome(given, line) for line in group if not line.met),
        )
        for (due, customer), group in alike.items()
    ]
    columns: Columns = [Column("Due", whole=True), "Customer", Column("Met", whole=True), "Short"]
    table(columns, rows)
    click.echo()
    click.echo(f"{counted(len(lines) - len(short), 'order line')} of {len(lines)} met.")
    for line in short[:MOST_SHORT]:
        wrapped(f"Short: {line.customer}, {day_words(line.due)}, {line.crop}: {line.why}", "  ")
    if len(short) > MOST_SHORT:
        click.echo(
            f"And {len(short) - MOST_SHORT} more lines short; why each of them is: trayward plan --look-only --json"
        )


def _outcome(given: Given, line: LineOutlook) -> str:
    if line.trays:
        return f"{line.trays - line.met_trays} of {counted(line.trays, 'tray')} {line.crop}"
    missing = show_mass(round(line.grams - line.met_grams), given.units.mass)
    return f"{missing} of {show_mass(line.grams, given.units.mass)} {line.crop}"


@command("outlook", example="trayward outlook broccoli")
@click.argument("names", nargs=-1)
@click.option("--proposed", metavar="RECIPE", help="A tray of it, were it sown now. Example: broccoli.")
def outlook(given: Given, names: tuple[str, ...], proposed: str | None) -> None:
    """When standing trays are likely ready, and what they bring: all, or NAMES (trays, sowings, shelves, crops)."""
    ahead = given.farm.outlook(given.at)
    if proposed is not None:
        found = [ahead.proposed(recipe_named(given.state, proposed), given.at)]
    else:
        found = [ahead.standing(tray) for tray in _trays(given, names)]
    alike: dict[tuple[str, ...], list[str]] = {}
    for one in found:
        stage = stage_words(one.stages[0].stage) if one.stages else "R ready"
        said = (one.crop, stage, when_words(one.ready, given.zone), range_words(one.grams, given.units))
        alike.setdefault(said, []).append(one.tray or "sown now")
    rows = [(listed(trays, most=3), *said) for said, trays in alike.items()]

    def human() -> None:
        if not found:
            click.echo("No trays are growing.")
            return
        table(["Trays", "Crop", "Stage", "Ready, 8 in 10", "A tray, 8 in 10"], rows)
        for words in dict.fromkeys(f"{one.crop}: {one.grams_basis.words}" for one in found):
            wrapped(words, "  ")

    answer(given, {"at": given.at, "trays": found}, human)


def _trays(given: Given, names: tuple[str, ...]) -> list[Tray]:
    growing = given.state.growing()
    found: dict[str, Tray] = {}
    for name in names:
        of_crop = [tray for tray in growing if tray.crop == name]
        found |= {tray.tray: tray for tray in of_crop or trays_named(given.state, [name]) if tray.fate == "growing"}
    return list(found.values()) if names else growing
