"""`trayward serve` and the demo's pages: on this machine, in plain words, until somebody stops them."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import threading
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Typed
from trayward.cli.serving import is_loopback, listen, require_people_beyond_here
from trayward.errors import InputError


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    typed = Typed(tmp_path)
    typed("init", "--setup", "shelf")
    return typed.book


class Started:
    """A command that goes on until it is stopped; what it printed so far."""

    def __init__(self, *words: str, **env: str) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "trayward.cli.main", *words],
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
            env={**os.environ, "OPENBLAS_NUM_THREADS": "1", **env},
        )  # fmt: skip
        self._late = threading.Timer(90, self.process.kill)
        self._late.start()

    def address(self) -> str:
        """The address it prints."""
        assert self.process.stdout is not None
        for line in self.process.stdout:
            found = re.search(r"http://\S+", line)
            if found and "Open" in line:
                return found[0]
        raise AssertionError("it ended without an address")

    def stop(self) -> tuple[str, int]:
        """Press Ctrl-C; what else it says, and how it ends."""
        self.process.send_signal(signal.SIGINT)
        words, _ = self.process.communicate(timeout=60)
        self._late.cancel()
        return words, self.process.returncode


@pytest.fixture
def started() -> Iterator[Any]:
    every: list[Started] = []

    def start(*words: str, **env: str) -> Started:
        every.append(Started(*words, **env))
        return every[-1]

    yield start
    for each in every:
        each.process.kill()
        each.process.communicate()
        each._late.cancel()


@pytest.mark.drives
def test_the_pages_are_served_until_ctrl_c_which_also_ends_an_open_page(farm: Path, started: Any) -> None:
    serving = started("serve", "--book", str(farm), "--port", "0", "--by", "Ada")
    address = serving.address()
    with urllib.request.urlopen(address + "about", timeout=20) as page:
        assert "Ada" in page.read().decode()
    with urllib.request.urlopen(address + "live", timeout=20) as heard:
        assert heard.readline() == b"retry: 3000\n"
        words, code = serving.stop()
    assert code == 0
    assert "Traceback" not in words
    assert words.strip().endswith("Stopped. What was kept is in the book.")


@pytest.mark.drives
def test_the_pages_are_of_the_moment_that_is_asked_for(farm: Path, started: Any) -> None:
    serving = started("serve", "--book", str(farm), "--port", "0", "--at", "2030-01-02 06:15")
    with urllib.request.urlopen(serving.address(), timeout=20) as page:
        assert "2 Jan" in page.read().decode()


@pytest.mark.drives
def test_the_pages_begin_at_a_moment_also_where_there_is_no_book_yet(tmp_path: Path, started: Any) -> None:
    """It was refused: a moment was read by the time zone of a farm, and the pages are to ask for one."""
    serving = started("serve", "--book", str(tmp_path / "new.sqlite"), "--port", "0", "--at", "2030-01-02 06:15")
    with urllib.request.urlopen(serving.address(), timeout=30) as answer:
        assert answer.url.endswith("/setup/begin")


def test_a_port_that_is_taken_is_told_with_the_next_one(farm: Path, tmp_path: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        said = Typed(tmp_path).refused("serve", "--port", str(port), code=2)
    assert "something answers there already" in said
    assert f"--port {port + 1}" in said


def test_beyond_this_machine_the_pages_want_people(farm: Path, tmp_path: Path) -> None:
    said = Typed(tmp_path).refused("serve", "--host", "0.0.0.0", "--port", "0", code=2)
    assert "nobody would have to log in" in said


@pytest.mark.parametrize(
    ("host", "ours"),
    [
        ("127.0.0.1", True), ("127.8.8.8", True), ("localhost", True), ("::1", True), ("0.0.0.0", False), ("::", False),
        ("192.168.1.20", False), ("loft.example", False), ("", False), ("127.0.0.1.example", False),
    ],
)  # fmt: skip
def test_what_counts_as_this_machine(host: str, ours: bool) -> None:
    assert is_loopback(host) is ours


def test_with_people_any_address_may_be_served() -> None:
    require_people_beyond_here("0.0.0.0", anyone=True)
    with pytest.raises(InputError, match="nobody would have to log in"):
        require_people_beyond_here("0.0.0.0", anyone=False)


def test_an_address_of_another_machine_is_refused() -> None:
    # 192.0.2.0/24 is kept for documentation (RFC 5737), so it is no address of this machine.
    with pytest.raises(InputError, match="this machine cannot answer there"):
        listen("192.0.2.1", 8470)


def test_answers_do_not_wait_to_be_sent() -> None:
    # asyncio sets TCP_NODELAY on sockets that say they are TCP (asyncio/base_events.py, `_set_nodelay`), others not;
    # without it every answer took 40 ms longer.
    with listen("127.0.0.1", 0) as listening:
        assert listening.proto == socket.IPPROTO_TCP


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    said = Typed(tmp_path).refused("serve", "--book", str(tmp_path / "none" / "farm.sqlite"), code=1)
    assert "there is no such folder" in said


@pytest.mark.drives
@pytest.mark.slow
def test_the_demo_opens_its_pages_at_the_end(tmp_path: Path, started: Any) -> None:
    book = tmp_path / "loft.sqlite"
    demo = started("demo", "--book", str(book), "--days", "20", "--port", "0", XDG_CACHE_HOME=str(tmp_path))
    with urllib.request.urlopen(demo.address(), timeout=20) as page:
        assert "Lantern Loft" in page.read().decode()
    words, code = demo.stop()
    assert (code, "Traceback" in words) == (0, False)
