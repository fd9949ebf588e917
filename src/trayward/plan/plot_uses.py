"""What the choices of a crop take up: which limits, how much of each, on which days of which scenario."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from trayward.farm.recipes import KitNeed, Recipe, Stage
from trayward.farm.settings import FarmSettings
from trayward.plan.build import Task
from trayward.plan.days import Floats, Ints
from trayward.plan.futures import Futures
from trayward.plan.limits import DARK, HANDS, LIT, OFF, CleanAgain
from trayward.plan.plots import Halves
from trayward.plan.uses import CUT, DISCARD, LEAST_OFF, LIVE
from trayward.plan.ways import Way

AGAIN = 0.25
"""Sowing a second time in a day, in the evening, takes so much longer: things are set out and cleared away twice. Our
choice. [-]"""


class Growing(NamedTuple):
    """What plots are laid out from: what is asked for, the ways to grow it, and how that may go."""

    task: Task
    ways: Sequence[Way]
    futures: Futures
    settings: FarmSettings
    counted: int
    """In so many of the scenarios, the first, it is worked out what choices take up."""


class Piece(NamedTuple):
    """Choices of one way or group that leave in one manner."""

    way: int
    group: int
    evening: bool
    sow: Ints
    stand: int
    how: int
    due: Ints
    begins: Ints
    """(s, n, stages)"""
    late: Ints
    """1 where a stage begins in the evening (s, n, stages)."""
    leave: Ints
    """(s, n)"""
    grams: Floats
    first: Ints
    last: Ints
    upper: Floats


def taken_up(growing: Growing, pieces: Sequence[Piece]) -> dict[int, Halves]:
    """Limit -> how much of it each choice takes up, on each day, in each scenario that is counted (n, s, days)."""
    taking = _Taking(growing, sum(len(piece.upper) for piece in pieces))
    at = 0
    some = slice(0, growing.counted)
    for piece in pieces:
        taking.piece(at, piece._replace(begins=piece.begins[some], late=piece.late[some], leave=piece.leave[some]))
        at += len(piece.upper)
    return {limit: spans.table() for limit, spans in taking.spans.items()}


class _Taking:
    """Collects what pieces take up."""

    def __init__(self, growing: Growing, count: int) -> None:
        self.growing, self.count = growing, count
        self.days, self.limits = growing.task.days, growing.task.limits
        self.spans: dict[int, _Spans] = {}
        self.looks = len(growing.settings.rounds)

    def add(self, limit: int, at: int, first: Ints, until: Ints, amount: float) -> None:
        if amount > 0:
            size = self.growing.counted, self.days.count
            self.spans.setdefault(limit, _Spans(self.count, *size)).add(at, first, until, amount)

    def on_day(self, at: int, day: Ints, minutes: float) -> None:
        """Work that only a working day may hold; on another it counts against the days off."""
        days = self.days
        worked = days.open[np.clip(day, 0, len(days.open) - 1)]
        far = np.full_like(day, days.count)
        self.add(HANDS, at, np.where(worked, day, far), np.where(worked, day + 1, far), minutes)
        if not worked.all():
            self.add(OFF, at, np.where(worked, far, day), np.where(worked, far, day + 1), max(minutes, LEAST_OFF))

    def piece(self, at: int, piece: Piece) -> None:
        growing = self.growing
        group = growing.futures.stood[piece.group] if piece.group >= 0 else None
        recipe = group.recipe if group is not None else growing.ways[piece.way].recipe
        stages = group.stages if group is not None else recipe.stages
        self._spots(at, piece, stages)
        self._hands(at, piece, recipe, stages, new=group is None)
        if group is None:
            for need in recipe.kit:
                self._kit(at, piece, stages, need, need.each)
        else:
            self._held(at, piece, recipe, stages, dict(group.held))

    def _end(self, piece: Piece, stage: int) -> Ints:
        last = piece.begins.shape[-1] - 1
        return piece.leave if stage == last else np.minimum(piece.begins[..., stage + 1], piece.leave)

    def _spots(self, at: int, piece: Piece, stages: Sequence[Stage]) -> None:
        for number, stage in enumerate(stages):
            if stage.ground != "bench":
                share = self.limits.position_share(stage.ground, stage.stack)
                limit = DARK if stage.ground == "dark" else LIT
                end = self._end(piece, number)
                self.add(limit, at, piece.begins[..., number], end, share)
                if limit in self.limits.by_day:
                    first = piece.begins[..., number] + piece.late[..., number]
                    self.add(self.limits.by_day[limit], at, first, end + self._goes_late(piece, number, end), share)

    @staticmethod
    def _goes_late(piece: Piece, stage: int, end: Ints) -> Ints:
        """1 where a tray stands in a stage until the evening of the day it goes on."""
        if stage + 1 == piece.begins.shape[-1]:
            return np.zeros_like(end)
        late: Ints = np.where(end == piece.begins[..., stage + 1], piece.late[..., stage + 1], 0)
        return late

    def _hands(self, at: int, piece: Piece, recipe: Recipe, stages: Sequence[Stage], *, new: bool) -> None:
        first = piece.begins[..., 0]
        self.add(HANDS, at, first, piece.leave, recipe.minutes_look * self.looks)
        for number, stage in enumerate(stages):
            if stage.minutes and (new or number):
                self.add(HANDS, at, piece.begins[..., number], piece.begins[..., number] + 1, stage.minutes)
        if new:
            self.on_day(at, first, recipe.minutes_sow * (1 + AGAIN * piece.evening))
        if piece.how == CUT:
            self.on_day(at, piece.leave, recipe.minutes_cut + recipe.minutes_wash)
        elif piece.how == DISCARD:
            self.on_day(at, self.days.next_open(piece.leave), recipe.minutes_wash)

    def _kit(
        self, at: int, piece: Piece, stages: Sequence[Stage], need: KitNeed, each: int, *, now: bool = False
    ) -> None:
        limits, days = self.limits, self.days
        numbers = [count for count, stage in enumerate(stages) if not need.stages or stage.name in need.stages]
        if not numbers or need.pool not in limits.pool_number or each <= 0:
            return
        pool, number, last = limits.pools[need.pool], limits.pool_number[need.pool], numbers[-1]
        first = np.zeros_like(piece.leave) if now else piece.begins[..., numbers[0]]
        later = np.zeros_like(piece.leave) if now else piece.late[..., numbers[0]]
        if piece.how == LIVE and last == len(stages) - 1:
            far = np.full_like(piece.leave, days.count)
            clean = CleanAgain(far, far)
        else:
            end = self._end(piece, last)
            washed = days.next_open(end)
            clean = limits.drying.again(pool, washed, self._goes_late(piece, last, end) * (washed == end))
            if pool.minutes_wash:
                self.add(HANDS, at, washed, washed + 1, each * pool.minutes_wash)
        if number in limits.by_day:
            self.add(limits.by_day[number], at, first + later, clean.by_day, float(each))
            self.add(number, at, first, clean.by_night, float(each))
        else:
            self.add(number, at, first, clean.by_day, float(each))

    def _held(self, at: int, piece: Piece, recipe: Recipe, stages: Sequence[Stage], left: dict[str, int]) -> None:
        """Kit of standing trays: what they hold now as long as the recipe says, and what later stages will need."""
        present = stages[0].name
        for need in recipe.kit:
            if not need.stages or present in need.stages:
                each = min(left.get(need.pool, 0), need.each)
                left[need.pool] = left.get(need.pool, 0) - each
                self._kit(at, piece, stages, need, each, now=True)
            else:
                self._kit(at, piece, stages, need, need.each)
        for pool, count in left.items():
            self._kit(at, piece, stages, KitNeed(pool=pool, each=count), count, now=True)


class _Spans:
    """Spans of days of one limit, for all choices and scenarios; put together only at the end, all at once."""

    def __init__(self, count: int, scenarios: int, days: int) -> None:
        self.shape, self.days = (count, scenarios), days
        self.spans: list[tuple[int, Ints, Ints, float]] = []

    def add(self, at: int, first: Ints, until: Ints, amount: float) -> None:
        """From `first` to before `until` (s, n), for the choices from number `at` on."""
        self.spans.append((at, first, until, amount))

    def table(self) -> Halves:
        """(n, s, days), as the sums of steps up and down."""
        count, scenarios = self.shape
        sizes = [first.shape[1] for _, first, _, _ in self.spans]
        choice = np.concatenate(
            [np.arange(span[0], span[0] + size) for span, size in zip(self.spans, sizes, strict=True)]
        )
        amount = np.broadcast_to(np.repeat([span[3] for span in self.spans], sizes), (scenarios, len(choice))).ravel()
        first = np.clip(np.concatenate([span[1] for span in self.spans], axis=1), 0, self.days)
        until = np.maximum(first, np.clip(np.concatenate([span[2] for span in self.spans], axis=1), 0, self.days))
        base = (choice[None, :] * scenarios + np.arange(scenarios)[:, None]) * (self.days + 1)
        size = count * scenarios * (self.days + 1)
        steps = np.bincount((base + first).ravel(), weights=amount, minlength=size)
        steps -= np.bincount((base + until).ravel(), weights=amount, minlength=size)
        table = steps.reshape(count, scenarios, self.days + 1).cumsum(axis=2)[:, :, : self.days]
        return table.astype(np.float32)
