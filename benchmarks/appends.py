"""How many entries a second the book keeps durably, with one writer and with twenty.

An append counts once it is acknowledged, that is on the disk. Peers keep the same bytes in the same run on the same
disk: a bare file with a wait for the disk after each line (a bound: no guard, no index, no chain), and a bare table of
the same database, one row a transaction, every writer on a connection of its own. "Through the desk" also checks each
entry against the farm's state, as every face does.
"""

from __future__ import annotations

import multiprocessing
import os
import sqlite3
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, closing, contextmanager
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from statistics import median
from threading import Barrier, Thread
from typing import Any, Final

from benchmarks import filled
from benchmarks.databases import postgres_if_there
from benchmarks.harness import Figure, progress, run
from trayward.farm.codec import encode_entry
from trayward.farm.entries import Entry, RoundAnswered

SIZES: Final = ("1", "20")
"""Writers at once."""
PROCESSES: Final = 4
SECONDS: Final = 1.5
TURNS: Final = 3
"""How often a writer and its peer take turns, so that a slow moment of the machine strikes both."""
START: Final = datetime(2026, 1, 5, 7, tzinfo=UTC)
DESK_BOOK: Final = "10k"
"""The farm that the desk's entries are checked against."""

Act = Callable[[], object]


def figures(sizes: Iterable[str] = SIZES, seconds: float = SECONDS) -> list[Figure]:
    """Durable appends a second, on SQLite and PostgreSQL, beside bare writes of the same bytes."""
    found = []
    for size in sizes:
        writers = int(size)
        with tempfile.TemporaryDirectory(prefix="tray-bench-") as folder:
            found += _sqlite(Path(folder), writers, seconds)
    with postgres_if_there() as server:
        if server is not None:
            for size in sizes:
                found += _beside("PostgreSQL", server.fresh(), server.fresh(), int(size), seconds)
    return found


def _sqlite(folder: Path, writers: int, seconds: float) -> list[Figure]:
    found = _beside("SQLite", str(folder / "farm.sqlite"), str(folder / "bare.sqlite"), writers, seconds)
    if writers == 1:
        found.append(_beside_file(folder, seconds))
        found.append(_through_desk(folder, seconds))
    return found


def _beside(database: str, book: str, bare: str, writers: int, seconds: float) -> list[Figure]:
    """The book beside a bare table of the same database: writers in one process, and spread over several."""
    from trayward.store import open_book

    open_book(book, create=True).close()
    _make_bare(bare)
    found = []
    for processes in (1, PROCESSES) if writers > 1 else (1,):
        size = f"{writers} writer{'s' * (writers > 1)}, {processes} process{'es' * (processes > 1)}, {database}"
        progress(f"appends: {size}")
        mine, theirs = _turns(
            lambda n=processes: _rate("book", book, writers, n, seconds),
            lambda n=processes: _rate("bare", bare, writers, n, seconds),
        )
        found.append(Figure("durable appends", size, mine, "1/s", "bare insert, own transaction", theirs))
    return found


def _beside_file(folder: Path, seconds: float) -> Figure:
    book, file = str(folder / "farm.sqlite"), str(folder / "lines")
    progress("appends: 1 writer beside a bare file")
    mine, theirs = _turns(lambda: _rate("book", book, 1, 1, seconds), lambda: _rate("file", file, 1, 1, seconds))
    return Figure("durable appends", "1 writer, 1 process, SQLite", mine, "1/s", "bare file, append and fsync", theirs)


def _through_desk(folder: Path, seconds: float) -> Figure:
    farm, book = str(filled.book_copy(DESK_BOOK, folder)), str(folder / "farm.sqlite")
    progress("appends: 1 writer through the desk")
    mine, theirs = _turns(lambda: _rate("desk", farm, 1, 1, seconds), lambda: _rate("book", book, 1, 1, seconds))
    size = f"1 writer, book of {filled.size_words(DESK_BOOK)}, SQLite"
    return Figure("answers recorded through the desk", size, mine, "1/s", "append without the desk", theirs)


def _turns(act: Callable[[], float], peer: Callable[[], float]) -> tuple[float, float]:
    """Medians of two rates, measured turn about. [1/s]"""
    pairs = [(act(), peer()) for _ in range(TURNS)]
    return median(mine for mine, _ in pairs), median(theirs for _, theirs in pairs)


# Writers --------------------------------------------------------------------------------------------------------------


def _rate(what: str, where: str, writers: int, processes: int, seconds: float) -> float:
    """How often a second that many writers together do it, spread over some processes. [1/s]"""
    if processes == 1:
        return _in_threads(what, where, writers, seconds, lambda: None)
    fresh = multiprocessing.get_context("spawn")
    ready, told = fresh.Barrier(processes), fresh.SimpleQueue()
    share = writers // processes
    crew = [
        fresh.Process(target=_in_a_process, args=(what, where, share, seconds, ready, told)) for _ in range(processes)
    ]
    for one in crew:
        one.start()
    rates = [told.get() for _ in crew]
    for one in crew:
        one.join()
    return sum(rates)


def _in_a_process(what: str, where: str, writers: int, seconds: float, ready: Any, told: Any) -> None:
    told.put(_in_threads(what, where, writers, seconds, ready.wait))


def _in_threads(what: str, where: str, writers: int, seconds: float, wait: Callable[[], object]) -> float:
    """The same within one process, every writer a thread; begins when the other processes are ready too. [1/s]"""
    done = [0] * writers
    together = Barrier(writers + 1)
    with ACTS[what](where) as hand:
        acts = [hand() for _ in range(writers)]

        def write(number: int) -> None:
            act = acts[number]
            act()
            together.wait()
            end = time.perf_counter() + seconds
            while time.perf_counter() < end:
                act()
                done[number] += 1

        crew = [Thread(target=write, args=(number,)) for number in range(writers)]
        for one in crew:
            one.start()
        wait()
        together.wait()
        began = time.perf_counter()
        for one in crew:
            one.join()
        return sum(done) / (time.perf_counter() - began)


def _answers() -> Iterator[Entry]:
    """Answers of a round without an end, each with an id of its own."""
    stamp = f"{os.getpid()}-{time.monotonic_ns()}"
    for number in count():
        at = START + timedelta(milliseconds=number)
        body = RoundAnswered(trays=("260105A.1",), round="2026-01-05 morning", moisture="moist", cue="not yet")
        yield Entry(id=f"m-{stamp}-{number:07d}", at=at, recorded=at, by="ida", body=body)


def _lines() -> Iterator[bytes]:
    """The same answers as the bytes the book keeps."""
    return (encode_entry(entry) for entry in _answers())


@contextmanager
def _book(where: str) -> Iterator[Callable[[], Act]]:
    """Writers that share one open book, as phones share the program they talk to."""
    from trayward.store import open_book

    with open_book(where) as book:

        def hand() -> Act:
            said = _answers()
            return lambda: book.append([next(said)])

        yield hand


@contextmanager
def _bare(where: str) -> Iterator[Callable[[], Act]]:
    """Writers into a bare table, each with its own connection, each row in its own transaction."""
    with ExitStack() as stack:

        def hand() -> Act:
            connection, insert = _bare_connection(where)
            stack.enter_context(closing(connection))
            said = _lines()
            return lambda: connection.execute(insert, (next(said).decode(),))

        yield hand


@contextmanager
def _file(where: str) -> Iterator[Callable[[], Act]]:
    """Writers of a bare file."""
    with Path(where).open("ab", buffering=0) as file:

        def hand() -> Act:
            said = _lines()

            def act() -> None:
                file.write(next(said) + b"\n")
                os.fsync(file.fileno())

            return act

        yield hand


@contextmanager
def _desk(where: str) -> Iterator[Callable[[], Act]]:
    """One grower who answers for one tray after another."""
    from trayward import Farm

    with Farm.open(where) as farm:
        start = (farm.book.head().horizon or START) + timedelta(minutes=5)
        growing = [tray.tray for tray in farm.state(start).growing()]
        numbers = count()

        def act() -> None:
            number = next(numbers)
            said = RoundAnswered(trays=(growing[number % len(growing)],), round="measuring", moisture="moist")
            farm.record(said, at=start + timedelta(milliseconds=number))

        yield lambda: act


ACTS: Final = {"book": _book, "bare": _bare, "file": _file, "desk": _desk}


def _bare_connection(where: str) -> tuple[Any, str]:
    """A connection on which every statement is a durable transaction, and how to insert a line on it."""
    if "://" in where:
        import psycopg

        return psycopg.connect(where, autocommit=True), "INSERT INTO bare (canonical) VALUES (%s)"
    connection = sqlite3.connect(where, timeout=60, isolation_level=None, check_same_thread=False)
    connection.execute("PRAGMA synchronous = FULL")
    return connection, "INSERT INTO bare (canonical) VALUES (?)"


def _make_bare(where: str) -> None:
    connection, _ = _bare_connection(where)
    number = "BIGINT GENERATED ALWAYS AS IDENTITY" if "://" in where else "INTEGER"
    with closing(connection):
        if "://" not in where:
            connection.execute("PRAGMA journal_mode = WAL")
        connection.execute(f"CREATE TABLE bare (seq {number} PRIMARY KEY, canonical TEXT NOT NULL)")


if __name__ == "__main__":
    run(figures, SIZES)
