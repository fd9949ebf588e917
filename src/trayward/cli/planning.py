"""The command that plans."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date, timedelta
from itertools import groupby

import click

from trayward.cli.given import Given, command
from trayward.cli.numbers import whole
from trayward.cli.show import Column, Columns, answer, looks, table, wrapped
from trayward.desk.core import AHEAD
from trayward.plan.types import LineOutlook, Plan, PlannedSowing
from trayward.rounds.words import counted, day_words, likely_weight, listed
from trayward.units import show_mass

NEAR_DAYS = 14
"""Days of sowings and deliveries that are shown line by line unless all are asked for. [d]"""
MOST_SHORT = 12
"""So many short lines are explained one by one."""
MOST_LIMITS = 6
MOST_CHANGES = 8
FOR_WIDTH = 19
"""Room for whom a sowing is for, so that it keeps to one line of 80 columns."""

WHAT_IF_HELP = 'Compare with another farm; nothing is kept. Again for more. Example: --what-if "1 more lit shelf".'


@command("plan", example="trayward plan --weeks 6", records=True)
@click.option("--weeks", type=whole(3, 8), default=6, show_default=True, help="How far ahead. Example: 4.")
@click.option("--look-only", is_flag=True, help="Show it, and do not keep it. Example: --look-only.")
@click.option("--all", "everything", is_flag=True, help="Show every week, line and change. Example: --all.")
@click.option("--what-if", "changes", multiple=True, metavar="WORDS", help=WHAT_IF_HELP)
def plan(given: Given, weeks: int, look_only: bool, everything: bool, changes: Sequence[str]) -> None:
    """Plan the sowings of the coming weeks, and keep the plan: rounds then ask for what it says."""
    if changes:
        from trayward.cli.what_if import wonder

        wonder(given, changes, weeks, everything=everything)
        return
    made = given.farm.plan(given.at, weeks=weeks)
    ahead = given.at > given.now + AHEAD
    receipt = None if look_only or ahead else given.farm.keep_plan(made, **given.said)
    answer(given, made, lambda: show_plan(given, made, everything=everything))
    if receipt is not None and not given.json:
        click.echo(f"Kept as entry {receipt.kept[0].entry.id[:8]}. To look without keeping: --look-only.")
        looks(receipt.findings)
    if ahead and not given.json:
        click.echo("Not kept: it looks from a moment that is still to come.")


def show_plan(given: Given, made: Plan, *, everything: bool = False) -> None:
    """Sowings by day, what they do for the orders, what stands in the way, and what changed."""
    last = made.last if everything else min(made.last, made.first + timedelta(days=NEAR_DAYS - 1))
    click.echo(f"Plan from {day_words(made.first)} to {day_words(made.last)}")
    click.echo()
    _show_sowings(given, made.sowings, last)
    _show_cuts(given, made)
    _show_lines(given, made.lines, last)
    _show_reasons(made, everything)


def _show_reasons(made: Plan, everything: bool) -> None:
    """Why lines are short, what is in the way, what changed, and what was assumed."""
    short = [line for line in made.lines if not line.met]
    told = " ".join(line.why for line in short)
    _some(
        "Short",
        [f"{line.customer}, {day_words(line.due)}, {line.crop}: {line.why}" for line in short],
        MOST_SHORT,
        everything,
    )
    ways = [limit.message or limit.limit for limit in made.limits if limit.message not in told]
    _some("In the way", list(dict.fromkeys(ways)), MOST_LIMITS, everything)
    _some("Changed", [change.message for change in made.changes], MOST_CHANGES, everything)
    for note in made.notes:
        wrapped(f"Note: {note}", "  ")


def _some(heading: str, told: list[str], most: int, everything: bool) -> None:
    shown = told if everything else told[:most]
    for words in shown:
        wrapped(f"{heading}: {words}", "  ")
    if len(told) > len(shown):
        click.echo(f"{heading}: {len(told) - len(shown)} more; all of it: --all.")


def _show_sowings(given: Given, sowings: Sequence[PlannedSowing], last: date) -> None:
    near = [sowing for sowing in sowings if sowing.sow_on <= last]
    later = sum(sowing.trays for sowing in sowings if sowing.sow_on > last)
    rows = []
    for day, group in groupby(near, key=lambda sowing: sowing.sow_on):
        rows += [_sowing_row(given, "" if number else day_words(day), sowing) for number, sowing in enumerate(group)]
    if rows:
        columns: Columns = [
            Column("Sow", whole=True),
            Column("What", whole=True),
            Column("Trays", right=True, whole=True),
            Column("Seed", right=True, whole=True),
            Column("Cut", whole=True),
            Column("Likely", right=True, whole=True),
            Column("For", whole=True),
        ]
        table(columns, rows)
    if later:
        click.echo(f"After {day_words(last)}: {counted(later, 'tray')} more; all of it: --all.")
    if not sowings:
        click.echo("Nothing to sow in these weeks.")
    click.echo()


def _sowing_row(given: Given, day: str, sowing: PlannedSowing) -> tuple[str, ...]:
    grams = likely_weight(sowing.grams_expected, given.units.mass) if sowing.grams_expected else "live"
    seed = show_mass(sowing.seed_g, given.units.mass)
    cut = day_words(sowing.cut_on)
    return day, _named(given, sowing), str(sowing.trays), seed, cut, grams, _for_whom(sowing)


def _for_whom(sowing: PlannedSowing) -> str:
    """The first customers there is room for, and how many more."""
    customers = list(dict.fromkeys(serve.customer for serve in sowing.serves))
    if not customers:
        return ""
    more = f" +{len(customers) - 1}" if len(customers) > 1 else ""
    room = FOR_WIDTH - len(more)
    first = customers[0]
    return (first if len(first) <= room else first[: room - 1].rstrip() + "…") + more


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
            likely_weight(cut.grams_expected, given.units.mass) if cut.grams_expected else "live",
        )
        for cut in made.cuts
    ]
    table([Column("Cut", whole=True), "Crop", "Trays standing now", Column("Likely", right=True, whole=True)], rows)
    click.echo()


def _show_lines(given: Given, lines: tuple[LineOutlook, ...], last: date) -> None:
    """How many lines of each day are met, and which are short of what."""
    if not lines:
        click.echo("No orders are due in these weeks.")
        return
    days: dict[date, list[LineOutlook]] = {}
    for line in lines:
        days.setdefault(line.due, []).append(line)
    rows = [
        (day_words(due), f"{sum(line.met for line in group)} of {len(group)}", _short_words(given, group, due <= last))
        for due, group in days.items()
    ]
    table([Column("Due", whole=True), Column("Lines met", right=True, whole=True), "Short of"], rows)
    click.echo()
    click.echo(f"{sum(line.met for line in lines)} of {counted(len(lines), 'order line')} met.")


def _short_words(given: Given, group: list[LineOutlook], fully: bool) -> str:
    """What the short lines of a day lack, by product."""
    grams: Counter[str] = Counter()
    trays: Counter[str] = Counter()
    for line in group:
        if not line.met and line.trays:
            trays[line.crop] += line.trays - line.met_trays
        elif not line.met:
            grams[line.crop] += round(line.grams - line.met_grams)
    told = [f"{product} {show_mass(missing, given.units.mass)}" for product, missing in grams.items()]
    told += [f"{product} {counted(missing, 'tray')}" for product, missing in trays.items()]
    return listed(told, most=99 if fully else 3) if told else ""
