"""The answer as people read it: sowings, cuts of standing trays, order lines and money."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import msgspec
import numpy as np

from trayward.dates import day_words
from trayward.farm.recipes import wear_of
from trayward.farm.settings import FarmSettings
from trayward.plan.allocate import Allocation, Share, standing_names
from trayward.plan.build import Task
from trayward.plan.days import Days
from trayward.plan.demand import OpenLine
from trayward.plan.limits import HANDS, LIT, OFF
from trayward.plan.options import Board
from trayward.plan.types import CutPlanned, LineOutlook, PlanMoney, PlannedSowing, Serve, StageExpected
from trayward.plan.uses import CUT, LIVE
from trayward.plan.ways import Way, Ways
from trayward.plan.words import FEW, amount_words
from trayward.words import counted, listed


class Read(NamedTuple):
    """An answer with everything needed to read it."""

    task: Task
    board: Board
    ways: Ways
    lines: list[OpenLine]
    given: Allocation


def read_sowings(read: Read) -> tuple[PlannedSowing, ...]:
    """The sowings, by day, crop and recipe; seed is taken from the lot to use first."""
    options, trays = read.board.options, read.given.trays
    chosen: dict[tuple[int, str, int], list[int]] = {}
    for option in np.flatnonzero((options.way >= 0) & (trays > 0)).tolist():
        number = int(options.way[option])
        key = (int(options.sow[option]), read.ways.ways[number].recipe.name, number)
        chosen.setdefault(key, []).append(option)
    seed = {crop: stock.copied() for crop, stock in read.ways.seed.items()}
    shares = _by_option(read)
    found = []
    for (sow, _, number), group in sorted(chosen.items()):
        way = read.ways.ways[number]
        count = int(trays[group].sum())
        lots = seed[way.recipe.crop].take(count * way.seed_g, sow)
        bare = _sowing(read, way, sow, group, [share for option in group for share in shares.get(option, [])])
        grams = round(sum(lot.grams for lot in lots), 1)
        found.append(msgspec.structs.replace(bare, lots=lots, seed_g=grams))
    return tuple(found)


def _by_option(read: Read) -> dict[int, list[Share]]:
    found: dict[int, list[Share]] = {}
    for share in read.given.shares:
        found.setdefault(share.option, []).append(share)
    return found


def _sowing(read: Read, way: Way, sow: int, group: list[int], shares: list[Share]) -> PlannedSowing:
    options, trays, days = read.board.options, read.given.trays, read.task.days
    leaves = {int(options.leave[option]): int(trays[option]) for option in group}
    cuts = tuple(
        CutPlanned(
            cut_on=days.day(int(options.leave[option])),
            crop=way.recipe.crop,
            trays=int(trays[option]),
            grams_expected=round(float(options.likely[option] * trays[option]), 1),
        )
        for option in sorted(group, key=lambda n: int(options.leave[n]))
        if options.how[option] == CUT
    )
    serves = _serves(read, shares)
    return PlannedSowing(
        sow_on=days.day(sow),
        crop=way.recipe.crop,
        recipe=way.recipe.name,
        trays=int(trays[group].sum()),
        seed_g=0.0,
        cut_on=days.day(max(leaves, key=lambda day: (leaves[day], -day))),
        grams_expected=round(sum(cut.grams_expected for cut in cuts), 1),
        serves=serves,
        stages=_stages(way, sow, max(leaves), days),
        cuts=cuts,
        why=_sowing_why(read, way, sow, serves),
    )


def _serves(read: Read, shares: list[Share]) -> tuple[Serve, ...]:
    grams: dict[int, float] = {}
    trays: dict[int, int] = {}
    for share in shares:
        grams[share.line] = grams.get(share.line, 0.0) + share.grams
        trays[share.line] = trays.get(share.line, 0) + share.trays
    return tuple(
        Serve(
            line=read.lines[line].line.line,
            customer=read.lines[line].line.customer,
            due=read.lines[line].line.due,
            grams=round(grams[line], 1),
            trays=trays[line],
        )
        for line in sorted(grams, key=lambda n: (read.lines[n].day, n))
    )


def _stages(way: Way, sow: int, leave: int, days: Days) -> tuple[StageExpected, ...]:
    found = []
    for number, stage in enumerate(way.recipe.stages):
        first = sow + way.starts[number]
        last = sow + way.starts[number + 1] - 1 if number + 1 < len(way.starts) else leave
        found.append(StageExpected(stage=stage.name, first=days.day(first), last=days.day(max(first, last))))
    return tuple(found)


def _sowing_why(read: Read, way: Way, sow: int, serves: tuple[Serve, ...]) -> str:
    ready = day_words(read.task.days.day(sow + way.days))
    if not serves:
        return f"Ready by {ready}."
    served = (
        f"{serve.customer} {counted(serve.trays, 'live tray') if serve.trays else amount_words(serve.grams, 'g')}"
        f" on {day_words(serve.due)}"
        for serve in serves
    )
    return f"For {listed(served, most=FEW)}; ready by {ready}, counted with caution."


def read_cuts(read: Read) -> tuple[CutPlanned, ...]:
    """Cuts of trays standing now, by day and crop."""
    options, names = read.board.options, standing_names(read.task, read.board, read.given.trays)
    groups: dict[tuple[int, str], list[int]] = {}
    for option in names:
        if options.how[option] == CUT and names[option]:
            crop = read.task.standing[int(options.standing[option])].recipe.crop
            groups.setdefault((int(options.leave[option]), crop), []).append(option)
    return tuple(
        CutPlanned(
            cut_on=read.task.days.day(day),
            crop=crop,
            trays=sum(len(names[option]) for option in group),
            grams_expected=round(sum(float(options.likely[option]) * len(names[option]) for option in group), 1),
            standing=tuple(name for option in group for name in names[option]),
        )
        for (day, crop), group in sorted(groups.items())
    )


def read_lines(read: Read, reasons: Mapping[int, str]) -> tuple[LineOutlook, ...]:
    """Every line, met or not, and where it comes from or what is in the way."""
    sources = _sources(read)
    found = []
    for number, line in enumerate(read.lines):
        due = line.line
        grams = due.grams - line.grams + float(read.given.grams_met[number])
        trays = due.trays - line.trays + int(read.given.trays_met[number])
        where = listed(before_words(line) + sources.get(number, []), most=FEW)
        why = " ".join(part for part in (f"From {where}." if where else "", reasons.get(number, "")) if part)
        found.append(
            LineOutlook(
                line=due.line,
                customer=due.customer,
                crop=due.product,
                due=due.due,
                grams=due.grams,
                met_grams=round(min(due.grams, grams), 1),
                trays=due.trays,
                met_trays=trays,
                why=why,
            )
        )
    return tuple(found)


def before_words(line: OpenLine) -> list[str]:
    """What of a line is delivered or packed already."""
    found = []
    if line.line.done_g > 0 or line.line.done_trays:
        done = counted(line.line.done_trays, "live tray") if line.line.live else amount_words(line.line.done_g, "g")
        found.append(f"{done} delivered already")
    return found + [f"{amount_words(grams, 'g')} packed in {pack}" for pack, grams in line.packed.items()]


def _sources(read: Read) -> dict[int, list[str]]:
    """Where each line's grams and trays come from, in words."""
    options, days = read.board.options, read.task.days
    names = standing_names(read.task, read.board, read.given.trays)
    found: dict[int, dict[str, None]] = {}
    for share in read.given.shares:
        leave = days.day(int(options.leave[share.option])) if share.option >= 0 else days.first
        verb = "taken" if share.trays else "cut"
        if share.harvest:
            words = f"harvest lot {share.harvest}"
        elif options.way[share.option] >= 0:
            crop = read.ways.ways[int(options.way[share.option])].recipe.crop
            words = f"{crop} sown {day_words(days.day(int(options.sow[share.option])))}, {verb} {day_words(leave)}"
        else:
            words = f"standing now: {listed(names[share.option], most=3)}, {verb} {day_words(leave)}"
        found.setdefault(share.line, {})[words] = None
    return {line: list(words) for line, words in found.items()}


def read_money(read: Read, settings: FarmSettings) -> PlanMoney:
    """What the plan brings and costs over its weeks; what was spent on standing trays before does not count."""
    options, trays, money = read.board.options, read.given.trays.astype(float), settings.money
    uses, count = read.board.uses, len(options.way)
    sales = packaging = shortfall = 0.0
    for number, line in enumerate(read.lines):
        due, live = line.line, line.line.live
        whole = float(due.trays) if live else due.grams
        if whole > 0:
            open_, met = (
                (float(line.trays), float(read.given.trays_met[number]))
                if live
                else (line.grams, float(read.given.grams_met[number]))
            )
            packed = sum(line.packed.values())
            sales += due.value * (met + packed) / whole
            packaging += money.packaging * due.packs * met / whole
            shortfall += money.shortfall * due.weight * due.value * max(0.0, open_ - met) / whole
    ways = read.ways.ways
    seed = np.array([way.seed_cost for way in ways] + [0.0])[options.way]
    pools = read.task.limits.pools
    medium = np.array([*(way.medium_cost + wear_of(way.recipe.kit, pools) for way in ways), 0.0])[options.way]
    care = np.array([*(way.care_cost for way in ways), 0.0])[options.way]
    return PlanMoney(
        sales=round(sales, 2),
        seed=round(float(seed @ trays), 2),
        medium=round(float(medium @ trays), 2),
        supplies=round(float(care @ trays), 2),
        hands=round(float(uses.totals((HANDS, OFF), count) @ trays) * money.wage_h / 60, 2),
        energy=round(float(uses.totals((LIT,), count) @ trays) * read.task.limits.light_kwh() * money.energy_kwh, 2),
        packaging=round(packaging, 2),
        disposal=round(read.given.left_g * money.disposal_kg / 1000, 2),
        shortfall=round(shortfall, 2),
    )


def unwanted_notes(read: Read) -> list[str]:
    """Standing trays that no order has a use for, and those that are wanted but not used."""
    options = read.board.options
    names = standing_names(read.task, read.board, read.given.trays)
    idle: dict[tuple[str, bool], list[str]] = {}
    for option, trays in names.items():
        inside = options.leave[option] < read.task.days.count
        if options.how[option] not in (CUT, LIVE) and trays and inside:
            group = int(options.standing[option])
            crop = read.task.standing[group].recipe.crop
            idle.setdefault((crop, _lacked(read, group, crop)), []).extend(trays)
    return [
        f"Not used, though orders are short of {crop}: {counted(len(trays), 'standing tray')}, "
        f"{listed(trays, most=FEW)}."
        if lacked
        else f"No order has a use for {counted(len(trays), 'standing tray')} of {crop}: {listed(trays, most=FEW)}."
        for (crop, lacked), trays in sorted(idle.items())
    ]


def _lacked(read: Read, group: int, crop: str) -> bool:
    """Whether a line of that crop alone is short on a day these standing trays could serve."""
    options = read.board.options
    own = np.flatnonzero((options.standing == group) & ((options.how == CUT) | (options.how == LIVE)))
    for want in read.task.wants:
        if [part for part, _ in want.parts] != [crop]:
            continue
        live = options.how[own] == LIVE
        keeps = (options.leave[own] <= want.day) & (want.day <= options.leave[own] + read.board.life[crop])
        serves = np.where(live, options.first_due[own] == want.day, keeps) & (live == want.live)
        if serves.any() and any(_short(read, number) for number in want.lines):
            return True
    return False


def _short(read: Read, number: int) -> bool:
    line = read.lines[number]
    if line.line.live:
        return line.trays > int(read.given.trays_met[number])
    return line.grams > float(read.given.grams_met[number]) + 0.5
