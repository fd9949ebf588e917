"""A decision as people read it: sowings, cuts, order lines and money, each as it is expected over many scenarios."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import msgspec
import numpy as np

from trayward.farm.recipes import wear_of
from trayward.farm.settings import FarmSettings
from trayward.plan.build import Task
from trayward.plan.days import Days, Floats, Ints
from trayward.plan.decide import Decision
from trayward.plan.demand import OpenLine
from trayward.plan.futures import Futures
from trayward.plan.limits import DARK, HANDS, LIT, OFF
from trayward.plan.plots import Plot
from trayward.plan.results import before_words
from trayward.plan.serving import Source
from trayward.plan.types import CutPlanned, LineOutlook, PlanMoney, PlannedSowing, RackUse, Serve, StageExpected
from trayward.plan.uses import CUT, LIVE
from trayward.plan.ways import Ways
from trayward.plan.words import day_words, list_words

ENOUGH_G = 0.5
"""A line short of less than this counts as met. [g]"""
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

    @property
    def days(self) -> Days:
        """The days of the plan."""
        return self.task.days


def given_by(told: Told) -> dict[tuple[str, int], dict[int, float]]:
    """What each choice gives each line, the mean over scenarios: (crop, choice) -> line -> amount."""
    found: dict[tuple[str, int], dict[int, float]] = defaultdict(dict)
    for (claim, source), amount in told.decision.served.shares.items():
        line = told.decision.claims[claim].line
        if source.choice >= 0 and line >= 0:
            found[source.crop, source.choice][line] = amount
    return found


def cut_day(told: Told, plot: Plot, choice: int) -> int:
    """The working day a choice is likely cut, all its trays together."""
    if (plot.crop, choice) not in told.cut_days:
        first = told.days.next_open(np.maximum(plot.choices.ready[:, choice], 0))
        low = int(told.days.next_open(np.array([int(np.median(first))]))[0])
        last = told.days.last_open(int(np.median(plot.choices.leave[:, choice])))
        told.cut_days[plot.crop, choice] = max(low, last)
    return told.cut_days[plot.crop, choice]


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


# Sowings --------------------------------------------------------------------------------------------------------------


def read_sowings(told: Told, why: Mapping[tuple[int, int], str]) -> tuple[PlannedSowing, ...]:
    """The sowings, by day, crop and recipe; seed is taken from the oldest lots first."""
    seed = {crop: stock.copied() for crop, stock in told.ways.seed.items()}
    given, found = given_by(told), []
    for (sow, _, way), (plot, group) in sorted(sowings_of(told).items()):
        sowing = _sowing(told, plot, way, sow, group, given)
        lots = seed[plot.crop].take(sowing.trays * told.ways.ways[way].seed_g, sow)
        grams = round(sum(lot.grams for lot in lots), 1)
        found.append(msgspec.structs.replace(sowing, lots=lots, seed_g=grams, why=why.get((way, sow), "")))
    return tuple(found)


def sowings_of(told: Told) -> dict[tuple[int, str, int], tuple[Plot, list[tuple[int, int]]]]:
    """Day, recipe and way of each sowing -> its plot, and its choices with their trays."""
    found: dict[tuple[int, str, int], tuple[Plot, list[tuple[int, int]]]] = {}
    for plot, take in zip(told.decision.checked, told.decision.takes, strict=True):
        for choice in np.flatnonzero((take > 0) & (plot.choices.way >= 0)).tolist():
            way = int(plot.choices.way[choice])
            key = int(plot.choices.sow[choice]), told.ways.ways[way].recipe.name, way
            found.setdefault(key, (plot, []))[1].append((choice, round(float(take[choice]))))
    return found


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
        seed_g=0.0,
        cut_on=days.day(main),
        cut_between=(days.day(min(low, main)), days.day(max(high, main))),
        grams_expected=round(sum(cut.grams_expected for cut in cuts), 1),
        serves=together(serves),
        stages=_stages(told, way, sow, max(leaving)),
        cuts=tuple(sorted(cuts, key=lambda cut: cut.cut_on)),
    )


def together(serves: Sequence[Serve]) -> tuple[Serve, ...]:
    """One entry a line."""
    found: dict[str, Serve] = {}
    for one in serves:
        before = found.get(one.line)
        found[one.line] = one if before is None else msgspec.structs.replace(
            one, grams=round(one.grams + before.grams, 1), trays=one.trays + before.trays
        )  # fmt: skip
    return tuple(sorted(found.values(), key=lambda one: (one.due, one.line)))


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


# Lines ----------------------------------------------------------------------------------------------------------------


def read_lines(told: Told, why: Mapping[int, str], raised: Mapping[int, str]) -> tuple[LineOutlook, ...]:
    """Every line: the chance that it is met in full, what it is expected to lack, and where it comes from."""
    met = told.met
    sources = _sources(told)
    return tuple(
        _line(told, number, met.get(number), sources.get(number, []), why.get(number, ""), raised.get(number, ""))
        for number in range(len(told.lines))
    )


def chance_of(line: OpenLine, met: Floats | None) -> float:
    """The chance that what is open of a line is met in full. [-]"""
    if met is None:
        return 1.0
    open_ = float(line.trays) if line.line.live else line.grams
    return float((met >= open_ - (1e-6 if line.line.live else ENOUGH_G)).mean())


def _line(told: Told, number: int, met: Floats | None, sources: list[str], why: str, raised: str) -> LineOutlook:
    line = told.lines[number]
    due, live = line.line, line.line.live
    open_ = float(line.trays) if live else line.grams
    mean = float(met.mean()) if met is not None else 0.0
    where = list_words(before_words(line) + sources)
    chance = chance_of(line, met)
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
        chance=round(chance, 4),
        sure=told.settings.caution,
        short=round(max(0.0, open_ - mean), 2),
        raised_by=raised,
    )


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
        return f"harvest lot {source.harvest}"
    if plot.choices.way[source.choice] >= 0:
        return f"{plot.crop} sown {day_words(told.days.day(int(plot.choices.sow[source.choice])))}"
    return f"standing {list_words(names.get((plot.crop, source.choice), ()), most=3)}"


def _cut_words(told: Told, plot: Plot, source: Source, line: int) -> str:
    """When what serves a line is cut for it; nothing for what is cut already, or leaves uncut."""
    if source.choice < 0 or plot.choices.how[source.choice] != CUT:
        return ""
    day = cut_day(told, plot, source.choice)
    return f", cut {day_words(told.days.day(day))}" if day <= told.lines[line].day else ", should it be ready in time"


# Money ----------------------------------------------------------------------------------------------------------------


class Earned(NamedTuple):
    """What a plan brings and costs over its weeks, in each scenario it was checked by (s,). [farm's currency]"""

    sales: Floats
    packaging: Floats
    shortfall: Floats
    disposal: Floats
    spent: dict[str, float]
    """What is alike in all: seed, medium, hands and energy, the latter two in the mean."""
    unsure: Floats
    """What letting down costs by the plan's own prices, which also pay for being as sure as the farm wants."""

    @property
    def margin(self) -> Floats:
        """Sales less what they cost."""
        found: Floats = self.sales - self.packaging - self.disposal - sum(self.spent.values())
        return found

    @property
    def worth(self) -> Floats:
        """The margin less the price of letting down."""
        found: Floats = self.margin - self.shortfall
        return found

    @property
    def own(self) -> Floats:
        """What the plan is chosen by: the margin less the price of not being sure."""
        found: Floats = self.margin - self.unsure
        return found


def read_money(told: Told) -> PlanMoney:
    """What the plan is expected to bring and cost over its weeks; what standing trays cost before does not count."""
    made = earned(told)
    return PlanMoney(
        sales=round(float(made.sales.mean()), 2),
        packaging=round(float(made.packaging.mean()), 2),
        shortfall=round(float(made.shortfall.mean()), 2),
        disposal=round(float(made.disposal.mean()), 2),
        **{name: round(amount, 2) for name, amount in made.spent.items()},
    )


def earned(told: Told) -> Earned:
    """What the plan brings and costs in each scenario it was checked by."""
    money, served = told.settings.money, told.decision.served
    sales, packaging, shortfall, unsure = np.zeros((4, len(served.wasted)))
    for claim, met in zip(told.decision.claims, served.met, strict=True):
        unsure += float(told.task.prices[claim.want]) * (claim.amount - met)
        if claim.line < 0:
            want = told.task.wants[claim.want]
            sales += want.worth * met
            shortfall += want.regret * (claim.amount - met)
            continue
        due, live = told.lines[claim.line].line, claim.live
        whole = float(due.trays) if live else due.grams
        sales += due.value * met / whole
        packaging += money.packaging * due.packs * met / whole
        shortfall += money.shortfall * due.weight * due.value * (claim.amount - met) / whole
    sales += sum(line.line.value * sum(line.packed.values()) / line.line.grams
                 for line in told.lines if line.line.grams > 0)  # fmt: skip
    return Earned(sales, packaging, shortfall, served.wasted * money.disposal_kg / 1000, _spent(told), unsure)


def _spent(told: Told) -> dict[str, float]:
    """Seed, medium with the wear of kit, hands and energy of all trays. [farm's currency]"""
    found = dict.fromkeys(("seed", "medium", "hands", "energy"), 0.0)
    money, pools, limits = told.settings.money, told.task.limits.pools, told.task.limits
    for plot, take in zip(told.decision.checked, told.decision.takes, strict=True):
        used = np.flatnonzero(take)
        for choice in used[plot.choices.way[used] >= 0].tolist():
            way = told.ways.ways[int(plot.choices.way[choice])]
            found["seed"] += way.seed_cost * float(take[choice])
            found["medium"] += (way.recipe.medium.cost + wear_of(way.recipe.kit, pools)) * float(take[choice])
        for limit, table in plot.uses.items():
            total = float(take[used] @ table[used].sum(axis=(1, 2))) / max(1, table.shape[1])
            if limit in (HANDS, OFF):
                found["hands"] += total * money.wage_h / 60
            elif limit == LIT:
                found["energy"] += total * limits.light_kwh() * money.energy_kwh
    return found
