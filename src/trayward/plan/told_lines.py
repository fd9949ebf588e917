"""The order lines: how likely each is met in full, what it is expected to lack, and where it comes from."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from trayward.dates import day_words
from trayward.plan.days import Floats
from trayward.plan.demand import OpenLine
from trayward.plan.habits import Habits
from trayward.plan.plots import Plot
from trayward.plan.results import before_words
from trayward.plan.serving import Source
from trayward.plan.told import CRUMB_G, Told, cut_day, standing_choices
from trayward.plan.types import LineOutlook
from trayward.plan.uses import CUT
from trayward.plan.words import FEW
from trayward.words import listed

ENOUGH_G = 0.5
"""A line short of less than this counts as met. [g]"""
LOT = "harvest lot "
"""Begins the words for a harvest lot."""
MOST_SOURCES = 4
"""So many of what a line comes from are named. [-]"""


def read_lines(told: Told, why: Mapping[int, str], raised: Mapping[int, str]) -> tuple[LineOutlook, ...]:
    """Every line: the chance that it is met in full, what it is expected to lack, and where it comes from."""
    met = told.met
    sources = _sources(told)
    return tuple(
        _line(told, number, met.get(number), sources.get(number, []), why.get(number, ""), raised.get(number, ""))
        for number in range(len(told.lines))
    )


def chance_read(line: OpenLine, met: Floats) -> float:
    """The share of the scenarios in which what is open of a line is met in full. [-]"""
    open_ = float(line.trays) if line.line.live else line.grams
    return float((met >= open_ - (1e-6 if line.line.live else ENOUGH_G)).mean())


def chance_of(line: OpenLine, met: Floats | None, habits: Habits) -> float:
    """
    The chance that what is open of a line is met in full, by the farm's record of such chances. [-]

    What gets nothing in any scenario is left at none: where there is no seed for it, a record of others is no hope.
    """
    if met is None:
        return 1.0
    read = chance_read(line, met)
    return habits.told(read, line.day) if read > 0 or met.max(initial=0.0) > ENOUGH_G else 0.0


def _line(told: Told, number: int, met: Floats | None, sources: list[str], why: str, raised: str) -> LineOutlook:
    line = told.lines[number]
    due, live = line.line, line.line.live
    open_ = float(line.trays) if live else line.grams
    mean = float(met.mean()) if met is not None else 0.0
    where = _where_words(before_words(line), sources)
    return LineOutlook(
        line=due.line,
        customer=due.customer,
        crop=due.product,
        due=due.due,
        grams=due.grams,
        met_grams=0.0 if live else round(min(due.grams, due.grams - line.grams + mean), 1),
        trays=due.trays,
        met_trays=due.trays - line.trays + int(mean + 0.5) if live else 0,
        comes_from=f"From {where}." if where else "",
        why=why,
        chance=round(chance_of(line, met, told.habits), 4),
        sure=told.settings.caution,
        short=round(max(0.0, open_ - mean), 2),
        raised_by=raised,
        read=round(chance_read(line, met), 4) if told.habits.habits and met is not None else None,
    )


def _where_words(before: list[str], sources: list[str]) -> str:
    """What is done of a line already and where the rest comes from, what gives most first; harvest lots together."""
    named = sources[: MOST_SOURCES - len(before)]
    lots = [source.removeprefix(LOT) for source in named if source.startswith(LOT)]
    together = [f"harvest lots {listed(lots, most=FEW)}" if len(lots) > 1 else f"{LOT}{lots[0]}"] if lots else []
    words = [*before, *together, *(source for source in named if not source.startswith(LOT))]
    left = len(sources) - len(named)
    return f"{', '.join(words)} and {left} more" if left else listed(words, most=len(words))


def _sources(told: Told) -> dict[int, list[str]]:
    """Where each line's grams and trays come from, in words; what gives most comes first."""
    plots = {plot.crop: plot for plot in told.decision.checked}
    names = {(plot.crop, choice): trays for plot, choice, trays in standing_choices(told)}
    found: dict[int, list[tuple[float, str]]] = defaultdict(list)
    for (claim, source), amount in told.decision.served.shares.items():
        line = told.decision.claims[claim].line
        if line >= 0 and amount >= (0.02 if told.decision.claims[claim].live else CRUMB_G):
            given = _cut_words(told, plots[source.crop], source, line)
            found[line].append((amount, _source(told, plots[source.crop], source, names) + given))
    return {line: list(dict.fromkeys(words for _, words in sorted(parts, reverse=True)))
            for line, parts in found.items()}  # fmt: skip


def _source(told: Told, plot: Plot, source: Source, names: Mapping[tuple[str, int], tuple[str, ...]]) -> str:
    if source.choice < 0:
        return f"{LOT}{source.harvest}"
    if plot.choices.way[source.choice] >= 0:
        return f"{plot.crop} sown {day_words(told.days.day(int(plot.choices.sow[source.choice])))}"
    trays = names.get((plot.crop, source.choice), ())
    return f"trays {listed(trays, most=3)}" if len(trays) > 1 else f"tray {listed(trays, most=FEW)}"


def _cut_words(told: Told, plot: Plot, source: Source, line: int) -> str:
    """When what serves a line is cut for it; nothing for what is cut already, or leaves uncut."""
    if source.choice < 0 or plot.choices.how[source.choice] != CUT:
        return ""
    day = cut_day(told, plot, source.choice)
    when = f"cut {day_words(told.days.day(day))}" if day <= told.lines[line].day else "if ready in time"
    return f" ({when})"
