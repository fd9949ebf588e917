"""Long work (a plan, a what-if, what the records say) in a process of its own, so that pages never wait for it.

A feature registers a job in its `work.py`: `job("plan", plan)`, with `plan(farm, at, **asked)` at the module's top.
What it gave is kept for the version of the book and the day it was worked out for; while it is worked out anew the
newest there is can be shown, with the moment it is of.
"""

from __future__ import annotations

import logging
import multiprocessing
import os
import signal
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping
from contextlib import suppress
from datetime import date, datetime
from multiprocessing.connection import Connection
from threading import Condition, Thread
from typing import Any, Generic, Literal, TypeVar

import msgspec

from trayward.bootstrap import Farm
from trayward.errors import NotFoundError, TraywardError
from trayward.web.office import Office

T = TypeVar("T")
Job = Callable[..., Any]

KEPT = 64
"""Results kept; the ones not asked for longest go first."""

START: Literal["spawn", "forkserver"] = "spawn"
"""How the other process is started: never forked from this one, which has threads, and locks in whatever state."""

JOBS: dict[str, Job] = {}
"""Every job by its name."""

log = logging.getLogger("trayward.web")


def job(name: str, function: Job) -> None:
    """Register long work under a name; the function stands at the top of its module, as another process runs it."""
    if JOBS.get(name, function) is not function:
        raise ValueError(f"{name} is a job already")
    JOBS[name] = function


class Long(msgspec.Struct, Generic[T], frozen=True, kw_only=True):
    """How far long work is, and the newest there is of it."""

    value: T | None = None
    """The newest result; None while there is none yet."""
    as_of: datetime | None = None
    """The moment it is of."""
    since: datetime | None = None
    """Since when it is being worked out anew; None: the value is of the book as it is."""
    error: str = ""
    """Why it could not be worked out, in words."""

    @property
    def fresh(self) -> bool:
        """Whether the value is of the book as it is."""
        return self.value is not None and self.since is None


class _Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """Work to do."""

    key: Hashable
    job: str
    at: datetime
    of: tuple[int, date]
    asked: dict[str, Any]


class _Done(msgspec.Struct, frozen=True, kw_only=True):
    of: tuple[int, date]
    at: datetime
    value: Any = None
    error: str = ""


class Work:
    """Runs jobs one after another: in another process, or in a thread where the book is in this one's memory."""

    def __init__(self, office: Office, *, moved: Callable[[], None] = lambda: None) -> None:
        self._office, self.moved = office, moved
        self._changed = Condition()
        self._queue: list[_Wanted] = []
        self._doing: _Wanted | None = None
        self._done: OrderedDict[Hashable, _Done] = OrderedDict()
        self._good: OrderedDict[Hashable, _Done] = OrderedDict()
        self._thread: Thread | None = None
        self._elsewhere: _Elsewhere | None = None
        self._closed = False
        self.finished = 0
        """How many results there were so far: pages that wait for one look at it."""

    def ask(self, name: str, at: datetime, version: int, today: date, asked: Mapping[str, Any]) -> Long[Any]:
        """The result for this version and day, or the newest before it while it is worked out anew."""
        if name not in JOBS:
            raise NotFoundError("job", name, tuple(JOBS))
        key, of = (name, repr(sorted(asked.items()))), (version, today)
        with self._changed:
            done, good = self._done.get(key), self._good.get(key)
            if done is not None and done.of == of:
                self._done.move_to_end(key)
                return Long(value=good.value if good else None, as_of=good.at if good else None, error=done.error)
            wanted = self._want(_Wanted(key=key, job=name, at=at, of=of, asked=dict(asked)))
        return Long(value=good.value if good else None, as_of=good.at if good else None, since=wanted.at)

    def newest(self, name: str, asked: Mapping[str, Any]) -> Long[Any]:
        """The newest result there is, of whatever version of the book; nothing is worked out for it."""
        with self._changed:
            key = (name, repr(sorted(asked.items())))
            done, good = self._done.get(key), self._good.get(key)
        error = done.error if done is not None else ""
        if error and done is not None and (good is None or done.at > good.at):
            return Long(value=good.value if good else None, as_of=done.at, error=error)
        return Long(value=good.value if good else None, as_of=good.at if good else None)

    def _want(self, wanted: _Wanted) -> _Wanted:
        """Queue it; the same for an older book, where it has not begun, is let go. Gives what is waited for."""
        if self._doing is not None and (self._doing.key, self._doing.of) == (wanted.key, wanted.of):
            return self._doing
        waiting = next((one for one in self._queue if one.key == wanted.key), None)
        if waiting is not None:
            newer = msgspec.structs.replace(wanted, at=waiting.at if waiting.of == wanted.of else wanted.at)
            self._queue[self._queue.index(waiting)] = newer
            return newer
        self._queue.append(wanted)
        if self._thread is None and not self._closed:
            self._thread = Thread(target=self._run, name="trayward-work", daemon=True)
            self._thread.start()
        self._changed.notify_all()
        return wanted

    def wait(self, seconds: float) -> bool:
        """Wait until nothing is left to do; False where that took longer. For tests and scripts."""
        with self._changed:
            return self._changed.wait_for(lambda: not self._queue and self._doing is None, seconds)

    def close(self) -> None:
        """Stop, and end the other process, whatever it is at."""
        with self._changed:
            self._closed = True
            self._queue.clear()
            self._changed.notify_all()
        if self._elsewhere is not None:
            self._elsewhere.end()
        if self._thread is not None:
            self._thread.join(5)

    def _run(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: bool(self._queue) or self._closed)
                if self._closed:
                    return
                self._doing = self._queue.pop(0)
            done = self._work_out(self._doing)
            with self._changed:
                self._keep(self._doing.key, done)
                self._doing = None
                self._changed.notify_all()
            if not self._closed:
                self.moved()

    def _work_out(self, wanted: _Wanted) -> _Done:
        try:
            value = self._here(wanted) if self._office.url is None else self._there(wanted)
            return _Done(of=wanted.of, at=wanted.at, value=value)
        except TraywardError as error:
            return _Done(of=wanted.of, at=wanted.at, error=str(error))
        except Exception:
            if not self._closed:
                log.exception("%s could not be worked out", wanted.job)
            return _Done(of=wanted.of, at=wanted.at, error="This could not be worked out. The fault is ours.")

    def _here(self, wanted: _Wanted) -> Any:
        self._office.take()
        try:
            return JOBS[wanted.job](self._office.farm, wanted.at, **wanted.asked)
        finally:
            self._office.give_back()

    def _there(self, wanted: _Wanted) -> Any:
        assert self._office.url is not None
        if self._elsewhere is None or not self._elsewhere.alive:
            self._elsewhere = _Elsewhere(self._office.url)
        return self._elsewhere.run(JOBS[wanted.job], wanted.at, wanted.asked)

    def _keep(self, key: Hashable, done: _Done) -> None:
        self.finished += 1
        for kept, keep in ((self._done, True), (self._good, not done.error)):
            if keep:
                kept[key] = done
                kept.move_to_end(key)
            while len(kept) > KEPT:
                kept.popitem(last=False)


class _Elsewhere:
    """The other process: takes (function, at, asked), gives (True, value) or (False, error)."""

    def __init__(self, url: str) -> None:
        # Asked for by either name: each gives a type of its own.
        forked = START == "forkserver"
        context = multiprocessing.get_context("forkserver") if forked else multiprocessing.get_context("spawn")
        self._line, theirs = context.Pipe()
        self._process = context.Process(target=_serve, args=(theirs, url), name="trayward-work", daemon=True)
        self._process.start()
        self._broken = False
        theirs.close()

    @property
    def alive(self) -> bool:
        return not self._broken and self._process.is_alive()

    def run(self, function: Job, at: datetime, asked: dict[str, Any]) -> Any:
        try:
            self._line.send((function, at, asked))
            good, value = self._line.recv()
        except (EOFError, OSError):
            # It has died; the system may take a moment to say so.
            self._broken = True
            raise
        if not good:
            raise value
        return value

    def end(self) -> None:
        with suppress(OSError):
            self._line.close()
        self._process.terminate()
        self._process.join(5)


def _serve(line: Connection, url: str) -> None:
    """The other process's life: one job after another, until the line ends."""
    # Ctrl-C on the terminal reaches every process of it; the pages end this one themselves.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with suppress(OSError, AttributeError):
        os.nice(5)
    with Farm.open(url) as farm:
        while True:
            try:
                function, at, asked = line.recv()
            except EOFError:
                return
            line.send(_outcome(function, farm, at, asked))


def _outcome(function: Job, farm: Farm, at: datetime, asked: dict[str, Any]) -> tuple[bool, Any]:
    try:
        return True, function(farm, at, **asked)
    except TraywardError as error:
        # As plain words: not every error of ours can be rebuilt by pickle from its arguments.
        return False, TraywardError(str(error))
    except Exception as error:
        return False, RuntimeError(f"{type(error).__name__}: {error}")
