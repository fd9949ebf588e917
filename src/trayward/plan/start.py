"""A start for the search: the trays of another plan, said so that they can be found again among other choices.

The other plan may be yesterday's, or that of the farm as it is beside the farm as it might be. What it holds that is no
choice any more (a day gone by or off, a crop no longer sown, a tray lost) is moved a little or left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

import msgspec
import numpy as np

from trayward.plan.days import Days, Floats, Ints
from trayward.plan.futures import Futures
from trayward.plan.plots import Choices, Plot
from trayward.plan.told import Told
from trayward.plan.types import Plan, PlannedSowing
from trayward.plan.uses import CUT, LIVE
from trayward.plan.ways import Way

MOVED = 2
"""What cannot be sown on its day is sown up to so many days earlier or later. [d]"""
ANY = -1
"""Where it was not said."""


class Leaves(msgspec.Struct, frozen=True, kw_only=True):
    """How some trays leave."""

    how: int
    """Cut, live or thrown away, as the choices count it."""
    on: date
    """The day they likely do."""
    due: date | None = None
    """The day live trays are due."""
    stand: int = ANY
    """Days they may stand ready, as the choices count it; -1: not said. [d]"""
    place: int = ANY
    """Their place among the choices that are alike in all this; -1: not said."""


class SownSo(msgspec.Struct, frozen=True, kw_only=True):
    """Trays to sow of a recipe on a day."""

    recipe: str
    sow_on: date
    trays: int
    leaves: Leaves
    evening: bool = False


class Start(msgspec.Struct, frozen=True, kw_only=True):
    """What to sow, and how the trays that stand leave, by their names."""

    sown: tuple[SownSo, ...] = ()
    standing: Mapping[str, Leaves] = msgspec.field(default_factory=dict)


# Out of a plan --------------------------------------------------------------------------------------------------------


def start_of(told: Told) -> Start:
    """The trays of what was decided, to begin another search from."""
    sown: list[SownSo] = []
    standing: dict[str, Leaves] = {}
    for plot, take in zip(told.decision.plots, told.decision.takes, strict=True):
        for one in np.flatnonzero((take > 0) & (plot.choices.way >= 0)).tolist():
            recipe = told.ways.ways[int(plot.choices.way[one])].recipe.name
            on = told.days.day(int(plot.choices.sow[one]))
            leaves, late = _leaves(plot, one, told.days), bool(plot.choices.evening[one])
            trays = round(float(take[one]))
            sown.append(SownSo(recipe=recipe, sow_on=on, trays=trays, leaves=leaves, evening=late))
        for group, own, _ in plot.groups:
            left = list(told.futures.stood[group].trays)
            for one in own[take[own] > 0].tolist():
                count = round(float(take[one]))
                standing |= dict.fromkeys(left[:count], _leaves(plot, one, told.days))
                left = left[count:]
    return Start(sown=tuple(sown), standing=standing)


def start_from(plan: Plan) -> Start:
    """The trays of a plan as it was told, yesterday's say; what was left unsaid in it the search finds for itself."""
    sown: list[SownSo] = []
    standing: dict[str, Leaves] = {}
    for one in plan.sowings:
        leaves = [(cut.trays, Leaves(how=CUT, on=cut.cut_on)) for cut in one.cuts]
        leaves += _live(one, one.trays - sum(cut.trays for cut in one.cuts))
        sown += _sown_as(one, leaves)
    for cut_planned in plan.cuts:
        standing |= dict.fromkeys(cut_planned.standing, Leaves(how=CUT, on=cut_planned.cut_on))
    return Start(sown=tuple(sown), standing=standing)


def _sown_as(sowing: PlannedSowing, leaves: list[tuple[int, Leaves]]) -> Iterator[SownSo]:
    """A sowing by how its trays leave: the first of them are those sown in the morning."""
    morning = sowing.trays - sowing.evening
    for trays, how in leaves:
        early = min(trays, morning)
        for count, late in ((early, False), (trays - early, True)):
            if count > 0:
                yield SownSo(recipe=sowing.recipe, sow_on=sowing.sow_on, trays=count, leaves=how, evening=late)
        morning -= early


def _live(sowing: PlannedSowing, trays: int) -> list[tuple[int, Leaves]]:
    """The live trays of a sowing by the day they are due; those promised to nobody go with the first."""
    found: dict[date, int] = {}
    for serve in sowing.serves:
        count = min(serve.trays, trays - sum(found.values()))
        if count > 0:
            found[serve.due] = found.get(serve.due, 0) + count
    due = min(found, default=sowing.cut_on)
    found[due] = found.get(due, 0) + trays - sum(found.values())
    return [(count, Leaves(how=LIVE, on=day, due=day)) for day, count in found.items() if count > 0]


def _leaves(plot: Plot, one: int, days: Days) -> Leaves:
    choices = plot.choices
    live = choices.how[one] == LIVE
    alike = np.flatnonzero(_alike(choices, one))
    return Leaves(
        how=int(choices.how[one]),
        on=days.day(_day_of(choices, one)),
        due=days.day(sorted(plot.demand.live)[int(choices.due[one])]) if live else None,
        stand=int(choices.stand[one]),
        place=int(np.searchsorted(alike, one)),
    )


def _alike(choices: Choices, one: int) -> Floats:
    """Choices that a grower could not tell from one."""
    columns = choices.way, choices.group, choices.sow, choices.evening, choices.how, choices.due, choices.stand
    found: Floats = np.all([column == column[one] for column in columns], axis=0)
    return found


def _day_of(choices: Choices, one: int) -> int:
    return int(np.median(choices.leave[:, one]))


# Into another ---------------------------------------------------------------------------------------------------------


def takes_of(start: Start, plots: Sequence[Plot], ways: Sequence[Way], futures: Futures, days: Days) -> list[Floats]:
    """
    The trays of a start, among the choices of a farm's plots.

    Returns
    -------
    list of array
        Whole trays of each plot's choices; every standing tray is in one of them.
    """
    number = {way.recipe.name: count for count, way in enumerate(ways)}
    takes = [np.zeros(len(plot.choices.way)) for plot in plots]
    found = {plot.crop: (plot, take) for plot, take in zip(plots, takes, strict=True)}
    for sown in start.sown:
        if sown.recipe in number:
            way = number[sown.recipe]
            if ways[way].recipe.crop in found:
                _put_sown(*found[ways[way].recipe.crop], way, sown, days)
    for plot, take in zip(plots, takes, strict=True):
        for group, own, _ in plot.groups:
            for tray in futures.stood[group].trays:
                take[_nearest(plot, own, days, start.standing.get(tray))[0]] += 1
    return takes


def _put_sown(plot: Plot, take: Floats, way: int, sown: SownSo, days: Days) -> None:
    """Put trays where they were, or as near as there is room for them; what finds none is left out."""
    choices, day = plot.choices, days.index(sown.sow_on)
    own = np.flatnonzero((choices.way == way) & (choices.how == sown.leaves.how))
    own = own[np.abs(choices.sow[own] - day) <= MOVED]
    if sown.leaves.due is not None:
        dues = np.array([*sorted(plot.demand.live), ANY])
        own = own[dues[choices.due[own]] == days.index(sown.leaves.due)]
    left = float(sown.trays) if day >= 0 else 0.0
    for one in _nearest(plot, own, days, sown.leaves, day, evening=sown.evening):
        more = min(left, max(0.0, np.floor(choices.upper[one] + 1e-9) - take[one]))
        take[one] += more
        left -= more


def _nearest(plot: Plot, own: Ints, days: Days, leaves: Leaves | None, sow: int = 0, *, evening: bool = False) -> Ints:
    """Choices in the order of how much they are like what was said; what was not said is cut as soon as can be."""
    choices = plot.choices
    leave = np.median(choices.leave[:, own], axis=0) if len(own) else np.zeros(0)
    if leaves is None:
        return own[np.lexsort((leave, choices.how[own] != CUT))]
    place = np.array([np.searchsorted(np.flatnonzero(_alike(choices, int(one))), one) for one in own])
    live = sorted(plot.demand.live)
    due = np.array([live[number] if number >= 0 else ANY for number in choices.due[own]])
    wanted = days.index(leaves.due) if leaves.due is not None else ANY
    unlike = (
        (place != leaves.place) & (leaves.place != ANY),
        np.abs(leave - days.index(leaves.on)),
        (choices.stand[own] != leaves.stand) & (leaves.stand != ANY),
        due != wanted,
        choices.how[own] != leaves.how,
        choices.evening[own] != evening,
        np.abs(choices.sow[own] - sow),
    )
    return own[np.lexsort(unlike)]
