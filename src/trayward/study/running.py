"""A season study: which seasons are lived, where, and how far it is."""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Callable, Generator, Sequence
from contextlib import closing

import msgspec

from trayward.errors import InputError
from trayward.study.kept_seasons import KeptSeasons
from trayward.study.running_local import Ended, Run, here, side_by_side
from trayward.study.types import BOUND, CEILING, KNOWN, LAW, LEARNING, PRIORS, RULE, SeasonResult, SeasonTask

POLICIES = (RULE, PRIORS, LEARNING, LAW, KNOWN, CEILING, BOUND)
BUFFERS = (-0.5, -0.4, -0.3, -0.2, -0.1, 0.0, 0.1, 0.2, 0.3)
"""Shares sown beyond what is due, of which the rule of thumb has the best in hindsight. Where hands are dear and crop
keeps, sowing less than is due and cutting what is there comes out best. [-]"""
BOUND_SECONDS = 180.0
"""How long the bound of one season may be worked on. It holds whenever it is stopped; it only gets closer. [s]"""


def live(task: SeasonTask, *, bound_seconds: float = BOUND_SECONDS) -> SeasonResult:
    """Live through a season by its policy, or work out the most that anybody could earn in it."""
    if task.policy == BOUND:
        from trayward.study.bound import all_knowing
        from trayward.study.world_file import world_named

        return all_knowing(world_named(task.world), task.seed, seconds=bound_seconds)
    if task.policy == CEILING:
        from trayward.study.ceiling import luck_unknown
        from trayward.study.world_file import world_named

        return luck_unknown(world_named(task.world), task.seed, seconds=bound_seconds)
    from trayward.study.season import run_season

    return run_season(task)


def season_tasks(
    world: str, seeds: Sequence[int], *, policies: Sequence[str] = POLICIES, buffers: Sequence[float] = BUFFERS
) -> list[SeasonTask]:
    """
    The seasons of a study, seed by seed, so that one that is broken off has whole seeds.

    Parameters
    ----------
    world : str
        Name of a shipped world, or path of a world file.
    seeds : sequence of int
        One hidden truth each; every policy lives through all of them.
    policies : sequence of str
        Some of `POLICIES`.
    buffers : sequence of float
        Of the rule of thumb. [-]

    Raises
    ------
    InputError
        If there is no such policy.
    """
    for name in policies:
        if name not in POLICIES:
            raise InputError("policy", name, "there is none of that name", f"There are: {', '.join(POLICIES)}.")
    return [
        SeasonTask(world=world, seed=seed, policy=policy, buffer=buffer)
        for seed in seeds
        for policy in dict.fromkeys(policies)
        for buffer in (buffers if policy == RULE else (0.0,))
    ]


class Failed(msgspec.Struct, frozen=True, kw_only=True):
    """A season that nothing came of, and why."""

    task: SeasonTask
    error: str
    trace: str = ""

    @property
    def sentence(self) -> str:
        """Which season it was, and what went wrong."""
        return f"{season_words(self.task)}: {self.error}"


class Study(msgspec.Struct, frozen=True, kw_only=True):
    """What came of the seasons, in the order they were asked for, whichever ended first."""

    results: tuple[SeasonResult, ...]
    failed: tuple[Failed, ...] = ()


class Progress(msgspec.Struct, frozen=True, kw_only=True):
    """How far a study is."""

    done: int
    asked: int
    kept_before: int
    """Of those done: kept from an earlier run."""
    failed: int
    seconds_left: float | None
    """None: not known yet. [s]"""
    last: Failed | None = None
    """The season that has just ended, if nothing came of it."""

    @property
    def words(self) -> str:
        """`12 of 40 seasons done, about 25 min left`."""
        failed = f", {self.failed} failed" if self.failed else ""
        if self.done == self.asked:
            return f"{self.done} of {self.asked} seasons done{failed}"
        return f"{self.done} of {self.asked} seasons done{failed}, {left_words(self.seconds_left)}"


Tell = Callable[[Progress], None]


def run_all(
    tasks: Sequence[SeasonTask],
    *,
    run: Run = live,
    keep: KeptSeasons | None = None,
    workers: int = 1,
    scheduler: str = "",
    tell: Tell = lambda _: None,
) -> Study:
    """
    Live through seasons, and give what came of them.

    Parameters
    ----------
    tasks : sequence of SeasonTask
        Seasons to live through; those that are kept already are not lived again.
    run : callable
        What lives through one. A pure function of its task, which other processes can import.
    keep : KeptSeasons
        Where each season is written down as soon as it is over; None: nowhere.
    workers : int
        Processes of this machine; 1: this one. [-] Valid from 1.
    scheduler : str
        Address of a Dask scheduler, to have the seasons lived by its workers instead.
    tell : callable
        Is told how far it is, after each season.

    Returns
    -------
    Study
        The same, whoever lived through the seasons and whichever ended first.

    Raises
    ------
    InputError
        If there are fewer than 1 workers, or the scheduler cannot be used.
    """
    if workers < 1:
        raise InputError("workers", workers, "must be 1 or more", "Leave it out to use every core.")
    asked = list(dict.fromkeys(tasks))
    found = keep.found(asked) if keep is not None else {}
    failed: dict[SeasonTask, Failed] = {}
    left = [task for task in asked if task not in found]
    clock = _Clock(len(asked), left)
    tell(clock.progress(None, 0))
    with closing(_lived(left, run, workers, scheduler)) as ends:
        for ended in map(_sound, ends):
            if ended.result is None:
                failed[ended.task] = Failed(task=ended.task, error=ended.error, trace=ended.trace)
            else:
                found[ended.task] = ended.result
                if keep is not None:
                    keep.keep(ended.result)
            tell(clock.progress(ended, len(failed), failed.get(ended.task)))
    return Study(
        results=tuple(found[task] for task in asked if task in found),
        failed=tuple(failed[task] for task in asked if task in failed),
    )


def _lived(tasks: Sequence[SeasonTask], run: Run, workers: int, scheduler: str) -> Generator[Ended]:
    if scheduler and tasks:
        from trayward.study.running_dask import on_scheduler

        return on_scheduler(tasks, run, scheduler)
    if workers == 1 or len(tasks) < 2:
        return here(tasks, run)
    return side_by_side(tasks, run, workers)


def _sound(ended: Ended) -> Ended:
    """A season whose figures are no numbers has failed: one of them would spoil every mean."""
    result = ended.result
    if result is None or all(map(math.isfinite, (result.margin, result.money, *result.by_day))):
        return ended
    return Ended(task=ended.task, seconds=ended.seconds, error="its margin is not a number")


# How long it takes ----------------------------------------------------------------------------------------------------


class _Clock:
    """How long the seasons of each policy took so far, and so how long the rest will take."""

    def __init__(self, asked: int, left: Sequence[SeasonTask]) -> None:
        self.asked, self.left = asked, Counter(task.policy for task in left)
        self.kept = asked - len(left)
        self.began = time.monotonic()
        self.took: dict[str, list[float]] = {}

    def progress(self, ended: Ended | None, failed: int, last: Failed | None = None) -> Progress:
        """How far it is, now that this season has ended too."""
        if ended is not None:
            self.took.setdefault(ended.task.policy, []).append(ended.seconds)
            self.left[ended.task.policy] -= 1
        return Progress(
            done=self.asked - self.left.total(),
            asked=self.asked,
            kept_before=self.kept,
            failed=failed,
            seconds_left=self._seconds_left(),
            last=last,
        )

    def _seconds_left(self) -> float | None:
        """Work that is left, over how many seconds of work a second has brought; one not seen yet is a slow one."""
        if not self.took:
            return None
        mean = {policy: sum(took) / len(took) for policy, took in self.took.items()}
        work = sum(number * mean.get(policy, max(mean.values())) for policy, number in self.left.items())
        done = sum(map(sum, self.took.values()))
        return work * (time.monotonic() - self.began) / max(done, 1e-9)


def left_words(seconds: float | None) -> str:
    """
    A time that is left, in plain words.

    Examples
    --------
    >>> left_words(7500), left_words(100), left_words(20)
    ('about 2 h 5 min left', 'about 2 min left', 'less than a minute left')
    >>> left_words(None)
    'time left not known yet'
    """
    if seconds is None:
        return "time left not known yet"
    minutes = round(seconds / 60)
    if minutes < 1:
        return "less than a minute left"
    if minutes < 60:
        return f"about {minutes} min left"
    hours, rest = divmod(minutes if minutes < 600 else 60 * round(minutes / 60), 60)
    return f"about {hours} h {rest} min left" if rest else f"about {hours} h left"


def season_words(task: SeasonTask) -> str:
    """
    Which season it is.

    Examples
    --------
    >>> season_words(SeasonTask(world="loft", seed=3, policy="rule of thumb", buffer=0.2))
    'rule of thumb with 20 % more, seed 3 of loft'
    """
    more = f" with {task.buffer * 100:g} % more" if task.policy == RULE else ""
    return f"{task.policy}{more}, seed {task.seed} of {task.world}"
