"""Seasons that take no time: figures by plain rules from seed and policy. Other processes import them from here."""

from __future__ import annotations

import os
import random
import signal
import time
from datetime import date, timedelta
from pathlib import Path

from trayward.study.types import BOUND, CEILING, KNOWN, LAW, LEARNING, PRIORS, RULE, Promise, SeasonResult, SeasonTask

FIRST = date(2026, 11, 2)
WORTH = {PRIORS: 40.0, LEARNING: 70.0, LAW: 80.0, KNOWN: 85.0, CEILING: 90.0, BOUND: 100.0}
"""What a policy earns beyond the best rule of thumb."""
MARKS = "TRAYWARD_TEST_MARKS"
"""Names a folder in which seasons leave a mark when they begin."""


def season(task: SeasonTask) -> SeasonResult:
    """A season of 40 days; seeds differ by far more than policies do."""
    chance = random.Random(f"{task.seed} {task.policy} {task.buffer}")
    base = 1000 + random.Random(task.seed).gauss(0, 200)
    gain = -400 * abs(task.buffer - 0.2) if task.policy == RULE else WORTH[task.policy]
    margin = base + gain + chance.gauss(0, 5)
    full = {RULE: 180, PRIORS: 190, LEARNING: 197, LAW: 198, KNOWN: 199, CEILING: 200, BOUND: 200}[task.policy]
    return SeasonResult(
        task=task,
        margin=margin,
        money=margin + 20,
        parts={"sales": margin + 500, "seed": 480.0},
        lines=200,
        full_on_time=full,
        asked_g=40_000.0,
        delivered_g=40_000.0 * full / 200,
        cut_g=44_000.0,
        unsold_g=2000.0 + 8000 * task.buffer,
        by_day=course(task, margin),
        promises=()
        if task.policy in (RULE, CEILING, BOUND)
        else tuple(promise(chance, number) for number in range(200)),
    )


def course(task: SeasonTask, margin: float) -> tuple[float, ...]:
    """Costs on the first two days, then towards the margin; learning is behind the published figures until day 15."""
    if task.policy in (CEILING, BOUND):
        return ()
    late = -30.0 if task.policy == LEARNING else 0.0
    return tuple(-50.0 if day < 2 else margin * day / 39 + (late if day < 15 else 0.0) for day in range(40))


def promise(chance: random.Random, number: int) -> Promise:
    """An honest one."""
    said = 1 - 0.5 * chance.random() ** 2
    due = FIRST + timedelta(days=number % 40)
    return Promise(line=f"L{number}", due=due, days_ahead=number % 20, chance=said, kept=chance.random() < said)


def marked(task: SeasonTask) -> SeasonResult:
    """The same, and it leaves a mark that it began."""
    mark(task)
    return season(task)


def mark(task: SeasonTask) -> Path:
    """Leave a mark that a season began; how often is in its length."""
    path = Path(os.environ[MARKS]) / f"{task.seed} {task.policy} {task.buffer}"
    with path.open("a") as file:
        file.write(f"{os.getpid()}\n")
    return path


def slow(task: SeasonTask) -> SeasonResult:
    """Takes a while, so that something can happen to it."""
    mark(task)
    time.sleep(0.25)
    return season(task)


def failing(task: SeasonTask) -> SeasonResult:
    """Learning fails in seed 2."""
    if (task.seed, task.policy) == (2, LEARNING):
        raise ValueError("the scales broke")
    return season(task)


def dying_once(task: SeasonTask) -> SeasonResult:
    """The process of one season is killed the first time it is lived."""
    path = mark(task)
    if (task.seed, task.policy) == (2, KNOWN) and len(path.read_text().splitlines()) == 1:
        os.kill(os.getpid(), signal.SIGKILL)
    return season(task)


def dying(task: SeasonTask) -> SeasonResult:
    """The process of one season is killed whenever it is lived."""
    if (task.seed, task.policy) == (2, KNOWN):
        os.kill(os.getpid(), signal.SIGKILL)
    return season(task)


def no_number(task: SeasonTask) -> SeasonResult:
    """A season whose margin is no number."""
    return SeasonResult(task=task, margin=float("nan"), money=0.0)
