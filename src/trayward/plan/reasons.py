"""Why a line is not met: which limits clash, with amounts and dates, computed and not guessed.

The plan is made once more with every limit made of rubber: all lines are to be met, at the least strain. Where a limit
has to stretch, it is what stands in the way; what no stretching can reach is too late to sow for.
"""

from __future__ import annotations

from collections.abc import Iterable

import msgspec
import numpy as np

from trayward.farm.settings import FarmSettings
from trayward.plan.build import Built, build
from trayward.plan.clash import Clash, short_lines, short_of
from trayward.plan.clash_words import by_week, line_reasons
from trayward.plan.days import Bools
from trayward.plan.demand import Want
from trayward.plan.limits import DAYS_OFF
from trayward.plan.options import STRETCH, Board, lay_out
from trayward.plan.out_of_reach import out_of_reach
from trayward.plan.results import Read
from trayward.plan.solve import Answer, solve
from trayward.plan.types import Limit
from trayward.plan.uses import DISCARD

WHOLE_UP_TO = 1000
"""With more options than this, the strain is found in parts of trays."""
TRACE = 1e-4
"""Less than this of a tray or of a limit is the arithmetic's own dust. [-]"""
ENOUGH_SHARE = 0.5
"""A limit on how long crop keeps is named only where it stands for this share of what is lacking. [-]"""


class Reasons(msgspec.Struct, kw_only=True):
    """The limits in the way, and a sentence for each line that is not met in full."""

    limits: tuple[Limit, ...] = ()
    lines: dict[int, str] = {}
    notes: tuple[str, ...] = ()


class _Stretched(msgspec.Struct, frozen=True):
    """The relaxed model and its answer."""

    board: Board
    built: Built
    answer: Answer


def find_reasons(read: Read, settings: FarmSettings, seconds: float = 10.0) -> Reasons:
    """Name what stands in the way of every line the plan does not meet in full."""
    short = {number for number, want in enumerate(read.task.wants) if short_lines(read, want)}
    if not short:
        return Reasons()
    task = read.task
    board = lay_out(read.ways, task.standing, task.demand, task.limits, settings, task.days, relaxed=True)
    reach = np.array([_in_reach(read, board, want) for want in task.wants])
    if not any(reach[number] for number in short):  # stretching cannot help
        return _told(read, out_of_reach(read, short), short)
    built = build(task, board, relaxed=True, reach=reach)
    if len(built.take) > WHOLE_UP_TO:
        built.model.loosen()
    answer = solve(built.model, gap=1e-3, least=0.05, seconds=seconds)
    beyond = out_of_reach(read, short)
    told = {want for clash in beyond for want in clash.wants}
    hopeful = {number for number in short if answer.values[built.met[number]] > TRACE}
    strained = _strained(read, _Stretched(board, built, answer), hopeful, told)
    return _told(
        read, [clash for clash in (_relevant(read, one, told) for one in strained) if clash.wants] + beyond, short
    )


def _told(read: Read, clashes: list[Clash], short: set[int]) -> Reasons:
    limits = tuple(sorted(by_week(read, clashes), key=lambda limit: (limit.first, limit.limit)))
    return Reasons(limits=limits, lines=line_reasons(read, clashes, short))


def _in_reach(read: Read, board: Board, want: Want) -> bool:
    """Whether there is any way at all to have something of every part of a want on its day."""
    options = board.options
    for crop, _ in want.parts:
        stocked = any(item.crop == crop and item.last + STRETCH >= want.day for item in read.task.stock)
        if crop not in board.crops or not (stocked or _serving(board, options.crop >= 0, want, crop).any()):
            return False
    return True


def _serving(board: Board, among: Bools, want: Want, crop: str) -> Bools:
    """Which of some options could give a want its part of a crop, if the crop kept somewhat longer."""
    options, kept = board.options, board.life[crop] + STRETCH
    in_time = (options.leave <= want.day) & (options.leave + kept >= want.day)
    serves: Bools = among & in_time & (options.crop == board.crops.index(crop)) & (options.how != DISCARD)
    return serves & (options.first_due == want.day) if want.live else serves


# What stretches -------------------------------------------------------------------------------------------------------


def _strained(read: Read, stretched: _Stretched, short: set[int], told: set[int]) -> list[Clash]:
    """The rows that had to stretch, each with the short wants whose trays stand in them; `told`: explained already."""
    values, names = stretched.answer.values, stretched.built.model.names
    rows = [row for row, column in stretched.built.slack.items() if values[column] > TRACE]
    start, index, _ = stretched.built.model.by_row()
    trays = {want: _trays_for(stretched, read.task.wants[want]) for want in short}
    found = []
    for row in rows:
        inside = set(index[start[row] : start[row + 1]].tolist())
        wants = {want for want, columns in trays.items() if columns & inside}
        if names[row].kind == "keep":
            wants = {want for want in short if _would_eat(read.task.wants[want], names[row].name, names[row].day)}
        amount = float(values[stretched.built.slack[row]])
        has = float(stretched.built.model.row_upper[row])
        if names[row].kind == "limit":  # what standing trays overdraw is not there to be had, but needed
            pressed = _pressed(read, names[row].name, names[row].day)
            has, amount = has - pressed, amount + pressed
        found.append(_clash(read, names[row].kind, names[row].name, names[row].day, has, amount, wants))
    found += _overstaying(read, stretched, trays)
    matched = told | {want for clash in found for want in clash.wants}
    return [clash for clash in (_or_nearby(read, clash, short - matched) for clash in found) if clash.wants]


def _pressed(read: Read, limit: str, day: int) -> float:
    return float(read.task.press[read.task.limits.names.index(limit), day])


def _trays_for(stretched: _Stretched, want: Want) -> set[int]:
    """The columns of the stretched answer whose trays could serve a want."""
    used = stretched.answer.values[stretched.built.take] > TRACE
    found: set[int] = set()
    for crop, _ in want.parts:
        if crop in stretched.board.crops:
            found |= set(stretched.built.take[_serving(stretched.board, used, want, crop)].tolist())
    return found


def _would_eat(want: Want, crop: str, day: int) -> bool:
    """Whether crop kept beyond a day could go to a want."""
    return not want.live and any(part == crop for part, _ in want.parts) and day < want.day


def _clash(read: Read, kind: str, name: str, day: int, has: float, short: float, wants: Iterable[int]) -> Clash:
    limit, unit = name, ""
    if kind == "seed":
        limit, unit = f"seed of {name}", "g"
    elif kind == "keep":
        limit, unit, has = f"cold-room life of {name}", "g", 0.0
    else:
        unit = read.task.limits.units[read.task.limits.names.index(name)]
    return Clash(limit=limit, day=max(day, 0), has=has, short=short, unit=unit, wants=frozenset(wants), kind=kind)


def _overstaying(read: Read, stretched: _Stretched, trays: dict[int, set[int]]) -> list[Clash]:
    """Trays that would have to stand longer than their cut window."""
    options, values = stretched.board.options, stretched.answer.values
    found = []
    for option in np.flatnonzero((options.stretch > 0) & (values[stretched.built.take] > TRACE)).tolist():
        column = int(stretched.built.take[option])
        wants = frozenset(want for want, columns in trays.items() if column in columns)
        way, standing = int(options.way[option]), int(options.standing[option])
        recipe = read.ways.ways[way].recipe if way >= 0 else read.task.standing[standing].recipe
        found.append(
            Clash(
                limit=f"cut window of {recipe.name}",
                day=int(options.leave[option]),
                has=float(recipe.cut_window_days),
                short=float(options.stretch[option]),
                unit="d",
                wants=wants,
                kind="window",
            )
        )
    return found


def _or_nearby(read: Read, clash: Clash, unmatched: set[int]) -> Clash:
    """Also name a limit all crops share to short wants that nothing else explains and that grow over the same days."""
    if clash.kind != "limit" or clash.limit == DAYS_OFF:
        return clash
    wants = read.task.wants
    longest = max((way.days for way in read.ways.ways), default=0)
    near = {want for want in unmatched if clash.day <= wants[want].day <= clash.day + longest + 7}
    return msgspec.structs.replace(clash, wants=clash.wants | near)


def _relevant(read: Read, clash: Clash, told: set[int]) -> Clash:
    """
    The clash, of those wants only that it says something about.

    What came too late to be sown stays too late however far spots, kit and hands stretch; and a crumb that would
    have to keep longer is no answer to a line that lacks ten times as much.
    """
    wants = clash.wants if clash.kind in ("keep", "window") else clash.wants - told
    if clash.kind == "keep":
        lines = [number for want in wants for number in short_lines(read, read.task.wants[want])]
        lacking = sum(short_of(read.lines[number], read, number) for number in lines)
        wants = wants if clash.short >= ENOUGH_SHARE * lacking else frozenset()
    return msgspec.structs.replace(clash, wants=wants)
