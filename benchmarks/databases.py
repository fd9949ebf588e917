"""The databases that figures are given for: SQLite in a file, and a real PostgreSQL started for the run.

The server is started as the tests start theirs, but with its own safe settings: a commit waits for the disk.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

from benchmarks.harness import progress

if TYPE_CHECKING:
    from tests.postgres import Server

SAFE: Final = {"listen_addresses": ""}


@contextmanager
def postgres_if_there() -> Iterator[Server | None]:
    """A PostgreSQL that keeps its promises, for as long as the block runs; None, said aloud, where there is none."""
    from tests.postgres import programs, running_server

    if programs() is None:
        progress("PostgreSQL's server programs are not installed, so its rows are left out.")
        yield None
        return
    with running_server(SAFE) as server:
        yield server
