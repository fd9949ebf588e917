"""What is sown and cut, and how full that makes the racks, as it is expected over many scenarios."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

import msgspec
import numpy as np

from trayward.plan.days import Ints
from trayward.plan.limits import DARK, LIT
from trayward.plan.plots import Plot
from trayward.plan.told import Told, cut_day, given_by, serves_of, sowings_of, standing_choices, together
from trayward.plan.types import CutPlanned, PlannedSowing, RackUse, Serve, StageExpected
from trayward.plan.uses import CUT, LIVE


def read_sowings(told: Told, why: Mapping[tuple[int, int], str]) -> tuple[PlannedSowing, ...]:
    """The sowings, by day, crop and recipe; seed is taken from the lot to use first."""
    seed = {crop: stock.copied() for crop, stock in told.ways.seed.items()}
    given, found = given_by(told), []
    for (sow, _, way), (plot, group) in sorted(sowings_of(told).items()):
        sowing = _sowing(told, plot, way, sow, group, given)
        lots = seed[plot.crop].take(sowing.trays * told.ways.ways[way].seed_g, sow)
        grams = round(sum(lot.grams for lot in lots), 1)
        found.append(msgspec.structs.replace(sowing, lots=lots, seed_g=grams, why=why.get((way, sow), "")))
    return tuple(found)


def _sowing(
    told: Told,
    plot: Plot,
    way: int,
    sow: int,
    group: list[tuple[int, int]],
    given: Mapping[tuple[str, int], dict[int, float]],
) -> PlannedSowing:
    days, recipe, choices = told.days, told.ways.ways[way].recipe, plot.choices
    cuts: list[CutPlanned] = []
    serves: list[Serve] = []
    leaving: dict[int, int] = defaultdict(int)
    for choice, trays in group:
        lines = given.get((plot.crop, choice), {})
        live = bool(choices.how[choice] == LIVE)
        serves += serves_of(told, lines, live=live)
        day = cut_day(told, plot, choice)
        leaving[day] += trays
        if not live:
            grams = round(float(choices.grams[:, choice].mean()) * trays, 1)
            cuts.append(CutPlanned(cut_on=days.day(day), crop=plot.crop, trays=trays, grams_expected=grams))
    main = max(leaving, key=lambda day: (leaving[day], -day))
    leave = np.repeat(choices.leave[:, [choice for choice, _ in group]], [trays for _, trays in group], axis=1)
    low, high = np.quantile(leave, (0.1, 0.9), method="nearest").astype(np.int64)
    return PlannedSowing(
        sow_on=days.day(sow),
        crop=plot.crop,
        recipe=recipe.name,
        trays=sum(trays for _, trays in group),
        evening=sum(trays for choice, trays in group if choices.evening[choice]),
        seed_g=0.0,
        cut_on=days.day(main),
        cut_between=(days.day(min(low, main)), days.day(max(high, main))),
        grams_expected=round(sum(cut.grams_expected for cut in cuts), 1),
        serves=together(serves),
        stages=_stages(told, way, sow, max(leaving)),
        cuts=tuple(sorted(cuts, key=lambda cut: cut.cut_on)),
    )


def _stages(told: Told, way: int, sow: int, leave: int) -> tuple[StageExpected, ...]:
    begins: Ints = np.median(told.futures.sown[way].begins[:, sow], axis=0).astype(np.int64)
    found = []
    for number, stage in enumerate(told.ways.ways[way].recipe.stages):
        first = int(begins[number])
        last = int(begins[number + 1]) - 1 if number + 1 < len(begins) else leave
        day = told.days.day
        found.append(StageExpected(stage=stage.name, first=day(first), last=day(max(first, last))))
    return tuple(found)


# Cuts of standing trays -----------------------------------------------------------------------------------------------


def read_cuts(told: Told) -> tuple[CutPlanned, ...]:
    """Cuts of trays standing now, by day and crop."""
    groups: dict[tuple[int, str], list[tuple[tuple[str, ...], float]]] = defaultdict(list)
    for plot, choice, names in standing_choices(told):
        if plot.choices.how[choice] == CUT:
            grams = float(plot.choices.grams[:, choice].mean()) * len(names)
            groups[cut_day(told, plot, choice), plot.crop].append((names, grams))
    return tuple(
        CutPlanned(
            cut_on=told.days.day(day),
            crop=crop,
            trays=sum(len(names) for names, _ in group),
            grams_expected=round(sum(grams for _, grams in group), 1),
            standing=tuple(name for names, _ in group for name in names),
        )
        for (day, crop), group in sorted(groups.items())
    )


# Racks ----------------------------------------------------------------------------------------------------------------


def read_racks(told: Told) -> tuple[RackUse, ...]:
    """How much of the spots is taken each night, over the scenarios the plan was chosen by."""
    shared, use = told.decision.shared, told.decision.search.use
    found = []
    for limit in (DARK, LIT):
        if limit in shared.numbers and use.shape[1]:
            taken = use[shared.numbers.index(limit)]
            rows = (
                shared.has[shared.numbers.index(limit)],
                taken.mean(axis=0),
                *np.quantile(taken, (0.1, 0.9), axis=0),
            )
            has, likely, low, high = (tuple(np.round(row, 2).tolist()) for row in rows)
            found.append(RackUse(limit=told.task.limits.names[limit], has=has, likely=likely, low=low, high=high))
    return tuple(found)
