"""A real PostgreSQL for the tests: started in the run, an empty database for each test, gone afterwards.

Where the programs of a PostgreSQL server are not installed, tests that need one are skipped; under CI they fail.
"""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

SETTINGS = {
    "listen_addresses": "",
    # The server is thrown away after the run: nothing in it has to survive a power cut.
    "fsync": "off",
    "full_page_writes": "off",
    "autovacuum": "off",
}


class Server:
    """A running server, reached by a socket in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._numbers = count(1)
        self._free: list[str] = []

    def url(self, database: str) -> str:
        return f"postgresql://postgres@/{database}?host={self._folder}"

    def fresh(self) -> str:
        """The URL of an empty database."""
        if self._free:
            return self._free.pop()
        name = f"farm_{next(self._numbers)}"
        self._say("postgres", f"CREATE DATABASE {name}")
        return self.url(name)

    def give_back(self, url: str) -> None:
        """Empty a database for the next test; making a whole new one costs twenty times as much."""
        name = url.partition("@/")[2].partition("?")[0]
        others = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database()"
        self._say(name, f"{others} AND pid <> pg_backend_pid()", "DROP SCHEMA public CASCADE", "CREATE SCHEMA public")
        self._free.append(url)

    def _say(self, database: str, *statements: str) -> None:
        import psycopg

        with psycopg.connect(f"host={self._folder} user=postgres dbname={database}", autocommit=True) as connection:
            for statement in statements:
                connection.execute(statement)


def programs() -> Path | None:
    """The folder of PostgreSQL's own programs; Debian keeps them off the path."""
    found = shutil.which("initdb")
    if found:
        return Path(found).parent
    folders = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return folders[-1].parent if folders else None


@contextmanager
def running_server(settings: Mapping[str, str] = MappingProxyType(SETTINGS)) -> Iterator[Server]:
    """A server for as long as the block runs."""
    folder = programs()
    if folder is None:
        told = "PostgreSQL's server programs are not installed (Debian: apt-get install postgresql)"
        if os.environ.get("CI"):
            pytest.fail(f"{told}; under CI they must be.")
        pytest.skip(told)
    # Sockets have short names only, so not in pytest's own deep folder.
    with tempfile.TemporaryDirectory(prefix="tray-pg-") as temporary:
        home = Path(temporary)
        home.chmod(0o755)
        user = _drop_root(home)
        data = home / "data"
        make = [folder / "initdb", "-A", "trust", "-U", "postgres", "--no-sync", "-E", "UTF8", "-D", data]
        subprocess.run(make, check=True, capture_output=True, cwd=home, **user)
        words = [part for name, value in settings.items() for part in ("-c", f"{name}={value}")]
        with (home / "log").open("wb") as log:
            start = [folder / "postgres", "-D", data, "-k", home, *words]
            process = subprocess.Popen(start, cwd=home, stdout=log, stderr=log, **user)
        try:
            _wait_until_up(home, process)
            yield Server(home)
        finally:
            process.send_signal(signal.SIGINT)
            process.wait(timeout=20)


def _drop_root(home: Path) -> dict[str, Any]:
    """PostgreSQL does not run as root: let another user own the folder and run the programs."""
    if os.geteuid() != 0:
        return {}
    names = {entry.pw_name for entry in pwd.getpwall()}
    owner = pwd.getpwnam("postgres" if "postgres" in names else "nobody")
    os.chown(home, owner.pw_uid, owner.pw_gid)
    return {"user": owner.pw_uid, "group": owner.pw_gid, "extra_groups": []}


def _wait_until_up(home: Path, process: subprocess.Popen[bytes]) -> None:
    import psycopg

    give_up = time.monotonic() + 20
    while True:
        try:
            psycopg.connect(f"host={home} user=postgres dbname=postgres").close()
        except psycopg.OperationalError:
            if process.poll() is not None or time.monotonic() > give_up:
                pytest.fail(f"PostgreSQL did not start:\n{(home / 'log').read_text(errors='replace')}")
            time.sleep(0.05)
        else:
            return


@pytest.fixture(scope="session")
def postgres() -> Iterator[Server]:
    """The server of this test run."""
    with running_server() as server:
        yield server


@pytest.fixture
def postgres_url(postgres: Server) -> Iterator[str]:
    """The URL of an empty database."""
    url = postgres.fresh()
    yield url
    postgres.give_back(url)
