"""Why a line is not met: which limits clash, with amounts and dates, computed and not guessed.

The plan is made once more with every limit made of rubber: all lines are to be met, at the least strain. Where a limit
has to stretch, it is what stands in the way; what no stretching can reach is too late to sow for.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

import msgspec
import numpy as np

from trayward.farm.settings import FarmSettings
from trayward.plan.build import Built, build
from trayward.plan.days import Bools
from trayward.plan.demand import OpenLine, Want
from trayward.plan.limits import DAYS_OFF
from trayward.plan.options import STRETCH, Board, lay_out
from trayward.plan.results import Read
from trayward.plan.solve import Answer, solve
from trayward.plan.supply import reach_without_sowing
from trayward.plan.types import Limit
from trayward.plan.uses import DISCARD
from trayward.plan.words import amount_words, count_words, day_words, days_words, list_words

WHOLE_UP_TO = 1000
"""With more options than this, the strain is found in parts of trays."""
TRACE = 1e-4
"""Less than this of a tray or of a limit is the arithmetic's own dust. [-]"""
ENOUGH_G = 0.5
"""A line short of less than this counts as met. [g]"""
ENOUGH_SHARE = 0.5
"""A limit on how long crop keeps is named only where it stands for this share of what is lacking. [-]"""


class Clash(msgspec.Struct, frozen=True, kw_only=True):
    """One limit on one day (or up to it) and how far it would have to stretch."""

    limit: str
    day: int
    has: float
    short: float
    unit: str
    wants: frozenset[int]
    message: str = ""
    kind: str = ""
    """What sort of limit: `limit` is shared by all crops, `keep` and `window` are one crop's own."""


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
    short = {number for number, want in enumerate(read.task.wants) if _short_lines(read, want)}
    if not short:
        return Reasons()
    task = read.task
    board = lay_out(read.ways, task.standing, task.demand, task.limits, settings, task.days, relaxed=True)
    reach = np.array([_in_reach(read, board, want) for want in task.wants])
    if not any(reach[number] for number in short):  # stretching cannot help
        return _told(read, _out_of_reach(read, short), short)
    built = build(task, board, relaxed=True, reach=reach)
    if len(built.take) > WHOLE_UP_TO:
        built.model.loosen()
    answer = solve(built.model, gap=1e-3, least=0.05, seconds=seconds)
    beyond = _out_of_reach(read, short)
    told = {want for clash in beyond for want in clash.wants}
    hopeful = {number for number in short if answer.values[built.met[number]] > TRACE}
    strained = _strained(read, _Stretched(board, built, answer), hopeful, told)
    return _told(
        read, [clash for clash in (_relevant(read, one, told) for one in strained) if clash.wants] + beyond, short
    )


def _told(read: Read, clashes: list[Clash], short: set[int]) -> Reasons:
    limits = tuple(sorted(_by_week(read, clashes), key=lambda limit: (limit.first, limit.limit)))
    return Reasons(limits=limits, lines=_line_reasons(read, clashes, short))


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


def _short_lines(read: Read, want: Want) -> list[int]:
    return [number for number in want.lines if _short(read.lines[number], read, number) > 0]


def _short(line: OpenLine, read: Read, number: int) -> float:
    """Grams, or live trays, a line is short of; 0 where it is met."""
    if line.line.live:
        return float(line.trays - int(read.given.trays_met[number]))
    short = line.grams - float(read.given.grams_met[number])
    return short if short > ENOUGH_G else 0.0


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
        lines = [number for want in wants for number in _short_lines(read, read.task.wants[want])]
        lacking = sum(_short(read.lines[number], read, number) for number in lines)
        wants = wants if clash.short >= ENOUGH_SHARE * lacking else frozenset()
    return msgspec.structs.replace(clash, wants=wants)


# What nothing reaches -------------------------------------------------------------------------------------------------


def _out_of_reach(read: Read, short: set[int]) -> list[Clash]:
    """Wants that no stretching of a limit can meet: no way to grow a part, or too late to sow it."""
    wants = read.task.wants
    found = [
        _blocked(read, number, wants[number]) or _too_late(read, number, wants[number]) for number in sorted(short)
    ]
    return [clash for clash in found if clash is not None]


def _lacking(read: Read, want: Want) -> list[str]:
    """
    The parts of a want that must be sown for it to get more than it does.

    Of the others, cut crop and standing trays would allow more; what holds a mix back is never such a part.
    """
    given = read.given.trays_met if want.live else read.given.grams_met
    met = sum(float(given[number]) for number in want.lines)
    return [crop for crop, share in want.parts if reach_without_sowing(read, want, crop, share) <= met + ENOUGH_G]


def _blocked(read: Read, number: int, want: Want) -> Clash | None:
    for crop in _lacking(read, want):
        if crop in read.ways.blocked:
            limit, message = read.ways.blocked[crop]
            own = frozenset({number})
            return Clash(limit=limit, day=want.day, has=0.0, short=want.amount, unit="", wants=own, message=message)
    return None


def _too_late(read: Read, number: int, want: Want) -> Clash | None:
    """The slowest part of a want that has to be sown, if there was no time left for it."""
    growable = [crop for crop in _lacking(read, want) if crop not in read.ways.blocked]
    quickest = {crop: min(way.days for way in read.ways.of(crop)) for crop in growable}
    crop = max(quickest, key=lambda part: quickest[part], default="")
    if not crop or quickest[crop] <= want.day:
        return None
    days, short = read.task.days, float(quickest[crop] - want.day)
    latest = day_words(days.day(want.day) - timedelta(days=quickest[crop]))
    # Not the typical tray's days, which the list of recipes says, but those within which the cautious share is ready.
    words = f"Too late to sow {crop}: it takes {quickest[crop]} days when slow, so it had to be sown by {latest}."
    own = frozenset({number})
    return Clash(limit="time", day=want.day, has=float(want.day), short=short, unit="d", wants=own, message=words)


# In words -------------------------------------------------------------------------------------------------------------


def _by_week(read: Read, clashes: list[Clash]) -> list[Limit]:
    """Clashes of one limit in one week as one, with the worst day's amounts."""
    weeks: dict[tuple[str, int, int], list[Clash]] = {}
    for clash in clashes:
        year, week, _ = read.task.days.day(clash.day).isocalendar()
        when = (0, 0) if clash.message else (year, week)
        weeks.setdefault((clash.limit, *when), []).append(clash)
    return [_limit(read, group) for group in weeks.values()]


def _limit(read: Read, group: list[Clash]) -> Limit:
    worst, days = max(group, key=lambda clash: (clash.short, -clash.day)), read.task.days
    first, last = days.day(min(clash.day for clash in group)), days.day(max(clash.day for clash in group))
    wants = sorted({want for clash in group for want in clash.wants})
    lines = [number for want in wants for number in _short_lines(read, read.task.wants[want])]
    whom = list_words(dict.fromkeys(f"{read.lines[n].line.customer} ({read.lines[n].line.product})" for n in lines))
    said = worst.message or _sentence(worst, days_words(first, last))
    if worst.limit == "time" and len(lines) > 1:
        late = f"Too late to sow for {count_words(len(lines), 'line')} due {days_words(first, last)}"
        said = f"{late}: they had to be sown for before today."
    return Limit(
        limit=worst.limit,
        first=first,
        last=last,
        has=round(worst.has, 2),
        short=round(worst.short, 2),
        unit=worst.unit,
        lines=tuple(read.lines[number].line.line for number in lines),
        message=f"{said} Wanted for {whom}.",
    )


def _sentence(clash: Clash, when: str) -> str:
    has, more = amount_words(clash.has, clash.unit), amount_words(clash.short, clash.unit)
    if clash.limit.startswith("seed of"):
        return f"{clash.limit}: {has} to sow from until then, {more} more needed {when.replace('on ', 'by ', 1)}."
    if clash.limit.startswith("cut window"):
        return f"{clash.limit}: {has}, trays would have to stand {more} longer {when}."
    if clash.limit.startswith("cold-room life"):
        return f"{clash.limit}: {more} would have to keep longer than it does {when}."
    if clash.limit == DAYS_OFF:
        return f"{clash.limit}: {more} of work would fall {when}."
    return f"{clash.limit}: {has} at most, {more} more needed {when}."


def _line_reasons(read: Read, clashes: list[Clash], short: set[int]) -> dict[int, str]:
    found = {}
    for want in short:
        own = [msgspec.structs.replace(clash, wants=frozenset({want})) for clash in clashes if want in clash.wants]
        named = [limit.message.split(" Wanted for")[0] for limit in _by_week(read, [c for c in own if not c.message])]
        said = dict.fromkeys([clash.message for clash in own if clash.message] + named)
        words = "; ".join(sentence.rstrip(".") for sentence in said)
        for number in _short_lines(read, read.task.wants[want]):
            line = read.lines[number]
            amount = _short(line, read, number)
            missing = count_words(amount, "live tray") if line.line.live else amount_words(amount, "g")
            found[number] = (
                f"{missing} short. {_upper(words)}." if own else f"{missing} short. {_not_worth(read, number)}"
            )
    return found


def _not_worth(read: Read, number: int) -> str:
    """No limit is in the way: the model weighed one more tray against what is short, at the cautious weight."""
    kind = "live tray" if read.lines[number].line.live else "tray"
    said = f"Nothing stands in the way, but one more {kind} for it would cost more than it brings."
    options = read.board.options
    likely = sum(
        share.grams * float(options.likely[share.option] / options.grams[share.option])
        for share in read.given.shares
        if share.line == number and share.option >= 0 and share.grams
    )
    enough = likely >= read.lines[number].grams - ENOUGH_G and not read.lines[number].line.live
    return said + (" At the likely weight there would be enough." if enough else "")


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]
