"""From the model's answer to trays and grams for each order line: what is cut first, and will not keep, goes first."""

from __future__ import annotations

import math
from typing import NamedTuple

import msgspec
import numpy as np

from trayward.plan.build import Task
from trayward.plan.days import Floats, Ints
from trayward.plan.demand import OpenLine, Want
from trayward.plan.options import Board
from trayward.plan.uses import CUT, DISCARD, LIVE

TINY = 1e-6


class Batch(msgspec.Struct, kw_only=True):
    """Cut crop of one option or harvest lot, on the day it is there, and the last it is good for."""

    option: int = -1
    harvest: str = ""
    day: int
    last: int
    left: float


class Share(NamedTuple):
    """Part of a batch, or live trays of an option, for a line."""

    line: int
    option: int
    harvest: str
    grams: float
    trays: int


class Allocation(msgspec.Struct, kw_only=True):
    """Who gets what: trays of each option, what each line gets and from where, and what is left over."""

    trays: Ints
    shares: list[Share]
    grams_met: Floats
    trays_met: Ints
    left_g: float


def allocate(task: Task, board: Board, lines: list[OpenLine], take: Floats, met: Floats) -> Allocation:
    """Share out what the model's answer cuts to the lines of the wants it meets."""
    trays = np.rint(take).astype(np.int64)
    found = Allocation(
        trays=trays,
        shares=[],
        grams_met=np.zeros(len(lines)),
        trays_met=np.zeros(len(lines), dtype=np.int64),
        left_g=0.0,
    )
    batches = _batches(task, board, trays)
    for number, want in enumerate(task.wants):
        if want.live:
            _share_trays(want, board, lines, found, round(float(met[number])))
        else:
            _share_grams(want, batches, lines, found, float(met[number]))
    _spare(board, batches, found)
    found.left_g = sum(batch.left for crop in batches.values() for batch in crop)
    return found


def _spare(board: Board, batches: dict[str, list[Batch]], found: Allocation) -> None:
    """Leave out trays of which nobody gets anything; the search may stop with some within its gap."""
    for crop in batches.values():
        for batch in crop:
            if batch.option >= 0 and board.options.way[batch.option] >= 0:
                grams = float(board.options.grams[batch.option])
                spare = math.floor(batch.left / grams + TINY)
                found.trays[batch.option] -= spare
                batch.left -= spare * grams


def _batches(task: Task, board: Board, trays: Ints) -> dict[str, list[Batch]]:
    """The cut crop of each kind, what spoils first being first."""
    options = board.options
    found: dict[str, list[Batch]] = {crop: [] for crop in board.crops}
    for item in task.stock:
        if item.crop in found:
            found[item.crop].append(Batch(harvest=item.harvest, day=0, last=item.last, left=item.grams))
    for option in np.flatnonzero((trays > 0) & (options.how == CUT) & (options.crop >= 0)):
        crop, day = board.crops[options.crop[option]], int(options.leave[option])
        grams = float(options.grams[option] * trays[option])
        found[crop].append(Batch(option=int(option), day=day, last=day + board.life[crop], left=grams))
    for batches in found.values():
        batches.sort(key=lambda batch: (batch.last, batch.day))
    return found


def _in_order(want: Want, lines: list[OpenLine]) -> list[int]:
    """The want's lines: whoever must not be let down first, then small ones, so that most are met in full."""
    return sorted(want.lines, key=lambda n: (-lines[n].line.weight, lines[n].grams, lines[n].line.line))


def _share_grams(
    want: Want, batches: dict[str, list[Batch]], lines: list[OpenLine], found: Allocation, met: float
) -> None:
    for number in _in_order(want, lines):
        grams = min(lines[number].grams, met)
        for crop, share in want.parts:  # a mix is met only as far as its scarcest part
            there = sum(b.left for b in batches[crop] if b.day <= want.day <= b.last)
            grams = min(grams, there / share) if share > 0 else grams
        if grams <= TINY:
            continue
        met -= grams
        found.grams_met[number] += grams
        for crop, share in want.parts:
            found.shares += _draw(batches[crop], want.day, grams * share, number)


def _draw(batches: list[Batch], day: int, grams: float, line: int) -> list[Share]:
    drawn = []
    for batch in batches:
        if batch.day <= day <= batch.last and batch.left > TINY and grams > TINY:
            part = min(batch.left, grams)
            batch.left, grams = batch.left - part, grams - part
            drawn.append(Share(line, batch.option, batch.harvest, part, 0))
    return drawn


def _share_trays(want: Want, board: Board, lines: list[OpenLine], found: Allocation, met: int) -> None:
    options, crop = board.options, board.crops.index(want.parts[0][0])
    leaving = np.flatnonzero((options.how == LIVE) & (options.crop == crop) & (options.first_due == want.day))
    given = {share.option: 0 for share in found.shares}
    for share in found.shares:
        given[share.option] += share.trays
    left = {int(option): int(found.trays[option]) - given.get(int(option), 0) for option in leaving}
    for number in _in_order(want, lines):
        for option in left:
            part = min(left[option], lines[number].trays - int(found.trays_met[number]), met)
            if part > 0:
                left[option] -= part
                met -= part
                found.trays_met[number] += part
                found.shares.append(Share(number, option, "", 0.0, part))


def standing_names(task: Task, board: Board, trays: Ints) -> dict[int, tuple[str, ...]]:
    """Which standing trays each chosen option means, the oldest leaving first."""
    options, found = board.options, {}
    for number, group in enumerate(task.standing):
        left = list(group.trays)
        own = np.flatnonzero((options.standing == number) & (trays > 0))
        for option in sorted(own.tolist(), key=lambda n: (options.how[n] == DISCARD, options.leave[n], n)):
            count = min(math.floor(trays[option]), len(left))
            found[option] = tuple(left[:count])
            left = left[count:]
    return found
