"""The orders of a plan on the terminal: how many are likely met in full, which are at risk, what would help."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from itertools import groupby

import click

from trayward.cli.given import Given
from trayward.cli.show import Column, table, wrapped
from trayward.dates import day_words
from trayward.plan.types import LineOutlook, Plan
from trayward.plan.words import in_ten
from trayward.rounds.words import likely_weight
from trayward.words import counted, listed

MOST_NEAR = 6
MOST_LATER = 3
"""So many products at risk are named of a day that is near, and of a later one. [-]"""
NONE_LEFT = 0.03
"""A chance below this is as good as none. [-]"""


def chance_of(line: LineOutlook) -> float:
    """The chance that a line is met in full; a plan over one future only knows yes and no. [-]"""
    return float(line.met) if line.chance is None else line.chance


def show_deliveries(given: Given, made: Plan, last: date, *, everything: bool) -> None:
    """Each day's lines, how many are likely met in full, and which are less sure than the farm wants."""
    if not made.lines:
        if made.sowings:
            click.echo("No orders are due in these weeks.")
        return
    rows = []
    for due, group in groupby(sorted(made.lines, key=lambda line: line.due), key=lambda line: line.due):
        lines = list(group)
        most = len(lines) if everything else MOST_NEAR if due <= last else MOST_LATER
        full = sum(map(chance_of, lines))
        rows.append((day_words(due), f"{full:.0f} of {len(lines)}", at_risk(given, lines, most)))
    table([Column("Due", whole=True), Column("Likely full", right=True, whole=True), "At risk, chance in full"], rows)
    click.echo()
    wrapped(full_words(made.lines), "  ")


def full_words(lines: Sequence[LineOutlook]) -> str:
    """How many lines are likely met in full, and how many of them as surely as the farm wants."""
    full, met = sum(map(chance_of, lines)), sum(line.met for line in lines)
    if all(line.chance is None for line in lines):
        return f"{met} of {counted(len(lines), 'order line')} met."
    sure = max((line.sure for line in lines), default=0.0)
    words = f"About {full:.0f} of {counted(len(lines), 'order line')} will be met in full"
    enough = "1 is as sure as you want it" if met == 1 else f"{met} are as sure as you want them"
    return f"{words}; {enough}, {in_ten(sure)} or better."


def at_risk(given: Given, lines: Sequence[LineOutlook], most: int) -> str:
    """Products whose lines are less sure than the farm wants, the least sure first."""
    if all(line.chance is not None and line.chance < NONE_LEFT for line in lines):
        return "nothing can be had by then"
    unsure: dict[str, list[LineOutlook]] = defaultdict(list)
    for line in lines:
        if not line.met:
            unsure[line.crop].append(line)
    ranked = sorted(unsure.items(), key=lambda item: (min(map(chance_of, item[1])), item[0]))
    return listed((_risk(given, product, own) for product, own in ranked), most=most) if ranked else ""


def _risk(given: Given, product: str, lines: Sequence[LineOutlook]) -> str:
    """`radish 3 in 10`; of several lines the least sure, and how many they are."""
    if lines[0].chance is None:
        return f"{product} {lack_words(given, lines)}"
    least, several = min(map(chance_of, lines)), f" ({len(lines)} lines)" if len(lines) > 1 else ""
    return f"no {product}{several}" if least < NONE_LEFT else f"{product} {in_ten(least)}{several}"


def lack_words(given: Given, lines: Sequence[LineOutlook]) -> str:
    """What lines are expected to lack together: grams or live trays."""
    trays = sum(line.trays - line.met_trays for line in lines if line.trays)
    if lines[0].trays:
        return counted(trays, "tray")
    return likely_weight(sum(line.grams - line.met_grams for line in lines), given.units.mass)


def helps(made: Plan, *, everything: bool = False) -> list[str]:
    """What would make lines at risk likelier, said once for lines of one product and day; the soonest first."""
    groups: dict[tuple[date, str, str], list[LineOutlook]] = defaultdict(list)
    for line in made.lines:
        if line.raised_by and (everything or _does_help(line)):
            groups[line.due, line.crop, _help_words(made, line)].append(line)
    return [
        f"{product} for {listed(dict.fromkeys(line.customer for line in lines))}, {day_words(due)}. {words}"
        for (due, product, words), lines in sorted(groups.items(), key=lambda item: item[0])
    ]


def _help_words(made: Plan, line: LineOutlook) -> str:
    """What would help, and what has no room for it."""
    full = dict.fromkeys(limit.limit for limit in made.limits if line.line in limit.lines and not limit.worth)
    barred = [limit for limit in full if limit != "time"]
    if not barred or not _does_help(line):
        return line.raised_by
    return f"{line.raised_by} There is no room for it: {listed(barred)}."


def _does_help(line: LineOutlook) -> bool:
    return " instead of " in line.raised_by
