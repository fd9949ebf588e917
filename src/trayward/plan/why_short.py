"""Which order lines may fall short, by how much, and what is told of them: words, and the limits in their way."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from msgspec import structs

from trayward.plan.demand import OpenLine
from trayward.plan.told import Told
from trayward.plan.told_lines import ENOUGH_G, chance_of
from trayward.plan.types import Limit
from trayward.plan.why import Why
from trayward.plan.words import FEW, amount_words
from trayward.words import counted, listed

WANTED = " Wanted for "


class Raised(NamedTuple):
    """What is told of the lines that may fall short."""

    why: dict[int, str]
    raised: dict[int, str]
    limits: list[Limit]


def short_wants(why: Why) -> dict[int, list[int]]:
    """Wants with lines less likely than the farm wants to be, what is expected to be let down weighing most first."""
    told = why.told
    weighed: dict[int, float] = {}
    lines: dict[int, list[int]] = {}
    for claim, met in zip(why.decision.claims, why.decision.served.met, strict=True):
        if claim.line >= 0 and chance_of(told.lines[claim.line], met, told.habits) < told.settings.caution:
            lines.setdefault(claim.want, []).append(claim.line)
            missed = float((claim.amount - met).mean()) * claim.worth
            weighed[claim.want] = weighed.get(claim.want, 0.0) + missed
    return {want: lines[want] for want in sorted(lines, key=lambda want: (-weighed[want], want))}


def open_of(line: OpenLine) -> float:
    """From how much on a line counts as met: live trays, or grams."""
    return line.trays - 1e-6 if line.line.live else line.grams - ENOUGH_G


def lack_words(told: Told, want: int, line: int) -> str:
    """How much a line is expected to lack, in words: live trays or weight."""
    met = told.met[line]
    live = told.task.wants[want].live
    open_ = float(told.lines[line].trays) if live else told.lines[line].grams
    lacking = max(0.0, open_ - float(met.mean()))
    if live and abs(lacking - round(lacking)) < 0.05:
        return counted(round(lacking), "live tray")
    return f"{lacking:.1f} live trays" if live else amount_words(max(ENOUGH_G, lacking), "g")


def say(found: Raised, lines: list[int], words: str) -> None:
    """Add words to what is told of lines."""
    for line in lines:
        found.why[line] = f"{found.why.get(line, '')} {words}".strip()


def limit_of(
    told: Told,
    name: str,
    day: int,
    has: float,
    short: float,
    unit: str,
    lines: list[int],
    words: str,
    span: tuple[int, int] | None = None,
) -> Limit:
    """A limit in the way of lines, on a day or from one day to another, with whom they are for."""
    first, last = span or (day, day)
    return Limit(
        limit=name,
        first=told.days.day(first),
        last=told.days.day(last),
        has=round(has, 2),
        short=round(short, 2),
        unit=unit,
        lines=tuple(told.lines[number].line.line for number in lines),
        message=_wanted(words, _whom(told, lines)),
    )


def alone(message: str) -> str:
    """What is said of a limit, without whom it is wanted for."""
    return message.partition(WANTED)[0]


def merged(told: Told, limits: Sequence[Limit]) -> list[Limit]:
    """Limits that say the same once, with all whom they are wanted for and the most that is lacking."""
    same: dict[tuple[object, ...], list[Limit]] = {}
    for limit in limits:
        same.setdefault((limit.limit, limit.first, limit.last, alone(limit.message)), []).append(limit)
    return [_as_one(told, group) for group in same.values()]


def _as_one(told: Told, group: Sequence[Limit]) -> Limit:
    numbers = {line.line.line: number for number, line in enumerate(told.lines)}
    lines = tuple(dict.fromkeys(line for limit in group for line in limit.lines))
    most = max(group, key=lambda limit: limit.short)
    whom = _whom(told, [numbers[line] for line in lines])
    return structs.replace(most, lines=lines, message=_wanted(alone(most.message), whom))


def _wanted(words: str, whom: str) -> str:
    return f"{words} Wanted for {whom}."


def _whom(told: Told, lines: Iterable[int]) -> str:
    return listed(
        dict.fromkeys(f"{told.lines[n].line.customer} ({told.lines[n].line.product})" for n in lines), most=FEW
    )
