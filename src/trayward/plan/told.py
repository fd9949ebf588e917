"""A decision with all that is needed to tell it: which trays it means, when they are cut and whom they serve."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import msgspec
import numpy as np

from trayward.farm.settings import FarmSettings
from trayward.plan.build import Task
from trayward.plan.days import Days, Floats
from trayward.plan.decide import Decision
from trayward.plan.demand import OpenLine
from trayward.plan.futures import Futures
from trayward.plan.habits import Habits
from trayward.plan.plots import Plot
from trayward.plan.types import Serve
from trayward.plan.uses import CUT
from trayward.plan.ways import Ways

CRUMB_G = 1.0
"""What is expected to go to a line from a sowing is named from this on. [g]"""


class Told(NamedTuple):
    """A decision with all that is needed to tell it."""

    task: Task
    ways: Ways
    futures: Futures
    lines: Sequence[OpenLine]
    decision: Decision
    settings: FarmSettings
    cut_days: dict[tuple[str, int], int]
    """Crop and choice -> the day it is likely cut, as it is first asked for."""
    met: dict[int, Floats]
    """Line -> what it gets in each scenario it was checked by."""
    habits: Habits = Habits()
    """What chances turn out to be, by the farm's record."""

    @property
    def days(self) -> Days:
        """The days of the plan."""
        return self.task.days


def sowings_of(told: Told) -> dict[tuple[int, str, int], tuple[Plot, list[tuple[int, int]]]]:
    """Day, recipe and way of each sowing -> its plot, and its choices with their trays."""
    found: dict[tuple[int, str, int], tuple[Plot, list[tuple[int, int]]]] = {}
    for plot, take in zip(told.decision.checked, told.decision.takes, strict=True):
        for choice in np.flatnonzero((take > 0) & (plot.choices.way >= 0)).tolist():
            way = int(plot.choices.way[choice])
            key = int(plot.choices.sow[choice]), told.ways.ways[way].recipe.name, way
            found.setdefault(key, (plot, []))[1].append((choice, round(float(take[choice]))))
    return found


def standing_choices(told: Told) -> list[tuple[Plot, int, tuple[str, ...]]]:
    """Which standing trays each choice means, those that leave first being named first."""
    found = []
    for plot, take in zip(told.decision.checked, told.decision.takes, strict=True):
        for group, own, _ in plot.groups:
            left = list(told.futures.stood[group].trays)
            used = [int(choice) for choice in own if take[choice] > 0]
            for choice in sorted(used, key=lambda one: (plot.choices.how[one] != CUT, plot.choices.stand[one])):
                count = min(round(float(take[choice])), len(left))
                found.append((plot, choice, tuple(left[:count])))
                left = left[count:]
    return [(plot, choice, names) for plot, choice, names in found if names]


def cut_day(told: Told, plot: Plot, choice: int) -> int:
    """The working day a choice is likely cut, all its trays together."""
    if (plot.crop, choice) not in told.cut_days:
        first = told.days.next_open(np.maximum(plot.choices.ready[:, choice], 0))
        low = int(told.days.next_open(np.array([int(np.median(first))]))[0])
        last = told.days.last_open(int(np.median(plot.choices.leave[:, choice])))
        told.cut_days[plot.crop, choice] = max(low, last)
    return told.cut_days[plot.crop, choice]


def given_by(told: Told) -> dict[tuple[str, int], dict[int, float]]:
    """What each choice gives each line, the mean over scenarios: (crop, choice) -> line -> amount."""
    found: dict[tuple[str, int], dict[int, float]] = defaultdict(dict)
    for (claim, source), amount in told.decision.served.shares.items():
        line = told.decision.claims[claim].line
        if source.choice >= 0 and line >= 0:
            found[source.crop, source.choice][line] = amount
    return found


def serves_of(told: Told, lines: Mapping[int, float], *, live: bool) -> tuple[Serve, ...]:
    """Whom a choice serves, in the order of their days."""
    trays = _whole_trays(lines) if live else {}
    return tuple(
        Serve(
            line=told.lines[line].line.line,
            customer=told.lines[line].line.customer,
            due=told.lines[line].line.due,
            grams=0.0 if live else round(amount, 1),
            trays=trays.get(line, 0),
        )
        for line, amount in sorted(lines.items(), key=lambda item: (told.lines[item[0]].day, item[0]))
        if (line in trays if live else amount >= CRUMB_G)
    )


def _whole_trays(lines: Mapping[int, float]) -> dict[int, int]:
    """Live trays go out whole: as many as are expected to go out, at least one, to whom they most likely go."""
    left = max(1, round(sum(lines.values())))
    found: dict[int, int] = {}
    for line in sorted(lines, key=lambda one: (-lines[one], one)):
        found[line] = min(left, max(1, round(lines[line])))
        left -= found[line]
        if not left:
            break
    return found


def together(serves: Sequence[Serve]) -> tuple[Serve, ...]:
    """One entry a line."""
    found: dict[str, Serve] = {}
    for one in serves:
        before = found.get(one.line)
        found[one.line] = one if before is None else msgspec.structs.replace(
            one, grams=round(one.grams + before.grams, 1), trays=one.trays + before.trays
        )  # fmt: skip
    return tuple(sorted(found.values(), key=lambda one: (one.due, one.line)))
