"""Seasons lived side by side in processes of this machine.

Each process has one season at a time, so that it is known whose process died. What died is tried again in a new one.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import time
import traceback
from collections import Counter, deque
from collections.abc import Callable, Generator, Sequence
from contextlib import contextmanager
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess

import msgspec

from trayward.errors import TraywardError
from trayward.study.types import SeasonResult, SeasonTask

Run = Callable[[SeasonTask], SeasonResult]
TRIES = 3
"""How often a season is begun whose process ends under it."""
PATIENCE = 5.0
"""How long a process that was told to end is waited for. [s]"""


class Ended(msgspec.Struct, frozen=True, kw_only=True):
    """A season that is over: its result, or why there is none."""

    task: SeasonTask
    result: SeasonResult | None = None
    error: str = ""
    trace: str = ""
    seconds: float = 0.0
    """How long it took. [s]"""


def lived(run: Run, task: SeasonTask) -> Ended:
    """Live through a season; whatever goes wrong in it becomes words, so that the study goes on."""
    began = time.perf_counter()
    try:
        result = run(task)
    except Exception as error:
        said = str(error) if isinstance(error, TraywardError) else f"{type(error).__name__}: {error}"
        return Ended(task=task, error=said, trace=traceback.format_exc(), seconds=time.perf_counter() - began)
    return Ended(task=task, result=msgspec.structs.replace(result, task=task), seconds=time.perf_counter() - began)


def here(tasks: Sequence[SeasonTask], run: Run) -> Generator[Ended]:
    """Live through seasons one after another, in this process."""
    for task in tasks:
        yield lived(run, task)


def side_by_side(tasks: Sequence[SeasonTask], run: Run, workers: int) -> Generator[Ended]:
    """Live through seasons in so many processes; gives each as it ends. They end with the iterator."""
    left, deaths = deque(tasks), Counter[SeasonTask]()
    busy: list[_Worker] = []
    try:
        while left or busy:
            while left and len(busy) < workers:
                busy.append(_Worker(run, left.popleft()))
            for worker in _ready(busy):
                ended = worker.ended()
                if ended is None:
                    deaths[worker.task] += 1
                    ended = _died(worker, deaths[worker.task], left)
                if worker.alive and left:
                    worker.begin(left.popleft())
                else:
                    busy.remove(worker)
                    worker.stop()
                if ended is not None:
                    yield ended
    finally:
        for worker in busy:
            worker.kill()


def _ready(busy: Sequence[_Worker]) -> list[_Worker]:
    ready = set(wait([worker.pipe for worker in busy]))
    return [worker for worker in busy if worker.pipe in ready]


def _died(worker: _Worker, times: int, left: deque[SeasonTask]) -> Ended | None:
    """Put a season whose process ended under it back to be lived, or give it up."""
    if times < TRIES:
        left.appendleft(worker.task)
        return None
    code = worker.process.exitcode or 0
    how = f"killed by {signal.Signals(-code).name}" if code < 0 else f"exit code {code}"
    return Ended(task=worker.task, error=f"its process ended {times} times before the season did ({how})")


class _Worker:
    """A process, the pipe to it, and the season it is at."""

    def __init__(self, run: Run, task: SeasonTask) -> None:
        # Spawned, never forked: the caller may have threads, and a fork would copy their locks as they stand.
        context = multiprocessing.get_context("spawn")
        self.pipe, theirs = context.Pipe()
        self.process: SpawnProcess = context.Process(target=_work, args=(theirs, run), daemon=True)
        with _no_interrupt():
            self.process.start()
        theirs.close()
        self.alive = True
        self.begin(task)

    def begin(self, task: SeasonTask) -> None:
        """Hand it a season. That it died in between is found out when its answer is read."""
        self.task = task
        try:
            self.pipe.send(task)
        except OSError:
            self.alive = False

    def ended(self) -> Ended | None:
        """What came of its season; None if the process is gone."""
        try:
            ended = self.pipe.recv()
        except (EOFError, OSError):
            self.alive = False
            self.process.join(PATIENCE)
            return None
        assert isinstance(ended, Ended)
        return ended

    def stop(self) -> None:
        """Let it end: with its pipe closed it has nothing more to wait for."""
        self.pipe.close()
        self.process.join(PATIENCE)
        if self.process.is_alive():
            self.kill()

    def kill(self) -> None:
        """End it in the middle of a season."""
        self.process.kill()
        self.process.join(PATIENCE)
        self.pipe.close()


@contextmanager
def _no_interrupt() -> Generator[None]:
    """Hold Ctrl-C back for a moment: a process that begins is held back too, until it has made up its own mind."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _work(pipe: Connection, run: Run) -> None:
    # Ctrl-C reaches every process of the terminal; the first of them decides, the others must not talk over it.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # Before anything loads numpy: as on the command line, and as there are as many processes as cores.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    while True:
        try:
            pipe.send(lived(run, pipe.recv()))
        except (EOFError, OSError):
            return
